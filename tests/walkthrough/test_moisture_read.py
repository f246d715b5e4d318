"""A moisture measured of the pellets leaving: beside the prediction, taken over as the diffusivity, or not, and why."""

from __future__ import annotations

import json

import numpy as np
import pytest
from cases import HOT, OWN_RESIN, PRESENT, case, resin
from scipy.integrate import quad
from scipy.special import jn_zeros
from scipy.stats import gamma

from dashboards.walkthrough import View
from dashboards.walkthrough_state import WalkState
from energy.cli import main
from energy.errors import CaseError
from energy.reports.moisture_words import of_pellets
from energy.reports.not_taken_over import not_taken_over
from energy.reports.walkthrough import to_text
from energy.reports.walkthrough_json import to_json
from energy.study.compare import compare
from energy.study.spread import uncertain_inputs
from energy.walkthrough.balance import balance
from energy.walkthrough.baseline import as_baseline, can_take_over, readings_from, undoubted, with_readings
from energy.walkthrough.moisture_read import DOUBTED, DRIER, FLOOR, HARDLY, NOT_RUN, SURFACE, UNKNOWN, WETTER
from energy.walkthrough.walk import walk

HOPPER = "Machine 7"
AIR = {"process_temperature": "82 degC", "dew_point": "-30 degC", "throughput": "90 kg/h"}
SURE = {"process_temperature": "0.01 K", "dew_point": "0.01 K"}
PA = 5e-12
"""Of PA66, of which a fifth to five times that is published. [m2/s]"""


def of(name: str = "PA66", option: str = PRESENT, **hopper: object):
    place = f"options['{option}']"
    changes = {**resin(name, **hopper), f"{place}.baseline": True, f"{place}.built_for": None}
    return case(option, changes=changes)


def walked(at, moisture: str | dict, **other: object):
    return walk(at, readings_from({"hopper": HOPPER, "outlet_moisture": moisture, **AIR, **other}))


def said(made, system: str = "si") -> str:
    return " ".join(of_pellets(made.balance.found, made.pellets, system))


def by_hand(made, diffusivity: float) -> float:
    """Mean moisture of the pellets leaving, by the printed series of cylinder and sheet. [kg/kg dry]

    Pellets warm exponentially down the bed; twenty stirred tanks stand for the spread of their stays.
    """
    found = made.balance.found
    data, state, duty = found.duty.resin, found.as_found.hopper, found.duty_found
    rate, fed = float(state.heating_rate[0]), float(duty.resin_temperature[0])
    out, stay = float(state.resin_outlet_temperature[0]), float(np.ravel(duty.residence_time)[0])
    stay *= float(np.ravel(duty.design_throughput)[0]) / (90.0 / 3600.0)

    def at(depth: float) -> float:
        warm = fed + (out - fed) * np.expm1(-rate * depth) / np.expm1(-rate)
        return np.exp(-data.diffusion_activation_energy / 8.314462618 * (1 / warm - 1 / data.diffusivity_temperature))

    passed = diffusivity * stay * quad(at, 0.0, 1.0, points=[0.01, 0.1])[0]
    zeros, odd = jn_zeros(0, 400), 2.0 * np.arange(400) + 1.0
    radius, half = 0.5 * data.pellet_diameter, 0.5 * data.pellet_length

    def left(share: float) -> float:
        cylinder = np.sum(4.0 / zeros**2 * np.exp(-(zeros**2) * share * passed / radius**2))
        sheet = np.sum(8.0 / (odd * np.pi) ** 2 * np.exp(-((odd * np.pi / 2.0) ** 2) * share * passed / half**2))
        return float(cylinder * sheet)

    spread = gamma(20.0, scale=1.0 / 20.0)
    mean = quad(lambda share: spread.pdf(share) * left(share), 0.0, 4.0, points=[0.5, 1.0, 2.0])[0]
    floor = made.pellets.floor
    return floor + (made.pellets.initial - floor) * mean


