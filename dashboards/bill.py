"""The Bill view: a tariff drawn and in words, last month's bill line by line beside the printed one, a year's bill."""

from __future__ import annotations

import os
from calendar import month_name
from typing import Any

import ipywidgets as w
import numpy as np

from dashboards import bill_charts, bill_tables
from dashboards.bill_state import State
from dashboards.bill_swap import SwapCard
from dashboards.case_bar import CaseBar
from dashboards.fields import Field, card
from dashboards.heartbeat import Heartbeat
from dashboards.later import after_the_answer
from dashboards.launch import CASE_VARIABLE
from dashboards.markup import escape
from dashboards.page import show as show_page
from dashboards.plotview import PlotView
from dashboards.upload import LIMIT, Upload
from energy.reports.print_signs import pretty
from energy.units import to_unit

LARGEST = f"At most {LIMIT / 1e6:g} MB."
WHOLE_YEAR = 0
"""Choice of months that shows the year by line."""


class Entry(Field):
    """Something typed in, by its key in the state."""

    def __init__(self, state: State, key: str, label: str, unit: str = "", hint: str = "", problem: str = "") -> None:
        self.state, self.key, self.problem = state, key, problem or key
        self._filling = False
        description = f"{label} ({pretty(unit)})" if unit else label
        super().__init__(w.Text(description=description, continuous_update=False), hint)
        self.refresh()
        self.control.observe(self._typed, "value")

    def _typed(self, change: dict[str, Any]) -> None:
        if not self._filling:
            self.state.set(self.key, str(change["new"])[:200])

    def refresh(self) -> None:
        """Take over the text and what is wrong with it."""
        self._filling = True
        self.control.value = self.state.texts.get(self.key, "")
        self._filling = False
        self.tell(self.state.problems.get(self.problem, "") or self.state.remark(self.key))


