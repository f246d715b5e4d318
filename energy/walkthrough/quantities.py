"""Every quantity that the heat balance needs: read where it was, else the case's or the model's with its wide range."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from energy.air import moist, water_vapour
from energy.air.constants import LIQUID_WATER_HEAT_CAPACITY, ZERO_CELSIUS
from energy.dryers import base, hopper_sizing
from energy.equipment import wall
from energy.sources import load
from energy.walkthrough import beds_as_read
from energy.walkthrough.cycle_read import cycle_apart, heat_at
from energy.walkthrough.estimate import Estimate, Function, Values, estimate
from energy.walkthrough.found import (
    Found,
    air_flow,
    colder_than_hall,
    half_width,
    read,
    relative,
    throughput,
    usual,
)

HOPPER, METER = "hopper", "meter"
"""What must hold: the heat balance of the hopper, and parts that add up to the power on the meter."""
LEFT_OUT = "read, and left out until it is checked"
COMPRESSED_AIR = "compressed air"
PARTS = ("process heat", "regeneration", "process blower", "other", COMPRESSED_AIR)


def quantities(found: Found) -> dict[str, Estimate]:
    """By name, in SI; powers are electricity or fuel bought. [W]"""
    readings, op = found.readings, found.as_found
    resin = throughput(found.case, found.place, readings)
    given: dict[str, Estimate] = {"throughput": replace(resin, note=LEFT_OUT) if "throughput" in found.aside else resin}
    part = _parts(op)
    if found.batch:
        given |= {name: _modelled(power, "model_batch") for name, power in part.items() if power > 0.0}
        return given | _power(found)
    duty, state = found.duty_found, op.hopper
    hall = float(found.duty.hall_temperature[0])
    given["process_temperature"] = _of_case(
        found, "process_temperature", float(duty.drying_temperature[0]), "case_drying_temperature", "the set point"
    )
    given["hall_temperature"] = _of_case(found, "hall_temperature", hall, "case_hall_temperature", "the case's hall")
    given["return_temperature"] = _temperature(found, "return_temperature", float(state.return_temperature[0]))
    if colder_than_hall(readings, found.duty, "return_temperature"):
        width = usual("model_return_temperature")
        given["return_temperature"] = estimate(float(state.return_temperature[0]), width, "model", LEFT_OUT)
    given["dew_point"] = _temperature(found, "dew_point", float(op.delivered_dew_point[0]))
    given["air_flow"] = air_flow(readings, found.duty, found.expected)
    flow, efficiency = float(op.air_flow[0]), _efficiency(found)
    duct, shell = losses(op, duty)
    t_before = before_heater(found, op, duty)
    wide = "model_heater_inlet_temperature" if found.closed else "model_heater_inlet_open"
    given["heater_inlet_temperature"] = _temperature(found, "heater_inlet_temperature", t_before, wide)
    given["duct"] = _modelled(duct, "model_duct")
    given["shell"] = _shell(found, shell)
    given["heater"] = estimate(efficiency, usual("model_heater") * efficiency, "model")
    given["specific_heat"] = _specific_heat(found)
    water = float(state.water_removed[0]) / float(duty.throughput[0])
    given["water"] = _modelled(water, "model_water")
    short = float(duty.drying_temperature[0] - state.resin_outlet_temperature[0])
    given["resin_deficit"] = estimate(short, usual("model_resin_deficit"), "model", "pellets leave a little colder")
    given["process blower"] = _blower(found, part["process blower"])
    given["other"] = _modelled(part["other"], "model_other")
    if found.closed:
        given["regeneration"] = _regeneration(found, part["regeneration"])
    if part[COMPRESSED_AIR] > 0.0:
        given["air_work"] = _modelled(part[COMPRESSED_AIR] / flow, "model_compressed_air")
    return given | _power(found)


def functions(found: Found, given: Mapping[str, Estimate]) -> tuple[dict[str, Function], dict[str, Function], Function]:
    """Parts of the power bought, what must be zero by name, and the power in all; each a function of the quantities. [W]"""
    parts: dict[str, Function] = {name: _itself(name) for name in PARTS if name in given}
    constraints: dict[str, Function] = {}
    if not found.batch:
        parts["process heat"] = lambda x: heater_power(found, x)
        constraints[HOPPER] = lambda x: air_gives(found, x) - sum(hopper_takes(found, x).values())
        if "air_work" in given:
            parts[COMPRESSED_AIR] = lambda x: x["air_flow"] * x["air_work"]
    if "power" in given:
        metered = metered_parts(found, parts)
        other = [part for name, part in parts.items() if name not in metered]
        constraints[METER] = lambda x: x["power"] - sum(part(x) for part in metered.values())
        return parts, constraints, lambda x: x["power"] + sum(part(x) for part in other)
    return parts, constraints, lambda x: sum(part(x) for part in parts.values())


def metered_parts(found: Found, parts: Mapping[str, Function]) -> dict[str, Function]:
    """Of the parts of the power bought, what a meter of electricity on the dryer's supply shows: no fuel, and no compressor elsewhere."""
    gas = {use for (use, carrier) in found.as_found.energy if carrier == "gas"}
    return {name: part for name, part in parts.items() if name not in gas and name != COMPRESSED_AIR}


