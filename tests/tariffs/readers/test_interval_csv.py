"""Interval readings as text tables: what is understood, what has two meanings, and what must be refused."""

from __future__ import annotations

from contextlib import suppress
from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from energy.errors import CaseError, EnergyError
from energy.tariffs.readers import read_interval_csv

KWH = 3.6e6
UTC_HEAD = "time,kW\n"


def at(text: str) -> int:
    return int(datetime.fromisoformat(text).timestamp())


@pytest.fixture
def read(tmp_path):
    def reading_of(text, **options):
        file = tmp_path / "plant.csv"
        file.write_bytes(text if isinstance(text, bytes) else text.encode())
        return read_interval_csv(file, **options)

    return reading_of


def refusal(read, text, **options):
    with pytest.raises(CaseError) as error:
        read(text, **options)
    lines = str(error.value).splitlines()
    assert all("plant.csv: " in line for line in lines)
    return "\n".join(line.partition("plant.csv: ")[2] for line in lines)


# ------------------------------------------------------------------------------------------------ what is understood


def test_power_and_energy(read):
    # 100 kW and 300 kW for a quarter of an hour: 25 + 75 kWh.
    power = read("time,Load (kW)\n2026-01-01T00:00Z,100\n2026-01-01T00:15Z,300\n")
    energy = read("time,Energy [kWh]\n2026-01-01T00:00Z,25\n2026-01-01T00:15Z,75\n")
    for series in (power, energy):
        assert series.total / KWH == pytest.approx(100)
        assert series.power.tolist() == [100e3, 300e3]
        assert series.start.tolist() == [at("2026-01-01T00:00Z"), at("2026-01-01T00:15Z")]
        assert series.step == pytest.approx(900)
        assert (series.notes, series.gaps, series.zone) == ((), (), None)


@pytest.mark.parametrize(
    ("text", "options"),
    [
        ("time;kW\n2026-01-01 06:00;1,5\n2026-01-01 06:15;2\n", {"zone": "UTC"}),
        ("time\tkW\n01.01.2026 06:00\t1,5\n01.01.2026 06:15\t2,0\n", {"zone": "UTC"}),
        ('time,kW\n"2026-01-01 06:00","1,5"\n"2026-01-01 06:15","2,0"\n', {"zone": "UTC"}),
        ("time,kW\n1/1/2026 12:00 AM,1.5\n1/1/2026 12:15 am,2\n", {"zone": "America/Chicago", "day_first": False}),
        ("time,kW\n2026-01-01T00:00:00-06:00,1.5\n2026-01-01T00:15:00.000-0600,2\n", {}),
        ("time,kW\n2026-01-01 00:15,2\n2026-01-01 00:00,1.5\n", {"zone": "America/Chicago"}),  # newest first
        ("time,kW\n2026-01-01 00:15,1.5\n2026-01-01 00:30,2\n", {"zone": "America/Chicago", "stamp": "end"}),
        ("time,MW\n2026-01-01T06:00Z,1.5e-3\n2026-01-01T06:15Z,.002\n", {}),
        ("time,x\n2026-01-01T06:00Z,1500\n2026-01-01T06:15Z,2000\n", {"unit": "W"}),
        ("a,time,kWh,kW\n7,2026-01-01T06:00Z,9,1.5\n7,2026-01-01T06:15Z,9,2\n", {"value": "kW"}),
        ("Plant 4\nmade 2026-02-01\n\nread,time,kW\n,2026-01-01T06:00Z,1.5\n,2026-01-01T06:15Z,2\n", {"time": "time"}),
        ("\r\ntime,kW\r\n2026-01-01T06:00Z,1.5\r\n\r\n2026-01-01T06:15Z,2,,\r\n", {}),
        ("\ufefftime,kW\n2026-01-01 06:00 UTC,1.5\n2026-01-01 06:15 UTC,2\n", {}),
        ("time,kW\n2026-01-01T06:00Z,1.5\n2026-01-01T06:15Z,2\n".encode("utf-16"), {}),
        ("Zählzeit,kW\n2026-01-01T06:00Z,1.5\n2026-01-01T06:15Z,2\n".encode("latin-1"), {}),
    ],
)
def test_spellings_of_the_same(read, text, options):
    series = read(text, **options)
    assert series.start.tolist() == [at("2026-01-01T06:00Z"), at("2026-01-01T06:15Z")]
    assert series.power == pytest.approx([1500, 2000])


