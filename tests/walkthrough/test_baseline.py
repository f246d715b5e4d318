"""Readings in files and cases: what is refused, what is kept, what becomes an input, and the command."""

from __future__ import annotations

import json
import re
import tomllib

import pytest
from cases import HOT, PRESENT, alone
from dryer_read import HOPPER, shop

from energy.cli import main
from energy.errors import CaseError
from energy.reports.beside_model import counted_energy, model_beside
from energy.reports.walkthrough import replaced_inputs, verdict
from energy.sources import load
from energy.study.case import load_case
from energy.study.compare import compare
from energy.study.readings import QUANTITIES
from energy.study.spread import uncertain_inputs
from energy.walkthrough.balance import balance
from energy.walkthrough.baseline import (
    as_baseline,
    can_take_over,
    delivered_dew_point,
    overrides,
    readings_from,
    readings_of,
    undoubted,
    with_readings,
)
from energy.walkthrough.walk import walk

VACUUM = "Vacuum"
GOOD = {"hopper": HOPPER, "process_temperature": {"value": "248 degF", "accuracy": "2 degF", "note": "at the lid"}}


def test_every_reading_has_an_accuracy():
    for name in QUANTITIES:
        stored = load("instruments")[name]
        assert stored.si > 0.0
        assert (stored.kind == "temperature difference") == (QUANTITIES[name].kind == "temperature")


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({"process_temperature": "120"}, "process_temperature: Process air into the hopper: '120'"),
        ({"process_temperature": "600 degC"}, "process_temperature: '600 degC' is not allowed"),
        ({"proces_temperature": "120 degC"}, "did you mean 'process_temperature'"),
        ({"weighed_mass": "9 kg"}, "weighing_time is missing; weighed_mass says nothing without it"),
        (
            {"weighed_mass": "4000 kg", "weighing_time": "5 min"},  # 48 t in an hour
            "weighed_mass over weighing_time is 48,000 kg/h; at most 36,000 kg/h can be; check both",
        ),
        ({"air_velocity": "9 m/s"}, "duct_diameter is missing"),
        ({"voltage": "400 V"}, "current is missing"),
        ({"power": "9 kW", "current": "20 A", "voltage": "400 V"}, "power and current are both given"),
        ({"power_factor": "90 %"}, "power_factor goes with current and voltage"),
        (
            {"return_temperature": "130 degC", "process_temperature": "120 degC"},
            "process_temperature of 120 °C is below",
        ),
        ({"power": {"value": "9 kW", "accuracy": "-2 %"}}, "is not above zero"),
        ({"power": {"value": "9 kW", "accuracy": "2 m"}}, "accuracy of power"),
        ({"power": {"value": "9 kW", "acuracy": "2 %"}}, "did you mean 'accuracy'"),
        ({"power": {"value": "9 kW", "accuracy": "2 %"}, "accuracy": "good"}, "accuracy: 'good' is not a table"),
        ({"date": "4/14/2026"}, "write it as 2026-11-25"),
        ({"date": "31.2.2026"}, "write it as 2026-11-25"),
        ({"by": "A. Reader\nB. Reader"}, "by: must be one line"),
        ({"by": 200 * "A" + "b"}, "by: at most 200 characters"),
        ({"velocity_in": "chimney"}, "velocity_in: 'chimney' is not one of"),
    ],
)
def test_bad_readings_name_the_field(given, told):
    with pytest.raises(CaseError, match="readings: ") as error:
        readings_from({"hopper": HOPPER, **given})
    assert told in str(error.value)


def test_readings_are_kept_as_written():
    case = with_readings(shop(), GOOD)
    again = tomllib.loads(case.to_toml())
    assert again["readings"] == [GOOD]
    kept = readings_of(case, HOPPER)
    assert kept.process_temperature == pytest.approx(393.15)
    assert kept.accuracy == {"process_temperature": "2 degF"}
    # Read again they take the place of the old ones.
    assert len(with_readings(case, {"hopper": HOPPER, "power": "9 kW"}).model.readings) == 1
    with pytest.raises(
        CaseError, match=r"readings\[1\].hopper: there is no hopper 'Machine 8'; did you mean 'Machine 7'"
    ):
        with_readings(shop(), {"hopper": "Machine 8"})


