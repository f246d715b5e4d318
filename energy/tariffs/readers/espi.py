"""Reads interval readings in the XML of NAESB REQ.21, Energy Services Provider Interface (ESPI)."""

from __future__ import annotations

import os
import re
from datetime import UTC, datetime

import numpy as np
from numpy.typing import NDArray

from energy import units
from energy.errors import OutOfRangeError
from energy.tariffs.readers._files import Wrong, opened, quoted
from energy.tariffs.readers.below_zero import told
from energy.tariffs.readers.espi_clock import daylight_rule, fixed_zone, matching_zone
from energy.tariffs.readers.espi_feed import LONGEST_STEP, QUALITIES, Feed, Links, Record
from energy.tariffs.readers.series import Counted, Series
from energy.tariffs.tariff import Commodity

_UNITS: dict[str, tuple[Counted, str | None, bool]] = {  # uom: what, our unit (None: watt-like), is a power
    "72": ("energy", "Wh", False),
    "38": ("energy", "W", True),
    "71": ("apparent energy", None, False),
    "61": ("apparent energy", None, True),
    "73": ("reactive energy", None, False),
    "63": ("reactive energy", None, True),
    "132": ("energy", "Btu", False),
    "169": ("energy", "therm", False),
    "119": ("volume", "ft3", False),
    "42": ("volume", "m3", False),
    "128": ("volume", "gal", False),
}
_UNITS_ALLOWED = "38 W, 42 m3, 61 VA, 63 VAr, 71 VAh, 72 Wh, 73 VArh, 119 ft3, 128 gal, 132 Btu, 169 therm"
_KINDS: dict[str, Commodity] = {"0": "electricity", "1": "gas", "2": "water", "6": "cooling"}  # ServiceCategory
_COMMODITIES: dict[str, Commodity] = {"1": "electricity", "2": "electricity", "7": "gas", "9": "water"}  # ReadingType
_ELECTRIC = {"38", "61", "63", "71", "72", "73"}
_CURRENCIES = {"840": "USD", "978": "EUR", "826": "GBP", "124": "CAD", "36": "AUD", "756": "CHF"}  # ISO 4217


def read_espi(path: str | os.PathLike[str], *, zone: str | None = None) -> tuple[Series, ...]:
    """Read an ESPI file.

    Parameters
    ----------
    path : str or path
        The file, at most 50 MB.
    zone : str, optional
        IANA name of the time zone of the local clock. Without it the zone whose clock agrees with the offset and the
        daylight saving rules of the file; such a file may hold none.

    Returns
    -------
    tuple of Series
        One for each meter reading in the file (energy, reactive energy, what flows back), in the order of the file.

    Raises
    ------
    CaseError
        No such file, too large, not XML or not ESPI, with a document type, a reading without a time or a unit,
        readings that overlap or stand twice; with file and line.

    Source
    ------
    NAESB REQ.21, Energy Services Provider Interface.
    """
    with opened(path) as stream:
        feed = Feed()
        feed.read(stream)
        feed.problems.stop()
        if not feed.start:
            raise Wrong(0, "holds no IntervalReading; give an ESPI file with interval readings")
        return tuple(_series(feed, positions, kind, zone, os.fspath(path)) for positions, kind in _meters(feed))


def _meters(feed: Feed) -> list[tuple[NDArray[np.int64], Record]]:
    """Positions of the readings of each meter reading, and their type."""
    if not feed.types:
        raise Wrong(feed.line[0], "these readings have no ReadingType, so their unit is not known")
    by_related = {link: i for i, meter in enumerate(feed.meter_links) for link in meter.related}
    by_own = {meter.own: i for i, meter in enumerate(feed.meter_links) if meter.own}
    alone = 0 if len(feed.meter_links) == 1 else -1

    def meter_of(entry: Links) -> int:
        parent = entry.own.rpartition("/")[0]
        found = (by_related.get(entry.up), by_related.get(parent), by_own.get(parent.rpartition("/")[0]))
        return next((i for i in found if i is not None), alone)

    meter = np.array([meter_of(entry) for entry in feed.entries])[np.array(feed.entry)]
    groups = [np.flatnonzero(meter == i) for i in dict.fromkeys(meter.tolist())]
    return [(group, _type(feed, int(meter[group[0]]), feed.line[group[0]])) for group in groups]


def _type(feed: Feed, meter: int, line: int) -> Record:
    related = feed.meter_links[meter].related if meter >= 0 else ()
    linked = [kind for kind in feed.types if kind.links and kind.links.own and kind.links.own in related]
    found = linked or feed.types
    if any(kind.said != found[0].said for kind in found):
        raise Wrong(line, f"no link says which of {len(found)} ReadingTypes these readings have")
    return found[0]


