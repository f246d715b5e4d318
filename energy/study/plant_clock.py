"""Interval readings of the plant from a file beside the case, and whose clock their stamps are on."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np

from energy.errors import CaseError, Problem
from energy.study.price_sections import PlantLoad
from energy.tariffs.readers import Series, read_interval_csv


def interval_readings(path: Path, given: PlantLoad, clock: str | None) -> Series:
    """Of a CSV beside the case; stamps without an offset are on the tariff's own clock where the case names none."""
    for zone in (given.zone, clock):
        try:
            return read_interval_csv(path, time=given.time_column, value=given.column, unit=given.unit, zone=zone)
        except CaseError as error:
            if zone is None and clock is not None and "have no offset" in str(error):
                continue
            raise CaseError([Problem(p.key, _in_a_case(p.message)) for p in error.problems], file=error.file) from None
    raise AssertionError("the last of them returns or raises")


DAY = 86400  # s


def of_another_year(series: Series | None, year: int) -> str:
    """Said where readings of the plant are of no day of the case's year; else empty."""
    if series is None:
        return ""
    # A day from either end, whatever clock they are on.
    ends = np.array([series.start[0] + DAY, series.start[-1] - DAY]).astype("datetime64[s]")
    first, last = (1970 + ends.astype("datetime64[Y]").astype(int)).tolist()
    if first <= year <= last:
        return ""
    read = f"{first}" if first == last else f"{first} and {last}"
    return (
        f"The plant's readings are of {read}, and the case is of {year}: its bills are of the days that were read, with the dryers' shifts of {year} laid "
        "over them by week and weekday, so holidays and shutdowns may fall beside those of the plant. Give readings of "
        f"{year}, or write the year of the readings as year in [case]."
    )


def _in_a_case(message: str) -> str:
    """A reader's sentence with its options as they are written in a case."""
    message = message.replace(
        "say zone='UTC', or the zone of the clock they show",
        'write the zone of the clock they show under [plant_load], such as zone = "Asia/Kolkata", or zone = "UTC"',
    )
    message = re.sub(r"\bunit='(\w+)'", r'unit = "\1"', message)
    for name, key in (("value", "column"), ("time", "time_column"), ("unit", "unit")):
        message = re.sub(rf"\b{name}=(?!=)", f"{key} = ", message)
    return message