@pytest.mark.parametrize("times", [2.0, 0.5])
def test_a_dryer_whose_resin_diffuses_faster_or_slower_gives_that_diffusivity(times):
    at = of(initial_moisture={"value": "0.3 %", "low": "0.29999 %", "high": "0.30001 %"})
    air = {**AIR, "air_flow": "250 m3/h at 0 degC"}
    sure = {name: {"value": value, "accuracy": SURE.get(name, "0.01 %")} for name, value in air.items()}
    moisture = by_hand(walked(at, "1000 ppm", **sure), times * PA)
    made = walked(at, f"{moisture!r} kg/kg dry basis", **sure)
    value, low, high = made.pellets.diffusivity
    assert value == pytest.approx(times * PA, rel=0.01)
    # Ends of the range where all else is known well: what leaves a tenth over the root of 3, times 2, more and less.
    off = 2.0 * 0.1 / np.sqrt(3.0) * moisture
    assert by_hand(made, low) == pytest.approx(moisture + off, rel=1e-3)
    assert by_hand(made, high) == pytest.approx(moisture - off, rel=1e-3)

    taken = as_baseline(at, made.balance)
    own = taken.resins[0]
    assert own.diffusivity == pytest.approx(times * PA, rel=0.01)
    assert own.range_of("diffusivity") == pytest.approx((low, high), rel=1e-3)
    assert own.called == "PA66"
    assert taken.document["hoppers"][0]["own_resin"]["diffusivity"]["basis"] == "measured"
    assert "Diffusivity of water" in " ".join(entry.label for entry in uncertain_inputs(taken)[0])
    # What the walkthrough predicts then is what was read, and nothing more is to be taken over.
    again = walked(taken, f"{moisture!r} kg/kg dry basis", **sure)
    assert again.pellets.band[0] == pytest.approx(moisture, rel=1e-3)
    assert "The case counts with that: a diffusivity of water of" in said(again)
    assert as_baseline(taken, again.balance).document == taken.document
    before, after = (compare(one).baseline.verdict.moisture.predicted for one in (at, taken))
    assert (after < before) == (times > 1.0)


def test_all_options_are_judged_by_the_diffusivity_taken_over_and_other_hoppers_are_not():
    at = WalkState("demo").case
    made = walk(at, readings_from({"hopper": "Machine 2", "outlet_moisture": "0.2 %"}))
    taken = as_baseline(at, made.balance)
    told = [(a.diffusivity == b.diffusivity) for a, b in zip(at.resins, taken.resins, strict=True)]
    assert told == [True, False, True, True]
    assert at.document["hoppers"][1].get("own_resin") is None


def test_a_later_reading_is_held_against_what_is_published_and_not_against_the_one_before():
    at = of()
    once = as_baseline(at, walked(at, "1500 ppm").balance)
    twice = walked(once, "2300 ppm")
    assert "outside of the band" in said(twice)
    assert twice.pellets.diffusivity == pytest.approx(walked(at, "2300 ppm").pellets.diffusivity, rel=1e-9)
    far = walked(once, "2950 ppm")
    assert far.pellets.why_not == walked(at, "2950 ppm").pellets.why_not == WETTER


@pytest.mark.parametrize(("moisture", "beside"), [("1300 ppm", "meet the target of"), ("2400 ppm", "above the target")])
def test_the_sentence_says_target_side_and_band(moisture, beside):
    made = walked(of(target_moisture="0.18 %"), moisture)
    told, likely = said(made), made.pellets.band[0] * 1e6
    assert beside in told
    assert f"± {'150' if moisture == '1300 ppm' else '280'} ppm" in told  # 2 x 10 % / root 3
    assert ("wetter" if float(moisture[:4]) > likely else "drier") + " than predicted" in told
    assert "inside of the band of the diffusion data" in told
    assert "in air of 82 °C with a dew point of -30 °C" in told
    assert "come in with 3,000 ppm by the case" in told
    assert "all options are judged by the resin as it dries here" in told
    assert "180 °F" in said(made, "us")


def test_as_predicted_and_near_the_target_as_far_as_the_reading_tells():
    made = walked(of(), "1000 ppm")
    near = made.pellets.band[0] * 1e6
    told = said(walked(of(target_moisture=f"{near * 1.02:.0f} ppm"), f"{near:.0f} ppm"))
    assert "they meet the target of" in told
    assert "but by less than the reading may be off" in told
    assert "as wet as predicted" in told


