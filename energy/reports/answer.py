"""The answer in one sentence."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from energy.reports.doubts import (
    air_taken_for,
    as_metered,
    called,
    capital_of_baseline,
    grown_along,
    like_for_like,
    not_the_same_job,
    old_peaks,
    present_fails,
    price_doubted,
    prices_left_level,
    put_off,
    quoted_for_another,
    read_at_the_present,
    taken_for_all,
    unpriced,
    upkeep_missing,
)
from energy.reports.in_time import decimals, in_time
from energy.reports.paid_back import paid_back
from energy.reports.resins import called as resin_called
from energy.reports.resins import data_of_another, in_full
from energy.reports.rows import in_a_row, joined
from energy.study.compare import Comparison, OptionResult, Served
from energy.study.predicted_moisture import two_digits_up
from energy.units import show, to_unit

YEAR = 8760 * 3600.0  # s
PRACTICE = "In practice it is dried at that temperature, in that time and air, so practice and the diffusion data disagree: a drying trial settles it."
"""Beside an option that the diffusion data say to miss its target where practice dries so."""
ABOUT = 1.1
"""Options that miss a target by about as much: within a tenth of each other. [-]"""
UNKNOWN = "There are no diffusion data for it: temperature, time and air of practice alone speak for it."
"""Beside an option for a resin of which nothing else is known."""


def money(amount: float, currency: str) -> str:
    """Amount to three significant digits with its currency, thousands separated."""
    if not math.isfinite(amount):
        return "-"
    digits = 0 if amount == 0 else max(0, 2 - math.floor(math.log10(abs(amount))))
    rounded = round(amount, 2 - math.floor(math.log10(abs(amount)))) if amount else 0.0
    return f"{rounded:,.{min(digits, 2)}f} {currency}"


def whole_money(amount: float, currency: str) -> str:
    """A sum to be paid, not rounded further than to whole money, thousands separated."""
    return f"{amount:,.0f} {currency}"


def before_and_now(label: str, before: str, now: str) -> str:
    """What a value was and is, in a few words."""
    return f"{label}: {now} as before" if now == before else f"{label}: {before} before, {now} now"


def years(value: float, digits: int = 1) -> str:
    """Years to one decimal, or more."""
    return f"{value:.{digits}f} years"


def answer(comparison: Comparison, *, page: bool = False) -> str:
    """Which option that dries the resin costs least over its life, what it saves, when it pays back; `page` as for `sentences`."""
    return " ".join(sentences(comparison, page=page))


def sentences(comparison: Comparison, *, page: bool = False) -> list[str]:
    """The answer first, what has to be said with it after; inputs are told by their keys, on a `page` by their fields."""
    resin, ranked = resin_name(comparison), comparison.ranked()
    if not ranked:
        said = [f"None of the options dries {resin} to its target.", "The reasons stand with each option's checks."]
        return said + unpriced(comparison)
    if ranked[0].verdict.word == "unlikely":
        said = _none_expected(comparison)
    else:
        said = _cheapest(comparison)
    unlikely = [o for o in ranked if o.verdict.word == "unlikely"]
    if unlikely and ranked[0].verdict.word != "unlikely":
        missing = [o.name for o in unlikely if not o.verdict.moisture.expected]
        unknown = [o.name for o in unlikely if o.verdict.moisture.expected]
        said += [f"On the best estimate the target is missed by {in_a_row(missing)}."] * bool(missing)
        said += [f"Neither diffusion data nor practice speaks for {in_a_row(unknown)}."] * bool(unknown)
        said += _as_wet_as_now(comparison, unlikely)
    failing = [o.name for o in comparison.options if o.verdict.overall == "fail"]
    if failing:
        said.append(
            f"Not ranked, since {'they do' if len(failing) > 1 else 'it does'} not dry {resin}: {in_a_row(failing)}."
        )
    return (
        said[:1]
        + price_doubted(comparison)
        + present_fails(comparison)
        + not_the_same_job(comparison)
        + capital_of_baseline(comparison)
        + said[1:]
        + data_of_another(comparison)
        + air_taken_for(comparison)
        + unpriced(comparison)
        + upkeep_missing(comparison)
        + prices_left_level(comparison, page=page)
        + put_off(comparison)
        + quoted_for_another(comparison)
        + grown_along(comparison)
        + taken_for_all(comparison)
        + as_metered(comparison)
        + read_at_the_present(comparison)
        + [*filter(None, [old_peaks(comparison)])]
    )


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


def _none_expected(comparison: Comparison) -> list[str]:
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
        f"{_time_that_would(nearest)}{_missed_elsewhere(comparison, nearest)} Change time, temperature or air first: the costs "
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


def _cheapest(comparison: Comparison) -> list[str]:
    """The option of lowest life-cycle cost among the surest, and what a cheaper, less sure one would take."""
    case, currency = comparison.case, comparison.case.currency
    resin, period = resin_name(comparison), case.model.finance.years
    ranked, base = comparison.ranked(), comparison.baseline
    best = ranked[0]
    sure = best.verdict.overall == "pass"
    among = f"options that pass every check for {resin}" if sure else f"options that may dry {resin}, none for sure"
    cost = f"{money(best.total_cost, currency)} a year to run"
    if best is base:
        said = [f"Keep {called(base)}: over {period} years it costs least of the {among}, {cost}."]
    else:
        said = [
            f"{_none_soon_enough(comparison, best)}Lowest life-cycle cost of the {among}: {best.name}, {cost}. "
            f"{_against(comparison, best)}{_payback(comparison, best)}."
            f"{_not_worth_it(comparison, best)}{like_for_like(comparison)}"
        ]
    if not sure:
        said.append(f"With caution: {_doubts(best)}. {_time_that_would(best)}".strip())
        said += _by_practice(best)
        said += _drier_now(comparison, best)
    near = [o for o in ranked if o.verdict.word == "unlikely" and o.life_cycle_cost < best.life_cycle_cost]
    if best is base and near:  # the answer may hang on some minutes
        closest = min(o.verdict.severity[3] for o in near)
        other = min((o for o in near if o.verdict.severity[3] <= ABOUT * closest), key=lambda o: o.life_cycle_cost)
        less = money(best.life_cycle_cost - other.life_cycle_cost, currency)
        said.append(
            f"{called(other)} would cost {less} less over {period} years, but is not expected to dry {resin}. {_time_that_would(other)}".strip()
        )
    cheaper = [o for o in ranked if o.verdict.overall == "caution" and o.life_cycle_cost < best.life_cycle_cost]
    if sure and cheaper:
        other = min(cheaper, key=lambda o: o.life_cycle_cost)
        less = money(best.life_cycle_cost - other.life_cycle_cost, currency)
        said.append(
            f"{called(other)} would cost {less} less over {period} years, but may not dry {resin}: {_doubts(other)}. "
            f"{_time_that_would(other)}".strip()
        )
    return said


def _as_wet_as_now(comparison: Comparison, unlikely: Sequence[OptionResult]) -> list[str]:
    """Said of one that would pay and leaves no more moisture than present dryers which are no likelier: both hang on the same trial."""
    base = comparison.baseline
    if base.verdict.word != "unlikely":
        return []

    def no_wetter(option: OptionResult) -> bool:
        pairs = zip(option.served, base.served, strict=True)
        moistures = [(one.verdict.moisture.predicted, now.verdict.moisture.predicted) for one, now in pairs]
        return all(new is None or now is None or new <= 1.001 * now for new, now in moistures)

    paying = [
        (o.measures.npv, o) for o in unlikely if o.priced and o.measures is not None and o is not base and no_wetter(o)
    ]
    npv, option = max(paying, key=lambda pair: pair[0], default=(0.0, base))
    if npv <= 0.0:
        return []
    return [
        f"By these data {called(base)} may not dry it either, and yet they run. {called(option, first=True)} leaves no more moisture. "
        f"{_against(comparison, option)}{_payback(comparison, option)}: measure the moisture of the pellets that leave today, which decides about both."
    ]


def _by_practice(option: OptionResult) -> list[str]:
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


def of_option(comparison: Comparison, option: OptionResult) -> str:
    """What one option costs to run, saves and takes to pay back, where it may be expected to dry; else that it does not."""
    cost = f"{option.name}: {money(option.total_cost, comparison.case.currency)} a year to run"
    if not option.held_out:
        why = "it has no capital yet" if not option.priced else f"it is not expected to dry {resin_name(comparison)}"
        return f"{cost}; no saving is held out, since {why}."
    return f"{cost}. {_against(comparison, option)}{_payback(comparison, option)}."


def _against(comparison: Comparison, option: OptionResult) -> str:
    """The saving of a year against the present dryers, the sentence left open."""
    base = comparison.baseline
    saving = base.total_cost - option.total_cost
    verb, more = ("saves", "") if saving >= 0 else ("costs", " more")
    return f"Against {called(base)} it {verb} {money(abs(saving), comparison.case.currency)} a year{more}"


def _not_worth_it(comparison: Comparison, option: OptionResult) -> str:
    """Said where an option is named that does not bring back what it costs."""
    measures = option.measures
    if measures is None or measures.npv >= 0.0:
        return ""
    period, loss = comparison.case.model.finance.years, money(-measures.npv, comparison.case.currency)
    return f" Over {period} years it brings {loss} less than it costs."


def _none_soon_enough(comparison: Comparison, best: OptionResult) -> str:
    """Said first where nothing that may dry pays back within the time accepted."""
    longest = comparison.case.model.finance.maximum_payback
    if longest is None:
        return ""
    expected = [o.measures for o in comparison.ranked() if o.verdict.word != "unlikely" and o.measures is not None]
    # An option that costs no more to begin with and saves has nothing to pay back.
    if any(in_time(m.payback, longest / YEAR) or (m.cash_flow[0] >= 0.0 and m.npv > 0.0) for m in expected):
        return ""
    return f"No option pays back within the {years(longest / YEAR, _digits(comparison, best))} accepted. "


def _digits(comparison: Comparison, option: OptionResult) -> int:
    """Decimals with which an option's payback is told, so that it does not look like the limit where it is another."""
    longest, m = comparison.case.model.finance.maximum_payback, option.measures
    return 1 if longest is None or m is None else decimals(longest / YEAR, m.payback, m.payback_on_savings)


