"""The command `bill`: worked bills, loads from files, and refusals in one line."""

from __future__ import annotations

import datetime
import json
from pathlib import Path
from types import SimpleNamespace
from zoneinfo import ZoneInfo

import pytest

from energy.cli import main

ROOT = Path(__file__).parents[1]
NEW_YORK = ZoneInfo("America/New_York")


@pytest.fixture
def billed(capsys):
    """Run the command: status, standard output, standard error."""

    def call(*arguments):
        try:
            status = main(["bill", *map(str, arguments)])
        except SystemExit as end:  # argparse
            status = end.code
        out, err = capsys.readouterr()
        return SimpleNamespace(status=status, out=out, err=err)

    return call


def intervals(begin, end, power, zone=NEW_YORK, minutes=15):
    """Readings in kW, stamped in UTC, of a function of the local time."""
    at, last = (datetime.datetime(*day, tzinfo=zone).astimezone(datetime.UTC) for day in (begin, end))
    rows = ["time,load (kW)"]
    while at < last:
        rows.append(f"{at:%Y-%m-%dT%H:%MZ},{power(at.astimezone(zone))!r}")
        at += datetime.timedelta(minutes=minutes)
    return "\n".join(rows) + "\n"


MONTH = {  # the hand calculation in the comment of each file
    "apparent-power-electricity": (1, 5885.67, "--energy", "30000 kWh", "--peak", "170 kW", "--power-factor", "0.85"),
    "block-gas": (6, 12529.75, "--energy", "1500 MMBtu", "--daily-peak", "70 MMBtu"),
    "flat-cooling": (6, 600.00, "--energy", "20000 kWh"),
    "flat-electricity": (6, 14840.00, "--energy", "100000 kWh", "--peak", "250 kW"),
    "flat-gas": (6, 10260.00, "--energy", "1200 MMBtu"),
    "flat-water": (6, 1174.75, "--volume", "150 m3"),
    "hours-use-electricity": (6, 10327.00, "--energy", "100 MWh", "--peak", "240 kW", "--power-factor", "80 %"),
}


@pytest.mark.common_practice("arithmetic done by hand from the prices in the files' comments")
@pytest.mark.parametrize("name", MONTH)
def test_worked_bill_of_each_demo_tariff(billed, name):
    month, total, *load = MONTH[name]
    done = billed(name, *load, "--year", 2026, "--month", month, "--json")
    assert (done.status, done.err) == (0, "")
    made = json.loads(done.out)
    assert made["total"] == total
    assert made["currency"] == "USD"
    assert round(sum(line["amount"] for line in made["lines"]), 2) == total
    for line in made["lines"]:
        assert line["month"] == month
        assert line["clause"]
        assert line["quantity"] * line["rate"] == pytest.approx(line["amount"], abs=0.00501)
    assert any("invented" in caution for caution in made["cautions"])


@pytest.fixture
def june(tmp_path):
    """Readings whose June is that of the worked bill: 9,000 kWh and 120 kW on-peak, 31,000 kWh and 150 kW off-peak.

    June 2026 has 22 working days: 176 h on-peak and 544 h off-peak. One quarter hour of each holds the peak.
    """
    on, off = (9000 - 120 / 4) / (176 - 0.25), (31000 - 150 / 4) / (544 - 0.25)

    def power(at):
        peak = at.weekday() < 5 and 12 <= at.hour < 20
        if (at.day, at.minute) == (10, 0) and at.hour in (3, 15):
            return 120 if peak else 150
        return on if peak else off

    file = tmp_path / "june.csv"
    file.write_text(intervals((2026, 6, 1), (2026, 7, 1), power))
    return file


@pytest.mark.common_practice("arithmetic done by hand from the prices in the file's comment")
def test_worked_bill_by_time_of_use_from_readings(billed, june):
    done = billed("time-of-use-electricity", "--load", june, "--year", 2026, "--month", 6, "--json")
    assert (done.status, done.err) == (0, "")
    made = json.loads(done.out)
    assert {line["line"]: line["amount"] for line in made["lines"]} == {
        "Customer charge": 250.00,
        "Energy charge: summer on-peak": 1485.00,
        "Energy charge: off-peak": 2418.00,
        "Demand charge: summer on-peak": 1680.00,
        "Facility demand charge": 900.00,
        "Tax": 388.98,
    }
    assert made["total"] == 7121.98
    words = " ".join(made["cautions"])
    assert "11 other months" in words
    assert "taken to repeat itself" in words


def test_a_year_of_readings_gives_the_bill_of_the_constant_load_it_holds(billed, tmp_path):
    file = tmp_path / "even.csv"
    file.write_text(intervals((2026, 1, 1), (2027, 1, 1), lambda at: 400))
    read = billed("time-of-use-electricity", "--load", file, "--year", 2026)
    even = billed("time-of-use-electricity", "--constant", "400 kW", "--year", 2026)
    assert (read.status, read.err) == (0, "")
    assert read.out.replace("load of even.csv", "400 kW all year") == even.out


