"""Where the heat of a dryer ends up, and what it does to the hall."""

from __future__ import annotations

import numpy as np
import pytest
from pydantic import ValidationError

from energy import dryers
from energy.dryers import circuit_inputs
from energy.dryers.base import BEYOND_MODEL, CompressedAir, Duty
from energy.equipment import building
from energy.equipment.building import Building
from energy.errors import ModelError, UnknownNameError
from energy.resins.properties import load_resin
from energy.sources import load

COLD_FIRST = 273.15 + np.array([1.0, 2.0, 5.0, 9.0, 14.0, 17.0, 19.0, 18.0, 15.0, 10.0, 5.5, 2.5])


def duty():
    resin = load_resin("PET")
    return Duty(
        resin=resin,
        throughput=np.array([0.0, 0.02, 0.05]),
        design_throughput=np.array(0.05),
        drying_temperature=np.array(resin.drying_temperature),
        residence_time=np.array(resin.residence_time),
        resin_temperature=np.array(295.15),
        initial_moisture=np.array(resin.initial_moisture),
        final_moisture=np.array(resin.target_moisture),
        hall_temperature=np.array(295.15),
        hall_dew_point=np.array(283.15),
        outdoor_temperature=np.array(280.15),
        outdoor_dew_point=np.array(275.15),
        pressure=np.array(101325.0),
        coolant_temperature=np.array(291.15),
        compressed_air=CompressedAir(
            pressure=np.array(8e5),
            pressure_dew_point=np.array(276.15),
            marginal_power=np.array(4e5),
            line_leak_share=np.array(0.05),
        ),
    )


def variants():
    """Every type with every choice that names terms of its heat balance."""
    for kind, module in dryers.TYPES.items():
        closed = issubclass(module.Inputs, circuit_inputs.Inputs)
        for source in ("electric",) if kind == "infrared-drum" else ("electric", "gas"):
            for cooler in ("water", "hall air") if closed else (None,):
                for pump in ("pump", "ejector") if kind == "vacuum" else (None,):
                    for intake in ("hall", "outdoors") if kind == "hot-air" else (None,):
                        chosen = {"heat_source": source, "cooler": cooler, "pump": pump, "intake": intake}
                        yield kind, {key: value for key, value in chosen.items() if value}


@pytest.mark.parametrize(("kind", "inputs"), list(variants()))
@pytest.mark.parametrize("exhaust", ["hall", "outside"])
def test_all_the_heat_of_every_type_ends_up_somewhere(kind, inputs, exhaust):
    module = dryers.TYPES[kind]
    operation = module.Dryer(module.Inputs(**inputs)).run(duty())
    hall = Building(process_exhaust=exhaust, regeneration_exhaust=exhaust)
    places = hall.places(operation.heat_out)
    assert tuple(places) == building.DESTINATIONS
    supplied = sum(operation.heat_in.values())
    assert sum(places.values()) == pytest.approx(supplied, rel=1e-9)
    assert places["resin"] == pytest.approx(operation.heat_out["resin"])
    assert places["cooling water"] == pytest.approx(operation.energy.get(("cooling", "cooling"), 0.0))
    # What heats the hall: all but resin, water vapour, cooling water, flue, and what is led outside.
    away = ["resin", "evaporated water", "aftercooler", "flue gas", "compressor house", "outdoor air warmed"]
    away += ["exhaust air", "regeneration exhaust"] if exhaust == "outside" else []
    gone = sum(operation.heat_out.get(term, 0.0) for term in away)
    assert places["hall"] == pytest.approx(supplied - gone, rel=1e-9, abs=1e-9 * float(np.max(supplied)))


def test_no_term_is_listed_that_no_type_has():
    seen = {"warm-up", "conveying", BEYOND_MODEL}  # the year's own, a central system's, and a metered dryer's
    for kind, inputs in variants():
        module = dryers.TYPES[kind]
        seen |= module.Dryer(module.Inputs(**inputs)).run(duty()).heat_out.keys()
    assert seen == {*building.FIXED, *building.CHOSEN}
    assert not building.FIXED.keys() & building.CHOSEN.keys()
    assert {*building.FIXED.values()} <= {*building.DESTINATIONS}


