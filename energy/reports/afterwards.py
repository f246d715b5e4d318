"""The check afterwards in words: what was saved, adjusted to the resin dried, beside what the approval rests on."""

from __future__ import annotations

import json
from collections.abc import Mapping

from energy.errors import CaseError, Problem
from energy.reports import above_forecast, amounts, quiet_weeks, undecided, unmetered, weeks_in_doubt
from energy.reports.check import Check
from energy.reports.document import success
from energy.reports.document.proposal import Proposal, proposal
from energy.reports.document.words import percent, saving_of
from energy.reports.weeks_in_doubt import CALLED
from energy.study import energy_alone, meter
from energy.study.afterwards import CARRIERS, DAY, ELSEWHERE, METER, Adjusted, carriers_metered, in_energy, to_a_year
from energy.study.compare import KWH, Comparison, OptionResult
from energy.study.life_cycle import YEAR
from energy.study.request_section import Metered
from energy.units import show

_BILLS = {"electricity": ("electricity", "compressed_air"), "gas": ("gas",)}
"""Cost of a year by its name, and what is metered of it."""
OUTSIDE = 0.05
"""Resin a day beyond the least and the most of before from which the line is carried too far, by judgement. [-]"""
UNSEEN = 0.001
"""Share below which scatter, or a part of the line, is said to be none: a tenth of what the meters may err. [-]"""
WHOLE_YEAR = 350.0
"""Days that pass for a year, by judgement."""


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
        named = p.request.recommended
        why = f"it recommends “{named}”, the dryers that are there" if named else p.why.rstrip(".")
        said = f"asks for nothing, so that there is nothing to check: {why}"
        raise CaseError([Problem("request", said)], file=case.file)
    rows = in_energy(rows, case.tariffs.get("gas"), file or case.file)
    saved = carriers_metered(rows, file or case.file)
    _all_are_metered(rows, p.base, p.option, file or case.file)
    days = sum(row.days for row in rows if row.when == "after")
    system, resin = case.model.case.units, float(p.base.year.resin.sum())
    yearly, _ = to_a_year(rows, resin)
    money, doubts, forecast = {}, [], {}
    for bill, carriers in _BILLS.items():
        metered = {name: saved[name] for name in carriers if name in saved}
        fall = p.base.annual_cost[bill] - p.option.annual_cost[bill]
        if not metered:
            forecast[bill] = fall  # the hall's heating, or less than a meter errs
            continue
        money[bill] = _worth(p, p.option, bill, {name: yearly * one.saved for name, one in metered.items()})
        doubts += [_worth(p, p.option, bill, {name: yearly * one.doubt}) for name, one in metered.items()]
        signed = {name: p.base.carrier(CALLED[name]) - p.option.carrier(CALLED[name]) for name in metered}
        forecast[bill] = fall - _worth(p, p.option, bill, signed)
    forecast |= {name: p.base.annual_cost[name] - p.option.annual_cost[name] for name in unmetered.NEVER}
    found, expected = success.needed(p, p.option), saving_of(p, p.option)
    without = weeks_in_doubt.without_price(saved, rows, (p.base, p.option))
    other = [] if without else weeks_in_doubt.instead_of(saved, rows, p.option)
    far = weeks_in_doubt.off_after(saved, rows, p.option, {place for one in other for place in one.places})
    quiet = {when: quiet_weeks.quiet(saved, rows, when) for when in ("before", "after")}
    noted = {when: quiet_weeks.to_be_noted(rows, when, places, far) for when, places in quiet.items()}
    off = quiet_weeks.without(far, quiet["after"])
    told = {("after", one.name, place) for one in off for place in one.places}
    of_energy = {(when, place) for when, name, place in told if name != "resin"}
    told |= {(when, name, place) for when, places in quiet.items() for place in places for name in ("resin", *saved)}
    fed = [
        *weeks_in_doubt.above_all_dryers(rows, "before", p.base, told),
        *weeks_in_doubt.above_all_dryers(rows, "after", p.option, told),
    ]
    told |= {(one.name, "resin", place) for one in fed for place in one.places}
    slipped = weeks_in_doubt.of_ten_times_the_days(rows, told)
    told |= {(one.name, "resin", place) for one in slipped for place in one.places}
    cold = [
        *weeks_in_doubt.below_the_least(rows, "before", p.base),
        *weeks_in_doubt.below_the_least(rows, "after", p.option, of_energy),
    ]
    told |= {(one.name, name, place) for one in cold for place in one.places for name in saved}
    told |= {("after", name, place) for one in other for place in one.places for name in (*one.more, *one.less)}
    wrong = (
        *without,
        *weeks_in_doubt.changed_about(saved, rows, p.base, p.option, system),
        *weeks_in_doubt.far_from_the_request(saved, rows, p.base, system),
        *(weeks_in_doubt.said_of(one, rows, system) for one in off),
        *(weeks_in_doubt.said_of_all_dryers(one, rows, system) for one in fed),
        *(weeks_in_doubt.said_of_the_days(one, rows, system) for one in slipped),
        *(weeks_in_doubt.said_of_the_least(one, system) for one in cold),
    )
    of_bills = {bill: [n for n in _BILLS[bill] if n in saved] for bill in money if not wrong}
    peaks = above_forecast.peaks_above(of_bills, rows, p.base, p.option, forecast)
    forecast |= {bill: one.left for bill, one in peaks.items()}
    total, if_base = sum(money.values()) + sum(forecast.values()), None
    if _is_outside(rows) and any(one.if_base is not None for one in saved.values()):
        other_way = {
            bill: {n: yearly * ((one.if_base or one.expected) - one.metered) for n in of if (one := saved.get(n))}
            for bill, of in _BILLS.items()
            if bill in money
        }
        if_base = total + sum(_worth(p, p.option, bill, of) - money[bill] for bill, of in other_way.items())
    return Check(
        option=p.option.name,
        system=system,
        saved=saved,
        signed={name: (p.base.carrier(CALLED[name]), p.option.carrier(CALLED[name])) for name in saved},
        days=days,
        carried=_carried(rows, resin, system),
        money=money,
        doubt=sum(d * d for d in doubts) ** 0.5,
        forecast={name: less for name, less in forecast.items() if abs(less) >= 0.5},
        unread={bill: unmetered.named(bill, p.base, p.option) for bill in _BILLS if bill not in money},
        if_base=if_base,
        peaks=peaks,
        needed=found.share * expected,
        expected=expected,
        far=wrong,
        beyond=(
            *weeks_in_doubt.changed_about(saved, rows, p.base, p.option, system, surely=False),
            *(weeks_in_doubt.said_of_instead(one, system) for one in other),
            *(line for when, of in noted.items() for line in quiet_weeks.noted(saved, rows, when, of, system)),
            *weeks_in_doubt.odd(rows, told),
            *weeks_in_doubt.twice(rows),
            *(
                []
                if wrong
                else above_forecast.above(saved, rows, p.option, {name for one in other for name in one.more})
            ),
            *_beyond(rows, resin, system),
        ),
    )


