"""One input on the page: label with unit, the control, a hint or what is wrong under it."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import lru_cache
from html import escape
from typing import Any

import ipywidgets as w

from dashboards.state import State
from energy.reports.tables import describe
from energy.tariffs import demo_tariffs, load_tariff


def card(*children: w.Widget) -> w.VBox:
    """A framed part of the page."""
    box = w.VBox(children)
    box.add_class("card")
    return box


def printed(unit: str) -> str:
    """A unit as people write it."""
    return re.sub(r"\b(m|ft)([23])", lambda m: m[1] + "²³"[int(m[2]) - 2], unit.replace("deg", "°"))


class Field:
    """A control bound to one path of the document."""

    def __init__(self, control: w.Widget, hint: str = "") -> None:
        self.control, self.hint = control, hint
        self._note = w.HTML()
        self.box = w.VBox([control, self._note])
        self.box.add_class("field")
        self.tell("")

    def tell(self, problem: str) -> None:
        """Show what is wrong, or the hint when nothing is."""
        self._note.value = (
            f'<p class="problem" role="alert">{escape(problem)}</p>'
            if problem
            else f'<p class="hint">{escape(self.hint)}</p>'
        )


class Number(Field):
    """A quantity: a bare number is read in the unit shown, any other accepted unit may be typed behind it."""

    def __init__(
        self,
        state: State,
        path: str | Callable[[], str],
        kind: str,
        label: str,
        value: Callable[[], float],
        hint: str = "",
        unit: str = "",
    ) -> None:
        self._unit = unit
        self._path = path
        self._state, self._kind, self.label, self._value = state, kind, label, value
        self._filling = False
        super().__init__(w.Text(continuous_update=False), hint)
        self.refresh()
        self.control.observe(self._typed, "value")

    @property
    def path(self) -> str:
        """Of the value in the document; that of the chosen hopper where it is one of a hopper's."""
        return self._path if isinstance(self._path, str) else self._path()

    def _typed(self, change: dict[str, Any]) -> None:
        if self._filling:
            return
        text = str(change["new"]).strip()
        self._state.set({self.path: self._state.with_unit(text, self._kind, self._unit)})

    def refresh(self) -> None:
        """Take over value, unit and problem from the state."""
        unit = printed(self._unit or self._state.unit(self._kind))
        self._filling = True
        self.control.description = f"{self.label} ({unit})" if unit else self.label
        self.control.value = self._state.text_at(self.path, self._kind, self._value(), self._unit)
        self._filling = False
        self.tell(self._state.problem_at(self.path))


class Price(Field):
    """A tariff by name, or one price."""

    ONE_PRICE = "one price"

    def __init__(self, state: State, commodity: str, label: str) -> None:
        self._state, self._path, self._filling = state, f"tariffs.{commodity}", False
        self._commodity = commodity
        self._choice = w.Dropdown(description=label)
        self._label = label
        self._price = w.Text(continuous_update=False, placeholder=f"0.12 {state.unit('price per energy')}")
        both = w.VBox([self._choice, self._price])
        super().__init__(both)
        self.refresh()
        self._choice.observe(self._chosen, "value")
        self._price.observe(self._typed, "value")

    def _chosen(self, change: dict[str, Any]) -> None:
        if self._filling or change["new"] is None:
            return
        if change["new"] == self.ONE_PRICE:
            self._price.layout.display = None
            self.hint = "Type a price and press Enter; until then the tariff before counts."
            self.tell("")
            return
        self._state.set({self._path: change["new"]})

    def _typed(self, change: dict[str, Any]) -> None:
        text = str(change["new"]).strip()
        if self._filling:
            return
        if not text:
            self.tell(f"Type a price, such as {self._price.placeholder}; until then the tariff before counts.")
            return
        self._state.set({self._path: self._state.with_unit(text, "price per energy")})

    def refresh(self) -> None:
        """Take over tariff, price and problem from the state."""
        given = self._state.document.get("tariffs", {}).get(self._path.split(".")[1])
        self._filling = True
        own = [given] if isinstance(given, str) and not _is_price(given) else []
        named = list(dict.fromkeys([*_tariffs(self._commodity, self._state.case.currency), *own]))
        self._choice.options = [*named, self.ONE_PRICE]
        if isinstance(given, str) and _is_price(given):
            self._choice.value, self._price.value = self.ONE_PRICE, given
        elif given in named:
            self._choice.value, self._price.value = given, ""
        else:
            self._choice.value = None
        self._price.description = f"{self._label}, one price ({self._state.unit('price per energy')})"
        self._price.layout.display = None if self._choice.value == self.ONE_PRICE else "none"
        self._filling = False
        self.hint = self._describe(given)
        self.tell(self._state.problem_at(self._path))

    def _describe(self, given: Any) -> str:
        """What the chosen tariff charges."""
        tariff = self._state.case.tariffs.get(self._path.split(".")[1])
        if tariff is None or not isinstance(given, str) or _is_price(given) or self._state.problem_at(self._path):
            return ""
        return describe(tariff) + ("; invented" if tariff.invented else "")


@lru_cache(maxsize=16)
def _tariffs(commodity: str, currency: str) -> tuple[str, ...]:
    """Names of the demo tariffs for a commodity in a currency."""
    tariffs = {name: load_tariff(name) for name in demo_tariffs()}
    return tuple(name for name, t in tariffs.items() if (t.commodity, t.currency) == (commodity, currency))


def _is_price(text: str) -> bool:
    return text[:1].isdigit() or text[:1] in "+-."
