"""Another currency for a case. Nothing is converted: every amount keeps its number and is marked as still to be put in. No widget in here."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

import numpy as np

from dashboards.case_state import CaseState
from energy.errors import CaseError, EnergyError, Problem
from energy.reports.rows import joined
from energy.study.case import Case
from energy.study.references import COMMODITIES, is_price
from energy.tariffs import Tariff, bill
from energy.tariffs.known_load import constant_load
from energy.units import to_unit
from energy.units.currencies import code_of

MARK = "still to be put in"
"""How the note of an amount begins, and the name of a tariff ends, that has the number of another currency."""
_APART = ("case", "tariffs", "own_tariffs", "request", "readings")
"""Sections in which no amount stands, or that are treated by themselves."""


def other_currency(tariff: Tariff, currency: str) -> str:
    """What to do about a tariff in another currency than that of the case; empty where it is the same."""
    if tariff.currency == currency:
        return ""
    return (
        f"'{tariff.name}' is in {tariff.currency}, the case in {currency}, and nothing is converted. First change Currency on Compare, under "
        f"“Own tariff, more on prices”, to {tariff.currency}: every amount is then to be put in anew. Or download the case, write "
        f'currency = "{tariff.currency}" under [case] and every price, cost and capital in {tariff.currency}, and open it again.'
    )


def change_currency(state: CaseState, typed: str) -> None:
    """Let the case count in another currency and tell what is to be put in anew.

    Raises
    ------
    EnergyError
        No currency, or a case that cannot be changed as it is; nothing is changed then.
    """
    code = code_of(typed) or typed.strip().upper()
    if not re.fullmatch("[A-Z]{3}", code):
        raise EnergyError(f"'{typed}' is not a currency; write its three capital letters, such as USD or EUR")
    if state.problems:
        raise EnergyError(f"The case cannot be computed as it is now: {state.problems[0].message}")
    if code == state.case.currency:
        return
    before = state.document
    state.put(in_currency(state.case, code))
    if state.problems:
        found = state.problems
        state.undo()
        raise CaseError([Problem("", problem.message) for problem in found])
    state.notice = (
        f"The case counts in {code} now. Nothing was converted: every amount has the number it had in {before['case']['currency']}, and each "
        f"tariff is one price, the number of its mean. {still(state.document)} Words that name amounts, as in a request, stay. Undo takes it back."
    )


def in_currency(case: Case, code: str) -> dict[str, Any]:
    """The document of a case with another code behind every amount, each marked; its tariffs are one price each."""
    old, document = case.currency, case.document
    after = {key: value if key in _APART else _marked(value, old, code) for key, value in document.items()}
    after["case"] = {**document["case"], "currency": code}
    names = {c: f"{c.capitalize()}, {MARK}" for c in COMMODITIES if c in case.tariffs}
    rows = [row for row in document.get("own_tariffs", ()) if row.get("name") not in names.values()]
    after["own_tariffs"] = [*rows, *(_one_price(case, c, name, code) for c, name in names.items())]
    after["tariffs"] = {k: v for k, v in document["tariffs"].items() if k != "electricity_demand"} | names
    if "scenarios" in document:
        after["scenarios"] = [_scenario(row, old, code) for row in document["scenarios"]]
    return after


def still(document: Mapping[str, Any]) -> str:
    """What is still to be put in after a change of currency, in a sentence; empty where nothing is."""
    amounts = _count(document)
    given = [c for c in COMMODITIES if str(document.get("tariffs", {}).get(c, "")).endswith(MARK)]
    parts = [f"{amounts} amount{'s' if amounts > 1 else ''}"] if amounts else []
    if given:
        parts.append(f"the price of {joined(given)}")
    if not parts:
        return ""
    code = document.get("case", {}).get("currency", "")
    return f"{MARK.capitalize()}, in {code}: {joined(parts)}. Until then no sum of money here is right."


def _marked(value: Any, old: str, code: str, key: str = "") -> Any:
    """A part of a document with its amounts rewritten and marked."""
    if isinstance(value, list):
        return [_marked(each, old, code, key) for each in value]
    if isinstance(value, Mapping):
        ends = {end: new for end in ("value", "low", "high") if (new := _recoded(value.get(end), old, code))}
        if "value" in ends:
            return {**value, **ends, "basis": "assumption", "note": _note(str(value.get("note", "")), old)}
        return {k: _marked(each, old, code, k) for k, each in value.items()}
    new = None if key in ("name", "item", "note") else _recoded(value, old, code)
    return value if new is None else {"value": new, "basis": "assumption", "note": _note("", old)}


def _note(before: str, old: str) -> str:
    if before.startswith(MARK):
        return before
    return f"{MARK}: the number stood in {old}{f'; {before}' if before else ''}"[:200]


def _recoded(text: Any, old: str, code: str) -> str | None:
    """An amount or price with another code behind its number; None where it is no amount in the old currency."""
    found = (
        re.fullmatch(rf"\s*([-+−]?[\d.][^A-Za-z/]*(?:[eE][-+]?\d+)?)\s*{old}\s*(/.*)?", text)
        if isinstance(text, str)
        else None
    )
    return None if found is None else f"{found[1].strip()} {code}{found[2] or ''}"


def _scenario(row: Mapping[str, Any], old: str, code: str) -> dict[str, Any]:
    """A scenario with its amounts rewritten; its name tells where there is one."""
    changes = row.get("changes", {})
    after = {
        k: _recoded(v, old, code) or v if k.startswith("tariffs.") else _marked(v, old, code)
        for k, v in changes.items()
    }
    name = str(row.get("name", ""))
    if after != changes and not name.endswith(MARK):
        name = f"{name[: 98 - len(MARK)]}, {MARK}"
    return {**row, "name": name, "changes": after}


def _one_price(case: Case, commodity: str, name: str, code: str) -> dict[str, Any]:
    """A tariff of one price: that of the case with another code, or the number of its tariff's mean price at a steady load."""
    tariff, given = case.tariffs[commodity], str(getattr(case.model.tariffs, commodity))
    demand = case.model.tariffs.electricity_demand if commodity == "electricity" else None
    price = _recoded(given, case.currency, code) if is_price(given) and demand is None else None
    told = f"{MARK}: a number in {case.currency}, of {tariff.name}"[:200]
    charge = {"type": "energy-flat", "id": "energy", "label": name, "clause": MARK, "source": told}
    if commodity == "water":
        charge |= {"type": "volume-flat", "id": "water"}
    price = price or f"{_mean(case, tariff)} {code}/{'m3' if commodity == 'water' else 'kWh'}"
    head = {"name": name, "commodity": commodity, "currency": code, "source": told}
    return {**head, "charges": [{**charge, "price": price}]}


def _mean(case: Case, tariff: Tariff) -> str:
    """Mean price of a year of 100 kW, or of 1 m3/h. [per kWh or m3]"""
    factor = case.model.tariffs.power_factor
    others: dict[str, Any] = {} if factor is None else {"power_factor": np.full(12, float(factor))}
    if tariff.commodity == "water":
        load = constant_load(tariff, 1.0 / 3600.0, case.model.case.year)
        bought = float(np.sum(load.volume))
    else:
        load = constant_load(tariff, 1e5, case.model.case.year, **(others if tariff.commodity == "electricity" else {}))
        bought = float(to_unit(float(np.sum(load.energy)), "energy", "kWh"))
    return f"{float(bill(tariff, load, 'steady').total) / bought:.4g}"


def _count(value: Any) -> int:
    """How many amounts are marked."""
    if isinstance(value, Mapping):
        return (
            1 if str(value.get("note", "")).startswith(MARK) and "value" in value else sum(map(_count, value.values()))
        )
    return sum(map(_count, value)) if isinstance(value, list) else 0
