"""What is to be doubted of the plant's interval readings: below its own dryers, negative, or alone far above all others."""

from __future__ import annotations

from dataclasses import dataclass

from energy import tariffs
from energy.study import meter
from energy.study.case import Case
from energy.study.finding import Finding
from energy.study.year import Year
from energy.tariffs.lone import lone
from energy.tariffs.readers.below_zero import below_zero
from energy.units import to_unit

CHECK = "plant readings"
"""Of all notes on them."""
TOLD = 0.01
"""Share of what the present dryers take by which readings fall short of them from which it is said, by judgement: dryers that cycle are below
their mean at times, and a plant that stands still on a day that its calendar does not know comes to less."""
MUCH = 0.05
"""The same from which it is said with the answer, by judgement. Dryers are a small part of what a plant takes, so readings below them
for longer are those of something else. It refuses nothing: power made on the site does the same to a sound meter."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Short:
    """By how much readings are below what the present dryers take by the model."""

    time: float
    """In which they are. [s]"""
    running: float
    """In which the dryers run. [s]"""
    energy: float
    """[J]"""
    share: float
    """Of the dryers' energy in a year. [-]"""


def short_of_dryers(case: Case, present: Year, around: tariffs.Around | None = None) -> Short | None:
    """How far the plant's interval readings are below its present dryers' mean power; None where the case has no such readings.

    Parameters
    ----------
    case : Case
    present : Year
        Of the baseline, by itself.
    around : Around, optional
        What `meter.readings_around` makes of the case, where it is known already.
    """
    tariff = case.tariffs.get("electricity")
    if case.readings is None or tariff is None:
        return None
    carriers = next(c for name, _, c in meter.meters(case) if name == "electricity")
    power = meter.mean_power(case, tariff, present, carriers)
    time, running, energy, taken = (around or meter.readings_around(case, tariff)).short_of(power)
    return Short(time=time, running=running, energy=energy, share=energy / taken if taken > 0.0 else 0.0)


def words(short: Short) -> str:
    """Said of readings below the present dryers, with what may be the cause."""
    hours, of, kwh = short.time / 3600.0, short.running / 3600.0, to_unit(short.energy, "energy", "kWh")
    return (
        f"The plant's readings are below what its present dryers take by the model in {hours:,.0f} h of the {of:,.0f} h in which they run "
        f"({100.0 * short.time / short.running:.2g} %), by {kwh:,.0f} kWh, {100.0 * short.share:.2g} % of what they take. That may be a wrong unit or factor "
        "of the readings, a meter that these dryers are not on, dryers that stood still, or power made on the site."
    )


def notes(case: Case, present: Year, around: tariffs.Around | None = None) -> tuple[Finding, ...]:
    """Of readings somewhat below the dryers, negative ones and lone ones; parameters as of `short_of_dryers`."""
    tariff = case.tariffs.get("electricity")
    if case.readings is None or tariff is None:
        return ()
    said = [f"Of the plant's readings {below}." for below in [below_zero(case.readings)] if below]
    said += lone(case.readings, tariff)
    short = short_of_dryers(case, present, around)
    if short is not None and TOLD <= short.share < MUCH:
        said.append(words(short))
    return tuple(_note(text) for text in said)


def _note(text: str) -> Finding:
    return Finding(check=CHECK, value=None, limit=None, unit="", verdict="caution", text=text)
