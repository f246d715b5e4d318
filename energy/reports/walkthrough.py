"""A walkthrough for people: few words, every figure with its uncertainty and what it rests on."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

import numpy as np

from energy.reports.amounts import before_and_now, money
from energy.reports.moisture_words import of_pellets
from energy.reports.rows import joined
from energy.reports.walkthrough_words import cut, half_width, label, per_resin, stands_for
from energy.study.case import Case
from energy.study.compare import CAUTIONS
from energy.study.form import entries
from energy.study.readings import QUANTITIES
from energy.units import Quantity, parse, show
from energy.walkthrough.balance import Balance, Term
from energy.walkthrough.baseline import desiccant_kept, replaced
from energy.walkthrough.causes import UNEXPLAINED_POWER, Cause
from energy.walkthrough.contradictions import Contradiction
from energy.walkthrough.doubt import by_gas
from energy.walkthrough.dryness import COLD, DAMPER, TOO_DAMP
from energy.walkthrough.estimate import COVERAGE
from energy.walkthrough.found import label_of, power_read
from energy.walkthrough.gaps import Gap
from energy.walkthrough.of_type import has_desiccant
from energy.walkthrough.practice import BEYOND, WITHIN
from energy.walkthrough.quantities import METER
from energy.walkthrough.walk import Walkthrough
from energy.walkthrough.with_meter import beside_the_meter

ORIGINS = {"read": "read", "case": "from the case", "model": "from the model", "balance": "from the balance"}
MODELLED = "What was not read is taken from the case or the model with a wide range, and is in the uncertainty stated."
UNTIL_CHECKED = "A reading is to be checked first: what is found may change with it."


def headline(walkthrough: Walkthrough, system: str) -> str:
    """Energy per resin with its uncertainty, cost a year, and what the model expected, in a sentence."""
    told, year = walkthrough.balance, walkthrough.year
    least = f", {below_least(walkthrough, system)}" if walkthrough.impossible else ""
    return (
        f"{told.found.readings.hopper}: {per_resin(told, system)}{least}, about "
        f"{money(year.cost, walkthrough.case.currency)} a year for energy; the model expected "
        + " ".join(
            filter(
                None,
                [
                    f"{show(told.expected, 'specific energy', system)}.",
                    *to_check(walkthrough),
                    left_out(walkthrough),
                    verdict(walkthrough, system),
                ],
            )
        )
    )


def below_least(walkthrough: Walkthrough, system: str) -> str:
    """What to say of an energy per resin that no dryer can do with."""
    return f"below what warming and drying the resin takes ({show(walkthrough.least, 'specific energy', system)})"


def at_the_least(walkthrough: Walkthrough, system: str) -> str:
    """What the resin itself takes, in a sentence, so that the energy found can be judged."""
    return f"Warming and drying the resin takes {show(walkthrough.least, 'specific energy', system)} at the least, whatever the dryer."


def figures_rest_on(walkthrough: Walkthrough) -> frozenset[str]:
    """Quantities that energy per resin and cost are made of: with no meter of all its heat, the airflow stands in for it."""
    found = walkthrough.balance.found
    metered = power_read(found.readings) and not by_gas(found)
    return frozenset({"throughput", "power"} if metered else {"throughput", "power", "air_flow"})


def record(walkthrough: Walkthrough) -> str:
    """When and by whom it was read, and the note on it, as far as they are stated."""
    readings = walkthrough.balance.found.readings
    said = [f"Read {readings.occasion}." if readings.occasion else "", " ".join(readings.note.split())]
    return " ".join(filter(None, said))


def verdict(walkthrough: Walkthrough, system: str = "") -> str:
    """Does the dryer take what the model expects, in a sentence; and in another that its pellets may stay wet, where they may.

    Nothing is said of what rests on a reading that is to be checked first (see `to_check`). Units are those of the case
    where no system is named.
    """
    system = system or walkthrough.case.model.case.units
    doubted = {doubt.name for doubt in walkthrough.doubts}
    named = {cause.name for cause in walkthrough.causes}
    if "dew_point" in doubted:
        named -= {TOO_DAMP, DAMPER}
    off = "A reading is off, or the pellets leave cold and undried."
    in_doubt = bool(doubtful(walkthrough) & figures_rest_on(walkthrough))
    cold = COLD in named and (in_doubt or not walkthrough.impossible)
    wet = " and ".join([*[f"its air is {BEYOND}"] * (TOO_DAMP in named), *["its pellets leave cold"] * cold])
    wet += f": see whether {'they dry' if cold else 'it dries'}." if wet else ""
    accepted = f"Its air is {WITHIN}." if DAMPER in named else ""
    said = [wet[:1].upper() + wet[1:]]
    if not in_doubt and not (nothing_counts(walkthrough) and walkthrough.balance.found.aside):
        said = [off if walkthrough.impossible else _of_energy(walkthrough, system), f"But {wet}" if wet else ""]
    return " ".join(filter(None, [*said, accepted]))


def to_check(walkthrough: Walkthrough) -> list[str]:
    """Readings that this dryer cannot have, a sentence or two each; none in an ordinary walkthrough."""
    return [*dict.fromkeys(doubt.text for doubt in walkthrough.doubts)]  # a pair has one text


def left_out(walkthrough: Walkthrough) -> str:
    """What is in no figure until it is checked, and what the figures rest on then; empty where nothing is left out."""
    aside = set_aside(walkthrough.balance)
    if not aside:
        return ""
    rest = "Nothing else was read: the figures are the model's."
    rest = rest if nothing_counts(walkthrough) else "The figures rest on what else was read."
    return f"In no figure until it is checked: {aside}. {rest}"


def set_aside(told: Balance) -> str:
    """What is in no figure until it is checked, in a row; empty for nothing."""
    return joined([label(name).partition(",")[0].lower() for name in told.found.aside])


def doubtful(walkthrough: Walkthrough) -> frozenset[str]:
    """Quantities that are to be checked and are in the figures as they were read."""
    return frozenset(doubt.name for doubt in walkthrough.doubts) - {*walkthrough.balance.found.aside}


def nothing_counts(walkthrough: Walkthrough) -> bool:
    """Are all figures the model's, since nothing was read that counts?"""
    return not any(estimate.origin == "read" for estimate in walkthrough.balance.quantities.values())


