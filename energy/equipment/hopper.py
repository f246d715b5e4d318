"""The drying hopper: a moving bed, pellets down, air up.

Size, pressure drop, air-to-pellet heat transfer, and the heat balance that gives the temperature of the pellets
leaving and of the air returning. What its walls lose: :mod:`energy.equipment.wall`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from energy.air import moist
from energy.air._ranges import floats
from energy.air.constants import LIQUID_WATER_HEAT_CAPACITY, ZERO_CELSIUS

Array = NDArray[np.float64]

LAST_OF_ALL = 50.0  # least of a heating rate, below 0, by judgement: all in the last tenth of the bed, powers finite


def bed_volume(
    throughput: ArrayLike, residence_time: ArrayLike, bulk_density: ArrayLike, usable_share: ArrayLike
) -> Array:
    """Volume of hopper that gives every pellet the residence time.

    Parameters
    ----------
    throughput : array_like, shape (...)
        Resin flow. [kg/s]
    residence_time : array_like, shape (...)
        Time of a pellet in the hopper. [s]
    bulk_density : array_like, shape (...)
        Density of the bed. [kg/m3]
    usable_share : array_like, shape (...)
        Share of the volume that moves as plug flow (cone, loader and dead corners left out). [-]

    Returns
    -------
    ndarray, shape (...)
        Volume. [m3]
    """
    flow, time = floats(throughput), floats(residence_time)
    return np.asarray(flow * time / (floats(bulk_density) * floats(usable_share)))


def bed_diameter(volume: ArrayLike, slenderness: ArrayLike) -> Array:
    """Diameter of a cylinder of that volume and height/diameter. [m]"""
    return np.cbrt(4.0 * np.asarray(volume) / (np.pi * np.asarray(slenderness)))


def ergun_gradient(
    velocity: ArrayLike,
    particle_diameter: ArrayLike,
    voidage: ArrayLike,
    density: ArrayLike,
    viscosity: ArrayLike,
) -> Array:
    r"""Pressure drop of a packed bed per metre.

    .. math:: \Delta p / L = 150\,\mu (1-\varepsilon)^2 v / (\varepsilon^3 d^2)
        + 1.75\,(1-\varepsilon)\rho v^2/(\varepsilon^3 d)

    Parameters
    ----------
    velocity : array_like, shape (...)
        Superficial velocity at the local temperature. [m/s]
    particle_diameter : array_like, shape (...)
        Diameter of the sphere of the same volume-to-surface ratio. [m]
    voidage : array_like, shape (...)
        Share of the bed that is air. [-]
    density, viscosity : array_like, shape (...)
        Of the air. [kg/m3], [Pa s]

    Returns
    -------
    ndarray, shape (...)
        Pressure gradient. [Pa/m]

    Source
    ------
    Ergun, S.: Fluid flow through packed columns. Chem. Eng. Progress 48 (1952) 89-94.
    """
    v, d, e = np.asarray(velocity), np.asarray(particle_diameter), np.asarray(voidage)
    viscous = 150.0 * np.asarray(viscosity) * (1.0 - e) ** 2 * v / (e**3 * d**2)
    inertial = 1.75 * (1.0 - e) * np.asarray(density) * v**2 / (e**3 * d)
    return viscous + inertial


def pellet_nusselt(reynolds: ArrayLike, prandtl: ArrayLike) -> Array:
    """Nusselt number of pellets in a bed, 2 + 1.1 Re^0.6 Pr^(1/3). [-]

    Source
    ------
    Wakao, N.; Kaguei, S.: Heat and Mass Transfer in Packed Beds (1982); Reynolds number 15 to 8500 on the
    superficial velocity and the pellet diameter.
    """
    return nusselt_of_forced(forced_part(reynolds), prandtl)


def forced_part(reynolds: ArrayLike) -> Array:
    """What the flow has in :func:`pellet_nusselt`, which stays the same while the humidity changes. [-]"""
    return np.asarray(1.1 * np.asarray(reynolds) ** 0.6)


def nusselt_of_forced(forced: ArrayLike, prandtl: ArrayLike) -> Array:
    """:func:`pellet_nusselt` from its :func:`forced_part`. [-]"""
    return 2.0 + np.asarray(forced) * np.cbrt(prandtl)


def counterflow_effectiveness(ntu: ArrayLike, capacity_ratio: ArrayLike) -> Array:
    """Share of the largest possible heat that a counterflow exchanger transfers. [-]

    Parameters
    ----------
    ntu : array_like, shape (...)
        Transfer units on the smaller capacity flow. [-]
    capacity_ratio : array_like, shape (...)
        Smaller over larger capacity flow, 0 to 1. [-]

    Source
    ------
    Kays, W. M.; London, A. L.: Compact Heat Exchangers, 3rd ed. (1984), counterflow, from memory.
    """
    n, c = floats(ntu), floats(capacity_ratio)
    gap = 1.0 - c
    balanced = gap == 0.0
    spread = -np.expm1(-n * np.where(balanced, 1.0, gap))
    # 1 - c exp(-n gap), written so that no digits are lost as the flows become equal.
    return np.where(balanced, n / (1.0 + n), spread / (gap + c * spread))


def capacity_ratio_for(ntu: ArrayLike, effectiveness: ArrayLike, most: float) -> Array:
    """Larger over smaller capacity flow at which a counterflow exchanger has an effectiveness, 1 to `most`. [-]

    Parameters
    ----------
    ntu : array_like, shape (...)
        Transfer units on the smaller capacity flow. [-]
    effectiveness : array_like, shape (...)
        Below 1. [-]
    most : float
        Where more would be needed, and where no ratio does. [-]

    Source
    ------
    :func:`counterflow_effectiveness` solved for c: n (1 - c) = ln[(1 - c e) / (1 - e)], a curve that Newton's steps
    from 0 follow from above down to the first root; c = 1 is always the other.
    """
    n, e = np.broadcast_arrays(floats(ntu), floats(effectiveness))
    above = n + np.log1p(-e)  # at c = 0
    c = np.zeros(n.shape)
    for _ in range(NEWTON_STEPS):
        miss = n * (1.0 - c) - np.log1p(-c * e) + np.log1p(-e)
        slope = n - e / (1.0 - c * e)
        c = np.where(slope > 0.0, np.minimum(c + np.maximum(miss, 0.0) / np.where(slope > 0.0, slope, 1.0), 1.0), c)
    return np.where(above > 0.0, 1.0 / np.maximum(c, 1.0 / most), most)


NEWTON_STEPS = 12  # halve the distance at least, to where the two roots meet


@dataclass(frozen=True, slots=True, kw_only=True)
class HopperState:
    """Steady state of a hopper; all arrays of one shape."""

    resin_outlet_temperature: Array
    """Of the pellets leaving. [K]"""
    return_temperature: Array
    """Of the air leaving at the top. [K]"""
    return_humidity: Array
    """Of that air. [kg/kg]"""
    water_removed: Array
    """[kg/s]"""
    resin_heat: Array
    """Heat that pellets and their remaining water carry away above their inlet temperature. [W]"""
    capacity_ratio: Array
    """Air over resin heat-capacity flow, evaporation and shell with the resin's; below 1 pellets stay cold. [-]"""
    loss_share: Array
    """Of the heat-capacity flow that the air is compared with, what the shell's loss adds to it. [-]"""
    heating_rate: Array
    """k of the pellet temperature down the bed, T_in + (T_out - T_in) (1 - exp(-k z)) / (1 - exp(-k)), z = 0..1. [-]

    Below 0 where the air has the smaller heat-capacity flow: pellets then get warm last.
    """


