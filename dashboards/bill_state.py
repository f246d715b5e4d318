"""What the Bill view shows: a tariff, last month's bill beside the printed one, and a year's bill. No widget in here."""

from __future__ import annotations

import logging
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, TypeVar

import numpy as np
import traitlets

from dashboards.bill_inputs import Input
from dashboards.bill_month import MonthState, is_amount
from dashboards.case_state import CaseState
from dashboards.currency import other_currency
from dashboards.own_files import give, known_by, tariff_file, with_readings, with_tariff
from dashboards.swap_state import BROKEN, SwapState
from dashboards.taken import of_plant_load, of_tariff
from dashboards.uploaded import from_file, told
from energy.errors import EnergyError
from energy.reports.bill import cautions
from energy.study.case import Case
from energy.study.meter import plant_load
from energy.study.references import own_tariffs
from energy.tariffs import Bill, Load, Tariff, bill, demo_tariffs, load_tariff
from energy.tariffs.known_load import check_year, constant_load, read_load, read_meter
from energy.tariffs.marginal_price import marginal_energy_price
from energy.units import with_unit

_log = logging.getLogger(__name__)
T = TypeVar("T")
_START = {"electricity": "100", "gas": "50", "cooling": "50", "water": "0.2"}


class State(MonthState):
    """One tariff, what was typed in, and the last good results."""

    revision = traitlets.Int(0)
    """Counts the times that something was worked out."""

    def __init__(self, case: str | None = None, later: Callable[[Callable[[], None]], None] | None = None) -> None:
        """Open with the tariff of a case; the demo tariffs can be chosen as well.

        Parameters
        ----------
        case : str, optional
            File, or the demo case.
        later : callable, optional
            Does work after the page has shown what is known; at once by default.
        """
        super().__init__()
        self._kind: tuple[str | None, str] = (None, "")
        """Commodity and currency of the bill typed in."""
        self._units: dict[str, str] = {}
        """In which bare numbers of the chosen tariff's bill are read, by key."""
        self.year_bill: Bill | None = None
        self.prices: np.ndarray | None = None
        """Price of one more kWh by month and price cell. [money/J]"""
        self.load: Load | None = None
        """Of the year."""
        self.notes: list[str] = []
        """Cautions of the year's bill."""
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
        own, _ = own_tariffs(self.case.model)
        for name, tariff in own.items():
            if self.case.tariffs.get(tariff.commodity) != tariff:
                self._offer(f"case own {name}", tariff, f"in the case: {name}")

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
            self._own = {name for name in self._own if not is_amount(name)}
        self._kind = (self.tariff.commodity, self.tariff.currency)
        self._units = now = {entry.key: entry.unit for entry in self.inputs()}
        own = {
            name: text if _unit(now, name) == _unit(units, name) else with_unit(text, _unit(units, name))
            for name in self._own
            if (text := self.texts.get(name, ""))
        }
        if all(is_amount(name) for name in own):
            own = {}  # amounts alone are those of the bill before
        self.texts = kept | {"year": kept.get("year") or str(self.year)} | own
        self._own, self.worked_left = set(own), bool(own) and self.tariff.worked is not None
        if not own:
            self._fill_from_worked()
        billed = self.case.model.tariffs.power_factor
        if self.tariff.commodity == "electricity" and billed is not None and not self.texts.get("power_factor"):
            self.texts["power_factor"] = f"{100 * billed:.6g} %"
        self._work_out()

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
        if refused := other_currency(tariff, self.case.currency):
            self.problems["tariff"] = refused
            self._tell()
            return
        own = self.chosen.startswith("case own ")
        written = self._uploaded if self.chosen == "upload" else tariff.name if own else self.chosen
        before = self.behind.comparison
        if self._give(with_tariff(self.behind.document, tariff, written), "tariff"):
            said = of_tariff(before, self.behind.comparison, tariff.commodity)
            self.behind.notice = f"{tariff.name} is now the case's tariff for {tariff.commodity}, in every view. {said}"
            if self.chosen == "upload" or own:
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
        before = self.behind.comparison
        if self._give(changes, "readings"):
            said = of_plant_load(before, self.behind.comparison)
            self.behind.notice = f"{name} is now the electricity of the case's plant, in every view. {said}"
            self.take_plant()

    def _give(self, changes: Mapping[str, Any], key: str) -> bool:
        try:
            give(self.behind, changes)
        except EnergyError as error:
            self.problems[key] = str(error)
            self._tell()
            return False
        return True

    # --- what is typed in

    @property
    def load_name(self) -> str:
        """The year's load in a few words."""
        if self.on_plant:
            return "the case's plant"
        return self.readings[0] if self.readings else "a constant load"

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

    # --- results

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
        of_case = self.case.model.tariffs.power_factor
        if self.on_plant and self.has_plant and factor is not None and of_case is not None and factor != float(of_case):
            typed, stated = (f"{100 * float(value):.3g} %" for value in (factor, of_case))
            self.notes.append(
                f"Billed at the power factor typed in, {typed}; the case, and Compare with it, has {stated}."
            )
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
