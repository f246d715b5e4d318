"""What the Capital request view shows: the request as it will be signed, made section by section. No widget in here."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import PurePath
from typing import Any, Literal

import traitlets

from dashboards.background import Ended, Send
from dashboards.simulation_state import Cancellable, SimulationState, Start
from dashboards.state import State
from energy.errors import CaseError, EnergyError
from energy.study import written_for
from energy.study.compare import Comparison
from energy.study.simulate import Simulation

Paper = Literal["a4", "letter"]


class RequestState(State):
    """A case and its texts, some of which may tell of another option; the curves of another view are not worked out."""

    def _compared(self) -> None:
        pass

    @property
    def asked_for(self) -> str:
        """The option that the request asks for, as last compared."""
        return written_for.asked_for(self.comparison)

    def of_another(self) -> dict[str, str]:
        """Texts written while another option was asked for: path and that option."""
        found = written_for.of_another(self.document, self.asked_for)
        return {f"request.{key}": option for key, option in found.items()}

    def confirm(self, path: str) -> None:
        """Somebody has read the text again: it holds for the option asked for now as well."""
        if path in self.of_another():
            self.set(written_for.read_again(self.document, path.removeprefix("request."), self.asked_for))


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """One section as markup, at its place from 1; the first with the head of the document before it."""

    place: int
    markup: str
    title: str = ""


def sections(comparison: Comparison, simulation: Simulation | None, short: bool, send: Send) -> None:
    """Hand over each section of the request as soon as it is made."""
    from energy.reports.document import model, web
    from energy.reports.document.proposal import proposal

    try:
        p = proposal(comparison)
    except CaseError as error:  # on a page the option has a field, not a key
        raise EnergyError(" ".join(problem.message for problem in error.problems)) from error
    head = web.head_markup(model.title_of(p), model.facts_of(p), "p")  # the page has its own first heading
    for place, section in enumerate(model.sections(p, simulation, short=short), start=1):
        markup = web.section_markup(section, place)
        send(Page(place=place, markup=head + markup if place == 1 else markup, title=section.title))


def file(
    comparison: Comparison, simulation: Simulation | None, ending: str, short: bool, paper: Paper, send: Send
) -> None:
    """Hand over the bytes of the request in one of its forms."""
    from energy.reports.document import rendered

    send(rendered(comparison, ending, simulation=simulation, short=short, paper=paper))


class DocumentState(traitlets.HasTraits):
    """The request of a case on screen, made anew after each change and when its chances are known."""

    revision = traitlets.Int(0)
    """Counts the sections that came, and ends."""
    working = traitlets.Bool(False)
    problem = traitlets.Unicode()
    """Why there is no request of the case as it is."""
    short = traitlets.Bool(False)
    """Two pages instead of all."""
    paper = traitlets.Enum(("a4", "letter"), default_value="a4")

    def __init__(self, state: State, simulation: SimulationState, start: Start) -> None:
        super().__init__()
        self._state, self._simulation, self._start = state, simulation, start
        self._job: Cancellable | None = None
        self._run = 0
        self.pages: dict[int, str] = {}
        """Markup by place; those of before stay until the new ones are there."""
        self.titles: dict[int, str] = {}
        self.fresh = 0
        """How many of them are of the case as it is."""
        self._with: tuple[Comparison, Simulation | None, bool] | None = None
        self._begun = False
        state.observe(lambda _: self.make(), "revision")
        simulation.observe(lambda _: self._chances_known(), "what")
        self.observe(lambda _: self.make(), "short")

    def begin(self) -> None:
        """Somebody looks: write the request from now on."""
        if not self._begun:
            self._begun = True
            self.make()

    def make(self) -> None:
        """Make the request of the case as last compared, with its chances where they are known."""
        if not self._begun:
            return
        self.end()
        if self._state.problems:
            self.problem = "Written again once the case is complete."
            self.fresh = 0
            self.revision += 1
            return
        self.problem, self.working, self.fresh = "", True, 0
        self._run += 1
        mine = self._run
        self._with = (self._state.comparison, self.simulation, self.short)
        self._job = self._start(
            sections, self._with, lambda message: self._take(message) if mine == self._run else None
        )

    @property
    def simulation(self) -> Simulation | None:
        """Of the case as it is; None while it is not drawn."""
        return None if self._simulation.stale else self._simulation.simulation

    @property
    def waits(self) -> str:
        """Why there is no file yet: its chances may still come, and a file without them would say otherwise; else empty."""
        simulation = self._simulation
        if self.problem:
            return "There is no request to hand over."
        if self._state.problems or simulation.problem or (self.simulation is not None and not simulation.what):
            return ""
        return "The files wait for the chances, so that all of them tell the same."

    def _chances_known(self) -> None:
        """Nothing is drawn any more: tell the chances in the request too."""
        found = self.simulation
        if not self._simulation.what and found is not None and self._with is not None and self._with[1] is not found:
            self.make()

    def end(self) -> None:
        """Give up what is being made."""
        if self._job is not None:
            self._job.cancel()
            self._job = None
        self.working = False

    def _take(self, message: Any) -> None:
        if isinstance(message, Page):
            self.pages[message.place] = message.markup
            self.titles[message.place] = message.title
            self.fresh = message.place
        elif isinstance(message, Ended):
            self._job, self.working, self.problem = None, False, message.problem
            if not message.problem:
                self.pages = {place: markup for place, markup in self.pages.items() if place <= self.fresh}
        self.revision += 1

    def file(self, ending: str, done: Callable[[bytes], None], refused: Callable[[str], None]) -> None:
        """Make the request as a file; one of the two is called when it is there or cannot be."""

        def take(message: Any) -> None:
            if isinstance(message, bytes):
                done(message)
            elif isinstance(message, Ended) and message.problem:
                refused(message.problem)

        if self.waits:
            refused(self.waits)
            return
        given = (self._state.comparison, self.simulation, ending, self.short, self.paper)
        self._start(file, given, take)

    def name(self, ending: str) -> str:
        """File name proposed: that of the case."""
        return f"{PurePath(self._state.file).stem}-request{ending}"
