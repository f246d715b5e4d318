"""A swap of dryers billed on request: what was asked for, and the last result. No widget in here."""

from __future__ import annotations

import logging
from collections.abc import Callable
from dataclasses import dataclass

from dashboards.currency import other_currency
from energy.errors import EnergyError
from energy.study.case import Case
from energy.study.swap import Swap, on_other_tariffs, swap
from energy.tariffs import Tariff

_log = logging.getLogger(__name__)
BROKEN = "This could not be worked out: an error in the program."


@dataclass(slots=True)
class SwapState:
    """Of one visitor; `changed` is called whenever there is something new to show."""

    case: Case | None
    later: Callable[[Callable[[], None]], None]
    changed: Callable[[], None]
    option: str = ""
    preferred: str = ""
    """The option asked for, or the best that dries; chosen where none is."""
    waiting: bool = False
    made: Swap | None = None
    others: tuple[Swap | str, ...] = ()
    """The same swap on the case's own tariffs and the demo ones."""
    problem: str = ""

    def options(self) -> list[str]:
        """Options of the case that may take the place of its present dryers."""
        return [] if self.case is None else [o.name for o in self.case.model.options if not o.baseline]

    def take(self, case: Case | None, preferred: str) -> None:
        """Take another case; a result of the one before goes."""
        self.case, self.preferred = case, preferred
        self.forget()

    def choose(self, option: str) -> None:
        """Take an option; it is worked out when asked for."""
        if option != self.option:
            self.option = option
            self.forget()

    def forget(self) -> None:
        """Drop a result that is of another option or tariff."""
        self.waiting, self.made, self.others, self.problem = False, None, (), ""

    def ask(self, tariff: Tariff) -> None:
        """Work the swap out a little later, so that the page answers first."""
        if self.waiting or self.case is None:
            return
        self.forget()
        if refused := other_currency(tariff, self.case.currency):
            self.problem = refused
            self.changed()
            return
        self.waiting = True
        self.changed()
        self.later(lambda: self._work(tariff, self.option))

    def _work(self, tariff: Tariff, option: str) -> None:
        if not self.waiting or option != self.option or self.case is None:  # another was chosen meanwhile
            return
        self.waiting = False
        try:
            self.made = swap(self.case, option, tariff)
            self.others = on_other_tariffs(self.case, option)
        except EnergyError as error:
            self.problem = str(error)
        except Exception:  # the border to the visitor: told in words, the traceback goes to the log
            _log.exception("swap failed")
            self.problem = BROKEN
        self.changed()
