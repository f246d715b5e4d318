"""Reads interval readings in the XML of NAESB REQ.21, Energy Services Provider Interface (ESPI).

The file is streamed; no tree is built. A document type, and with it every entity, is refused.
"""

from __future__ import annotations

import os
import re
from array import array
from collections import Counter
from dataclasses import dataclass
from datetime import UTC, datetime
from math import nan
from typing import BinaryIO
from xml.parsers import expat

import numpy as np
from numpy.typing import NDArray

from energy import units
from energy.errors import OutOfRangeError
from energy.tariffs.readers._files import LARGEST_FILE, Problems, Wrong, opened, quoted
from energy.tariffs.readers.espi_clock import daylight_rule, fixed_zone, matching_zone
from energy.tariffs.readers.series import EARLIEST, LATEST, Counted, Series
from energy.tariffs.tariff import Commodity

_DEEPEST = 60  # elements within elements; an ESPI feed has about 8
_LONGEST_TEXT = 200  # characters of a number or a link
_LONGEST_STEP = 366 * 86400
_NUMBER = re.compile(r"[+-]?\d{1,15}(?:\.\d*)?")
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
_QUALITIES = {"7": "edited", "8": "estimated", "9": "estimated", "10": "questionable", "14": "raw"}
_GOOD = {"", "0", "17"}  # valid, validated
_CURRENCIES = {"840": "USD", "978": "EUR", "826": "GBP", "124": "CAD", "36": "AUD", "756": "CHF"}  # ISO 4217
_LEFT_OUT = {"UsageSummary", "ElectricPowerUsageSummary"}  # bills and totals: nothing is billed from them
_RECORDS = {"IntervalReading", "ReadingType", "LocalTimeParameters", "ServiceCategory"}
_WANTED = {
    *(("timePeriod", "start"), ("timePeriod", "duration"), ("IntervalReading", "value"), ("ReadingQuality", "quality")),
    *(("IntervalReading", "cost"), ("ReadingType", "currency")),
    *(("ServiceCategory", "kind"), ("LocalTimeParameters", "tzOffset"), ("LocalTimeParameters", "dstOffset")),
    *(("LocalTimeParameters", "dstStartRule"), ("LocalTimeParameters", "dstEndRule")),
    *(("ReadingType", name) for name in ("uom", "powerOfTenMultiplier", "intervalLength", "commodity")),
    *(("ReadingType", name) for name in ("accumulationBehaviour", "dataQualifier", "flowDirection")),
}


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
        feed = _Feed()
        feed.read(stream)
        feed.problems.stop()
        if not feed.start:
            raise Wrong(0, "holds no IntervalReading; give an ESPI file with interval readings")
        return tuple(feed.series(positions, kind, zone, os.fspath(path)) for positions, kind in feed.meters())


@dataclass(slots=True)
class _Record:
    line: int
    said: dict[str, str]
    links: _Links | None = None


@dataclass(slots=True)
class _Links:
    own: str = ""
    up: str = ""
    related: tuple[str, ...] = ()


