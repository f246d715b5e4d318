"""Hopper by hopper: how much moisture the present dryers leave, and how much the proposed ones."""

from __future__ import annotations

from energy.reports.document.proposal import Proposal
from energy.reports.document.records import Paragraph, Table
from energy.reports.document.words import amount, number
from energy.reports.resins import called as resin_called
from energy.study.compare import OptionResult, Served
from energy.study.predicted_moisture import Moisture
from energy.study.verdict import Verdict
from energy.units import to_unit

LEAST = 0.02
"""Difference of two best estimates that is told, over the target, by judgement. [-]"""
MOST = 4
"""Hoppers told one by one in a warning."""
LONGER = 1.05
"""Residence over the other's from which it is named as a cause, by judgement. [-]"""


def pairs(p: Proposal, option: OptionResult) -> list[tuple[Served, Served]]:
    """Each hopper under the present dryers and under the option."""
    now = {s.hopper.name: s for s in p.base.served}
    return [(now[s.hopper.name], s) for s in option.served]


def change(before: Moisture, after: Moisture) -> float:
    """Moisture left more than now, on the best estimates; 0 where it is alike or none can be made. [kg/kg dry]"""
    if before.predicted is None or after.predicted is None:
        return 0.0
    more = after.predicted - before.predicted
    return more if abs(more) > LEAST * after.target else 0.0


def wetter(p: Proposal, option: OptionResult) -> Paragraph | None:
    """The warning where the option leaves a hopper's pellets wetter than a present dryer does that fails no check."""
    found = [
        _wetter_at(now, new)
        for now, new in pairs(p, option)
        if now.verdict.overall != "fail" and change(now.verdict.moisture, new.verdict.moisture) > 0.0
    ]
    if not found:
        return None
    told = found if len(found) <= MOST else [*found[: MOST - 1], f"{len(found) - MOST + 1} more (section on options)"]
    return Paragraph(
        topic="Wetter than now.",
        text=f"On the best estimate “{option.name}” leaves more moisture than “{p.base.name}” at {'; at '.join(told)}.",
        style="warning",
        short=True,
    )


def _wetter_at(now: Served, new: Served) -> str:
    before, after = now.verdict.moisture, new.verdict.moisture
    said = f"{new.hopper.name} ({resin_called(new.hopper, new.duty.resin)}): {_ppm(after.predicted)} against {_ppm(before.predicted)} ppm"
    if after.expected:
        said += f", both within {_ppm(after.target)} ppm" if before.expected else f", within {_ppm(after.target)} ppm"
    else:
        said += f", the target is {_ppm(after.target)} ppm"
    if before.residence > LONGER * after.residence:
        said += f", since pellets stay {_hours(after)} h in the hopper instead of {_hours(before)} h"
    return said


def by_hopper(p: Proposal, option: OptionResult) -> Table:
    """Limit, present, proposed and the verdict of each hopper."""
    rows = [
        (
            new.hopper.name,
            resin_called(new.hopper, new.duty.resin),
            _ppm(new.verdict.moisture.target),
            _with_range(now.verdict.moisture),
            _with_range(new.verdict.moisture),
            f"{_reached(new.verdict)}; {_beside(now.verdict.moisture, new.verdict.moisture)}",
        )
        for now, new in pairs(p, option)
    ]
    return Table(
        title="Moisture of the pellets leaving, present and proposed",
        head=("Hopper", "Resin", "Limit ppm", "Present leaves ppm", "Proposed leaves ppm", "Verdict"),
        rows=tuple(rows),
        align="llrrrl",
        weights=(1.3, 0.9, 0.9, 1.7, 1.7, 3),
        note="Best estimate of the worst month, in brackets the range of the diffusion data; wet basis. The verdict is on moisture alone; the other "
        "checks of drying stand below.",
    )


def _ppm(moisture: float | None) -> str:
    ppm = float(to_unit(moisture or 0.0, "moisture", "ppm"))
    return amount(ppm) if ppm >= 0.5 else "below 1"


def _hours(m: Moisture) -> str:
    return number(m.residence / 3600)


def _with_range(m: Moisture) -> str:
    if m.predicted is None:
        return "not known"
    span = "" if m.low is None or m.high is None else f" ({_ppm(m.low)} to {_ppm(m.high)})"
    return _ppm(m.predicted) + span


def _reached(verdict: Verdict) -> str:
    """Is the target reached, and how surely?"""
    m = verdict.moisture
    if m.predicted is None:
        return "no estimate from this resin's data"
    if not m.expected:
        return "limit missed, though dried as practice does" if verdict.disputed else "limit missed"
    return "limit kept in the whole range" if m.high is not None and m.high <= m.target else "limit kept, not for sure"


def _beside(before: Moisture, after: Moisture) -> str:
    """The option beside the present dryer."""
    if before.predicted is None or after.predicted is None:
        return "not compared"
    more = change(before, after)
    return "wetter than now" if more > 0.0 else "drier than now" if more < 0.0 else "as now"
