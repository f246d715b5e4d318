"""What is to be said of drying in an answer: who misses the target, what is in doubt, and the time that would reach it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from energy.reports.doubts import called
from energy.reports.resins import called as resin_called
from energy.reports.resins import in_full
from energy.reports.rows import in_a_row, joined
from energy.study.compare import Comparison, OptionResult, Served
from energy.study.drying_remedies import A_DAY
from energy.study.practice import too_long
from energy.study.predicted_moisture import two_digits_up
from energy.units import show, to_unit

PRACTICE = "In practice it is dried at that temperature, in that time and air, so practice and the diffusion data disagree: a drying trial settles it."
"""Beside an option that the diffusion data say to miss its target where practice dries so."""
UNKNOWN = "There are no diffusion data for it: temperature, time and air of practice alone speak for it."
"""Beside an option for a resin of which nothing else is known."""


def resin_name(comparison: Comparison) -> str:
    """The resin in words, and whether its values are the user's own; of several hoppers all of them."""
    if len(comparison.case.model.hoppers) > 1:
        return "every resin"
    return resin_of_hopper(comparison, 0)


def resin_of_hopper(comparison: Comparison, place: int) -> str:
    """Name of a hopper's resin, and whether its values are the user's own."""
    return in_full(comparison.case.model.hoppers[place], comparison.case.resins[place])


def worst(option: OptionResult) -> Served:
    """The hopper that an option dries worst."""
    return max(option.served, key=lambda served: served.verdict.severity)


def none_expected(comparison: Comparison) -> list[str]:
    """What is said where the best estimate of every option misses the target: no saving is held out."""

    # Nearest is the option whose worst hopper misses its target by the least factor.
    nearest = min(comparison.ranked(), key=lambda option: option.verdict.severity[3])
    served = worst(nearest)
    m = served.verdict.moisture
    resin = resin_called(served.hopper, served.duty.resin)
    if len(nearest.served) > 1:
        where = f" at {served.hopper.name} ({resin})"
        first = f"No option is expected to dry {resin_name(comparison)} to its target as the case is set."
    else:
        where = ""
        first = f"No option is expected to dry {resin_name(comparison)} to {_ppm(m.target)} as the case is set."
    if m.predicted is None:
        return [
            first,
            f"There are no diffusion data for {resin}{where}, and no option dries it as its practice has it.{_not_of_practice(nearest, served)} Change "
            "that first: the costs below are of machines that nothing speaks for.",
        ]
    return [
        f"{first} Nearest is {called(nearest)} with about {_ppm(m.predicted)}{where}.",
        f"{time_that_would(nearest)}{_missed_elsewhere(comparison, nearest)} Change time, temperature or air first: the costs "
        "below are of machines that miss it.",
    ]


def _not_of_practice(option: OptionResult, served: Served) -> str:
    """What is not as practice has it at one hopper of an option, with what to set."""
    clauses = served.verdict.not_of_practice
    return f" With {called(option)} {'; '.join(clauses)}." if clauses else ""


def _missed_elsewhere(comparison: Comparison, nearest: OptionResult) -> str:
    """The hoppers that other options miss besides those of the nearest."""

    def missed(option: OptionResult) -> set[str]:
        return {s.hopper.name for s in _lacking(option) if not s.verdict.moisture.expected}

    others = set().union(*(missed(o) for o in comparison.ranked())) - missed(nearest)
    named = [h.name for h in comparison.case.model.hoppers if h.name in others]
    return f" Other options miss it at {in_a_row(named)} too." if named else ""


def by_practice(option: OptionResult) -> list[str]:
    """What is said of resins that practice alone speaks for, by what their data say of them."""
    said = []
    spoken = [s for s in option.served if s.verdict.by_practice]
    for sentence, at in (
        (PRACTICE, [s for s in spoken if s.verdict.disputed]),
        (UNKNOWN, [s for s in spoken if s.verdict.unknown]),
    ):
        if at and len(option.served) > 1:
            said.append(f"{in_a_row([_who(s) for s in at])}: {sentence[0].lower()}{sentence[1:]}")
        else:
            said += [sentence] * bool(at)
    return said