class View:
    """Binds widgets to a state; computes nothing."""

    def __init__(self, state: State) -> None:
        self.state = state
        self._filling = False
        self._tariff = w.Dropdown(description="Tariff")
        self._upload = Upload(state.upload_tariff, label="Upload a tariff", accept=".toml,.json")
        self._month = w.Dropdown(
            description="Month of the bill", options=[(name, i) for i, name in enumerate(month_name) if i]
        )
        self._year = Entry(state, "year", "Year", problem="calendar year")
        self._inputs, self._printed = w.VBox(), w.VBox()
        self._constant = w.VBox()
        self._readings = Upload(state.upload_readings, label="Upload readings", accept=".csv,.txt,.xml,.toml")
        self._reader = [
            Entry(state, "read column", "Column of figures", hint="Of an ESPI file the number of the meter reading."),
            Entry(state, "read unit", "Unit of the figures", hint="Where the header names none."),
            Entry(
                state,
                "read zone",
                "Time zone of the stamps",
                hint="Such as America/Chicago, or UTC. Stamps with an offset, or with Z, need none where the tariff names its clock.",
            ),
        ]
        self._reader_box = w.VBox([entry.box for entry in self._reader])
        self._use = Field(w.Button(description="Use this tariff in the case"))
        self._use_readings = Field(w.Button(description="Use these readings in the case"))
        self._bar = CaseBar(state.behind)
        self._worked = w.Button(description="Take the tariff's worked bill")
        self._drop = w.Button(description="Back to a constant load")
        self._worked_note = w.HTML(
            '<p class="hint">What you have typed in is kept; the bill worked in this tariff\'s file is left out.</p>'
        )
        self._plant = w.Button(description="Take the case's plant load")
        self._swap = SwapCard(state.swap, lambda: state.swap.ask(state.tariff))
        self._entries: list[Entry] = []
        self._shape: tuple[Any, ...] = ()
        for box in (self._inputs, self._printed, self._constant, self._reader_box):
            box.add_class("fields")
        self._answer, self._problems, self._about = w.HTML(), w.HTML(), w.HTML()
        self._month_title, self._reconciled, self._month_notes = w.HTML(), w.HTML(), w.HTML()
        self._days = w.ToggleButtons(options=[*bill_charts.DAYS], description="Days")
        self._map, self._bars = PlotView(), PlotView()
        self._map_words, self._charges = w.HTML(), w.HTML()
        self._map_field = Field(self._days)
        self._shown = w.Dropdown(
            description="Shown", options=[("whole year", WHOLE_YEAR), *self._month.options], value=WHOLE_YEAR
        )
        self._shown_field = Field(self._shown)
        self._year_title, self._year_table, self._year_notes = w.HTML(), w.HTML(), w.HTML()
        self._problems.add_class("live")
        self.page = self._layout()
        self._watch()
        self.refresh()

    def _layout(self) -> w.Box:
        panel = card(
            w.HTML("<h2>Tariff</h2>"),
            Field(self._tariff, "Demo tariffs are invented.").box,
            Field(self._upload, f"A tariff file (TOML) or a rate record (JSON). {LARGEST}").box,
            self._use.box,
            self._year.box,
            w.HTML("<h2>Last month's bill</h2>"),
            Field(
                self._month,
                "What is typed in here is no part of the case: it is gone when you leave or reload this page.",
            ).box,
            self._worked_note,
            self._worked,
            self._inputs,
            w.HTML("<h3>Printed on the bill</h3>"),
            self._printed,
            w.HTML("<h2>A year's load</h2>"),
            self._constant,
            self._plant,
            Field(
                self._readings,
                "Or the meter's own: interval readings as CSV or ESPI XML, or a table of twelve months (month, kWh, kW). "
                + LARGEST,
            ).box,
            self._reader_box,
            self._use_readings.box,
            self._drop,
        )
        panel.add_class("panel")
        results = w.VBox(
            [
                card(self._problems, self._answer, self._about, self._bar.box),
                card(self._month_title, self._reconciled, self._month_notes),
                card(
                    w.HTML(
                        "<h2>What one more unit of energy costs, hour by month</h2><p class='hint'>By how much the bill rises, riders, "
                        "blocks and taxes included, with the year's load and its peaks as they are. Holidays are left out.</p>"
                    ),
                    self._map_field.box,
                    self._map,
                    self._map_words,
                ),
                card(w.HTML("<h2>Charges in words</h2>"), self._charges),
                self._swap.box,
                card(self._year_title, self._bars, self._shown_field.box, self._year_table, self._year_notes),
                w.HTML(bill_tables.standing_cautions()),
                Heartbeat(),
            ]
        )
        results.add_class("results")
        page = w.Box([panel, results])
        page.add_class("app")
        return page

    def _watch(self) -> None:
        self._tariff.observe(self._choose_tariff, "value")
        self._month.observe(self._choose_month, "value")
        self._days.observe(lambda _: self._show_map(), "value")
        self._shown.observe(lambda _: self._show_year(), "value")
        self._drop.on_click(lambda _: self.state.drop_readings())
        self._worked.on_click(lambda _: self.state.take_worked())
        self._plant.on_click(lambda _: self.state.take_plant())
        self._use.control.on_click(lambda _: self.state.use_tariff())
        self._use_readings.control.on_click(lambda _: self.state.use_readings())
        self.state.observe(lambda _: self.refresh(), "revision")

    def _choose_tariff(self, change: dict[str, Any]) -> None:
        if not self._filling and change["new"] is not None:
            self.state.choose(change["new"])

    def _choose_month(self, change: dict[str, Any]) -> None:
        if not self._filling and change["new"] is not None:
            self.state.set_month(change["new"])

    # --- showing

    def refresh(self) -> None:
        """Show the state: inputs, problems, results."""
        state = self.state
        self._filling = True
        if self._tariff.options != tuple(state.choices()):
            self._tariff.options = state.choices()
        self._tariff.value, self._month.value = state.chosen, state.month
        self._filling = False
        self._build_entries()
        for entry in (self._year, *self._reader, *self._entries):
            entry.refresh()
        for part in (self._worked, self._worked_note):
            part.layout.display = None if state.worked_left else "none"
        read = state.readings is not None
        self._constant.layout.display = "none" if read or state.on_plant else None
        self._reader_box.layout.display = None if read else "none"
        electric = state.tariff.commodity == "electricity"
        self._use_readings.box.layout.display = None if read and electric and state.year_bill else "none"
        self._use.box.layout.display = None if state.usable else "none"
        self._use.tell(state.problems.get("tariff", ""))
        self._drop.layout.display = None if read or state.on_plant else "none"
        self._plant.layout.display = None if state.has_plant and not state.on_plant else "none"
        self._readings.label = f"Readings: {state.readings[0]}" if state.readings else "Upload readings"
        self._readings.problem = state.problems.get("readings", "")
        told = dict.fromkeys(state.problems[key] for key in ("case", "month", "year") if key in state.problems)
        self._problems.value = bill_tables.problem("\n".join(told))
        self._about.value = bill_tables.about(state.tariff)
        self._charges.value = bill_tables.charges(state.tariff)
        self._show_month()
        self._show_map()
        self._show_year()
        self._swap.refresh()

    def _build_entries(self) -> None:
        """The inputs that this tariff and its bill ask for; kept while they stay the same."""
        state = self.state
        lines = [line.line for line in state.month_bill.lines] if state.month_bill else []
        wanted = (state.chosen, state.tariff.name, tuple(state.inputs()), tuple(lines))
        if wanted == self._shape:
            return
        self._shape = wanted
        currency = state.tariff.currency
        inputs = [Entry(state, i.key, i.label, i.unit, i.hint) for i in state.inputs()]
        amounts = [Entry(state, f"printed {line}", line, currency) for line in dict.fromkeys(lines)]
        amounts.append(Entry(state, "total", "Total", currency))
        water = state.tariff.commodity == "water"
        label = "The same flow all year" if water else "The same power all year"
        steady = Entry(state, "constant", label, "m3/h" if water else "kW")
        self._inputs.children = [entry.box for entry in inputs]
        self._printed.children = [entry.box for entry in amounts]
        self._constant.children = [steady.box]
        self._entries = [*inputs, *amounts, steady]

    def _show_month(self) -> None:
        state = self.state
        made = state.month_bill
        self._month_title.value = "<h2>Last month's bill, line by line</h2>"
        if made is None:
            told = "" if state.problems else "Type in energy and demand as the bill prints them."
            self._answer.value = ""
            self._reconciled.value = f'<p class="hint">{told or "It cannot be worked out with what was typed in."}</p>'
            self._month_notes.value = ""
            return
        rows, total = state.rows, state.printed_total
        self._answer.value = bill_tables.sentence(made, state.when, rows, total, state.unread, state.example)
        self._reconciled.value = bill_tables.reconciled(rows, float(made.total), total, made.currency, state.unread)
        of_example = ", ".join(state.left_of_example())
        left = [f"Still of the example in the tariff's file: {of_example}."] if of_example else []
        self._month_notes.value = bill_tables.notes(
            ["Differences above 1 % of the printed amount are marked.", *state.month_notes, *left]
        )

    def _show_map(self) -> None:
        state = self.state
        unit, known = state.energy_unit, state.prices is not None
        varies = known and bool(np.nanmax(state.prices) - np.nanmin(state.prices) > 1e-6 * np.nanmax(abs(state.prices)))
        for box in (self._map, self._map_field.box):
            box.layout.display = None if varies else "none"
        if not known:
            water = state.tariff.commodity == "water"
            why = "Water is priced by volume, at all hours alike." if water else "This needs a load of the year."
            self._map_words.value = f'<p class="hint">{why}</p>'
            return
        self._map_words.value = bill_tables.cells(state.tariff, state.prices, unit)
        if not varies:
            return
        days = self._days.value
        drawn = bill_charts.grid(state.tariff, state.prices, state.year, days, unit)
        per_unit = float(to_unit(1.0, "energy", unit))
        low, high = (float(f(state.prices)) / per_unit for f in (np.nanmin, np.nanmax))
        self._map.show(
            bill_charts.price_map(state.tariff, drawn, days, unit, (low, high)),
            f"Price of energy by hour and month, {days}: from {low:.4g} to {high:.4g} {state.tariff.currency}/{unit}; "
            "by period below.",
        )

    def _show_year(self) -> None:
        state = self.state
        made = state.year_bill
        self._bars.layout.display = self._shown_field.box.layout.display = None if made else "none"
        if made is None:
            self._year_title.value = "<h2>A year's bill</h2>"
            self._year_table.value = '<p class="hint">Give a constant load or readings.</p>'
            self._year_notes.value = ""
            return
        year = state.load.year if state.load else state.year
        words = f"A year's bill of {state.load_name}, {year}: {bill_tables.money(made.total, made.currency)} {made.currency}"
        self._year_title.value = f"<h2>{escape(words)}</h2>"
        self._bars.show(
            bill_charts.by_month(made),
            f"Bill of {state.load_name} by month and line; total {bill_tables.money(made.total, made.currency)} {made.currency}.",
        )
        month = self._shown.value
        self._year_table.value = bill_tables.month(made.of_month(month)) if month else bill_tables.year(made)
        ignored = state.ignored if state.chosen == "upload" else ()
        self._year_notes.value = bill_tables.notes(
            [*state.notes, *(f"Not taken over from the rate record: {field}." for field in ignored)]
        )


def app() -> None:
    """Show the view, with the tariffs of the case that the launcher was given or of the demo case."""
    show_page(View(State(os.environ.get(CASE_VARIABLE) or None, after_the_answer)).page)
