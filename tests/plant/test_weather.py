"""Weather files: two that another library ships, and one written here with known means and every kind of gap."""

from __future__ import annotations

import calendar
import importlib.util
from functools import cache
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from CoolProp.HumidAirProp import HAPropsSI
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from energy.air import water_vapour
from energy.errors import CaseError
from energy.plant import weather
from energy.plant.weather import HourlyWeather, monthly, read_epw, read_tmy3

GREENSBORO, SAND_POINT = "723170TYA.CSV", "703165TY.csv"
SHIPPED = "TMY3, National Solar Radiation Data Base, 1991-2005"
QUOTED = "computed with pandas and the Hyland-Wexler equations in the reference table"


def shipped(name: str) -> Path:
    """A data file of pvlib, found without importing it."""
    package = importlib.util.find_spec("pvlib")
    if package is None or not package.submodule_search_locations:
        pytest.skip("pvlib, whose weather files are read here, is not installed")
    return Path(package.submodule_search_locations[0]) / "data" / name


@pytest.fixture(scope="module")
def greensboro() -> HourlyWeather:
    return read_tmy3(shipped(GREENSBORO))


@pytest.fixture(scope="module")
def sand_point() -> HourlyWeather:
    return read_tmy3(shipped(SAND_POINT))


def celsius(kelvin: np.ndarray) -> np.ndarray:
    return kelvin - 273.15


# ----------------------------------------------------------------------------------------------- TMY3, shipped


@pytest.mark.published(SHIPPED, where="station 723170, Greensboro", quoted=QUOTED)
def test_greensboro(greensboro):
    assert celsius(greensboro.temperature).mean() == pytest.approx(14.422, abs=5e-4)
    assert celsius(greensboro.temperature).min() == pytest.approx(-16.7)
    assert celsius(greensboro.temperature).max() == pytest.approx(35.6)
    assert celsius(greensboro.dew_point).mean() == pytest.approx(8.180, abs=5e-4)
    assert greensboro.pressure.mean() == pytest.approx(98690, abs=5)
    assert (greensboro.location, greensboro.month.size) == ("GREENSBORO PIEDMONT TRIAD INT, NC", 8760)
    assert greensboro.source == "TMY3 file 723170TYA.CSV, station 723170"


@pytest.mark.published(SHIPPED, where="station 703165, Sand Point", quoted=QUOTED)
def test_sand_point(sand_point):
    assert celsius(sand_point.temperature).mean() == pytest.approx(4.421, abs=5e-4)
    assert sand_point.location == "SAND POINT, AK"


@pytest.mark.published(
    SHIPPED, where="humidity ratio, g/kg: mean, of Greensboro 99th percentile and highest", quoted=QUOTED
)
def test_humidity_ratio(greensboro, sand_point):
    # The table leaves out the enhancement factor: 1.0038 to 1.0040 at these dew points, a little more in the ratio.
    water = 1e3 * water_vapour.humidity_ratio(greensboro.dew_point, greensboro.pressure)
    for ours, ideal in ((water.mean(), 8.432), (np.percentile(water, 99), 18.10), (water.max(), 20.74)):
        assert ours == pytest.approx(1.004 * ideal, rel=3e-4)
    water = 1e3 * water_vapour.humidity_ratio(sand_point.dew_point, sand_point.pressure)
    assert water.mean() == pytest.approx(1.004 * 4.068, rel=3e-4)


@pytest.mark.published(
    "ASHRAE RP-1485, real-gas moist air", where="Greensboro, one hour in 40", quoted="computed with CoolProp"
)
def test_humidity_ratio_against_real_gas(greensboro):
    dew_point, pressure = greensboro.dew_point[::40], greensboro.pressure[::40]
    expected = [HAPropsSI("W", "T", d, "R", 1.0, "P", p) for d, p in zip(dew_point, pressure, strict=True)]
    # The fit of the enhancement factor is good to 0.07 %; the largest gap here is 0.041 %.
    assert water_vapour.humidity_ratio(dew_point, pressure) == pytest.approx(np.array(expected), rel=7e-4)


