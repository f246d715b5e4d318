"""The simulation behind a view: started when the case is still, ended by the next change; no widget in here."""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Protocol

import traitlets

from dashboards.background import Ended, Send, Work
from dashboards.case_state import CaseState
from energy.study.case import Case
from energy.study.simulate import DRAWS, Sensitivity, Simulation, simulate

STAGES = (256, DRAWS)
"""Draws, coarse first; powers of two spread evenly. The last are those of the command line, so that both say the same."""
FINELY = 16 * DRAWS
"""Draws when they are asked for."""
PATIENCE = float(os.environ.get("DRYER_ENERGY_PATIENCE", "60"))
"""A finer stage that would take longer than this is left until it is asked for; 0 leaves the coarse one alone. [s]"""
STILL = 0.7
"""Time without a change after which a simulation starts. [s]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """How far the work is."""

    what: str
    share: float


class Cancellable(Protocol):
    def cancel(self) -> None: ...


Start = Callable[[Work, tuple[Any, ...], Callable[[Any], None]], Cancellable | None]
"""Starts work, as a `dashboards.background.Job` does."""


def in_stages(case: Case, stages: tuple[int, ...], patience: float, send: Send) -> None:
    """Simulate with more and more draws, then work out what the result hangs on.

    Parameters
    ----------
    case : Case
    stages : tuple of int
        Numbers of draws; the first is always run.
    patience : float
        A later stage that would take longer by what the one before took is left out. [s]
    send : callable
        Gets `Done`, and each `Simulation` and the `Sensitivity` as it is ready.
    """
    taken, before = 0.0, 0
    found: Simulation | None = None
    for draws in stages:
        if before and taken * draws / before > patience:
            break
        began = time.monotonic()
        what = f"{draws:,} draws"
        send(Done(what=what, share=0.0))
        found = simulate(case, draws, progress=lambda share, what=what: send(Done(what=what, share=share)))  # type: ignore[misc]
        send(found)
        taken, before = time.monotonic() - began, draws
    if found is not None and patience > 0.0:
        send(Done(what="What the result hangs on", share=0.0))
        send(found.sensitivity())


class SimulationState(traitlets.HasTraits):
    """The last simulation of a case, and the one under way."""

    revision = traitlets.Int(0)
    """Counts what was found: a simulation, its sensitivity, an end."""
    what = traitlets.Unicode()
    """What is being worked out; empty when nothing is."""
    share = traitlets.Float(0.0)
    """How much of it is done. [-]"""
    problem = traitlets.Unicode()
    """Why there is no simulation of the case as it is now."""
    stale = traitlets.Bool(False)
    """Does the simulation belong to an older state of the case?"""

    def __init__(
        self, state: CaseState, start: Start, later: Callable[[float, Callable[[], None]], object] | None = None
    ) -> None:
        """Follow a case, once somebody looks.

        Parameters
        ----------
        state : CaseState
        start : callable
            Does the work, here or in a process of its own.
        later : callable, optional
            Calls a function after a time [s]; called at once where it is left out.
        """
        super().__init__()
        self._state, self._start, self._later = state, start, later or (lambda _, work: work())
        self._job: Cancellable | None = None
        self._change = 0
        self.simulation: Simulation | None = None
        self.sensitivity: Sensitivity | None = None
        self._begun = False
        state.observe(lambda _: self._changed(), "revision")

    def begin(self) -> None:
        """Somebody looks: simulate from now on."""
        if not self._begun:
            self._begun = True
            self._changed()

    def _changed(self) -> None:
        """The case is another: end what runs, and start anew once it stays."""
        if not self._begun:
            return
        self.end()
        self.stale = self.simulation is not None
        if self._state.problems:
            self.problem = "Drawn again once the case is complete."
            return
        self.problem = ""
        self._change += 1
        change = self._change
        self._later(STILL, lambda: self.run() if change == self._change else None)

    def run(self, stages: tuple[int, ...] = STAGES, patience: float = PATIENCE) -> None:
        """Simulate the case as it was last compared."""
        self.end()
        self.what, self.share = "The simulation", 0.0
        case = self._state.case
        mine = self._change
        self._job = self._start(
            in_stages, (case, stages, patience), lambda message: self._take(message) if mine == self._change else None
        )

    def run_finely(self) -> None:
        """Simulate with the most draws, however long it takes."""
        self.run((FINELY,))

    @property
    def could_be_finer(self) -> bool:
        """Is nothing under way, and the simulation not the finest?"""
        found = self.simulation
        return not self.what and not self.stale and found is not None and found.draws < FINELY

    def end(self) -> None:
        """Give up what runs."""
        if self._job is not None:
            self._job.cancel()
            self._job = None
        self.what = ""

    def _take(self, message: Any) -> None:
        if isinstance(message, Done):
            self.what, self.share = message.what, message.share
            return
        if isinstance(message, Simulation):
            if self.stale:
                self.sensitivity = None  # of the case before
            self.simulation, self.stale = message, False
        elif isinstance(message, Sensitivity):
            self.sensitivity = message
        elif isinstance(message, Ended):
            self._job, self.what, self.problem = None, "", message.problem
        self.revision += 1
