"""The answer in one sentence."""

from __future__ import annotations

import math

import numpy as np

from energy.dryers.base import BEYOND_MODEL
from energy.study.compare import Comparison, OptionResult, Served
from energy.units import show, to_unit

YEAR = 8760 * 3600.0  # s
NEAR = 0.1
"""Throughput over that of a quote up to which the quote is taken to hold, by judgement. [-]"""


def money(amount: float, currency: str) -> str:
    """Amount to three significant digits with its currency, thousands separated."""
    if not math.isfinite(amount):
        return "-"
    digits = 0 if amount == 0 else max(0, 2 - math.floor(math.log10(abs(amount))))
    rounded = round(amount, 2 - math.floor(math.log10(abs(amount)))) if amount else 0.0
    return f"{rounded:,.{min(digits, 2)}f} {currency}"


def before_and_now(label: str, before: str, now: str) -> str:
    """What a value was and is, in a few words."""
    return f"{label}: {now} as before" if now == before else f"{label}: {before} before, {now} now"


def _names(names: list[str]) -> str:
    """Names in a row, told apart where one of them has a comma."""
    return ("; " if any("," in name for name in names) else ", ").join(names)


def years(value: float) -> str:
    """Years to one decimal."""
    return f"{value:.1f} years"


def answer(comparison: Comparison) -> str:
    """Which option that dries the resin costs least over its life, what it saves, when it pays back."""
    return " ".join(sentences(comparison))


def sentences(comparison: Comparison) -> list[str]:
    """The answer first, what has to be said with it after."""
    resin, ranked = resin_name(comparison), comparison.ranked()
    if not ranked:
        said = [f"None of the options dries {resin} to its target.", "The reasons stand with each option's checks."]
        return said + unpriced(comparison)
    if ranked[0].verdict.word == "unlikely":
        said = _none_expected(comparison)
    else:
        said = _cheapest(comparison)
    missing = [o.name for o in ranked if o.verdict.word == "unlikely"]
    if missing and ranked[0].verdict.word != "unlikely":
        said.append(f"On the best estimate the target is missed by {_names(missing)}.")
    failing = [o.name for o in comparison.options if o.verdict.overall == "fail"]
    if failing:
        said.append(
            f"Not ranked, since {'they do' if len(failing) > 1 else 'it does'} not dry {resin}: {_names(failing)}."
        )
    return (
        said
        + unpriced(comparison)
        + quoted_for_another(comparison)
        + taken_for_all(comparison)
        + as_metered(comparison)
        + [*filter(None, [old_peaks(comparison)])]
    )


def as_metered(comparison: Comparison) -> list[str]:
    """What of the savings hangs on a meter of the present dryers and on no part of the model."""
    base = comparison.baseline
    beyond = base.heat_out.get(BEYOND_MODEL, 0.0)
    if not beyond:
        return []
    bought = sum(v for (_, carrier), v in base.energy.items() if carrier != "cooling")
    amount = f"{to_unit(abs(beyond), 'energy', 'kWh'):,.0f} kWh a year, {100.0 * abs(beyond) / bought:.0f} % of what it takes,"
    if beyond > 0.0:
        return [
            f"Counted as metered, {base.name}: {amount} are beyond what any part of the model takes, and saved by a replacement only if their "
            "cause goes with the present dryers; find it before a saving is signed."
        ]
    return [
        f"Counted as metered, {base.name}: {amount} less than the model, which is taken off what a replacement saves."
    ]


def old_peaks(comparison: Comparison) -> str:
    """Why net savings are not the difference of two life-cycle costs, where a ratchet still bills old peaks; else empty."""
    late = [abs(float(s.first_year - s.steady)) for o in comparison.options for s in o.savings.values()]
    if not any(less >= 0.5 for less in late):
        return ""
    return (
        "Net savings are less than the difference of the life-cycle costs by what old peaks still cost in the first year: a ratchet bills "
        "them, whichever dryer runs then."
    )


def quoted_for_another(comparison: Comparison) -> list[str]:
    """Options whose capital was quoted for another throughput than the case's."""
    case = comparison.case
    now = sum(float(hopper.throughput) for hopper in case.model.hoppers)
    quoted = {o.name: float(o.option.capital_for) for o in comparison.options if o.option.capital_for is not None}
    apart = {name: flow for name, flow in quoted.items() if abs(now / flow - 1.0) > NEAR}
    if not apart:
        return []
    units = case.model.case.units
    flows: dict[str, list[str]] = {}
    for name, flow in apart.items():
        flows.setdefault(show(flow, "mass flow", units), []).append(name)
    alike = len(flows) == 1 and len(apart) == sum(bool(o.option.capital) for o in comparison.options)
    listed = [flow if alike else f"{flow} ({_names(names)})" for flow, names in flows.items()]
    return [
        f"Capital is quoted for {', '.join(listed)}, the case asks {show(now, 'mass flow', units)}: get quotes for that throughput."
    ]