def test_what_was_read_becomes_an_input():
    case = shop()
    document = {
        "hopper": HOPPER,
        "throughput": "90 kg/h",
        "return_temperature": "70 degC",
        "air_velocity": "12 m/s",
        "duct_diameter": "100 mm",
        "regeneration_temperature": "240 degC",
        "regeneration_control": "timer",
        "regeneration_cycle": "3 h",
        "shell_temperature": "60 degC",
    }
    told = balance(case, readings_from(document))
    changed = as_baseline(case, told)
    inputs = changed.model.options[0].inputs
    # 0.0952 kg/s (see the balance's own test) over 90 kg/h.
    assert inputs.air_resin_ratio == pytest.approx(told.quantities["air_flow"].value / 0.025, rel=5e-3)
    assert inputs.regeneration_temperature == pytest.approx(513.15)
    assert inputs.cycle_time == pytest.approx(3 * 3600.0)
    assert changed.document["options"][0]["inputs"]["regeneration_temperature"]["basis"] == "measured"
    assert overrides(balance(case, readings_from({"hopper": HOPPER, "shell_temperature": "60 degC"}))) == {}


def test_a_year_costs_the_same_before_and_after_readings_are_taken_over():
    # What the dryer takes in standby and at starts follows from what was read, whether or not the case holds it yet.
    case = load_case("demo")
    readings = readings_from(
        {
            "hopper": "Machine 2",
            "throughput": "30 kg/h",
            "hall_temperature": "24 degC",
            "process_temperature": "80 degC",
            "return_temperature": "60 degC",
            "air_velocity": "9 m/s",
            "duct_diameter": "100 mm",
            "regeneration_temperature": "190 degC",
            "regeneration_control": "timer",
            "regeneration_cycle": "3 h",
        }
    )
    before = walk(case, readings)
    after = walk(as_baseline(case, before.balance), readings)
    a_watt_before, a_watt_after = (w.year.cost / w.balance.power.value for w in (before, after))
    assert a_watt_after == pytest.approx(a_watt_before, rel=5e-3)  # the airflow is taken over in three digits


METERED = {
    "hopper": HOPPER,
    "power": "11 kW",
    "weighed_mass": "9.6 kg",
    "weighing_time": "6.5 min",
    "process_temperature": "121 degC",
    "return_temperature": "68.5 degC",
    "air_velocity": "9.6 m/s",
    "duct_diameter": "4 in",
}


def test_how_far_a_dryer_is_from_its_model_is_the_same_before_and_after_readings_are_taken_over():
    before = walk(load_case("one-machine"), readings_from(METERED))
    after = walk(as_baseline(before.case, before.balance), readings_from(METERED))
    told = re.search(r"the dryer takes (\d+) % more than that", verdict(before))
    assert told
    assert verdict(after).startswith(f"It takes {told[1]} % more than the model expects of this dryer.")
    ratio = after.balance.specific_energy / after.balance.expected
    assert ratio == pytest.approx(1.0 + int(told[1]) / 100.0, abs=0.006)
    assert "than that" not in verdict(after)
    # What is taken over counts in every view with the same per cent.
    assert float(after.case.document["options"][0]["metered_over_model"]["value"]) == pytest.approx(ratio, abs=6e-4)


@pytest.mark.parametrize("control", ["timer", "dew point"])
def test_a_metered_year_costs_the_same_here_and_in_the_comparison(control):
    # 90 kg/h all year, as the comparison runs it; the meter's power is that of both, and so are demand and cooling.
    of_the_day = {"weighed_mass": "9.75 kg", "regeneration_control": control}
    read = readings_from({**METERED, **of_the_day})
    taken = as_baseline(load_case("one-machine"), walk(load_case("one-machine"), read).balance)
    year, compared = walk(taken, read).year, compare(taken).baseline
    upkeep = 3600.0  # a year, in the example
    assert year.cost == pytest.approx(compared.total_cost - upkeep, rel=2e-3)
    assert year.energy / 3.6e6 == pytest.approx(compared.specific_energy / 3.6e6 * 90.0 * 6000.0, rel=2e-3)


def test_the_comparison_is_brought_to_the_meter():
    # 90 kg/h at 9 kW are 100 Wh/kg, whatever the model says; the model by itself stays what readings are compared with.
    case = with_readings(
        shop(),
        {
            "hopper": HOPPER,
            "throughput": {"value": "90 kg/h", "accuracy": "0.1 %"},
            "power": {"value": "9 kW", "accuracy": "1 %"},
            "date": "2026-04-14",
        },
    )
    readings = readings_of(case, HOPPER)
    before = balance(case, readings)
    taken = as_baseline(case, before)
    after = balance(taken, readings)
    assert before.specific_energy / 3600 == pytest.approx(100, rel=5e-3)
    assert after.expected == pytest.approx(before.expected)  # the model that readings are compared with
    assert counted_energy(after) / 3600 == pytest.approx(100, rel=0.01)
    assert compare(taken).baseline.specific_energy / compare(case).baseline.specific_energy == pytest.approx(
        after.found.metered
    )
    written = taken.document["options"][0]["metered_over_model"]
    assert written["basis"] == "measured"
    assert float(written["low"]) < after.found.metered < float(written["high"])
    assert "meter over model at the walkthrough on 2026-04-14" in written["note"]
    # Taken over again it is the same, and a meter that agrees takes it away.
    assert as_baseline(taken, after).document == taken.document
    modelled = f"{before.expected * 0.025 / 1e3:.4g} kW"
    agreed = with_readings(taken, {"hopper": HOPPER, "throughput": "90 kg/h", "power": modelled})
    assert agreed.document["options"][0]["metered_over_model"] == written
    again = as_baseline(agreed, balance(agreed, readings_of(agreed, HOPPER)))
    assert "metered_over_model" not in again.document["options"][0]


