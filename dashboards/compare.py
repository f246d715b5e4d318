"""The Compare view: dryer types on one duty, what each costs, whether replacing the present one pays back."""

from __future__ import annotations

import os
from calendar import month_name
from html import escape
from typing import Any

import ipywidgets as w
import traitlets

from dashboards import charts, tables
from dashboards.background import Job
from dashboards.case_bar import CaseBar
from dashboards.fields import Field, Number, Price, card
from dashboards.heartbeat import Heartbeat
from dashboards.later import after, after_the_answer
from dashboards.launch import CASE_VARIABLE
from dashboards.page import show as show_page
from dashboards.plotview import PlotView
from dashboards.simulation_card import SimulationCard
from dashboards.simulation_state import SimulationState
from dashboards.state import State
from energy.plant.climate import sample_names
from energy.reports.answer import sentences
from energy.resins.properties import resin_names
from energy.study.compare import Comparison
from energy.study.references import drying_temperature
from energy.units import show

TYPICAL = "Typical values: follow the resin producer's drying sheet."
SAMPLES = "Sample climates are invented; a weather file is named in the case file."


def _hall(comparison: Comparison, system: str) -> str:
    """The hall's air over the year of a climate, in a sentence."""
    duty = comparison.duty

    def degrees(kelvin: float) -> str:
        return show(float(kelvin), "temperature", system)

    dampest, hottest = int(duty.hall_dew_point.argmax()), int(duty.hall_temperature.argmax())
    return (
        f"Hall: mean {degrees(duty.hall_temperature.mean())}, dew point {degrees(duty.hall_dew_point.mean())}; hottest "
        f"{degrees(duty.hall_temperature.max())} in {month_name[hottest + 1]}, dampest a dew point of "
        f"{degrees(duty.hall_dew_point.max())} in {month_name[dampest + 1]}."
    )