def test_its_own_accuracy_takes_the_place_of_the_usual_one_also_of_a_small_moisture():
    # 20 ppm at least by the data, 10 % of 100 ppm; or as it is written beside it.
    for given, half in (
        ("100 ppm", 20e-6),
        ("1000 ppm", 100e-6),
        ({"value": "100 ppm", "accuracy": "5 ppm"}, 5e-6),
        ({"value": "100 ppm", "accuracy": "5 %"}, 5e-6),
    ):
        assert walked(of(), given).pellets.read.uncertainty == pytest.approx(half / np.sqrt(3.0), rel=2e-3)


@pytest.mark.parametrize(
    ("moisture", "why", "words"),
    [("2950 ppm", WETTER, "cold pellets"), ("60 ppm", DRIER, "Measure the moisture of the pellets fed")],
)
def test_what_no_published_diffusivity_gives_is_not_taken_over_and_something_else_is_likelier(moisture, why, words):
    at = of()
    made = walked(at, moisture)
    assert made.pellets.why_not == why
    assert "outside of the band of the diffusion data" in said(made)
    assert "something else is likelier" in said(made)
    assert words in said(made)
    assert "own_resin" not in as_baseline(at, made.balance).document["hoppers"][0]


def test_at_the_floor_and_where_the_prediction_hardly_moves_nothing_is_taken_over():
    # Hot air of a hall of 12 degC dew point leaves far more in ABS than 20 ppm.
    hot = {"process_temperature": "80 degC", "dew_point": "12 degC", "throughput": "90 kg/h"}
    at = of("ABS", HOT)
    floor = walked(at, "1000 ppm", **hot).pellets.floor
    made = walked(at, f"{floor * 1.05!r} kg/kg dry basis", **hot)
    assert made.pellets.why_not == FLOOR
    assert "what this air leaves in them in any time" in said(made)
    dry = of("PC", drying_temperature="120 degC", residence_time="6 h")  # dried through, whatever the diffusivity
    read, warm = "30 ppm", {"process_temperature": "120 degC", "throughput": "60 kg/h"}
    made = walked(dry, read, **warm)
    assert made.pellets.band[2] < 20e-6
    assert made.pellets.why_not == HARDLY
    assert "moves by less than the reading may be off" in said(made)
    for one, all_read in (
        (at, {**hot, "outlet_moisture": f"{floor * 1.05!r} kg/kg dry basis"}),
        (dry, {**AIR, **warm, "outlet_moisture": read}),
    ):
        kept = as_baseline(one, balance(one, readings_from({"hopper": HOPPER, **all_read})))
        assert "own_resin" not in kept.document["hoppers"][0]


@pytest.mark.parametrize(
    ("moisture", "told"),
    [
        (
            "3600 ppm",
            "3,600 ppm is wetter than the pellets come in by the case (3,000 ppm). A slip of ten, or are they fed wetter",
        ),
        ("0.2 ppm", "0.2 ppm is less than any analyser shows. Per cent taken for ppm?"),
    ],
)
def test_a_moisture_that_cannot_be_is_set_aside_with_its_reason(moisture, told):
    at = of()
    made = walked(at, moisture)
    assert made.pellets is None
    [doubt] = made.doubts
    assert (doubt.reading, doubt.cannot_be) == ("outlet_moisture", True)
    assert told in doubt.text
    assert "In no figure until it is checked: moisture of the pellets leaving." in to_text(made, "si")
    assert "own_resin" not in as_baseline(at, made.balance).document["hoppers"][0]
    # Energy goes by what else was read.
    rest = walk(at, readings_from({"hopper": HOPPER, **AIR}))
    assert made.balance.specific_energy == pytest.approx(rest.balance.specific_energy, rel=1e-12)


def test_drier_than_its_air_lets_them_is_doubted_but_not_by_a_dew_point_that_is_itself_in_doubt():
    at = of("ABS", HOT)
    hot = {"process_temperature": "80 degC", "dew_point": "12 degC", "throughput": "90 kg/h"}
    # Slope 0.7 % of the data times the relative humidity: 1,403 over 47,415 Pa (12 and 80 degC): 207 ppm.
    [doubt] = walked(at, "100 ppm", **hot).doubts
    assert "100 ppm is drier than air of 80 °C with a dew point of 12 °C leaves them in the long run (20" in doubt.text
    assert walked(at, "190 ppm", **hot).doubts == ()  # within what the reading may be off
    slip = walked(of(), "1000 ppm", dew_point="30 degC")
    assert [doubt.reading for doubt in slip.doubts] == ["dew_point"]