def test_places_that_a_plant_chooses():
    heat = {"exhaust air": np.array(1.0), "regeneration exhaust": np.array(2.0), "compressor house": np.array(4.0)}
    usual = Building().places(heat)
    assert (usual["hall"], usual["outside"]) == (3.0, 4.0)
    other = Building(process_exhaust="outside", compressor_heat="hall").places(heat)
    assert (other["hall"], other["outside"]) == (6.0, 1.0)
    with pytest.raises(UnknownNameError, match="'exhaust' is not a known term of a heat balance; known: resin, "):
        Building().destination("exhaust")


@pytest.mark.published(
    "Heat of a dryer in a cooled hall, reference H", where="10 kW at COP 3 to 4: 2.5 to 3.3 kW", quoted="computed"
)
@pytest.mark.parametrize(("performance", "kilowatt"), [(4.0, 2.5), (3.0, 3.3)])
def test_a_cooled_hall_pays_for_the_heat_again(performance, kilowatt):
    found = building.hall_effect(
        np.full(12, 10e3),
        0.0,
        1.0,
        usable_share=1.0,
        heating_efficiency=0.8,
        cooling_performance=performance,
    )
    assert found.cooling_electricity / 1e3 == pytest.approx(np.full(12, kilowatt), abs=0.05)
    assert np.all(found.heating_saved == 0.0)


@pytest.mark.published(
    "Gas for a useful heat, reference G", where="1 GJ at 80 % of the higher heating value", quoted="347.2 kWh"
)
def test_heat_in_the_hall_replaces_gas():
    found = building.hall_effect(
        np.full(12, 1e9 / 6),
        [1, 1, 1, 0, 0, 0, 0, 0, 0, 1, 1, 1],
        0.0,
        usable_share=1.0,
        heating_efficiency=0.8,
        cooling_performance=3.0,
    )
    assert float(np.sum(found.heating_saved)) / 3.6e6 == pytest.approx(347.2, abs=0.05)


def test_a_season_takes_the_coldest_or_warmest_months_and_a_part_of_one():
    assert building.season(COLD_FIRST, 3.5, coldest=True).tolist() == [1, 1, 0.5, 0, 0, 0, 0, 0, 0, 0, 0, 1]
    assert building.season(COLD_FIRST, 2.0, coldest=False).tolist() == [0, 0, 0, 0, 0, 0, 1, 1, 0, 0, 0, 0]
    # South of the equator the same months lie half a year on.
    south = np.roll(COLD_FIRST, 6)
    assert building.season(south, 3.5, coldest=True).tolist() == [0, 0, 0, 0, 0, 1, 1, 1, 0.5, 0, 0, 0]
    for months in (0.0, 4.25, 12.0):
        assert building.season(COLD_FIRST, months, coldest=True).sum() == months


@pytest.mark.parametrize("outdoors", [COLD_FIRST, np.full(12, 290.0)])
@pytest.mark.parametrize("heated", [0.0, 5.0, 7.3, 12.0])
def test_seasons_that_fill_the_year_meet_and_do_not_overlap(outdoors, heated):
    shares = [building.season(outdoors, n, coldest=cold) for n, cold in ((heated, True), (12.0 - heated, False))]
    assert sum(shares) == pytest.approx(np.ones(12))


def test_a_building_by_hand_and_draws_on_leading_axes():
    hall = Building(
        heating_months=3.5, usable_share=0.5, heating_efficiency=0.8, cooling_months=2.0, cooling_performance=4.0
    )
    heat = np.array([np.full(12, 8e9), np.arange(12) * 1e9])
    found = hall.effect(heat, COLD_FIRST)
    assert found.heating_saved.shape == found.cooling_electricity.shape == (2, 12)
    assert found.heating_saved.sum(axis=-1) == pytest.approx([3.5 * 5e9, (0 + 1 + 0.5 * 2 + 11) * 0.625e9])
    assert found.cooling_electricity.sum(axis=-1) == pytest.approx([2 * 2e9, (6 + 7) * 0.25e9])
    drawn = building.hall_effect(
        heat, 1.0, 0.0, usable_share=[0.5, 1.0], heating_efficiency=[0.8, 0.5], cooling_performance=3.0
    )
    assert drawn.heating_saved[:, 1] == pytest.approx([5e9, 2e9])