class _Feed:
    """Takes what counts from the file as the parser goes through it."""

    def __init__(self) -> None:
        self.problems = Problems()
        self.start, self.step, self.line, self.entry = array("q"), array("q"), array("q"), array("q")
        self.value = array("d")
        self.quality: Counter[str] = Counter()
        self.entries: list[_Links] = [_Links()]
        self.entry_used = False
        self.types: list[_Record] = []
        self.clocks: list[_Record] = []
        self.kinds: list[str] = []
        self.meter_links: list[_Links] = []
        self.empty = self.rounded = 0
        self.costs = array("d")  # as written, in 1e-5 of the currency; NaN where none
        self.left_out: list[int] = []  # lines
        self.stack: list[str] = []
        self.record: _Record | None = None
        self.text: list[str] | None = None

    # ---------------------------------------------------------------------------------------------- the parser's calls

    def read(self, stream: BinaryIO) -> None:
        self.parser = parser = expat.ParserCreate()
        parser.buffer_text = True
        parser.StartDoctypeDeclHandler = self._document_type
        parser.StartElementHandler = self._begin
        parser.EndElementHandler = self._end
        parser.CharacterDataHandler = self._characters
        size = 0
        try:
            while chunk := stream.read(1 << 16):
                size += len(chunk)
                if size > LARGEST_FILE:
                    raise Wrong(0, f"has more than {LARGEST_FILE / 1e6:g} MB; split it")
                parser.Parse(chunk, False)
            parser.Parse(b"", True)
        except expat.ExpatError as error:
            raise Wrong(error.lineno, f"cannot be read as XML: {expat.ErrorString(error.code)}") from None
        except (LookupError, ValueError):  # an encoding that is not known, or not handed to the parser
            raise Wrong(1, "is in an encoding that is not known; save it as UTF-8") from None

    def _document_type(self, *_: object) -> None:
        message = "has a document type; ESPI files have none, and it could make the reader fetch or grow anything"
        raise Wrong(self.parser.CurrentLineNumber, message)

    def _begin(self, name: str, attributes: dict[str, str]) -> None:
        name = name.rpartition(":")[2]
        parent = self.stack[-1] if self.stack else ""
        self.stack.append(name)
        line = self.parser.CurrentLineNumber
        if len(self.stack) > _DEEPEST:
            raise Wrong(line, f"elements are nested more than {_DEEPEST} deep; this is not an ESPI file")
        if name == "entry":
            if self.entry_used:
                self.entries.append(_Links())
            self.entries[-1], self.entry_used = _Links(), False
        elif name == "link" and parent == "entry":
            self._link(attributes.get("rel", ""), attributes.get("href", ""))
        elif name == "MeterReading":
            self.meter_links.append(self.entries[-1])
            self.entry_used = True
        elif name in _RECORDS:
            self.record = _Record(line, {})
        elif name in _LEFT_OUT:
            self.left_out.append(line)
        self.text = [] if self.record and (parent, name) in _WANTED else None

    def _link(self, role: str, address: str) -> None:
        links = self.entries[-1]
        if len(address) > _LONGEST_TEXT or len(links.related) > 50:
            return
        if role == "self":
            links.own = address
        elif role == "up":
            links.up = address
        elif role == "related":
            links.related += (address,)

    def _characters(self, text: str) -> None:
        if self.text is not None:
            self.text.append(text)
            if sum(map(len, self.text)) > _LONGEST_TEXT:
                raise Wrong(
                    self.parser.CurrentLineNumber, f"{self.stack[-1]} is longer than {_LONGEST_TEXT} characters"
                )

    def _end(self, name: str) -> None:
        name = self.stack.pop()
        record = self.record
        if record is None:
            return
        if self.text is not None:
            if name in record.said:
                self.problems.add(self.parser.CurrentLineNumber, f"{name} stands twice")
            record.said[name], self.text = "".join(self.text).strip(), None
        if name not in _RECORDS:
            return
        self.record = None
        if name == "IntervalReading":
            self._reading(record)
            return
        record.links = self.entries[-1]
        if name == "ReadingType":
            self.types.append(record)
        elif name == "LocalTimeParameters":
            self.clocks.append(record)
        elif kind := record.said.get("kind"):
            self.kinds.append(kind)
            self.kinds = sorted(set(self.kinds))
        if len(self.types) + len(self.clocks) > 1000:
            raise Wrong(record.line, "holds more than 1000 ReadingType and LocalTimeParameters; split it")
        self.entry_used = True

    def _reading(self, record: _Record) -> None:
        said = record.said
        if not said.get("value"):
            self.empty += 1
            return
        start = self._number(record, "start", EARLIEST, LATEST, "seconds since 1970-01-01 UTC, up to the year 2099")
        step = (
            self._number(record, "duration", 1, _LONGEST_STEP, "seconds, up to a year") if "duration" in said else 0.0
        )
        value = self._number(record, "value", -1e15, 1e15, "a number")
        cost = self._number(record, "cost", -1e15, 1e15, "a number") if said.get("cost") else nan
        if start is None or step is None or value is None or cost is None:
            return
        self.rounded += start % 1 != 0
        self.start.append(round(start))
        self.step.append(round(step))  # 0: the reading type says it
        self.value.append(value)
        self.costs.append(cost)
        self.line.append(record.line)
        self.entry.append(len(self.entries) - 1)
        self.entry_used = True
        quality = said.get("quality", "")
        if quality not in _GOOD:
            self.quality[quality if quality in _QUALITIES else "other"] += 1

    def _number(self, record: _Record, name: str, low: float, high: float, allowed: str) -> float | None:
        text = record.said.get(name, "")
        if _NUMBER.fullmatch(text) and low <= (number := float(text)) <= high:
            return number
        what = f"{name} {quoted(text)} cannot be used" if text else f"has no {name}"
        self.problems.add(record.line, f"{what}; {name} is {allowed}")
        return None

    # -------------------------------------------------------------------------------------------------- what it means

    def meters(self) -> list[tuple[NDArray[np.int64], _Record]]:
        """Positions of the readings of each meter reading, and their type."""
        if not self.types:
            raise Wrong(self.line[0], "these readings have no ReadingType, so their unit is not known")
        by_related = {link: i for i, meter in enumerate(self.meter_links) for link in meter.related}
        by_own = {meter.own: i for i, meter in enumerate(self.meter_links) if meter.own}
        alone = 0 if len(self.meter_links) == 1 else -1

        def meter_of(entry: _Links) -> int:
            parent = entry.own.rpartition("/")[0]
            found = (by_related.get(entry.up), by_related.get(parent), by_own.get(parent.rpartition("/")[0]))
            return next((i for i in found if i is not None), alone)

        meter = np.array([meter_of(entry) for entry in self.entries])[np.array(self.entry)]
        groups = [np.flatnonzero(meter == i) for i in dict.fromkeys(meter.tolist())]
        return [(group, self._type(int(meter[group[0]]), self.line[group[0]])) for group in groups]

    def _type(self, meter: int, line: int) -> _Record:
        related = self.meter_links[meter].related if meter >= 0 else ()
        linked = [kind for kind in self.types if kind.links and kind.links.own and kind.links.own in related]
        found = linked or self.types
        if any(kind.said != found[0].said for kind in found):
            raise Wrong(line, f"no link says which of {len(found)} ReadingTypes these readings have")
        return found[0]

    def series(self, positions: NDArray[np.int64], kind: _Record, zone: str | None, source: str) -> Series:
        """One meter reading."""
        counted, unit, is_power, scale = self._unit(kind)
        positions = positions[np.argsort(np.array(self.start)[positions], kind="stable")]
        start, step, line = (np.array(a, dtype=np.int64)[positions] for a in (self.start, self.step, self.line))
        if (step == 0).any():
            length = self._number(kind, "intervalLength", 1, _LONGEST_STEP, "seconds, up to a year")
            if length is None:
                self.problems.add(int(line[np.argmin(step)]), "has no duration, and its type has no intervalLength")
            step[step == 0] = round(length or 1)
        for i in np.flatnonzero(start[1:] < (start + step)[:-1]):
            other = "stands a second time; it is already in" if start[i + 1] == start[i] else "overlaps the reading of"
            shown = datetime.fromtimestamp(int(start[i + 1]), UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
            self.problems.add(int(line[i + 1]), f"the reading from {shown} {other} line {line[i]}")
        self.problems.stop()
        amount = np.array(self.value)[positions]
        amount = amount * 10.0**scale if scale >= 0 else amount / 10.0**-scale
        if unit:
            amount = units.from_unit(amount, "power" if is_power else counted, unit)
        elif not is_power:
            amount = amount * 3600.0
        if is_power:
            amount = amount * step
        notes = self._notes(kind, amount)
        notes += self._ignored(kind, np.array(self.costs)[positions], line)
        found, clock = self._zone(int(start[-1]))
        if zone and found and zone != found:
            clock = f"the time zone {zone} is used; the offset and rules in the file are those of {found}"
        if clock and (found or not zone):
            notes.append(clock)
        return Series(
            start=start,
            step=step,
            amount=amount,
            counted=counted,
            commodity=self._commodity(kind, notes),
            zone=zone or found,
            source=source,
            notes=tuple(notes),
        )

    def _unit(self, kind: _Record) -> tuple[Counted, str | None, bool, int]:
        said = kind.said
        if said.get("uom", "") not in _UNITS:
            what = (
                f"the unit uom {quoted(said['uom'])} is not known" if said.get("uom") else "the ReadingType has no uom"
            )
            raise Wrong(kind.line, f"{what}; read are {_UNITS_ALLOWED}")
        if said.get("accumulationBehaviour") in ("1", "2", "3"):
            raise Wrong(
                kind.line, "the readings are a meter's dial (accumulationBehaviour 1 to 3); give differences, 4"
            )
        if said.get("dataQualifier") in ("8", "9"):
            raise Wrong(kind.line, "the readings are highest or lowest values (dataQualifier 8, 9); give means or sums")
        power = said.get("powerOfTenMultiplier") or "0"
        if not re.fullmatch(r"[+-]?\d\d?", power) or abs(int(power)) > 12:
            raise Wrong(kind.line, f"powerOfTenMultiplier {quoted(power)} cannot be used; write -12 to 12")
        return *_UNITS[said["uom"]], int(power)

    def _notes(self, kind: _Record, amount: NDArray[np.float64]) -> list[str]:
        notes = []
        if self.empty:
            notes.append(f"{self.empty} readings have no value and count as gaps")
        if self.rounded:
            notes.append(f"{self.rounded} readings start at a fraction of a second; rounded to the second")
        for code, number in sorted(self.quality.items()):
            notes.append(f"{number} readings in the file are marked {_QUALITIES.get(code, 'with another quality')}")
        if kind.said.get("flowDirection") == "19":
            notes.append("this is what flows back to the supplier (flowDirection 19)")
        if negative := int((amount < 0).sum()):
            notes.append(f"{negative} readings are negative")
        return notes

    def _ignored(self, kind: _Record, costs: NDArray[np.float64], line: NDArray[np.int64]) -> list[str]:
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
        if self.left_out:
            found.append(
                f"{len(self.left_out)} usage summaries are not used (the first in line {self.left_out[0]}); lay their "
                "bills beside the one worked out"
            )
        return found

    def _commodity(self, kind: _Record, notes: list[str]) -> Commodity | None:
        if found := _COMMODITIES.get(kind.said.get("commodity", "")):
            return found
        if len(self.kinds) == 1:
            return _KINDS.get(self.kinds[0])
        uom = kind.said["uom"]
        guess: Commodity | None = "electricity" if uom in _ELECTRIC else "gas" if uom == "169" else None
        notes.append(f"the file does not say what is supplied; by its unit, {guess or 'nothing is certain'}")
        return guess

    def _zone(self, at: int) -> tuple[str | None, str]:
        """The zone whose clock the file describes in the year of a reading, and what to say of it."""
        if not self.clocks:
            return None, "the file does not say its local clock"
        said = self.clocks[0].said
        if any(clock.said != said for clock in self.clocks):
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