def heat_balance(
    *,
    air_flow: ArrayLike,
    air_temperature: ArrayLike,
    air_humidity: ArrayLike,
    resin_flow: ArrayLike,
    resin_specific_heat: ArrayLike,
    resin_temperature: ArrayLike,
    initial_moisture: ArrayLike,
    final_moisture: ArrayLike,
    shell_loss: ArrayLike,
    transfer: ArrayLike,
    flow_transfer_units: ArrayLike,
) -> HopperState:
    """Temperatures of pellets and air from the first law and counterflow effectiveness.

    Evaporation and shell loss are taken from the air together with the heating of the resin. The return-air
    temperature follows from the enthalpy balance alone, so that the balance closes to machine precision whatever the
    effectiveness.

    Parameters
    ----------
    air_flow : array_like, shape (...)
        Dry air. [kg/s]
    air_temperature, air_humidity : array_like, shape (...)
        At the hopper inlet. [K], [kg/kg]
    resin_flow, resin_specific_heat, resin_temperature : array_like, shape (...)
        Dry resin. [kg/s], [J/(kg K)], [K] at the inlet
    initial_moisture, final_moisture : array_like, shape (...)
        [kg/kg dry]
    shell_loss : array_like, shape (...)
        [W]
    transfer : array_like, shape (...)
        Heat-transfer coefficient times pellet surface of the whole bed. [W/K]
    flow_transfer_units : array_like, shape (...)
        Transfer units that uneven flow of air and pellets would leave if pellets exchanged heat at once; acts in
        series with the transfer. [-]

    Returns
    -------
    HopperState

    Source
    ------
    First law; effectiveness by :func:`counterflow_effectiveness`.
    """
    m_a, t_a, w_a = floats(air_flow), floats(air_temperature), floats(air_humidity)
    m_r, c_r, t_r = floats(resin_flow), floats(resin_specific_heat), floats(resin_temperature)
    loss = floats(shell_loss)
    x_0, x_1 = floats(initial_moisture), floats(final_moisture)
    liquid = LIQUID_WATER_HEAT_CAPACITY
    water = m_r * (x_0 - x_1)
    lift = t_a - t_r
    # Liquid at the resin's temperature to vapour at the mean temperature of the bed.
    evaporation = water * (moist.vapour_enthalpy(0.5 * (t_a + t_r)) - liquid * (t_r - ZERO_CELSIUS))
    capacity_air = m_a * moist.heat_capacity(0.5 * (t_a + t_r), w_a)
    capacity_resin = m_r * (c_r + x_1 * liquid)
    # Air no warmer than what stands in the hopper has nothing to heat: only in standby.
    warm = lift > 0.0
    over = np.where(warm, lift, 1.0)
    capacity_need = capacity_resin + np.where(warm, evaporation + loss, 0.0) / over
    smaller = np.minimum(capacity_air, capacity_need)
    larger = np.maximum(capacity_air, capacity_need)
    ntu = 1.0 / (smaller / np.asarray(transfer) + 1.0 / np.asarray(flow_transfer_units))
    taken = counterflow_effectiveness(ntu, smaller / larger) * smaller * lift
    idle = capacity_resin == 0.0  # nothing flows: what stands in the hopper takes the temperature of the air
    t_out = np.where(idle, t_a, t_r + (taken - evaporation - loss) / np.where(idle, 1.0, capacity_resin))
    resin_heat = capacity_resin * (t_out - t_r)
    w_out = w_a + water / m_a
    h_out = moist.enthalpy(t_a, w_a) + (water * liquid * (t_r - ZERO_CELSIUS) - resin_heat - loss) / m_a
    rate = np.maximum(ntu * (1.0 - smaller / larger), 1e-6)
    nothing = capacity_need == 0.0
    ratio = np.where(nothing, np.inf, capacity_air / np.where(nothing, 1.0, capacity_need))
    return HopperState(
        resin_outlet_temperature=t_out,
        return_temperature=moist.temperature_from_enthalpy(h_out, w_out),
        return_humidity=w_out,
        water_removed=water,
        resin_heat=resin_heat,
        capacity_ratio=ratio,
        loss_share=np.where(warm, loss, 0.0) / np.where(nothing, 1.0, over * capacity_need),
        heating_rate=np.where(capacity_air < capacity_need, -np.minimum(rate, LAST_OF_ALL), rate),
    )


def airflow_needed(heat_taken: ArrayLike, lift: ArrayLike, middle_temperature: ArrayLike) -> Array:
    """Smallest flow of dry air that can bring the resin to drying temperature.

    Parameters
    ----------
    heat_taken : array_like, shape (...)
        By resin, evaporation and shell. [W]
    lift : array_like, shape (...)
        Drying temperature less resin inlet temperature. [K]
    middle_temperature : array_like, shape (...)
        At which the heat capacity of the air is taken. [K]

    Returns
    -------
    ndarray, shape (...)
        [kg/s]

    Source
    ------
    First law: a counterflow hopper warms the resin fully only with the larger heat-capacity flow on the air side.
    """
    need = floats(heat_taken) / floats(lift)
    return np.asarray(need / moist.heat_capacity(middle_temperature, 0.0))