def air_gives(found: Found, x: Values) -> Any:
    """Heat the process air leaves in the hopper, the evaporated water's vapour counted with what takes it. [W]"""
    w = _humidity(found, x["dew_point"])
    return x["air_flow"] * (moist.enthalpy(x["process_temperature"], w) - moist.enthalpy(x["return_temperature"], w))


def hopper_takes(found: Found, x: Values) -> dict[str, Any]:
    """Heat that resin, evaporation and shell take from the air. [W]"""
    fed = _fed(found, x)
    liquid = LIQUID_WATER_HEAT_CAPACITY
    left = float(found.duty.final_moisture[0])
    leaves = x["process_temperature"] - x["resin_deficit"]
    vapour = moist.vapour_enthalpy(x["return_temperature"]) - liquid * (fed - ZERO_CELSIUS)
    return {
        "resin": x["throughput"] * (x["specific_heat"] + left * liquid) * (leaves - fed),
        "evaporation": x["throughput"] * x["water"] * vapour,
        "shell": x["shell"],
    }


def heater_power(found: Found, x: Values) -> Any:
    """Electricity or fuel of the process heater. [W]"""
    return heater_gives(found, x) / x["heater"]


def heater_gives(found: Found, x: Values) -> Any:
    """Heat that the process heater gives: to the air into the hopper, and to the hot duct on its way there. [W]"""
    w = _humidity(found, x["dew_point"])
    lift = moist.enthalpy(x["process_temperature"], w) - moist.enthalpy(x["heater_inlet_temperature"], w)
    return x["air_flow"] * lift + x["duct"]


def _fed(found: Found, x: Values) -> Any:
    """Temperature of the pellets fed. [K]"""
    of_hall = float(found.duty.resin_temperature[0]) == float(found.duty.hall_temperature[0])
    return x["hall_temperature"] if of_hall else float(found.duty.resin_temperature[0])


def _humidity(found: Found, dew_point: Any) -> Any:
    """Humidity ratio; below a frost point of -95 degC air is dry for every balance. [kg/kg]"""
    return water_vapour.humidity_ratio(np.maximum(dew_point, 178.15), found.duty.pressure[0])


def _itself(name: str) -> Function:
    return lambda x: x[name]


def _modelled(value: float, width: str) -> Estimate:
    return estimate(value, usual(width) * value, "model", load("instruments")[width].note or "")


def _temperature(found: Found, name: str, modelled: float, width: str = "") -> Estimate:
    if getattr(found.readings, name) is not None:
        return read(found.readings, name)
    width = width or f"model_{name}"
    note = LEFT_OUT if name in found.aside else load("instruments")[width].note or ""
    return estimate(modelled, usual(width), "model", note)


def _of_case(found: Found, name: str, stated: float, width: str, note: str) -> Estimate:
    if getattr(found.readings, name) is not None:
        return read(found.readings, name)
    return estimate(stated, usual(width), "case", LEFT_OUT if name in found.aside else note)


def _parts(op: base.Operation) -> dict[str, float]:
    """Power bought by the parts that can be told apart. [W]"""
    found = dict.fromkeys(PARTS, 0.0)
    for (use, carrier), power in op.energy.items():
        if carrier == "cooling":
            continue
        name = use if use in found else "other"
        found[name] += float(np.ravel(power)[0])
    return found


def losses(op: base.Operation, duty: base.Duty) -> tuple[float, float]:
    """Loss of hot duct and of hopper in the model. [W]"""
    state = op.hopper
    w = float(water_vapour.humidity_ratio(op.delivered_dew_point[0], duty.pressure[0]))
    liquid = LIQUID_WATER_HEAT_CAPACITY * (float(duty.resin_temperature[0]) - ZERO_CELSIUS)
    into = float(op.air_flow[0]) * float(moist.enthalpy(duty.drying_temperature[0], w))
    into += float(state.water_removed[0]) * liquid
    out = float(op.air_flow[0]) * float(moist.enthalpy(state.return_temperature[0], state.return_humidity[0]))
    shell = into - out - float(state.resin_heat[0])
    return float(op.heat_out["shell and ducts"][0]) - shell, shell


