"""Emptying a vessel, and heat recovered between two streams."""

from __future__ import annotations

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from scipy.integrate import quad, solve_ivp

from energy.equipment import recovery, vacuum


def test_pumping_speed_empties_the_vessel_in_time():
    """The pressure of a vessel pumped at constant speed, integrated."""
    speed = float(vacuum.pumping_speed(0.1, 300.0, 101325.0, 4000.0))
    end = solve_ivp(lambda _, p: -speed / 0.1 * p, (0.0, 300.0), [101325.0], rtol=1e-10, atol=1e-6).y[0, -1]
    assert end == pytest.approx(4000.0, rel=1e-6)


def test_pumping_time_is_that_of_the_speed():
    speed = vacuum.pumping_speed(0.1, 300.0, 101325.0, 4000.0)
    assert vacuum.pumping_time(0.1, speed, 101325.0, 4000.0) == pytest.approx(300.0)


@pytest.mark.published("CoolProp", where="IAPWS-95 steam", quoted="computed by the library")
def test_vapour_load_against_the_density_of_thin_steam():
    """CoolProp's IAPWS-95 steam at 8 mbar and 120 degC."""
    density = PropsSI("D", "T", 393.15, "P", 800.0, "Water")
    assert vacuum.vapour_load(1e-4, 393.15, 800.0) == pytest.approx(1e-4 / density, rel=2e-4)


def test_evacuation_work_is_the_integral_of_isothermal_work():
    work = quad(lambda p: np.log(101325.0 / p), 4000.0, 101325.0)[0] * 0.1
    assert vacuum.evacuation_work(0.1, 101325.0, 4000.0) == pytest.approx(work, rel=1e-9)


def test_a_perfect_vacuum_takes_the_volume_times_the_pressure_around():
    assert vacuum.evacuation_work(0.2, 1e5, 1e-6) == pytest.approx(0.2 * 1e5, rel=1e-6)


def test_holding_takes_nothing_at_outlet_pressure_and_most_at_its_eth_part():
    pressures = np.linspace(1e3, 101325.0, 2001)
    power = vacuum.holding_power(0.01, pressures, 101325.0)
    assert power[-1] == 0.0
    assert pressures[power.argmax()] == pytest.approx(101325.0 / np.e, rel=2e-3)


def test_recovered_heat():
    assert recovery.recovered(0.5, 100.0, 350.0, 200.0, 300.0) == pytest.approx(0.5 * 100.0 * 50.0)
    assert recovery.recovered(0.5, 100.0, 290.0, 200.0, 300.0) == 0.0  # bypassed
