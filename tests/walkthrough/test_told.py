"""What is said of readings that are off: damper than practice, more power than parts, readings that do not fit together."""

from __future__ import annotations

import json

import pytest

from energy.reports import walkthrough as report
from energy.reports.walkthrough_json import to_json
from energy.study.case import build, load_case
from energy.walkthrough.causes import UNEXPLAINED_POWER
from energy.walkthrough.walk import walk


def walked(**readings):
    """The first readings of the demo case with some put in, or taken out where None is given."""
    document = load_case("demo").document
    first = {**document["readings"][0], **readings}
    case = build({**document, "readings": [{k: v for k, v in first.items() if v is not None}]})
    return walk(case, case.model.readings[0])


def words_of(made):
    return {row[0]: row[3] for row in (report.gap_row(gap, "si") for gap in made.gaps)}


@pytest.mark.parametrize(
    ("dew_point", "name"),
    [
        ("-35 degC", "damper than practice asks, within what practice accepts"),
        ("-28 degC", "damper than practice asks, within what practice accepts"),
        ("-10 degC", "too damp"),
    ],
)
def test_air_damper_than_the_resin_s_sheet_asks_is_a_finding_whatever_the_model_expects(dew_point, name):
    made = walked(dew_point=dew_point)
    [cause] = [c for c in made.causes if "damp" in c.name]
    assert cause.name == f"Process air {name}"
    assert "practice asks for -40 °C and accepts up to -20 °C for PC" in cause.text
    assert cause.power == 0.0
    assert words_of(made)["Dew point of the process air"] == name
    # One wording in the headline, in what programs get and beside the reading.
    told = "But its air is too damp: see whether it dries." if name == "too damp" else f"Its air is {name}."
    assert report.headline(made, "si").endswith(f" {told}")
    kept = json.loads(to_json(made))
    assert kept["verdict"].endswith(f" {told}")
    assert next(gap["word"] for gap in kept["gaps"] if gap["name"] == "dew_point") == name
    costs = "costs dryness, not energy" if name == "too damp" else "costs no energy"
    assert f"{cause.name}: {costs}. " in report.to_text(made, "si")
    if name != "too damp":
        assert "see whether it dries" not in report.to_text(made, "si")


def test_air_that_hall_air_would_do_for_is_accepted():
    # ABS: practice asks for -40 and accepts up to 18 degC.
    document = load_case("demo").document
    hopper = next(h for h in document["hoppers"] if h["resin"] == "ABS")
    first = {**document["readings"][0], "hopper": hopper["name"], "dew_point": "5 degC"}
    for name in ("process_temperature", "return_temperature", "throughput", "weighed_mass", "weighing_time"):
        first.pop(name, None)
    case = build({**document, "readings": [first]})
    made = walk(case, case.model.readings[0])
    assert "Process air damper than practice asks, within what practice accepts" in [c.name for c in made.causes]
    assert "see whether it dries" not in report.verdict(made)
    assert "too damp" not in report.to_text(made, "si")


def test_what_the_resin_takes_at_the_least_is_told():
    made = walked()
    assert f"takes {made.least / 3600:.3g} Wh/kg at the least, whatever the dryer." in report.to_text(made, "si")
    assert json.loads(to_json(made))["least_Wh_per_kg"] == pytest.approx(made.least / 3600)


def test_dry_air_is_no_finding():
    made = walked(dew_point="-42 degC")
    assert not [c for c in made.causes if "damp" in c.name]
    assert words_of(made)["Dew point of the process air"] in ("as expected", "below, within the model's range")


def test_power_that_no_part_explains_is_a_finding_with_its_money_and_what_to_look_at():
    made = walked(power="11.2 kW")
    [cause] = [c for c in made.causes if "explains" in c.name]
    parts = sum(term.value for term in walked().balance.parts)
    assert cause.power == pytest.approx(11_200.0 - parts, rel=0.05)
    assert cause.money > 1000.0
    said = " ".join(report.contradicted(made))
    assert "lie between what the meter shows and what the parts add up to; look again at electrical power" in said
    assert report.verdict(made).startswith("It takes 7")
    assert report.contradicted(walked()) == []