def _series(feed: Feed, positions: NDArray[np.int64], kind: Record, zone: str | None, source: str) -> Series:
    """One meter reading."""
    counted, unit, is_power, scale = _unit(kind)
    positions = positions[np.argsort(np.array(feed.start)[positions], kind="stable")]
    start, step, line = (np.array(a, dtype=np.int64)[positions] for a in (feed.start, feed.step, feed.line))
    if (step == 0).any():
        length = feed.number(kind, "intervalLength", 1, LONGEST_STEP, "seconds, up to a year")
        if length is None:
            feed.problems.add(int(line[np.argmin(step)]), "has no duration, and its type has no intervalLength")
        step[step == 0] = round(length or 1)
    for i in np.flatnonzero(start[1:] < (start + step)[:-1]):
        other = "stands a second time; it is already in" if start[i + 1] == start[i] else "overlaps the reading of"
        shown = datetime.fromtimestamp(int(start[i + 1]), UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
        feed.problems.add(int(line[i + 1]), f"the reading from {shown} {other} line {line[i]}")
    feed.problems.stop()
    amount = np.array(feed.value)[positions]
    amount = amount * 10.0**scale if scale >= 0 else amount / 10.0**-scale
    if unit:
        amount = units.from_unit(amount, "power" if is_power else counted, unit)
    elif not is_power:
        amount = amount * 3600.0
    if is_power:
        amount = amount * step
    notes = _notes(feed, kind)
    notes += _ignored(feed, kind, np.array(feed.costs)[positions], line)
    found, clock = _zone(feed, int(start[-1]))
    if zone and found and zone != found:
        clock = f"the time zone {zone} is used; the offset and rules in the file are those of {found}"
    if clock and (found or not zone):
        notes.append(clock)
    made = Series(
        start=start,
        step=step,
        amount=amount,
        counted=counted,
        commodity=_commodity(feed, kind, notes),
        zone=zone or found,
        source=source,
        notes=tuple(notes),
    )
    return told(made)


def _unit(kind: Record) -> tuple[Counted, str | None, bool, int]:
    said = kind.said
    if said.get("uom", "") not in _UNITS:
        what = f"the unit uom {quoted(said['uom'])} is not known" if said.get("uom") else "the ReadingType has no uom"
        raise Wrong(kind.line, f"{what}; read are {_UNITS_ALLOWED}")
    if said.get("accumulationBehaviour") in ("1", "2", "3"):
        raise Wrong(kind.line, "the readings are a meter's dial (accumulationBehaviour 1 to 3); give differences, 4")
    if said.get("dataQualifier") in ("8", "9"):
        raise Wrong(kind.line, "the readings are highest or lowest values (dataQualifier 8, 9); give means or sums")
    power = said.get("powerOfTenMultiplier") or "0"
    if not re.fullmatch(r"[+-]?\d\d?", power) or abs(int(power)) > 12:
        raise Wrong(kind.line, f"powerOfTenMultiplier {quoted(power)} cannot be used; write -12 to 12")
    return *_UNITS[said["uom"]], int(power)


def _notes(feed: Feed, kind: Record) -> list[str]:
    notes = []
    if feed.empty:
        notes.append(f"{feed.empty} readings have no value and count as gaps")
    if feed.rounded:
        notes.append(f"{feed.rounded} readings start at a fraction of a second; rounded to the second")
    for code, number in sorted(feed.quality.items()):
        notes.append(f"{number} readings in the file are marked {QUALITIES.get(code, 'with another quality')}")
    if kind.said.get("flowDirection") == "19":
        notes.append("this is what flows back to the supplier (flowDirection 19)")
    return notes


def _ignored(feed: Feed, kind: Record, costs: NDArray[np.float64], line: NDArray[np.int64]) -> list[str]:
    """What of the file is not used, since a bill follows from the tariff; with the line where it first stands."""
    found = []
    priced = np.flatnonzero(~np.isnan(costs))
    if priced.size:
        code = kind.said.get("currency", "")
        unit = _CURRENCIES.get(code.lstrip("0"), f"of currency {code}" if code else "of a currency not named")
        found.append(
            f"{priced.size} readings carry a cost, {costs[priced].sum() / 1e5:,.2f} {unit} in all (the first in line "
            f"{line[priced].min()}); it is not used, a bill follows from the tariff"
        )
    if feed.left_out:
        found.append(
            f"{len(feed.left_out)} usage summaries are not used (the first in line {feed.left_out[0]}); lay their "
            "bills beside the one worked out"
        )
    return found


def _commodity(feed: Feed, kind: Record, notes: list[str]) -> Commodity | None:
    if found := _COMMODITIES.get(kind.said.get("commodity", "")):
        return found
    if len(feed.kinds) == 1:
        return _KINDS.get(feed.kinds[0])
    uom = kind.said["uom"]
    guess: Commodity | None = "electricity" if uom in _ELECTRIC else "gas" if uom == "169" else None
    notes.append(f"the file does not say what is supplied; by its unit, {guess or 'nothing is certain'}")
    return guess


def _zone(feed: Feed, at: int) -> tuple[str | None, str]:
    """The zone whose clock the file describes in the year of a reading, and what to say of it."""
    if not feed.clocks:
        return None, "the file does not say its local clock"
    said = feed.clocks[0].said
    if any(clock.said != said for clock in feed.clocks):
        return None, "the file describes more than one local clock"
    try:
        offset, added = int(said.get("tzOffset", "")), int(said.get("dstOffset") or "0")
        rules = [daylight_rule(said.get(name) or "FFFFFFFF") for name in ("dstStartRule", "dstEndRule")]
        if abs(offset) > 54000 or abs(added) > 7200:
            raise OutOfRangeError(f"tzOffset {offset} s or dstOffset {added} s is out of range")
        year = datetime.fromtimestamp(at + offset, UTC).year
        moments = [rule.moment(year) for rule in rules if rule and added]
    except (ValueError, OutOfRangeError) as error:
        why = str(error) if isinstance(error, OutOfRangeError) else "an offset is not a number of seconds"
        return None, f"the local clock in the file cannot be used: {why}"
    if len(moments) == 1:
        return None, "the local clock in the file has one daylight saving rule, not two"
    if not moments:
        return fixed_zone(offset)
    for signed in (offset, -offset):
        if found := matching_zone(year, signed, added, *moments):
            wrong = "" if signed == offset else f"; its tzOffset {offset:+d} has the wrong sign"
            return found, f"the local clock is taken as {found}, whose offset and rules the file has{wrong}"
    return None, "no time zone is known with the offset and daylight saving rules of the file"
