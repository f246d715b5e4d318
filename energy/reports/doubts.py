"""What has to be said with an answer: of a meter, of old peaks, of quotes, of what stands there."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from energy.dryers.base import AIR_PER_RESIN, BEYOND_MODEL
from energy.errors import EnergyError
from energy.reports.rows import in_a_row, joined
from energy.sources import load
from energy.study import plant_readings
from energy.study.air_for_heat import FAR, air_is_its_own, over_usual, slip_of_ten
from energy.study.compare import Comparison, OptionResult
from energy.study.form import entries
from energy.study.price_sections import Finance
from energy.study.readings import QUANTITIES
from energy.study.sweep import total_throughput
from energy.units import show, to_unit
from energy.walkthrough.found import find, power_of
from energy.walkthrough.quantities import quantities

MUCH = 1.5
"""Air over what is usual for a resin from which it is told where it is not stated, by judgement. [-]"""
LIKE_A_DOLLAR = ("USD", "EUR", "GBP", "CHF", "CAD", "AUD", "NZD", "SGD")
"""Currencies of which one is worth between half a dollar and two."""
DEAREST = 1.5
"""Mean price of a kWh, demand included, from which it is doubted; by judgement. [money/kWh]"""
NEAR = 0.1
"""Throughput over that of a quote up to which the quote is taken to hold, by judgement. [-]"""


def called(option: OptionResult, *, first: bool = False) -> str:
    """An option in a sentence: in plain words where that is its name, such as the present dryers; any other by its name in quotes."""
    name = option.name
    if not (option.option.baseline and name.startswith("Present ")):
        return f"“{name}”"
    return f"{'The' if first else 'the'} p{name[1:]}"


def price_doubted(comparison: Comparison) -> list[str]:
    """Said where a kWh costs what none does, as where cents are written as dollars; in currencies of about that worth alone."""
    base, currency = comparison.baseline, comparison.case.currency
    said = []
    for carrier in ("electricity", "gas") if currency in LIKE_A_DOLLAR else ():
        bought = to_unit(
            base.carrier(carrier) + (base.carrier("compressed air") if carrier == "electricity" else 0.0),
            "energy",
            "kWh",
        )
        price = base.annual_cost.get(carrier, 0.0) / bought if bought > 0.0 else 0.0
        if price > DEAREST:
            said.append(
                f"{carrier.capitalize()} comes to {price:.3g} {currency} a kWh on the mean, more than any plant pays: are cents written as {currency}?"
            )
    return said


def plant_below_its_dryers(comparison: Comparison) -> list[str]:
    """Said where the plant's readings are so far below its own dryers that they may be those of something else."""
    short = plant_readings.short_of_dryers(comparison.case, comparison.baseline.year)
    if short is None or short.share < plant_readings.MUCH:
        return []
    return [f"{plant_readings.words(short)} What is saved on the bill hangs on it: check the readings first."]


def air_taken_for(comparison: Comparison) -> list[str]:
    """What is said of the air that dryers are taken to have: stated far from what is usual, or not stated."""
    return far_too_much_air(comparison) + _air_not_stated(comparison)


def far_too_much_air(comparison: Comparison) -> list[str]:
    """Dryers whose stated air is several times what is usual, most often a slip; with the air read at the present ones."""
    found: dict[tuple[str, str], list[tuple[float, OptionResult]]] = {}
    several = len(comparison.baseline.served) > 1
    for option in comparison.options:
        own = (s for s in option.served if air_is_its_own(s.duty, s.machine.inputs) and not s.machine.moved)
        far = {s.hopper.name: over_usual(s.duty, s.machine.inputs) for s in own}
        far = {hopper: of for hopper, of in far.items() if of[1] > FAR}
        if far:
            built_for, most = max(far.values(), key=lambda of: of[1])
            at = f" at {in_a_row(list(far))}" if several else ""
            found.setdefault((at, f"{built_for:.2g}"), []).append((most, option))
    said = []
    for (at, built), those in found.items():
        over, options = max(over for over, _ in those), [option for _, option in those]
        names = in_a_row([called(option, first=not i) for i, option in enumerate(options)])
        said.append(
            f"{names}{at}: {built} kg of air per kg of resin, {over:.2g} times what is usual. What is counted for so much air, and what is saved of it, "
            f"hangs on that one entry: check it first (airflow, or air_resin_ratio; built_for).{slip_of_ten(over)}"
            f"{_air_read(comparison) if comparison.baseline in options else ''}"
        )
    return said