def _all_are_metered(rows: tuple[Metered, ...], base: OptionResult, option: OptionResult, file: str) -> None:
    """Refuse periods that lack a carrier which the dryers take; what is below the error of a meter may be missing, and stands as forecast.

    Raises
    ------
    CaseError
        One is missing.
    """
    taken = {name: base.carrier(CALLED[name]) + option.carrier(CALLED[name]) for name in CARRIERS}
    given = [name for name in CARRIERS if any(getattr(row, name) is not None for row in rows)]
    lacking = [CALLED[n] for n in CARRIERS if n not in given and taken[n] > METER * sum(taken.values())]
    if given and lacking:
        said = f"gives no {' and no '.join(lacking)}, which the dryers take before or after; add a column of it in kWh, 0 where none was taken"
        raise CaseError([Problem("request.verification.metered", said)], file=file)


def _worth(p: Proposal, option: OptionResult, bill: str, saved: Mapping[str, float]) -> float:
    """What energy saved in a year takes off a bill, by carrier as its key here, peaks left as they are. [J/year] to [money/year]"""
    own = next(carriers for name, _, carriers in meter.meters(p.case) if name == bill)
    on_meter = sum(energy for key, energy in saved.items() if CALLED[key] in own)
    apart = sum(energy for key, energy in saved.items() if CALLED[key] not in own)
    money = energy_alone.worth(p.case, p.base, option, bill, on_meter)
    return money + energy_alone.air_worth(p.case, p.base, option, apart)


