"""How big the machines of an option are, by hand, and that a size stated is the size there is."""

import numpy as np
import pytest
from cases import AIR, BEDS, HOPPER, HOT, MEMBRANE, NEW, PA, PC, PRESENT, WHEEL, alone, plant, resin
from cases import case as case_of

from energy.study.compare import compare
from energy.study.machine_sizes import sizes_of
from energy.study.option_sections import Option


def sizes(case):
    (base,) = [o for o in case.model.options if o.baseline]
    return sizes_of(case, base)


def test_a_hopper_holds_what_flows_through_it_in_the_time_asked():
    case = alone(HOT)
    (size,) = sizes(case)
    assert size.built_for * 3600 == pytest.approx(90)
    usable = case.model.options[0].inputs.usable_share
    # 90 kg/h for 4 h, in a bed of that bulk density.
    assert size.hopper_volume == pytest.approx(360.0 / (case.resins[0].bulk_density * usable))
    assert size.air_resin_ratio == pytest.approx(case.resins[0].air_resin_ratio)


@pytest.mark.parametrize("option", [NEW, AIR])
def test_a_size_that_is_stated_stays_under_another_duty(option):
    before = alone(option)
    (size,) = sizes(before)
    place = f"options['{option}']"
    other = {
        f"{HOPPER}.resin": "PET",
        f"{HOPPER}.throughput": "140 kg/h",
        f"{HOPPER}.residence_time": None,
        f"{HOPPER}.drying_temperature": None,
    }
    stated = {
        f"{place}.built_for": f"{size.built_for * 3600!r} kg/h",
        f"{place}.hopper_volume": f"{size.hopper_volume!r} m3",
        f"{place}.inputs.air_resin_ratio": size.air_resin_ratio,
    }
    (grown,), (kept,) = sizes(before.with_(other)), sizes(before.with_({**other, **stated}))
    assert grown.built_for > size.built_for
    assert grown.hopper_volume > size.hopper_volume
    for key in ("built_for", "hopper_volume", "air_resin_ratio"):
        assert getattr(kept, key) == pytest.approx(getattr(size, key), rel=1e-9)


def test_of_a_central_system_each_hopper_has_its_own():
    case = plant(WHEEL, hoppers=(PC, PA), **{f"options['{WHEEL}'].baseline": True})
    central = Option.model_validate({**case.document["options"][0], "arrangement": "central"})
    assert [s.built_for * 3600 for s in sizes_of(case, central)] == pytest.approx([90, 40])


def test_a_type_that_does_not_dry_in_its_hopper_has_no_hopper_of_its_own():
    case = alone(HOT, {f"options['{HOT}'].type": "vacuum", f"options['{HOT}'].inputs": None})
    (size,) = sizes(case)
    assert (size.hopper_volume, size.air_resin_ratio) == (None, None)
    assert size.built_for * 3600 == pytest.approx(90)


@pytest.mark.parametrize("option", [AIR, WHEEL])
def test_the_air_of_a_size_is_the_air_that_it_runs_with(option):
    case = alone(option, resin("PET"))
    operation = compare(case).baseline.operation
    assert sizes(case)[0].air_resin_ratio == pytest.approx(float(operation.air_flow.max()) * 3600 / 90, rel=1e-9)


DAMP = {"site.hall_temperature": "32 degC", "site.hall_dew_point": "25 degC"}


@pytest.mark.parametrize("name", [NEW, WHEEL, BEDS])
def test_new_beds_are_sized_for_the_hall_they_stand_in_where_that_is_damper_than_usual(name):
    place = f"options['{name}'].inputs.design_hall_dew_point"

    def bed(**changes):
        option = compare(case_of(PRESENT, name, changes={**DAMP, **changes})).option(name)
        return float(np.max(option.operation.sizing["desiccant"]))

    own = bed()
    assert own == pytest.approx(bed(**{place: "25 degC"}), rel=1e-9)  # as if it were asked for
    assert own == pytest.approx(bed(**{place: "15 degC"}), rel=1e-9)  # nobody builds one too small for its place
    assert bed(**{place: "28 degC"}) > 1.02 * own  # a margin of one's own stays
    assert own > 1.02 * bed(**{"site.hall_dew_point": "20 degC"})
    assert bed(**{"site.hall_dew_point": "20 degC"}) == pytest.approx(
        bed(**{"site.hall_dew_point": "10 degC"}), rel=1e-9
    )


def test_beds_that_stand_there_are_as_big_as_they_are():
    """A present dryer keeps the beds of its own inputs in whatever hall."""
    here, damp = (
        compare(case_of(PRESENT, NEW, changes=changes)).baseline.operation.sizing["desiccant"] for changes in ({}, DAMP)
    )
    assert float(np.max(damp)) == pytest.approx(float(np.max(here)), rel=1e-9)


@pytest.mark.parametrize("option", [NEW, WHEEL, BEDS, AIR, MEMBRANE, HOT])
@pytest.mark.parametrize("throughput", ["6 kg/h", "25 kg/h", "40 kg/h", "400 kg/h"])
def test_a_new_hopper_gets_the_air_that_warms_its_pellets_through(option, throughput):
    """Whatever its type and size: within the 5 K that the check of drying lets pass."""
    found = compare(alone(option, {**resin("TPU"), f"{HOPPER}.throughput": throughput})).baseline
    short = found.duty.drying_temperature - found.operation.hopper.resin_outlet_temperature
    assert np.all(short <= 5.0)
    assert np.all(found.operation.hopper.capacity_ratio < 6.2)


def test_a_bed_too_low_gets_six_times_the_least_and_no_more():
    uneven = {f"options['{WHEEL}'].inputs.transfer_unit_height": "0.6 m"}
    found = compare(alone(WHEEL, {**resin("TPU"), f"{HOPPER}.throughput": "2 kg/h", **uneven})).baseline
    assert found.verdict.grade_of("drying temperature") != "pass"
    assert float(found.operation.hopper.capacity_ratio.min()) == pytest.approx(6.0, rel=0.03)


def test_an_airflow_that_is_stated_stays():
    stated = compare(
        alone(
            WHEEL,
            {**resin("TPU"), f"{HOPPER}.throughput": "40 kg/h", f"options['{WHEEL}'].inputs.air_resin_ratio": 2.4},
        )
    )
    assert float(stated.baseline.operation.air_flow.max()) == pytest.approx(2.4 * 40 / 3600, rel=1e-9)
