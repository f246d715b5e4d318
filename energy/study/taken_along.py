"""A case that goes to another place: the tariffs that it names as files go along inside it."""

from __future__ import annotations

from collections.abc import Mapping
from os.path import exists
from pathlib import Path
from typing import Any

from energy.errors import EnergyError
from energy.study.case import Case
from energy.study.paths import copied
from energy.study.references import COMMODITIES, files_named, is_tariff_file
from energy.study.schema import MOST_OWN_TARIFFS
from energy.tariffs import demo_tariffs, read_tariff_document, tariff_from


def taken_along(case: Case) -> tuple[dict[str, Any], list[str], list[str]]:
    """A case's document with its tariff files in it as `[[own_tariffs]]`.

    Returns
    -------
    dict
        The document.
    list of str
        Names of the files that went into it.
    list of str
        Names of those that it still needs beside it: readings, weather, more tariffs than a case holds.

    Raises
    ------
    EnergyError
        A tariff file that cannot be read any more, or says something else than when the case was compared.
    """
    document: dict[str, Any] = copied(case.document)
    inside: list[dict[str, Any]] = list(document.get("own_tariffs", ()))
    took: dict[str, str] = {}
    for table, key, commodity in _named_by(document):
        file = table[key]
        if not is_tariff_file(document, file) or (file not in took and len(inside) >= MOST_OWN_TARIFFS):
            continue
        if file not in took:
            beside = None if case.folder is None else case.folder / file
            path = beside if beside is not None and exists(beside) else Path(file)
            written = read_tariff_document(path)
            if table is document["tariffs"] and tariff_from(written, file=file) != case.tariffs[commodity]:
                raise EnergyError(f"{file} has changed since the case was compared with it; open the case again.")
            took[file] = _name_of(written, inside)
            inside.append({**written, "name": took[file]})
        table[key] = took[file]
    if took:
        document["own_tariffs"] = inside
    return document, list(took), list(dict.fromkeys(files_named(document).values()))


def _named_by(document: Mapping[str, Any]) -> list[tuple[dict[str, Any], str, str]]:
    """Where a document says which tariff counts: table, key and commodity; scenarios as well."""
    changes = [scenario["changes"] for scenario in document.get("scenarios", ())]
    places = [(document["tariffs"], commodity, commodity) for commodity in COMMODITIES]
    places += [(table, f"tariffs.{commodity}", commodity) for table in changes for commodity in COMMODITIES]
    return [(table, key, commodity) for table, key, commodity in places if isinstance(table.get(key), str)]


def _name_of(written: Mapping[str, Any], inside: list[dict[str, Any]]) -> str:
    """The name of a tariff in the case, which no other tariff there and no demo tariff has."""
    name, taken = str(written["name"]), {*demo_tariffs(), *(str(entry.get("name")) for entry in inside)}
    return name if name not in taken else next(n for i in range(2, 99) if (n := f"{name} {i}") not in taken)