def _air_read(comparison: Comparison) -> str:
    """Air, else power, read at present dryers that have far less of it than is counted."""
    said, case = [], comparison.case
    for readings in case.model.readings:
        try:
            read = find(case, readings)
        except EnergyError:  # nothing was read that a walkthrough has an answer for
            continue
        if over_usual(read.duty, read.machine.inputs)[1] <= FAR:
            continue
        given, units = quantities(read), case.model.case.units
        for name, counted in (("air_flow", float(read.expected.air_flow[0])), ("power", power_of(read.expected))):
            estimate, kind = given.get(name), QUANTITIES[name]
            if name == "power" and read.metered != 1.0:  # its meter is counted
                continue
            if estimate is not None and estimate.origin == "read" and FAR * estimate.value < counted:
                shown = [show(value, kind.kind, kind.unit(units)) for value in (estimate.value, counted)]
                said.append(f" At {readings.hopper} {shown[0]} was read; {shown[1]} is counted.")
                break
    return "".join(said)


def _air_not_stated(comparison: Comparison) -> list[str]:
    """Present dryers whose air nobody has stated, and that are taken to have more than is usual for what a thin jacket loses."""
    found = {}
    for one in comparison.baseline.served:
        inputs, machine = one.machine.inputs, one.machine
        ratio = float(np.max(one.operation.details.get(AIR_PER_RESIN, 0.0)))
        usual = one.duty.resin.air_resin_ratio
        jacket = load(f"dryers/{inputs.kind}")["insulation_thickness"].si
        unknown = inputs.air_resin_ratio is None and np.all(np.asarray(machine.metered) == 1.0)
        if unknown and float(inputs.insulation_thickness) < jacket and ratio > MUCH * usual:
            found[one.hopper.name] = ratio / usual
    if not found:
        return []
    at = f" at {in_a_row(list(found))}" if len(comparison.baseline.served) > 1 else ""
    most = max(found.values())
    return [
        f"{called(comparison.baseline, first=True)}{at}: the air is not stated, and {'up to ' * (len(found) > 1)}{most:.2g} times what is usual for the resin "
        "is taken, as a small hopper with so thin a jacket asks. What they cost hangs on it: read it and state it (airflow, or air_resin_ratio)."
    ]


def as_metered(comparison: Comparison) -> list[str]:
    """What of the savings hangs on a meter of the present dryers and on no part of the model."""
    base = comparison.baseline
    beyond = base.heat_out.get(BEYOND_MODEL, 0.0)
    if not beyond:
        return []
    bought = sum(v for (_, carrier), v in base.energy.items() if carrier != "cooling")
    amount = f"{to_unit(abs(beyond), 'energy', 'kWh'):,.0f} kWh a year ({100.0 * abs(beyond) / bought:.0f} % of what they take)"
    if beyond < 0.0:
        return [
            f"Counted as metered, {called(base)}: the meter shows {amount} less than the model, which is taken off what a replacement saves."
        ]
    said = [
        f"Counted as metered, {called(base)}: the meter shows {amount} more than the model can explain. Other dryers save it only if its cause "
        "goes with the present ones: find it before a saving is signed."
    ]
    kept = [(o, beyond - o.heat_out.get(BEYOND_MODEL, 0.0)) for o in comparison.options if o.option.retrofit]
    falls = [(o, to_unit(less, "energy", "kWh")) for o, less in kept if to_unit(less, "energy", "kWh") >= 1.0]
    if falls:
        option, most = max(falls, key=lambda fall: fall[1])
        said.append(
            f"For a retrofit part of it is assumed to go too, in proportion to what is changed: {most:,.0f} kWh with “{option.name}”. Until its cause is "
            "found that is a guess."
        )
    return said


def read_at_the_present(comparison: Comparison) -> list[str]:
    """Retrofits that a dew point read at the present dryers is counted for, though what they change may mend it."""
    found = {}
    for option in comparison.options:
        doubted = {f.hopper for f in option.verdict.findings if f.check == "dew point" and f.verdict != "pass"}
        several = len(option.served) > 1
        at = [
            s.hopper.name
            for s, now in zip(option.served, comparison.baseline.served, strict=True)
            if option.option.retrofit
            and s.machine.delivered_dew_point is not None
            and s.machine.delivered_dew_point == now.machine.delivered_dew_point
            and s.machine.inputs != now.machine.inputs
            and (s.hopper.name if several else "") in doubted
        ]
        if at:
            found[option.name] = at
    if not found:
        return []
    several = len(comparison.baseline.served) > 1
    hoppers = list(dict.fromkeys(name for listed in found.values() for name in listed))
    where = f" at {in_a_row(hoppers)}" if several else ""
    names = in_a_row([f"“{name}”" for name in found])
    return [
        f"The dew point read at the present dryers is counted{where} for {names} too: where what is changed mends its cause, state the dew point that is "
        "expected then as the retrofit's own delivered_dew_point."
    ]


