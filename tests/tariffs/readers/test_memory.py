"""Memory that reading a file takes: a few times its size, and nothing for one that is too large."""

from __future__ import annotations

import tracemalloc

import pytest

from energy.errors import CaseError
from energy.tariffs.readers import read_espi, read_interval_csv

ROWS = 24_000
START = 978_307_200  # 2001-01-01T00:00Z


def csv_text(rows):
    days = (f"2001-{m:02d}-{d:02d}" for m in range(1, 13) for d in range(1, 29))
    stamps = (f"{day}T{h:02d}:{m:02d}:{s:02d}Z" for day in days for h in range(24) for m in range(60) for s in (0, 30))
    lines = (f"{stamp},{i * 7919 % 1000 / 7:.2f}" for i, stamp in zip(range(rows), stamps, strict=False))
    return "time,kW\n" + "\n".join(lines)


def espi_text(rows):
    reading = (
        "<IntervalReading><cost>1</cost><timePeriod><duration>900</duration><start>{}</start></timePeriod>"
        "<value>{}</value><ReadingQuality><quality>17</quality></ReadingQuality></IntervalReading>\n"
    )
    rows = "".join(reading.format(START + 900 * i, i % 999) for i in range(rows))
    return (
        "<feed><entry><content><ReadingType><uom>72</uom></ReadingType></content></entry>"
        f"<entry><content><IntervalBlock>{rows}</IntervalBlock></content></entry></feed>"
    )


@pytest.mark.parametrize(("read", "text", "times"), [(read_interval_csv, csv_text, 7), (read_espi, espi_text, 1.5)])
def test_reading_takes_a_few_times_the_file(tmp_path, read, text, times):
    """Seen: 5 and 0.6 times; a list of strings takes 12 times, a tree of XML 20."""
    small, file = tmp_path / "small", tmp_path / "file"
    small.write_text(text(3))
    read(small)  # what is imported late
    file.write_text(text(ROWS))
    tracemalloc.start()
    try:
        found = read(file)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert (found[0] if isinstance(found, tuple) else found).start.size == ROWS
    assert peak < times * file.stat().st_size


@pytest.mark.parametrize("read", [read_interval_csv, read_espi])
def test_a_file_of_200_megabytes_is_refused_unread(tmp_path, read):
    file = tmp_path / "large"
    with file.open("wb") as stream:
        stream.truncate(200_000_000)
    tracemalloc.start()
    try:
        with pytest.raises(CaseError, match="large: has 200 MB; at most 50 MB are read, so split it"):
            read(file)
        assert tracemalloc.get_traced_memory()[1] < 1e6
    finally:
        tracemalloc.stop()
