"""What a machine is built for in each draw, its curve over load where it has no answer, and the sentence on its heat: by hand."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from cases import HOT, NEW, PRESENT, case

from energy.errors import ModelError
from energy.study import load, surroundings, years_beside
from energy.study.compare import compare
from energy.study.duty import duties_of, with_design

CLIMATE = {"site.climate": "temperate", "site.hall_temperature": None, "site.hall_dew_point": None}


def test_each_draw_is_built_for_its_own_coldest_and_dampest_month():
    (duty,) = duties_of(case(PRESENT, changes=CLIMATE))
    months = np.arange(12.0)
    hall = np.array([280.0, 290.0, 290.0])[:, None] + months  # of three draws
    damp = np.array([270.0, 285.0, 300.0])[:, None] - months
    out = np.array([250.0, 260.0, 255.0])[:, None] + months
    given = replace(
        duty, hall_temperature=hall, hall_dew_point=damp, resin_temperature=hall - 5.0, outdoor_temperature=out,
        outdoor_dew_point=out - 2.0, design_throughput=np.array([[0.02], [0.03], [0.04]]) * np.ones(12), throughput=duty.throughput / 2.0,
    )  # fmt: skip
    design = with_design(given).design
    assert design.hall_temperature.tolist() == [[280.0], [290.0], [300.0]]  # no colder than its dew point
    assert design.hall_dew_point.tolist() == [[270.0], [285.0], [300.0]]
    assert design.resin_temperature.tolist() == [[275.0], [285.0], [285.0]]
    assert design.outdoor_dew_point.tolist() == [[259.0], [269.0], [264.0]]
    assert design.outdoor_temperature.tolist() == [[259.0], [269.0], [264.0]]
    assert design.throughput.tolist() == design.design_throughput.tolist() == [[0.02], [0.03], [0.04]]
    for name in ("drying_temperature", "residence_time", "initial_moisture", "final_moisture", "pressure"):
        assert getattr(design, name).tolist() == getattr(duty, name)[:1].tolist()
    assert design.design is None
    assert with_design(given).hall_temperature is hall


def test_a_curve_has_gaps_where_the_machine_has_no_answer(monkeypatch):
    """A machine that refuses below half load: the others are what it takes by itself at each."""
    of = compare(case(PRESENT, NEW))
    loads = np.array([0.25, 0.4, 0.6, 1.0])
    whole = load.load_curve(of, loads)
    asked, operate = 0.5 * 90.0 / 3600.0, load.operate

    def refuses(machine, duties, *more):
        if np.any(duties[0].throughput < asked):
            raise ModelError("too little", np.array(True))
        return operate(machine, duties, *more)

    monkeypatch.setattr(load, "operate", refuses)
    found = load.load_curve(of, loads)
    assert found.load.tolist() == whole.load.tolist() == loads.tolist()
    for name, energy in found.energy.items():
        assert np.isnan(energy).tolist() == [True, True, False, False]
        np.testing.assert_allclose(energy[2:], whole.energy[name][2:], rtol=1e-12)


def test_at_full_load_a_curve_ends_at_what_the_year_takes():
    of = compare(case(PRESENT, NEW))
    curve = load.load_curve(of, np.array([1.0]))
    for option in of.options:
        assert float(curve.energy[option.name][0]) == pytest.approx(option.specific_energy, rel=1e-9)


@pytest.mark.parametrize("name", [NEW, HOT])
def test_the_sentence_on_the_heat_has_its_shares(name):
    """By hand from the terms of the year's balance: cooling water, outdoors, resin, and the rest in the hall."""
    of = compare(case(PRESENT, NEW, HOT, changes=CLIMATE))
    option = of.option(name)
    (note,) = surroundings.notes(of.case, years_beside.beside([option.year], by_clock=False), None)
    heat = {key: float(np.sum(value)) for key, value in option.year.heat_out.items()}
    whole = sum(heat.values())
    share = {
        "in the cooling water": heat.get("aftercooler", 0.0),
        "in the resin": heat["resin"],
        "outdoors": heat["evaporated water"] + heat.get("flue gas", 0.0) + heat.get("compressor house", 0.0),
    }
    share["in the hall"] = whole - sum(share.values())
    told = {place: int(percent) for percent, place in re.findall(r"(\d+) % ([a-z ]+?)[,.]", note.text)}
    wanted = {place: round(100.0 * of_it / whole) for place, of_it in share.items() if of_it > 0.005 * whole}
    assert told == wanted
    assert note.text.startswith("The heat of a year ends up: ")
    assert "not counted: the case says nothing" in note.text
    assert (note.unit, note.verdict) == ("kWh/year", "pass")
    assert note.value == pytest.approx(share["in the hall"] / 3.6e6, rel=1e-9)
    mean = share["in the hall"] / (365 * 86400.0) / 1e3
    assert float(re.search(r"In the hall that is ([\d.]+) kW", note.text)[1]) == pytest.approx(mean, rel=0.01)


def test_dry_frost_of_each_draw_is_what_it_is_built_for():
    (duty,) = duties_of(case(PRESENT, changes=CLIMATE))
    out = np.array([250.0, 260.0])[:, None] + np.arange(12.0)
    design = with_design(replace(duty, outdoor_temperature=out, outdoor_dew_point=out - 30.0)).design
    assert design.outdoor_temperature.tolist() == [[250.0], [260.0]]
    assert design.outdoor_dew_point.tolist() == [[231.0], [241.0]]


def test_a_plant_of_which_no_compressed_air_is_known_has_no_number_of_it():
    (duty,) = duties_of(case(PRESENT, changes={"compressed_air": None}))
    air = duty.compressed_air
    for value in (air.pressure, air.pressure_dew_point, air.marginal_power, air.line_leak_share):
        assert np.isnan(value)