def _drier_now(comparison: Comparison, best: OptionResult) -> list[str]:
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


def _time_that_would(option: OptionResult) -> str:
    """The residence that would reach the target, at each hopper where time is what an option lacks."""
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
        return f"On the best estimate {called(option)} needs, to reach the target: {'; '.join(times)}."
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


def _doubts(option: OptionResult) -> str:
    """Names of the checks that do not pass."""
    several = len(option.served) > 1
    named = [(f"{f.check} at {f.hopper}" if several else f.check, f) for f in option.verdict.findings]
    shaky = [name for name, f in named if f.verdict != "pass"]
    if len(shaky) > 4:
        shaky = list(dict.fromkeys(f.check for _, f in named if f.verdict != "pass"))
    return f"see its {'checks' if len(shaky) > 1 else 'check'} of {joined(shaky)}"


def _payback(comparison: Comparison, option: OptionResult) -> str:
    """When an option pays back, and whether that is longer than accepted."""
    measures, currency = option.measures, comparison.case.currency
    if measures is None:
        return ""
    if not math.isfinite(measures.payback):
        note = measures.payback_note
        return f"; {note.replace('not within', 'no payback within', 1)}" if note else ""
    given, digits = float(option.option.incentive), _digits(comparison, option)
    less = f", less {whole_money(given, currency)} of incentive," if given else ""
    text = f", and pays back its {whole_money(option.capital, currency)}{less} in {years(measures.payback, digits)}"
    if np.any(measures.streams["replacements"] != 0.0):
        without = paid_back(measures, "payback_on_savings", digits, " years", never="not within the study")
        text += f" with the replacements spared ({without} on running cost alone)"
    longest = comparison.case.model.finance.maximum_payback
    if longest is not None and not in_time(measures.payback, longest / YEAR):
        text += f", longer than the {years(longest / YEAR, digits)} accepted"
    return text
