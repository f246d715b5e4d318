"""The card of the Bill view that swaps dryers: before, after and saving line by line, and the payback tariff by tariff."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import isfinite

import ipywidgets as w

from dashboards.bill_tables import money, notes, problem, table
from dashboards.fields import Field, card
from dashboards.markup import escape
from dashboards.swap_state import SwapState
from energy.reports.paid_back import paid_back
from energy.reports.print_signs import pretty
from energy.reports.swap import sentences, why
from energy.study.compare import OptionResult
from energy.study.swap import Swap
from energy.units.currencies import least


class SwapCard:
    """Binds widgets to a state; computes nothing."""

    def __init__(self, state: SwapState, ask: Callable[[], None]) -> None:
        self.state = state
        self._option = w.Dropdown(description="Swap the present dryers to")
        self._filling = False
        self.button = w.Button(description="Work out the swap", layout={"align_self": "flex-start"})
        self._said, self._lines, self._others = w.HTML(), w.HTML(), w.HTML()
        self._said.add_class("live")
        self.box = card(
            w.HTML("<h2>What a swap of dryers saves on this tariff, line by line</h2>"),
            Field(self._option).box,
            Field(self.button).box,
            self._said,
            self._lines,
            self._others,
        )
        self._option.observe(self._choose, "value")
        self.button.on_click(lambda _: ask())
        self.refresh()

    def _choose(self, change: dict[str, str]) -> None:
        if not self._filling:
            self.state.choose(str(change["new"] or ""))
            self.refresh()

    def _fill(self) -> None:
        """The options of the case as it is now; the one chosen stays where there still is one of that name."""
        listed = self.state.options()
        if self._option.options != tuple(listed):
            self._filling = True
            self._option.options = listed
            known = [name for name in (self.state.option, self.state.preferred, *listed) if name in listed]
            self._option.value = next(iter(known), None)
            self._filling = False
        self.state.choose(str(self._option.value or ""))

    def refresh(self) -> None:
        """Show what was asked for."""
        state = self.state
        self._fill()
        made = state.made
        self.button.disabled = state.waiting or not state.options()
        self._lines.value = self._others.value = ""
        if state.waiting:
            self._said.value = '<p class="hint" role="status">Working out …</p>'
        elif state.problem:
            self._said.value = problem(state.problem)
        elif not state.options():
            self._said.value = '<p class="hint">The case cannot be read or has no other option.</p>'
        elif made is None:
            self._said.value = (
                "<p class='hint'>The case's plant and dryers on the tariff chosen above: the bill before and after, and why each "
                "line falls.</p>"
            )
        else:
            self._said.value = "".join(f"<p>{escape(text)}</p>" for text in sentences(made))
            self._lines.value = lines(made)
            self._others.value = others(state.others, made)


def lines(made: Swap) -> str:
    """The bill before and after by line, and why it falls."""
    saving = made.saving
    if saving is None:
        return ""
    unit = saving.currency

    def cells(before: float, first: float, steady: float) -> str:
        first_cell = f"<td>{money(first, unit)}</td>" if delayed else ""
        return f"<td>{money(before, unit)}</td><td>{money(before - steady, unit)}</td>{first_cell}<td>{money(steady, unit)}</td>"

    delayed = abs(float(saving.first_year) - float(saving.steady)) > 0.5 * least(unit)
    body = "".join(
        f'<tr><th scope="row">{escape(line.line)}</th>'
        f"{cells(float(line.before), float(line.first_year), float(line.steady))}"
        f"<td class='text prose' style='min-width: 17em'>{escape(why(line, saving.currency))}<div class='hint'>{escape(line.clause)}</div></td></tr>"
        for line in saving.lines
    )
    total = cells(float(saving.before), float(saving.first_year), float(saving.steady))
    foot = f'<tr><th scope="row">Total</th>{total}<td class="text"></td></tr>'
    later = ["Saving<br>first year", "Saving<br>later years"] if delayed else ["Saving"]
    head = [("Line", ""), *((name, "") for name in ("Before", "After", *later)), ("Why, and the clause", "text")]
    title = f"<h3>A year's bill in {escape(saving.currency)}, {escape(made.tariff.name)}</h3>"
    return title + table("The swap by line", head, body, foot, identity="swap")


def others(found: Sequence[Swap | str], made: Swap) -> str:
    """Saving and payback of the same swap on the case's own tariffs and each demo tariff."""
    swaps = [made, *(s for s in found if isinstance(s, Swap) and s.tariff.name != made.tariff.name)]
    rows = []
    for one in swaps:
        if one.saving is None:
            continue
        error = float(one.saving.average_error)
        off = "–" if not isfinite(error) else pretty(f"{100 * error:+.0f} %")
        off = "wrong way" if bool(one.saving.average_wrong_way) else off
        rows.append(
            f'<tr><th scope="row">{escape(one.tariff.name)}</th><td>{money(one.saving.first_year, one.saving.currency)}</td>'
            f"<td>{money(one.saving.steady, one.saving.currency)}</td><td>{off}</td>{_paybacks(one.option)}</tr>"
        )
    if not rows:
        return ""
    head = (
        ("Tariff", ""),
        ("Saving<br>first year", ""),
        ("Saving<br>later years", ""),
        ("Average price<br>is off by", ""),
        ("Payback<br>years", ""),
        ("on running<br>cost alone", ""),
    )
    told = [
        "Payback counts every bill, upkeep and the overhauls spared, with the case's other tariffs; the last column leaves the "
        "overhauls out.",
        *(text for text in found if isinstance(text, str)),
    ]
    return "<h3>The same swap on other tariffs</h3>" + table("The swap by tariff", head, "".join(rows)) + notes(told)


def _paybacks(option: OptionResult) -> str:
    measures = option.measures
    names = ("payback", "payback_on_savings") if measures else ()
    return "".join(f"<td>{paid_back(measures, name)}</td>" for name in names)
