"""An airflow stated as a volume of air at sea level, where the site lies so high that a blower's own volume is another mass of air."""

from __future__ import annotations

from collections.abc import Iterator

from energy.study.case import Case
from energy.study.duty import atmospheric_pressure
from energy.study.finding import Finding
from energy.study.option_sections import Machine, Option
from energy.units import SI, show
from energy.units.kinds import STANDARD_ATMOSPHERE
from energy.units.spelling import tidy

AT_20 = " at 20 degC"
"""Ends a volume that may be meant as normal air or as what the blower draws; at 0 degC it is a normal volume by custom."""
THIN = 0.03
"""Share by which the site's air is thinner than at sea level from which it is told; by judgement. [-]"""


def notes(case: Case, option: Option) -> tuple[Finding, ...]:
    """What the volume of an airflow counts as, for each that could be meant as the blower's own; none near sea level.

    A blower moves about the same volume wherever it stands, so that its mass of air falls with the site's pressure.
    """
    pressure = atmospheric_pressure(case)
    share = 1.0 - pressure / STANDARD_ATMOSPHERE
    if abs(share) < THIN:
        return ()
    system = case.model.case.units
    here = f"{pressure / 100.0:.0f} mbar(a)"
    told = []
    for place, flow in _stated(option):
        text = tidy(flow.text)
        told.append(
            Finding(
                check="airflow at the site",
                value=pressure / 100.0,
                limit=None,
                unit="mbar(a)",
                verdict="caution",
                text=f"Its {place}airflow of {text} is taken at {STANDARD_ATMOSPHERE / 100.0:.0f} mbar(a), the pressure at sea level: "
                f"{show(float(flow), 'mass flow', system)} of air. The site has {here}, where a blower that draws this volume moves "
                f"{100.0 * abs(share):.0f} % {'less' if share > 0.0 else 'more'}: if that is meant, write {text} and {here}.",
            )
        )
    return tuple(told)


def _stated(option: Option) -> Iterator[tuple[str, SI]]:
    """Airflows at 20 degC and no pressure, each with the beginning of its place in the option."""
    dryers: list[tuple[str, Option | Machine]] = [("", option)]
    dryers += [(f"machines[{i + 1}].", machine) for i, machine in enumerate(option.machines)]
    for place, dryer in dryers:
        if isinstance(dryer.airflow, SI) and tidy(dryer.airflow.text).endswith(AT_20):
            yield place, dryer.airflow