def taken_for_all(comparison: Comparison) -> list[str]:
    """Options with more dryers than any line of their capital counts."""
    own = [o for o in comparison.options if o.option.arrangement == "at the machine" and o.option.capital]
    found = [o for o in own if max(line.count for line in o.option.capital) < len(o.machines)]
    if not found:
        return []
    names = "" if len(found) == len(own) else f" ({_names([o.name for o in found])})"
    return [
        f"Capital, upkeep and overhauls are taken as those of all {len(found[0].machines)} dryers together, though no line of capital counts "
        f"as many{names}."
    ]


def unpriced(comparison: Comparison) -> list[str]:
    """What is said of options that could be ranked and have no capital."""
    names = [o.name for o in comparison.options if not o.priced and o.verdict.overall != "fail"]
    they = "they have" if len(names) > 1 else "it has"
    return [f"Not ranked, since {they} no capital yet (0 where it costs nothing): {_names(names)}."] if names else []


def resin_name(comparison: Comparison) -> str:
    """The resin in words, and whether its values are the user's own; of several hoppers all of them."""
    if len(comparison.case.model.hoppers) > 1:
        return "every resin"
    return resin_of_hopper(comparison, 0)


def resin_of_hopper(comparison: Comparison, place: int) -> str:
    """Abbreviation of a hopper's resin, and whether its values are the user's own."""
    own = comparison.case.model.hoppers[place].own_resin is not None
    return f"{comparison.case.resins[place].abbreviation}{' (own values)' if own else ''}"


def worst(option: OptionResult) -> Served:
    """The hopper that an option dries worst."""
    return max(option.served, key=lambda served: served.verdict.severity)


def _none_expected(comparison: Comparison) -> list[str]:
    """What is said where the best estimate of every option misses the target: no saving is held out."""

    # Nearest is the option whose worst hopper misses its target by the least factor.
    nearest = min(comparison.ranked(), key=lambda option: option.verdict.severity[3])
    served = worst(nearest)
    m = served.verdict.moisture
    assert m.predicted is not None  # else it would not be unlikely
    resin = served.duty.resin.abbreviation
    if len(nearest.served) > 1:
        where = f" at {served.hopper.name} ({resin})"
        first = f"No option is expected to dry {resin_name(comparison)} to its target as the case is set."
    else:
        where = ""
        first = f"No option is expected to dry {resin_name(comparison)} to {_ppm(m.target)} as the case is set."
    return [
        f"{first} Nearest is {nearest.name} with about {_ppm(m.predicted)}{where}.",
        f"{_time_that_would(nearest)} Change time, temperature or air first: the costs below are of machines that miss it.",
    ]


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
        said = [f"Keep the {_lower(base.name)}: over {period} years it costs least of the {among}, {cost}."]
    else:
        too_late = _none_soon_enough(comparison)
        said = [
            f"{too_late}Lowest life-cycle cost of the {among}: {best.name}, {cost}. "
            f"{_against(comparison, best)}{_payback(comparison, best, 'that' if too_late else '')}."
        ]
    if not sure:
        said.append(f"With caution: {_doubts(best)}. {_time_that_would(best)}".strip())
        said += _drier_now(best, base)
    near = [o for o in ranked if o.verdict.word == "unlikely" and o.life_cycle_cost < best.life_cycle_cost]
    if best is base and near:  # the answer may hang on some minutes
        other = min(near, key=lambda o: (o.verdict.severity[3], o.life_cycle_cost))
        less = money(best.life_cycle_cost - other.life_cycle_cost, currency)
        said.append(
            f"{other.name} would cost {less} less over {period} years, but is not expected to dry it: {_time_that_would(other)}".strip()
        )
    cheaper = [o for o in ranked if o.verdict.overall == "caution" and o.life_cycle_cost < best.life_cycle_cost]
    if sure and cheaper:
        other = min(cheaper, key=lambda o: o.life_cycle_cost)
        less = money(best.life_cycle_cost - other.life_cycle_cost, currency)
        said.append(
            f"{other.name} would cost {less} less over {period} years, but may not dry it: {_doubts(other)}. "
            f"{_time_that_would(other)}".strip()
        )
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
    return f"Against the {_lower(base.name)} it {verb} {money(abs(saving), comparison.case.currency)} a year{more}"


