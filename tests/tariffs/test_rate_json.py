"""Rate records of the open utility rate database: published totals, traps, and what is left out by name."""

from __future__ import annotations

import json

import numpy as np
import pytest
from tariff_samples import KWH, in_june

from energy.errors import CaseError
from energy.tariffs import Load, bill, cross, load_from_periods, load_rate_json

TUTORIAL = ("Tutorial on writing utility rates in a public rate database",)


@pytest.fixture
def read(tmp_path):
    def reading(record, **options):
        file = tmp_path / "rate.json"
        file.write_text(record if isinstance(record, str) else json.dumps(record), encoding="utf-8")
        return load_rate_json(file, **options)

    return reading


def whole_day(period):
    return [[period] * 24] * 12


@pytest.mark.published(*TUTORIAL, where="12 a month and 500 kWh at 0.10: 62.00", quoted="read in reference table")
def test_one_price(read):
    rate, ignored = read(
        {
            "name": "A",
            "fixedchargefirstmeter": 12,
            "fixedchargeunits": "$/month",
            "energyratestructure": [[{"rate": 0.07, "adj": 0.03, "unit": "kWh"}]],
            "energyweekdayschedule": whole_day(0),
            "energyweekendschedule": whole_day(0),
        }
    )
    assert bill(rate, Load(energy=in_june(500 * KWH))).of_month(6).total == pytest.approx(62.00, abs=1e-9)
    assert ignored == ()


@pytest.mark.published(
    *TUTORIAL, where="500 at 0.08, 500 at 0.12, rest 0.15, 800 kWh, fixed 15: 91.00", quoted="read in reference table"
)
def test_cumulative_tiers(read):
    tiers = [{"max": 500, "rate": 0.08}, {"max": 1000, "rate": 0.12}, {"max": 1e38, "rate": 0.15}]
    rate, _ = read(
        {
            "fixedmonthlycharge": 15,
            "energyratestructure": [tiers],
            "energyweekdayschedule": whole_day(0),
            "energyweekendschedule": whole_day(0),
        }
    )
    assert bill(rate, Load(energy=in_june(800 * KWH))).of_month(6).total == pytest.approx(91.00, abs=1e-9)
    # 1200 kWh: 40 + 60 + 200 x 0.15 + 15, so the second limit is the sum of both blocks.
    assert bill(rate, Load(energy=in_june(1200 * KWH))).of_month(6).total == pytest.approx(145.00, abs=1e-9)


@pytest.mark.published(
    *TUTORIAL,
    where="700 kWh, fixed 15: 99.00 in July at 0.12, 71.00 in January at 0.08",
    quoted="read in reference table",
)
def test_seasons(read):
    schedule = [[1 if 5 <= month <= 8 else 0] * 24 for month in range(12)]
    rate, _ = read(
        {
            "fixedchargefirstmeter": 15,
            "energyratestructure": [[{"rate": 0.08}], [{"rate": 0.12}]],
            "energyweekdayschedule": schedule,
            "energyweekendschedule": schedule,
        }
    )
    made = bill(rate, Load(energy=np.full(12, 700 * KWH)))
    assert made.of_month(7).total == pytest.approx(99.00, abs=1e-9)
    assert made.of_month(1).total == pytest.approx(71.00, abs=1e-9)