class View:
    """Binds widgets to a state; computes nothing."""

    def __init__(self, state: State) -> None:
        self.state = state
        self._simulation = SimulationCard(SimulationState(state, Job, after))
        self._filling = False
        self._head = w.HTML()
        self._units = w.ToggleButtons(options=[("SI", "si"), ("US", "us")], description="Units", value=state.system)
        self._hopper = w.Dropdown(description="Hopper", options=self._hoppers())
        self._hopper_field = Field(self._hopper, "Duty and checks of one hopper are shown at a time.")
        self._checked = w.Dropdown(description="Hopper shown in detail", options=self._hoppers())
        self._checked_field = Field(self._checked)
        self._load_slider = w.IntSlider(
            min=10, max=100, step=5, description="Load of every hopper, %", continuous_update=False
        )
        self._load_field = Field(self._load_slider)
        self._resin = w.Dropdown(options=self._resins(), description="Resin", value=state.chosen_hopper.resin)
        self._resin_field = Field(self._resin, TYPICAL)
        self._own = w.ToggleButtons(options=[("as stored", False), ("my own", True)], description="Resin values")
        self._own_fields = self._make_own_fields()
        self._own_box = w.VBox([f.box for f in self._own_fields])
        self._own_box.add_class("fields")
        self._climate = w.Dropdown(description="Hall climate", options=self._climates())
        self._climate_field = Field(self._climate, SAMPLES)
        self._numbers, self._prices, self._capital = self._make_numbers(), self._make_prices(), w.VBox()
        self._capital_fields: list[Number] = []
        self._capital_of: list[str] = []
        self._answer, self._table, self._other, self._problems = w.HTML(), w.HTML(), w.HTML(), w.HTML()
        self._problems.add_class("live")
        self._option = w.Dropdown(description="Option shown in detail")
        self._checks, self._heat_words, self._moisture_words = w.HTML(), w.HTML(), w.HTML()
        self._plant, self._saving = w.HTML(), w.HTML()
        self._sizes, self._heat_title, self._year_by_year, self._states = w.HTML(), w.HTML(), w.HTML(), w.HTML()
        self._cost, self._heat, self._moisture, self._sweep, self._cash = (PlotView() for _ in range(5))
        self._load, self._months = PlotView(), PlotView()
        self._bar = CaseBar(state)
        self._capital.add_class("fields")
        self.page = self._layout()
        self._watch()
        self.refresh()

    # --- parts

    def _resins(self) -> list[str]:
        used = [hopper.resin for hopper in self.state.case.model.hoppers]
        return list(dict.fromkeys([*resin_names(), *used]))

    def _hoppers(self) -> list[tuple[str, int]]:
        case = self.state.case
        return [
            (f"{h.name}: {r.abbreviation}", i)
            for i, (h, r) in enumerate(zip(case.model.hoppers, case.resins, strict=True))
        ]

    def _make_own_fields(self) -> list[Number]:
        state = self.state
        rows = (
            ("target_moisture", "moisture", "Target moisture"),
            ("drying_temperature_limit", "temperature", "Highest drying temperature"),
            ("yellowing_temperature", "temperature", "Yellows in hot air above"),
            ("dew_point", "temperature", "Dew point asked for"),
            ("air_resin_ratio", "ratio", "Air to resin, kg/kg"),
            ("density", "density", "Density of the resin"),
            ("bulk_density", "density", "Bulk density of the pellets"),
            ("specific_heat", "specific heat", "Specific heat, mean up to drying temperature"),
            ("pellet_diameter", "length", "Pellet diameter"),
            ("pellet_length", "length", "Pellet length"),
            ("diffusivity", "diffusivity", "Diffusivity of water"),
            ("diffusivity_temperature", "temperature", "Temperature of the diffusivity"),
            ("diffusion_activation_energy", "molar energy", "Activation energy of diffusion"),
            ("sorption_slope", "ratio", "Equilibrium moisture at saturation, kg/kg"),
            ("sorption_temperature", "temperature", "Temperature of that equilibrium"),
        )
        return [
            Number(
                state,
                lambda key=key: f"{state.hopper_path}.own_resin.{key}",  # type: ignore[misc]
                kind,
                label,
                lambda key=key: getattr(state.resin, key),  # type: ignore[misc]
                unit="mm" if kind == "length" else "",
            )
            for key, kind, label in rows
        ]

    def _climates(self) -> list[tuple[str, str]]:
        own = str(self.state.document.get("site", {}).get("climate") or "")
        names = list(dict.fromkeys([*sample_names(), *([own] if own else [])]))
        return [("the same all year", ""), *((f"{name}, by month", name) for name in names)]

    def _make_numbers(self) -> dict[str, Number]:
        state = self.state

        def of_hopper(key: str) -> Any:
            return lambda: f"{state.hopper_path}.{key}"

        def hopper() -> Any:
            return state.chosen_hopper

        def model() -> Any:
            return state.case.model

        def air(key: str) -> float:
            section = model().compressed_air
            given = None if section is None else getattr(section, key)
            return float("nan") if given is None else float(given)

        rows: tuple[tuple[str, Any, str, str, Any], ...] = (
            ("throughput", of_hopper("throughput"), "mass flow", "Throughput", lambda: hopper().throughput),
            (
                "drying temperature",
                of_hopper("drying_temperature"),
                "temperature",
                "Drying temperature",
                lambda: drying_temperature(hopper(), state.resin),
            ),
            (
                "residence",
                of_hopper("residence_time"),
                "time",
                "Residence time",
                lambda: hopper().residence_time or state.resin.residence_time,
            ),
            (
                "initial moisture",
                of_hopper("initial_moisture"),
                "moisture",
                "Moisture of the pellets fed",
                lambda: (
                    state.resin.initial_moisture if hopper().initial_moisture is None else hopper().initial_moisture
                ),
            ),
            (
                "built for",
                self._built_for_path,
                "mass flow",
                "Present machine, built for",
                lambda: state.comparison.baseline.served[state.hopper].duty.built_for.design_throughput.max(),
            ),
            (
                "cooling water",
                "site.cooling_water_temperature",
                "temperature",
                "Cooling water",
                lambda: model().site.cooling_water_temperature,
            ),
            ("rate", "finance.rate", "rate", "Discount rate", lambda: model().finance.rate),
            (
                "longest payback",
                "finance.maximum_payback",
                "time",
                "Longest payback accepted",
                lambda: model().finance.maximum_payback or float("nan"),
            ),
            (
                "hours",
                "calendar.production_hours",
                "time",
                "Production a year",
                lambda: state.case.calendar.production.sum(),
            ),
            (
                "hall temperature",
                "site.hall_temperature",
                "temperature",
                "Hall temperature",
                lambda: state.comparison.duty.hall_temperature.mean(),
            ),
            (
                "hall dew point",
                "site.hall_dew_point",
                "temperature",
                "Hall dew point",
                lambda: state.comparison.duty.hall_dew_point.mean(),
            ),
            (
                "specific power",
                "compressed_air.specific_power",
                "specific power",
                "Compressor, specific power",
                lambda: air("specific_power"),
            ),
            ("pressure", "compressed_air.pressure", "pressure", "Compressed-air pressure", lambda: air("pressure")),
        )
        return {
            key: Number(state, path, kind, label, value, unit="year" if key == "longest payback" else "")
            for key, path, kind, label, value in rows
        }

    @property
    def _present(self) -> str:
        return self.state.comparison.baseline.name

    def _built_for_path(self) -> str:
        """Of the present machine at the chosen hopper."""
        option, hopper = self.state.comparison.baseline.option, self.state.chosen_hopper
        place = f"options['{self._present}']"
        own = next((i for i, m in enumerate(option.machines) if m.hopper == hopper.name), None)
        return f"{place}.built_for" if own is None else f"{place}.machines[{own + 1}].built_for"

    def _make_prices(self) -> dict[str, Price]:
        labels = {
            "electricity": "Electricity",
            "gas": "Gas (higher heating value)",
            "cooling": "Cooling water, per heat",
        }
        return {commodity: Price(self.state, commodity, label) for commodity, label in labels.items()}

    def _build_capital(self) -> None:
        """A field for the capital of each option; made anew when there are others."""
        names = [o.name for o in self.state.case.model.options]
        if names == self._capital_of:
            return
        self._capital_of = names
        self._capital_fields = [
            Number(
                self.state,
                f"options['{o.name}'].capital",
                "money",
                o.name,
                lambda name=o.name: self.state.comparison.option(name).capital,  # type: ignore[misc]
            )
            for o in self.state.case.model.options
        ]
        self._capital.children = [f.box for f in self._capital_fields]

    def _layout(self) -> w.Box:
        n = self._numbers
        panel = card(
            self._head,
            Field(self._units).box,
            w.HTML("<h2>Duty</h2>"),
            self._hopper_field.box,
            self._resin_field.box,
            Field(
                self._own,
                "My own: type in what the resin producer's sheet says; its temperature and time stand under Duty.",
            ).box,
            self._own_box,
            *(n[k].box for k in ("throughput", "built for", "drying temperature")),
            *(n[k].box for k in ("residence", "initial moisture")),
            w.HTML("<h2>Plant</h2>"),
            self._load_field.box,
            n["hours"].box,
            w.HTML("<h2>Hall</h2>"),
            self._climate_field.box,
            *(n[k].box for k in ("hall temperature", "hall dew point", "cooling water")),
            w.HTML("<h2>Prices</h2>"),
            *(p.box for p in self._prices.values()),
            w.HTML("<h2>Compressed air</h2>"),
            *(n[k].box for k in ("pressure", "specific power")),
            w.HTML("<h2>Money</h2>"),
            *(n[k].box for k in ("rate", "longest payback")),
            w.HTML("<h3>Capital of each option</h3>"),
            self._capital,
            w.HTML(
                "<p class='hint'>Shifts, further hoppers and levels of throughput, maintenance, replacements, years, escalation and the inputs "
                "of each dryer are set in the case file: download it, edit it, and open it with dryer-energy dashboard FILE.</p>"
            ),
        )
        panel.add_class("panel")
        self._results = [
            card(self._problems, self._answer, self._simulation.sentence, self._other, self._bar.box),
            card(w.HTML("<h2>Options on this duty</h2>"), self._table),
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
                    "for each throughput; capital scaled with the six-tenths rule. The present machine stays as it is, its capital spent.</p>"
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
        self._resin.observe(self._choose_resin, "value")
        self._option.observe(self._choose_option, "value")
        self._climate.observe(self._choose_climate, "value")
        self._own.observe(self._choose_own, "value")
        self._hopper.observe(self._choose_hopper, "value")
        self._checked.observe(self._choose_hopper, "value")
        self._load_slider.observe(self._choose_load, "value")
        state.observe(lambda _: self.refresh(), ("revision", "system", "hopper"))
        state.observe(lambda _: self._show_curves(), "curves")
        state.observe(lambda _: self._show_option(), "chosen")
        state.observe(self._show_working, "working")

    def _choose_resin(self, change: dict[str, Any]) -> None:
        if not self._filling:
            self.state.set_resin(change["new"])

    def _choose_hopper(self, change: dict[str, Any]) -> None:
        if not self._filling and change["new"] is not None:
            self.state.hopper = change["new"]

    def _choose_load(self, change: dict[str, Any]) -> None:
        if not self._filling:
            self.state.set_load(change["new"] / 100.0)

    def _choose_own(self, change: dict[str, Any]) -> None:
        if not self._filling:
            self.state.set_own_resin(bool(change["new"]))

    def _choose_climate(self, change: dict[str, Any]) -> None:
        if not self._filling:
            self.state.set_climate(change["new"] or None)

    def _choose_option(self, change: dict[str, Any]) -> None:
        if not self._filling and change["new"] is not None:
            self.state.chosen = change["new"]

    # --- showing

    def refresh(self) -> None:
        """Show the state: inputs, problems, results."""
        state, comparison = self.state, self.state.comparison
        self._filling = True
        self._head.value = f"<h2>{escape(state.case.name)}</h2>"
        self._units.value = state.system
        self._resin.options = self._resins()
        wanted = str(state.written_hopper.get("resin", ""))
        self._resin.value = wanted if wanted in self._resin.options else state.chosen_hopper.resin
        one = len(state.case.model.hoppers) == 1
        for chooser in (self._hopper, self._checked):
            chooser.options = self._hoppers()
            chooser.value = state.hopper
        for field in (self._hopper_field, self._checked_field):
            field.box.layout.display = "none" if one else None
        self._load_slider.value = round(100 * state.load)
        self._load_field.hint = "Moving it puts every hopper at one load." + (
            " Now the levels of the case; their mean is shown."
            if any(h.levels for h in state.case.model.hoppers)
            else ""
        )
        self._load_field.tell("")
        self._numbers["hours"].hint = state.calendar_note
        self._prices["cooling"].box.layout.display = "none" if state.case.model.cooling is not None else None
        by_plant = state.case.model.cooling is not None and state.case.climate is not None
        self._numbers["cooling water"].box.layout.display = "none" if by_plant else None
        present = state.comparison.baseline
        own = not one and not self._built_for_path().count("machines")
        self._numbers["built for"].box.layout.display = (
            "none" if own or present.option.arrangement != "at the machine" else None
        )
        self._own.value = state.own_resin
        self._own_box.layout.display = None if state.own_resin else "none"
        climate = state.document.get("site", {}).get("climate")
        self._climate.options = self._climates()
        self._climate.value = str(climate or "")
        for key in ("hall temperature", "hall dew point"):
            self._numbers[key].box.layout.display = "none" if climate else None
        self._option.options = [o.name for o in comparison.options]
        self._option.value = state.chosen
        self._build_capital()
        self._filling = False
        for field in (*self._quantities(), *self._prices.values()):
            field.refresh()
        throughput = self._numbers["throughput"]
        if small := state.problem_at(self._built_for_path()):
            throughput.tell(f"{self._present}, built for: {small}")
        self._resin_field.hint = " ".join([state.put_aside, TYPICAL]).strip()
        self._climate_field.hint = _hall(comparison, state.system) if climate else SAMPLES
        self._resin_field.tell(state.problem_at(f"{state.hopper_path}.resin"))
        self._climate_field.tell(state.problem_at("site.climate"))
        self._show_problems()
        for box in self._results:
            (box.add_class if state.stale else box.remove_class)("stale")
        if state.stale:
            return
        headline, *rest = sentences(comparison)
        best = comparison.ranked()[0].name if comparison.ranked() else ""
        headline = escape(headline).replace(escape(best), f"<b>{escape(best)}</b>", 1) if best else escape(headline)
        self._answer.value = f'<p class="answer" id="answer">{headline}</p><p>{escape(" ".join(rest))}</p>'
        note = " ".join(filter(None, (state.capital_note, state.calendar_note)))
        self._other.value = f'<p class="hint">{escape(note)}</p>' if note else ""
        self._table.value = tables.options(comparison, state.system)
        self._sizes.value = tables.sizes(comparison, state.system)
        ranked = ", ".join(o.name for o in comparison.ranked())
        self._cost.show(
            charts.annual_cost(comparison),
            "Running cost a year by what it is spent on. "
            + "; ".join(f"{o.name} {o.total_cost:,.0f} {comparison.case.currency}" for o in comparison.options),
        )
        self._cash.show(
            charts.cumulative_cash(comparison),
            f"Cumulative cash against the present machine, by year. Ranked: {ranked}.",
        )
        self._show_option()
        if state.costs is not None:
            self._show_curves()

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

    def _show_working(self, change: dict[str, Any]) -> None:
        """The old answer is greyed while a new one is worked out."""
        (self._right.add_class if change["new"] else self._right.remove_class)("working")

    def _show_problems(self) -> None:
        """Everything that is wrong, on top of the page by the label of its field; each stands beside it as well."""
        labels = {self.state.printed(f.path): f.label for f in self._quantities()}
        told = [(labels.get(p.key, p.key), p.message) for p in self.state.problems]
        self._problems.value = "".join(
            f'<p class="problem" role="status">{escape(message if not name or message.startswith(f"{name}: ") else f"{name}: {message}")}</p>'
            for name, message in told
        )

    def _quantities(self) -> list[Number]:
        return [*self._numbers.values(), *self._own_fields, *self._capital_fields]

    def _show_option(self) -> None:
        state, comparison = self.state, self.state.comparison
        option = comparison.option(state.chosen)
        served = option.served[state.hopper]
        self._checks.value = tables.checks(served.verdict.findings)
        self._plant.value = tables.checks(option.notes, tested=False)
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
            '<p class="hint">Two clocks: the time pellets stay, which practice recommends, and the time diffusion alone needs in warm '
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
        self._heat_words.value = (
            f'<p class="hint">In equals out to rounding. The physical minimum, resin warmed and its water evaporated, is '
            f"{100 * minimum:.0f} % of the energy this option buys.</p>"
        )


def app() -> None:
    """Show the view on the case that the launcher was given, or on the demo case."""
    show_page(View(State(os.environ.get(CASE_VARIABLE) or None, after_the_answer)).page)
