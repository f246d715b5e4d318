"""Balance shared by the types that send their air through the hopper once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from energy.air import moist
from energy.dryers import base, heater_and_blower, hopper_sizing, pellet_bed, resin_heating
from energy.dryers.base import Array, Duty, Inputs, Operation
from energy.dryers.hopper_line import Line
from energy.equipment import recovery
from energy.errors import ModelError
from energy.resins import sorption


def _as_dry_as_its_air(duty: Duty, dew_point: Array) -> Duty:
    """The duty with the water left in the pellets that this air cannot take: they get no drier than in equilibrium with it."""
    slope = duty.resin.sorption_slope
    if slope is None:
        return duty
    at_best = sorption.equilibrium_moisture(duty.drying_temperature, dew_point, slope, on_range="nan")
    final = np.fmax(duty.final_moisture, np.fmin(at_best, duty.initial_moisture))
    return replace(duty, final_moisture=final) if (final > duty.final_moisture).any() else duty


def once_through(
    inputs: Inputs,
    line: Line,
    *,
    taken: Array | None = None,
    humidity: Array,
    dew_point: Array,
    shaft: Array,
    energy: Mapping[tuple[str, str], Array],
    heat_in: Mapping[str, Array],
    heat_out: Mapping[str, Array],
    sizing: Mapping[str, Array],
    details: Mapping[str, Array],
    hall_air: Array | None = None,
    effectiveness: float = 0.0,
) -> Operation:
    """Heat air to drying temperature, pass it through the hopper, let it go.

    What air from outdoors takes to come to hall temperature is a term of its own: whatever becomes of the exhaust, the hall
    gets none of it.

    Parameters
    ----------
    taken : ndarray, optional
        Temperature of the air taken in; the hall's by default. [K]
    humidity, dew_point : ndarray
        Of the air sent in. [kg/kg], [K]
    shaft : ndarray
        Blower shaft power, which warms the air before the heater. [W]
    energy, heat_in, heat_out, sizing, details
        What the type adds (blower, compressor).
    hall_air : ndarray, optional
        Dry air taken from the hall, which leaves with the exhaust; none by default. [kg/s]
    effectiveness : float
        Of a heat exchanger between exhaust and the air to the heater; 0 without one. [-]

    Raises
    ------
    ModelError
        The blower alone makes the air hotter than the drying temperature.
    """
    duty, built, run, loss = _as_dry_as_its_air(line.duty, dew_point), line.built, line.run, line.loss
    hopper = pellet_bed.hopper_state(inputs, duty, built, run, pellet_bed.film(duty, built, run), humidity, loss.hopper)
    t_0, flow = duty.hall_temperature if taken is None else taken, run.air_flow
    useful = flow * (moist.enthalpy(run.temperature, humidity) - moist.enthalpy(t_0, humidity)) - shaft + loss.duct
    if (useful < 0).any():
        raise ModelError(
            "the blower alone heats the air above the drying temperature; lower the pressure drop or the airflow"
        )
    h_in = moist.enthalpy(t_0, humidity) + shaft / flow
    t_in = moist.temperature_from_enthalpy(h_in, humidity)
    capacity = flow * moist.heat_capacity(hopper.return_temperature, humidity)
    # A bypass keeps the recovered heat below what the heater would have to give.
    saved = recovery.recovered(effectiveness, capacity, hopper.return_temperature, capacity, t_in)
    saved = np.minimum(saved, useful)
    useful = useful - saved
    carrier, bought, lost = heater_and_blower.bought_heat(inputs, useful, inputs.heat_source)
    vapour = resin_heating.evaporated_water(duty, hopper.water_removed)
    t_hall = duty.hall_temperature
    exhaust = moist.enthalpy(hopper.return_temperature, hopper.return_humidity) - moist.enthalpy(t_hall, humidity)
    exhaust = flow * exhaust - hopper.water_removed * moist.vapour_enthalpy(t_hall) - saved
    warm_air, warmed = {}, {}
    if taken is not None:
        # Exhaust that recovery leaves colder than the hall has not come that far.
        fresh = flow * (moist.enthalpy(t_hall, humidity) - moist.enthalpy(t_0, humidity)) + np.minimum(exhaust, 0.0)
        exhaust = np.maximum(exhaust, 0.0)
        warm_air, warmed = {"warm outdoor air": np.maximum(-fresh, 0.0)}, {"outdoor air warmed": np.maximum(fresh, 0.0)}
    controls = inputs.controls_power + 0.0 * bought
    power = {("process heat", carrier): bought, **energy, ("controls", "electricity"): controls}
    hot = hopper_sizing.hot_loss(inputs, duty, built, loss)
    start = heater_and_blower.startup_heater(inputs, duty, built, humidity, hot, taken)
    return Operation(
        energy=power,
        peak=power,
        heat_in={"process heater": bought, **heat_in, **warm_air, "controls": controls},
        heat_out={
            "resin": hopper.resin_heat,
            "evaporated water": vapour,
            "exhaust air": exhaust,
            **warmed,
            "shell and ducts": loss.hopper + loss.duct,
            **heater_and_blower.heater_losses((carrier, lost)),
            **heat_out,
            "controls": controls,
        },
        delivered_dew_point=dew_point + 0.0 * flow,
        air_flow=flow,
        hoppers=(hopper,),
        shell_temperature=loss.outer,
        sizing={
            "hopper_volume": built.volume,
            "process_heater": start,
            "regeneration_heater": 0.0 * start,
            **sizing,
        },
        details={
            "heat_recovered": saved,
            base.AIR_PER_RESIN: built.air_flow / duty.built_for.design_throughput,
            **details,
        },
        starts=(
            heater_and_blower.start_of(inputs, duty, built, hot, start, built.air_flow * inputs.standby_flow_share),
        ),
        hall_air={} if hall_air is None else {"exhaust air": hall_air},
    )
