"""Section on the savings, line by line of the bills before and after."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from energy.reports.demand_words import demand_words
from energy.reports.document.proposal import Proposal
from energy.reports.document.records import Block, Paragraph, Table
from energy.reports.document.words import amount, number
from energy.reports.print_signs import pretty
from energy.study import meter
from energy.study.compare import KWH, Comparison, OptionResult
from energy.units import to_unit


@dataclass(frozen=True, slots=True, kw_only=True)
class BeforeAfter:
    """One line of a year's cost before and after. [money]"""

    line: str
    clause: str
    before: float
    after: float


def before_after(comparison: Comparison, option: OptionResult) -> list[BeforeAfter]:
    """The plant's bills line by line, then what is no line of a bill; the falls add up to the saving."""
    case, base = comparison.case, comparison.baseline
    found: list[BeforeAfter] = []
    on_bills = set()
    for name, tariff, carriers in meter.meters(case):
        if tariff is None or not any(k[1] in carriers for k in (*base.year.energy, *option.year.energy)):
            continue
        sums: list[dict[tuple[str, str], float]] = []
        for year in (base.year, option.year):
            made: dict[tuple[str, str], float] = {}
            for line in meter.billed(tariff, meter.loads(case, tariff, year, base.year, carriers)[0]).lines:
                made[line.line, line.clause] = made.get((line.line, line.clause), 0.0) + float(line.amount)
            sums.append(made)
        on_bills |= {*sums[0], *sums[1]}
        for key in dict.fromkeys([*sums[0], *sums[1]]):
            found.append(
                BeforeAfter(
                    line=f"{name.capitalize()}: {key[0]}" if name != "water" else f"Cooling: {key[0]}",
                    clause=key[1],
                    before=sums[0].get(key, 0.0),
                    after=sums[1].get(key, 0.0),
                )
            )
    others: dict[tuple[str, str], list[float]] = {}
    for i, o in enumerate((base, option)):
        for entry in o.bill:
            if (entry.line, entry.clause) not in on_bills:
                others.setdefault((entry.line, entry.clause), [0.0, 0.0])[i] += entry.amount
    found += [BeforeAfter(line=key[0], clause=key[1], before=v[0], after=v[1]) for key, v in others.items()]
    found.append(
        BeforeAfter(
            line="Maintenance",
            clause="",
            before=base.annual_cost["maintenance"],
            after=option.annual_cost["maintenance"],
        )
    )
    return found


def savings(p: Proposal, option: OptionResult) -> Iterator[Block]:
    lines = before_after(p.comparison, option)
    rows = [(b.line, b.clause, amount(b.before), amount(b.after), amount(b.before - b.after)) for b in lines]
    before, after = sum(b.before for b in lines), sum(b.after for b in lines)
    rows.append(("Total", "", amount(before), amount(after), amount(before - after)))
    known = {"electricity": p.case.model.plant_load is not None, "gas": p.case.model.tariffs.plant_gas is not None}
    named = " and ".join(name for name, there in known.items() if there).capitalize()
    whole = f"{named} {'are the bills' if all(known.values()) else 'is the bill'} of the whole plant"
    tariff = p.case.tariffs.get("electricity")
    spread = "" if tariff is None else meter.spread_over_the_clock(p.case, tariff)
    yield Table(
        title=f"Bills and upkeep of a year before and after, {p.currency}",
        head=("Line", "Clause", "Before", "After", "Saving"),
        rows=tuple(rows),
        align="llrrr",
        weights=(3, 3, 1, 1, 1),
        strong=(len(rows) - 1,),
        short=True,
        note=f"{whole}; the other lines are of the dryers alone. {spread}".strip()
        if named
        else "Bills of the dryers alone: the case has no load of the whole plant.",
    )
    saved = option.savings.get("electricity")
    said: list[str] = []
    if saved is not None:
        said += filter(None, [demand_words(saved, p.money)])
        if abs(float(saved.first_year) - float(saved.steady)) > 1.0:
            said.append(
                f"In the first year the electricity bill falls by {p.money(float(saved.first_year))} only: a ratchet still bills old peaks."
            )
        estimate, fall = float(saved.average_estimate), float(saved.steady)
        if bool(saved.average_wrong_way):
            said.append(
                f"By the average price of the bill, times the kWh {'saved' if estimate > 0 else 'added'}, electricity would cost {p.money(abs(estimate))} a "
                f"year {'less' if estimate > 0 else 'more'}; by the two bills it costs {p.money(abs(fall))} {'less' if fall > 0 else 'more'}, and that is "
                "what counts here."
            )
        elif math.isfinite(float(saved.average_error)):
            said.append(
                f"Energy saved times the average price of the bill would say {p.money(float(saved.average_estimate))} a year for "
                f"electricity; the two bills differ by {p.money(float(saved.steady))}, and that is what counts here."
            )
    if said:
        yield Paragraph(text=" ".join(said))
    b, kwh, water = p.base, KWH, {"si": "m3", "us": "gal"}[p.case.model.case.units]
    energy = [
        (
            "Electricity kWh",
            (b.carrier("electricity") + b.carrier("compressed air")) / kwh,
            (option.carrier("electricity") + option.carrier("compressed air")) / kwh,
        )
    ]
    drawn = [float(to_unit(np.sum(o.year.water), "volume", water)) for o in (b, option)]
    energy += [
        ("Gas kWh", b.carrier("gas") / kwh, option.carrier("gas") / kwh),
        ("Heat to cooling kWh", b.carrier("cooling") / kwh, option.carrier("cooling") / kwh),
        (f"Water {pretty(water)}", drawn[0], drawn[1]),
        ("Peak kW", b.peak / 1e3, option.peak / 1e3),
        *(
            (f"{name.capitalize()} of the hall through the dryers kWh", b.hall[name] / kwh, option.hall[name] / kwh)
            for name in b.hall
        ),
        ("CO₂ t", b.emissions / 1e3, option.emissions / 1e3),
    ]
    yield Table(
        title="Quantities of a year before and after",
        head=("Quantity", "Before", "After", "Saving"),
        rows=tuple(
            (
                n,
                *(amount(v) if max(abs(x), abs(y)) > 100 else number(v) for v in (x, y, x - y)),
            )
            for n, x, y in energy
            if x or y
        ),
        weights=(3, 1, 1, 1),
    )