@pytest.mark.parametrize("name", [GREENSBORO, SAND_POINT])
def test_every_hour_agrees_with_another_reader(name):
    file = shipped(name)
    table, found = pd.read_csv(file, skiprows=1), read_tmy3(file)
    assert list(found.month) == [int(text[:2]) for text in table["Date (MM/DD/YYYY)"]]
    assert celsius(found.temperature) == pytest.approx(table["Dry-bulb (C)"].to_numpy(), abs=1e-9)
    assert celsius(found.dew_point) == pytest.approx(table["Dew-point (C)"].to_numpy(), abs=1e-9)
    assert found.pressure / 100 == pytest.approx(table["Pressure (mbar)"].to_numpy(), rel=1e-12)


def test_monthly_means_of_greensboro(greensboro):
    table = pd.read_csv(shipped(GREENSBORO), skiprows=1)
    by_month = table.groupby(table["Date (MM/DD/YYYY)"].str[:2].astype(int))
    temperature, dew_point = monthly(greensboro)
    assert celsius(temperature) == pytest.approx(by_month["Dry-bulb (C)"].mean().to_numpy(), abs=1e-9)
    assert (celsius(dew_point) > by_month["Dew-point (C)"].mean().to_numpy()).all()  # the curve is convex
    assert (dew_point < temperature).all()


# ------------------------------------------------------------------------------------------- EPW, written here

HEADERS = (
    "LOCATION,Erfundene Stadt,-,XXX,invented,000000,50.0,10.0,1.0,100.0",
    "DESIGN CONDITIONS,0",
    "TYPICAL/EXTREME PERIODS,0",
    "GROUND TEMPERATURES,0",
    "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
    "COMMENTS 1,written by a test",
    "COMMENTS 2,",
    "DATA PERIODS,1,1,Data,Monday,1/1,12/31",
)


@cache
def made(leap: bool) -> tuple[str, ...]:
    """Lines of a file: month m alternates between m - 2 and m + 2 degC, dew points 0 and 6 K below the colder."""
    lines = list(HEADERS)
    for month in range(1, 13):
        for day in range(1, calendar.monthrange(2024 if leap else 2023, month)[1] + 1):
            for hour in range(1, 25):
                warm = hour % 2
                values = (month + (2 if warm else -2), month - (2 if warm else 8), 50, 100000 + 10 * month)
                lines.append(",".join(map(str, (2023, month, day, hour, 60, "A7A7", *values, *[0] * 25))))
    return tuple(lines)


def epw(leap: bool = False) -> list[str]:
    return [*made(leap)]


def write(path: Path, lines: list[str], encoding: str = "utf-8", newline: str = "\n") -> Path:
    path.write_bytes((newline.join(lines) + newline).encode(encoding))
    return path


def with_field(line: int, field: int, text: str) -> list[str]:
    """The file with one field (1, 2, ...) of one line (1, 2, ...) replaced."""
    lines = epw()
    fields = lines[line - 1].split(",")
    fields[field - 1] = text
    lines[line - 1] = ",".join(fields)
    return lines


@pytest.mark.published(
    "ASHRAE RP-1485, real-gas moist air",
    where="mean of two humidity ratios, dew point of it",
    quoted="computed with CoolProp",
)
def test_epw_means(tmp_path):
    found = read_epw(write(tmp_path / "town.epw", epw()))
    assert (found.location, found.source) == ("Erfundene Stadt, XXX", "EPW file town.epw, invented, station 000000")
    temperature, dew_point = monthly(found)
    assert celsius(temperature) == pytest.approx(np.arange(1.0, 13.0), abs=1e-9)
    for month in range(1, 13):
        pressure = 100000.0 + 10 * month
        pair = [HAPropsSI("W", "T", 273.15 + t, "R", 1.0, "P", pressure) for t in (month - 2, month - 8)]
        expected = HAPropsSI("D", "T", 300.0, "W", sum(pair) / 2, "P", pressure)
        # The largest gap is 0.0009 K.
        assert dew_point[month - 1] == pytest.approx(expected, abs=0.002)


