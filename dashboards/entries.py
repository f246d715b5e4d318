"""Fields of a form made from the schema: label, unit, allowed range and typical value are read there and nowhere written again."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from typing import Any

from pydantic import BaseModel

from dashboards.currency import MARK
from dashboards.form import Part
from dashboards.state import State
from energy.reports.print_signs import pretty
from energy.sources import Sourced
from energy.study.form import Entry, entries
from energy.study.paths import written
from energy.units import Quantity

Stored = Mapping[str, Sourced]
_SIGNS = {"whole numbers": ",", "numbers": ",", "texts": ";"}
"""What stands between the entries of a list as it is typed."""
_NUMBER = re.compile(r"[+-]?\d{1,9}")
_SPAN = re.compile(r"(\d{1,2})\s*(?:-|–|to)\s*(\d{1,2})")
"""Whole numbers from one to another, such as weeks."""


def field(
    state: State,
    path: str,
    entry: Entry,
    *,
    compared: Any = None,
    stored: Stored | None = None,
    act: Callable[[str], None] | None = None,
    hint: str = "",
    label: str = "",
) -> Part:
    """One field.

    Parameters
    ----------
    state : State
    path : str
        Of the value in the document, entries of lists by their number.
    entry : Entry
        As the schema has it.
    compared : BaseModel, optional
        The section as last compared: what is left out is shown as it was counted.
    stored : mapping, optional
        Typical values with their sources, by key.
    act : callable, optional
        Takes what is entered, where that is more than one value of the document.
    hint, label : str
        Said instead of what follows from the schema.
    """
    raw = written(state.document, path)
    counted = getattr(compared, entry.key, None)
    typical = (stored or {}).get(entry.key)
    if counted is None and typical is not None:
        counted = typical.si
    part: Part = {
        "id": path,
        "kind": "field",
        "as": "text",
        "label": label or entry.label,
        "problem": state.problem_at(path),
        "left": raw is None,
    }
    if entry.quantity is not None:
        return _quantity(state, path, entry, entry.quantity, part, raw, counted, typical, act, hint)
    part["hint"] = hint or (_left_out(entry, counted, typical) if raw is None else "")
    if entry.entry == "choice":
        shown = [(word, word) for word in entry.choices]
        if not entry.needed and counted is None and not entry.default:
            shown = [("not said", ""), *shown]
        value = raw if raw is not None else counted if counted is not None else entry.default
        part |= {"as": "choice", "options": shown, "value": str(value)}
    elif entry.entry == "several":
        chosen = [str(v) for v in raw] if isinstance(raw, list) else []
        part |= {"kind": "several", "options": [(w.capitalize(), w) for w in entry.choices], "value": chosen}
    elif entry.entry == "truth":
        part |= {"as": "truth", "value": "yes" if (raw if raw is not None else counted) is True else "no"}
    elif entry.entry in _SIGNS:
        sign = _SIGNS[entry.entry]
        part["value"] = f"{sign} ".join(str(v) for v in raw) if isinstance(raw, list) else str(raw or "")
        like = {"numbers": ", such as 60 %, 40 %", "whole numbers": ", such as 31, 32, or 31-33"}.get(entry.entry, "")
        part["hint"] = hint or f"Several with {'commas' if sign == ',' else 'semicolons'} between them{like}."
    else:
        value = raw if raw is not None else counted if counted is not None else entry.default
        part |= {"value": str(value), "numeric": entry.entry == "whole number"}
    part["acts"] = {"value": act or (lambda text: state.set({path: _read(entry, text)}))}
    return part


def _quantity(
    state: State,
    path: str,
    entry: Entry,
    quantity: Quantity,
    part: Part,
    raw: Any,
    counted: Any,
    typical: Sourced | None,
    act: Callable[[str], None] | None,
    hint: str,
) -> Part:
    """A number with its unit, and behind it what it rests on."""
    kind, unit = quantity.kind, state.unit_of(quantity)
    fallback = float(counted) if isinstance(counted, float | int) and not isinstance(counted, bool) else None
    table = raw if isinstance(raw, Mapping) else {}
    low, high = (state.text_of(table.get(end), kind, None, unit) for end in ("low", "high"))
    basis, note = str(table.get("basis", "")), str(table.get("note", ""))
    name, sign = part["label"], pretty(unit)
    span = f"{low} to {high}" if low and high else ""
    allowed = entry.allowed(unit, str(state.case.currency))
    words = [f"Allowed: {pretty(allowed)}." if allowed else ""]
    if typical is not None:
        value = state.text_of(None, kind, typical.si, unit)
        ends = [state.text_of(None, kind, end, unit) for end in (typical.si_low, typical.si_high) if end is not None]
        reach = f" ({' to '.join(ends)})" if ends else ""
        words.append(f"Typical: {value}{reach} {sign}".strip() + f"; {typical.basis}: {source(typical)}")

    def take(what: str) -> Callable[[str], None]:
        return lambda text: state.enter(path, quantity, what, text, fallback)

    acts = {key: take(key) for key in ("value", "low", "high", "basis", "note")}
    return part | {
        "label": f"{name} ({sign})" if sign else name,
        "numeric": True,
        "value": state.text_of(raw, kind, fallback, unit),
        "hint": hint
        or (
            f"{note[:1].upper()}{note[1:]}. Where it is right as it is, empty this note."
            if note.startswith(MARK)
            else ""
        )
        or _gone(state, path, raw)
        or ("" if raw is not None or typical is not None else _left_out(entry, counted, typical)),
        "more": {
            "of": name,
            "summary": ", ".join(filter(None, (span, basis)))
            or ("range and source" if typical is None or raw is not None else f"typical, {typical.basis}"),
            "words": " ".join(filter(None, words)),
            "sign": sign,
            "low": low,
            "high": high,
            "basis": basis,
            "note": note,
        },
        "acts": acts if act is None else {**acts, "value": act},
    }


def _gone(state: State, path: str, raw: Any) -> str:
    """What a value that was typed over had beside it."""
    gone = state.gone_with.get(path)
    return (
        f"With the value before went: {gone.had}. Type it again or take Undo to have them back, or say below what this one rests on."
        if gone is not None and raw == gone.typed
        else ""
    )


def _left_out(entry: Entry, counted: Any, typical: Sourced | None) -> str:
    """What stands for a value that the case does not give."""
    if typical is not None:
        return f"Typical ({typical.basis})."
    if entry.needed or entry.entry == "choice":
        return ""
    return "Left out." if counted is None else "Default."


def source(stored: Sourced) -> str:
    """Where a stored value comes from, as `dryer-energy check` prints it."""
    return stored.note or stored.citation()


def fields(
    state: State,
    path: str,
    model: type[BaseModel],
    *,
    compared: Any = None,
    stored: Stored | None = None,
    only: Iterable[str] | None = None,
    but: Iterable[str] = (),
) -> list[Part]:
    """Fields for the keys of a section, all of them unless some are named, in the order of the schema."""
    unwanted, found = tuple(but), entries(model)
    return [
        field(state, f"{path}.{key}", found[key], compared=compared, stored=stored)
        for key in (found if only is None else only)
        if key not in unwanted
    ]


def _read(entry: Entry, text: str) -> Any:
    """What was entered as a value of the document; None where nothing was."""
    if entry.entry == "truth":
        return text == "yes"
    if entry.entry == "several":
        return [word for word in entry.choices if word in text.split()]
    if entry.entry in _SIGNS:
        typed = [t for t in text.split(_SIGNS[entry.entry]) if t.strip()]
        if entry.entry == "whole numbers":
            return list(dict.fromkeys(number for t in typed for number in _span(t))) or None
        return [_share(t) if entry.entry == "numbers" else _whole(t) for t in typed] or None
    if not text:
        return None
    return _whole(text) if entry.entry == "whole number" else text


def _whole(text: str) -> Any:
    """A whole number, or the text as it is for the check of the case to refuse."""
    text = text.strip()
    return int(text) if _NUMBER.fullmatch(text) else text


def _span(text: str) -> list[Any]:
    """The whole numbers of a span such as 31-33, else the one that is typed."""
    ends = _SPAN.fullmatch(text.strip())
    first, last = (int(ends[1]), int(ends[2])) if ends else (1, 0)
    return [*range(first, last + 1)] if first <= last else [_whole(text)]


def _share(text: str) -> Any:
    """A number, or one in per cent, or the text as it is."""
    number, percent, rest = text.strip().partition("%")
    try:
        return text.strip() if rest else round(float(number) / (100.0 if percent else 1.0), 12)
    except ValueError:
        return text.strip()
