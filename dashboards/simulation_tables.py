"""Tables and words of a simulation as HTML; every text from a case is escaped."""

from __future__ import annotations

import html
from collections.abc import Iterable

from dashboards.markup import escape
from dashboards.tables import signed
from energy.reports.paid_back import in_years
from energy.reports.print_signs import pretty
from energy.reports.scenario_words import told
from energy.reports.simulation import (
    accuracy_in_words,
    doubt_of_drying,
    place_in_words,
    seldom_best,
    shown_value,
    stated_among,
    telling,
    turns_in,
    worth_of_readings,
)
from energy.study.distributions import WORDS
from energy.study.simulate import OptionChances, Percentiles, Sensitivity, Simulation

_PERCENTILES = '<th scope="col">P10</th><th scope="col">P50</th><th scope="col">P90</th>'
_NO_THREE = '<td colspan="3">–</td>'


def progress(said: str, share: float) -> str:
    """What is being worked out and how much of it is done, with no number before any of it is; shares from 0 to 1."""
    if share <= 0.0:
        return f'<label>{escape(said)} <progress max="100"></progress></label>'
    percent = round(100 * share)
    return f'<label>{escape(said)} <progress max="100" value="{percent}"></progress></label> {percent} %'


def chances(simulation: Simulation) -> str:
    """Every option over the draws: how far it spreads and how likely it is to be worth it."""
    money = escape(simulation.case.currency)
    longest = simulation.case.model.finance.maximum_payback
    one, three = 'scope="col" rowspan="2"', 'scope="colgroup" colspan="3"'
    accepted = "" if longest is None else f"<th {one}>Paid back<br>in time</th>"
    order = [o.name for o in simulation.comparison.in_order()]
    options = sorted(simulation.options, key=lambda o: order.index(o.name))
    held_out = {o.name for o in simulation.comparison.options if o.held_out}
    rows = "".join(_row(option, longest is not None, option.name in held_out) for option in options)
    stated = escape(stated_among(simulation))
    return (
        '<div class="scroll" tabindex="0" role="region" aria-label="Options over the simulated cases"><table class="t">'
        f"<thead><tr><th {one}>Option</th><th {one}>Dries</th><th {three}>Saving a year,<br>thousand {money}</th>"
        f"<th {three}>Net savings,<br>thousand {money}</th><th {three}>Payback,<br>years</th>{accepted}"
        f"<th {one}>Worth<br>it</th><th {one}>Cheapest<br>that dries</th></tr>"
        f"<tr>{_PERCENTILES * 3}</tr></thead>"
        f"<tbody>{rows}</tbody></table></div>"
        '<p class="hint">Shares are of 100 simulated cases; one case in ten is below P10, half below P50, nine in ten '
        "below P90. Dries: by the diffusion data or as practice does. Worth it: net savings above 0. "
        "In time: within the longest payback accepted. No mean payback is "
        f"given: cases that never pay back have none. –: no money is said of what is not expected to dry.{' ' + stated if stated else ''}</p>"
    )


def _row(option: OptionChances, accepted: bool, held_out: bool) -> str:
    head = f'<tr><th scope="row">{escape(option.name)}</th><td>{_hundred(option.dries_share)}</td>'
    if option.baseline:
        rest = "<td>–</td>" * (2 if accepted else 1)
        return f'{head}<td colspan="3">present</td>{_NO_THREE * 2}{rest}<td>{_hundred(option.cheapest)}</td></tr>'
    if not held_out:
        return f"{head}{_NO_THREE * 3}{'<td>–</td>' * (3 if accepted else 2)}</tr>"
    payback = _cells(in_years(x) for x in _three(option.payback))
    in_time = f"<td>{_hundred(option.payback_accepted or 0.0)}</td>" if accepted else ""
    return (
        f"{head}{_money(option.saving)}{_money(option.net_savings)}{payback}{in_time}"
        f"<td>{_hundred(option.npv_positive)}</td><td>{_hundred(option.cheapest)}</td></tr>"
    )


def _three(found: Percentiles) -> tuple[float | None, float | None, float | None]:
    return found.p10, found.p50, found.p90


def _money(found: Percentiles) -> str:
    return _cells("–" if x is None else _thousands(x) for x in _three(found))


def _cells(texts: Iterable[str]) -> str:
    return "".join(f"<td>{text}</td>" for text in texts)


def _thousands(amount: float) -> str:
    return pretty(f"{amount / 1e3:,.1f}")


def _hundred(share: float) -> str:
    hundred = round(100.0 * share)
    return "&lt; 1" if share and not hundred else "&gt; 99" if share < 1.0 and hundred == 100 else str(hundred)