def test_epw_leap_year(tmp_path):
    found = read_epw(write(tmp_path / "leap.epw", epw(leap=True)))
    assert found.month.size == 8784
    assert np.count_nonzero(found.month == 2) == 29 * 24


@pytest.mark.parametrize(("encoding", "newline"), [("latin-1", "\r\n"), ("utf-8-sig", "\n"), ("utf-8", "\r")])
def test_encodings_and_line_ends(tmp_path, encoding, newline):
    lines = epw()
    lines[0] = lines[0].replace("Erfundene Stadt", "Dürrsee")
    assert read_epw(write(tmp_path / "x.epw", lines, encoding, newline)).location == "Dürrsee, XXX"


def test_files_with_32_columns_are_older_and_accepted(tmp_path):
    lines = epw()
    shorter = [*lines[:8], *(line.rsplit(",", 3)[0] for line in lines[8:])]
    assert read_epw(write(tmp_path / "old.epw", shorter)).month.size == 8760


def test_same_weather_in_both_formats(tmp_path, greensboro):
    lines = epw()
    values = zip(celsius(greensboro.temperature), celsius(greensboro.dew_point), greensboro.pressure, strict=True)
    for number, (temperature, dew_point, pressure) in enumerate(values, 8):
        fields = lines[number].split(",")
        fields[6:10] = [f"{temperature:.1f}", f"{dew_point:.1f}", "50", f"{pressure:.0f}"]
        lines[number] = ",".join(fields)
    again = read_epw(write(tmp_path / "same.epw", lines))
    for name in ("month", "temperature", "dew_point", "pressure"):
        assert getattr(again, name) == pytest.approx(getattr(greensboro, name), rel=1e-12)


# ----------------------------------------------------------------------------------------------------- refused

FIRST = 9  # line of 1 January, hour 1


def without(*lines: int) -> list[str]:
    return [text for number, text in enumerate(epw(), 1) if number not in lines]


@pytest.mark.parametrize(
    ("lines", "message"),
    [
        (with_field(1000, 7, "99.9"), "x.epw: line 1000: temperature '99.9' is the code for a missing value"),
        (with_field(1000, 8, "99.9"), "line 1000: dew point '99.9' is the code for a missing value"),
        (with_field(1000, 10, "999999"), "line 1000: pressure '999999' is the code for a missing value"),
        (with_field(1000, 10, "99.9"), "line 1000: pressure 99.9 Pa is outside 31000 to 120000 Pa"),
        (with_field(1000, 7, "-99"), "line 1000: temperature -99 degC is outside -70 to 70 degC"),
        (with_field(1000, 7, ""), "line 1000: temperature is empty"),
        (with_field(1000, 8, "cold"), "line 1000: dew point 'cold' is not a number"),
        (with_field(1000, 8, "nan"), "line 1000: dew point 'nan' is not a number"),
        (with_field(1000, 8, "1e999"), "line 1000: dew point '1e999' is not a number"),
        (with_field(1000, 8, "40"), "line 1000: dew point 40 degC is above the temperature"),
        (with_field(1000, 8, "4,4"), "line 1000: has 36 columns; 35 are needed"),
        (with_field(9, 8, "4,4"), "line 9: has 36 columns; 35 are needed"),
        (with_field(1000, 4, "x"), "line 1000: month, day and hour are '2, 11, x'; write numbers"),
        (
            without(1000),
            "line 1000: is month 2, day 11, hour 9 where month 2, day 11, hour 8 must stand.*8759 are there",
        ),
        (without(8768), "line 8768: month 12, day 31, hour 24 is missing; a year has 8760 hours"),
        ([*epw(), epw()[-1]], "line 8769: is more than the year"),
        ([*epw()[:500], epw()[500], *epw()[500:]], "line 502: is month"),
        ([*epw()[:500], "", *epw()[500:]], "line 501: has 1 columns"),
        (epw(leap=True)[:8000], "line 8001: month 11.* is missing; a year has 8784 hours"),
        (HEADERS, "line 9: month 1, day 1, hour 1 is missing"),
        (epw()[1:], "line 1: starts with 'DESIGN CONDITIONS'; line 1 of an EPW file starts with LOCATION"),
        (with_field(1, 2, "a, b"), "line 1: has 11 fields"),
        (with_field(8, 3, "4"), "line 8: says '4' for the number of records an hour"),
        (with_field(8, 2, "2"), "line 8: says '2' for the number of data periods"),
        ([*HEADERS[:7], "DATA PERIODS", *epw()[8:]], "line 8: says nothing for the number of data periods"),
        ([""], "line 1: starts with ''"),
    ],
)
def test_gaps_are_named_with_file_and_line(tmp_path, lines, message):
    with pytest.raises(CaseError, match=message):
        read_epw(write(tmp_path / "x.epw", lines))


