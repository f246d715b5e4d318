"""Files of a visitor that become part of the case: a tariff, the readings of a meter, the weather. No widget in here."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from dashboards import lists
from dashboards.case_state import CaseState
from dashboards.uploaded import from_file
from energy.errors import CaseError, EnergyError, Problem
from energy.study.references import readings_table, weather_months
from energy.tariffs import Tariff, demo_tariffs, read_rate_document, read_tariff_document, tariff_from
from energy.tariffs.known_load import NO_CLOCK
from energy.tariffs.readers import MonthlyTable, Series
from energy.units import to_unit


def tariff_file(name: str, data: bytes) -> tuple[dict[str, Any], Tariff, tuple[str, ...]]:
    """What a tariff file (.toml) or a rate record (.json) holds, its tariff, and what of a record was not taken over.

    Raises
    ------
    EnergyError
        It cannot be used.
    """

    def read(path: Path) -> tuple[dict[str, Any], tuple[str, ...]]:
        return read_rate_document(path) if path.suffix.lower() == ".json" else (read_tariff_document(path), ())

    if not name.lower().endswith((".toml", ".json")):
        raise EnergyError("is neither a tariff file (.toml) nor a rate record (.json)")
    document, ignored = from_file(name, data, read)
    return document, tariff_from(document), ignored


def with_weather(name: str, data: bytes) -> dict[str, Any]:
    """Changes that make the months of a weather file (EPW, TMY3) the air around the plant; the hall's follows from it.

    Raises
    ------
    EnergyError
        A file that cannot be used.
    """
    place, _, rows = from_file(name, data, weather_months)
    rests = {"basis": "read", "note": f"{place}, {name}"[:200]}
    months = [
        {"month": row["month"]}
        | {key: {"value": _text(row[key], "temperature", "degC", 4), **rests} for key in row if key != "month"}
        for row in rows
    ]
    return {"site.climate": None, "site.months": months, "site.hall_temperature": None, "site.hall_dew_point": None}


def with_tariff(document: Mapping[str, Any], tariff: Tariff, written: Mapping[str, Any] | str) -> dict[str, Any]:
    """Changes that make a tariff the case's own for its commodity; one of the same name before it goes.

    Parameters
    ----------
    document : mapping
        Of the case.
    tariff : Tariff
    written : mapping or str
        What its file holds; or the name by which a case knows it.
    """
    if isinstance(written, str):
        return priced_by(tariff.commodity, written)
    others = [row for row in lists.rows(document, "own_tariffs") if row.get("name") != tariff.name]
    return {"own_tariffs": [*others, dict(written)], **priced_by(tariff.commodity, tariff.name)}


def priced_by(commodity: str, name: str | None) -> dict[str, Any]:
    """Changes that put a tariff in the place of a price; a demand charge beside the price goes with it."""
    beside = {"tariffs.electricity_demand": None} if commodity == "electricity" else {}
    return {f"tariffs.{commodity}": name, **beside}


def with_readings(found: MonthlyTable | Series, tariff: Tariff, file: str) -> dict[str, Any]:
    """Changes that make the readings of a meter the load of the case's plant.

    Parameters
    ----------
    found : MonthlyTable or Series
    tariff : Tariff
        Its clock is that of readings that name none; where it has none either, stamps in UTC are counted by UTC.
    file : str
        Name of the file they come from.

    Raises
    ------
    EnergyError
        Readings that a case cannot hold.
    """
    if isinstance(found, MonthlyTable):
        rows = [
            {
                "month": m + 1,
                "energy": _text(found.energy[m], "energy", "kWh"),
                "peak": _text(found.peak[m], "power", "kW"),
            }
            for m in range(12)
        ]
        return {"plant_load": {"months": rows}}
    zone = clock_of(found, tariff) or ("UTC" if found.in_utc else None)
    if zone is None:
        raise CaseError([Problem("", NO_CLOCK)])
    table = readings_table(found) | {"source": file}
    return {"plant_load": {"readings": table, "zone": zone}}


def clock_of(found: Series, tariff: Tariff) -> str | None:
    """Time zone that readings name, else that of the tariff; None where neither says."""
    return found.zone or tariff.price_calendar.time_zone


def give(state: CaseState, changes: Mapping[str, Any]) -> None:
    """Put changes into the case; where it would not hold with them they are taken back.

    Raises
    ------
    EnergyError
        What is wrong with the case then.
    """
    wrong_before, before = state.problems, state.document
    state.set(changes)
    if state.problems and state.document != before:
        found = state.problems
        state.undo()
        if not wrong_before:
            raise CaseError([Problem("", problem.message) for problem in found])
        raise EnergyError(f"The case cannot be computed as it is now: {wrong_before[0].message}")


def known_by(state: CaseState, tariff: Tariff, key: str) -> bool:
    """Is a tariff of the Bill view what the case is billed on already?"""
    given = state.document.get("tariffs", {}).get(tariff.commodity)
    return key == f"case {tariff.commodity}" or (key in demo_tariffs() and given == key)


def _text(value: float, kind: str, unit: str, digits: int = 10) -> str:
    return f"{to_unit(float(value), kind, unit):.{digits}g} {unit}"
