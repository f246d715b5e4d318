"""Moisture of the pellets leaving: the prediction with its band, its floor, and the time that would do."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from energy.air import transport, water_vapour
from energy.air.wet_bulb import wet_bulb_temperature
from energy.dryers.base import Array, Duty, Inputs, Operation
from energy.dryers.pellet_bed import pellet_size
from energy.resins import arrhenius, diffusion, residence_spread, sorption, surface_water
from energy.resins.properties import Resin
from energy.sources import load

UNKNOWN_SPREAD = 5.0  # factor either way of a diffusivity typed in without a range, as reference C2 gives most resins


@dataclass(frozen=True, slots=True, kw_only=True)
class Moisture:
    """Moisture of the pellets leaving, in its worst month; dry basis. None where the resin's data do not tell."""

    target: float
    predicted: float | None
    low: float | None
    """With the fastest diffusion of the stated range."""
    high: float | None
    """With the slowest."""
    floor: float | None
    """In equilibrium with the process air."""
    residence: float
    """Of a pellet at the present throughput. [s]"""
    diffusion_time: float | None
    """A warm pellet needs to the target, all pellets alike: a lower bound. [s]"""
    needed: float | None = None
    """Residence that reaches the target on the best estimate; None where it is reached or a day does not do. [s]"""
    needed_surely: float | None = None
    """The same with the slowest diffusion of the range. [s]"""

    @property
    def expected(self) -> bool:
        """Does the best estimate reach the target? True also where no estimate can be made."""
        return self.predicted is None or self.predicted <= self.target


def tanks_of(hopper_flow: str) -> float:
    """Tanks in series that stand for a hopper's spread of residence times. [-]"""
    key = "tanks_mass_flow" if hopper_flow == "mass flow" else "tanks_funnel_flow"
    return float(load("factors")[key].si)


def residence_time(duty: Duty, operation: Operation) -> Array:
    """Of a pellet now: the type's own, or of the hopper that is built for the design throughput. [s]"""
    if operation.residence_time is not None:
        return operation.residence_time
    return duty.residence_time * duty.design_throughput / duty.throughput


def _diffusivities(resin: Resin) -> tuple[float, float, float] | None:
    """Diffusivity slow, likely, fast at its reference temperature. [m2/s]"""
    if resin.diffusivity is None:
        return None
    stored = resin.data.get("diffusivity")
    if stored is not None and stored.si_low is not None and stored.si_high is not None:
        return stored.si_low, resin.diffusivity, stored.si_high
    return resin.diffusivity / UNKNOWN_SPREAD, resin.diffusivity, resin.diffusivity * UNKNOWN_SPREAD


def floor_moisture(duty: Duty, operation: Operation) -> Array | None:
    """Moisture in equilibrium with the air entering the hopper. [kg/kg dry]"""
    resin = duty.resin
    if resin.sorption_slope is None:
        return None
    return np.asarray(
        sorption.equilibrium_moisture(duty.drying_temperature, operation.delivered_dew_point, resin.sorption_slope)
    )


def remaining_moisture(
    duty: Duty, operation: Operation, diffusivity: Array | float, tanks: float, times: Array | None = None
) -> Array:
    """Mean moisture of the pellets leaving. [kg/kg dry]

    The pellet's temperature on its way through the bed enters as the time integral of the diffusivity; the spread of
    residence times as tanks in series.

    Parameters
    ----------
    duty : Duty
        Of a resin with diffusion data.
    operation : Operation
    diffusivity : float
        At the resin's reference temperature. [m2/s]
    tanks : float
        Tanks in series. [-]
    times : ndarray, shape (n,), optional
        Residence times, above 0; each in a hopper of that size and the same proportions, in the month that leaves
        most moisture at it. [s]

    Returns
    -------
    ndarray, shape (...) or (n,)
    """
    resin, state = duty.resin, operation.hopper
    assert resin.diffusivity_temperature is not None
    assert resin.diffusion_activation_energy is not None
    floor = floor_moisture(duty, operation)
    floor = np.zeros_like(duty.throughput) if floor is None else floor
    stay, k, initial = residence_time(duty, operation), state.heating_rate, np.asarray(duty.initial_moisture)
    fed, out = np.asarray(duty.resin_temperature), state.resin_outlet_temperature
    if times is not None:
        # A bed of the same proportions is as much higher, and has as many more transfer units, as the root of its volume.
        months = np.stack(np.broadcast_arrays(stay, k, initial, floor, fed, out))
        stay, k, initial, floor, fed, out = np.unique(months, axis=-1)  # months alike once
        other = np.asarray(times)[:, None]
        stay, k = other, k * np.cbrt(other / stay)
    fed, out, k = np.broadcast_arrays(fed, out, k)
    # Points down the bed, close together where the pellets warm up.
    depth = np.linspace(0.0, 1.0, 33) ** 2
    rate = k[..., None]
    warm = fed[..., None] + (out - fed)[..., None] * np.expm1(-rate * depth) / np.expm1(-rate)
    passed = arrhenius.diffusion_integral(
        warm,
        np.asarray(stay)[..., None] * depth,
        diffusivity,
        resin.diffusivity_temperature,
        resin.diffusion_activation_energy,
        points=3,  # stretches are short
    )
    left = residence_spread.tanks_in_series(
        diffusion.short_cylinder, passed, tanks, resin.pellet_diameter / 2.0, resin.pellet_length
    )
    # Resin drier than the air's equilibrium is not wetted here: it keeps its moisture.
    moisture = np.asarray(initial + np.minimum(floor - initial, 0.0) * (1.0 - left))
    return moisture if times is None else moisture.max(axis=-1)


