"""Reads a record of the open utility rate database of OpenEI, in its JSON form, and says what it did not take over.

Such a record has one weekday and one weekend schedule of 12 x 24 periods each for energy and for demand, prices by
period and tier, flat demand by month, and one look-back for all demand charges. Tiers of energy are counted within
their period. What stands in a record but has no place here is listed, never dropped in silence.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from os.path import getsize
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from energy.errors import CaseError, Problem
from energy.tariffs.rate_record import Reading
from energy.tariffs.tariff import Tariff

LARGEST_FILE = 20_000_000
"""Files above this size are refused unread. [B]"""


def load_rate_json(
    path: str | Path, *, currency: str = "USD", time_zone: str | None = None, number: int = 1
) -> tuple[Tariff, tuple[str, ...]]:
    """Read a rate record.

    Parameters
    ----------
    path : str or Path
        File with one record, a list of records, or a table whose `items` is such a list.
    currency : str
        Currency of its prices, which a record does not say.
    time_zone : str, optional
        IANA name of the clock it is billed by, which a record does not say; without one no daylight saving.
    number : int
        Which record of the file, from 1.

    Returns
    -------
    Tariff
        Clauses are the names of the fields.
    tuple of str
        Every field that holds something and was not taken over, with a reason where it bears on the bill.

    Raises
    ------
    CaseError
        The file cannot be read, or a record's field cannot be used; with file and field.
    """
    made, ignored = read_rate_document(path, currency=currency, time_zone=time_zone, number=number)
    try:
        return Tariff.model_validate(made), ignored
    except ValidationError as error:
        raise CaseError(
            [Problem(".".join(map(str, e["loc"])), e["msg"].removeprefix("Value error, ")) for e in error.errors()],
            file=str(path),
        ) from None


def read_rate_document(
    path: str | Path, *, currency: str = "USD", time_zone: str | None = None, number: int = 1
) -> tuple[dict[str, Any], tuple[str, ...]]:
    """What a tariff file of the same rate would hold, unchecked, and what was not taken over; see `load_rate_json`."""
    reading = Reading(record=_record(Path(path), number), currency=currency)
    made = reading.tariff(time_zone)
    if reading.problems:
        raise CaseError(reading.problems, file=str(path))
    return made, tuple(reading.ignored())


def _record(path: Path, number: int) -> Mapping[str, Any]:
    try:
        if getsize(path) > LARGEST_FILE:
            raise CaseError([Problem("", f"is larger than {LARGEST_FILE / 1e6:g} MB; a rate is not")], file=str(path))
        document = json.loads(path.read_bytes())
    except OSError as error:
        raise CaseError([Problem("", f"cannot be read: {error.strerror}")], file=str(path)) from None
    except (ValueError, RecursionError) as error:
        raise CaseError([Problem("", f"cannot be read as JSON: {error}")], file=str(path)) from None
    items = document.get("items", [document]) if isinstance(document, Mapping) else document
    if not isinstance(items, list) or not 1 <= number <= len(items) or not isinstance(items[number - 1], Mapping):
        count = len(items) if isinstance(items, list) else 0
        raise CaseError([Problem("items", f"there is no record number {number}; it holds {count}")], file=str(path))
    record: Mapping[str, Any] = items[number - 1]
    return record
