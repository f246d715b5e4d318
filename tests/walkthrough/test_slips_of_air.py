"""A dryer read consistently, and the same with one reading off: the reading that is off is named, and no other."""

from __future__ import annotations

import re

import pytest

from dashboards import walkthrough_cards as cards
from energy.reports import walkthrough as report
from energy.study.case import build, load_case
from energy.walkthrough.baseline import readings_from
from energy.walkthrough.causes import UNEXPLAINED_POWER
from energy.walkthrough.dryness import COLD
from energy.walkthrough.found import find
from energy.walkthrough.walk import walk

DOCUMENT = {
    "case": {"name": "PC at one shop", "currency": "EUR", "units": "si", "year": 2026},
    "site": {"altitude": "400 m", "climate": "temperate"},
    "hoppers": [{"name": "K1", "resin": "PC", "throughput": "70 kg/h", "residence_time": "4 h"}],
    "calendar": {"production_hours": "5000 h"},
    "tariffs": {"electricity": "0.18 EUR/kWh", "cooling": "0.03 EUR/kWh"},
    "finance": {"rate": "7 %", "rate_basis": "real", "years": 10, "maximum_payback": "5 year"},
    "options": [
        {"name": "Old tower", "type": "desiccant-twin-tower", "baseline": True, "maintenance": "3200 EUR/year"},
        {"name": "New wheel", "type": "desiccant-wheel", "maintenance": "1500 EUR/year", "capital": "19000 EUR"},
    ],
    "request": {"title": "Wheel for K1"},
}
READ = {
    "hopper": "K1",
    "date": "2026-10-05",
    "weighed_mass": "11.8 kg",
    "weighing_time": "10 min",
    "process_temperature": "119 degC",
    "return_temperature": "62 degC",
    "hall_temperature": "22 degC",
    "dew_point": "-35 degC",
    "air_velocity": "10.5 m/s",
    "duct_diameter": "90 mm",
    "velocity_in": "return duct",
    "shell_temperature": "38 degC",
    "regeneration_temperature": "235 degC",
    "regeneration_cycle": "4 h",
    "regeneration_control": "timer",
    "power": "5.4 kW",
}


def walked(**readings):
    taken = {name: value for name, value in {**READ, **readings}.items() if value is not None}
    case = build({**DOCUMENT, "readings": [taken]})
    return walk(case, case.model.readings[0])


def found(made):
    return {cause.name for cause in made.causes}


def row(made, name):
    return next(report.gap_row(gap, "si") for gap in made.gaps if gap.name == name)


def test_the_readings_are_consistent_before_one_is_off():
    assert report.to_check(walked()) == []
    assert walked().balance.agrees


@pytest.mark.parametrize(
    "off",
    [
        {"air_velocity": "1.05 m/s"},
        {"air_velocity": "2.1 m/s"},
        {"duct_diameter": "45 mm"},
        {"duct_diameter": "28 mm"},
    ],
)
def test_too_little_air_for_the_power_that_was_read_is_a_slip_of_the_duct_and_not_of_the_meter(off):
    made = walked(**off)
    [doubt] = made.doubts
    assert (doubt.name, doubt.reading) == ("air_flow", "duct_diameter")
    assert doubt.text.startswith("Check the duct's diameter and the air velocity: so little air would give 0.")
    # PC of 1.3 to 1.4 kJ/(kg K), 70.8 kg/h and 97 K are 2.5 to 2.7 kW, the water a little more.
    assert (
        2.5
        < float(re.search(r"drying the resin takes \(([\d.]+) kW\), and the meter shows 5.4 kW", doubt.text)[1])
        < 2.9
    )
    assert not found(made) & {COLD, "Little air", "Funnelling", UNEXPLAINED_POWER}
    assert "leave cold" not in report.headline(made, "si")
    assert row(made, "air_flow")[3].endswith("less than the resin takes: check it")
    assert row(made, "power")[3] == "above"
    # The air is in no figure, so that nothing is left that contradicts the meter.
    assert (
        "In no figure until it is checked: process air flow. The figures rest on what else was read."
        in report.headline(made, "si")
    )
    assert report.contradicted(made) == []
    assert report.would_settle(made) == []
    assert made.balance.specific_energy == pytest.approx(5400.0 / (11.8 / 600.0), rel=0.01)


