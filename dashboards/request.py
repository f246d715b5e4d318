"""The Capital request view: what is asked and why, and the request as it will be signed."""

from __future__ import annotations

import os
from collections.abc import Mapping
from typing import Any

import ipywidgets as w
import traitlets

from dashboards import afterwards, lists, simulation_tables, tables
from dashboards.assumption import Assumption
from dashboards.background import Job
from dashboards.case_bar import CaseBar
from dashboards.currency import still
from dashboards.download import Download
from dashboards.fields import Field, Number, card
from dashboards.heartbeat import Heartbeat
from dashboards.input_names import in_words, told
from dashboards.later import after
from dashboards.launch import CASE_VARIABLE
from dashboards.markup import escape
from dashboards.page import show as show_page
from dashboards.request_state import DocumentState, RequestState
from dashboards.simulation_state import SimulationState
from dashboards.words import Choice, Day, Lines, OldText, Steps, Whole, Words, without_label
from energy.errors import Problem
from energy.reports.answer import of_option, sentences
from energy.reports.document import PAPER, web
from energy.reports.document.words import BELOW_ZERO
from energy.reports.left_over import warning
from energy.study.simulate import dries_in
from energy.study.written_for import TEXTS

FORMS = (
    (".pdf", "application/pdf", "Download the PDF"),
    (".xlsx", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", "Download the workbook"),
    (".html", "text/html", "Download the web page"),
)


class View:
    """Binds widgets to a state; computes nothing."""

    def __init__(self, state: RequestState) -> None:
        self.state = state
        self.simulation = SimulationState(state, Job, after)
        self.document = DocumentState(state, self.simulation, Job)
        self._head, self._answer, self._problems, self._progress = w.HTML(), w.HTML(), w.HTML(), w.HTML()
        self._waits, self._old, self._contents, self._check = w.HTML(), w.HTML(), w.HTML(), w.HTML()
        for part in (self._problems, self._progress, self._waits, self._old):
            part.add_class("live")
        self._units = w.ToggleButtons(options=[("SI", "si"), ("US", "us")], description="Units", value=state.system)
        self._length = w.ToggleButtons(options=[("all pages", False), ("two pages", True)], description="Length")
        self._paper = w.ToggleButtons(options=[("A4", "a4"), ("Letter", "letter")], description="Paper")
        self._fields = self._make_fields()
        self._capital_fields: list[Number] = []
        self._capital_sums: dict[str, w.HTML] = {}
        self._old_texts = self._make_old_texts()
        self._capital, self._capital_of = w.VBox(), [(0, "", [""])]
        self._capital.add_class("fields")
        self.assumption = Assumption(state)
        self.downloads = [self._download(*form) for form in FORMS]
        self._sections: list[w.HTML] = []
        self._paper_box = w.VBox()
        self._paper_box.add_class("paper")
        self._bar = CaseBar(state)
        self.page = self._layout()
        self._watch()
        self.refresh()
        self._show_document()

    # --- parts

    def _make_fields(self) -> dict[str, list[Any]]:
        state = self.state

        def model() -> Any:
            return state.case.model

        def finance(key: str, kind: str, label: str, unit: str = "") -> Number:
            def value() -> float:
                given = getattr(model().finance, key)
                return float("nan") if given is None else float(given)

            return Number(state, f"finance.{key}", kind, label, value, unit=unit)

        def options() -> list[tuple[str, str]]:
            names = [o.name for o in model().options if not o.baseline]
            return [("the best that dries", ""), *((name, name) for name in names)]

        texts = "request.verification."
        self._rate = finance("rate", "rate", "Discount rate")
        return {
            "What is asked": [
                Choice(state, "request.recommended", "Option asked for", options),
                Words(state, "case.name", "Name of the site and case", "Stands as the site in the request."),
                Words(state, "case.note", "Note on the case", "Stands in the request, with the baseline.", long=True),
                Words(state, "request.title", "Title"),
                Words(state, "request.prepared_by", "Prepared by"),
                Words(state, "request.department", "Department"),
                Day(state, "request.date", "Date", "Such as 2026-02-16."),
            ],
            "Money": [
                self._rate,
                Whole(state, "finance.years", "Years of the study"),
                finance("maximum_payback", "time", "Longest payback accepted", "year"),
                finance("escalation_electricity", "rate", "Electricity rises by a year"),
                finance("escalation_gas", "rate", "Gas rises by a year"),
                finance("escalation_other", "rate", "Maintenance, cooling and water rise by a year"),
                Number(
                    state,
                    "request.contingency",
                    "share",
                    "Contingency over the capital",
                    lambda: float(model().request.contingency),
                ),
                Words(state, "request.estimate_class", "Class of the estimate", "Such as: budget quotes, about ±15 %"),
                Day(state, "request.quote_date", "Date of the quotes", "Such as 2026-01-28."),
            ],
            "In words": [
                Words(state, "request.why_now", "Why now", long=True),
                Words(state, "request.scope", "Scope", "Left empty, the request says it in its own words.", long=True),
                Words(state, "request.boundary", "Boundary", long=True),
                Lines(state, "request.risks", "Risks"),
                Lines(state, "request.non_energy", "Effects other than energy", "One per line; never counted."),
                Words(state, "request.incentive_status", "Incentives: status", long=True),
                Steps(state, "request.schedule", "Schedule"),
                Words(state, "request.downtime", "Downtime", long=True),
                Lines(state, "request.approvals", "Who signs", "One role per line."),
            ],
            "Check afterwards": [
                *(
                    Words(
                        state,
                        f"{texts}{key}",
                        label,
                        "Left empty, the plan says it in its own words." if i == 0 else "",
                    )
                    for i, (key, label) in enumerate(
                        (
                            ("meters", "Meters"),
                            ("baseline_period", "Baseline period"),
                            ("variables", "Variables that matter"),
                            ("accuracy", "Accuracy expected"),
                            ("success", "Counts as a success"),
                            ("responsible", "Responsible"),
                            ("review", "Review"),
                        )
                    )
                ),
                afterwards.MeteredPeriods(state),
            ],
        }

    def _make_old_texts(self) -> dict[str, OldText]:
        """Under each text that speaks of an option, room to say that it was written for another."""
        found = {}
        for field in self._inputs():
            if field.path.removeprefix("request.") in TEXTS:
                found[field.path] = OldText(field.label, lambda path=field.path: self.state.confirm(path))  # type: ignore[misc]
                field.box.children = (*field.box.children, found[field.path].box)
        return found

    def _build_capital(self) -> None:
        """Fields for the capital of each option, a field for each line of a quote; made anew when there are others."""
        rows = [
            (place, str(row.get("name")), _quote(row))
            for place, row in enumerate(lists.rows(self.state.document, "options"), start=1)
            if row.get("baseline") is not True
        ]
        if not self.state.problems and rows != self._capital_of:
            self._capital_of, self._capital_fields, self._capital_sums = rows, [], {}
            boxes: list[w.Widget] = []
            for place, name, quote in rows:
                path = f"options[{place}].capital"
                if quote:
                    self._capital_sums[name] = w.HTML()
                    boxes.append(self._capital_sums[name])
                lines = [(f"{path}[{i}].amount", f"{name}: {said}") for i, said in enumerate(quote, start=1)]
                made = [self._capital_field(*line, name) for line in lines or [(path, name)]]
                self._capital_fields += made
                boxes += [field.box for field in made]
            self._capital.children = boxes
        money, options = self.state.case.currency, {o.name: o for o in self.state.comparison.options}
        for name, box in self._capital_sums.items():
            if name in options:
                box.value = f'<p class="sum">{escape(name)}: {options[name].capital:,.0f} {escape(money)} in all</p>'

    def _capital_field(self, path: str, label: str, name: str) -> Number:
        def counted() -> float:
            option = next((o for o in self.state.comparison.options if o.name == name), None)
            return float("nan") if option is None else option.capital

        return Number(self.state, path, "money", label, counted)

    def _download(self, ending: str, mime: str, label: str) -> Download:
        def make() -> None:
            self.document.file(ending, made.hand_over, made.refuse)

        made = Download(make, lambda: self.document.name(ending), mime, label=label)
        return made

    def _layout(self) -> w.Box:
        groups: list[w.Widget] = []
        for title, fields in self._fields.items():
            groups += [w.HTML(f"<h2>{title}</h2>"), *(field.box for field in fields)]
            if title == "Money":
                groups += [w.HTML("<h3>Capital of each option</h3>"), self._capital]
        panel = card(
            self._head,
            Field(self._units).box,
            *groups,
            w.HTML("<h2>One assumption</h2>"),
            self.assumption.box,
        )
        panel.add_class("panel")
        buttons = w.HBox(self.downloads)
        buttons.add_class("buttons")
        forms = w.HBox([Field(self._length).box, Field(self._paper).box])
        forms.add_class("buttons")
        heartbeat = Heartbeat()
        heartbeat.observe(lambda _: self._begin(), "present")
        top = card(
            self._problems,
            self._old,
            self._answer,
            self._check,
            self._progress,
            buttons,
            self._waits,
            forms,
            self._bar.box,
            self._contents,
        )
        results = w.VBox([top, self._paper_box, w.HTML(tables.cautions()), heartbeat])
        results.add_class("results")
        page = w.Box([panel, results])
        page.add_class("app")
        return page

    def _begin(self) -> None:
        self.simulation.begin()
        self.document.begin()

    def _watch(self) -> None:
        state = self.state
        traitlets.dlink((self._units, "value"), (state, "system"))
        traitlets.dlink((self._length, "value"), (self.document, "short"))
        self._paper.value = PAPER[state.system]
        traitlets.dlink((self._paper, "value"), (self.document, "paper"))
        state.observe(self._paper_of_units, "system")
        state.observe(lambda _: self.refresh(), ("revision", "system"))
        self.document.observe(lambda _: self._show_document(), ("revision", "working", "problem"))
        self.simulation.observe(lambda _: self._show_progress(), ("what", "share", "problem", "stale", "revision"))

    def _paper_of_units(self, change: dict[str, Any]) -> None:
        """Other units bring the paper that goes with them, unless another was chosen."""
        if self._paper.value == PAPER[change["old"]]:
            self._paper.value = PAPER[change["new"]]

    # --- showing

    def refresh(self) -> None:
        """Show the state: inputs, problems, answer."""
        state = self.state
        self._units.value = state.system
        self._head.value = f"<h2>{escape(state.case.name)}</h2>"
        self._build_capital()
        self.assumption.refresh()
        self._rate.hint = BELOW_ZERO if state.case.model.finance.rate < 0.0 else ""
        for field in self._inputs():
            field.refresh()
        wrong = list(dict.fromkeys(self._in_words(p) for p in state.problems))
        self._problems.value = "".join(
            f'<p class="problem" role="status">{escape(f"{name}: {message}" if name else message)}</p>'
            for name, message in wrong
        )
        self._show_old_texts()
        headline, ranked = sentences(state.comparison)[0], state.comparison.ranked()
        self._answer.value = f'<p class="answer" id="answer">{escape(headline)}</p>'
        asked = next((o for o in state.comparison.options if o.name == state.asked_for), None)
        if asked is not None and not asked.option.baseline and asked not in ranked[:1]:
            told = of_option(state.comparison, asked)
            self._answer.value = (
                f'<p class="answer" id="answer">Asked for is {escape(told)}</p><p>{escape(headline)}</p>'
            )
        self._check.value = afterwards.result(state.comparison)
        self._show_progress()

    def _in_words(self, problem: Problem) -> tuple[str, str]:
        """The name of a field and what is wrong there; of what has no field here, its place in the case."""
        for field in self._inputs():
            path = self.state.printed(field.path)
            if problem.key == path or problem.key.startswith((f"{path}.", f"{path}[")):
                message = field.problem() if isinstance(field, Words) else problem.message
                return field.label, without_label(message, field.label)
        name = in_words(problem.key)
        return name, told(name, problem.message).removeprefix(f"{name}: ")

    def _stale_for(self) -> str:
        """Why there is nothing to download while something in the case is wrong; empty where nothing is."""
        names = list(dict.fromkeys(name for name, _ in map(self._in_words, self.state.problems)))
        if not names:
            return ""
        what = f": {', '.join(names)}" if all(names) else ""
        return f"There is nothing to download until this is put right{what}."

    def _show_old_texts(self) -> None:
        """Texts that tell of another option than the one asked for, beside them and together."""
        of_another = self.state.of_another()
        for path, beside in self._old_texts.items():
            beside.show(of_another.get(path, ""))
        labels = {field.path: field.label for field in self._inputs()}
        said = [
            f"Written for {option}: {', '.join(labels[path] for path, o in of_another.items() if o == option)}."
            for option in dict.fromkeys(of_another.values())
        ]
        told = f"{' '.join(said)} Asked for now is {self.state.asked_for}: read them again." if said else ""
        self._old.value = "".join(
            f'<p class="problem" role="status">{escape(text)}</p>'
            for text in (told, warning(self.state.document), still(self.state.document))
            if text
        )

    def _inputs(self) -> list[Any]:
        return [*(field for group in self._fields.values() for field in group), *self._capital_fields]

    def _show_document(self) -> None:
        """Sections as far as they are made; those of before are greyed."""
        made = self.document
        while len(self._sections) < len(made.pages):
            self._sections.append(w.HTML())
        for place, (box, markup) in enumerate(zip(self._sections, made.pages.values(), strict=False), start=1):
            if box.value != markup:
                box.value = markup
            (box.add_class if place > made.fresh else box.remove_class)("of-before")
        if len(self._paper_box.children) != len(made.pages):
            self._paper_box.children = self._sections[: len(made.pages)]
        self._contents.value = web.contents_markup([made.titles[place] for place in made.pages]) if made.pages else ""
        self._paper_box.layout.display = None if made.pages else "none"  # no white sheet before there is a word on it
        self._show_progress()

    def _show_progress(self) -> None:
        found, simulation = self.document.simulation, self.simulation
        said = ""
        name = "" if found is None else self.state.case.model.request.recommended or found.recommended
        if found is not None and any(option.name == name for option in found.options):
            told = found.chance(name)
            if not found.comparison.option(name).held_out:  # no money is said of it
                told = f"{name} {dries_in(found.option(name))}."
            said = f'<p id="chance">{escape(told)} {found.draws:,} were drawn.</p>'
        if self.document.problem:
            said += f'<p class="problem" role="alert">{escape(self.document.problem)}</p>'
        elif self.document.working:
            what = "Writing the request" if found is None else "Writing the request again, with its chances"
            made = f"{self.document.fresh} section{'' if self.document.fresh == 1 else 's'}"
            said += f'<p class="hint">{what}: {made} so far.</p>'
        elif simulation.what:
            what = f"Working out its chances ({simulation.what[:1].lower()}{simulation.what[1:]})"
            done = simulation_tables.progress(what, simulation.share)
            said += f'<p class="hint">{done}; the request is written again with them.</p>'
        elif simulation.problem:
            said += f'<p class="problem" role="alert">{escape(simulation.problem)}</p>'
        self._progress.value = said
        waits = self._stale_for() or self.document.waits
        self._waits.value = f'<p class="hint" role="status">{escape(waits)}</p>' if waits else ""
        for download in self.downloads:
            download.disabled = self.state.stale or bool(waits)


def _quote(row: lists.Row) -> list[str]:
    """The lines of an option's capital in words; empty where it is one sum."""
    listed = row.get("capital")
    lines = [line for line in listed if isinstance(line, Mapping)] if isinstance(listed, list) else []
    counts = [line.get("count", 1) for line in lines]
    return [
        f"{line.get('item', 'Capital')}{'' if n == 1 else f', {n} × each'}"
        for line, n in zip(lines, counts, strict=True)
    ]


def app() -> None:
    """Show the view on the case that the launcher was given, or on the demo case."""
    show_page(View(RequestState(os.environ.get(CASE_VARIABLE) or None)).page)
