"""The sheets Energy and Bills: what the dryers take by month, and what that adds to the bills of a year."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from xlsxwriter.utility import xl_rowcol_to_cell  # type: ignore[import-untyped]

from energy.reports.document.bills import GALLONS, KW, KWH, Meter
from energy.reports.document.book import CARRIERS, LABELS, MONTHS, Book, Cell, Sheet, bands_of, room_for
from energy.reports.document.looks import priced
from energy.reports.document.paper import room_of
from energy.reports.print_signs import pretty
from energy.study.compare import Comparison, OptionResult

FIRST = 2
"""Column of the first option of a band."""
WORDS = {KWH: "Energy", KW: "Billed demand, sum of the months"}
OTHER = "Hall's heating and cooling, tower water (engine)"
KNOWN = "Compressed air at its known cost (engine)"


def energy_widths(meters: Sequence[Meter]) -> tuple[float, ...]:
    """Widths of the columns of Energy."""
    most = max((float(np.max(values)) for m in meters for q in m.quantities for values in q.values()), default=0.0)
    return (28.5, *[room_for([most])] * 12, room_for([12 * most], 0, 10.5))


def bills_widths(comparison: Comparison, paper: str) -> tuple[float, ...]:
    """Widths of the columns of Bills."""
    amount = room_for((o.total_cost for o in comparison.options), 2, 12)
    return (27, 16, *[amount] * len(bands_of(len(comparison.options), room_of(paper) - 43, amount)[0]))


def energy_of(b: Book, meters: Sequence[Meter]) -> dict[tuple[str, str, int], Cell]:
    """Quantity of a year by meter, quantity and place of the option."""
    sheet, options = b.sheets["Energy"], b.comparison.options
    sheet.row = 1
    sheet.sheet.freeze_panes(1, 1)
    found = {}
    for meter in meters:
        for name in dict.fromkeys(q for option in meter.quantities for q in option):
            sheet.starts.append(sheet.row)
            b.text(sheet, 0, f"{meter.title}, {name}", "head")
            for column, month in enumerate((*MONTHS, "Year"), start=1):
                b.text(sheet, column, month, "head right")
            sheet.row += 1
            style = "whole" if name in (KWH, GALLONS) else "quantity"
            for place, option in enumerate(options):
                months = meter.quantities[place][name]
                b.text(sheet, 0, option.name)
                for m, value in enumerate(months, start=1):
                    b.value(sheet, m, value, f"engine {style}")
                span = sheet.span(sheet.row, 1, 12)
                cell = b.formula(sheet, 13, f"SUM({span})", float(np.sum(months)), f"strong {style}")
                found[meter.title, name, place] = cell
                sheet.row += 1
            b.gap(sheet)
    return found


def bills_of(b: Book, meters: Sequence[Meter], energy: dict[tuple[str, str, int], Cell]) -> list[dict[str, Cell]]:
    """Yearly cost by carrier of each option."""
    sheet, options = b.sheets["Bills"], b.comparison.options
    sheet.row = 1
    said = f"Amounts in {b.currency}. Quantities are the sums of the sheet Energy, prices those of the sheet Inputs."
    b.text(sheet, 0, said, "note", across=len(sheet.widths))
    sheet.row += 1
    sheet.sheet.freeze_panes(1, FIRST)
    costs: list[dict[str, Cell]] = [{} for _ in options]
    formats: dict[str, str] = {}
    for places in bands_of(len(options), sum(sheet.widths[FIRST:]), sheet.widths[FIRST]):
        sheet.starts.append(sheet.row)
        b.text(sheet, 0, "In a year", "head")
        b.text(sheet, 1, "Price", "head right")
        for column, place in enumerate(places, start=FIRST):
            b.text(sheet, column, options[place].name, "head option")
        sheet.row += 1
        band = _Band(b, sheet, places, energy, formats)
        for carrier in CARRIERS[:3]:
            band.carrier(carrier, [m for m in meters if m.carrier == carrier], costs)
        band.upkeep(costs)
        b.gap(sheet)
    return costs


def _known_air(option: OptionResult) -> float:
    """What compressed air costs in a year where its cost is known, so that no bill has it. [money]"""
    return sum(line.amount for line in option.bill if line.clause == "compressed_air.cost")


@dataclass(slots=True)
class _Band:
    """Options side by side."""

    book: Book
    sheet: Sheet
    places: range
    energy: dict[tuple[str, str, int], Cell]
    formats: dict[str, str]
    """Styles of prices by unit, for all bands."""
    told: dict[int, float] = field(default_factory=dict)
    """Of each option, what the rows of a carrier come to."""

    def at(self, row: int, place: int) -> str:
        return xl_rowcol_to_cell(row, FIRST + place - self.places.start)

    def row(self, label: str, texts: Sequence[str], values: Sequence[float], style: str, words: str = "text") -> int:
        """A row of formulas; where its number is."""
        b, sheet = self.book, self.sheet
        b.text(sheet, 0, label, words)
        for column, (text, value) in enumerate(zip(texts, values, strict=True), start=FIRST):
            b.formula(sheet, column, text, value, style)
        sheet.row += 1
        return sheet.row - 1

    def values(self, label: str, values: Sequence[float]) -> int:
        """A row of the engine's amounts."""
        b, sheet = self.book, self.sheet
        b.text(sheet, 0, label)
        for place, value in zip(self.places, values, strict=True):
            b.value(sheet, FIRST + place - self.places.start, value, "engine money")
            self.told[place] += value
        sheet.row += 1
        return sheet.row - 1

    def carrier(self, carrier: str, meters: Sequence[Meter], costs: list[dict[str, Cell]]) -> None:
        """What a carrier costs, charge by charge, and its sum."""
        options = self.book.comparison.options
        if not meters and not any(options[p].annual_cost[carrier] for p in self.places):
            for place in self.places:
                costs[place][carrier] = Cell("0", 0.0)
            return
        self.told = dict.fromkeys(self.places, 0.0)
        rows = [row for meter in meters for row in self.meter(meter)]
        whole = [options[p].annual_cost[carrier] for p in self.places]
        known = [_known_air(options[p]) if carrier == "electricity" else 0.0 for p in self.places]
        factor = self.book.inputs.get(f"{carrier}_factor", Cell("1", 1.0))
        by_tariff = [(sum_ - air) / factor.value for sum_, air in zip(whole, known, strict=True)]
        other = [sum_ - self.told[p] for sum_, p in zip(by_tariff, self.places, strict=True)]
        if any(abs(value) > 5e-7 for value in other):
            rows.append(self.values(OTHER, other))
        sums = ["(" + ("+".join(self.at(row, p) for row in rows) or "0") + f")*{factor.ref}" for p in self.places]
        if any(known):
            at = self.values(KNOWN, known)
            sums = [f"{text}+{self.at(at, p)}" for text, p in zip(sums, self.places, strict=True)]
        self.total(carrier, f"{LABELS[carrier]}, a year", sums, whole, costs, factor)

    def total(
        self,
        key: str,
        label: str,
        texts: Sequence[str],
        values: Sequence[float],
        costs: list[dict[str, Cell]],
        factor: Cell | None = None,
    ) -> None:
        if factor is not None:
            self.book.formula(self.sheet, 1, factor.ref, factor.value, "rate")
        row = self.row(label, texts, values, "sum money", "strong text")
        for place, value in zip(self.places, values, strict=True):
            costs[place][key] = Cell(self.sheet.at(row, FIRST + place - self.places.start), float(value))
        self.book.gap(self.sheet)

    def meter(self, meter: Meter) -> list[int]:
        """Rows of amounts of a meter's charges, below those of its quantities."""
        b, sheet = self.book, self.sheet
        b.text(sheet, 0, meter.title, "block")
        for column in range(1, len(sheet.widths)):
            b.text(sheet, column, "", "block")
        sheet.row += 1
        billed = {(c.quantity, c.unit, c.factor): None for c in meter.charges if c.quantity}
        if not meter.charges:
            billed = {(name, name, 1.0): None for name in meter.quantities[0]}
        counted: dict[tuple[str, str], tuple[int, list[float]]] = {}
        amounts: dict[str, tuple[int, list[float]]] = {}
        for quantity, unit, factor in billed:
            cells = [self.energy[meter.title, quantity, p] for p in self.places]
            times = f"*{factor!r}" if factor != 1.0 else ""
            label = f"{WORDS.get(quantity, 'Volume')}, {pretty(unit)}"
            style = "whole" if unit in (KWH, GALLONS) else "quantity"
            values = [c.value * factor for c in cells]
            counted[quantity, unit] = (self.row(label, [f"{c.ref}{times}" for c in cells], values, style), values)
        for charge in meter.charges:
            price = b.inputs[charge.key]
            b.formula(sheet, 1, price.ref, price.value, self.priced(charge.unit))
            if charge.of is None:
                row, bases = counted[charge.quantity, charge.unit]
                texts = [self.at(row, p) for p in self.places]
            else:
                of = [amounts[i] for i in charge.of if i in amounts]
                texts = ["+".join(self.at(row, p) for row, _ in of) or "0" for p in self.places]
                bases = [sum(values[i] for _, values in of) for i in range(len(self.places))]
            sign = -1.0 if charge.taken_off else 1.0
            by = xl_rowcol_to_cell(sheet.row, 1, col_abs=True)
            products = [f"{'-' if charge.taken_off else ''}({text})*{by}" for text in texts]
            values = [sign * base * price.value for base in bases]
            for place, value in zip(self.places, values, strict=True):
                self.told[place] += value
            amounts[charge.id] = (self.row(charge.label, products, values, "money"), values)
        rows = [row for row, _ in amounts.values()]
        for line, clause in meter.lines:
            found = [{(n, c): v for n, c, v in meter.values[p]}.get((line, clause), 0.0) for p in self.places]
            b.text(sheet, 1, "from the engine", "check")
            rows.append(self.values(line, found))
        return rows

    def priced(self, unit: str) -> str:
        """Style of a price with its unit."""
        if not unit:
            return "rate"
        style = self.formats.setdefault(unit, f"price in {unit}")
        if style not in self.book.formats:
            self.book.formats[style] = priced(self.book.book, f"{self.book.currency}/{pretty(unit)}")
        return style

    def upkeep(self, costs: list[dict[str, Cell]]) -> None:
        """Maintenance, and the sum of all."""
        b, options = self.book, self.book.comparison.options
        own = [b.inputs[f"option_{p + 1}_maintenance"] for p in self.places]
        whole = [options[p].annual_cost["maintenance"] for p in self.places]
        air = [sum_ - cell.value for sum_, cell in zip(whole, own, strict=True)]
        texts = [cell.ref for cell in own]
        if any(abs(value) > 5e-7 for value in air):
            self.told = dict.fromkeys(self.places, 0.0)
            rows = [
                self.row("Maintenance of the dryers", texts, [cell.value for cell in own], "money"),
                self.values("Upkeep of the compressors, from the engine", air),
            ]
            texts = ["+".join(self.at(row, p) for row in rows) for p in self.places]
        self.total("maintenance", "Maintenance, a year", texts, whole, costs)
        sums = ["+".join(costs[p][c].ref for c in CARRIERS) for p in self.places]
        self.total("total", "Running cost, a year", sums, [options[p].total_cost for p in self.places], costs)