@pytest.mark.parametrize(
    ("off", "said"),
    [
        ({"air_velocity": "1.05 m/s"}, "Ten times the velocity, 10.5 m/s, would fit: a slip of ten?"),
        ({"duct_diameter": "900 mm"}, "A tenth of the diameter, 90 mm, would fit: a slip of ten?"),
    ],
)
def test_the_slip_of_ten_that_explains_the_air_is_named(off, said):
    [told] = report.to_check(walked(**off))
    assert told.startswith("Check the duct's diameter and the air velocity: ")
    assert told.endswith(said)


def test_no_slip_of_ten_is_named_where_none_explains_the_air():
    for off in ({"duct_diameter": "45 mm"}, {"duct_diameter": "28 mm"}):  # 105 m/s blow through no duct
        [told] = report.to_check(walked(**off))
        assert "slip of ten" not in told


def test_an_airflow_typed_itself_is_doubted_by_its_name():
    typed = {key: value for key, value in READ.items() if key not in ("air_velocity", "duct_diameter", "velocity_in")}
    case = build({**DOCUMENT, "readings": [{**typed, "air_flow": "18.7 m3/h at 0 degC"}]})
    [doubt] = walk(case, case.model.readings[0]).doubts
    assert doubt.reading == "air_flow"
    assert doubt.text.startswith("Check the airflow: so little air ")
    assert doubt.text.endswith("Ten times the airflow, 187 m³/h at 0 °C, would fit: a slip of ten?")


def test_a_dryer_truly_too_small_is_told_as_such_beside_a_power_of_its_size():
    case = load_case("one-machine")
    options = [{**o, "built_for": "50 kg/h"} if o.get("baseline") else o for o in case.document["options"]]
    air = {"air_flow": "80 m3/h at 0 degC", "process_temperature": "120 degC", "hall_temperature": "24 degC"}
    for power in ("4 kW", "5 kW", "6 kW"):
        readings = {"hopper": "Machine 7", "throughput": "98 kg/h", "power": power, **air}
        at = build({**case.document, "options": options, "readings": [readings]})
        made = walk(at, at.model.readings[0])
        assert made.doubts == ()
        assert COLD in found(made)


def test_little_air_with_as_little_power_is_no_slip_of_the_air():
    # 1.3 kW are what heater and blower of so little air can take: the dryer is short of air, or both are off.
    assert "air_flow" not in [doubt.name for doubt in walked(air_velocity="2.1 m/s", power="1.3 kW").doubts]


@pytest.mark.parametrize(
    ("cycle", "said"),
    [
        ("4 min", "Check the cycle: 0.0667 h is 60 times shorter than expected: minutes taken for hours?"),
        ("240 h", "Check the cycle: 240 h is 60 times longer than expected: hours taken for minutes?"),
    ],
)
def test_a_cycle_in_another_unit_is_doubted_and_not_the_meter(cycle, said):
    made = walked(regeneration_cycle=cycle)
    assert report.to_check(made) == [said]
    assert report.contradicted(made) == []
    assert row(made, "regeneration_cycle")[3].endswith("than expected: check it")


@pytest.mark.parametrize("cycle", ["1 h", "12 h"])
def test_a_cycle_that_a_dryer_may_have_is_no_slip(cycle):
    assert report.to_check(walked(regeneration_cycle=cycle)) == []