def before_heater(found: Found, op: base.Operation, duty: base.Duty) -> float:
    """Temperature of the air to the heater in the model. [K]"""
    w = float(water_vapour.humidity_ratio(op.delivered_dew_point[0], duty.pressure[0]))
    heat = _parts(op)["process heat"] * _efficiency(found) - losses(op, duty)[0]
    before = float(moist.enthalpy(duty.drying_temperature[0], w)) - heat / float(op.air_flow[0])
    return float(moist.temperature_from_enthalpy(before, w))


def _efficiency(found: Found) -> float:
    inputs = found.inputs_found
    return float(inputs.gas_efficiency if inputs.heat_source == "gas" else inputs.heater_efficiency)


def wall_area(found: Found) -> tuple[float, float]:
    """Outer area and height of the hopper that the model builds. [m2], [m]"""
    built = hopper_sizing.geometry(found.machine.inputs, found.duty, 1.0)
    across = float(np.ravel(built.diameter)[0]) + 2.0 * float(found.inputs_found.insulation_thickness)
    height = float(np.ravel(built.height)[0])
    return math.pi * across * height + math.pi / 2.0 * across**2, height


def shell_heat(found: Found, surface: float, hall: float) -> float:
    """Heat that the hopper gives off at an outer temperature. [W]"""
    area, height = wall_area(found)
    return area * float(wall.surface_heat_flux(surface, hall, height, found.machine.inputs.shell_emissivity))


def _shell(found: Found, modelled: float) -> Estimate:
    readings = found.readings
    if readings.shell_temperature is None or colder_than_hall(readings, found.duty, "shell_temperature"):
        return _modelled(modelled, "model_shell")
    return shell_of(found, float(readings.shell_temperature), half_width(readings, "shell_temperature"))


def shell_of(found: Found, surface: float, half: float) -> Estimate:
    """Heat that the hopper gives off by an outer temperature that may be off by so much. [W]"""
    hall = float(found.duty.hall_temperature[0])
    heat = max(shell_heat(found, surface, hall), 0.0)
    off = shell_heat(found, max(surface, hall) + half, hall) - shell_heat(found, max(surface, hall), hall)
    return estimate(heat, math.hypot(off, usual("read_shell") * heat), "read", "from the wall's outer temperature")


def _specific_heat(found: Found) -> Estimate:
    resin = found.duty.resin
    stored = resin.data.get("specific_heat")
    half = usual("model_specific_heat") * resin.specific_heat
    if stored is not None and stored.si_low is not None and stored.si_high is not None:
        half = 0.5 * (stored.si_high - stored.si_low)
    return estimate(resin.specific_heat, half, "model", "the resin's data")


def _blower(found: Found, modelled: float) -> Estimate:
    rise = found.as_found.details.get("pressure_rise")
    pressure = found.readings.blower_pressure
    if pressure is None or rise is None or modelled == 0.0:
        return _modelled(modelled, "model_process_blower")
    return _modelled(modelled * pressure / float(np.ravel(rise)[0]), "pressure_process_blower")


def _regeneration(found: Found, modelled: float) -> Estimate:
    readings = found.readings
    if readings.regeneration_power is not None:
        return read(readings, "regeneration_power")
    cycle = readings.regeneration_cycle
    if cycle is None or cycle_apart(found) is not None:
        return _modelled(modelled, "model_regeneration")
    return _modelled(_at_cycle(found, float(cycle), modelled), "model_regeneration_heat_per_cycle")


def _at_cycle(found: Found, cycle: float, modelled: float) -> float:
    """Heat of regeneration where beds are changed that often, whatever decides it. [s, W]"""
    if beds_as_read.changed_every(found.inputs_found, cycle) == found.inputs_found:
        return modelled
    heat = heat_at(found, cycle)
    return modelled if heat is None else heat


def _power(found: Found) -> dict[str, Estimate]:
    readings = found.readings
    if readings.power is not None:
        return {"power": read(readings, "power")}
    if readings.current is None:
        return {}
    assert readings.voltage is not None
    off = relative(readings, "current", "voltage")
    factor = readings.power_factor
    if factor is None:
        stored = load("instruments")["model_power_factor"]
        assert stored.si_low is not None
        assert stored.si_high is not None
        factor, loose = stored.si, 0.5 * (stored.si_high - stored.si_low)
    else:
        loose = half_width(readings, "power_factor")
    value = math.sqrt(3.0) * readings.current * readings.voltage * factor
    off = math.sqrt(off**2 + (loose / factor) ** 2 + usual("spot") ** 2)
    return {"power": estimate(value, off * value, "read", "current, voltage and power factor, for a minute")}