def drier_now(comparison: Comparison, best: OptionResult) -> list[str]:
    """Said where the present dryer is expected to leave clearly less moisture than the one held out."""
    base, units = comparison.baseline, comparison.case.model.case.units
    served, base_readings = worst(best), comparison.case.model.readings
    new = served.verdict.moisture.predicted
    here = next((s for s in base.served if s.hopper == served.hopper), None)
    now = None if here is None or here.verdict.overall == "fail" else here.verdict.moisture.predicted
    if best is base or new is None or now is None or new <= 1.1 * now or _ppm(now) == _ppm(new):
        return []
    where = f" at {served.hopper.name}" if len(best.served) > 1 else ""
    said = f"Less moisture is expected of {called(base)} as of now{where}: {_ppm(now)} against {_ppm(new)}."
    counted = next(s.machine.delivered_dew_point for s in base.served if s.hopper == served.hopper)
    if counted is not None:
        shown = show(float(np.ravel(counted)[0]), "temperature", units)
        return [f"{said[:-1]}, at the dew point of {shown} that was read there."]
    read = next(
        (r.dew_point for r in base_readings if r.hopper == served.hopper.name and r.dew_point is not None), None
    )
    if read is not None:
        shown = show(float(read), "temperature", units)
        said = f"{said[:-1]}, at the dew point that the model expects; {shown} was read there, which is not counted."
    return [said]


def _ppm(moisture: float) -> str:
    ppm = float(to_unit(moisture, "moisture", "ppm"))
    return f"{ppm:,.0f} ppm" if ppm >= 0.5 else "less than 1 ppm"


def time_that_would(option: OptionResult) -> str:
    """The residence that would reach the target, at each hopper where time is what an option lacks, and where that is too long."""
    return f"{_times(option)} {_too_long(option)}".strip()


def _too_long(option: OptionResult) -> str:
    """Said of hoppers at which a time that would reach the target for sure is far longer than practice accepts; else empty."""
    named = []
    for served in _lacking(option):
        needed = served.verdict.moisture.needed_surely
        told = float(two_digits_up(needed / 3600)) * 3600 if needed else A_DAY
        longest = too_long(served.duty.resin, served.operation, told)
        if longest is not None:
            named.append(f"{_who(served)} ({longest / 3600:.3g} h at most)")
    if not named:
        return ""
    return (
        f"That is far longer than practice accepts for {in_a_row(named)}, and long heat ages a resin: measure the moisture, or let a drying trial "
        "settle it, instead."
    )


def _times(option: OptionResult) -> str:
    lacking = _lacking(option)
    missing = [s for s in lacking if not s.verdict.moisture.expected]
    if not lacking:
        return ""
    if len(lacking) == 1:
        m = lacking[0].verdict.moisture
        stays = f"{_who(lacking[0])} stays {_stay(lacking[0])} in {called(option)}"
        if m.expected:
            return (
                f"{stays}; {_hours(m.needed_surely)} would reach the target at the slow end of the diffusion data too."
            )
        return (
            f"{stays}; the target takes {_hours(m.needed)} on the best estimate, {_hours(m.needed_surely)} to be sure."
        )
    if missing:
        times = [
            f"{_who(s)} {_hours(s.verdict.moisture.needed)}, {_hours(s.verdict.moisture.needed_surely)} to be sure (stays {_stay(s)})"
            for s in missing
        ]
        said = f"On the best estimate the target takes in {called(option)}: {'; '.join(times)}."
        rest = [s for s in lacking if s.verdict.moisture.expected]
        return f"{said} {_at_the_slow_end(rest)}" if rest else said
    return _at_the_slow_end(lacking)


def _at_the_slow_end(lacking: Sequence[Served]) -> str:
    times = [f"{_who(s)} {_hours(s.verdict.moisture.needed_surely)} (stays {_stay(s)})" for s in lacking]
    return f"To reach the target at the slow end of the diffusion data too: {'; '.join(times)}."


def _lacking(option: OptionResult) -> list[Served]:
    """The hoppers at which an option lacks time."""
    return [
        s
        for s in option.served
        if s.verdict.grade_of("predicted moisture") == "caution" and s.verdict.moisture.predicted is not None
    ]


def _who(served: Served) -> str:
    return f"{resin_called(served.hopper, served.duty.resin)} at {served.hopper.name}"


def _stay(served: Served) -> str:
    """How long pellets stay, which is longer than asked in a hopper that is bigger than it takes."""
    return f"{served.verdict.moisture.residence / 3600:.2g} h"


def _hours(time: float | None) -> str:
    return f"about {two_digits_up(time / 3600)} h" if time else "more than a day"


def checks_in_doubt(option: OptionResult) -> str:
    """Names of the checks that do not pass, each once with its hoppers where there are several."""
    shaky: dict[str, list[str]] = {}
    for finding in option.verdict.findings:
        if finding.verdict != "pass":
            shaky.setdefault(finding.check, []).append(finding.hopper)
    number = sum(map(len, shaky.values()))
    if len(option.served) == 1 or number > 4:
        number, named = len(shaky), joined([*shaky])
    else:
        by_check = [f"{check} at {joined(hoppers)}" for check, hoppers in shaky.items()]
        named = joined(by_check) if number == len(shaky) else "; ".join(by_check)
    return f"see its {'checks' if number > 1 else 'check'} of {named}"