def industrial():
    """An industrial record by time of use, its prices and hours as the database holds them.

    By hand, 400 kW at all hours: a day of June costs 400 x (15 x 0.10457 + 4 x 0.11742 + 5 x 0.12895) = 1073.192, thirty
    of them 32 195.76; a day of January 400 x (19 x 0.10741 + 5 x 0.12378) = 1063.876, 31 of them 32 980.16, which with
    7992.00 of flat demand and 31 x 23.65503 fixed makes 41 705.46: winter has no demand by time of use.
    """
    summer = [2] * 15 + [1] * 2 + [0] * 5 + [1] * 2
    winter = [4] * 17 + [3] * 5 + [4] * 2
    spring = [4] * 10 + [5] * 5 + [4] * 2 + [3] * 5 + [4] * 2
    energy = [*([winter] * 2), *([spring] * 3), *([summer] * 4), *([winter] * 2), spring]
    demand = [0] * 15 + [2] * 2 + [1] * 5 + [2] * 2
    demands = [*([[0] * 24] * 5), *([demand] * 4), *([[0] * 24] * 3)]
    return {
        "label": "59c15b22682bea5ac337b17a",
        "name": "Time of use, secondary",
        "sector": "Commercial",
        "fixedchargefirstmeter": 23.65503,
        "fixedchargeunits": "$/day",
        "flatdemandstructure": [[{"rate": 19.98}]],
        "flatdemandmonths": [0] * 12,
        "flatdemandunit": "kW",
        "demandratestructure": [[{"rate": 0}], [{"rate": 8.02}], [{"rate": 3.32}]],
        "demandweekdayschedule": demands,
        "demandweekendschedule": demands,
        "demandrateunit": "kW",
        "demandwindow": 15,
        "energyratestructure": [
            [{"rate": rate, "unit": "kWh"}] for rate in (0.12895, 0.11742, 0.10457, 0.12378, 0.10741, 0.06903)
        ],
        "energyweekdayschedule": energy,
        "energyweekendschedule": energy,
        "coincidentrateunit": "kW",
        "energycomments": "text",
    }


@pytest.mark.published(
    "Open utility rate database, record 59c15b22682bea5ac337b17a",
    where="constant 400 kW: June 45 433.41, January 41 705.46, a year of 365 days without daylight saving 502 691.90",
    quoted="rates read in the record; parts and sums computed in reference table",
)
def test_bills_of_an_industrial_record(read):
    rate, ignored = read({"items": [industrial()]})
    load = load_from_periods([400e3], cross(np.zeros(35_040, dtype=int), rate, 2026))
    made = bill(rate, load, rounded=True)
    june = {name: float(amount) for name, amount in made.of_month(6).by_charge().items()}
    assert june == {
        "fixed": 709.65,
        "energy": 32_195.76,
        "flat-demand-0": 7992.00,
        "demand-1": 3208.00,
        "demand-2": 1328.00,
    }
    assert float(made.of_month(6).total) == 45_433.41
    unrounded = bill(rate, load)  # each line rounded adds a cent to January
    assert unrounded.of_month(1).total == pytest.approx(41_705.46, abs=0.005)
    assert unrounded.total == pytest.approx(502_691.90, abs=0.005)
    assert ignored == (
        "coincidentrateunit: demand at the hour of the grid's peak is not known in a plant's load",
        "energycomments",
        "sector",
    )


