"""Regeneration of a desiccant: heat, air and blower work per cycle of a bed or revolution of a wheel."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from energy.air import compression, moist
from energy.air._ranges import floats
from energy.air.constants import LIQUID_WATER_HEAT_CAPACITY
from energy.equipment.desiccant import Desiccant

Array = NDArray[np.float64]


def bed_mass(design_water_rate: ArrayLike, cycle_time: ArrayLike, design_swing: ArrayLike) -> Array:
    """Desiccant in one bed (or in the whole wheel) for the design water load.

    Parameters
    ----------
    design_water_rate : array_like, shape (...)
        Water to take up. [kg/s]
    cycle_time : array_like, shape (...)
        Time a bed adsorbs, or one revolution. [s]
    design_swing : array_like, shape (...)
        Water taken up and given off per cycle. [kg/kg]

    Returns
    -------
    ndarray, shape (...)
        [kg]
    """
    return np.asarray(design_water_rate) * cycle_time / np.asarray(design_swing)


@dataclass(frozen=True, slots=True, kw_only=True)
class RegenerationState:
    """Mean heat flows of regeneration over a cycle. All [W] unless said otherwise."""

    heater: Array
    """Heat that the heater gives to the regeneration air."""
    heater_on: Array
    """The same while it heats."""
    heating_shaft: Array
    """Blower shaft power of the heating step, part of the heat supplied."""
    cooling_shaft: Array
    """Blower shaft power of the cooling step."""
    desorption: Array
    """Heat that frees the water and warms its vapour to the exhaust temperature."""
    carry_over: Array
    """Heat of the hot bed that the process air takes up after switching."""
    exhaust: Array
    """Sensible heat thrown away with hot exhaust and cooling air."""
    casing: Array
    """Loss of casing and ducts."""
    exhaust_temperature: Array
    """[K]"""
    swing: Array
    """Water taken up per cycle. [kg/kg]"""
    air_flow: Array
    """Dry regeneration air while heating. [kg/s]"""
    on_share: Array
    """Share of the time spent heating; 0 where nothing is regenerated. [-]"""
    mean_air_flow: Array
    """Dry air of the surroundings that goes out hot, of heating and cooling, as the mean over the cycle. [kg/s]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatedAir:
    """Air of the surroundings blown and heated for regeneration; per kilogram of dry air."""

    heat: Array
    """From the surroundings to the heater's outlet. [J/kg]"""
    shaft: Array
    """Of the blower. [J/kg]"""
    exhaust_temperature: Array
    """[K]"""


def heated_air(
    temperature: ArrayLike,
    humidity: ArrayLike,
    pressure: ArrayLike,
    *,
    regeneration_temperature: ArrayLike,
    exhaust_share: ArrayLike,
    pressure_rise: ArrayLike,
    blower_efficiency: ArrayLike,
) -> HeatedAir:
    """What regeneration air takes, whatever the water.

    Parameters
    ----------
    temperature, humidity, pressure : array_like, shape (...)
        Of the air drawn in. [K], [kg/kg], [Pa]
    regeneration_temperature : array_like, shape (...)
        [K]
    exhaust_share : array_like, shape (...)
        Of its heat that leaves with the exhaust. [-]
    pressure_rise, blower_efficiency : array_like, shape (...)
        Of the regeneration blower. [Pa], [-]
    """
    h_0, p_0 = moist.enthalpy(temperature, humidity), floats(pressure)
    heat = moist.enthalpy(regeneration_temperature, humidity) - h_0
    work = compression.isentropic_work(p_0, p_0 + np.asarray(pressure_rise)) / np.asarray(blower_efficiency)
    return HeatedAir(
        heat=heat,
        shaft=moist.specific_volume(temperature, humidity, p_0) * work,
        exhaust_temperature=moist.temperature_from_enthalpy(h_0 + np.asarray(exhaust_share) * heat, humidity),
    )