def test_more_than_expected_and_within_what_the_model_is_sure_of_do_not_contradict_each_other():
    made = walked(power="7.6 kW")
    off = 2.0 * made.model_uncertainty / made.balance.expected
    assert report.verdict(made).startswith("It takes 15 % more than the model expects of this dryer. ")
    assert f"The model may be off by {100 * off:.0f} %, so that this alone shows nothing." in report.verdict(made)
    [word] = [word for name, word in words_of(made).items() if name.startswith("Electrical power")]
    assert word == "above, within the model's range"


def test_where_nothing_was_read_that_is_said():
    case = load_case("demo")
    bare = {"hopper": case.document["readings"][0]["hopper"], "date": case.document["readings"][0]["date"]}
    case = build({**case.document, "readings": [bare]})
    assert report.verdict(walk(case, case.model.readings[0])) == "Nothing was read yet: these are the model's figures."


@pytest.mark.parametrize(
    ("stated", "said"),
    [
        ({"date": "2026-02-03", "by": "A. Reader", "note": "Lid\nopen."}, "Read on 2026-02-03 by A. Reader. Lid open."),
        ({"date": None, "by": "A. Reader", "note": None}, "Read by A. Reader."),
        ({"date": None, "by": None, "note": "Lid open."}, "Lid open."),
    ],
)
def test_day_reader_and_note_are_told(stated, said):
    made = walked(**stated)
    assert report.to_text(made, "si").splitlines()[2] == said
    kept = json.loads(to_json(made))
    assert {key: kept[key] for key in stated} == {key: value or "" for key, value in stated.items()}


def test_no_line_is_left_for_what_is_not_stated():
    made = walked(date=None, by=None, note=None)
    assert report.to_text(made, "si").splitlines()[2] == ""


def of_one_machine(**readings):
    """A walkthrough of the example of one machine: 80 to 100 kg/h of PC, in a hall of 24 °C with a dew point of 12 °C, built for 160."""
    case = load_case("one-machine")
    case = build({**case.document, "readings": [{"hopper": "Machine 7", **readings}]})
    return walk(case, case.model.readings[0])


def test_a_tenth_weighed_too_much_is_told_with_its_factors_and_is_no_plain_headline():
    made = of_one_machine(weighed_mass="96 kg", weighing_time="6.5 min")  # 886.2 kg/h by hand
    [told] = report.to_check(made)
    assert told == (
        "Check the weighing: 886 kg/h is 8.9 times what the case counts (80 to 100 kg/h) and 5.5 times what this dryer is "
        "built for (160 kg/h). A tenth of it, 88.6 kg/h, would fit: a slip of ten?"
    )
    # 1.25 kJ/(kg K) and 96 K are 33 Wh/kg; some 0.2 % of water at 0.63 kWh/kg is a little over 1 Wh/kg more.
    assert 33.0 < made.least / 3600.0 < 42.0
    # 32 kW or so cannot come from a dryer of less than half of that: the weighing is in no figure.
    said = report.headline(made, "si")
    assert "below what warming and drying" not in said
    assert (
        f"{told} In no figure until it is checked: throughput. Nothing else was read: the figures are the model's."
        in said
    )
    assert made.year.cost == of_one_machine().year.cost
    assert made.balance.specific_energy == of_one_machine().balance.specific_energy
    assert "cannot tell it from the model" not in said
    row = next(gap for gap in made.gaps if gap.name == "throughput")
    assert report.gap_row(row, "si") == (
        *("Throughput", "886 kg/h", "80 to 100 kg/h, built for 160 kg/h"),
        "8.9 times the case: check the weighing",
    )
    kept = json.loads(to_json(made))
    assert kept["below_least"] is False
    assert kept["to_check"] == [{"reading": "weighed_mass", "text": told, "left_out": True}]
    assert kept["rests_on_nothing_read"] is True