def until_checked(walkthrough: Walkthrough) -> list[str]:
    """That findings may change, where a reading is to be checked first or the readings contradict each other; else nothing."""
    return [UNTIL_CHECKED] if walkthrough.doubts or not walkthrough.balance.agrees else []


def _of_energy(walkthrough: Walkthrough, system: str) -> str:
    off = COVERAGE * walkthrough.model_uncertainty
    if nothing_counts(walkthrough):
        nothing = "Nothing that the energy rests on was read" if walkthrough.pellets else "Nothing was read"
        return f"{nothing} yet: these are the model's figures."
    return f"{_beside_the_case(walkthrough, off, system)}{_beside_as_read(walkthrough, system)}"


def _beside_as_read(walkthrough: Walkthrough, system: str) -> str:
    """How far the dryer is from the model run as it was read, where that is another than the one of the case."""
    told = walkthrough.balance
    if any(doubt.name == "air_flow" for doubt in walkthrough.doubts):
        return ""
    as_read = walkthrough.year.as_read / float(told.found.duty.throughput[0])
    gap = told.specific_energy - as_read
    if min(abs(as_read - told.expected), abs(gap)) <= told.expanded:
        return ""
    jacket = ["jacket"] if told.found.jacket is not None else []
    beds = ["regeneration"] if has_desiccant(told.found.machine.type) else []
    return (
        f" With the {joined(['air', *jacket, *beds])} that were read, the model expects {show(as_read, 'specific energy', system)}: "
        f"the dryer takes {100 * abs(gap) / as_read:.0f} % {'more' if gap > 0 else 'less'} than that."
    )


def _beside_the_case(walkthrough: Walkthrough, off: float, system: str) -> str:
    told = walkthrough.balance
    gap = told.specific_energy - told.expected
    if abs(gap) <= told.expanded:
        same = "The readings so far cannot tell it from the model"
        if any(cause.name == UNEXPLAINED_POWER for cause in walkthrough.causes):
            return (
                f"{same}, but what was read of its parts does not explain all that the meter shows: see what was found."
            )
        return f"{same}."
    said = f"It takes {100 * abs(gap) / told.expected:.0f} % {'more' if gap > 0 else 'less'} than the model expects of this dryer."
    of_model = f"{100 * off / told.expected:.0f} %"
    if abs(gap) <= off:
        return f"{said} The model may be off by {of_model}, so that this alone shows nothing."
    if abs(gap) <= float(np.hypot(told.expanded, off)):
        half, share = half_width(told.expanded, "specific energy", system), told.expanded / told.expected
        return (
            f"{said} The readings may be off by {half}, {100 * share:.0f} % of what the model expects, and the model by {of_model}, so that this alone "
            "shows nothing."
        )
    return said


