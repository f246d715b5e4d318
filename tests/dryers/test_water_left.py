"""Water that a machine takes out of more resin than it was built for: as much as diffuses out of pellets that leave cold and soon."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from dryer_duties import duty, run
from scipy.integrate import quad
from scipy.special import gammaln, jn_zeros

from energy.air import water_vapour
from energy.dryers.way_through_hopper import Way, in_bed_for, moisture_left, pellet_of
from energy.errors import ModelError
from energy.resins.properties import load_resin
from energy.resins.sorption import equilibrium_moisture

GAS_CONSTANT = 8.314462618
TANKS = 20  # in series, the spread of a hopper with mass flow
KINDS = ("desiccant-twin-tower", "desiccant-wheel", "desiccant-rotating-beds", "hot-air", "compressed-air")


def water(kind, load, resin="PC", **inputs):
    """What leaves the pellets of a machine of 90 kg/h, over what its final moisture asks for."""
    given = duty(resin, load=load, stands=True)
    operation = run(kind, given, **inputs)
    assert sum(operation.heat_in.values()) == pytest.approx(sum(operation.heat_out.values()), rel=1e-9)
    asked = given.throughput * (given.initial_moisture - given.final_moisture)
    return float(operation.hopper.water_removed / asked), given, operation


def left_by_series(given, operation):
    """Moisture left: the temperature down the bed in a hundred steps of quadrature, Crank's series with 200 terms each."""
    resin, state = given.resin, operation.hopper
    fed, out, rate = given.resin_temperature, state.resin_outlet_temperature, state.heating_rate
    stay = given.residence_time * given.design_throughput / given.throughput

    def diffusivity(depth):
        temperature = fed + (out - fed) * np.expm1(-rate * depth) / np.expm1(-rate)
        inverse = 1.0 / temperature - 1.0 / resin.diffusivity_temperature
        return resin.diffusivity * np.exp(-resin.diffusion_activation_energy / GAS_CONSTANT * inverse)

    passed = stay * sum(quad(diffusivity, a, b)[0] for a, b in pairwise(np.linspace(0.0, 1.0, 101)))
    zeros, odd = jn_zeros(0, 200), 2.0 * np.arange(200) + 1.0

    def remaining(share):
        radius, half = resin.pellet_diameter / 2.0, resin.pellet_length / 2.0
        round_ = np.sum(4.0 / zeros**2 * np.exp(-(zeros**2) * share * passed / radius**2))
        flat = np.sum(8.0 / (odd * np.pi) ** 2 * np.exp(-((odd * np.pi / 2.0) ** 2) * share * passed / half**2))
        density = np.exp(TANKS * np.log(TANKS) + (TANKS - 1) * np.log(share) - TANKS * share - gammaln(TANKS))
        return round_ * flat * density

    humidity = water_vapour.humidity_ratio(operation.delivered_dew_point, given.pressure)
    dew_point = water_vapour.dew_point(humidity, given.pressure)
    floor = equilibrium_moisture(given.drying_temperature, dew_point, resin.sorption_slope)
    return floor + (given.initial_moisture - floor) * quad(remaining, 1e-9, 4.0, limit=200)[0]


@pytest.mark.published(
    "Crank, J., The Mathematics of Diffusion (1975)",
    where="eqs. 4.18 and 5.23, plane sheet and cylinder; Newman: of a short cylinder their product",
    quoted="from memory; scipy.special.jn_zeros, scipy.integrate.quad",
)
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("load", [2.0, 4.0])
def test_the_water_is_what_diffuses_out_of_pellets_as_warm_as_that_leaves_them(kind, load):
    share, given, operation = water(kind, load)
    removed = operation.hopper.water_removed / given.throughput
    assert removed == pytest.approx(
        given.initial_moisture - left_by_series(given, operation), rel=1e-3
    )  # straight stretches down the bed
    assert 0.2 < share < 0.8


def test_air_that_never_could_heat_takes_out_what_its_cold_pellets_lose_at_any_load():
    # 0.8 kg/kg carry half of what PC asks: at the design it is what diffuses out, as the recipe is not kept there.
    share, given, operation = water("hot-air", 1.0, air_resin_ratio=0.8)
    assert operation.hopper.capacity_ratio < 0.7
    removed = operation.hopper.water_removed / given.throughput
    assert removed == pytest.approx(given.initial_moisture - left_by_series(given, operation), rel=1e-3)
    assert 0.2 < share < 0.9
    assert water("hot-air", 0.4, air_resin_ratio=0.8)[0] == 1.0