@pytest.mark.parametrize(
    ("wrong", "named"),
    [({"dew_point": "30 degC"}, "dew_point"), ({"throughput": "900 kg/h"}, "throughput")],
)
def test_beside_doubted_air_or_throughput_nothing_is_taken_over(wrong, named):
    at = of()
    made = walked(at, "1500 ppm", **wrong)
    assert made.pellets.why_not == DOUBTED
    assert named in made.pellets.doubted
    assert "before this is checked:" in said(made)
    assert "own_resin" not in as_baseline(at, made.balance).document["hoppers"][0]
    doubted = [doubt.name for doubt in made.doubts]
    assert undoubted(made.balance.found.typed, doubted).outlet_moisture is None


def test_a_temperature_in_another_unit_holds_it_back_too():
    made = walked(of(), "1500 ppm", process_temperature="180 degC")  # 180 degF are 82 degC
    assert made.pellets.why_not == DOUBTED
    assert made.pellets.doubted == ("process_temperature",)


def test_a_dryer_that_the_model_cannot_run_as_read_tells_no_diffusivity():
    made = walked(of(), "1500 ppm", air_velocity="0.4 m/s", duct_diameter="60 mm")
    assert made.pellets.why_not == NOT_RUN
    assert made.pellets.diffusivity is None


@pytest.mark.parametrize(
    ("hopper", "why", "words"),
    [
        ({"resin": "own", "own_resin": OWN_RESIN}, UNKNOWN, "no diffusion data for own resin"),
        ({"resin": "PP", "own_resin": None}, SURFACE, "holds water on its surface only"),
    ],
)
def test_without_diffusion_data_it_is_held_against_the_target_alone(hopper, why, words):
    name = hopper["resin"]
    at = of(name, own_resin=hopper["own_resin"])
    made = walk(at, readings_from({"hopper": HOPPER, "outlet_moisture": "100 ppm"}))
    assert made.pellets.why_not == why
    assert made.pellets.band is None
    assert words in said(made)
    assert "cannot be compared" in said(made)
    assert "the target of" in said(made)
    assert "predicted (" not in said(made)
    assert not can_take_over(made.balance)
    assert json.loads(to_json(made))["pellets"]["predicted"] is None


def test_a_vacuum_dryer_has_such_a_reading_too():
    at = of("PA66", "Vacuum")
    made = walk(at, readings_from({"hopper": HOPPER, "outlet_moisture": "1500 ppm"}))
    assert made.pellets.band is not None
    assert made.balance.notes == ()


def test_text_json_and_command_show_it(tmp_path, capsys):
    at = with_readings(of(), {"hopper": HOPPER, "outlet_moisture": "1500 ppm", **AIR})
    made = walk(at, at.model.readings[0])
    text = to_text(made, "si")
    assert "Moisture of the pellets leaving\n  The pellets leave with 1,500 ± 170 ppm:" in text
    told = json.loads(to_json(made))["pellets"]
    assert told["moisture"] == pytest.approx(0.0015 / 0.9985)
    assert told["low"] < told["predicted"] < told["high"]
    assert len(told["diffusivity_m2_per_s"]) == 3
    at.save(tmp_path / "my.toml")
    assert main(["walkthrough", str(tmp_path / "my.toml")]) == 0
    assert "The pellets leave with 1,500 ± 170 ppm" in capsys.readouterr().out
    assert json.loads(to_json(walk(at, readings_from({"hopper": HOPPER, **AIR}))))["pellets"] is None


def test_where_nothing_else_was_read_that_is_said_of_the_energy():
    made = walk(of(), readings_from({"hopper": HOPPER, "outlet_moisture": "1500 ppm"}))
    assert "Nothing that the energy rests on was read yet: these are the model's figures." in to_text(made, "si")


