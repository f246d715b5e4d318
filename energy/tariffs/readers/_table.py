"""Rows of a text table: its separator, its header, and numbers with a decimal point or comma."""

from __future__ import annotations

import csv
import io
import math
import re
from array import array
from codecs import getincrementaldecoder
from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache
from itertools import islice
from typing import BinaryIO, Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from energy.tariffs.readers._files import LARGEST_FILE, Problems, Wrong, quoted

Decimal: TypeAlias = Literal[".", ","]
Row: TypeAlias = tuple[int, list[str]]  # line, cells

_BLOCK = 1 << 12  # rows that are Python objects at a time
_LONGEST_CELL = 200  # bytes of a time stamp, a month or a number
_SEPARATORS = ";\t,"  # in this order, since a comma may be a decimal one
_LOOKED_AT = 50  # lines in which the header is looked for
_UNIT = re.compile(r"(?<![A-Za-z])(MWh|kWh|Wh|MW|kW|W|GJ|MJ|kVArh|kVAr|therms?|MMBtu|m3|ccf)(?![A-Za-z0-9])", re.I)
_SPELT = {u.lower(): u for u in ("MWh", "kWh", "Wh", "MW", "kW", "W", "GJ", "MJ", "kVAr", "MMBtu", "m3", "ccf")}


def _pattern(sign: str, group: str) -> re.Pattern[str]:
    whole = rf"(?:\d+|[1-9]\d{{0,2}}(?:\{group}\d{{3}})+)"
    return re.compile(rf"[+-]?(?:{whole}(?:\{sign}\d*)?|\{sign}\d+)(?:[eE][+-]?\d+)?", re.ASCII)


_NUMBERS: dict[Decimal, re.Pattern[str]] = {".": _pattern(".", ","), ",": _pattern(",", ".")}


class Column:
    """The cells of a column, packed: strings of their own would take ten times the file."""

    def __init__(self, blocks: list[NDArray[np.bytes_]]) -> None:
        self._packed = np.concatenate(blocks)

    def __len__(self) -> int:
        return int(self._packed.size)

    def __getitem__(self, row: int) -> str:
        return str(self._packed[row].decode())

    def __iter__(self) -> Iterator[str]:
        for begin in range(0, len(self), _BLOCK):
            yield from (cell.decode() for cell in self._packed[begin : begin + _BLOCK].tolist())