def _carried(rows: tuple[Metered, ...], resin: float, system: str) -> str:
    """By what the periods after are carried to a year in which so much resin is dried. [kg]"""
    yearly, by_resin = to_a_year(rows, resin)
    if not by_resin:
        return f"Carried to a year by days: {YEAR / DAY:.0f} of them are {yearly:,.3g} times those after, with no shutdown in them."
    dried, year = (show(mass, "mass", system) for mass in (resin / yearly, resin))
    return f"Carried to a year by resin: {dried} were dried after, the request counts {year} in a year."


def _is_outside(rows: tuple[Metered, ...]) -> bool:
    """Is the throughput after beyond that of the periods before?"""
    before = [float(r.resin) / r.days for r in rows if r.when == "before"]
    after = [r for r in rows if r.when == "after"]
    mean = sum(float(r.resin) for r in after) / sum(r.days for r in after)
    return not min(before) * (1.0 - OUTSIDE) <= mean <= max(before) * (1.0 + OUTSIDE)


def _beyond(rows: tuple[Metered, ...], resin: float, system: str) -> list[str]:
    """Is the line of before carried further than it was seen, and was as much dried as the case says in a year? [kg]"""
    before = [float(r.resin) / (DAY * r.days) for r in rows if r.when == "before"]
    after = [r for r in rows if r.when == "after"]
    mean = sum(float(r.resin) for r in after) / sum(DAY * r.days for r in after)
    shown, found = show(mean, "mass flow", system), []
    if _is_outside(rows):
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
        return amounts.money(amount, currency)

    word = {"passed": "Passed", "failed": "Failed"}.get(
        found.word
    ) or f"Not decided by these meters, {undecided.why_not(found)}"
    worth = "worth" if found.read >= 0.0 else "which costs"
    shown = f"{money(abs(found.read))} ± {money(found.doubt)} a year"
    lead = f"{_less(found.share())} than would have been taken, {worth} {shown}"
    if found.share() is None:
        lead = f"a saving of {money(found.read)} ± {money(found.doubt)} a year"
    of = " of what meters show" if found.forecast else ""
    lines = [
        f"{word}: the meters show {lead}. The forecast{of} was {money(found.forecast_read)}{_in_brackets(found.forecast_share())}, "
        f"and {money(found.asked)} were needed.",
    ]
    lines += filter(None, [undecided.whole_forecast(found)])
    lines += found.far
    if found.forecast:
        less = ", less what the meters disprove" if found.peaks else ""
        lines.append(
            f"Not metered, and credited beside it as forecast{less}: {money(found.credited)} a year. With it the adjusted saving is {money(found.total)} ± "
            f"{money(found.doubt)} a year, of {money(found.needed)} needed and {money(found.expected)} forecast in all."
        )
    asked = found.asked_of_peaks if found.enough and found.hangs_on_peaks else None
    lines += [above_forecast.said_of_peaks(one, currency, asked) for one in found.peaks.values()]
    lines += found.beyond
    if found.if_base is not None:
        lines.append(
            f"Throughput before hardly varied, so that the base load is not known: if all that was taken before were base load, the saving would be "
            f"{money(found.if_base)} ± {money(found.doubt)} a year. It is decided only where both say the same."
        )
    lines += filter(None, [undecided.what_passes(found, money)])
    length = show(DAY * found.days, "time", "day").split()[0]
    for name, one in found.saved.items():
        lines.append(
            f"{CALLED[name].capitalize()}: {one.expected / KWH:,.0f} kWh would have been taken before for the resin dried in "
            f"{length} days, {one.metered / KWH:,.0f} kWh were metered: {one.saved / KWH:,.0f} ± {one.doubt / KWH:,.0f} kWh saved"
            f"{_of_it(found, name)} "
            f"({_line(one, DAY * found.days, found.system)})."
        )
    made = [
        f"{bill} {money(amount)} ± {money(found.doubt)}" if len(found.money) == 1 else f"{bill} {money(amount)}"
        for bill, amount in found.money.items()
    ]
    rest = [
        f"{(unmetered.NAMES | found.unread)[name]} {money(amount)} "
        + (f"at the most, of {money(found.peaks[name].credit)} forecast" if name in found.peaks else "as forecast")
        for name, amount in found.forecast.items()
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


def _less(share: tuple[float, float] | None) -> str:
    """``30.1 % ± 5.5 % less energy``; empty where no share can be told."""
    if share is None:
        return ""
    return f"{100 * abs(share[0]):.1f} % ± {100 * share[1]:.1f} % {'less' if share[0] >= 0.0 else 'more'} energy"


def _in_brackets(share: float | None) -> str:
    """A forecast in per cent; empty where no share can be told."""
    return "" if share is None else f" ({100 * abs(share):.1f} % {'less' if share >= 0.0 else 'more'})"


def _of_it(found: Check, name: str) -> str:
    """What was saved of a carrier in per cent, and what was forecast; empty where no share can be told."""
    share, forecast = found.share(name), found.forecast_share(name)
    if share is None:
        return ""
    signed = "" if forecast is None else f", where the request forecasts {100 * forecast:.1f} %"
    return f", {100 * share[0]:.1f} % ± {100 * share[1]:.1f} % of what was expected{signed}"


def _shares(found: Check, *names: str) -> dict[str, float | None]:
    share, half = found.share(*names) or (None, None)
    return {"saved_share": share, "saved_share_half_width": half, "forecast_saved_share": found.forecast_share(*names)}


def _line(one: Adjusted, seconds: float, system: str) -> str:
    """What was taken before, and how far the periods scatter; no figures where they are noise of rounding."""
    after = "" if one.scatter_after is None or one.metered == 0.0 else f"of those after {_scatter(one.scatter_after)}"
    if one.expected == 0.0:
        return f"before, none was taken; scatter {after}" if after else "before, none was taken"
    scatter = f"scatter of the periods before {_scatter(one.scatter)}{', ' if after else ''}{after}"
    slope = " for each ".join(show(one.slope, "specific energy", system).split("/"))
    of_base = one.base * seconds / one.expected
    if one.base == 0.0:
        return f"before, {slope}, no base load can be told apart; {scatter}"
    if of_base < UNSEEN:
        return f"before, {slope} and no base load; {scatter}"
    base = f"a base load of {show(one.base, 'power', 'kW')}"
    if of_base > 1.0 - UNSEEN:
        return f"before, {base} and no slope, as much whatever was dried; {scatter}"
    return f"before, {base} and {slope}; {scatter}"


def _scatter(share: float) -> str:
    return percent(share) if share >= UNSEEN else f"below {percent(UNSEEN)}"


def to_text(found: Check, currency: str) -> str:
    return "\n".join([found.option, *(f"  {line}" for line in sentences(found, currency))])


def to_json(found: Check, currency: str) -> str:
    return json.dumps(
        {
            "option": found.option,
            "currency": currency,
            "result": found.word,
            "days": found.days,
            **_shares(found),
            "metered_saving": found.read,
            "needed_of_metered": found.asked,
            "forecast_of_metered": found.forecast_read,
            "credited_not_metered": found.credited,
            "adjusted_saving": found.total,
            "half_width": found.doubt,
            "adjusted_saving_if_all_base_load": found.if_base,
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
                    **_shares(found, name),
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