def readings(simulation: Simulation) -> str:
    """What to measure next, by its worth."""
    money, of = escape(simulation.case.currency), simulation.case.model
    found = telling(simulation)
    doubt = doubt_of_drying(simulation)
    trial = f'<p id="drying-trial">{escape(doubt)}</p>' if doubt else ""
    if not found:
        return f'{trial}<p class="hint">No reading would change the decision or narrow the result.</p>'
    rows = "".join(
        f'<tr><th scope="row">{escape(r.label)}<br><span class="hint" title="{html.escape(r.input)}">{escape(place_in_words(r.input, of))}</span></th>'
        f'<td class="text prose">{escape(r.how)}</td><td>{escape(accuracy_in_words(r))}</td><td>{signed(r.worth)}</td>'
        f"<td>{100 * r.spread_cut:.1f} %</td></tr>"
        for r in found
    )
    idle = "".join(
        f"<p>{escape(said)}</p>" for said in (seldom_best(simulation), worth_of_readings(simulation)) if said
    )
    return (
        f'{trial}{idle}<div class="scroll" tabindex="0" role="region" aria-label="What to measure next"><table class="t" id="readings">'
        '<thead><tr><th scope="col">Input</th><th scope="col" class="text">How</th><th scope="col">To</th>'
        f'<th scope="col">Worth<br>{money}</th><th scope="col">Spread<br>falls by</th></tr></thead><tbody>{rows}</tbody></table></div>'
        '<p class="hint">Worth: what a decision taken after the reading gains on average over one taken now. Spread: standard deviation of the net '
        f"savings of {escape(simulation.recommended)}. Accuracy holds 95 of 100 times. Give the input a range and the basis measured once it is read, "
        "and the list is drawn again.</p>"
    )


def hangs_on(simulation: Simulation, sensitivity: Sensitivity) -> str:
    """Where the recommendation turns, and the named scenarios."""
    by_name = {entry.name: entry for entry in simulation.inputs}
    best, of = escape(simulation.choice), simulation.case.model
    turns = "".join(
        f'<tr><th scope="row">{escape(t.label)}<br><span class="hint" title="{html.escape(t.input)}">{escape(turns_in(t, of))}</span></th>'
        f"<td>{escape(shown_value(simulation, t.now, by_name[t.input]))}</td>"
        f"<td>{escape(shown_value(simulation, t.value, by_name[t.input]))}</td>"
        f'<td class="text">{escape(t.instead) or "none dries"}</td></tr>'
        for t in sensitivity.break_evens
    )
    shown = (
        '<div class="scroll" tabindex="0" role="region" aria-label="Where the choice turns"><table class="t">'
        '<thead><tr><th scope="col">One input alone</th><th scope="col">Now</th><th scope="col">Turns at</th>'
        f'<th scope="col" class="text">Then best</th></tr></thead><tbody>{turns}</tbody></table></div>'
        if turns
        else f'<p class="hint">No single input, within its range, makes another option better than {best}.</p>'
    )
    said = "".join(
        f"<li><b>{escape(name)}</b>: {escape(told(simulation.case, found, page=True))}</li>"
        for name, found in sensitivity.scenarios.items()
    )
    return f"<h3>Where another option becomes the best that dries</h3>{shown}" + (
        f"<h3>Scenarios of the case</h3><ul>{said}</ul>" if said else ""
    )


def drawn(simulation: Simulation) -> str:
    """How the cases were drawn: number, seed, inputs with their ranges and shapes."""
    own = [e for e in simulation.inputs if not e.name.startswith(("typical ", "resin "))]
    rows = "".join(
        f'<tr><th scope="row">{escape(e.name)}</th>'
        + "".join(
            f"<td>{escape(shown_value(simulation, x, e))}</td>"
            for x in (e.distribution.low, e.distribution.value, e.distribution.high)
        )
        + f'<td class="text">{escape(e.basis)}</td><td class="text">{escape(WORDS[e.distribution.shape])}</td></tr>'
        for e in own
    )
    held = (
        f"<p class='hint'>Taken at their value in spite of a range: {escape(', '.join(simulation.held))}.</p>"
        if simulation.held
        else ""
    )
    return (
        f"<details><summary>{simulation.draws:,} draws of {len(simulation.inputs)} uncertain inputs, seed {simulation.seed}: what was drawn</summary>"
        '<div class="scroll" tabindex="0" role="region" aria-label="Uncertain inputs"><table class="t"><thead><tr><th scope="col">Input of the case</th>'
        '<th scope="col">Low</th><th scope="col">Value</th><th scope="col">High</th><th scope="col" class="text">Basis</th>'
        f'<th scope="col" class="text">Drawn as</th></tr></thead><tbody>{rows}</tbody></table></div>'
        f'<p class="hint">And {len(simulation.inputs) - len(own)} typical values of dryers and resins with their stored ranges. All options see the '
        f"same draws.</p>{held}</details>"
    )