def _none_soon_enough(comparison: Comparison) -> str:
    """Said first where nothing that may dry pays back within the time accepted."""
    longest = comparison.case.model.finance.maximum_payback
    if longest is None:
        return ""
    expected = [o.measures for o in comparison.ranked() if o.verdict.word != "unlikely" and o.measures is not None]
    # An option that costs no more to begin with and saves has nothing to pay back.
    if any(m.payback * YEAR <= longest * 1.01 or (m.cash_flow[0] >= 0.0 and m.npv > 0.0) for m in expected):
        return ""
    return f"No option pays back within the {years(longest / YEAR)} accepted. "


def _drier_now(best: OptionResult, base: OptionResult) -> list[str]:
    """Said where the present dryer is expected to leave clearly less moisture than the one held out."""
    served = worst(best)
    new = served.verdict.moisture.predicted
    now = next((s.verdict.moisture.predicted for s in base.served if s.hopper == served.hopper), None)
    if best is base or new is None or now is None or new <= 1.1 * now:
        return []
    where = f" at {served.hopper.name}" if len(best.served) > 1 else ""
    return [f"{base.name} as it stands is expected to leave less moisture{where}: {_ppm(now)} against {_ppm(new)}."]


def _ppm(moisture: float) -> str:
    ppm = float(to_unit(moisture, "moisture", "ppm"))
    return f"{ppm:,.0f} ppm" if ppm >= 0.5 else "less than 1 ppm"


def _time_that_would(option: OptionResult) -> str:
    """The residence that would reach the target, at each hopper where time is what an option lacks."""
    lacking = [
        s
        for s in option.served
        if s.verdict.grade_of("predicted moisture") == "caution" and s.verdict.moisture.predicted is not None
    ]
    missing = [s for s in lacking if not s.verdict.moisture.expected]
    if not lacking:
        return ""
    if len(lacking) > 1:
        if missing:
            times = [
                f"{_who(s, option)} {_hours(s.verdict.moisture.needed)}, {_hours(s.verdict.moisture.needed_surely)} to be sure "
                f"({_given(s)} given)"
                for s in missing
            ]
            return f"On the best estimate the target takes: {'; '.join(times)}."
        times = [f"{_who(s, option)} {_hours(s.verdict.moisture.needed_surely)} ({_given(s)} given)" for s in lacking]
        return f"To reach the target at the slow end of the diffusion data too: {'; '.join(times)}."
    m = lacking[0].verdict.moisture
    now = f"{_who(lacking[0], option)} is given {_given(lacking[0])}"
    if m.expected:
        return f"{now}; {_hours(m.needed_surely)} would reach the target at the slow end of the diffusion data too."
    return f"{now}; the target takes {_hours(m.needed)} on the best estimate, {_hours(m.needed_surely)} to be sure."


def _who(served: Served, option: OptionResult) -> str:
    return option.name if len(option.served) == 1 else f"{served.duty.resin.abbreviation} at {served.hopper.name}"


def _given(served: Served) -> str:
    return f"{served.verdict.moisture.residence / 3600:.2g} h"


def _hours(time: float | None) -> str:
    return f"about {time / 3600:.2g} h" if time else "more than a day"


def _doubts(option: OptionResult) -> str:
    """Names of the checks that do not pass."""
    several = len(option.served) > 1
    named = [(f"{f.check} at {f.hopper}" if several else f.check, f) for f in option.verdict.findings]
    shaky = [name for name, f in named if f.verdict != "pass"]
    if len(shaky) > 4:
        shaky = list(dict.fromkeys(f.check for _, f in named if f.verdict != "pass"))
    listed = " and ".join([", ".join(shaky[:-1]), shaky[-1]]) if len(shaky) > 1 else shaky[0]
    return f"see its {'checks' if len(shaky) > 1 else 'check'} of {listed}"


def _payback(comparison: Comparison, option: OptionResult, accepted: str = "") -> str:
    """When an option pays back; `accepted` stands for the longest time allowed where it has been named just before."""
    measures, currency = option.measures, comparison.case.currency
    if measures is None:
        return ""
    if not math.isfinite(measures.payback):
        return f" ({measures.payback_note})" if measures.payback_note else ""
    given = float(option.option.incentive)
    less = f", less {money(given, currency)} of incentive," if given else ""
    text = f", and pays back its {money(option.capital, currency)}{less} in {years(measures.payback)}"
    if np.any(measures.streams["replacements"] != 0.0):
        alone = measures.payback_on_savings
        without = years(alone) if math.isfinite(alone) else "not within the study"
        text += f" with the replacements spared ({without} on running cost alone)"
    longest = comparison.case.model.finance.maximum_payback
    if longest is not None and round(measures.payback, 1) > round(longest / YEAR, 1):
        text += f", longer than {accepted or f'the {years(longest / YEAR)} accepted'}"
    return text


def _lower(name: str) -> str:
    """Name of an option inside a sentence: a leading capital goes unless more capitals follow, as in PET."""
    return name[0].lower() + name[1:] if len(name) > 1 and name[1].islower() else name