class Table:
    """The header of a text table and its rows below, blank lines left out."""

    def __init__(self, stream: BinaryIO, names: Sequence[str] = ()) -> None:
        """Find separator and header: the first line, of those at the top, that holds all `names`.

        Raises
        ------
        Wrong
            No text, no such header.
        """
        # A piece at a time: asked for the most at once, Python takes that much memory before it reads.
        content = b"".join(stream.read(1 << 20) for _ in range(LARGEST_FILE // (1 << 20) + 2))
        if len(content) > LARGEST_FILE:
            raise Wrong(0, f"has more than {LARGEST_FILE / 1e6:g} MB; split it")
        self._content, self._encoding = content, _encoding(content)
        top = []
        with io.TextIOWrapper(io.BytesIO(content), self._encoding, newline=None) as text:
            for _, line in zip(range(_LOOKED_AT), text, strict=False):
                top.append(line[:10000])
        written = [i for i, line in enumerate(top) if line.strip()]
        if not written:
            raise Wrong(0, "is empty")
        for i in written if names else written[:1]:
            for separator in _SEPARATORS:
                cells = _cells(top[i], separator)
                if (len(cells) > 1 and not names) or (names and all(name in cells for name in names)):
                    self.header, self.separator, self.line = cells, separator, i + 1
                    return
        first = [c for s in _SEPARATORS if len(c := _cells(top[written[0]], s)) > 1] or [[top[written[0]]]]
        if names:
            shown = ", ".join(quoted(cell) for cell in first[0][:20])
            wanted = " and ".join(map(quoted, names))
            raise Wrong(written[0] + 1, f"no line at the top has the column {wanted}; the first line has {shown}")
        raise Wrong(written[0] + 1, "must name the columns, separated by commas, semicolons or tabs")

    def rows(self) -> Iterator[Row]:
        """Each row with the number of its line, as many cells as the header."""
        width = len(self.header)
        with io.TextIOWrapper(io.BytesIO(self._content), self._encoding, newline="") as text:
            reader = csv.reader(text, delimiter=self.separator)
            try:
                for row in reader:
                    if reader.line_num <= self.line or not any(cell.strip() for cell in row):
                        continue
                    if len(row) > width and not any(cell.strip() for cell in row[width:]):
                        row = row[:width]
                    if len(row) != width:
                        message = f"has {len(row)} cells; the header in line {self.line} has {width}"
                        raise Wrong(reader.line_num, message + self._comma_hint())
                    yield reader.line_num, [cell.strip() for cell in row]
            except csv.Error as error:
                raise Wrong(reader.line_num, f"cannot be read as a table: {error}") from None

    def _comma_hint(self) -> str:
        return "; with decimal commas, separate cells by semicolons" if self.separator == "," else ""

    def columns(self, *wanted: int) -> tuple[NDArray[np.int64], list[Column]]:
        """Lines, and the cells of some columns.

        Raises
        ------
        Wrong
            No rows, or a cell in those columns that is too long.
        """
        lines: array[int] = array("q")
        packed: list[list[NDArray[np.bytes_]]] = [[] for _ in wanted]
        rows = self.rows()
        while block := [*islice(rows, _BLOCK)]:
            lines.extend(line for line, _ in block)
            for column, position in zip(packed, wanted, strict=True):
                cells = np.array([row[position].encode() for _, row in block])
                if cells.itemsize > _LONGEST_CELL:
                    line, row = max(block, key=lambda of: len(of[1][position].encode()))
                    raise Wrong(line, f"{quoted(row[position])} is longer than {_LONGEST_CELL} bytes")
                column.append(cells)
        if not lines:
            raise Wrong(self.line, "no rows below the header")
        return np.array(lines), [Column(blocks) for blocks in packed]

    def column(self, name: str) -> int:
        """Position of a column by its name.

        Raises
        ------
        Wrong
            Not there, or there twice.
        """
        if (count := self.header.count(name)) != 1:
            raise Wrong(self.line, f"the column {quoted(name)} stands {count} times; {self.named()}")
        return self.header.index(name)

    def named(self) -> str:
        """The columns as shown in a sentence."""
        return "the columns are " + ", ".join(map(quoted, self.header[:20]))

    def guess(self, what: str, fits: Callable[[str], bool], how: str) -> int:
        """The one column whose first rows all fit.

        Raises
        ------
        Wrong
            None fits, or several do.
        """
        rows = [row for _, (_, row) in zip(range(_LOOKED_AT), self.rows(), strict=False)]
        found = [i for i in range(len(self.header)) if rows and all(fits(row[i]) for row in rows)]
        if len(found) != 1:
            state = f"{len(found)} columns hold" if found else "no column holds"
            raise Wrong(self.line, f"{state} {what}; name it with {how}; {self.named()}")
        return found[0]


def unit_in(header: str) -> str:
    """The unit that a header such as "Load (kW)" names; empty when none, or more than one."""
    found = {_SPELT.get(u.lower(), u.lower().rstrip("s")) for u in _UNIT.findall(header.replace("³", "3"))}
    return found.pop() if len(found) == 1 else ""


def numbers(
    cells: Column,
    lines: NDArray[np.int64],
    separator: str,
    decimal: Decimal | None,
    problems: Problems,
    what: str,
) -> NDArray[np.float64]:
    """The numbers of a column, NaN for a blank cell.

    Raises
    ------
    Wrong
        A comma or point that may part thousands or decimals.
    """
    signs: list[Decimal] = [decimal] if decimal else list(_NUMBERS)
    read = {sign: np.fromiter((_number(cell, sign) for cell in cells), float, len(cells)) for sign in signs}
    written = np.fromiter((cell != "" for cell in cells), bool, len(cells))
    bad = {sign: np.flatnonzero(written & np.isnan(read[sign])) for sign in signs}
    sign = min(signs, key=lambda s: bad[s].size)
    if len(signs) == 2 and not any(rows.size for rows in bad.values()):
        unclear = np.flatnonzero(written & (read["."] != read[","]))
        if unclear.size and (separator != "," or any("," in cell for cell in cells)):
            i = unclear[0]
            message = f"{what} {quoted(cells[i])} may be {read['.'][i]:g} or {read[','][i]:g}"
            raise Wrong(int(lines[i]), f"{message}; say decimal='.' or decimal=','")
    for i in np.union1d(bad[sign], np.flatnonzero(np.abs(read[sign]) > 1e15)):
        large = not np.isnan(read[sign][i])
        said = "is too large" if large else "is not a number; leave the cell blank if it is missing"
        problems.add(int(lines[i]), f"{what} {quoted(cells[i])} {said}")
    return read[sign]


@lru_cache(maxsize=1 << 14)
def _number(cell: str, sign: Decimal) -> float:
    """A number, NaN where it is none."""
    if not _NUMBERS[sign].fullmatch(cell):
        return math.nan
    return float(cell.replace("," if sign == "." else ".", "").replace(",", "."))


def _cells(line: str, separator: str) -> list[str]:
    try:
        return [cell.strip() for cell in next(csv.reader([line], delimiter=separator), [])]
    except csv.Error:
        return []


def _encoding(content: bytes) -> str:
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        wanted = "utf-16"
    else:
        wanted = "utf-8-sig"
    decoder = getincrementaldecoder(wanted)()
    try:
        for begin in range(0, len(content) + 1, 1 << 20):
            decoder.decode(content[begin : begin + (1 << 20)], begin + (1 << 20) > len(content))
    except UnicodeDecodeError:
        if wanted == "utf-16":
            raise Wrong(0, "is not text; save it as CSV in UTF-8") from None
        wanted = "latin-1"
    if b"\x00" in content[:1000] and wanted != "utf-16":
        raise Wrong(0, "is not text but a program's own file; export it as CSV")
    return wanted
