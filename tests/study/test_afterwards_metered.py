"""The check afterwards: the saving in per cent, a verdict on what was metered, weeks of little work, before and after changed about."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import pytest

from energy.cli import main
from energy.errors import CaseError
from energy.reports import afterwards as told
from energy.study.afterwards import periods
from energy.study.case import load_case
from energy.study.compare import compare

BEFORE = [(7, 21500, 3250), (7, 22400, 3380), (7, 19800, 3000), (7, 22800, 3440)]
"""Days, kg, kWh: about 151 Wh/kg, with next to no base load."""
LOADED = [(7, 15000, 2770), (7, 17100, 2960), (7, 16300, 2890), (7, 18700, 3115)]
"""About 1,400 kWh of base load in a week and 92 Wh/kg."""
AFTER = [(7, 22000, 1985), (7, 20900, 1905), (7, 22700, 2040), (7, 21500, 1950)]


@pytest.fixture(scope="module")
def demo():
    return compare(load_case("demo"))


def rows_of(before, after):
    return [
        {"when": when, "days": float(days), "resin": f"{kg} kg", "electricity": f"{kwh} kWh"}
        for when, weeks in (("before", before), ("after", after))
        for days, kg, kwh in weeks
    ]


def checked(demo, before=BEFORE, after=AFTER):
    return told.check(demo, periods(rows_of(before, after), "weeks.csv"))


# ---------- per cent ----------


def test_the_saving_is_told_in_per_cent_of_what_was_expected_beside_that_of_the_request(demo):
    multiples = [(7, kg, 0.15 * kg) for kg in (15000, 17100, 16300, 18700)]
    found = checked(demo, multiples, [(7, kg, 0.105 * kg) for kg in (15100, 17300, 16100)])
    # By hand: 0.105 of 0.15 kWh/kg leave 30 %; class 1 meters alone are off by 1 % of hypot(1, 0.7) of it: 1.2 %.
    present, proposed = (
        o.carrier("electricity") for o in (demo.baseline, demo.option("Central wheel, variable speed"))
    )
    first, *rest = told.sentences(found, "USD")
    assert first.startswith("Failed: the meters show 30.0 % ± 1.2 % less energy than would have been taken, worth ")
    assert "(39.0 % less)" in first
    line = next(line for line in rest if line.startswith("Electricity"))
    assert "kWh saved, 30.0 % ± 1.2 % of what was expected, where the request forecasts 39.0 % (before, " in line
    said = json.loads(told.to_json(found, "USD"))
    for of in (said, said["carriers"]["electricity"]):
        assert of["saved_share"] == pytest.approx(0.30, abs=1e-6)
        assert of["saved_share_half_width"] == pytest.approx(0.01 * (1 + 0.7**2) ** 0.5, rel=1e-3)
        assert of["forecast_saved_share"] == pytest.approx(1 - proposed / present, abs=1e-9)


def test_more_energy_than_before_is_said_to_be_more(demo):
    first = told.sentences(checked(demo, after=[(7, kg, 0.181 * kg) for _, kg, _ in AFTER]), "USD")[0]
    assert "% more energy than would have been taken, which costs " in first
    assert "-" not in first


def test_a_carrier_that_was_not_taken_before_has_no_per_cent(demo):
    none = [(days, kg, 0) for days, kg, _ in BEFORE]
    found = checked(demo, before=none)
    assert found.share() is None
    assert "the meters show a saving of -" in told.sentences(found, "USD")[0]


# ---------- what the verdict rests on ----------


def test_where_nothing_was_saved_the_headline_is_what_the_meters_show(demo):
    same = [(7, kg, 0.151 * kg) for _, kg, _ in AFTER]
    found = checked(demo, after=same)
    first, second = told.sentences(found, "USD")[:2]
    assert found.word == "failed"
    assert first.startswith("Failed: the meters show 0.")
    said = json.loads(told.to_json(found, "USD"))
    digits = f"{said['credited_not_metered']:.3g}"
    credited = f"{float(digits):,.0f}"
    assert second.startswith(f"Not metered, and credited beside it as forecast: {credited} USD a year. With it the ")
    assert credited not in first
    assert said["metered_saving"] == pytest.approx(found.money["electricity"])
    assert abs(said["metered_saving"]) < 300.0
    assert said["credited_not_metered"] == pytest.approx(found.total - found.money["electricity"])


def test_the_headline_says_what_was_metered_and_after_it_what_stands_as_forecast(demo):
    found = checked(demo, after=[(7, kg, 0.146 * kg) for _, kg, _ in AFTER])
    first, second = told.sentences(found, "USD")[:2]
    metered = float(re.search(r"worth ([-\d,.]+) USD ±", first)[1].replace(",", ""))
    rest, total = (
        float(re.search(words, second)[1].replace(",", ""))
        for words in (
            r"^Not metered, and credited beside it as forecast: ([-\d,.]+) USD",
            r"adjusted saving is ([-\d,.]+) USD",
        )
    )
    assert metered == pytest.approx(found.money["electricity"], rel=5e-3)
    assert rest == pytest.approx(sum(found.forecast.values()), rel=5e-3)
    assert metered + rest == pytest.approx(total, rel=1e-2)
    alone = replace(found, forecast={})  # all of it metered
    assert "of what meters show" not in told.sentences(alone, "USD")[0]
    assert not [line for line in told.sentences(alone, "USD") if line.startswith("Not metered")]


def test_a_request_that_would_pay_by_what_is_credited_alone_is_not_passed_by_it(demo):
    same = [(7, kg, 0.151 * kg) for _, kg, _ in AFTER]
    found = checked(demo, after=same)
    low = replace(found, needed=6_000.0)  # less than the 7,160 USD that no meter shows
    assert low.total - low.doubt > low.needed
    assert low.word == "not decided"
    assert told.sentences(low, "USD")[0].startswith(
        "Not decided by these meters, since what was needed is reached only with what no meter shows: the meters show 0."
    )
    # By hand: 6,000 of 13,146 USD needed are 45.6 %, and as much of what meters were to show is asked of them.
    assert low.asked == pytest.approx(6_000 / low.expected * (low.expected - low.credited))
    # Metered as forecast, it is passed.
    assert replace(checked(demo), needed=6_000.0).word == "passed"


def test_upkeep_that_rises_is_asked_of_the_meters_besides(demo):
    found = checked(demo)
    dearer = replace(found, forecast={"maintenance": -1_000.0}, expected=5_000.0, needed=3_000.0)
    # By hand: 3,000 needed in all and 1,000 more to pay for upkeep; 60 % of the 6,000 forecast of meters are 3,600.
    assert dearer.asked == pytest.approx(4_000.0)


# ---------- weeks of little work ----------


def test_a_week_with_holidays_decides_and_is_noted(demo):
    quiet = [*AFTER, (7, 5000, 480)]  # 29.8 kg/h where the request counts 101, at 96 Wh/kg
    found = checked(demo, after=quiet)
    assert found.far == ()
    [line] = [line for line in found.beyond if "period 5 of those after" in line.lower()]
    # By hand: 5,000 kg in 168 h are 29.8 kg/h; the median of the five weeks is 21,500 kg, 128 kg/h.
    assert line.startswith(
        "Period 5 of those after: 29.8 kg/h dried on the mean of all hours, in others 128 kg/h, with energy to match. It counts as one of little work"
    )
    assert not [line for line in found.beyond if line.startswith("Check")]


def test_a_week_of_which_part_was_standby_takes_more_for_a_kilogram_and_decides(demo):
    found = checked(demo, before=LOADED, after=[*AFTER, (7, 2500, 860)])  # 344 Wh/kg, and under half of others' kWh
    assert found.far == ()
    [line] = [line for line in found.beyond if line.startswith("Period 5 of those after: 14.9 kg/h")]
    assert "give it only the days in which they ran" in line


@pytest.mark.parametrize(
    "week",
    [
        (7, 2150, 1950),  # a tenth of its resin, all of its energy
        (70, 21500, 1950),  # ten times its days
        (7, 5000, 4800),  # little work, and ten times its energy
    ],
)
def test_a_slip_in_a_week_after_is_still_one(demo, week):
    found = checked(demo, after=[*AFTER, week])
    assert found.word == "not decided"
    assert any(line.startswith("Check period 5 of those after") for line in found.far)


def test_a_plant_at_a_quarter_of_its_load_in_all_weeks_is_asked_about(demo):
    found = checked(demo, after=[(7, kg / 4.2, kwh / 4.2) for _, kg, kwh in AFTER])
    assert [line[:45] for line in found.far] == [
        "Check period 1, 2, 3, 4 of those after: 29.6 "
    ]  # 20,900 kg over 4.2 in 168 h


@pytest.mark.parametrize("zero", ["0", "0,0", "0.00"])
def test_a_week_without_resin_is_told_what_to_do(tmp_path, capsys, zero):
    file = tmp_path / "weeks.csv"
    rows = [f"before;7;{kg};{kwh}" for _, kg, kwh in BEFORE] + [f"after;7;{zero};320", "after;7;22000;1985"]
    file.write_text("when;days;resin (kg);electricity (kWh)\n" + "\n".join(rows) + "\n")
    assert main(["verify", "demo", "--metered", str(file)]) == 2
    said = capsys.readouterr().err
    assert "must be more than 0 kg. A week that stood still is put together with the one beside it" in said


def test_resin_below_nothing_is_a_slip_of_sign():
    with pytest.raises(CaseError, match=r"must be more than 0 kg$"):
        periods(rows_of([(7, -0.5, 320)], []), "weeks.csv")


# ---------- before and after changed about ----------


def test_weeks_nearer_to_the_other_side_of_the_request_are_asked_about(demo):
    # By hand: 133,359 and 81,294 kWh for 880,464 kg are 151 and 92.3 Wh/kg; 105 and 165 are beyond 14.8 of them.
    new = [(7, kg, 0.109 * kg) for _, kg, _ in BEFORE]
    old = [(7, kg, 0.167 * kg) for _, kg, _ in AFTER]
    found = checked(demo, before=new, after=old)
    assert found.word == "failed"
    assert found.beyond[0] == (
        "Check the column when: the periods before take 109 Wh/kg in all and those after 167 Wh/kg, where the request counts 151 Wh/kg before and "
        "92.3 Wh/kg after. Are before and after changed about? If so, change them back and check again."
    )
    assert not [line for line in checked(demo, before=old, after=new).beyond if "changed about" in line]