def test_a_dew_point_that_was_read_decides_what_the_present_dryer_dries():
    """Air of -5 degC where the model expects some -40: taken over, it is that of the verdict and of no energy."""
    case = with_readings(
        shop(), {"hopper": HOPPER, "dew_point": {"value": "-5 degC", "accuracy": "2 K"}, "date": "2026-04-14"}
    )
    read = balance(case, readings_of(case, HOPPER))
    assert can_take_over(read)
    taken = as_baseline(case, read)
    written = taken.document["options"][0]["delivered_dew_point"]
    # Two standard uncertainties of a half-width of 2 K, by JCGM 100: 2 * 2 / sqrt(3) = 2.309.
    assert written == {
        "value": "-5 degC",
        "low": "-7.309 degC",
        "high": "-2.691 degC",
        "basis": "measured",
        "note": "read at the walkthrough on 2026-04-14",
    }
    before, after = (compare(of).baseline for of in (case, taken))
    by_hand = compare(shop().with_({f"options['{PRESENT}'].delivered_dew_point": "-5 degC"})).baseline
    assert after.verdict == by_hand.verdict
    # Air moves the floor alone: the share of the way down to it that diffusion leaves is the same (Crank, linear sorption).
    initial = float(before.served[0].duty.initial_moisture.max())
    left = [(m.predicted - m.floor) / (initial - m.floor) for m in (before.verdict.moisture, after.verdict.moisture)]
    assert left[1] == pytest.approx(left[0], rel=1e-9)
    assert after.verdict.moisture.floor > 50.0 * before.verdict.moisture.floor
    assert (before.verdict.grade_of("dew point"), after.verdict.grade_of("dew point")) == ("pass", "fail")
    assert after.energy == before.energy
    # The walkthrough keeps to the model by itself: the finding does not go because it was read before.
    again = walk(taken, readings_of(taken, HOPPER))
    assert [c.name for c in again.causes] == [c.name for c in walk(case, readings_of(case, HOPPER)).causes]
    assert "Process air too damp" in [c.name for c in again.causes]
    assert again.balance.expected == read.expected
    assert as_baseline(taken, again.balance).document == taken.document
    expected = float(read.found.expected.delivered_dew_point[0]) - 273.15
    assert replaced_inputs(read, taken, "si") == (
        f"Dew point of the air into the hopper: {expected:.3g} °C before, -5 °C now"
    )
    # Readings without one leave what was read before; a saved case says the same.
    later = with_readings(taken, {"hopper": HOPPER, "regeneration_temperature": "240 degC"})
    kept = as_baseline(later, balance(later, readings_of(later, HOPPER)))
    assert kept.document["options"][0]["delivered_dew_point"] == written
    assert tomllib.loads(taken.to_toml())["options"][0]["delivered_dew_point"] == written


def test_of_several_hoppers_only_the_one_read_gets_its_dew_point():
    case = load_case("demo")
    read = readings_from({"hopper": "Machine 2", "dew_point": "-12 degC"})
    present = as_baseline(case, balance(case, read)).model.options[0]
    assert {m.hopper: m.delivered_dew_point for m in present.machines}["Machine 2"] == pytest.approx(261.15)
    assert present.delivered_dew_point is None
    assert all(m.delivered_dew_point is None for m in present.machines if m.hopper != "Machine 2")


def test_a_range_ends_where_no_air_goes():
    read = readings_from({"hopper": HOPPER, "dew_point": {"value": "-82 degC", "accuracy": "20 K"}})
    assert delivered_dew_point(balance(shop(), read))["low"] == "-100 degC"