def test_a_request_tells_what_was_read_and_is_not_counted():
    at = with_readings(of(), {"hopper": HOPPER, "outlet_moisture": "1500 ppm", **AIR})
    [told] = not_taken_over(at, "si")
    assert "moisture of the pellets leaving (1,500 ppm read, " in told
    taken = as_baseline(at, balance(at, at.model.readings[0]))
    assert "moisture" not in " ".join(not_taken_over(taken, "si"))


def test_the_page_shows_it_takes_it_over_and_takes_it_back():
    state = WalkState("demo")
    state.hopper = [hopper.name for hopper in state.case.model.hoppers].index("Machine 2")
    view = View(state)
    state.read("outlet_moisture", "1900 ± 5 %")
    assert state.entry["outlet_moisture"] == {"value": "1900 ppm", "accuracy": "5 %"}
    # 1,900 ppm, 2 x 5 % / root 3.
    assert "The pellets leave with 1,900 ± 110 ppm" in view._gaps.value
    assert state.adoptable
    state.adopt()
    assert "Diffusivity of water: 5e-12 m²/s before," in state.notice
    assert state.case.resins[1].diffusivity != PA
    state.undo()
    assert state.case.resins[1].diffusivity == PA


def test_the_page_says_why_it_does_not_take_it_over():
    state = WalkState("demo")
    state.read("outlet_moisture", "100")  # polycarbonate that is dried through
    state.adopt()
    assert (
        "The moisture is not taken over, since no diffusivity that the data of PC allow leaves so much" in state.notice
    )
    assert "own_resin" not in state.document["hoppers"][0]
    state.undo()
    state.read("outlet_moisture", "5000")
    assert "wetter than the pellets come in" in state.to_check("outlet_moisture")


@pytest.mark.parametrize("given", ["60 %", "0 ppm", "300", "1 g/kg"])
def test_what_is_no_moisture_is_refused(given):
    with pytest.raises(CaseError, match="outlet_moisture"):
        readings_from({"hopper": HOPPER, "outlet_moisture": given})


def test_data_of_another_resin_are_named_and_end_with_the_take_over():
    at = of("PET", own_resin={"name": "PETG"}, drying_temperature="65 degC")
    cool = {"process_temperature": "65 degC"}
    made = walked(at, "1800 ppm", **cool)
    assert "of the band of the diffusion data of PET (" in said(made)
    taken = as_baseline(at, made.balance)
    assert taken.document["hoppers"][0]["own_resin"]["name"] == "PETG"
    assert "of the band of the diffusion data (" in said(walked(taken, "1800 ppm", **cool))


def test_a_resin_of_ones_own_without_a_range_goes_by_a_factor_of_five_also_after_a_take_over():
    own = OWN_RESIN | {
        "diffusivity": "3e-11 m2/s",
        "diffusivity_temperature": "95 degC",
        "diffusion_activation_energy": "40 kJ/mol",
    }
    at, warm = of("own", own_resin=own), {"process_temperature": "95 degC"}
    slow = walked(at, "500 ppm", **warm).pellets.band[2]  # with a fifth
    [near, beyond] = (f"{slow * times!r} kg/kg dry basis" for times in (0.95, 1.15))
    assert walked(at, beyond, **warm).pellets.why_not == WETTER
    once = walked(at, near, **warm)
    assert 0.2 < once.pellets.diffusivity[0] / 3e-11 < 0.25
    taken = as_baseline(at, once.balance)
    assert walked(taken, beyond, **warm).pellets.diffusivity[0] < 0.2 * 3e-11


def test_also_in_a_dryer_with_little_air_the_case_predicts_what_was_read_once_that_is_taken_over():
    """There the water that leaves, which hangs on the diffusivity, decides how warm the pellets get."""
    at = of("PET", "Desiccant wheel")
    read = {"hopper": HOPPER, "outlet_moisture": "264 ppm", "process_temperature": "159 degC", "throughput": "174 kg/h"}
    made = walk(at, readings_from(read))
    again = walk(as_baseline(at, made.balance), readings_from(read))
    assert again.pellets.band[0] == pytest.approx(264e-6 / (1.0 - 264e-6), rel=1e-3)
