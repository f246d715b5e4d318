"""A case written over the text that it came from, so that comments, order and layout of the user's file stay."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping, MutableMapping, MutableSequence
from typing import Any

import tomli_w
import tomlkit
from tomlkit import items

NAMES = ("name", "hopper", "item", "month")
"""Keys by which an entry of a list is known again."""
WIDE = 100
"""Characters of a list from which its entries stand on lines of their own."""


def written_over(text: str, document: Mapping[str, Any]) -> str:
    """A document as TOML, with the comments and the order of a text that said nearly the same.

    Where that would not read back as the document, or there is no text, it is written plainly.
    """
    return (text and _kept(text, document)) or tomli_w.dumps(dict(document))


def _kept(text: str, document: Mapping[str, Any]) -> str:
    """The text with what differs put right; empty where that fails."""
    try:
        parsed = tomlkit.parse(text)
        _update(parsed, document, top=True)
        kept = tomlkit.dumps(parsed)
        return kept if tomllib.loads(kept) == document else ""
    except Exception:  # whatever the library cannot do, the case is still written
        return ""


def _update(table: MutableMapping[str, Any], document: Mapping[str, Any], *, top: bool = False) -> None:
    """Make a parsed table say what a document says, touching nothing that says it already."""
    inline = isinstance(table, items.InlineTable)
    for key in [key for key in table if key not in document]:
        _remove(table, key)
    for key, value in document.items():
        old = table.get(key)
        if old is not None and _same(old, value):
            continue
        if isinstance(old, MutableMapping) and isinstance(value, Mapping):
            _update(old, value)
        elif isinstance(old, MutableSequence) and _entries(old) and _entries(value):
            _update_entries(old, value)
        else:
            table[key] = _item(value, inline=inline, top=top)


def _update_entries(listed: MutableSequence[Any], entries: list[Any]) -> None:
    """The same for a list of tables: an entry keeps its text by its name, or by its place where one is renamed."""
    inline = not isinstance(listed, items.AoT)
    old, new = [_mark(entry) for entry in listed], [_mark(entry) for entry in entries]
    renamed = len(old) == len(new) and sum(a != b for a, b in zip(old, new, strict=True)) <= 1
    if not renamed:
        for i in reversed(range(len(listed))):
            if _mark(listed[i]) not in new:
                _drop(listed, i)
    for i, entry in enumerate(entries):
        if i < len(listed) and (renamed or _mark(listed[i]) == new[i]):
            _update(listed[i], entry)
        else:
            _insert(listed, i, _item(entry, inline=inline, top=not inline))
    while len(listed) > len(entries):
        _drop(listed, len(listed) - 1)


# A comment over a heading belongs to what follows, but is parsed as the end of what stands before it.


def _remove(table: MutableMapping[str, Any], key: str) -> None:
    """Take a key out; what stood over the next heading stays."""
    gone, body = table[key], getattr(table, "body", None) or getattr(getattr(table, "value", None), "body", [])
    before = [item for _, item in body[: next((i for i, (_, item) in enumerate(body) if item is gone), 0)]]
    tail = _tail(gone)
    del table[key]
    if tail and before and _end(before[-1]) is not None:
        _tail(before[-1])
        _add(before[-1], tail)


def _drop(listed: MutableSequence[Any], i: int) -> None:
    """Take an entry out; what stood over the next heading stays, what stood over its own goes."""
    tail = _tail(listed[i])
    del listed[i]
    if i and tail:
        _tail(listed[i - 1])
        _add(listed[i - 1], tail)


def _insert(listed: MutableSequence[Any], i: int, entry: Any) -> None:
    """Put an entry in; what stands over the next heading stays over that."""
    tail = _tail(listed[i - 1]) if i else []
    listed.insert(i, entry)
    if _end(listed[i]) is not None:
        listed[i].trivia.indent = "\n"
        _add(listed[i], tail)


def _end(item: Any) -> Any:
    """The table that the text of an item ends in; None where it is no table with a heading."""
    while isinstance(item, items.AoT | items.Table):
        if isinstance(item, items.AoT):
            item = item[-1]
            continue
        body = item.value.body
        if not body or not isinstance(body[-1][1], items.AoT | items.Table):
            return item
        item = body[-1][1]
    return None


def _tail(item: Any) -> list[Any]:
    """Take the comments and empty lines at the end of an item off it."""
    end: Any = _end(item)
    tail: list[Any] = []
    while end is not None and end.value.body:
        if not isinstance(end.value.body[-1][1], items.Comment | items.Whitespace):
            break
        tail.insert(0, end.value.body.pop()[1])
    return tail


def _add(item: Any, tail: list[Any]) -> None:
    end = _end(item)
    for line in tail:
        end.add(line)


def _item(value: Any, *, inline: bool, top: bool = False) -> Any:
    """A new value: tables and their lists as such at the top and where they hold tables themselves, else in one line."""
    if isinstance(value, Mapping):
        within = inline or not (top or any(isinstance(v, Mapping | list) for v in value.values()))
        table: Any = tomlkit.inline_table() if within else tomlkit.table()
        for key, one in _values_first(value):
            table.add(key, _item(one, inline=within))
        return table
    if _entries(value) and not inline and (top or any(_deep(entry) for entry in value)):
        tables = tomlkit.aot()
        for entry in value:
            tables.append(_item(entry, inline=False, top=True))
        return tables
    if isinstance(value, list):
        listed = tomlkit.array()
        for one in value:
            listed.append(_item(one, inline=True))
        return listed.multiline(len(listed.as_string()) > WIDE and not inline)
    return tomlkit.item(value)


def _values_first(table: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    """What a table holds, with the tables inside it last: TOML has a table's own values before them."""
    yield from sorted(table.items(), key=lambda pair: isinstance(pair[1], Mapping) or _entries(pair[1]))


def _entries(value: Any) -> bool:
    """Is it a list of tables?"""
    return isinstance(value, MutableSequence) and len(value) > 0 and all(isinstance(v, Mapping) for v in value)


def _deep(entry: Mapping[str, Any]) -> bool:
    return any(_entries(v) or (isinstance(v, Mapping) and _deep(v)) for v in entry.values())


def _mark(entry: Mapping[str, Any]) -> str:
    return next((f"{key} {entry[key]}" for key in NAMES if key in entry), "")


def _same(old: Any, value: Any) -> bool:
    """Does a parsed value say the same, in the same type?"""
    plain = old.unwrap() if hasattr(old, "unwrap") else old
    return repr(plain) == repr(value)