def test_the_day_is_found_from_any_date_in_the_file(read):
    rows = "".join(f"{day}/3/2026,{day}\n" for day in range(1, 32))
    assert read(f"day;kWh\n{rows.replace(',', ';')}", zone="UTC").start[1] == at("2026-03-02T00:00Z")
    rows = "".join(f"3/{day}/2026,{day}\n" for day in range(1, 32))
    series = read(f"day,kWh\n{rows}", zone="UTC")
    assert series.start[1] == at("2026-03-02T00:00Z")
    assert series.total / KWH == pytest.approx(31 * 32 / 2)


def test_gas_and_water(read):
    assert read("t,therm\n2026-01-01T00:00Z,2\n2026-01-01T01:00Z,1\n", commodity="gas").total == pytest.approx(
        3 * 1.0550558526e8, rel=1e-9
    )
    water = read("t,m³\n2026-01-01T00:00Z,2\n2026-01-01T01:00Z,1\n", commodity="water")
    assert (water.total, water.counted, water.commodity) == (3, "volume", "water")


def test_blank_cells_and_missing_rows_are_gaps(read):
    rows = [f"2026-01-01T{h:02d}:00Z,{h}" for h in range(12) if h not in (3, 8)]
    rows[5] = rows[5].partition(",")[0] + ","  # six o'clock
    series = read(UTC_HEAD + "\n".join(rows))
    assert [(series.show(a)[11:13], series.show(b)[11:13]) for a, b in series.gaps] == [
        *(("03", "04"), ("06", "07"), ("08", "09"))
    ]
    assert series.notes == ("1 cell is blank and counts as a gap",)
    assert series.total / KWH == pytest.approx(sum(range(12)) - 3 - 6 - 8)


def test_negative_readings_are_said_with_size_and_time(read):
    """In half hours -5 kWh are -10 kW."""
    rows = [f"2026-01-01T{i // 2:02d}:{i % 2 * 30:02d}Z,{{}}" for i in range(6)]

    def said(*amounts):
        return read("time,kWh\n" + "\n".join(map(str.format, rows, amounts))).notes

    assert said(1, -5, 1, 1, 1, 1) == (
        "1 reading is negative: -5 kWh (-10 kW) at 2026-01-01T00:30Z; it is counted as it stands",
    )
    assert said(1, -5, 1, 1, 1, -0.5) == (
        "2 readings are negative: -5 kWh (-10 kW) at 2026-01-01T00:30Z, -0.5 kWh (-1 kW) at 2026-01-01T02:30Z; they are counted as they stand",
    )
    assert said(1, -2, -3, -7, 1, -4) == (
        "4 readings are negative, from 2026-01-01T00:30Z to 2026-01-01T02:30Z, the lowest -7 kWh (-14 kW) at 2026-01-01T01:30Z; "
        "they are counted as they stand",
    )
    assert said(1, 1, 0, 1, 1, 1) == ()


def test_negative_readings_of_gas_and_water_have_no_power(read):
    gas = read("t,kWh\n2026-01-01T00:00Z,2\n2026-01-01T01:00Z,-1.25\n", commodity="gas")
    assert gas.notes == ("1 reading is negative: -1.25 kWh at 2026-01-01T01:00Z; it is counted as it stands",)
    water = read("t,m³\n2026-01-01T00:00Z,2\n2026-01-01T01:00Z,-1\n", commodity="water")
    assert water.notes == ("1 reading is negative: -1 m³ at 2026-01-01T01:00Z; it is counted as it stands",)


