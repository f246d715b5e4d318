"""What an ESPI file says, taken from its XML as it streams by; no tree is built.

A document type, and with it every entity, is refused.
"""

from __future__ import annotations

import re
from array import array
from collections import Counter
from dataclasses import dataclass
from math import nan
from typing import BinaryIO
from xml.parsers import expat

from energy.tariffs.readers._files import LARGEST_FILE, Problems, Wrong, quoted
from energy.tariffs.readers.series import EARLIEST, LATEST

_DEEPEST = 60  # elements within elements; an ESPI feed has about 8
_LONGEST_TEXT = 200  # characters of a number or a link
LONGEST_STEP = 366 * 86400  # s
_NUMBER = re.compile(r"[+-]?\d{1,15}(?:\.\d*)?")
QUALITIES = {"7": "edited", "8": "estimated", "9": "estimated", "10": "questionable", "14": "raw"}
_GOOD = {"", "0", "17"}  # valid, validated
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


@dataclass(slots=True)
class Record:
    """A record's texts by their names, the line where it begins, and the links of its entry."""

    line: int
    said: dict[str, str]
    links: Links | None = None


@dataclass(slots=True)
class Links:
    """Addresses in an entry of the feed."""

    own: str = ""
    up: str = ""
    related: tuple[str, ...] = ()


class Feed:
    """Takes what counts from the file as the parser goes through it.

    Times and steps are in seconds, values and costs as written; every reading has the place of its entry in `entries`.
    """

    def __init__(self) -> None:
        self.problems = Problems()
        self.start, self.step, self.line, self.entry = array("q"), array("q"), array("q"), array("q")
        self.value = array("d")
        self.quality: Counter[str] = Counter()
        self.entries: list[Links] = [Links()]
        self.entry_used = False
        self.types: list[Record] = []
        self.clocks: list[Record] = []
        self.kinds: list[str] = []
        self.meter_links: list[Links] = []
        self.empty = self.rounded = 0
        self.costs = array("d")  # as written, in 1e-5 of the currency; NaN where none
        self.left_out: list[int] = []  # lines
        self.stack: list[str] = []
        self.record: Record | None = None
        self.text: list[str] | None = None

    def read(self, stream: BinaryIO) -> None:
        """Take a whole file."""
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
                self.entries.append(Links())
            self.entries[-1], self.entry_used = Links(), False
        elif name == "link" and parent == "entry":
            self._link(attributes.get("rel", ""), attributes.get("href", ""))
        elif name == "MeterReading":
            self.meter_links.append(self.entries[-1])
            self.entry_used = True
        elif name in _RECORDS:
            self.record = Record(line, {})
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

    def _reading(self, record: Record) -> None:
        said = record.said
        if not said.get("value"):
            self.empty += 1
            return
        start = self.number(record, "start", EARLIEST, LATEST, "seconds since 1970-01-01 UTC, up to the year 2099")
        step = self.number(record, "duration", 1, LONGEST_STEP, "seconds, up to a year") if "duration" in said else 0.0
        value = self.number(record, "value", -1e15, 1e15, "a number")
        cost = self.number(record, "cost", -1e15, 1e15, "a number") if said.get("cost") else nan
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
            self.quality[quality if quality in QUALITIES else "other"] += 1

    def number(self, record: Record, name: str, low: float, high: float, allowed: str) -> float | None:
        """What a record says under a name; None and a problem where that is no number from low to high."""
        text = record.said.get(name, "")
        if _NUMBER.fullmatch(text) and low <= (number := float(text)) <= high:
            return number
        what = f"{name} {quoted(text)} cannot be used" if text else f"has no {name}"
        self.problems.add(record.line, f"{what}; {name} is {allowed}")
        return None