def contradicted(walkthrough: Walkthrough) -> list[str]:
    """What does not fit together; nothing where all agrees."""
    told, doubted = walkthrough.balance, {doubt.name for doubt in walkthrough.doubts}
    if told.agrees:
        return []
    wider_for_it = "; the interval is wider for it" if told.widened else ""
    said = [f"The readings contradict each other or the machine as modelled{wider_for_it}."]
    if told.unexplained is not None:
        shows, rest = (
            ("more than the parts of this dryer, run as it was read, can take", "rest")
            if told.unexplained.value > 0.0
            else ("less than the parts of this dryer, run as it was read, take together", "difference")
        )
        trusted = "Until the meter is checked, the" if "power" in doubted else "The meter is believed: the"
        said = [f"The meter shows {shows}. {trusted} {rest} is not explained."]
    for one in told.contradictions:
        names = _of(one, doubted, told.found.machine.type)
        what = (
            "what the meter shows and what the parts add up to"
            if one.name == METER
            else "what the air gives and the hopper takes"
        )
        gap = told.unexplained.value if one.name == METER and told.unexplained is not None else one.gap
        apart = f"{show(abs(gap), 'power', walkthrough.case.model.case.units)} lie between {what}"
        said.append(f"{apart}" + (f"; look again at {' and '.join(names)}." if names else "."))
    return said


def _of(one: Contradiction, doubted: Collection[str], kind: str) -> list[str]:
    """Up to three readings in a balance that does not hold, in words; those doubted anyhow first."""
    first = {*doubted} & {"throughput", *one.readings}  # a throughput is in both balances, however well it was weighed
    read = [*sorted(first), *(name for name in one.readings if name not in first)]
    return [label(name, kind).lower() for name in read[:3]]


def wider(walkthrough: Walkthrough) -> str:
    """Why the interval is wider than the instruments make it, and for which readings, in a sentence; empty where it is not."""
    told, doubted = walkthrough.balance, {doubt.name for doubt in walkthrough.doubts}
    names = [*dict.fromkeys(name for one in told.contradictions for name in _of(one, doubted, told.found.machine.type))]
    if not told.widened or not names:
        return ""
    return f"The interval is wider than the instruments make it, since these do not fit together: {', '.join(names)}."


def settled_by(walkthrough: Walkthrough) -> list[tuple[str, str]]:
    """Findings that no reading of the balance is sure of, and what to read to be sure."""
    return [(cause.name, cause.settled_by) for cause in walkthrough.causes if cause.settled_by]


def would_settle(walkthrough: Walkthrough) -> list[tuple[str, str]]:
    """What to read again where readings contradict each other, and how."""
    kind = walkthrough.balance.found.machine.type
    return [(label(check.name, kind), check.how) for check in walkthrough.checks]


def would_locate(walkthrough: Walkthrough) -> list[tuple[str, str]]:
    """The power that the meter shows beyond the model, and what to read to see which part takes it; nothing where it is not far over."""
    told, kind = walkthrough.balance, walkthrough.balance.found.machine.type
    if not walkthrough.locating:
        return []
    beyond = show(told.power.value - walkthrough.year.as_read, "power", walkthrough.case.model.case.units)
    each = [f"{label(one.name, kind)}: {one.how}" for one in walkthrough.locating]
    return [(f"Where the {beyond} beyond the model go", " ".join(each))]


def replaced_inputs(balance: Balance, taken: Case, system: str) -> str:
    """Every input of the present machine whose place a reading takes in the case: what it was and what it is then."""
    told = []
    for one in replaced(balance, taken):
        values = [shown_reading(value, one.quantity, system) for value in (one.before, one.now)]
        told.append(before_and_now(one.label, *values))
    return "; ".join(told)


def desiccant_stays(balance: Balance, system: str) -> list[str]:
    """That a present dryer keeps its desiccant where readings are taken over that would build it other beds, in a sentence."""
    kept = desiccant_kept(balance)
    if kept is None:
        return []
    quantity = entries(type(balance.found.machine.inputs))["desiccant_mass"]
    assert quantity.quantity is not None
    mass = shown_reading(parse(kept["value"], "mass"), quantity.quantity, system)
    return [
        f"Its desiccant stays as much as it was, whatever was read: {mass}, as the case had it built, now stands in its inputs "
        f"(“{quantity.label}”). Where the dryer's papers say otherwise, write that there."
    ]


def shown_reading(value: float | str, quantity: Quantity | None, system: str) -> str:
    if quantity is None or isinstance(value, str):
        return str(value)
    return show(value, quantity.kind, quantity.unit(system))


def costs_no_energy(cause: Cause) -> str:
    """What a finding costs that has no money; air that practice accepts costs nothing that is known."""
    return "costs no energy" if cause.name == DAMPER else "costs dryness, not energy"


