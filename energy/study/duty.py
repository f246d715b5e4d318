"""From a case to the duty a dryer is given, month by month."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from energy.air import moist
from energy.dryers.base import Array, CompressedAir, Duty
from energy.study import air_house
from energy.study.case import Case
from energy.study.references import drying_temperature
from energy.study.schema import Option

MONTHS = 12


def levels_of(case: Case) -> tuple[tuple[float, float], ...]:
    """Production levels: share of the full throughput, share of production time. [-]"""
    hopper = case.model.hoppers[0]
    if not hopper.levels:
        return ((1.0, 1.0),)
    return tuple((float(level.throughput / hopper.throughput), float(level.share)) for level in hopper.levels)


def atmospheric_pressure(case: Case) -> float:
    """[Pa]"""
    return float(moist.pressure_at_altitude(case.model.site.altitude))


def compressed_air(case: Case, added_flow: float = 0.0) -> CompressedAir:
    """The plant's compressed air; NaN throughout where the case has none, so that no number can come of it.

    Parameters
    ----------
    case : Case
    added_flow : float
        Free air on top of what the plant takes now; matters where it exceeds what is installed. [m3/s]

    Raises
    ------
    CaseError
        A known cost of air, and electricity without a price above 0.
    """
    given = case.model.compressed_air
    if given is None:
        nothing = np.array(np.nan)
        return CompressedAir(
            pressure=nothing, pressure_dew_point=nothing, marginal_power=nothing, line_leak_share=nothing
        )
    house = air_house.house_of_case(case, given, atmospheric_pressure(case))
    return CompressedAir(
        pressure=np.array(house.pressure),
        pressure_dew_point=np.array(house.pressure_dew_point),
        marginal_power=np.array(air_house.marginal_power(house, added_flow)),
        line_leak_share=np.array(float(given.line_leak_share)),
    )


def option_duty(duty: Duty, option: Option) -> Duty:
    """The duty of an option whose machine may be built for another throughput than it runs at."""
    if option.built_for is None:
        return duty
    assert duty.design is not None
    size = float(option.built_for) * np.ones(MONTHS)
    return with_design(replace(duty, design_throughput=size))


def with_design(duty: Duty) -> Duty:
    """The duty with one machine for all months: for its design throughput, the coldest hall and the most humid one."""
    coldest, wettest = np.min(duty.hall_temperature), np.max(duty.hall_dew_point)
    ones = np.ones(MONTHS)
    design = replace(
        duty,
        throughput=duty.design_throughput,
        resin_temperature=np.min(duty.resin_temperature) * ones,
        hall_temperature=max(coldest, wettest) * ones,
        hall_dew_point=wettest * ones,
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
    return float(site.hall_temperature) * np.ones(MONTHS), float(site.hall_dew_point) * np.ones(MONTHS)


def duty_of(case: Case, throughput: Array | None = None) -> Duty:
    """The hopper's duty in each month.

    Parameters
    ----------
    case : Case
    throughput : ndarray, shape (..., 1), optional
        Instead of the case's own; dryers are then sized for it. [kg/s]

    Returns
    -------
    Duty
        Arrays of shape (..., 12).
    """
    hopper, site, resin = case.model.hoppers[0], case.model.site, case.resin
    months = np.ones(MONTHS)
    flow = np.asarray(hopper.throughput, float) * months if throughput is None else throughput * months
    start = resin.initial_moisture if hopper.initial_moisture is None else float(hopper.initial_moisture)
    target = resin.target_moisture if hopper.target_moisture is None else float(hopper.target_moisture)
    hall, dew_point = hall_air(case)
    fed = hall if hopper.resin_temperature is None else float(hopper.resin_temperature) * months
    duty = Duty(
        resin=resin,
        throughput=flow,
        design_throughput=flow,
        drying_temperature=drying_temperature(case.model, resin) * months,
        residence_time=(resin.residence_time if hopper.residence_time is None else hopper.residence_time) * months,
        resin_temperature=fed,
        initial_moisture=start * months,
        final_moisture=min(start, target) * months,
        hall_temperature=hall,
        hall_dew_point=dew_point,
        pressure=atmospheric_pressure(case) * months,
        coolant_temperature=float(site.cooling_water_temperature) * months,
        compressed_air=compressed_air(case),
    )
    return with_design(duty)