@pytest.mark.parametrize(
    ("off", "said", "rest"),
    [
        (
            {"return_temperature": "20 degC"},
            "Check the return air out of the hopper: 20 °C is colder than the hall (22 °C)",
            "",
        ),
        (
            {"shell_temperature": "15 degC"},
            "Check the outside of the hopper's wall: 15 °C is colder than the hall (22 °C)",
            # The case's jacket loses half of what the wall that was read before does: the hopper takes less than the air gives.
            "lie between what the air gives and the hopper takes",
        ),
    ],
)
def test_nothing_beside_hot_air_is_colder_than_the_hall(off, said, rest):
    made = walked(**off)
    [told] = report.to_check(made)
    assert told == f"{said}, which cannot be beside hot process air."
    assert (rest in " ".join(report.contradicted(made))) if rest else report.contradicted(made) == []
    assert row(made, next(iter(off)))[3] == "colder than the hall: check it"


def test_a_wall_colder_than_the_hall_within_both_accuracies_is_none():
    assert report.to_check(walked(shell_temperature="20 degC")) == []  # 4 K and those of the hall


def test_more_than_the_model_may_be_off_is_not_said_to_be_within_it():
    # With a return air of 21 °C, in the range of both thermometers, the interval of the readings is wide.
    made = walked(return_temperature="21 degC")
    said = report.verdict(made)
    more, of_readings, of_model = (
        float(re.search(words, said)[1])
        for words in (r"takes (\d+) % more", r"readings may be off by .* Wh/kg, (\d+) %", r"the model by (\d+) %")
    )
    assert "so that this alone shows nothing" in said
    # The half-width that is said is the one of the headline.
    half = re.search(r"± ([\d.]+ Wh/kg)", report.headline(made, "si"))[1]
    assert f"The readings may be off by {half}, " in said
    assert of_model < more <= (of_readings**2 + of_model**2) ** 0.5 + 1.0


def test_readings_of_air_that_cannot_be_are_named_without_the_model_s_number():
    at = build(DOCUMENT)
    [note] = find(at, readings_from({**READ, "duct_diameter": "900 mm"})).notes
    assert "cannot be together (air velocity in the duct, duct diameter, " in note
    assert "enthalpy" not in note
    assert "676" not in note


# ---------- without a meter ----------


UNMETERED = {name: value for name, value in READ.items() if name != "power"}


def without_meter(document=DOCUMENT, **readings):
    case = build({**document, "readings": [{**UNMETERED, **readings}]})
    return walk(case, case.model.readings[0])


@pytest.mark.parametrize(
    ("off", "reading", "slip"),
    [
        (
            {"air_velocity": "1.05 m/s", "duct_diameter": "90 mm", "velocity_in": "return duct"},
            "duct_diameter",
            "Ten times the velocity, 10.5 m/s, would fit: a slip of ten?",
        ),
        (
            {"air_flow": "18.7 m3/h at 0 degC"},
            "air_flow",
            "Ten times the airflow, 187 m³/h at 0 °C, would fit: a slip of ten?",
        ),
    ],
)
def test_too_little_air_that_comes_back_hot_is_a_slip_without_a_meter_too(off, reading, slip):
    assert without_meter().doubts == ()
    air = ("air_velocity", "duct_diameter", "velocity_in")
    rest = {name: value for name, value in UNMETERED.items() if name not in air}
    case = build({**DOCUMENT, "readings": [{**rest, **off}]})
    made = walk(case, case.model.readings[0])
    [doubt] = made.doubts
    assert (doubt.name, doubt.reading) == ("air_flow", reading)
    # So little air leaves all its heat in the pellets and comes back as cold as they are fed, at 22 degC or little more.
    told = re.search(r"it comes back at 62 °C, where so little air would come back near ([\d.]+) °C\. ", doubt.text)
    assert 21.5 < float(told[1]) < 25.0
    assert doubt.text.endswith(slip)
    assert not found(made) & {COLD, "Little air", "Funnelling"}
    assert row(made, "air_flow")[3].endswith("less than the resin takes: check it")
    # Without a meter all figures would rest on that air: they are those without it.
    assert "leave cold" not in report.headline(made, "si")
    assert "In no figure until it is checked: process air flow" in cards.figures(made, "si")
    bare = build({**DOCUMENT, "readings": [rest]})
    assert made.year.cost == walk(bare, bare.model.readings[0]).year.cost