# ------------------------------------------------------------------------------------------------ the clock changes


@pytest.mark.parametrize(
    ("zone", "first"),
    [
        ("America/Chicago", "2026-10-31T12:00Z"),
        ("America/Chicago", "2026-03-07T12:00Z"),
        ("Europe/Berlin", "2026-10-24T12:00Z"),
        ("Europe/London", "2026-03-28T12:00Z"),
        ("Australia/Lord_Howe", "2026-04-04T06:00Z"),
        ("Australia/Lord_Howe", "2026-10-03T06:00Z"),
        ("Asia/Kolkata", "2026-03-07T12:00Z"),
    ],
)
@pytest.mark.parametrize("newest_first", [False, True])
def test_local_stamps_across_a_clock_change(read, zone, first, newest_first):
    start = at(first) + 900 * np.arange(192)  # two days
    rows = [f"{datetime.fromtimestamp(t, ZoneInfo(zone)):%Y-%m-%d %H:%M},{i}" for i, t in enumerate(start)]
    series = read(UTC_HEAD + "\n".join(rows[::-1] if newest_first else rows), zone=zone)
    assert series.start.tolist() == start.tolist()
    assert series.power.tolist() == [1e3 * i for i in range(192)]


def test_the_repeated_hour_is_known_by_offset_or_order_or_refused(read):
    rows = ["2026-11-01 00:00,1", "2026-11-01 01:00,2", "2026-11-01 01:00,3", "2026-11-01 02:00,4"]
    series = read(UTC_HEAD + "\n".join(rows), zone="America/New_York")
    assert np.diff(series.start).tolist() == [3600] * 3
    message = refusal(read, UTC_HEAD + "\n".join(rows[:1] + rows[2:]), zone="America/New_York")
    assert message == (
        "line 3: 2026-11-01 01:00 occurs twice in America/New_York and the file does not show which is meant: "
        "it stands once; write stamps with an offset, or in UTC"
    )
    rows[1:2] *= 2
    assert "it stands more than twice" in refusal(read, UTC_HEAD + "\n".join(rows), zone="America/New_York")
    told = "2026-11-01T00:00-04:00,1\n2026-11-01T01:00-05:00,3\n"
    assert read(UTC_HEAD + told, step=3600).gaps == ((at("2026-11-01T05:00Z"), at("2026-11-01T06:00Z")),)


def test_an_hour_that_does_not_exist(read):
    text = UTC_HEAD + "2026-03-08 01:00,1\n2026-03-08 02:00,1\n2026-03-08 03:00,1\n"
    message = "line 3: 2026-03-08 02:00 does not exist in America/New_York: the clock is moved forward over it"
    assert refusal(read, text, zone="America/New_York") == message
    assert read(text, zone="UTC").start.size == 3


# --------------------------------------------------------------------------------------------------- what is refused

ROWS = "2026-01-01T00:00Z,1\n2026-01-01T00:15Z,2\n2026-01-01T00:30Z,3\n"


