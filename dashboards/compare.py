"""The Compare view: dryer types on one duty, what each costs, whether replacing the present one pays back."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable
from typing import Any

import ipywidgets as w
import traitlets

from dashboards import charts, tables, where_from
from dashboards.background import Job
from dashboards.case_bar import CaseBar
from dashboards.currency import still
from dashboards.fields import Field, card
from dashboards.heartbeat import Heartbeat
from dashboards.input_names import in_words, told
from dashboards.inputs import Inputs
from dashboards.later import after
from dashboards.launch import CASE_VARIABLE
from dashboards.markup import escape
from dashboards.page import show as show_page
from dashboards.plotview import PlotView
from dashboards.simulation_card import SimulationCard
from dashboards.simulation_state import SimulationState
from dashboards.state import REST, State
from energy.reports.answer import sentences
from energy.reports.doubts import COLD
from energy.reports.inputs import machine_places
from energy.reports.plant_notes import plant_notes
from energy.reports.resins import called as resin_called
from energy.study.compare import Comparison

BELOW = '<p class="below"><a href="#all-options">To all options, below the inputs</a></p>'
"""Shown where the page is too narrow for inputs and results side by side."""


class View:
    """Binds widgets to a state; computes nothing."""

    def __init__(self, state: State) -> None:
        self.state = state
        self._simulation = SimulationCard(SimulationState(state, Job, after))
        self._filling = False
        self._head = w.HTML()
        self._units = w.ToggleButtons(options=[("SI", "si"), ("US", "us")], description="Units", value=state.system)
        self._inputs = Inputs(state)
        self._checked = w.Dropdown(description="Hopper shown in detail")
        self._checked_field = Field(self._checked)
        self._answer, self._table, self._other, self._problems = w.HTML(), w.HTML(), w.HTML(), w.HTML()
        self._problems.add_class("live")
        self._option = w.Dropdown(description="Option shown in detail")
        self._checks, self._heat_words, self._moisture_words = w.HTML(), w.HTML(), w.HTML()
        self._plant, self._saving, self._why = w.HTML(), w.HTML(), w.HTML()
        self._sizes, self._heat_title, self._year_by_year, self._states = w.HTML(), w.HTML(), w.HTML(), w.HTML()
        self._scenarios = w.HTML()
        self._what_if = card(w.HTML("<h2>Scenarios</h2>"), self._scenarios)
        self._cost, self._heat, self._moisture, self._sweep, self._cash = (PlotView() for _ in range(5))
        self._load, self._months = PlotView(), PlotView()
        self._bar = CaseBar(state)
        self.page = self._layout()
        self._watch()
        self.refresh()

    def _layout(self) -> w.Box:
        panel = card(self._head, Field(self._units).box, self._inputs.form)
        panel.add_class("panel")
        self._results = [
            card(self._problems, self._answer, self._simulation.sentence, self._other, self._bar.box),
            card(w.HTML('<h2 id="options">Options on this duty</h2>'), self._table, self._why),
            self._what_if,
            card(w.HTML("<h2>What a year costs</h2>"), self._cost),
            card(w.HTML("<h2>How big each machine is</h2>"), self._sizes),
            card(
                w.HTML("<h2>One option in detail</h2>"),
                Field(self._option).box,
                self._checked_field.box,
                w.HTML("<h3>Does it dry?</h3>"),
                self._checks,
                w.HTML("<h3>Moisture against time</h3>"),
                self._moisture,
                self._moisture_words,
                self._heat_title,
                self._heat,
                self._heat_words,
                w.HTML("<h3>Month by month</h3>"),
                self._months,
                self._states,
                w.HTML("<h3>The plant around it</h3>"),
                self._plant,
                w.HTML("<h3>What the bills fall by</h3>"),
                self._saving,
                w.HTML("<h3>Money year by year, against the present machine</h3>"),
                self._year_by_year,
            ),
            card(
                w.HTML(
                    "<h2>Cost against throughput</h2><p class='hint'>Running cost and capital as a level yearly amount, every new dryer built "
                    "for each throughput; capital scaled with the six-tenths rule from the throughput it is quoted for. The "
                    "present machine stays as it is.</p>"
                ),
                self._sweep,
            ),
            card(
                w.HTML(
                    "<h2>Energy against load</h2><p class='hint'>Every machine as it is built in the case, in steady production. With a "
                    "fixed airflow a kilogram at half load takes about twice the energy.</p>"
                ),
                self._load,
            ),
            card(w.HTML("<h2>Cash against the present machine</h2>"), self._cash),
        ]
        heartbeat = Heartbeat()
        heartbeat.observe(lambda _: self._simulation.state.begin(), "present")
        self._right = results = w.VBox([*self._results, self._simulation.box, w.HTML(tables.cautions()), heartbeat])
        results.add_class("results")
        page = w.Box([panel, results])
        page.add_class("app")
        return page

    def _watch(self) -> None:
        state = self.state
        traitlets.dlink((self._units, "value"), (state, "system"))
        self._option.observe(self._choose_option, "value")
        self._checked.observe(self._choose_hopper, "value")
        state.observe(lambda _: self.refresh(), ("revision", "system", "hopper"))
        state.observe(lambda _: self._show_curves(), "curves")
        state.observe(lambda _: self._show_scenarios(), "told")
        state.observe(lambda _: self._show_option(), "chosen")
        state.observe(self._show_working, "working")

    def _choose_hopper(self, change: dict[str, Any]) -> None:
        if not self._filling and change["new"] is not None:
            self.state.hopper = change["new"]

    def _choose_option(self, change: dict[str, Any]) -> None:
        if not self._filling and change["new"] is not None:
            self.state.chosen = change["new"]

    # --- showing

    def refresh(self) -> None:
        """Show the state: inputs, problems, results."""
        state, comparison = self.state, self.state.comparison
        if not state.stale:
            self._show_cost()  # first, so that the page draws it while the rest is written
        self._filling = True
        self._head.value = f"<h2>{escape(state.case.name)}</h2>"
        self._units.value = state.system
        hoppers = state.case.model.hoppers
        self._checked.options = [
            (f"{h.name}: {resin_called(h, r)}", i)
            for i, (h, r) in enumerate(zip(hoppers, state.case.resins, strict=True))
        ]
        self._checked.value = state.hopper
        self._checked_field.box.layout.display = "none" if len(hoppers) == 1 else None
        self._option.options = [o.name for o in comparison.options]
        self._option.value = state.chosen
        self._filling = False
        self._inputs.refresh()
        self._show_problems()
        for box in self._results:
            (box.add_class if state.stale else box.remove_class)("stale")
        if state.stale:
            return
        headline, *rest = sentences(comparison, page=True)
        best = comparison.ranked()[0].name if comparison.ranked() else ""
        headline = in_bold(headline, best, (o.name for o in comparison.options)) if best else escape(headline)
        self._answer.value = f'<p class="answer" id="answer">{headline}</p><p>{escape(" ".join(rest))}</p>{BELOW}'
        note = " ".join(filter(None, (state.standing_note, state.calendar_note)))
        other = still(state.document)
        self._other.value = (f'<p class="problem" role="status">{escape(other)}</p>' if other else "") + (
            f'<p class="hint">{escape(note)}</p>' if note else ""
        )
        self._table.value = tables.options(comparison, state.system)
        self._sizes.value = tables.sizes(comparison, state.system)
        ranked = ", ".join(o.name for o in comparison.ranked())
        self._cash.show(
            charts.cumulative_cash(comparison),
            f"Cumulative cash against the present machine, by year. Ranked: {ranked}.",
        )
        self._show_option()
        after(REST, lambda: self._explain(comparison))
        if state.costs is not None:
            self._show_curves()
        if not comparison.case.model.scenarios or state.outcomes:
            self._show_scenarios()

    def _show_cost(self) -> None:
        comparison = self.state.comparison
        self._cost.show(
            charts.annual_cost(comparison),
            "Running cost a year by what it is spent on. "
            + "; ".join(f"{o.name} {o.total_cost:,.0f} {comparison.case.currency}" for o in comparison.options),
        )

    def _explain(self, comparison: Comparison) -> None:
        """The panels behind the numbers, unless another comparison has taken their place by then."""
        if comparison is self.state.comparison:
            self._why.value = where_from.panels(comparison, self.state.system)

    def _show_curves(self) -> None:
        """Cost against throughput and energy against load, of the last comparison for which they are done."""
        state, comparison = self.state, self.state.comparison
        if set(state.loads.energy) != {o.name for o in comparison.options}:
            return  # those of another case: the right ones are on their way
        turns = "; ".join(
            f"below {b.throughput * 3600:.0f} kg/h {b.below}, above {b.above}" for b in state.costs.break_evens
        )
        self._sweep.show(
            charts.cost_by_throughput(comparison, state.costs, state.system),
            "Yearly cost with capital against throughput. " + (turns or "The cheapest option does not change."),
        )
        self._load.show(
            charts.energy_by_load(comparison, state.loads, state.system),
            "Energy per kilogram against load, by option.",
        )

    def _show_scenarios(self) -> None:
        """What the scenarios come to, as far as they are worked out; what is wrong with one stands beside its inputs too."""
        comparison, found = self.state.comparison, self.state.outcomes
        self._what_if.layout.display = None if comparison.case.model.scenarios else "none"
        self._scenarios.value = tables.scenarios(comparison, found)
        if any(one.problem for one in found):
            self._inputs.refresh()

    def _show_working(self, change: dict[str, Any]) -> None:
        """The old answer is greyed while a new one is worked out."""
        (self._right.add_class if change["new"] else self._right.remove_class)("working")

    def _show_problems(self) -> None:
        """Everything that is wrong, on top of the page by the label of its field; each stands beside it as well."""
        labels = machine_places(self.state.case.model) | self._inputs.labels()
        self._problems.value = "".join(
            f'<p class="problem" role="status">{escape(told(labels.get(p.key) or in_words(p.key), p.message))}</p>'
            for p in self.state.problems
        )

    def _show_option(self) -> None:
        state, comparison = self.state, self.state.comparison
        option = comparison.option(state.chosen)
        served = option.served[state.hopper]
        self._checks.value = tables.checks(served.verdict.findings, missed=served.verdict.word == "unlikely")
        self._plant.value = tables.checks(plant_notes(comparison, option), tested=False)
        self._saving.value = tables.saving(comparison, option)
        self._months.show(
            charts.energy_by_month(option), f"Electricity and fuel of {option.name} by month and end use."
        )
        self._states.value = tables.states(comparison, option)
        self._year_by_year.value = tables.cash(comparison, option)
        self._heat_title.value = f"<h3>Where the heat goes, {escape(state.unit('specific energy'))} of resin</h3>"
        figure = charts.moisture(served)
        self._moisture.layout.display = None if figure else "none"
        if figure:
            self._moisture.show(
                figure,
                f"Moisture of the pellets against time in the hopper of {option.name}, with target and driest possible.",
            )
        self._moisture_words.value = (
            '<p class="hint">Each time is that of a hopper as big as it takes. '
            "Two clocks: the time pellets stay, which practice recommends, and the time diffusion alone needs in warm "
            "pellets. Practice asks for more because the bed has to warm up, some pellets run ahead and lots differ.</p>"
            if figure
            else '<p class="hint">No diffusion data are known for this resin: the recommended residence time stands for drying.</p>'
        )
        resin = float(option.year.resin.sum())
        self._heat.show(
            charts.heat_flow(option, state.system, resin),
            f"Heat balance of {option.name}: heat in equals heat out; largest: "
            + ", ".join(f"{k}" for k, _ in sorted(option.heat_out.items(), key=lambda kv: -kv[1])[:3]),
        )
        minimum = option.minimum_energy / option.specific_energy
        less = f" It {COLD}." if option.cold else ""
        self._heat_words.value = (
            f'<p class="hint">In equals out to rounding. The physical minimum, resin warmed to its drying temperature and its water evaporated, is '
            f"{100 * minimum:.0f} % of the energy this option buys.{less}</p>"
        )


def app() -> None:
    """Show the view on the case that the launcher was given, or on the demo case."""
    show_page(View(State(os.environ.get(CASE_VARIABLE) or None, after)).page)


def in_bold(text: str, name: str, names: Iterable[str]) -> str:
    """The text, escaped, with the first place of a name in bold; a longer name that begins with it is another's."""
    longest_first = "|".join(re.escape(escape(each)) for each in sorted(names, key=len, reverse=True))
    shown = escape(text)
    at = next((m.span() for m in re.finditer(longest_first, shown) if m[0] == escape(name)), None)
    return shown if at is None else f"{shown[: at[0]]}<b>{shown[at[0] : at[1]]}</b>{shown[at[1] :]}"
