"""Section on the options at equal duty."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from energy.reports import drying_words, tables
from energy.reports.document import dryness
from energy.reports.document.proposal import Proposal
from energy.reports.document.records import Bars, Block, Bullets, Chart, Curve, Lines, Paragraph, Table
from energy.reports.document.words import COSTS, amount, bought, number
from energy.reports.doubts import old_peaks
from energy.reports.emissions import of_no_grid_stated
from energy.reports.labels import labelled
from energy.reports.paid_back import paid_back
from energy.reports.print_signs import pretty
from energy.reports.resins import called as resin_called
from energy.study import predicted_moisture
from energy.study.compare import KWH, OptionResult
from energy.units import shown_unit, to_unit

PAYBACKS = ("capital_over_saving", "payback")
NOT_DRY = {"fail": " (fails to dry)", "unlikely": " (unlikely to dry)"}


def options(p: Proposal) -> Iterator[Block]:
    c, cur = p.comparison, p.currency
    options = c.in_order()
    unit = shown_unit("specific energy", p.case.model.case.units)
    yield Paragraph(
        text=f"Every option dries the same resin at the same throughput in the same air; “{p.base.name}” is doing nothing. "
        "Ranked are options that are expected to dry: the surest first, then by life-cycle cost. Of one that fails or is unlikely "
        "to dry no money is held out; why stands below."
    )
    if p.option is not None:
        yield dryness.by_hopper(p, p.option)
        yield _in_figures(p, p.option)
    money, energy, grid = [], [], of_no_grid_stated(p.case)
    for i, o in enumerate(options):
        m, ranked = o.measures, p.holds_out(o)
        place = str(i + 1) if o.verdict.word in ("pass", "caution") else "–"
        chosen = f" ({_asked(o)})" if o is p.option else " (baseline)" if m is None else ""
        money.append(
            (
                place,
                o.name + chosen,
                o.verdict.word,
                amount(o.capital),
                amount(o.total_cost),
                amount(o.life_cycle_cost) if ranked else "–",
                "" if m is None else amount(m.npv) if ranked else "–",
                *("" if m is None else paid_back(m, name) if ranked else "–" for name in PAYBACKS),
            )
        )
        energy.append(
            (
                o.name,
                number(float(to_unit(o.specific_energy, "specific energy", unit))),
                amount((o.carrier("electricity") + o.carrier("compressed air")) / KWH),
                amount(o.carrier("gas") / KWH),
                amount(o.carrier("cooling") / KWH),
                number(o.peak / 1e3),
                number(o.emissions / 1e3),
            )
        )
    strong = tuple(i for i, o in enumerate(options) if o is p.option)
    yield Table(
        title="Ranking",
        head=(
            "",
            "Option",
            "Dries",
            f"Capital {cur}",
            f"Running {cur}/year",
            f"Life-cycle cost {cur}",
            f"Net savings {cur}",
            "Capital over saving",
            "Simple payback",
        ),
        rows=tuple(money),
        align="rllrrrrrr",
        weights=(0, 2.9, 0.9, 0.9, 1, 1.1, 1.1, 1.1, 1.15),
        strong=strong,
        short=True,
        note="Unlikely: neither diffusion data nor practice speaks for it; –: it fails or is unlikely. Years; simple payback counts overhauls and price rises."
        + (f" {late}" if (late := old_peaks(p.comparison)) else ""),
    )
    yield Chart(
        title="What a year costs",
        alt="Stacked bars of yearly cost. "
        + "; ".join(f"{o.name} {amount(o.total_cost)} {cur}" for o in options)
        + ".",
        drawing=Bars(
            labels=tuple(o.name + NOT_DRY.get(o.verdict.word, "") for o in options),
            series=tuple(
                (label, tuple(o.annual_cost[key] for o in options))
                for key, label in COSTS.items()
                if any(o.annual_cost[key] for o in options)
            ),
            axis=f"{cur} a year",
        ),
    )
    yield Table(
        title="Energy of a year",
        head=("Option", f"Per resin {unit}", "Electricity kWh", "Gas kWh", "Heat to cooling kWh", "Peak kW", "CO₂ t"),
        rows=tuple(energy),
        weights=(3, 1, 1, 1, 1, 1, 1),
        strong=strong,
        note=f"Peak of the dryers, starts from cold included: {tables.peak_note(p.case)}.{f' CO₂ counts {grid}.' if grid else ''}"
        f"{' CO₂ has the heating and cooling of the hall in it.' if p.case.model.building else ''}",
    )
    head, rows = tables.sizes(options, p.case.model.case.units)
    note = tables.sizes_note(p.case.model.case.units)
    yield Table(
        title="How big",
        head=tuple(h[:1].upper() + pretty(h[1:]) for h in head),
        rows=tuple(tuple("–" if cell == "-" else cell for cell in row) for row in rows),
        weights=(3, *[1] * (len(head) - 1)),
        note=pretty(f"{note[0].upper()}{note[1:]}."),
    )
    for o in [
        *([p.option] if p.option else []),
        *[o for o in options if o is not p.option and o.verdict.word in NOT_DRY],
    ]:
        reasons = o.verdict.reasons() if o is p.option else o.verdict.against()
        if not reasons:
            continue
        yield Paragraph(text=f"{o.name}: {o.verdict.word}", style="heading")
        yield Bullets(items=tuple(pretty(labelled(reason)) for reason in reasons))
    if p.option is not None and (chart := _moisture_chart(p.option)) is not None:
        yield chart


def _asked(option: OptionResult) -> str:
    """What the option that is asked for is called; one that loses money is recommended by nothing here."""
    loses = option.measures is not None and option.measures.npv < 0.0
    return "asked for; worth less than it costs" if loses else "recommended"


def _in_figures(p: Proposal, option: OptionResult) -> Table:
    """Baseline and proposal side by side."""
    b, cur, unit = p.base, p.currency, shown_unit("specific energy", p.case.model.case.units)
    rows = [
        (f"Running cost {cur}/year", amount(b.total_cost), amount(option.total_cost), amount(option.total_cost - b.total_cost)),
        (f"Life-cycle cost {cur}, {p.case.model.finance.years} years", amount(b.life_cycle_cost), amount(option.life_cycle_cost),
         amount(option.life_cycle_cost - b.life_cycle_cost)),
        ("Energy bought kWh/year", *(amount(v / KWH) for v in (bought(b), bought(option), bought(option) - bought(b)))),
        (f"Energy per resin {unit}", *(number(float(to_unit(v, "specific energy", unit)))
         for v in (b.specific_energy, option.specific_energy, option.specific_energy - b.specific_energy))),
        ("Peak kW, mean of 15 minutes", number(b.peak / 1e3), number(option.peak / 1e3), number((option.peak - b.peak) / 1e3)),
        ("CO₂ t/year", *(number(v / 1e3) for v in (b.emissions, option.emissions, option.emissions - b.emissions))),
    ]  # fmt: skip
    return Table(
        title="Side by side",
        head=("One year", "Baseline", "Proposal", "Change"),
        rows=tuple(rows),
        weights=(3, 1, 1, 1),
    )


def _moisture_chart(option: OptionResult) -> Chart | None:
    served = drying_words.worst(option)
    m = served.verdict.moisture
    times = np.linspace(0.02, 2.0, 61) * m.residence
    lines = predicted_moisture.curve(served.duty, served.operation, served.machine.inputs, times)
    if lines is None:
        return None
    hours = times / 3600.0
    ppm = {k: np.asarray(to_unit(v, "moisture", "ppm")) for k, v in lines.items()}
    target = float(to_unit(m.target, "moisture", "ppm"))
    curves = [
        Curve(name="best estimate", x=tuple(hours), y=tuple(ppm["predicted"])),
        Curve(name="target", x=(hours[0], hours[-1]), y=(target, target), dashes="dashed"),
    ]
    if m.floor is not None and m.floor > 0:
        floor = float(to_unit(m.floor, "moisture", "ppm"))
        curves.append(Curve(name="driest this air allows", x=(hours[0], hours[-1]), y=(floor, floor), dashes="dotted"))
    now = float(np.interp(m.residence, times, ppm["predicted"]))
    where = f"{resin_called(served.hopper, served.duty.resin)} at {served.hopper.name}"
    return Chart(
        title=f"Moisture of {where}, the hopper that this option dries worst",
        alt=f"Moisture against hours in the hopper, logarithmic. After {m.residence / 3600:.1f} h the best estimate is {now:,.0f} ppm, "
        f"the target {target:,.0f} ppm.",
        drawing=Lines(
            curves=tuple(curves),
            x_axis="hours in the hopper",
            y_axis="ppm, wet basis",
            log=True,
            band=("range of the diffusion data", tuple(hours), tuple(ppm["low"]), tuple(ppm["high"])),
            verticals=((m.residence / 3600.0, "pellets stay"),),
        ),
    )
