"""A case on a climate: months differ, and open-loop dryers are judged in the worst of them."""

from __future__ import annotations

import numpy as np
import pytest
from cases import HOPPER, HOT, NEW, PRESENT, case, resin

from energy.air import atmosphere
from energy.errors import CaseError
from energy.plant.climate import sample_climate
from energy.study.compare import compare
from energy.study.duty import duties_of

HALL = {"site.hall_temperature": None, "site.hall_dew_point": None}


def on(climate, **changes):
    return case(PRESENT, NEW, HOT, changes={"site.climate": climate, **HALL, **changes})


def test_the_hall_of_each_month_is_the_climates():
    plant = on("temperate")
    sample = sample_climate("temperate", pressure=float(atmosphere.pressure_at_altitude(150.0)))
    (duty,) = duties_of(plant)
    np.testing.assert_array_equal(duty.hall_temperature, sample.hall_temperature)
    np.testing.assert_array_equal(duty.hall_dew_point, sample.hall_dew_point)


@pytest.mark.common_practice("open-loop hot air is risky for hygroscopic resins in humid months, and usual for ABS")
def test_pa66_fails_in_hot_air_and_the_month_is_named_abs_does_not():
    verdict = compare(on("temperate", **resin("PA66"))).option(HOT).verdict
    floor = next(f for f in verdict.findings if f.check == "equilibrium moisture")
    assert floor.verdict == "fail"
    assert " in July" in floor.text
    assert compare(on("temperate", **resin("ABS"))).option(HOT).verdict.overall == "caution"


def test_the_machine_is_the_same_all_year():
    option = compare(on("cold")).option(NEW)
    for name in ("hopper_volume", "desiccant"):
        assert np.ptp(np.broadcast_to(option.operation.sizing[name], (12,))) == 0.0
    assert np.ptp(np.broadcast_to(option.operation.air_flow, (12,))) == 0.0


def test_twelve_equal_months_are_one_hall_air():
    """The same hall all year, said once or by a weather file of equal months, costs the same; here: said once, any year."""
    one = compare(case(PRESENT, NEW))
    assert np.ptp(one.duty.hall_temperature) == 0.0
    for option in one.options:
        assert np.ptp(np.broadcast_to(option.operation.delivered_dew_point, (12,))) == pytest.approx(0.0, abs=1e-9)


def test_a_colder_winter_costs_hot_air_more():
    assert compare(on("cold")).option(HOT).specific_energy > compare(on("hot-dry")).option(HOT).specific_energy


def test_a_climate_and_one_hall_air_exclude_each_other():
    with pytest.raises(CaseError, match=r"site.hall_temperature: stands beside a climate"):
        case(PRESENT, changes={"site.climate": "temperate"})


def test_neither_is_told_with_what_there_is():
    with pytest.raises(CaseError, match=r"site.hall_dew_point: is missing; give it, or a climate \(cold, hot-dry"):
        case(PRESENT, changes={"site.hall_dew_point": None})


def test_an_unknown_climate_is_told_with_the_nearest():
    with pytest.raises(CaseError, match=r"site.climate: 'tempered' is neither .* did you mean 'temperate'"):
        on("tempered")


def test_too_cold_a_drying_temperature_is_told_for_the_warmest_month():
    with pytest.raises(CaseError, match=r"is too cold"):
        on("hot-humid", **{f"{HOPPER}.resin": "ABS", f"{HOPPER}.drying_temperature": "38 degC"})


def test_hot_air_from_outdoors_is_as_dry_and_as_cold_as_the_month():
    intake = {f"options['{HOT}'].inputs.intake": "outdoors"}
    hall, out = (compare(on("cold", **more)).option(HOT) for more in ({}, intake))
    sample = sample_climate("cold", pressure=float(atmosphere.pressure_at_altitude(150.0)))
    np.testing.assert_allclose(out.operation.delivered_dew_point, sample.outdoor_dew_point, atol=2e-4)
    np.testing.assert_allclose(hall.operation.delivered_dew_point, sample.hall_dew_point, atol=2e-4)
    # What the air outdoors lacks of the hall's temperature, times flow, 1.006 kJ/(kg K) and time, over all months.
    lacks = sample.hall_temperature - sample.outdoor_temperature
    flow, hours = hall.operation.air_flow, on("cold").calendar.production
    by_hand = float(np.sum(flow * 1006.0 * np.maximum(lacks, 0.0) * hours))
    assert out.heat_out["outdoor air warmed"] == pytest.approx(by_hand, rel=0.03)
    gas = [o.energy["process heat", "gas"] for o in (hall, out)]
    assert gas[1] - gas[0] == pytest.approx(
        by_hand / 0.8, rel=0.03
    )  # of a heater that brings 80 % of its fuel into the air
    assert sum(out.heat_in.values()) == pytest.approx(sum(out.heat_out.values()), rel=1e-9)


def test_air_from_outdoors_has_to_be_known():
    with pytest.raises(CaseError, match=r"inputs\.intake: the case has no air outdoors; give site\.climate"):
        case(PRESENT, HOT, changes={f"options['{HOT}'].inputs.intake": "outdoors"})
