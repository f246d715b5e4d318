"""A dryer too small for what runs through it, and readings that another unit or sign would explain."""

from __future__ import annotations

import copy
import json
import re

import pytest

from dashboards import walkthrough_cards as cards
from energy.reports import walkthrough as report
from energy.reports.walkthrough_json import to_json
from energy.study.case import build, load_case
from energy.walkthrough.walk import walk

COLD = "Too little air for so much resin"
AIR = {"air_flow": "80 m3/h at 0 degC", "process_temperature": "120 degC", "hall_temperature": "24 degC"}


def small(built_for="50 kg/h", **readings):
    """80 to 100 kg/h of PC through a dryer built for less, in a hall of 24 °C with a dew point of 12 °C."""
    document = copy.deepcopy(dict(load_case("one-machine").document))
    next(o for o in document["options"] if o.get("baseline"))["built_for"] = built_for
    case = build({**document, "readings": [{"hopper": "Machine 7", **readings}]})
    return walk(case, case.model.readings[0])


def demo(**readings):
    """The demo plant, whose load is stated by months, 520 to 590 kW at most, with a power at one of its dryers."""
    document = load_case("demo").document
    case = build({**document, "readings": [{**document["readings"][0], **readings}]})
    return walk(case, case.model.readings[0])


def found(made, name=COLD):
    return next((cause for cause in made.causes if cause.name == name), None)


def row(made, name):
    return next(report.gap_row(gap, "si") for gap in made.gaps if gap.name == name)


def test_air_that_cannot_warm_so_much_resin_is_a_finding():
    cause = found(small(throughput="98 kg/h", **AIR))
    assert cause.power == cause.money == 0.0
    assert cause.text.startswith("At 98 kg/h, 96 % more than it was built for, pellets leave near ")
    assert cause.text.endswith(" °C instead of 120 °C; they do not dry.")
    # 80 m3/h at 0 °C are 103 kg/h and give 10.0 MJ/h from 120 to 24 °C. PC of 1.4 kJ/(kg K) takes 0.137 MJ/h per kelvin: with
    # nothing for shell and water it would get to 97 °C; with 0.9 kW for both, and air that leaves at 34 °C, to 66 °C.
    reached = float(re.search(r"near ([\d.]+) °C", cause.text)[1])
    assert 66.0 < reached < 97.0
    carried = float(re.search(r"carries ([\d.]+) times the heat", cause.physics)[1])
    would_do = float(re.search(r"warm: ([\d.]+) kg/h at most", cause.physics)[1])
    # All of it is 13.2 MJ/h for the resin, and up to 3.2 MJ/h, those 0.9 kW, for shell and water.
    assert 10.0 / 16.4 < carried < 10.0 / 13.2
    # The shell takes its part whatever is fed, so less resin is warmed than in proportion; and to come out within 5 K of the air a bed
    # of four transfer units or so needs a fifth to a half more air than its heat alone.
    assert carried * 98.0 / 1.7 < would_do < carried * 98.0 / 1.15
    assert "Feed less, or give more air" in cause.physics


def test_more_air_as_read_makes_it_none():
    assert found(small(throughput="98 kg/h", **{**AIR, "air_flow": "170 m3/h at 0 degC"})) is None
    assert found(small("160 kg/h", throughput="98 kg/h")) is None


def test_a_throughput_that_was_not_read_is_the_case_s():
    cause = found(small(process_temperature="120 degC"))
    assert cause.text.startswith("At 90 kg/h as the case has it, 80 % more than it was built for, ")


def test_little_air_for_the_load_that_it_was_built_for():
    cause = found(small("100 kg/h", throughput="98 kg/h", **AIR))
    assert cause.text.startswith("At 98 kg/h, pellets leave near ")


def test_nothing_is_concluded_from_a_throughput_in_doubt():
    made = small(throughput="900 kg/h", **AIR)
    assert [doubt.name for doubt in made.doubts] == ["throughput"]
    assert found(made) is None


def test_the_answer_of_a_dryer_too_small_is_no_clean_bill():
    made = small(throughput="98 kg/h", power="5 kW", **AIR)
    assert report.verdict(made).endswith(" But its pellets leave cold: see whether they dry.")
    damp = small(throughput="98 kg/h", power="5 kW", dew_point="-10 degC", **AIR)
    assert report.verdict(damp).endswith(" But its air is too damp and its pellets leave cold: see whether they dry.")
    impossible = small(throughput="98 kg/h", **AIR)  # said once
    assert report.verdict(impossible) == "A reading is off, or the pellets leave cold and undried."
    doubted = small(throughput="98 kg/h", power="900 kW", **AIR)
    assert report.verdict(doubted) == report.verdict(impossible)  # 900 kW are in no figure