def test_a_tenth_weighed_too_little_is_told():
    made = of_one_machine(weighed_mass="0.96 kg", weighing_time="6.5 min")
    [told] = report.to_check(made)
    assert "8.86 kg/h is 9 times less than the case counts" in told
    assert told.endswith(" Ten times it, 88.6 kg/h, would fit: a slip of ten? If it is right, write it into the case.")
    assert not made.impossible
    assert made.balance.specific_energy == of_one_machine().balance.specific_energy
    assert report.UNTIL_CHECKED in report.to_text(made, "si")


def test_a_weighing_that_cannot_be_is_in_no_finding():
    air = {"process_temperature": "121 degC", "return_temperature": "68.5 degC", "air_velocity": "9.6 m/s"}
    air |= {"duct_diameter": "100 mm", "weighing_time": "6.5 min"}
    made = of_one_machine(weighed_mass="96 kg", **air)
    assert "Funnelling" not in [cause.name for cause in made.causes]
    assert report.contradicted(made) == []


@pytest.mark.parametrize("mass", ["9.6 kg", "5 kg", "16 kg", "20 kg"])  # 89, 46, 148, 185 kg/h
def test_a_load_that_a_dryer_may_well_have_is_no_slip(mass):
    made = of_one_machine(weighed_mass=mass, weighing_time="6.5 min")
    assert report.to_check(made) == []


def test_throughput_beside_the_case():
    rows = {g.name: g for g in of_one_machine(throughput="88 kg/h").gaps}
    assert report.gap_row(rows["throughput"], "si")[3] == "as expected"
    rows = {g.name: g for g in of_one_machine(throughput="45 kg/h").gaps}
    assert report.gap_row(rows["throughput"], "si")[3] == "below"
    assert "throughput" not in {g.name for g in of_one_machine(power="9 kW").gaps}


def test_a_dew_point_above_the_hall_s_is_a_sign_left_out():
    made = of_one_machine(dew_point="28 degC")
    [told] = report.to_check(made)
    assert told.startswith("Check the dew point of the process air: 28 °C is damper than the hall's own air (12 °C).")
    assert "minus sign" in told
    assert "But its air is damp" not in report.headline(made, "si")
    assert "above the hall's: check its sign" in words_of(made)["Dew point of the process air"]
    assert report.to_check(of_one_machine(dew_point="-28 degC")) == []


def test_air_that_nothing_dries_is_held_against_a_hall_that_was_read_alone():
    case = load_case("one-machine")
    options = [{k: v for k, v in o.items() if k != "baseline"} for o in case.document["options"]]
    hot = next(o for o in options if o["type"] == "hot-air")
    del hot["capital"]
    hot |= {"baseline": True}
    for readings, found in (({"dew_point": "20 degC"}, 0), ({"dew_point": "20 degC", "hall_dew_point": "9 degC"}, 1)):
        at = build({**case.document, "options": options, "readings": [{"hopper": "Machine 7", **readings}]})
        assert len(walk(at, at.model.readings[0]).doubts) == found


@pytest.mark.parametrize(
    ("readings", "reading"),
    [
        ({"power": "110 kW"}, "power"),
        # 199 A, 400 V and 0.8 are 110 kW of three phases.
        ({"current": "199 A", "voltage": "400 V", "power_factor": "80 %"}, "current"),
    ],
)
def test_power_many_times_what_the_dryer_can_take_is_a_slip_and_no_finding(readings, reading):
    made = of_one_machine(**readings)
    [doubt] = made.doubts
    assert doubt.reading == reading
    assert "what heaters and blowers of this dryer take together at most" in doubt.text
    assert "A tenth of it, 11 kW, would fit: a slip of ten?" in doubt.text
    assert UNEXPLAINED_POWER not in [cause.name for cause in made.causes]
    assert "it is believed" not in " ".join(report.contradicted(made))


def test_power_below_what_the_resin_takes_is_told():
    made = of_one_machine(power="1.1 kW", throughput="88 kg/h")
    [told] = report.to_check(made)
    assert "1.1 kW is less than warming and drying the resin takes alone" in told
    assert "Ten times it, 11 kW, would fit" in told
    assert not made.impossible  # it is in no figure
    assert made.year.cost == of_one_machine(throughput="88 kg/h").year.cost
    assert report.to_check(of_one_machine(power="11 kW", throughput="88 kg/h")) == []