def gap_row(gap: Gap, system: str, kind: str = "") -> tuple[str, str, str, str]:
    """Quantity, read, expected, and whether the difference means anything."""
    unit = QUANTITIES[gap.name].unit(system) if gap.name in QUANTITIES else system
    word = "above" if gap.size > 0 else "below"
    if gap.doubted:
        word = gap.doubted
    elif gap.damp:
        word = gap.damp
    elif gap.poor_jacket:
        word = "hotter than with a good jacket"
    elif abs(gap.size) < COVERAGE:
        word = f"{word}, within the model's range" if gap.told_apart else "as expected"
    expected = show(gap.expected, gap.kind, unit)
    if gap.known is not None:
        expected, built = gap.known.counted(unit), show(gap.known.built_for, gap.kind, unit)
        if built != expected:
            expected += f", built for {built}"
            if not gap.doubted and gap.read - COVERAGE * gap.of_reading > gap.known.built_for:
                more = f"{100 * (gap.read / gap.known.built_for - 1.0):.0f} % more than built for"
                word = more if abs(gap.size) < COVERAGE else f"{word}, and {more}"
    return label(gap.name, kind), show(gap.read, gap.kind, unit), expected, word


def power_row(term: Term, kind: str = "") -> tuple[str, str, str]:
    """Name, power with its uncertainty, and what it rests on."""
    kilowatts = f"{round(term.value / 1e3, 2) + 0.0:,.2f} ± {COVERAGE * term.uncertainty / 1e3:,.2f} kW"
    return "All together" if term.name == "power" else label(term.name, kind), kilowatts, ORIGINS[term.origin]


def to_text(walkthrough: Walkthrough, system: str) -> str:
    """The walkthrough as text."""
    told, currency, kind = walkthrough.balance, walkthrough.case.currency, walkthrough.balance.found.machine.type
    least = "" if walkthrough.impossible else at_the_least(walkthrough, system)
    intervals = f"{label_of(told.found)}; intervals are of about 95 %{cut(told)}."
    intervals = " ".join(filter(None, [intervals, least, stands_for(told, system)]))
    out = [headline(walkthrough, system), intervals]
    out += [*filter(None, [record(walkthrough)]), *told.notes]
    out += contradicted(walkthrough)
    out += [f"  {name}: {how}" for name, how in would_settle(walkthrough)]
    out += ["", "Where the power goes", *_columns([power_row(t, kind) for t in (told.power, *told.parts)])]
    if told.hopper:
        out += ["", "Heat in the hopper, from the readings as they are"]
        out += _columns([power_row(t, kind) for t in (*told.hopper, *told.circuit)])
    if walkthrough.gaps:
        rows = [("", "read", "expected", ""), *(gap_row(gap, system, kind) for gap in walkthrough.gaps)]
        out += ["", "Read beside the model", *_columns(rows)]
    if pellets := of_pellets(told.found, walkthrough.pellets, system):
        out += ["", "Moisture of the pellets leaving", *(f"  {words}" for words in pellets)]
    out += ["", "Findings, by money a year"]
    out += [f"  {words}" for words in until_checked(walkthrough) if walkthrough.causes]
    for cause in walkthrough.causes:
        worth = f"{money(cause.money, currency)} a year" if cause.power > 0 else costs_no_energy(cause)
        out += [f"  {cause.name}: {worth}. {cause.text}", f"    {cause.physics}"]
    if not walkthrough.causes:
        out.append("  None that these readings speak for.")
    if len([c for c in walkthrough.causes if c.power > 0]) > 1:
        out.append("  Mending several saves less than their sum.")
    out += [f"  {words}" for words in beside_the_meter(walkthrough)]
    surer = [*settled_by(walkthrough), *would_locate(walkthrough)]
    if walkthrough.next_readings or surer:
        out += ["", "Worth reading next"]
    out += [f"  {name}: {how}" for name, how in surer]
    for reading in walkthrough.next_readings:
        half = show(COVERAGE * reading.uncertainty, "specific energy", system, digits=2)
        out.append(f"  {label(reading.name, kind)}: would bring the uncertainty to ± {half}. {reading.how}")
    if told.missing:
        out += ["", f"Not read: {', '.join(label(name).lower() for name in told.missing)}. {MODELLED}"]
    return "\n".join([*out, "", "Cautions", *(f"* {caution}" for caution in CAUTIONS)])


def _columns(rows: Iterable[Sequence[str]]) -> list[str]:
    kept = [*rows]
    widths = [max(len(row[i]) for row in kept) for i in range(len(kept[0]))]
    return ["  " + "  ".join(c.ljust(w) for c, w in zip(row, widths, strict=True)).rstrip() for row in kept]