@pytest.mark.common_practice("arithmetic by hand: 12 x 90 + 365 x 24 x 400 x 0.115 + 12 x 400 x 13")
def test_the_year_line_by_line(billed):
    text = billed("flat-electricity", "--constant", "400 kW", "--year", 2026).out
    assert "January\n" in text
    assert "December\n" in text
    year = text.partition("The year\n")[2]
    assert [line.split()[:3] for line in year.splitlines()[1:5]] == [
        ["Customer", "charge", "1,080.00"],
        ["Energy", "charge", "402,960.00"],
        ["Demand", "charge", "62,400.00"],
        ["total", "466,440.00"],
    ]
    assert "Monthly rate, item 3: highest 15-minute demand of the month" in year


def test_gas_at_a_constant_power(billed):
    # By hand: 30 days x 24 h x 50 kW = 36,000 kWh of 293.07107 kWh/MMBtu: 122.84 MMBtu at 7.20.
    made = json.loads(billed("block-gas", "--constant", "50 kW", "--year", 2026, "--month", 6, "--json").out)
    gas = next(line for line in made["lines"] if line["line"].startswith("Gas"))
    assert (gas["unit"], gas["amount"]) == ("MMBtu", 884.43)
    assert gas["quantity"] == pytest.approx(36_000 / 293.07107, rel=1e-7)


def test_a_table_of_months(billed, tmp_path):
    file = tmp_path / "months.csv"
    file.write_text("month,kWh,kW\n" + "".join(f"{m},100000,250\n" for m in range(1, 13)))
    made = json.loads(billed("flat-electricity", "--load", file, "--year", 2026, "--json").out)
    assert made["total"] == 12 * 14_840
    spread = json.loads(billed("time-of-use-electricity", "--load", file, "--year", 2026, "--json").out)
    assert any("by month only" in caution for caution in spread["cautions"])


def test_green_button_readings_of_an_hour(billed, tmp_path):
    """30 kWh in every hour of January, 31 days: 22,320 kWh; hours hide the quarter-hour peak, which is told."""
    start = int(datetime.datetime(2026, 1, 1, 5, tzinfo=datetime.UTC).timestamp())
    period = "<timePeriod><duration>3600</duration><start>{}</start></timePeriod>"
    rows = "".join(
        f"<IntervalReading>{period.format(start + 3600 * h)}<value>30</value></IntervalReading>" for h in range(744)
    )
    file = tmp_path / "meter.xml"
    file.write_text(
        "<feed><entry><content><ReadingType><powerOfTenMultiplier>3</powerOfTenMultiplier><uom>72</uom></ReadingType>"
        f"</content></entry><entry><content><IntervalBlock>{rows}</IntervalBlock></content></entry></feed>"
    )
    done = billed(
        *("flat-electricity", "--load", file, "--zone", "America/New_York", "--year", 2026, "--month", 1, "--json")
    )
    assert (done.status, done.err) == (0, "")
    made = json.loads(done.out)
    assert [line["quantity"] for line in made["lines"]] == pytest.approx([1, 22_320, 30])
    assert any("highest 15 minutes, the readings show only 60" in caution for caution in made["cautions"])


@pytest.mark.published(
    "Open utility rate database, record 59c15b22682bea5ac337b17a",
    where="constant 400 kW in June: 45 433.41",
    quoted="parts and sum computed in reference table; energy at its mean price",
)
def test_a_rate_record_and_what_of_it_is_not_taken_over(billed, tmp_path):
    day = [0] * 8 + [1] * 4 + [2] * 6 + [1] * 3 + [0] * 3
    record = {
        "name": "Time of use, secondary",
        "sector": "Commercial",
        "fixedchargefirstmeter": 709.65 / 30,
        "fixedchargeunits": "$/day",
        "flatdemandstructure": [[{"rate": 7992.00 / 400}]],
        "flatdemandmonths": [0] * 12,
        "demandratestructure": [[{"rate": 0}], [{"rate": 1328.00 / 400}], [{"rate": 3208.00 / 400}]],
        "demandweekdayschedule": [day] * 12,
        "demandweekendschedule": [day] * 12,
        "energyratestructure": [[{"rate": 32_195.76 / 288_000, "unit": "kWh"}]],
    }
    file = tmp_path / "rate.json"
    file.write_text(json.dumps({"items": [record]}))
    done = billed(file, "--constant", "400 kW", "--year", 2026, "--month", 6)
    assert (done.status, done.err) == (0, "")
    assert "45,433.41" in done.out
    assert "Not taken over from the rate record: sector." in done.out


