"""The answer in one sentence."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from energy.reports.amounts import YEAR, money, whole_money, years
from energy.reports.doubts import (
    air_taken_for,
    as_metered,
    called,
    capital_of_baseline,
    grown_along,
    like_for_like,
    not_the_same_job,
    old_peaks,
    plant_below_its_dryers,
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
from energy.reports.drying_words import (
    by_practice,
    checks_in_doubt,
    drier_now,
    none_expected,
    resin_name,
    time_that_would,
)
from energy.reports.in_time import decimals, in_time
from energy.reports.paid_back import paid_back
from energy.reports.paid_later import saved_before_paid
from energy.reports.resins import data_of_another
from energy.reports.rows import in_a_row
from energy.reports.sizes_kept import kept_as_before
from energy.study.compare import Comparison, OptionResult

ABOUT = 1.1
"""Options that miss a target by about as much: within a tenth of each other. [-]"""


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
        said = none_expected(comparison)
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
        + kept_as_before(comparison, page=page)
        + price_doubted(comparison)
        + plant_below_its_dryers(comparison)
        + present_fails(comparison)
        + not_the_same_job(comparison)
        + capital_of_baseline(comparison)
        + said[1:]
        + data_of_another(comparison)
        + air_taken_for(comparison)
        + unpriced(comparison)
        + upkeep_missing(comparison)
        + prices_left_level(comparison, page=page)
        + saved_before_paid(comparison, page=page)
        + put_off(comparison)
        + quoted_for_another(comparison)
        + grown_along(comparison)
        + taken_for_all(comparison)
        + as_metered(comparison)
        + read_at_the_present(comparison)
        + [*filter(None, [old_peaks(comparison)])]
    )


def _cheapest(comparison: Comparison) -> list[str]:
    """The option of lowest life-cycle cost among the surest, and what a cheaper, less sure one would take."""
    case, currency = comparison.case, comparison.case.currency
    resin, period = resin_name(comparison), case.model.finance.years
    ranked, base = comparison.ranked(), comparison.baseline
    best = ranked[0]
    sure = best.verdict.overall == "pass"
    cheaper = cheaper_behind(comparison)
    among = f"options that pass every check for {resin}" if sure else f"options that may dry {resin}, none for sure"
    if cheaper and not sure:
        among = f"options whose predicted moisture passes for {resin}, none without a caution"
    cost = f"{money(best.total_cost, currency)} a year to run"
    if best is base:
        said = [f"Keep {called(base)}: over {period} years it costs least of the {among}, {cost}."]
    else:
        late = _none_soon_enough(comparison, best)
        said = [
            f"{late}Lowest life-cycle cost of the {among}: {best.name}, {cost}. "
            f"{_against(comparison, best)}{_payback(comparison, best, limit_told=bool(late))}."
            f"{_not_worth_it(comparison, best)}{like_for_like(comparison)}"
        ]
    if not sure:
        said.append(f"With caution: {checks_in_doubt(best)}. {time_that_would(best)}".strip())
        said += by_practice(best)
        said += drier_now(comparison, best)
    near = [o for o in ranked if o.verdict.word == "unlikely" and o.life_cycle_cost < best.life_cycle_cost]
    if best is base and near:  # the answer may hang on some minutes
        closest = min(o.verdict.severity[3] for o in near)
        other = min((o for o in near if o.verdict.severity[3] <= ABOUT * closest), key=lambda o: o.life_cycle_cost)
        less = money(best.life_cycle_cost - other.life_cycle_cost, currency)
        said.append(
            f"{called(other)} would cost {less} less over {period} years, but is not expected to dry {resin}. {time_that_would(other)}".strip()
        )
    if cheaper:
        other = min(cheaper, key=lambda o: o.life_cycle_cost)
        less = money(best.life_cycle_cost - other.life_cycle_cost, currency)
        but = f"may not dry {resin}" if sure else "less is sure of its drying"
        said.append(
            f"{called(other)} would cost {less} less over {period} years, but {but}: {checks_in_doubt(other)}. {time_that_would(other)}".strip()
        )
    return said


def cheaper_behind(comparison: Comparison) -> list[OptionResult]:
    """Options that cost less than the first and stand behind it, since less is sure of their drying."""
    best, *others = comparison.ranked()
    words = ("caution", "unlikely") if best.verdict.overall == "pass" else ("caution",)
    return [o for o in others if o.verdict.word in words and o.life_cycle_cost < best.life_cycle_cost]


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
    if any(in_time(m.payback, longest / YEAR) or (m.paid_first <= 0.0 and m.npv > 0.0) for m in expected):
        return ""
    return f"No option pays back within the {years(longest / YEAR, _digits(comparison, best))} accepted. "


def _digits(comparison: Comparison, option: OptionResult) -> int:
    """Decimals with which an option's payback is told, so that it does not look like the limit where it is another."""
    longest, m = comparison.case.model.finance.maximum_payback, option.measures
    return 1 if longest is None or m is None else decimals(longest / YEAR, m.payback, m.payback_on_savings)


def _payback(comparison: Comparison, option: OptionResult, *, limit_told: bool = False) -> str:
    """When an option pays back, and whether that is longer than accepted, unless that was told of all options."""
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
    if longest is not None and not limit_told and not in_time(measures.payback, longest / YEAR):
        text += f", longer than the {years(longest / YEAR, digits)} accepted"
    return text