@pytest.mark.parametrize("back", ["50 degC", "85 degC"])
def test_a_tenth_of_the_air_is_a_slip_where_its_return_fits_neither_so_little_nor_all_of_it(back):
    """60 to 64 degC come back with all the air and 22 to 25 with a tenth of it: the middle is near 43 degC."""
    [doubt] = without_meter(air_velocity="1.05 m/s", return_temperature=back).doubts
    assert doubt.text.endswith("Ten times the velocity, 10.5 m/s, would fit: a slip of ten?")
    assert f"it comes back at {back[:2]} °C, where so little air would come back near 2" in doubt.text


@pytest.mark.parametrize("back", ["62 degC", "100 degC", None])
def test_ten_times_the_air_is_a_slip_even_where_it_would_give_no_more_heat_than_the_dryer_has(back):
    """4 m/s in 146 mm are about the 10.5 m/s in 90 mm that fit: 4 / 10.5 x (146 / 90)^2 is 1.0."""
    read = {"duct_diameter": "146 mm", "return_temperature": back}
    taken = {name: value for name, value in {**UNMETERED, **read}.items() if value is not None}

    def doubted(velocity):
        case = build({**DOCUMENT, "readings": [{**taken, "air_velocity": velocity}]})
        return walk(case, case.model.readings[0]).doubts

    assert "air_flow" not in [doubt.name for doubt in doubted("4 m/s")]
    assert "air_flow" not in [doubt.name for doubt in doubted("12 m/s")]  # three times is no slip of ten
    [doubt] = doubted("40 m/s")
    assert doubt.name == "air_flow"
    assert doubt.text.endswith("A tenth of the velocity, 4 m/s, would fit: a slip of ten?")


def test_a_gas_fired_dryer_s_electricity_does_not_hide_a_slip_of_its_air():
    option = {**DOCUMENT["options"][0], "inputs": {"heat_source": "gas"}}
    tariffs = {**DOCUMENT["tariffs"], "gas": "0.06 EUR/kWh"}
    at = {**DOCUMENT, "options": [option, DOCUMENT["options"][1]], "tariffs": tariffs}
    assert "air_flow" not in [doubt.name for doubt in without_meter(at).doubts]
    assert "air_flow" in [doubt.name for doubt in without_meter(at, air_velocity="1.05 m/s").doubts]


@pytest.mark.parametrize(
    "true",
    [
        {"air_velocity": "1.05 m/s", "return_temperature": "24 degC"},  # as cold as little air comes back
        {"air_velocity": "1.05 m/s", "return_temperature": "35 degC"},
        {"air_velocity": "7 m/s"},  # two thirds of it
        {"air_velocity": "2.1 m/s"},  # no slip of ten: 21 m/s would give twice what the dryer takes
    ],
)
def test_a_dryer_that_may_be_short_of_air_is_told_as_such(true):
    made = without_meter(**true)
    assert "air_flow" not in [doubt.name for doubt in made.doubts]
    assert "Little air" in found(made) or true == {"air_velocity": "7 m/s"}


def test_a_dryer_fed_too_much_with_all_its_air_is_no_slip_of_the_air():
    made = without_meter(weighed_mass="23 kg", return_temperature="30 degC")
    assert "air_flow" not in [doubt.name for doubt in made.doubts]


def test_far_too_much_air_is_doubted_without_a_meter_too():
    """A duct of 900 mm for 90: a hundred times the air, and many times all that this dryer's heaters could heat."""
    made = walked(duct_diameter="900 mm", power=None)
    (doubt,) = made.doubts
    assert (doubt.name, doubt.reading) == ("air_flow", "duct_diameter")
    assert re.search(
        r"\d+ times all that heaters and blowers of this dryer take \([\d.]+ kW\)\. A tenth of the diameter, 90 mm, would fit",
        doubt.text,
    )
    assert "Too much air for the load" not in found(made)
    assert walked(power=None).doubts == ()
    assert walked(air_velocity="14 m/s", power=None).doubts == ()  # a third more than it needs is a finding and no slip
