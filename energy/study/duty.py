"""From a case to the duty that each of its hoppers asks of a dryer, month by month."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from energy.air import atmosphere
from energy.dryers.base import Array, CompressedAir, Duty
from energy.remembered import Latest
from energy.resins.properties import Resin
from energy.sources import load
from energy.study import air_house
from energy.study.case import Case
from energy.study.plant_sections import Hopper
from energy.study.references import drying_temperature

MONTHS = 12


def atmospheric_pressure(case: Case) -> float:
    """[Pa]"""
    return float(atmosphere.pressure_at_altitude(case.model.site.altitude))


def house_of(case: Case) -> air_house.House | None:
    """The compressor house; None where the case has none.

    Raises
    ------
    CaseError
        A known cost of air, and electricity without a price above 0.
    """
    given = case.model.compressed_air
    return None if given is None else air_house.house_of_case(case, given, atmospheric_pressure(case))


def compressed_air(case: Case, added_flow: Array | float = 0.0, house: air_house.House | None = None) -> CompressedAir:
    """The plant's compressed air; NaN throughout where the case has none, so that no number can come of it.

    Parameters
    ----------
    case : Case
    added_flow : array_like, shape (..., 1, 1)
        Free air on top of what the plant takes now; matters where it exceeds what is installed. [m3/s]
    house : House, optional
        `house_of` the case, where it is known already.

    Raises
    ------
    CaseError
        As `house_of`.
    """
    given, house = case.model.compressed_air, house or house_of(case)
    if given is None or house is None:
        nothing = np.array(np.nan)
        return CompressedAir(
            pressure=nothing, pressure_dew_point=nothing, marginal_power=nothing, line_leak_share=nothing
        )
    return CompressedAir(
        pressure=np.array(house.pressure),
        pressure_dew_point=np.array(house.pressure_dew_point),
        marginal_power=np.array(air_house.marginal_power(house, added_flow)),
        line_leak_share=np.array(given.line_leak_share, float),
    )


def sized_for(duty: Duty, throughput: Array | float) -> Duty:
    """The duty with a machine that is built for another throughput than it runs at. [kg/s]"""
    if not isinstance(throughput, float) or duty.throughput.ndim > 1:
        return _sized(duty, throughput)
    # Options of a comparison share their duties; a duty that is kept cannot leave its mark to another.
    return _SIZED.take((id(duty), throughput), lambda: (duty, _sized(duty, throughput)))[1]


_SIZED: Latest[tuple[Duty, Duty]] = Latest(64)


def _sized(duty: Duty, throughput: Array | float) -> Duty:
    return with_design(replace(duty, design_throughput=throughput * np.ones(duty.hall_temperature.shape[-1])))


def with_design(duty: Duty) -> Duty:
    """The duty with one machine for all months: for its design throughput, the coldest hall and the most humid one.

    The design is a duty of one period.
    """
    coldest = np.min(duty.hall_temperature, axis=-1, keepdims=True)
    wettest = np.max(duty.hall_dew_point, axis=-1, keepdims=True)
    same = ("drying_temperature", "residence_time", "initial_moisture", "final_moisture", "pressure")  # in all months
    flow = duty.design_throughput[..., :1]
    outdoors: dict[str, Any] = {}
    if duty.outdoor_temperature is not None and duty.outdoor_dew_point is not None:
        dampest = np.max(duty.outdoor_dew_point, axis=-1, keepdims=True)
        frost = np.min(duty.outdoor_temperature, axis=-1, keepdims=True)
        outdoors = {"outdoor_temperature": np.maximum(frost, dampest), "outdoor_dew_point": dampest}
    design = replace(
        duty,
        throughput=flow,
        design_throughput=flow,
        resin_temperature=np.min(duty.resin_temperature, axis=-1, keepdims=True),
        hall_temperature=np.maximum(coldest, wettest),
        hall_dew_point=wettest,
        **{name: getattr(duty, name)[..., :1] for name in same},
        **outdoors,
        design=None,
    )
    return replace(duty, design=design)


def hall_air(case: Case) -> tuple[Array, Array]:
    """Temperature and dew point of the hall, shape (12,). [K]"""
    if case.climate is not None:
        return np.array(case.climate.hall_temperature), np.array(case.climate.hall_dew_point)
    site = case.model.site
    assert site.hall_temperature is not None
    assert site.hall_dew_point is not None
    return site.hall_temperature * np.ones(MONTHS), site.hall_dew_point * np.ones(MONTHS)


def duties_of(
    case: Case,
    scale: Array | float | Sequence[Array | float] = 1.0,
    added_air: Array | float = 0.0,
    months: int = MONTHS,
    house: air_house.House | None = None,
) -> tuple[Duty, ...]:
    """The duty of each hopper in each month, with dryers built for it.

    Parameters
    ----------
    case : Case
    scale : array_like, shape (..., 1, 1), or a sequence of them for the hoppers, optional
        Throughput over the case's own. [-]
    added_air : array_like, shape (..., 1, 1)
        Free air that the dryers take on top of what the compressors deliver now. [m3/s]
    months : int
        1 stands for all of a year of one hall air.
    house : House, optional
        `house_of` the case, where it is known already.

    Returns
    -------
    tuple of Duty
        Arrays of shape (..., 1, 12) with a scale, else (12,).
    """
    hall, dew_point = (air[..., :months] for air in hall_air(case))
    outdoors = [air[..., :months] for air in outdoor_air(case)] if case.climate is not None else [None, None]
    air, every = compressed_air(case, added_air, house), np.ones(months)
    pressure, coolant = atmospheric_pressure(case) * every, coolant_temperature(case) * every
    found = []
    scales = scale if isinstance(scale, Sequence) else [scale] * len(case.resins)
    for hopper, resin, size in zip(case.model.hoppers, case.resins, scales, strict=True):
        flow = np.asarray(float(hopper.throughput) * size * every)
        start = resin.initial_moisture if hopper.initial_moisture is None else hopper.initial_moisture
        residence = resin.residence_time if hopper.residence_time is None else hopper.residence_time
        duty = Duty(
            resin=resin,
            throughput=flow,
            design_throughput=flow,
            drying_temperature=drying_temperature(hopper, resin) * every,
            residence_time=residence * every,
            resin_temperature=hall if hopper.resin_temperature is None else hopper.resin_temperature * every,
            initial_moisture=start * every,
            final_moisture=np.minimum(start, target_of(hopper, resin)) * every,
            hall_temperature=hall,
            hall_dew_point=dew_point,
            outdoor_temperature=outdoors[0],
            outdoor_dew_point=outdoors[1],
            pressure=pressure,
            coolant_temperature=coolant,
            compressed_air=air,
        )
        found.append(with_design(duty))
    return tuple(found)


def coolant_temperature(case: Case) -> Array:
    """Of the water to the coolers: as given, or of the case's cooling plant month by month. [K]"""
    plant, climate = case.model.cooling, case.climate
    if plant is None or climate is None:
        return np.asarray(case.model.site.cooling_water_temperature, float)
    return plant.coolant_temperature(*outdoor_air(case), atmospheric_pressure(case), climate.hall_temperature)


def outdoor_air(case: Case) -> tuple[Array, Array]:
    """Temperature and dew point outdoors, shape (12,); the hall's where the case gives one air all year. [K]"""
    if case.climate is None:
        return hall_air(case)
    return np.array(case.climate.outdoor_temperature), np.array(case.climate.outdoor_dew_point)


def target_of(hopper: Hopper, resin: Resin) -> float:
    """Moisture that the pellets are dried to. [kg/kg dry]"""
    return resin.target_moisture if hopper.target_moisture is None else float(hopper.target_moisture)


def minimum_energy(duty: Duty) -> Array:
    """Heat that the resin and its water take up, whatever the dryer. [J/kg]

    Source
    ------
    First law; evaporation heat from data/factors.toml (reference table F-physics).
    """
    lift = duty.drying_temperature - duty.resin_temperature
    water = duty.initial_moisture - duty.final_moisture
    return np.asarray(duty.resin.specific_heat * lift + water * load("factors")["evaporation_heat"].si)