@pytest.mark.parametrize(
    ("case", "hopper", "dew_point"),
    [
        (alone(HOT), "Machine 7", "9 degC"),  # the hall's of one day
        (alone(VACUUM), "Machine 7", "-30 degC"),
        (shop(), HOPPER, "27 degC"),  # what no dried air has
    ],
)
def test_a_dew_point_that_is_not_the_dryers_own_is_not_taken_over(case, hopper, dew_point):
    read = balance(case, readings_from({"hopper": hopper, "dew_point": dew_point}))
    assert delivered_dew_point(read) is None
    assert not can_take_over(read)
    assert "delivered_dew_point" not in as_baseline(case, read).document["options"][0]


@pytest.mark.parametrize(("power", "told"), [("9 kW", "counted in what"), ("3.5 kW", "taken off what")])
def test_the_difference_from_the_meter_is_told(power, told):
    case = with_readings(shop(), {"hopper": HOPPER, "throughput": "90 kg/h", "power": power})
    before = balance(case, readings_of(case, HOPPER))
    taken = as_baseline(case, before)
    assert "take the readings over" in model_beside(before, "si")
    after_all_else = model_beside(before, "si", "process air flow")
    assert "take the readings over" not in after_all_else
    assert "check what is in doubt (process air flow), or find what takes the rest" in after_all_else
    assert told in model_beside(balance(taken, readings_of(case, HOPPER)), "si")
    assert "Metered energy over what the model counts: 1 before, " in replaced_inputs(before, taken, "si")


def test_a_meter_too_far_from_the_model_is_no_ratio():
    case = with_readings(shop(), {"hopper": HOPPER, "throughput": "90 kg/h", "power": "15 kW"})
    read = balance(case, readings_of(case, HOPPER))
    assert read.specific_energy / 3600 == pytest.approx(15 / 0.09, rel=1e-3)  # the meter is believed
    assert sum(part.value for part in read.parts) == pytest.approx(15e3, rel=1e-3)
    assert next(part.value for part in read.parts if part.name == "not explained") > 9e3
    assert not read.agrees
    taken = as_baseline(case, read)
    assert "metered_over_model" not in taken.document["options"][0]
    assert "too far from the model to be taken over" in model_beside(read, "si")


def test_of_several_hoppers_only_the_one_read_changes():
    case = load_case("demo")
    document = {"hopper": "Machine 2", "regeneration_temperature": "230 degC", "date": "2026-02-03", "by": "A. Reader"}
    changed = as_baseline(case, balance(case, readings_from(document)))
    present = changed.model.options[0]
    own = next(machine for machine in present.machines if machine.hopper == "Machine 2")
    assert own.inputs.regeneration_temperature == pytest.approx(503.15)
    written = next(
        machine for machine in changed.document["options"][0]["machines"] if machine["hopper"] == "Machine 2"
    )
    note = written["inputs"]["regeneration_temperature"]["note"]
    assert note == "read at the walkthrough on 2026-02-03 by A. Reader"
    assert present.inputs.regeneration_temperature == pytest.approx(523.15)


def test_the_example_is_valid_and_invented():
    readings = readings_of(load_case("demo"), "Machine 1")
    assert "Invented" in readings.note
    assert balance(load_case("demo"), readings).agrees