@pytest.mark.parametrize(
    ("text", "options", "message"),
    [
        ("", {}, "is empty"),
        ("\n\n", {}, "is empty"),
        ("just text\n", {}, "line 1: must name the columns, separated by commas, semicolons or tabs"),
        ("time,kW\n", {}, "line 1: no column holds a date and time in every row; name it with time="),
        ("time,kW\n", {"time": "time"}, "line 1: no rows below the header"),
        (
            UTC_HEAD + ROWS,
            {"time": "Time"},
            "no line at the top has the column 'Time'; the first line has 'time', 'kW'",
        ),
        (UTC_HEAD + ROWS, {"zone": "Nowhere"}, "zone: 'Nowhere' is not a time zone"),
        ("a,b,kW\n2026-01-01,2026-01-02,1\n", {}, "line 1: 2 columns hold a date and time in every row"),
        ("time,kW,kWh\n2026-01-01T00:00Z,1,1\n", {}, "line 1: 2 columns name a unit; name the column"),
        ("time,a,b\n2026-01-01T00:00Z,1,1\n", {}, "no column names one unit such as kW or kWh"),
        ("time,kW\n2026-01-01T00:00Z,1\n", {"unit": "kWh"}, "names kW, but unit='kWh' is asked for"),
        ("time,x\n2026-01-01T00:00Z,1\n", {"unit": "degC"}, "'degC' is not a unit of energy, power or volume"),
        ("time,x\n2026-01-01T00:00Z,1\n", {"value": "x"}, "line 1: the header 'x' names no unit"),
        ("time,kW,kW\n2026-01-01T00:00Z,1,1\n", {"value": "kW"}, "the column 'kW' stands 2 times"),
        (UTC_HEAD + ROWS + "2026-01-01T00:45Z,1,5\n", {}, "line 5: has 3 cells; the header in line 1 has 2"),
        (UTC_HEAD + ROWS + "Total,6\n", {"time": "time"}, "line 5: 'Total' is not a date and time"),
        (UTC_HEAD + ROWS + "2026-02-30T00:45Z,6\n", {}, "line 5: '2026-02-30T00:45Z' has no such day"),
        (UTC_HEAD + ROWS + "2026-01-01T25:00Z,6\n", {}, "line 5: '2026-01-01T25:00Z' has no such time of day"),
        (UTC_HEAD + ROWS + "1026-01-01T00:45Z,6\n", {}, "has a year outside 1970 to 2099"),
        (UTC_HEAD + ROWS + "2026-01-01T00:45+99:00,6\n", {}, "has an offset of more than 15 h"),
        (UTC_HEAD + ROWS + "2026-01-01T00:45,6\n", {}, "line 5: stamps with and without an offset are mixed"),
        (UTC_HEAD + "2026-01-01 00:00,1\n", {}, "line 2: the stamps have no offset; say zone='UTC', or the zone"),
        (UTC_HEAD + "3/8/2026 00:00,1\n", {"zone": "UTC"}, "'3/8/2026 00:00' may have the day or the month first"),
        (UTC_HEAD + "13/8/2026,1\n8/13/2026,1\n", {"zone": "UTC"}, "some dates have the day first and some the month"),
        (UTC_HEAD + "2026-01-01T00:00Z,1\n", {}, "one row does not show how long an interval is; say step="),
        (
            UTC_HEAD + ROWS + "2026-01-01T00:30Z,4\n",
            {},
            "line 5: the time 2026-01-01 00:30 UTC stands a second time (line 4)",
        ),
        (
            UTC_HEAD + ROWS + "2026-01-01T00:20Z,4\n",
            {},
            "line 5: the time 2026-01-01 00:20 UTC is earlier than the one",
        ),
        (
            UTC_HEAD + ROWS + "2026-01-01T00:40Z,4\n",
            {},
            "line 5: intervals of 600 s among those of 900 s: the steps are",
        ),
        (
            UTC_HEAD + ROWS + "".join(f"2026-01-01T0{h}:30Z,4\n" for h in range(1, 3)),
            {},
            "line 6: intervals of 3600 s among those of 900 s: the steps are mixed",
        ),
        (UTC_HEAD + ROWS, {"step": 3600}, "intervals of 900 s among those of 3600 s"),
        (UTC_HEAD + ROWS, {"step": -900}, "intervals of -900 s are not possible"),
        (UTC_HEAD + ROWS + "2026-01-01T00:45Z,n/a\n", {}, "line 5: kW 'n/a' is not a number; leave the cell blank"),
        (UTC_HEAD + ROWS + "2026-01-01T00:45Z,nan\n", {}, "line 5: kW 'nan' is not a number"),
        (UTC_HEAD + ROWS + "2026-01-01T00:45Z,e5\n", {}, "line 5: kW 'e5' is not a number"),
        (UTC_HEAD + ROWS + "2026-01-01T00:45Z,1e999\n", {}, "line 5: kW '1e999' is too large"),
        (UTC_HEAD + "2026-01-01T00:00Z,\n2026-01-01T00:15Z,\n", {}, "all cells of the column 'kW' are blank"),
        (
            "time;kW\n2026-01-01T00:00Z;1,234\n",
            {},
            "line 2: kW '1,234' may be 1234 or 1.234; say decimal='.' or decimal=','",
        ),
        (b"PK\x03\x04\x00\x00\x00\x00,\x00", {}, "is not text but a program's own file; export it as CSV"),
        (b"\xff\xfe\x00", {}, "is not text; save it as CSV in UTF-8"),
        (
            'time,kW\n"' + "x" * 200_000 + "\n",
            {"time": "time"},
            "cannot be read as a table: field larger than field limit",
        ),
    ],
)
def test_what_is_refused(read, text, options, message):
    assert message in refusal(read, text, **options)