def _diffusion_time(duty: Duty, floor: float, target: float, initial: float, diffusivity: float) -> float | None:
    resin = duty.resin
    if resin.diffusivity_temperature is None or resin.diffusion_activation_energy is None or target <= floor:
        return None
    if initial <= target:
        return 0.0
    hot = arrhenius.diffusivity(
        float(np.max(duty.drying_temperature)),
        diffusivity,
        resin.diffusivity_temperature,
        resin.diffusion_activation_energy,
    )
    fraction = (target - floor) / (initial - floor)
    needed = diffusion.time_to_fraction(
        diffusion.short_cylinder, fraction, resin.pellet_diameter / 2.0, resin.pellet_length
    )
    return float(needed / hot)


def moisture_of(duty: Duty, operation: Operation, inputs: Inputs, target: float) -> Moisture:
    """Moisture of the pellets leaving in the worst month, with its band."""
    resin = duty.resin
    floor = floor_moisture(duty, operation)
    worst_floor = None if floor is None else float(np.max(floor))
    initial = float(np.max(duty.initial_moisture))
    band = _diffusivities(resin) if resin.hygroscopic else None
    values: list[float | None] = [None, None, None]
    time = needed = surely = None
    if band is not None:
        tanks = tanks_of(inputs.hopper_flow)
        left = remaining_moisture(duty, operation, np.array(band)[:, None], tanks)
        values = [float(x) for x in np.max(left, axis=-1)]
        time = _diffusion_time(duty, worst_floor or 0.0, target, initial, band[1])
        if values[1] is not None and target < values[1]:
            needed = residence_needed(duty, operation, inputs, target, band[1])
        if values[0] is not None and target < values[0]:
            surely = residence_needed(duty, operation, inputs, target, band[0])
    return Moisture(
        target=target,
        predicted=values[1],
        low=values[2],
        high=values[0],
        floor=worst_floor,
        residence=float(np.min(residence_time(duty, operation))),
        diffusion_time=time,
        needed=needed,
        needed_surely=surely,
    )


def curve(duty: Duty, operation: Operation, inputs: Inputs, times: Array) -> dict[str, Array] | None:
    """Moisture leaving in its worst month against residence time, each in a hopper of its own size, with its band.

    Returns
    -------
    dict of ndarray, shape (len(times),)
        ``predicted``, ``low``, ``high``. [kg/kg dry]; None without diffusion data.
    """
    band = _diffusivities(duty.resin) if duty.resin.hygroscopic else None
    if band is None:
        return None
    tanks = tanks_of(inputs.hopper_flow)
    slow, likely, fast = (remaining_moisture(duty, operation, d, tanks, times) for d in band)
    return {"predicted": likely, "low": fast, "high": slow}


def residence_needed(
    duty: Duty, operation: Operation, inputs: Inputs, target: float, diffusivity: float
) -> float | None:
    """Residence time that reaches a moisture, up to a day; None where a day does not do. [s]"""
    times, step, tanks = 3600.0 * np.linspace(0.25, 24.0, 96), 8, tanks_of(inputs.hopper_flow)
    rough = remaining_moisture(duty, operation, diffusivity, tanks, times[step - 1 :: step])
    if rough[-1] > target:
        return None
    end = step * (1 + int(np.argmax(rough <= target)))
    near = times[max(0, end - step - 1) : end]
    return float(np.interp(-target, -remaining_moisture(duty, operation, diffusivity, tanks, near), near))


def surface_time(duty: Duty, operation: Operation, initial: Array | float) -> Array:
    """Time to evaporate the surface water at the wet bulb, with the least film coefficient a sphere can have, 2 k / d. [s]"""
    resin, hot = duty.resin, np.asarray(duty.drying_temperature)
    humidity = water_vapour.humidity_ratio(operation.delivered_dew_point, duty.pressure)
    size = pellet_size(resin)
    return surface_water.surface_drying_time(
        initial,
        size,
        resin.density,
        hot,
        wet_bulb_temperature(hot, humidity, duty.pressure),
        2.0 * transport.thermal_conductivity(hot) / size,
    )
