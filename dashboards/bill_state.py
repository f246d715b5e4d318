"""What the Bill view shows: a tariff, last month's bill beside the printed one, and a year's bill. No widget in here."""

from __future__ import annotations

import logging
from calendar import month_name
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, TypeVar

import numpy as np
import traitlets

from dashboards.bill_inputs import Input, bill_inputs, energy_unit, with_unit
from dashboards.case_state import CaseState
from dashboards.own_files import give, known_by, tariff_file, with_readings, with_tariff
from dashboards.swap_state import BROKEN, SwapState
from dashboards.uploaded import from_file, told
from energy.errors import EnergyError, UnitError
from energy.reports.bill import Compared, cautions, compare_lines
from energy.study.case import Case
from energy.study.meter import plant_load
from energy.tariffs import Bill, Load, Tariff, bill, demo_tariffs, load_tariff
from energy.tariffs.known_load import (
    check_year,
    constant_load,
    marginal_energy_price,
    month_load,
    read_load,
    read_meter,
)
from energy.units import parse, to_unit

_log = logging.getLogger(__name__)
T = TypeVar("T")
_START = {"electricity": "100", "gas": "50", "cooling": "50", "water": "0.2"}


class State(traitlets.HasTraits):
    """One tariff, what was typed in, and the last good results."""

    revision = traitlets.Int(0)
    """Counts the times that something was worked out."""

    def __init__(self, case: str | None = None, later: Callable[[Callable[[], None]], None] | None = None) -> None:
        """Open with the first demo tariff by time of use; the tariffs of a case can be chosen as well.

        Parameters
        ----------
        case : str, optional
            File, or the demo case.
        later : callable, optional
            Does work after the page has shown what is known; at once by default.
        """
        super().__init__()
        self.problems: dict[str, str] = {}
        """What is wrong, by the key of an input, or "month" and "year" for a whole bill."""
        self.texts: dict[str, str] = {}
        self._own: set[str] = set()
        """Keys of the month's bill that the visitor has typed in, and not the worked bill of a tariff's file."""
        self._kind: tuple[str | None, str] = (None, "")
        """Commodity and currency of the bill typed in."""
        self._units: dict[str, str] = {}
        """In which bare numbers of the chosen tariff's bill are read, by key."""
        self.worked_left = False
        """Was the worked bill of the tariff left out because of them?"""
        self.month_bill: Bill | None = None
        self.year_bill: Bill | None = None
        self.prices: np.ndarray | None = None
        """Price of one more kWh by month and price cell. [money/J]"""
        self.load: Load | None = None
        """Of the year."""
        self.notes: list[str] = []
        """Cautions of the year's bill."""
        self.month_notes: list[str] = []
        self.ignored: tuple[str, ...] = ()
        """What of a rate record was not taken over."""
        self.readings: tuple[str, bytes] | None = None
        self.reading_notes: tuple[str, ...] = ()
        self.on_plant = False
        """Whether the year's load is that of the case's plant."""
        self._uploaded: dict[str, Any] = {}
        """What the uploaded tariff's file would hold."""
        self.behind = CaseState(case)
        """The case behind the views; what is changed there is taken over here."""
        self.year = self.case.model.case.year
        self.month = 6
        self._tariffs: dict[str, Tariff] = {}
        self._labels: dict[str, str] = {}
        for name in demo_tariffs():
            self._offer(name, load_tariff(name), name.replace("-", " "))
        if self.behind.problems:
            said = "; ".join(problem.message for problem in self.behind.problems)
            name = Path(case or "demo").name
            self.problems["case"] = f"{name} cannot be used, the demo case stands in its place: {said}"
        self._offer_case()
        self.swap = SwapState(self.case, later or (lambda work: work()), self._tell, preferred=self._preferred())
        self.chosen = ""
        self._first_chosen = self._first()
        self.on_plant = self.has_plant_for(self._tariffs[self._first_chosen])
        self.choose(self._first_chosen)
        self.behind.observe(lambda _: self._case_changed(), "revision")

    @property
    def case(self) -> Case:
        """As last compared."""
        return self.behind.case

    def _offer_case(self) -> None:
        for key in [key for key in self._tariffs if key.startswith("case ")]:
            del self._tariffs[key], self._labels[key]
        for commodity, tariff in self.case.tariffs.items():
            self._offer(f"case {commodity}", tariff, f"the case's {commodity}: {tariff.name}")

    def _preferred(self) -> str:
        """The option that the case asks for, or the best that dries."""
        ranked = [o.name for o in self.behind.comparison.ranked() if not o.option.baseline]
        return self.case.model.request.recommended or next(iter(ranked), "")

    def _first(self) -> str:
        """The case's tariff of electricity; the demo tariff with most to show where that is one price."""
        given = self.case.tariffs.get("electricity")
        whole = given is not None and len(given.charges) > 1
        return "case electricity" if whole else "time-of-use-electricity"

    def _case_changed(self) -> None:
        """Take over the case's tariffs, plant and dryers; what was typed in stays."""
        case = self.case
        self.problems.pop("case", None)
        if self.behind.problems:
            said = self.behind.problems[0].message
            self.problems["case"] = f"The case as it is now cannot be computed, the one before is used: {said}"
        if case is self.swap.case:
            self._tell()
            return
        before, untouched = self.tariff, not self._own and self.chosen == self._first_chosen
        self._offer_case()
        self.swap.take(case, self._preferred())
        if untouched and self._first() != self.chosen:
            self._take(self._first())
        elif self.chosen not in self._tariffs:
            self._take("time-of-use-electricity")
        elif self.tariff is not before or self.on_plant:
            self._take(self.chosen)
        else:
            self._tell()

    # --- the tariff

    def _offer(self, key: str, tariff: Tariff, label: str) -> None:
        self._tariffs[key], self._labels[key] = tariff, label

    def choices(self) -> list[tuple[str, str]]:
        """Label and key of every tariff that can be chosen."""
        return [(label, key) for key, label in self._labels.items()]

    @property
    def tariff(self) -> Tariff:
        """The chosen one."""
        return self._tariffs[self.chosen]

    def choose(self, key: str) -> None:
        """Take a tariff, and its worked bill as last month's where it has one."""
        if key in self._tariffs and key != self.chosen:
            self._take(key)

    def _take(self, key: str) -> None:
        before, money = self._kind
        units, self.chosen = self._units, key
        self.swap.forget()
        kept = {
            name: text for name, text in self.texts.items() if name in ("constant", "year") or name.startswith("read ")
        }
        if before not in (None, self.tariff.commodity) or not kept.get("constant"):
            kept["constant"], self.readings = _START[self.tariff.commodity], None
            self.on_plant = self.on_plant and self.has_plant
        if before != self.tariff.commodity:
            self._own = set()
        elif money != self.tariff.currency:
            self._own = {name for name in self._own if not _is_amount(name)}
        self._kind = (self.tariff.commodity, self.tariff.currency)
        self._units = now = {entry.key: entry.unit for entry in self.inputs()}
        own = {
            name: text if _unit(now, name) == _unit(units, name) else with_unit(text, _unit(units, name))
            for name in self._own
            if (text := self.texts.get(name, ""))
        }
        if all(_is_amount(name) for name in own):
            own = {}  # amounts alone are those of the bill before
        self.texts = kept | {"year": kept.get("year") or str(self.year)} | own
        self._own, self.worked_left = set(own), bool(own) and self.tariff.worked is not None
        if not own:
            self._fill_from_worked()
        self._work_out()

    def take_worked(self) -> None:
        """Put the worked bill of the tariff's file in the place of what was typed in."""
        self.texts = {name: text for name, text in self.texts.items() if name not in self.bill_keys}
        self._own, self.worked_left = set(), False
        self._fill_from_worked()
        self._work_out()

    @property
    def bill_keys(self) -> set[str]:
        """Keys of what was typed in of last month's bill."""
        return {name for name in self.texts if name not in ("constant", "year") and not name.startswith("read ")}

    def upload_tariff(self, name: str, data: bytes) -> str:
        """Take a tariff file (TOML) or a rate record (JSON); returns what is wrong with it."""

        try:
            document, tariff, ignored = tariff_file(name, data)
        except EnergyError as error:
            return told(error, name)
        commodity = self.tariff.commodity
        self._uploaded = document
        self._offer("upload", tariff, f"uploaded: {tariff.name}")
        self.ignored = ignored
        if tariff.commodity != commodity:
            self.texts["constant"] = ""
        self._take("upload")
        return ""

    @property
    def usable(self) -> bool:
        """Could the chosen tariff be made that of the case, which it is not yet?"""
        return not known_by(self.behind, self.tariff, self.chosen)

    def use_tariff(self) -> None:
        """Make the chosen tariff that of the case."""
        tariff = self.tariff
        written = self._uploaded if self.chosen == "upload" else self.chosen
        if self._give(with_tariff(self.behind.document, tariff, written), "tariff"):
            self.behind.notice = f"{tariff.name} is now the case's tariff for {tariff.commodity}, in every view."
            if self.chosen == "upload":
                self._take(f"case {tariff.commodity}")

    def use_readings(self) -> None:
        """Make the uploaded readings the load of the case's plant."""
        if self.readings is None:
            return
        name, data = self.readings
        try:
            found = from_file(name, data, lambda path: read_meter(path, self.tariff, **self._reader_options())[0])
            changes = with_readings(found, self.tariff, name)
        except EnergyError as error:
            self.problems["readings"] = told(error, name)
            self._tell()
            return
        if self._give(changes, "readings"):
            self.behind.notice = f"{name} is now the electricity of the case's plant, in every view."
            self.take_plant()

    def _give(self, changes: Mapping[str, Any], key: str) -> bool:
        try:
            give(self.behind, changes)
        except EnergyError as error:
            self.problems[key] = str(error)
            self._tell()
            return False
        return True

    def _fill_from_worked(self) -> None:
        """Put the worked bill of the tariff's file where last month's bill is typed in."""
        worked, tariff = self.tariff.worked, self.tariff
        if worked is None:
            return
        self.month = worked.month
        for key in ("energy", "peak", "volume", "daily_peak", "power_factor"):
            value = getattr(worked, key)
            if value is not None:
                self.texts[key] = getattr(value, "text", "") or f"{value:g}"
        for field in ("energy", "peak"):
            for cell, value in getattr(worked, f"{field}_in").items():
                self.texts[f"{field} {cell}"] = getattr(value, "text", "") or f"{value:g}"
        self.texts["total"] = f"{float(worked.total):.2f}"
        made = self._bill_of_month()
        for line in made.lines if made else ():
            same = [other for other in made.lines if other.charge == line.charge] if made else []
            if line.charge in worked.lines and len(same) == 1:
                self.texts[f"printed {line.line}"] = f"{float(worked.lines[line.charge]):.2f}"
        self.texts = {k: self._bare(k, v, tariff) for k, v in self.texts.items()}

    def _bare(self, key: str, text: str, tariff: Tariff) -> str:
        """A quantity without the unit that stands in its label already."""
        unit = next((i.unit for i in self.inputs() if i.key == key), "")
        return text.removesuffix(unit).strip() if unit else text

    # --- what is typed in

    @property
    def energy_unit(self) -> str:
        """Unit in which the tariff counts energy."""
        return energy_unit(self.tariff)

    def inputs(self) -> list[Input]:
        """What can be typed in of last month's bill."""
        return bill_inputs(self.tariff, self.cells_of_month())

    @property
    def load_name(self) -> str:
        """The year's load in a few words."""
        if self.on_plant:
            return "the case's plant"
        return self.readings[0] if self.readings else "a constant load"

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
            if self.example and own and not _is_amount(key):  # amounts worked out for other quantities
                self.texts = {name: text for name, text in self.texts.items() if not _is_amount(name)}
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
        return [i.label for i in self.inputs() if self.texts.get(i.key) and i.key not in self._own]

    def set_month(self, month: int) -> None:
        """The month of last month's bill."""
        if month in range(1, 13) and month != self.month:
            self.month = month
            self._work_out()

    def upload_readings(self, name: str, data: bytes) -> str:
        """Take a file of readings as the year's load; returns what is wrong with it."""
        self.readings, self.on_plant = (name, data), False
        self._work_out()
        return self.problems.get("readings", "")

    def drop_readings(self) -> None:
        """Back to the constant load."""
        self.readings, self.on_plant = None, False
        self._work_out()

    @property
    def has_plant(self) -> bool:
        """Whether the case has the load of a plant that this tariff could bill."""
        return self.has_plant_for(self.tariff)

    def has_plant_for(self, tariff: Tariff) -> bool:
        """The same of any tariff."""
        return self.case.model.plant_load is not None and tariff.commodity == "electricity"

    def take_plant(self) -> None:
        """Take the load of the case's plant as the year's."""
        self.readings, self.on_plant = None, self.has_plant
        self._work_out()

    def _value(self, entry: Input) -> float | None:
        text = self.texts.get(entry.key, "")
        if not text:
            return None
        try:
            value = parse(with_unit(text, entry.unit), entry.kind)
            if value < 0:
                raise UnitError(f"'{text}' is negative; 0 or more is allowed")
            if entry.key == "power_factor" and not 0 < value <= 1:
                raise UnitError(f"'{text}' must be above 0 and up to 1")
        except EnergyError as error:
            self.problems[entry.key] = str(error)
            return None
        return value

    def _amount(self, key: str) -> float | None:
        text = self.texts.get(key, "")
        if not text:
            return None
        try:
            return parse(with_unit(text, self.tariff.currency), "money", currency=self.tariff.currency)
        except EnergyError as error:
            self.problems[key] = str(error)
            return None

    # --- results

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

    def _work_out(self) -> None:
        self.problems = {k: v for k, v in self.problems.items() if k == "case"}
        text = self.texts.get("year", "")
        try:
            self.year = check_year(int(text)) if text else self.year
        except ValueError:
            self.problems["calendar year"] = f"'{text}' is not a year; write one such as 2026"
        except EnergyError as error:
            self.problems["calendar year"] = str(error)
        self.month_bill = self._kept("month", self._bill_of_month)
        self._kept("year", self._bill_of_year)
        for line in self.month_bill.lines if self.month_bill else ():
            self._amount(f"printed {line.line}")
        self._amount("total")
        self._tell()

    def _tell(self) -> None:
        self.revision += 1

    def _kept(self, key: str, work: Callable[[], T]) -> T | None:
        """The result of some work; None, with the reason in the problems, where there is none."""
        try:
            return work()
        except EnergyError as error:
            self.problems[key] = str(error)
        except Exception:  # the border to the visitor: told in words, the traceback goes to the log
            _log.exception("bill failed")
            self.problems[key] = BROKEN
        return None

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

    def _bill_of_year(self) -> None:
        self.year_bill = self.prices = self.load = None
        self.notes, self.reading_notes = [], ()
        tariff = self.tariff
        factor = self._value(Input("power_factor", "", "share", ""))
        others: dict[str, Any] = {} if factor is None else {"power_factor": np.full(12, factor)}
        water = tariff.commodity == "water"
        entry = Input("constant", "", "volume flow" if water else "power", "m3/h" if water else "kW")
        steady = self._value(entry)
        if self.on_plant and self.has_plant:
            self.load, self.reading_notes = plant_load(self.case, tariff, factor)
        elif self.readings is not None:
            self.load = self._read(factor)
        elif steady is not None:
            self.load = constant_load(tariff, steady, self.year, **others)
        if self.load is None:
            return
        made = bill(tariff, self.load, "steady", rounded=True)
        self.notes = [*self.reading_notes, *cautions(tariff, self.load)]
        if self.load.energy is not None:
            self.prices = marginal_energy_price(tariff, self.load)
        self.year_bill = made

    def _reader_options(self) -> dict[str, str]:
        return {key: text for key in ("column", "unit", "zone") if (text := self.texts.get(f"read {key}", ""))}

    def _read(self, factor: float | None) -> Load | None:
        name, data = self.readings or ("", b"")
        options: dict[str, Any] = {"power_factor": factor, **self._reader_options()}
        try:
            found = from_file(name, data, lambda path: read_load(path, self.tariff, self.year, **options))
        except EnergyError as error:
            self.problems["readings"] = told(error, name)
            return None
        self.reading_notes = found.cautions
        return found.load


def _unit(units: Mapping[str, str], key: str) -> str:
    """Of a quantity; one by period has that of the whole."""
    return units.get(key, units.get(key.partition(" ")[0], ""))


def _is_amount(key: str) -> bool:
    """Is it a printed amount and no quantity?"""
    return key == "total" or key.startswith("printed ")
