"""The check afterwards in words: what was saved, adjusted to the resin dried, beside what the approval rests on."""

from __future__ import annotations

import json
import statistics
from collections.abc import Collection, Mapping
from dataclasses import dataclass

import numpy as np

from energy.errors import CaseError, Problem
from energy.reports import answer
from energy.reports.document import success
from energy.reports.document.proposal import Proposal, proposal
from energy.reports.document.words import percent, saving_of
from energy.study import energy_alone, meter
from energy.study.afterwards import CARRIERS, DAY, ELSEWHERE, Adjusted, below, carriers_metered, to_a_year
from energy.study.compare import KWH, Comparison, OptionResult
from energy.study.life_cycle import YEAR
from energy.study.request_section import Metered
from energy.units import show

NOT_METERED = {"water": "cooling", "maintenance": "upkeep"}
"""Costs of a year that no meter of the plan shows, and their names."""
BESIDE_ENERGY = {
    "electricity": "peaks and whatever else of electricity is no energy",
    "gas": "whatever else of gas is no energy",
}
"""What of a bill is left beside what falls with the energy alone."""
_BILLS = {"electricity": ("electricity", "compressed_air"), "gas": ("gas",)}
"""Cost of a year by its name, and what is metered of it."""
_CARRIERS = {"electricity": "electricity", "compressed_air": "compressed air", "gas": "gas"}
FAR = 3.0
"""Times the median from which a period is odd, and times the request from which nothing is decided; by judgement. [-]"""
OUTSIDE = 0.05
"""Resin a day beyond the least and the most of before from which the line is carried too far, by judgement. [-]"""
WHOLE_YEAR = 350.0
"""Days that pass for a year, by judgement."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """The result; money at prices of the base year."""

    option: str
    saved: dict[str, Adjusted]
    """By carrier metered."""
    days: float
    """Length of the periods after."""
    carried: str
    """By what they are carried to a year, in words."""
    money: dict[str, float]
    """Metered, by bill; over a year. [money/year]"""
    doubt: float
    """Half-width of all that is metered, 95 of 100. [money/year]"""
    forecast: dict[str, float]
    """Costs that no meter shows, as forecast. [money/year]"""
    needed: float
    """What the approval rests on. [money/year]"""
    expected: float
    """Forecast of the request. [money/year]"""
    far: tuple[str, ...]
    """Energy before, energy and throughput of a period after, that cannot be those of the request, and energy of any period below what
    its resin takes up: nothing is decided then."""
    beyond: tuple[str, ...]
    """What else speaks against the periods themselves: odd ones, and throughput other than before or than the case's."""

    @property
    def total(self) -> float:
        """[money/year]"""
        return sum(self.money.values()) + sum(self.forecast.values())

    @property
    def word(self) -> str:
        """Passed, failed, or not decided by these meters."""
        if self.far:
            return "not decided"
        if self.total - self.doubt >= self.needed:
            return "passed"
        return "failed" if self.total + self.doubt < self.needed else "not decided"