def test_what_would_settle_it_is_worth_reading_next():
    made = small(throughput="98 kg/h", **AIR)
    [(name, how)] = report.settled_by(made)
    assert name == COLD
    assert "Temperature of the pellets at the hopper's outlet" in how
    assert "moisture" in how
    after = report.to_text(made, "si").split("Worth reading next")[1]
    assert how in after
    assert how.replace("'", "&#x27;") in cards.next_readings(made, "si")
    assert [f["settled_by"] for f in json.loads(to_json(made))["findings"] if f["name"] == COLD] == [how]
    assert report.settled_by(small("160 kg/h", throughput="98 kg/h")) == []


def test_a_throughput_above_what_the_dryer_is_built_for_is_not_as_expected():
    made = small(throughput="98 kg/h")
    assert row(made, "throughput")[2:] == ("80 to 100 kg/h, built for 50 kg/h", "96 % more than built for")
    assert 'caution">96 % more than built for' in cards.gaps(made, "si")
    assert row(small("160 kg/h", throughput="98 kg/h"), "throughput")[3] == "as expected"
    assert row(small("160 kg/h", throughput="200 kg/h"), "throughput")[3] == "above, and 25 % more than built for"
    # 98 kg/h in a dryer for 97 is within what a throughput can be read to.
    assert row(small("97 kg/h", throughput="98 kg/h"), "throughput")[3] == "as expected"


@pytest.mark.parametrize(("typed", "meant"), [("3600 kW", "3.6 kW"), ("2900 kW", "2.9 kW")])
def test_watts_in_the_box_of_kilowatts_are_told_at_the_reading(typed, meant):
    made = demo(power=typed)  # more than the whole plant takes
    [doubt] = made.doubts
    assert doubt.reading == "power"
    assert "times what heaters and blowers of this dryer take together at most" in doubt.text
    assert doubt.text.endswith(f"A thousandth of it, {meant}, would fit: watts taken for kilowatts?")
    # There is an answer still, which is that without it.
    assert made.year.cost == demo().year.cost


def test_kilowatts_taken_for_watts():
    [told] = report.to_check(demo(power="3.6 W"))
    assert told.endswith("A thousand times it, 3.6 kW, would fit: kilowatts taken for watts?")


def test_a_current_is_in_no_unit_of_power():
    # 4,900 A, 400 V and 1 are 3,400 kW of three phases.
    [told] = report.to_check(demo(current="4900 A", voltage="400 V", power_factor="100 %"))
    assert "times what heaters and blowers" in told
    assert "thousandth" not in told


def test_a_power_that_a_dryer_can_take_and_its_plant_does_not_is_told_at_the_reading():
    document = load_case("one-machine").document
    plant = {"months": [{"month": month + 1, "energy": "6 MWh", "peak": "40 kW"} for month in range(12)]}

    def told(power):
        readings = {"hopper": "Machine 7", "throughput": "90 kg/h", "power": power}
        case = build({**document, "plant_load": plant, "readings": [readings]})
        return [(doubt.reading, doubt.text) for doubt in walk(case, case.model.readings[0]).doubts]

    # 6,000 h a year are 500 h a month: 10 kW take 5 MWh of the plant's 6, 13 kW would take 6.5.
    assert told("10 kW") == []
    [(reading, text)] = told("13 kW")
    assert reading == "power"
    assert "13 kW is more than the case can bill (the plant takes less in some month than its present dryers" in text


@pytest.mark.parametrize(
    ("read", "hall", "told"),
    [
        ("29 degC", "25.4 degC", True),  # damper than the hall by less than both may be off
        ("24 degC", "25.4 degC", True),
        ("29 degC", "15 degC", True),  # damper than the hall in any case
        ("12 degC", "25.4 degC", False),  # clearly drier than the hall: wet air, and no slip
        ("8 degC", "10 degC", False),  # -8 °C would be damp, too
        ("-29 degC", "25.4 degC", False),
    ],
)
def test_a_dew_point_about_the_hall_s_may_have_lost_its_minus(read, hall, told):
    document = copy.deepcopy(dict(load_case("one-machine").document))
    document["site"] |= {"hall_dew_point": hall, "hall_temperature": "30 degC"}
    case = build({**document, "readings": [{"hopper": "Machine 7", "dew_point": read}]})
    said = [doubt.text for doubt in walk(case, case.model.readings[0]).doubts if doubt.reading == "dew_point"]
    assert bool(said) is told
    if told and hall == "25.4 degC":
        assert said[0].endswith(
            f"{read[:2]} °C is about that of the hall's own air (25.4 °C), and -{read[:2]} °C would fit. Minus forgotten?"
        )