def capital_of_baseline(comparison: Comparison) -> list[str]:
    """Said where the baseline has capital: right for a machine that would be bought, wrong for one that stands there."""
    base, currency = comparison.baseline, comparison.case.currency
    if not base.capital:
        return []
    return [
        f"The capital of {called(base)}, {base.capital:,.0f} {currency}, counts as still to be spent: the other options are asked for what they "
        "cost over that. Where it stands there already the money is spent, and its capital comes out of the case."
    ]


OLD_PEAKS = ("for old peaks still billed in the first year", "for new peaks not yet billed in the whole first year")
"""What makes net savings less, or more, than the difference of two life-cycle costs under a ratchet."""


def put_off(comparison: Comparison) -> list[str]:
    """Replacements whose first is due later than an interval from now: right after one just done that is put off, else a slip."""
    found: dict[tuple[str, float, float], list[str]] = {}
    for o in comparison.options:
        for line in o.option.replacements:
            if line.next_due is not None and line.next_due > line.every:
                found.setdefault((line.item, line.next_due, line.every), []).append(called(o))
    return [
        f"{item} of {in_a_row(names)} is taken to be due in {first:.3g} years and then every {every:.3g}: the first later than an interval from now. "
        "See that both numbers are meant."
        for (item, first, every), names in found.items()
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
    found = _quoted(comparison)
    if not found:
        return []
    now = show(total_throughput(comparison.case), "mass flow", comparison.case.model.case.units)
    flows: dict[str, list[str]] = {}
    for name, flow in found.items():
        flows.setdefault(flow, []).append(name)
    listed = (
        list(flows) if _alike(comparison, found) else [f"{flow} ({in_a_row(names)})" for flow, names in flows.items()]
    )
    return [f"Capital is quoted for {', '.join(listed)}, the case asks {now}: get quotes for that throughput."]


def like_for_like(comparison: Comparison) -> str:
    """Said where options are ranked whose capital is quoted for different throughputs; else empty."""
    found = _quoted(comparison)
    if not found or _alike(comparison, found):
        return ""
    return " This is not like for like: capital is quoted for different throughputs."


def grown_along(comparison: Comparison) -> list[str]:
    """Present dryers that may have grown with the throughput since the quotes, because nothing says what they were built for."""
    base = comparison.baseline.option
    if not _quoted(comparison) or base.arrangement != "at the machine" or base.built_for is not None:
        return []
    stated = {machine.hopper for machine in base.machines if machine.built_for is not None}
    open_ = [hopper.name for hopper in comparison.case.model.hoppers if hopper.name not in stated]
    if not open_:
        return []
    at = f" at {in_a_row(open_)}" if len(comparison.case.model.hoppers) > 1 else ""
    return [
        f"{called(comparison.baseline, first=True)}{at}: the case does not say for which throughput they were built, so they are taken as built for what is "
        "asked there. If that has changed since the quotes, state what they were built for: the saving hangs on it."
    ]


def present_fails(comparison: Comparison, when: str = "today") -> list[str]:
    """Said where the present dryers fail a check at some hopper: no saving decides then whether they stay."""
    base, found = comparison.baseline, []
    failing = {
        one.hopper.name: [finding.check for finding in one.verdict.findings if finding.verdict == "fail"]
        for one in base.served
    }
    if not any(failing.values()):
        return []
    for one in base.served:
        checks = failing[one.hopper.name]
        if one.verdict.word == "unlikely" or (checks and not one.verdict.moisture.expected):
            checks += [] if "predicted moisture" in checks else ["predicted moisture (best estimate)"]
        if not checks:
            continue
        at = f" at {one.hopper.name}" if len(base.served) > 1 else ""
        read = one.machine.delivered_dew_point if "dew point" in checks else None
        dew_point = (
            "" if read is None else show(float(np.ravel(read)[0]), "temperature", comparison.case.model.case.units)
        )
        found.append(f"{in_a_row(checks)}{at}{f' ({dew_point} was read)' if dew_point else ''}")
    return [f"Not passed {when} by {called(base)}, whatever is saved: {'; '.join(found)}."]


COLD = "does not warm its resin through: what it takes is less than drying takes"
"""Beside the energy of an option that is `cold`."""


def not_the_same_job(comparison: Comparison) -> list[str]:
    """Said where the present dryers cannot warm their resin through, so that savings are told against less than drying takes."""
    base = comparison.baseline
    cold = [one.hopper.name for one in base.served if one.verdict.grade_of("air flow") == "fail"]
    if not cold:
        return []
    at = f" at {in_a_row(cold)}" if len(base.served) > 1 else ""
    return [
        f"{called(base, first=True)}{at}: too little air to warm the resin through. Counted is what it takes as it runs, less than drying would take, so "
        "savings against it come out too small."
    ]


def _quoted(comparison: Comparison) -> dict[str, str]:
    """The throughput that capital is quoted for, in words, of each option where it is another than the case's."""
    now, units = total_throughput(comparison.case), comparison.case.model.case.units
    quoted = {o.name: o.option.capital_for for o in comparison.options}
    return {
        name: show(float(flow), "mass flow", units)
        for name, flow in quoted.items()
        if flow is not None and abs(now / float(flow) - 1.0) > NEAR
    }


def _alike(comparison: Comparison, quoted: Mapping[str, str]) -> bool:
    """Is all capital quoted for one throughput?"""
    return len(set(quoted.values())) == 1 and len(quoted) == sum(bool(o.option.capital) for o in comparison.options)


def taken_for_all(comparison: Comparison) -> list[str]:
    """Options with more dryers than any line of their capital counts."""
    own = [o for o in comparison.options if o.option.arrangement == "at the machine" and o.option.capital]
    found = [o for o in own if max(line.count for line in o.option.capital) < len(o.machines)]
    if not found:
        return []
    names = "" if len(found) == len(own) else f" ({in_a_row([o.name for o in found])})"
    return [
        f"Capital, upkeep and overhauls are taken as those of all {len(found[0].machines)} dryers together, though no line of capital counts "
        f"as many{names}."
    ]


def upkeep_missing(comparison: Comparison) -> list[str]:
    """What is said of options whose upkeep nobody has stated."""
    listed = [o for o in comparison.options if o.verdict.overall != "fail"]
    names = [o.name for o in listed if not o.option.upkeep_given]
    if not names:
        return []
    of = "any option" if len(names) == len(listed) > 1 else in_a_row(names)
    return [f"Upkeep is not given for {of} and counts as 0: to run looks cheaper than it is."]


def prices_left_level(comparison: Comparison, *, page: bool = False) -> list[str]:
    """Said where money counts inflation and a price has no rise because none was stated: it falls in real terms then.

    Where to state it is told by the keys of the case, on a `page` by the names of its fields.
    """
    given = comparison.case.model.finance
    if given.rate_basis != "nominal" or not given.inflation > 0.0:
        return []
    written = comparison.case.document.get("finance", {})
    paid = {"electricity": ["electricity"], "gas": ["gas"], "other": ["maintenance", "cooling", "water"]}
    used = {c for o in comparison.options for (_, c), bought in o.energy.items() if bought > 0.0}
    left = [key for key in paid if written.get(f"escalation_{key}") is None and (key == "other" or key in used)]
    if not left:
        return []
    keys = [f"escalation_{key}" for key in left]
    fields = entries(Finance)
    where = joined([f"“{fields[key].label}”" for key in keys] if page else [f"finance.{key}" for key in keys])
    names = joined([name for key in left for name in paid[key]])
    return [
        f"Later overhauls rise with inflation, {100.0 * given.inflation:.3g} % a year, but no rise is stated for {names}: level in "
        "the money of the day is falling in real terms, which moves the net savings. "
        f"State it in {where}{' under More on money' if page else ''} (inflation where nothing else is known)."
    ]


def unpriced(comparison: Comparison) -> list[str]:
    """What is said of options that could be ranked and have no capital."""
    names = [o.name for o in comparison.options if not o.priced and o.verdict.overall != "fail"]
    they = "they have" if len(names) > 1 else "it has"
    return [f"Not ranked, since {they} no capital yet (0 where it costs nothing): {in_a_row(names)}."] if names else []