def check(comparison: Comparison, rows: tuple[Metered, ...] | None = None, file: str = "") -> Check:
    """Compare what was metered with what the request rests on.

    Parameters
    ----------
    comparison : Comparison
        Of the case as it was signed.
    rows : tuple of Metered, optional
        Those of the case where left out.
    file : str
        Where other rows come from, for messages.

    Raises
    ------
    CaseError
        Nothing is asked for, or too little is metered.
    """
    case = comparison.case
    rows = case.model.request.verification.metered if rows is None else rows
    p = proposal(comparison)
    if p.option is None:
        raise CaseError([Problem("request", "asks for nothing, so that there is nothing to check")], file=case.file)
    saved = carriers_metered(rows, file or case.file)
    days = sum(row.days for row in rows if row.when == "after")
    system, resin = case.model.case.units, float(p.base.year.resin.sum())
    yearly, _ = to_a_year(rows, resin)
    money, doubts, forecast = {}, [], {}
    for bill, carriers in _BILLS.items():
        metered = {name: saved[name] for name in carriers if name in saved}
        if not metered:
            if any(p.base.carrier(_CARRIERS[c]) + p.option.carrier(_CARRIERS[c]) > 0.0 for c in carriers):
                raise CaseError(
                    [
                        Problem(
                            "request.verification.metered", f"gives no {bill}, which the dryers take before or after"
                        )
                    ],
                    file=file or case.file,
                )
            continue
        money[bill] = _worth(p, p.option, bill, {name: yearly * one.saved for name, one in metered.items()})
        doubts += [_worth(p, p.option, bill, {name: yearly * one.doubt}) for name, one in metered.items()]
        signed = {name: p.base.carrier(_CARRIERS[name]) - p.option.carrier(_CARRIERS[name]) for name in carriers}
        fall = p.base.annual_cost[bill] - p.option.annual_cost[bill]
        forecast[bill] = fall - _worth(p, p.option, bill, signed)
    forecast |= {name: p.base.annual_cost.get(name, 0.0) - p.option.annual_cost.get(name, 0.0) for name in NOT_METERED}
    found, expected = success.needed(p, p.option), saving_of(p, p.option)
    off = _off_after(saved, rows, p.option)
    told = {("after", one.name, place) for one in off for place in one.places}
    of_energy = {(when, place) for when, name, place in told if name != "resin"}
    cold = [*_below_the_least(rows, "before", p.base), *_below_the_least(rows, "after", p.option, of_energy)]
    told |= {(one.name, name, place) for one in cold for place in one.places for name in saved}
    return Check(
        option=p.option.name,
        saved=saved,
        days=days,
        carried=_carried(rows, resin, system),
        money=money,
        doubt=sum(d * d for d in doubts) ** 0.5,
        forecast={name: less for name, less in forecast.items() if abs(less) >= 0.5},
        needed=found.share * expected,
        expected=expected,
        far=(
            *_far_from_the_request(saved, rows, p.base, system),
            *(_said_of(one, system) for one in off),
            *(_said_of_the_least(one, system) for one in cold),
        ),
        beyond=(
            *_odd(rows, told),
            *_beyond(rows, resin, system),
        ),
    )


def _worth(p: Proposal, option: OptionResult, bill: str, saved: Mapping[str, float]) -> float:
    """What energy saved in a year takes off a bill, by carrier as its key here, peaks left as they are. [J/year] to [money/year]"""
    own = next(carriers for name, _, carriers in meter.meters(p.case) if name == bill)
    on_meter = sum(energy for key, energy in saved.items() if _CARRIERS[key] in own)
    apart = sum(energy for key, energy in saved.items() if _CARRIERS[key] not in own)
    money = energy_alone.worth(p.case, p.base, option, bill, on_meter)
    return money + energy_alone.air_worth(p.case, p.base, option, apart)


def _far_from_the_request(
    saved: Mapping[str, Adjusted], rows: tuple[Metered, ...], base: OptionResult, system: str
) -> list[str]:
    """Energy of a kilogram before that is far from what the request counts of the present dryers."""
    before, found = [row for row in rows if row.when == "before"], []
    for name in saved:
        read = sum(float(getattr(row, name)) for row in before) / sum(float(row.resin) for row in before)
        counted = base.carrier(_CARRIERS[name]) / float(base.year.resin.sum())
        if counted > 0.0 and not counted / FAR <= read <= FAR * counted:
            found.append(
                f"Check the periods before: they take {show(read, 'specific energy', system)} of {_CARRIERS[name]}, the present dryers of the request "
                f"{show(counted, 'specific energy', system)}. A slip of ten, or a meter of something else?"
            )
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class _Off:
    """Periods that are far from what the request forecasts, or below what resin takes up."""

    name: str
    """A carrier, or resin; before or after where all that was metered is meant."""
    places: tuple[int, ...]
    """From 1, among those before or after."""
    values: tuple[float, ...]
    """Energy taken of a kilogram, or resin dried on the mean of all hours. [J/kg] or [kg/s]"""
    counted: float
    """The same by the request, or the least that can be."""


def _off_after(saved: Mapping[str, Adjusted], rows: tuple[Metered, ...], option: OptionResult) -> list[_Off]:
    """Periods after whose throughput or energy of a kilogram is far from what the request forecasts, a kind at a time."""
    after, resin = [row for row in rows if row.when == "after"], float(option.year.resin.sum())
    kinds = {"resin": ([float(r.resin) / (DAY * r.days) for r in after], resin / YEAR)} | {
        name: ([float(getattr(r, name)) / float(r.resin) for r in after], option.carrier(_CARRIERS[name]) / resin)
        for name in saved
    }
    found = []
    for name, (values, counted) in kinds.items():
        off = [i for i, value in enumerate(values) if not counted / FAR <= value <= FAR * counted]
        if counted > 0.0 and off:
            places = tuple(i + 1 for i in off)
            found.append(_Off(name=name, places=places, values=tuple(values[i] for i in off), counted=counted))
    return found


