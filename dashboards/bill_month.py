"""Last month's bill as it is typed in, beside what a tariff makes of its quantities. No widget in here."""

from __future__ import annotations

import re
from calendar import month_name
from collections.abc import Mapping

import traitlets

from dashboards.bill_inputs import Input, bill_inputs, energy_unit
from energy.errors import EnergyError, UnitError
from energy.reports.bill import Compared, cautions, compare_lines
from energy.reports.bill_input import power_factor
from energy.tariffs import Bill, Tariff, bill
from energy.tariffs.known_load import month_load
from energy.units import parse, to_unit, with_unit
from energy.units.currencies import decimals, without_sign

_POINT_OF_THREE = re.compile(r"[1-9]\d{0,2}\.\d{3}")
"""A number as thousands are written where the comma parts decimals."""
FEW_HOURS = 20.0
"""Energy of a month over its highest demand; below this a figure is more likely a slip than a plant that stood. [h]"""


class MonthState(traitlets.HasTraits):
    """What was typed in of one month's bill, by keys; what follows from it is worked out by the state it is part of."""

    def __init__(self) -> None:
        super().__init__()
        self.problems: dict[str, str] = {}
        """What is wrong, by the key of an input, or "month" and "year" for a whole bill."""
        self.texts: dict[str, str] = {}
        self._own: set[str] = set()
        """Keys of the month's bill that the visitor has typed in, and not the worked bill of a tariff's file."""
        self.worked_left = False
        """Was the worked bill of the tariff left out because of them?"""
        self.month_bill: Bill | None = None
        self.month_notes: list[str] = []
        self.year = 2026
        self.month = 6

    @property
    def tariff(self) -> Tariff:
        """The one that the bill is of."""
        raise NotImplementedError

    def _work_out(self) -> None:
        raise NotImplementedError

    @property
    def bill_keys(self) -> set[str]:
        """Keys of what was typed in of last month's bill."""
        return {name for name in self.texts if name not in ("constant", "year") and not name.startswith("read ")}

    def take_worked(self) -> None:
        """Put the worked bill of the tariff's file in the place of what was typed in."""
        self.texts = {name: text for name, text in self.texts.items() if name not in self.bill_keys}
        self._own, self.worked_left = set(), False
        self._fill_from_worked()
        self._work_out()

    def _fill_from_worked(self) -> None:
        """Put the worked bill of the tariff's file where last month's bill is typed in."""
        worked, tariff = self.tariff.worked, self.tariff
        if worked is None:
            return
        self.month = worked.month
        places = decimals(tariff.currency)
        for key in ("energy", "peak", "volume", "daily_peak", "power_factor"):
            value = getattr(worked, key)
            if value is not None:
                self.texts[key] = getattr(value, "text", "") or f"{value:g}"
        for field in ("energy", "peak"):
            for cell, value in getattr(worked, f"{field}_in").items():
                self.texts[f"{field} {cell}"] = getattr(value, "text", "") or f"{value:g}"
        self.texts["total"] = f"{float(worked.total):.{places}f}"
        made = self._bill_of_month()
        for line in made.lines if made else ():
            same = [other for other in made.lines if other.charge == line.charge] if made else []
            if line.charge in worked.lines and len(same) == 1:
                self.texts[f"printed {line.line}"] = f"{float(worked.lines[line.charge]):.{places}f}"
        self.texts = {k: self._bare(k, v, tariff) for k, v in self.texts.items()}

    def _bare(self, key: str, text: str, tariff: Tariff) -> str:
        """A quantity without the unit that stands in its label already."""
        unit = next((i.unit for i in self.inputs() if i.key == key), "")
        return text.removesuffix(unit).strip() if unit else text

    @property
    def energy_unit(self) -> str:
        """Unit in which the tariff counts energy."""
        return energy_unit(self.tariff)

    def inputs(self) -> list[Input]:
        """What can be typed in of last month's bill."""
        return bill_inputs(self.tariff, self.cells_of_month())

    @property
    def when(self) -> str:
        """Month and year of last month's bill."""
        return f"{month_name[self.month]} {self.year}"

    def cells_of_month(self) -> list[str]:
        """Price cells that occur in the month of the bill."""
        calendar = self.tariff.price_calendar
        time = calendar.time(self.year)[self.month - 1]
        return [cell for cell, seconds in zip(calendar.cells, time, strict=True) if seconds > 0]

    def set(self, key: str, text: str) -> None:
        """Take what was typed in, and work out the bills."""
        if self.texts.get(key, "") != text.strip():
            self.texts[key] = text.strip()
            own = {key} & self.bill_keys
            if self.example and own and not is_amount(key):  # amounts worked out for other quantities
                self.texts = {name: text for name, text in self.texts.items() if not is_amount(name)}
            self._own |= own
            self._work_out()

    @property
    def example(self) -> bool:
        """Is the month's bill the one worked out in the tariff's file, and nothing of it the visitor's?"""
        return self.tariff.worked is not None and not self._own and not self.worked_left

    def left_of_example(self) -> list[str]:
        """Labels of quantities that are still those of the example, where others are the visitor's."""
        if not self._own or self.worked_left or self.tariff.worked is None:
            return []
        still = [i for i in self.inputs() if self.texts.get(i.key) and i.key not in self._own]
        return [i.label for i in still if i.key != "power_factor" or self.tariff.worked.power_factor is not None]

    def set_month(self, month: int) -> None:
        """The month of last month's bill."""
        if month in range(1, 13) and month != self.month:
            self.month = month
            self._work_out()

    def _value(self, entry: Input) -> float | None:
        text = self.texts.get(entry.key, "")
        if not text:
            return None
        try:
            if entry.key == "power_factor":
                return power_factor(text)
            value = parse(with_unit(text, entry.unit), entry.kind)
            if value < 0:
                raise UnitError(f"'{text}' is negative; 0 or more is allowed")
        except EnergyError as error:
            self.problems[entry.key] = str(error)
            return None
        return value

    def remark(self, key: str) -> str:
        """How a number that was typed is read where it may mean thousands; empty where it means one thing only."""
        unit = self.tariff.currency if is_amount(key) else self.energy_unit if key.partition(" ")[0] == "energy" else ""
        text = self.texts.get(key, "").removesuffix(unit).strip() if unit else ""
        usual = decimals(unit) > 2 if is_amount(key) else unit != "kWh"  # three decimals are common there
        if key not in self._own or usual or not _POINT_OF_THREE.fullmatch(text):
            return ""
        return f"{text} is read as {float(text):g} {unit}; for thousands write {text.replace('.', '')}."

    def _few_hours(self, energy: float, peak: float) -> str:
        """Said where an energy [J] is too small for its demand [W], as where one of them is a thousand times off."""
        hours = energy / peak / 3600.0 if peak > 0 else FEW_HOURS
        if hours >= FEW_HOURS:
            return ""
        used = f"{to_unit(energy, 'energy', self.energy_unit):,.6g} {self.energy_unit}"
        return (
            f"{used} with a highest demand of {peak / 1e3:,.6g} kW is {hours:.2g} hours of use in the month: check that neither is a thousand "
            "times off."
        )

    def _amount(self, key: str) -> float | None:
        text = without_sign(self.texts.get(key, ""), self.tariff.currency)
        if not text:
            return None
        try:
            return parse(with_unit(text, self.tariff.currency), "money", currency=self.tariff.currency)
        except EnergyError as error:
            self.problems[key] = str(error)
            return None

    @property
    def rows(self) -> list[Compared]:
        """Last month's bill beside the printed one."""
        if self.month_bill is None:
            return []
        amounts = {line.line: self._amount(f"printed {line.line}") for line in self.month_bill.lines}
        return compare_lines(self.month_bill, {k: v for k, v in amounts.items() if v is not None})

    @property
    def unread(self) -> dict[str, str]:
        """What was typed in as a printed amount and is none, by line; that of the total by an empty text."""
        lines = [line.line for line in self.month_bill.lines] if self.month_bill else []
        keys = {f"printed {line}": line for line in lines} | {"total": ""}
        return {line: self.texts.get(key, "") for key, line in keys.items() if key in self.problems}

    @property
    def printed_total(self) -> float | None:
        """As typed in. [money]"""
        return self._amount("total")

    def _bill_of_month(self) -> Bill | None:
        given: dict[str, float] = {}
        by_cell: dict[str, dict[str, float]] = {"energy": {}, "peak": {}}
        for entry in self.inputs():
            value = self._value(entry)
            if value is None:
                continue
            field, _, cell = entry.key.partition(" ")
            if cell:
                by_cell[field][cell] = value
            else:
                given[field] = value
        self.month_notes = []
        if not (given.keys() - {"power_factor", "earlier_peak"}) and not by_cell["energy"]:
            return None
        energy, peak = (
            given.get("energy") or sum(by_cell["energy"].values()),
            max(given.get("peak", 0.0), *by_cell["peak"].values(), 0.0),
        )
        for field in ("energy", "peak"):
            self._agree(field, given, by_cell[field])
        if "volume" in given and "energy" in given:
            del given["volume"]
        if any(entry.key in self.problems for entry in self.inputs()):
            return None
        load = month_load(
            self.tariff, self.month, self.year, energy_in=by_cell["energy"], peak_in=by_cell["peak"], **given
        )
        self.month_notes = [n for n in cautions(self.tariff, load) if "looks back" not in n]
        if len(self.cells_of_month()) > 1 and not by_cell["peak"] and by_cell["energy"] and "peak" in given:
            self.month_notes.append("The highest demand is taken to fall into every price period.")
        if any(i.key == "earlier_peak" for i in self.inputs()) and "earlier_peak" not in given:
            self.month_notes.append(
                "No demand of earlier months is given: the ratchet is taken not to raise this bill."
            )
        self.month_notes += [said] if energy and (said := self._few_hours(energy, peak)) else []
        return bill(self.tariff, load, "steady", rounded=True).of_month(self.month)

    def _agree(self, field: str, given: dict[str, float], cells: Mapping[str, float]) -> None:
        """Quantities by period take the place of the one of the month, which must agree with them."""
        if not cells:
            return
        whole = given.pop(field, None)
        made = sum(cells.values()) if field == "energy" else max(cells.values())
        if whole is None or abs(whole - made) <= 0.005 * max(whole, made):
            return
        kind, unit = ("energy", self.energy_unit) if field == "energy" else ("power", "kW")
        what = "add up to" if field == "energy" else "have at most"
        shown = f"{to_unit(made, kind, unit):,.6g} {unit}"
        self.problems[field] = f"The periods below {what} {shown}; correct one of them, or leave this blank."


def is_amount(key: str) -> bool:
    """Is it a printed amount and no quantity?"""
    return key == "total" or key.startswith("printed ")