@pytest.mark.parametrize("load", [1.7, 4.0, 20.0])
def test_water_and_temperature_agree_with_each_other(load):
    given = duty("PA66", load=load, stands=True)
    operation = run("hot-air", given)
    state, resin = operation.hopper, given.resin
    way = Way(
        stay=given.residence_time * given.design_throughput / given.throughput,
        warming=state.heating_rate,
        initial=given.initial_moisture,
        floor=equilibrium_moisture(given.drying_temperature, operation.delivered_dew_point, resin.sorption_slope),
        fed=given.resin_temperature,
        out=state.resin_outlet_temperature,
    )
    enough = run("hot-air", replace(given, throughput=given.design_throughput)).hopper
    kept = way._replace(stay=given.residence_time, warming=enough.heating_rate, out=enough.resin_outlet_temperature)
    now, best = (float(moisture_left(w, pellet_of(resin), resin.diffusivity, TANKS)) for w in (way, kept))
    most = given.initial_moisture - max(float(given.final_moisture), best)
    share = (given.initial_moisture - now) / most
    asked = given.throughput * (given.initial_moisture - given.final_moisture)
    assert state.water_removed / asked == pytest.approx(share, rel=1e-7)


@pytest.mark.parametrize("kind", KINDS)
def test_all_of_it_leaves_up_to_what_the_machine_was_built_for_and_less_and_less_beyond(kind):
    shares = [water(kind, load)[0] for load in (0.5, 1.0, 1.1, 1.5, 2.0, 3.0, 5.0, 10.0, 30.0)]
    assert shares[:3] == [1.0, 1.0, 1.0]  # at 1.1 its pellets would get drier than asked
    assert all(b < a for a, b in pairwise(shares[3:]))
    assert shares[-1] < 0.15


def test_slow_diffusion_that_practice_does_not_know_of_takes_nothing_at_the_design():
    # With a diffusivity that would never do, the recipe stands at the design, and what is asked beyond loses by proportion.
    slow = replace(load_resin("PC"), diffusivity=1e-14)
    shares = [water("desiccant-wheel", load, slow)[0] for load in (1.0, 1.01, 1.3, 2.0)]
    assert shares[0] == 1.0
    assert 0.97 < shares[1] < 1.0
    assert all(b < a for a, b in pairwise(shares))


def test_resin_of_which_no_diffusion_is_known_and_surface_water_leave_whole():
    assert water("hot-air", 3.0, "PSU")[0] == 1.0
    assert water("hot-air", 1.6, "PP")[0] == 1.0


def test_a_machine_that_is_bought_for_the_duty_is_not_asked_for_more_than_it_was_built_for():
    given = duty("PC", load=1.0)
    state = run("desiccant-wheel", given).hopper
    assert state.water_removed == given.throughput * (given.initial_moisture - given.final_moisture)


@pytest.mark.parametrize(("load", "most"), [(3.0, 0.05), (30.0, 0.003)])
def test_water_that_takes_more_heat_than_there_is_is_tried_and_then_refused_in_words(load, most):
    # To turn all of 25 % of water into vapour takes more heat than the pellets have above 0 K.
    resin = load_resin("PA66")
    assert resin.specific_heat * 295.15 < 0.25 * 2.4e6
    assert run("hot-air", duty(resin, load=load, stands=True, initial_moisture=np.array(most)))
    wet = duty(resin, load=load, stands=True, initial_moisture=np.array(0.25))
    with pytest.raises(
        ModelError, match="far more than the air of the present machine can heat and dry; about"
    ) as said:
        run(
            "hot-air", wet, air_resin_ratio=resin.air_resin_ratio
        )  # with the air of PA66 as it comes, not for so wet a one
    # The air gives 2.2 kg/kg x 90 kg/h x 1.01 kJ/(kg K) x 58 K; a kilogram takes 1.9 kJ/(kg K) x 58 K and 0.25 x 2.55 MJ: some 15 kg/h.
    would_do = float(re.search(r"about ([\d.]+) kg/h", str(said.value))[1])
    assert 12.0 < would_do < 16.0


def test_draws_and_single_runs_agree():
    loads = np.array([0.7, 1.2, 2.0, 4.0])
    one = [run("desiccant-twin-tower", duty("PC", load=load, stands=True)) for load in loads]
    many = run("desiccant-twin-tower", duty("PC", load=loads, stands=True))
    for name in ("water_removed", "resin_outlet_temperature", "return_humidity"):
        single = [float(getattr(operation.hopper, name)) for operation in one]
        assert getattr(many.hopper, name) == pytest.approx(single, rel=1e-7)


def test_a_day_in_the_bed_of_pellets_that_stay_seconds_and_warm_up_last_is_worked_out():
    """The bed of a day is some fifty times as high as that of half a second: all warm up at its very end."""
    resin = load_resin("PC")
    way = Way(stay=0.5, warming=-50.0, initial=0.002, floor=0.0, fed=295.0, out=390.0)
    hours = in_bed_for(Way(*(np.array([part]) for part in way)), np.array([24 * 3600.0]))
    with np.errstate(all="raise"):
        left = float(moisture_left(hours, pellet_of(resin), resin.diffusivity, TANKS)[0])
    assert 0.0 < left < 0.002