def test_command(capsys, tmp_path):
    assert main(["walkthrough", "demo"]) == 0
    text = capsys.readouterr().out
    for part in ("Wh/kg, about", "Where the power goes", "Findings", "Worth reading next", "Cautions"):
        assert part in text
    own, saved = tmp_path / "readings.toml", tmp_path / "mine.toml"
    own.write_text('hopper = "Machine 2"\nreturn_temperature = "46 degC"\npower = "3 kW"\n', encoding="utf-8")
    assert main(["walkthrough", "demo", "--readings", str(own), "--json", "--save", str(saved)]) == 0
    made = json.loads(capsys.readouterr().out)
    assert made["expanded_uncertainty_Wh_per_kg"] > 0.0
    assert sorted((f["money_per_year"] for f in made["findings"]), reverse=True) == [
        f["money_per_year"] for f in made["findings"]
    ]
    # The case keeps them.
    assert main(["walkthrough", str(saved), "--hopper", "Machine 2", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["specific_energy_Wh_per_kg"] == made["specific_energy_Wh_per_kg"]
    assert main(["walkthrough", "demo", "--units", "us"]) == 0
    assert "Wh/lb" in capsys.readouterr().out


def test_command_with_bad_readings(capsys, tmp_path):
    bad = tmp_path / "bad.toml"
    bad.write_text('hopper = "Machine 1"\nreturn_temperature = "70"\n', encoding="utf-8")
    assert main(["walkthrough", "demo", "--readings", str(bad)]) == 2
    assert "return_temperature" in capsys.readouterr().err
    assert main(["walkthrough", "demo", "--hopper", "Machine 9"]) == 2
    assert "there is no hopper 'Machine 9'" in capsys.readouterr().err
    assert main(["walkthrough", "demo", "--hopper", "\n"]) == 2
    assert "there is no hopper" in capsys.readouterr().err


def test_a_date_with_its_day_first_is_kept_as_iso():
    assert readings_from({"hopper": HOPPER, "date": "28.11.2026"}).date == "2026-11-28"
    case = with_readings(shop(), {"hopper": HOPPER, "date": "28.11.2026"})
    assert case.document["readings"][0]["date"] == "2026-11-28"


def test_command_takes_readings_as_a_case_has_them_and_needs_no_name_where_there_is_one_dryer(capsys, tmp_path):
    plain, section, two = (tmp_path / name for name in ("plain.toml", "section.toml", "two.toml"))
    plain.write_text('power = "8.4 kW"\n')
    section.write_text('[[readings]]\nhopper = "Machine 7"\npower = "8.4 kW"\n')
    two.write_text(section.read_text() + '[[readings]]\nhopper = "Machine 2"\npower = "1 kW"\n')
    told = []
    for file, more in ((plain, []), (section, []), (two, ["--hopper", "Machine 7"])):
        assert main(["walkthrough", "one-machine", "--readings", str(file), *more]) == 0
        told.append(capsys.readouterr().out)
    assert told[0] == told[1] == told[2]
    assert main(["walkthrough", "demo", "--readings", str(two)]) == 2
    said = "readings: has those of 2 dryers ('Machine 7', 'Machine 2'); name one of them with --hopper"
    assert said in capsys.readouterr().err
    assert main(["walkthrough", "demo", "--readings", str(plain)]) == 2
    assert "hopper: is missing" in capsys.readouterr().err


def test_the_accuracy_of_a_reading_goes_along():
    read = {"hopper": HOPPER, "throughput": "90 kg/h", "air_velocity": "12 m/s", "duct_diameter": "100 mm"}
    read |= {"regeneration_temperature": {"value": "240 degC", "accuracy": "6 K"}}
    told = balance(shop(), readings_from(read))
    inputs = as_baseline(shop(), told).document["options"][0]["inputs"]
    # Half-width over the root of three, twice of it: 6.9 K.
    assert [inputs["regeneration_temperature"][key] for key in ("low", "value", "high")] == [
        "233.1 degC",
        "240 degC",
        "246.9 degC",
    ]
    flow = told.quantities["air_flow"]
    low, high = (float(inputs["air_resin_ratio"][end]) for end in ("low", "high"))
    assert (low, high) == pytest.approx(
        ((flow.value - flow.expanded) / 0.025, (flow.value + flow.expanded) / 0.025), rel=5e-3
    )
    drawn = [entry.name for entry in uncertain_inputs(as_baseline(shop(), told))[0]]
    assert f"options['{shop().model.options[0].name}'].inputs.air_resin_ratio" in drawn


def test_what_is_to_be_checked_first_is_not_taken_over():
    read = readings_from(
        {
            "hopper": HOPPER,
            "throughput": "90 kg/h",
            "air_velocity": "12 m/s",
            "duct_diameter": "100 mm",
            "power": "9 kW",
            "dew_point": "-30 degC",
            "regeneration_cycle": "3 h",
            "regeneration_control": "timer",
        }
    )
    kept = undoubted(read, ["air_flow", "power", "regeneration_cycle"])
    assert (kept.air_velocity, kept.power, kept.regeneration_cycle) == (None, None, None)
    assert (kept.dew_point, kept.throughput) == (read.dew_point, read.throughput)
    option = as_baseline(shop(), balance(shop(), kept)).document["options"][0]
    assert set(option) & {"metered_over_model", "delivered_dew_point"} == {"delivered_dew_point"}
    assert not {"air_resin_ratio", "cycle_time"} & set(option["inputs"])
    assert undoubted(read, ["throughput"]).power is None


def test_air_that_was_read_takes_the_place_of_the_nameplates():
    of = shop().with_({f"options['{shop().model.options[0].name}'].airflow": "330 m3/h at 20 degC"})
    read = readings_from(
        {"hopper": HOPPER, "throughput": "90 kg/h", "air_velocity": "12 m/s", "duct_diameter": "100 mm"}
    )
    told = balance(of, read)
    option = as_baseline(of, told).document["options"][0]
    assert "airflow" not in option
    assert float(option["inputs"]["air_resin_ratio"]["value"]) == pytest.approx(
        told.quantities["air_flow"].value / 0.025, rel=5e-3
    )