EVEN = ("--constant", "400 kW")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("flat-electricity",), "give the load in one way: --load FILE.csv, --constant"),
        (("flat-electricity", *EVEN, "--peak", "9 kW"), "give the load in one way"),
        (("flat-electricty", *EVEN), "did you mean 'flat-electricity'?"),
        (("none.toml", *EVEN), "none.toml: there is no such file"),
        (("none.json", *EVEN), "none.json: cannot be read"),
        (("flat-electricity", "--constant", "400"), "--constant: '400' has no unit"),
        (("flat-electricity", "--constant", "-4 kW"), "--constant: '-4 kW' is negative"),
        (("flat-water", "--constant", "4 kW"), "--constant: '4 kW' is not an actual volume flow"),
        (("flat-electricity", *EVEN, "--month", "13"), "--month: 13 is not a month; write 1 to 12"),
        (("flat-electricity", *EVEN, "--power-factor", "1.2"), "--power-factor: '1.2' must be above 0"),
        (("flat-electricity", *EVEN, "--column", "kW"), "--column says how a file of readings is read"),
        (
            ("hours-use-electricity", *EVEN),
            "hours-use-electricity: charge 'demand' (Demand charge) needs the power factor or reactive energy, which this load "
            "does not have; give --power-factor",
        ),
        (
            ("flat-electricity", "--peak", "9 kW"),
            "(Energy charge) needs the energy, which this load does not have; give --energy",
        ),
        (("block-gas", "--energy", "9 MMBtu"), "which this load does not have; give --daily-peak"),
        (("flat-electricity", "--load", "none.csv"), "none.csv: there is no such file"),
        (("flat-electricity", "--load", "."), ".: is a folder or a device; give a file"),
    ],
)
def test_bad_input_is_one_line(billed, tmp_path, monkeypatch, arguments, said):
    monkeypatch.chdir(tmp_path)
    done = billed(*arguments, "--year", 2026)
    assert (done.status, done.out) == (2, "")
    assert said in done.err
    assert done.err.count("\n") == 1


def test_a_year_that_cannot_be_billed(billed):
    done = billed("flat-electricity", *EVEN, "--year", 20)
    assert (done.status, done.err) == (2, "year = 20 is outside 1970 to 2099\n")


@pytest.mark.parametrize(
    ("change", "options", "said"),
    [
        (lambda t: t.replace("Z,", ","), (), "say --zone 'UTC', or the zone of the clock they show"),
        (lambda t: t.replace("Z,", "-06:00,"), (), "say --zone 'America/Chicago' or the zone of your clock"),
        (lambda t: t, ("--zone", "America/Chikago"), "did you mean 'America/Chicago'?"),
        (lambda t: t.replace("(kW)", ""), ("--zone", "UTC"), "name the column of figures with --column and --unit"),
        (lambda t: t, ("--column", "kWh", "--zone", "UTC"), "the column 'kWh'"),
        (
            lambda t: t.replace("\n2026-06-10T12:00Z,8", ""),
            ("--zone", "UTC"),
            "2026-06: lacks 0.25 h of readings: 2026-06-10T12:00Z",
        ),
        (lambda t: t.replace("T12:15Z", "T12:00Z", 1), ("--zone", "UTC"), "stands a second time"),
        (lambda t: t.replace(",8", ",eight", 1), ("--zone", "UTC"), "line 2: kW 'eight' is not a number"),
        (lambda t: t.replace(",8", ",-8"), ("--zone", "UTC"), "must be 0 or more"),
    ],
)
def test_bad_readings_are_told_with_file_and_place(billed, tmp_path, change, options, said):
    text = intervals((2026, 6, 1), (2026, 7, 1), lambda at: 8, zone=datetime.UTC)
    file = tmp_path / "plant.csv"
    file.write_text(change(text))
    done = billed("flat-electricity", "--load", file, "--year", 2026, "--month", 6, *options)
    assert (done.status, done.out) == (2, "")
    assert said in done.err
    assert "Traceback" not in done.err


def test_readings_of_another_year(billed, june):
    done = billed("time-of-use-electricity", "--load", june, "--year", 2025)
    assert (done.status, done.err.count("\n")) == (2, 1)
    assert "12 months have no readings, which run from 2026-06-01" in done.err


def test_readings_too_long_for_the_prices(billed, tmp_path):
    file = tmp_path / "days.csv"
    file.write_text(intervals((2026, 1, 1), (2027, 1, 1), lambda at: 8, zone=datetime.UTC, minutes=1440))
    done = billed("time-of-use-electricity", "--load", file, "--year", 2026, "--zone", "UTC")
    assert done.status == 2
    assert "Traceback" not in done.err