def test_told_meanings_are_taken(read):
    text = "time;kW\n3/8/2026 00:00;1,234\n3/8/2026 01:00;2,345\n"
    us = read(text, zone="UTC", day_first=False, decimal=".")
    assert (us.start[0], us.power[0]) == (at("2026-03-08T00:00Z"), 1.234e6)
    europe = read(text, zone="UTC", day_first=True, decimal=",")
    assert (europe.start[0], europe.power[0]) == (at("2026-08-03T00:00Z"), 1234)
    rows = "".join(f"2026-01-01T0{h}:30Z,4\n" for h in range(1, 3))
    assert len(read(UTC_HEAD + ROWS + rows, step=900).gaps) == 2


def test_a_large_file_is_refused_unread(tmp_path):
    file = tmp_path / "plant.csv"
    with file.open("wb") as stream:
        stream.truncate(200_000_000)
    with pytest.raises(CaseError, match="has 200 MB; at most 50 MB are read"):
        read_interval_csv(file)


def test_many_problems_stop_the_reading(read):
    message = refusal(read, UTC_HEAD + "2026-01-01T00:00Z,x\n" * 1000)
    assert len(message.splitlines()) == 21


GOOD = "time;Load (kW)\n" + "".join(f"2026-11-01 {h:02d}:{m};{h},{m}\n" for h in (0, 1, 1, 2) for m in (10, 30, 50))
PIECES = st.sampled_from(["", ";", ",", '"', "\n", "-", "9" * 20, "e5", "\x00", "Z", "+05:00", "13", "٣", "\ud7ff"])


@given(st.lists(st.tuples(st.integers(0, len(GOOD)), st.integers(0, 20), PIECES), min_size=1, max_size=4))
@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_a_damaged_file_gives_an_error_in_words(read, damage):
    text = GOOD
    for place, length, piece in damage:
        text = text[:place] + piece + text[place + length :]
    with suppress(EnergyError):  # any other error fails
        series = read(text, zone="America/Chicago")
        assert (np.diff(series.start) >= series.step[:-1]).all()
        series.windows(60)


@given(st.sets(st.integers(1, 94), max_size=60))
@settings(max_examples=50, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_removed_rows_are_gaps_and_never_filled(read, removed):
    start = at("2026-01-01T00:00Z") + 900 * np.arange(96)
    rows = [f"{datetime.fromtimestamp(t, ZoneInfo('UTC')):%Y-%m-%dT%H:%MZ},{i}" for i, t in enumerate(start)]
    series = read(UTC_HEAD + "\n".join(r for i, r in enumerate(rows) if i not in removed), step=900)
    assert series.total == pytest.approx(900e3 * sum(i for i in range(96) if i not in removed))
    assert {i for a, b in series.gaps for i in range((a - start[0]) // 900, (b - start[0]) // 900)} == removed