def regenerate(
    *,
    water_rate: ArrayLike,
    design_water_rate: ArrayLike,
    mass: ArrayLike,
    cycle_time: ArrayLike,
    timed: ArrayLike,
    adsorption_temperature: ArrayLike,
    regeneration_temperature: ArrayLike,
    residual_loading: ArrayLike,
    desiccant: Desiccant,
    inert_ratio: ArrayLike,
    inert_specific_heat: ArrayLike,
    exhaust_share: ArrayLike,
    casing_share: ArrayLike,
    purge_recovery: ArrayLike,
    carry_over_share: ArrayLike,
    heating_share: ArrayLike,
    cooling_share: ArrayLike,
    heated: HeatedAir,
    recovery: ArrayLike = 0.0,
    longer_use: ArrayLike = 1.0,
    turning: ArrayLike = False,
) -> RegenerationState:
    """Heat balance of regeneration.

    Each cycle heats desiccant, its residual water and the inert metal or carrier, and frees the water; the shares that
    leave hot with the exhaust and through the casing come on top. By timer every cycle costs the same sensible heat
    whatever water was taken up; ended by dew point, cycles follow the water load, but none is shorter than the timer's:
    above the design load the swing grows instead.

    Parameters
    ----------
    water_rate, design_water_rate : array_like, shape (...)
        Water taken up now and at design. [kg/s]
    mass : array_like, shape (...)
        Desiccant regenerated per cycle. [kg]
    cycle_time : array_like, shape (...)
        Of the timer. [s]
    timed : array_like of bool, shape (...)
    adsorption_temperature, regeneration_temperature : array_like, shape (...)
        [K]
    residual_loading : array_like, shape (...)
        Left after regeneration. [kg/kg]
    desiccant : Desiccant
    inert_ratio, inert_specific_heat : array_like, shape (...)
        Metal or carrier per desiccant heated with it. [kg/kg], [J/(kg K)]
    exhaust_share, casing_share : array_like, shape (...)
        Of the heat supplied while heating. [-]
    purge_recovery : array_like, shape (...)
        Share of the sensible heat that a purge sector returns to the regeneration air. [-]
    carry_over_share : array_like, shape (...)
        Share of the rest that the process air takes up. [-]
    heating_share, cooling_share : array_like, shape (...)
        Share of the cycle spent heating and cooling. [-]
    heated : HeatedAir
        With the same regeneration temperature and exhaust share.
    recovery : array_like, shape (...)
        Share of the exhaust's sensible heat returned to the regeneration air. [-]
    longer_use : array_like, shape (...)
        Water a bed takes up before it is regenerated over that of its design; cycles are fewer by that. [-]
    turning : array_like of bool, shape (...)
        A wheel, whose fewer cycles are slower ones: it is heated less strongly, and no less of the time.

    Returns
    -------
    RegenerationState

    Source
    ------
    Energy balance; split of the terms compared with reference table D5 in the tests.
    """
    t_ads, t_reg = floats(adsorption_temperature), floats(regeneration_temperature)
    water = floats(water_rate)
    most = np.asarray(design_water_rate) * longer_use
    activity = np.ones_like(water) if np.all(timed) else np.where(timed, 1.0, np.minimum(1.0, water / most))
    capacity = desiccant.specific_heat + np.asarray(residual_loading) * LIQUID_WATER_HEAT_CAPACITY
    capacity = capacity + np.asarray(inert_ratio) * inert_specific_heat
    sensible = np.asarray(mass) * capacity * (t_reg - t_ads) * activity / np.asarray(cycle_time)
    sensible = sensible * (1.0 - np.asarray(purge_recovery))

    t_exhaust = heated.exhaust_temperature
    freed = moist.vapour_enthalpy(t_exhaust) - moist.vapour_enthalpy(t_ads) + desiccant.heat_of_adsorption
    desorption = water * freed
    supplied = (sensible + desorption) / (1.0 - np.asarray(exhaust_share) - np.asarray(casing_share))
    air = supplied / heated.heat
    heating_shaft = air * heated.shaft
    cooling_shaft = heating_shaft * np.asarray(cooling_share) / np.asarray(heating_share)
    saved = floats(recovery) * floats(exhaust_share) * supplied
    heater = supplied - heating_shaft - saved
    on_share = np.where(np.asarray(turning) & (activity > 0.0), 1.0, activity) * np.asarray(heating_share)
    carry_over = np.asarray(carry_over_share) * sensible
    idle = on_share == 0.0
    on = np.where(idle, 1.0, on_share)
    return RegenerationState(
        heater=heater,
        heater_on=np.where(idle, 0.0, heater / on),
        heating_shaft=heating_shaft,
        cooling_shaft=cooling_shaft,
        desorption=desorption,
        carry_over=carry_over,
        exhaust=np.asarray(exhaust_share) * supplied - saved + sensible - carry_over + cooling_shaft,
        casing=np.asarray(casing_share) * supplied,
        exhaust_temperature=t_exhaust,
        swing=np.where(idle, 0.0, water * np.asarray(cycle_time) / (np.asarray(mass) * np.where(idle, 1.0, activity))),
        air_flow=np.where(idle, 0.0, air / on),
        on_share=on_share,
        mean_air_flow=air * (1.0 + np.asarray(cooling_share) / np.asarray(heating_share)),
    )