def test_weekends_follow_their_own_schedule(read):
    record = industrial() | {"demandweekendschedule": whole_day(0)}
    rate, _ = read(record)
    weekend = np.isin((np.arange(35_040) // 96 + 3) % 7, [5, 6])  # 2026 began on a Thursday
    load = load_from_periods([0.0, 400e3], cross(weekend, rate, 2026))
    amounts = bill(rate, load).of_month(6).by_charge()
    assert (amounts["demand-1"], amounts["demand-2"]) == (0.0, 0.0)
    assert amounts["flat-demand-0"] == pytest.approx(7992)


@pytest.mark.common_practice("arithmetic by hand on the field notes of the database")
def test_ratchet_hours_use_fuel_minimum_and_dates(read):
    rate, ignored = read(
        {
            "startdate": 1_735_689_600,  # 2025-01-01
            "enddate": "2027-12-31T00:00:00",
            "energyratestructure": [[{"max": 200, "rate": 0.09, "unit": "kWh/kW"}, {"rate": 0.05, "unit": "kWh/kW"}]],
            "flatdemandstructure": [[{"rate": 8, "max": 100}, {"rate": 6}]],
            "lookbackPercent": 0.8,
            "lookbackRange": 11,
            "fueladjustmentsmonthly": [0.001] * 6 + [-0.002] * 6,
            "mincharge": 2000,
            "minchargeunits": "$/month",
            "annualmincharge": 5000,
            "demandratestructure": [[{"rate": 3}]],
        }
    )
    assert (str(rate.valid_from), str(rate.valid_to)) == ("2025-01-01", "2027-12-31")
    peak = in_june(250e3)
    made = bill(rate, Load(energy=in_june(60_000 * KWH), peak=peak), "steady")
    # June: 100 x 8 + 150 x 6; 200 h x 250 kW = 50,000 kWh at 0.09, 10,000 at 0.05; fuel 60,000 x 0.001.
    assert made.of_month(6).total == pytest.approx(800 + 900 + 4500 + 500 + 60)
    # July: 80 % of 250 kW = 200 kW: 800 + 600, and 600 more to the minimum of 2000.
    assert made.of_month(7).by_charge()["minimum"] == pytest.approx(600)
    assert ignored == (
        "annualmincharge: a minimum of the whole year",
        "demandratestructure: there is no schedule of its periods",
    )


@pytest.mark.parametrize(
    ("record", "said"),
    [
        ("{", "rate.json: cannot be read as JSON"),
        ("[]", "rate.json: items: there is no record number 1; it holds 0"),
        ({"name": "A"}, "rate.json: charges: "),
        ({"fixedchargefirstmeter": "ten"}, "fixedchargefirstmeter: 'ten' is not a number"),
        (
            {"fixedchargefirstmeter": 1, "fixedchargeunits": "$/hour"},
            "fixedchargeunits: '$/hour' is not $/day, $/month",
        ),
        ({"flatdemandstructure": [[{"rate": 1}]], "flatdemandunit": "kW daily"}, "flatdemandunit: 'kW daily' cannot"),
        (
            {"energyratestructure": [[{"rate": 1}]], "energyweekdayschedule": [[0]], "energyweekendschedule": [[0]]},
            "energyweekdayschedule: is not 12 rows of 24 periods",
        ),
        (
            {
                "energyratestructure": [[{"rate": 1}]],
                "energyweekdayschedule": whole_day(1),
                "energyweekendschedule": whole_day(0),
            },
            "energyweekdayschedule: names a period that energyratestructure does not have; it has 1",
        ),
        ({"energyratestructure": [[{"rate": 1, "unit": "kWh/hp"}]]}, "energyratestructure.0: unit 'kWh/hp' is not kWh"),
        ({"energyratestructure": [[{"rate": 1, "unit": "kWh/kW"}]]}, "kWh/kW needs a demand charge"),
        ({"fixedchargefirstmeter": 1, "startdate": "soon"}, "startdate: 'soon' is not a date"),
        ({"flatdemandstructure": [[{"rate": 1, "max": 5}, {"rate": 1, "max": 4}, {"rate": 1}]]}, "blocks must rise"),
        ({"fixedchargefirstmeter": 1, "demandwindow": 20}, "demand_window: 20 min is not allowed"),
        ({"fixedchargefirstmeter": 1, "demandwindow": "15 h"}, "demandwindow: '15 h' is not a number"),
        (
            {"fixedchargefirstmeter": 10**400},
            "fixedchargefirstmeter: 1000000000000000000000000000000000000000... is not",
        ),
        (
            {"energyratestructure": [[{"rate": 1, "max": "a"}, {"rate": 2}]]},
            "energyratestructure.0: 'a' is not a number",
        ),
        ({"energyratestructure": 3}, "energyratestructure: is not a list"),
        ({"fixedchargefirstmeter": 1, "fueladjustmentsmonthly": 7}, "fueladjustmentsmonthly: is not a list"),
        ({"flatdemandstructure": [[{"rate": 1}]], "flatdemandmonths": 1.5}, "flatdemandmonths: is not a list"),
        (
            {"flatdemandstructure": [[{"rate": 1}]], "demandratchetpercentage": ["all"]},
            "demandratchetpercentage: 'all' is not a number",
        ),
    ],
)
def test_records_that_cannot_be_used(read, record, said):
    with pytest.raises(CaseError) as error:
        read(record)
    assert said in str(error.value)
    assert all("rate.json" in line for line in str(error.value).splitlines())


def test_files_that_are_too_large_or_not_there(tmp_path, monkeypatch):
    with pytest.raises(CaseError, match="cannot be read: No such file"):
        load_rate_json(tmp_path / "none.json")
    monkeypatch.setattr("energy.tariffs.rate_json.LARGEST_FILE", 5)
    (tmp_path / "large.json").write_text("[1, 2, 3]", encoding="utf-8")
    with pytest.raises(CaseError, match="is larger than"):
        load_rate_json(tmp_path / "large.json")