def _said_of(off: _Off, system: str) -> str:
    kind = "mass flow" if off.name == "resin" else "specific energy"
    low, high, counted = (show(value, kind, system) for value in (min(off.values), max(off.values), off.counted))
    span = high if low == high else f"{low} to {high}"
    first = f"Check period {', '.join(map(str, off.places))} of those after:"
    if off.name != "resin":
        return f"{first} {span} of {_CARRIERS[off.name]}, where the request forecasts {counted}. A slip of ten, or a meter of something else?"
    little = " A week that stood still is put together with the one beside it." if min(off.values) < off.counted else ""
    return f"{first} {span} dried on the mean of all hours, where the request counts {counted}. A slip of ten in its resin or its days?{little}"


def _below_the_least(
    rows: tuple[Metered, ...], when: str, option: OptionResult, told: Collection[tuple[str, int]] = ()
) -> list[_Off]:
    """Periods in which all energy metered is less than resin and water take up in the warmest month, whatever the dryer.

    Those told anyhow, by when and place, are left out; so are all where the request itself counts on less of these carriers.
    """
    dried = option.year.resin > 0.0
    least = float(np.min(option.year.least[dried] / option.year.resin[dried]))
    off = {place: value for place, value in below(rows, when, least).items() if (when, place) not in told}
    metered = sum(
        option.carrier(_CARRIERS[name]) for name in CARRIERS if any(getattr(r, name) is not None for r in rows)
    )
    if not off or metered < least * float(option.year.resin.sum()):
        return []
    return [_Off(name=when, places=tuple(off), values=tuple(off.values()), counted=least)]


def _said_of_the_least(off: _Off, system: str) -> str:
    low, high, least = (
        show(value, "specific energy", system) for value in (min(off.values), max(off.values), off.counted)
    )
    span = high if low == high else f"{low} to {high}"
    return (
        f"Check period {', '.join(map(str, off.places))} of those {off.name}: {span} were metered in all, less than the {least} that the resin "
        "itself takes up at the least. A slip, or a machine that is not on the meter?"
    )


def _odd(rows: tuple[Metered, ...], told: Collection[tuple[str, str, int]] = ()) -> list[str]:
    """Periods of which a day's resin, or the energy of a kilogram, is far from that of the others alike: most often a slip.

    Those that are told anyhow, by when, name and place, are left out.
    """
    found = []
    for when in ("before", "after"):
        alike = [row for row in rows if row.when == when]
        ratios = {"resin": [float(r.resin) / r.days for r in alike]} | {
            name: [float(getattr(r, name) or 0.0) / float(r.resin) for r in alike] for name in _CARRIERS
        }
        for name, values in ratios.items():
            middle = statistics.median(values)
            odd = [i for i, value in enumerate(values, start=1) if not middle / FAR <= value <= FAR * middle]
            odd = [i for i in odd if (when, name, i) not in told]
            if middle > 0.0 and odd:
                places = ", ".join(map(str, odd))
                of = "resin of a day" if name == "resin" else f"{_CARRIERS[name]} of a kilogram"
                found.append(
                    f"Check period {places} of those {when}: its {of} is more than {FAR:g} times off the others'."
                )
    return found


def _carried(rows: tuple[Metered, ...], resin: float, system: str) -> str:
    """By what the periods after are carried to a year in which so much resin is dried. [kg]"""
    yearly, by_resin = to_a_year(rows, resin)
    if not by_resin:
        return f"Carried to a year by days: {YEAR / DAY:.0f} of them are {yearly:,.3g} times those after, with no shutdown in them."
    dried, year = (show(mass, "mass", system) for mass in (resin / yearly, resin))
    return f"Carried to a year by resin: {dried} were dried after, the request counts {year} in a year."


