"""What of a case is still that of the example it was begun from, although the plant is another."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from typing import Any

from energy import dryers
from energy.reports.rows import joined
from energy.reports.sizes_kept import to_confirm
from energy.study.case import EXAMPLES, example_text, read_document
from energy.study.form import entries

_OF_OPTION = {"replacements": "overhauls and replacements", "maintenance": "maintenance", "capital": "capital"}
_OF_QUOTES = {
    "quote_date": "the date of the quotes",
    "estimate_class": "the class of the estimate",
    "contingency": "the contingency",
}
_TEXTS = ("why_now", "risks", "non_energy", "schedule", "downtime", "incentive_status", "title")


def left_over(document: Mapping[str, Any]) -> list[str]:
    """What to replace by one's own before anything is signed, in words; nothing of an example as it stands.

    Parameters
    ----------
    document : mapping
        The case as written.

    Returns
    -------
    list of str
        Empty where the hoppers are those of an example, or nothing is the same.
    """
    found: list[str] = []
    for example in _examples():
        if document.get("hoppers") == example.get("hoppers"):
            return []
        found += [told for told in _same(document, example) if told not in found]
    return [*found, *_inputs(document)]


def warning(document: Mapping[str, Any]) -> str:
    """The same in sentences, with sizes of the present dryers that nobody has confirmed; empty where there is nothing to say."""
    found = left_over(document)
    of_example = (
        f"Still of the example, not of this plant: {'; '.join(found)}. Replace them before anything is signed."
        if found
        else ""
    )
    return " ".join(filter(None, (of_example, to_confirm(document))))


@cache
def _examples() -> tuple[Mapping[str, Any], ...]:
    return tuple(read_document(example_text(name), name) for name in EXAMPLES)


def _same(document: Mapping[str, Any], example: Mapping[str, Any]) -> Iterator[str]:
    if document.get("plant_load") and document.get("plant_load") == example.get("plant_load"):
        yield "the plant's electricity"
    note = _section(document, "case").get("note")
    if note and note == _section(example, "case").get("note"):
        yield "the note of the case"
    theirs = {option["name"]: option for option in example.get("options", [])}
    for key, words in _OF_OPTION.items():
        named = [
            str(option["name"])
            for option in document.get("options", [])
            if isinstance(option, Mapping)
            and option.get(key)
            and option[key] == theirs.get(str(option.get("name")), {}).get(key)
            and (key != "maintenance" or _no_chance(option, theirs[str(option["name"])]))
        ]
        if named:
            yield f"{words} of {', '.join(named)}"
    texts = [
        key
        for key in _TEXTS
        if (said := _section(document, "request").get(key)) and said == _section(example, "request").get(key)
    ]
    for key, words in _OF_QUOTES.items():
        if (said := _section(document, "request").get(key)) and said == _section(example, "request").get(key):
            yield words
    if texts:
        yield f"the request's texts ({', '.join(key.replace('_', ' ') for key in texts)})"


def _inputs(document: Mapping[str, Any]) -> Iterator[str]:
    """Inputs of each option that say of another plant what they rest on."""
    known = [entry for example in _examples() for option in example.get("options", []) for entry in _evidence(option)]
    for option in document.get("options", []):
        if isinstance(option, Mapping) and (copied := _copied(_evidence(option), known)):
            labels = _labels(str(option.get("type")))
            named = joined([labels.get(key, key.replace("_", " ")) for key in copied])
            yield f"what inputs of {option.get('name')} rest on ({named}: measured, nameplate or note)"


def _no_chance(option: Mapping[str, Any], theirs: Mapping[str, Any]) -> bool:
    """Is an equal maintenance a copy? One amount by itself may be so by chance; with its note, or beside equal sums, it is not."""
    noted = isinstance(option["maintenance"], Mapping) and option["maintenance"].get("note")
    return bool(noted) or any(option.get(key) and option[key] == theirs.get(key) for key in ("replacements", "capital"))


def _copied(told: Sequence[tuple[str, Any]], known: Sequence[tuple[str, Any]]) -> list[str]:
    """Inputs that are still the example's; none where that may be chance.

    A value of a nameplate is an ordinary one. A note that stands there with the same value, or two notes, nobody writes by chance.
    """
    whole = [(key, value) for key, value in told if (key, value) in known]
    notes = {(key, value["note"]) for key, value in known if value.get("note")}
    same = [key for key, value in told if (key, value.get("note")) in notes]
    if len(same) < 2 and not any(value.get("note") for _, value in whole):
        return []
    return list(dict.fromkeys([*(key for key, _ in whole), *same]))


def _labels(kind: str) -> dict[str, str]:
    """Label of every input of a type of dryer, as within a sentence."""
    if kind not in dryers.TYPES:
        return {}
    return {key: entry.label[:1].lower() + entry.label[1:] for key, entry in entries(dryers.TYPES[kind].Inputs).items()}


def _evidence(option: Mapping[str, Any]) -> list[tuple[str, Any]]:
    """Inputs of an option's dryers that say with a note what they rest on."""
    machines = [m for m in option.get("machines", []) if isinstance(m, Mapping)]
    tables = [part.get("inputs") for part in (option, *machines)]
    return [
        (key, value)
        for table in tables
        if isinstance(table, Mapping)
        for key, value in table.items()
        if isinstance(value, Mapping) and (value.get("note") or value.get("basis") in ("measured", "nameplate", "read"))
    ]


def _section(document: Mapping[str, Any], name: str) -> Mapping[str, Any]:
    section = document.get(name)
    return section if isinstance(section, Mapping) else {}