@pytest.mark.parametrize(
    ("line", "old", "new", "message"),
    [
        (5, ",10.0,A,7,", ",-9900,?,0,", "line 5: temperature '-9900' is the code for a missing value"),
        (5, ",993,A,7,", ",-9900,?,0,", "line 5: pressure '-9900' is the code for a missing value"),
        (5, "03:00", "03:30", "line 5: '01/01/1988 03:30' is not MM/DD/YYYY and a full hour"),
        (5, "03:00", "04:00", "line 5: is month 1, day 1, hour 4 where month 1, day 1, hour 3 must stand"),
        (2, "Dew-point (C)", "Dew point", r"line 2: has no column 'Dew-point \(C\)'"),
        (1, "723170,", "", "line 1: has 6 fields"),
        (5, ",993,", ",993,1,", "line 5: has 72 columns; 71 are needed"),
    ],
)
def test_tmy3_gaps(tmp_path, line, old, new, message):
    lines = shipped(GREENSBORO).read_text(encoding="utf-8").splitlines()
    assert old in lines[line - 1]
    lines[line - 1] = lines[line - 1].replace(old, new, 1)
    with pytest.raises(CaseError, match=message):
        read_tmy3(write(tmp_path / "x.csv", lines))


def test_files_that_cannot_be_read(tmp_path):
    for path, message in (
        (tmp_path / "none.epw", "there is no such file"),
        (tmp_path, "is a folder"),
        (tmp_path / ("x" * 5000), "cannot be read|no such file"),
        ("a\0b", "cannot be read|no such file"),
    ):
        for read in (read_epw, read_tmy3):
            with pytest.raises(CaseError, match=message):
                read(path)
    large = tmp_path / "large.epw"
    with large.open("wb") as stream:
        stream.truncate(weather.LARGEST_FILE + 1)
    with pytest.raises(CaseError, match="is larger than 20 MB"):
        read_epw(large)


def test_one_format_is_not_the_other(tmp_path):
    with pytest.raises(CaseError, match="line 1 of a TMY3 file has 7"):
        read_tmy3(write(tmp_path / "x.epw", epw()))
    with pytest.raises(CaseError, match="line 1 of an EPW file starts with LOCATION"):
        read_epw(shipped(GREENSBORO))


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.integers(0, 20000), st.binary(max_size=40), st.booleans())
def test_damaged_files_are_read_or_refused(tmp_path, at, junk, cut):
    content = "\n".join(epw()[:200]).encode()
    at %= len(content)
    damaged = content[:at] + junk + (b"" if cut else content[at + len(junk) :])
    for read in (read_epw, read_tmy3):
        path = tmp_path / "damaged"
        path.write_bytes(damaged)
        with pytest.raises(CaseError, match="damaged: line"):  # 192 hours are never a year
            read(path)