def _beyond(rows: tuple[Metered, ...], resin: float, system: str) -> list[str]:
    """Is the line of before carried further than it was seen, and was as much dried as the case says in a year? [kg]"""
    before = [float(r.resin) / (DAY * r.days) for r in rows if r.when == "before"]
    after = [r for r in rows if r.when == "after"]
    mean = sum(float(r.resin) for r in after) / sum(DAY * r.days for r in after)
    shown, found = show(mean, "mass flow", system), []
    if not min(before) * (1.0 - OUTSIDE) <= mean <= max(before) * (1.0 + OUTSIDE):
        span = f"{show(min(before), 'mass flow', system)} to {show(max(before), 'mass flow', system)}"
        found.append(
            f"After, {shown} were dried on the mean of all hours, before {span}: the line is carried beyond what was metered."
        )
    counted = resin / YEAR
    if abs(mean / counted - 1.0) > ELSEWHERE:
        found.append(
            f"After, {shown} were dried on the mean of all hours; the request counts {show(counted, 'mass flow', system)}: the saving is that "
            "of another duty than was signed."
        )
    return found


def sentences(found: Check, currency: str) -> list[str]:
    """The answer, what it is made of, and what it leaves open."""

    def money(amount: float) -> str:
        return answer.money(amount, currency)

    word = {"passed": "Passed", "failed": "Failed", "not decided": "Not decided by these meters"}[found.word]
    parts = ""
    if found.forecast:
        read, rest_of_it = sum(found.money.values()), sum(found.forecast.values())
        parts = f" ({money(read)} of it metered, {money(rest_of_it)} taken as forecast)"
    lines = [
        f"{word}: the adjusted saving is {money(found.total)} ± {money(found.doubt)} a year{parts}, and {money(found.needed)} were needed. "
        f"The forecast was {money(found.expected)}.",
        *found.far,
        *found.beyond,
    ]
    length = show(DAY * found.days, "time", "day").split()[0]
    for name, one in found.saved.items():
        lines.append(
            f"{_CARRIERS[name].capitalize()}: {one.expected / KWH:,.0f} kWh would have been taken before for the resin dried in "
            f"{length} days, {one.metered / KWH:,.0f} kWh were metered: {one.saved / KWH:,.0f} ± {one.doubt / KWH:,.0f} kWh saved "
            f"({_line(one)})."
        )
    made = [
        f"{bill} {money(amount)} ± {money(found.doubt)}" if len(found.money) == 1 else f"{bill} {money(amount)}"
        for bill, amount in found.money.items()
    ]
    rest = [
        f"{(NOT_METERED | BESIDE_ENERGY)[name]} {money(amount)} as forecast" for name, amount in found.forecast.items()
    ]
    lines.append(
        "Of a year's saving, energy at what it takes off the bills of the request with their peaks as they are: "
        f"{'; '.join([*made, *rest])}. What is as forecast is shown by no meter of energy."
    )
    lines.append(found.carried)
    if found.days < WHOLE_YEAR:
        lines.append(f"{length} days are taken as a year's mean; seasons and campaigns may make another.")
    lines.append(
        "Success also asks that every hopper reaches its moisture target at the same throughput; no meter of energy shows that."
    )
    return lines


def _line(one: Adjusted) -> str:
    slope = f"{show(one.slope, 'specific energy', 'Wh/kg').removesuffix('/kg')} for each kg"
    scatter = f"scatter of the periods before {percent(one.scatter)}"
    if one.scatter_after is not None:
        scatter += f", of those after {percent(one.scatter_after)}"
    if one.base == 0.0:
        return f"before, {slope}, no base load can be told apart; {scatter}"
    return f"before, a base load of {show(one.base, 'power', 'kW')} and {slope}; {scatter}"


def to_text(found: Check, currency: str) -> str:
    return "\n".join([found.option, *(f"  {line}" for line in sentences(found, currency))])


def to_json(found: Check, currency: str) -> str:
    return json.dumps(
        {
            "option": found.option,
            "currency": currency,
            "result": found.word,
            "days": found.days,
            "adjusted_saving": found.total,
            "half_width": found.doubt,
            "needed": found.needed,
            "forecast": found.expected,
            "metered": found.money,
            "as_forecast": found.forecast,
            "carriers": {
                name: {
                    "expected_kwh": one.expected / KWH,
                    "metered_kwh": one.metered / KWH,
                    "saved_kwh": one.saved / KWH,
                    "half_width_kwh": one.doubt / KWH,
                    "base_load_kw": one.base / 1e3,
                    "slope_wh_per_kg": one.slope / 3.6e3,
                    "cv_rmse": one.scatter,
                }
                for name, one in found.saved.items()
            },
            "sentences": sentences(found, currency),
        },
        indent=2,
        ensure_ascii=False,
    )