def test_fresh_air_for_what_is_blown_out_by_hand():
    hall = Building(
        heating_months=3.0, usable_share=0.5, heating_efficiency=0.8, cooling_months=2.0, cooling_performance=4.0
    )
    # Cold in the winter, warmer than the hall in July only, and no heat of dryers. [J]
    fresh = np.array([8e9, 8e9, 4e9, 3e9, 2e9, 1e9, -6e9, 2e9, 3e9, 4e9, 6e9, 8e9])
    found = hall.effect(np.zeros(12), COLD_FIRST, fresh)
    # January, February and December: all of it is bought, whatever share of heat is usable.
    assert found.make_up_heating.tolist() == pytest.approx([1e10, 1e10, *[0.0] * 9, 1e10])
    # July and August: cooled, and helped to cool.
    assert found.make_up_cooling.tolist() == pytest.approx([*[0.0] * 6, 1.5e9, -0.5e9, *[0.0] * 4])
    assert not found.heating_saved.any()
    # Air that is warmer than a heated hall needs no heating.
    assert not hall.effect(np.zeros(12), COLD_FIRST, np.full(12, -1e9)).make_up_heating.any()


def test_only_air_whose_term_is_led_out_leaves():
    air = {"exhaust air": np.full(12, 3.0), "regeneration exhaust": np.full(12, 1.0)}
    assert Building().blown_out(air).tolist() == [0.0] * 12
    assert Building(process_exhaust="outside").blown_out(air).tolist() == [3.0] * 12
    assert Building(regeneration_exhaust="outside").blown_out(air).tolist() == [1.0] * 12
    assert Building(process_exhaust="outside").blown_out({}).tolist() == [0.0] * 12


@pytest.mark.parametrize(("kind", "inputs"), list(variants()))
def test_hall_air_leaves_with_a_term_of_the_balance(kind, inputs):
    module = dryers.TYPES[kind]
    operation = module.Dryer(module.Inputs(**inputs)).run(duty())
    taken = {k: np.broadcast_to(v, (3,)) for k, v in operation.hall_air.items()}
    assert taken.keys() <= operation.heat_out.keys()
    assert all(np.all(v >= 0.0) for v in taken.values())
    once = {"hot-air": inputs.get("intake") == "hall", "infrared-drum": True}.get(kind, False)
    if once:  # all of its air
        assert taken["exhaust air"] == pytest.approx(operation.air_flow)
    elif kind.startswith("desiccant"):
        assert np.all(taken["regeneration exhaust"] < operation.air_flow)
        assert np.all(taken["regeneration exhaust"][1:] > 0.0)
    elif kind == "vacuum":
        assert np.all(taken["exhaust air"] < operation.air_flow)
    else:
        assert not taken


def test_seasons_that_are_too_long_are_refused():
    with pytest.raises(ModelError, match="a season of 13 months is not possible; write 0 to 12"):
        building.season(COLD_FIRST, 13.0, coldest=True)
    with pytest.raises(ModelError, match=r"twelve monthly outdoor temperatures; given is the shape \(3,\)"):
        building.season(COLD_FIRST[:3], 1.0, coldest=True)
    with pytest.raises(ModelError, match="the heating and the cooling season of the hall overlap"):
        Building(heating_months=7.0, cooling_months=6.0).effect(np.ones(12), COLD_FIRST)


def test_a_building_is_frozen_strict_and_filled_from_data():
    assert {*Building.model_fields} == {*load("building")}
    assert Building().heating_efficiency == load("building")["heating_efficiency"].value
    with pytest.raises(ValidationError, match="frozen"):
        Building().usable_share = 1.0
    with pytest.raises(ValidationError, match="Extra inputs"):
        Building(magic=1)
