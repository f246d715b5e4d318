"""The plant's compressor house: what more air takes and costs, and whether there is enough of it.

Flows are free air, 1 bar(a) and 20 degC, which stands for a mass. What a data sheet says holds at the reference inlet of
ISO 1217; of the site's thinner air a compressor takes in the same volume, so it delivers less mass, and each kilogram has
further to go to the net's pressure. Nothing here says whether a machine dries, so no finding
is worse than a caution; they belong beside the verdict, not in it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from energy.dryers.base import Array
from energy.equipment import compressor
from energy.errors import CaseError, EnergyError, OutOfRangeError, Problem
from energy.sources import load
from energy.study.air_price import electricity_price, implied
from energy.study.case import Case
from energy.study.finding import Finding, Grade
from energy.study.price_sections import CompressedAir
from energy.units import parse, show, shown_unit, to_unit
from energy.units.kinds import STANDARD_ATMOSPHERE

THIN = 0.05
"""Specific power at a site over that of the data sheet, beyond which it is told, by judgement. [-]"""
TOLD = 0.005
"""The same of the free air that is taken in: from here on the figures told are not those typed in. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class House:
    """A compressor house in SI; None where the case does not say. Arrays in uncertainty runs."""

    atmosphere: float
    """Pressure of the site's air. [Pa]"""
    pressure: float
    """Absolute. [Pa]"""
    pressure_needed: float | None
    """Absolute. [Pa]"""
    pressure_dew_point: float
    """[K]"""
    specific_power: float
    """Of the package at full load in the site's air; with a known cost all that air takes, as worked out from it. [J/m3]"""
    rated_power: float | None
    """Of the package by its data sheet, where that is what is given. [J/m3]"""
    known_cost: bool
    control: str
    air_dryer_share: float
    purge_share: float
    rated_capacity: float | None
    """What the compressors take in; free air at the reference inlet. [m3/s]"""
    present_flow: float | None
    """[m3/s]"""
    capital_if_larger: float | None
    """[money]"""

    @property
    def overhead(self) -> float:
        """Electricity per volume that reaches the net, over that of the compressors per volume they deliver. [-]"""
        return 1.0 if self.known_cost else (1.0 + self.air_dryer_share) / (1.0 - self.purge_share)

    @property
    def thinness(self) -> float:
        """Free air in what the compressors take in, over that at sea level. [-]"""
        return self.atmosphere / STANDARD_ATMOSPHERE

    @property
    def capacity(self) -> float | None:
        """Free air that the compressors deliver at full load in the site's air. [m3/s]"""
        return None if self.rated_capacity is None else self.rated_capacity * self.thinness

    @property
    def inlet(self) -> Array:
        """Pressure of what the compressors take in. [Pa]"""
        return compressor.inlet_pressure(self.atmosphere)

    @property
    def least_power(self) -> float:
        """Isentropic work in one stage from the site's air. [J/m3]"""
        return float(compressor.least_work(self.pressure, self.inlet))


def house_of(section: CompressedAir, atmospheric_pressure: float, electricity_price: float | None = None) -> House:
    """The compressor house of a case's section.

    Parameters
    ----------
    section : CompressedAir
    atmospheric_pressure : float
        Of the site: a gauge counts from it, and compressors take it in. [Pa]
    electricity_price : float, optional
        Needed with a known cost of air. [money/J]

    Raises
    ------
    OutOfRangeError
        A known cost of air without a price of electricity above 0.
    """

    def absolute(given: float) -> float:
        text = getattr(given, "text", "")
        # A gauge counts from the air around it, not from sea level.
        return parse(text, "pressure", gauge_reference=atmospheric_pressure) if text else given

    def free_air(given: float | None) -> float | None:
        return None if given is None else to_unit(given, "gas flow", "m3/s FAD")

    pressure, rated, present = absolute(section.pressure), free_air(section.installed_capacity), section.present_flow
    specific: Any
    if section.cost is not None:
        specific = implied(section, electricity_price)
    elif section.specific_power is not None:
        specific = section.specific_power * compressor.work_over_rated(pressure, atmospheric_pressure)[()]
    else:
        assert section.isentropic_efficiency is not None
        inlet = compressor.inlet_pressure(atmospheric_pressure)
        specific = compressor.specific_power_from_efficiency(pressure, section.isentropic_efficiency, inlet)[()]
    house = House(
        atmosphere=atmospheric_pressure,
        pressure=pressure,
        pressure_needed=None if section.pressure_needed is None else absolute(section.pressure_needed),
        pressure_dew_point=section.pressure_dew_point,
        specific_power=specific,
        rated_power=section.specific_power,
        known_cost=section.cost is not None,
        control=section.control,
        air_dryer_share=section.air_dryer_share,
        purge_share=section.purge_share,
        rated_capacity=rated,
        present_flow=free_air(present),
        capital_if_larger=None if section.capital_if_larger is None else section.capital_if_larger,
    )
    if section.present_share is None or house.capacity is None:
        return house
    return replace(house, present_flow=section.present_share * house.capacity)


def house_of_case(case: Case, section: CompressedAir, atmospheric_pressure: float) -> House:
    """The same, with the price of electricity from the case.

    Raises
    ------
    CaseError
        A known cost of air, and electricity without a price above 0, or whose price for a kilowatt hangs on more than that.
    """
    price = None
    if section.cost is not None:
        try:
            price = electricity_price(case.tariffs["electricity"], np.asarray(case.calendar.production))
        except EnergyError as error:
            text = (
                "what electricity a known cost of air amounts to cannot be told on this tariff; give specific_power or "
                f"isentropic_efficiency instead ({error})"
            )
            raise CaseError([Problem("compressed_air.cost", text)], file=case.file) from error
    try:
        return house_of(section, atmospheric_pressure, price)
    except OutOfRangeError as error:
        raise CaseError([Problem("compressed_air.cost", str(error))], file=case.file) from error


def marginal_power(house: House, added_flow: Array | float = 0.0) -> Any:
    """Electricity per volume of air added to the net, air dryer and purge included. [J/m3]

    Parameters
    ----------
    house : House
    added_flow : float
        Free air taken from the net on top of the present flow; what exceeds the capacity is charged at full specific
        power. [m3/s]
    """
    if house.known_cost:
        return house.specific_power
    share = compressor.marginal_share(house.control)
    usual = house.specific_power * share * house.overhead
    missing = np.asarray(missing_flow(house, added_flow)) > 0.0
    if not missing.any():
        return usual
    assert house.present_flow is not None
    assert house.capacity is not None
    more = np.where(missing, added_flow, 1.0) / (1.0 - house.purge_share)
    plant = house.capacity, house.specific_power, house.control
    full = compressor.marginal_power(house.present_flow, more, *plant) * house.overhead
    return np.where(missing, full, usual)[()]


def average_power(house: House) -> float | None:
    """Electricity per volume that reaches the net now; None where the present flow is not known or 0. [J/m3]"""
    if house.known_cost:
        return house.specific_power
    if house.capacity is None or not house.present_flow:
        return None
    power = compressor.house_power(house.present_flow, house.capacity, house.specific_power, house.control)
    return float(power) / house.present_flow * house.overhead


def missing_flow(house: House, added_flow: Array | float) -> Any:
    """What the compressors would have to deliver beyond their capacity; 0 where that is not known. [m3/s]"""
    if house.capacity is None or house.present_flow is None:
        return 0.0
    missing = house.present_flow + added_flow / (1.0 - house.purge_share) - house.capacity
    return np.where(missing > 1e-9 * house.capacity, missing, 0.0)[()]  # less is rounding


def extra_capital(house: House, added_flow: Array | float) -> Any:
    """Capital for a bigger compressor where one is needed: the amount given, 0 where none is. [money]"""
    amount = 0.0 if house.capital_if_larger is None else house.capital_if_larger
    return np.where(np.asarray(missing_flow(house, added_flow)) > 0.0, amount, 0.0)[()]


def findings(house: House, added_flow: float, system: str) -> tuple[Finding, ...]:
    """All that is to be said of the house under an option.

    Parameters
    ----------
    house : House
    added_flow : float
        Free air the option takes from the net, less what the present machines take. [m3/s]
    system : {"si", "us"}
    """
    return (*findings_of_flow(house, added_flow, system), *findings_of_house(house, system))


def findings_of_flow(house: House, added_flow: float, system: str) -> tuple[Finding, ...]:
    """What is to be said of the air that an option adds."""
    found = (finding(house, added_flow, system), cost_of_more(house, added_flow, system))
    return tuple(f for f in found if f is not None)


def findings_of_house(house: House, system: str) -> tuple[Finding, ...]:
    """What is to be said of the house itself, the same under all options."""
    found = (
        plausible(house, system),
        thin_air(house, system),
        pressure_reserve(house, system),
        air_dryer(house, system),
    )
    return tuple(f for f in found if f is not None)


def finding(house: House, added_flow: float, system: str) -> Finding | None:
    """Is there enough compressed air? None where no capacity is given or no air is added."""
    if house.capacity is None or house.rated_capacity is None or added_flow == 0.0:
        return None
    unit = "m3/min" if system == "si" else "cfm"
    air = lambda flow: show(flow, "volume flow", unit)  # noqa: E731
    more = added_flow / (1.0 - house.purge_share)
    total = (house.present_flow or 0.0) + more
    grade: Grade = "caution"
    if house.present_flow is None:
        text = f"{air(house.capacity)} are installed; how much is in use is not given, so neither is whether {air(more)} are free."
    elif total < 0.0:
        text = f"The present flow of {air(house.present_flow)} is less than what the present machines take; check it."
    elif missing := missing_flow(house, added_flow):
        text = (
            f"Needs a bigger compressor: {air(house.present_flow)} in use and {air(more)} added are {air(missing)} or "
            f"{_percent(missing / house.capacity)} more than the {air(house.capacity)} installed."
        )
        if house.capital_if_larger is None:
            text += " Its price is not in the capital; give it as capital_if_larger."
    else:
        text = (
            f"The compressors would deliver {air(total)} of {air(house.capacity)}, "
            f"{_percent(total / house.capacity)}; now {air(house.present_flow)}."
        )
        if total <= load("compressors")["filling"].si * house.capacity:
            grade = "pass"
        else:
            text += " That leaves little for peaks; log the flow over a week."
    if abs(house.thinness - 1.0) > TOLD:
        text += f" The {air(house.rated_capacity)} rated are {air(house.capacity)} of free air at this altitude."
    value, limit = (float(to_unit(x, "volume flow", unit)) for x in (total, house.capacity))
    known = house.present_flow is not None
    return Finding(
        check="compressed-air capacity",
        value=value if known else None,
        limit=limit,
        unit=f"{unit} free air",
        verdict=grade,
        text=text,
    )


def cost_of_more(house: House, added_flow: float, system: str) -> Finding | None:
    """What one more cubic metre takes against the average; nothing to say of a known cost."""
    if house.known_cost or house.control == "full load":
        return None
    marginal, average = marginal_power(house, added_flow), average_power(house)
    low, likely, high = compressor.idle_share(house.control)
    least, most = (marginal * (1.0 - idle) / (1.0 - likely) for idle in (high, low))
    power = lambda x: show(x, "specific power", system)  # noqa: E731
    text = f"Air added takes {power(marginal)} under {house.control} control"
    if missing_flow(house, added_flow):
        text += ", with what is missing at full specific power."
    else:
        text += f" ({power(least)} to {power(most)} by the spread of part-load curves)."
    if average is not None:
        text += f" The air in use now takes {power(average)} on average."
    return _finding("power of added air", marginal, average, "specific power", system, "pass", text)


def plausible(house: House, system: str) -> Finding:
    """Is the specific power one that compressors have?"""
    stored = load("compressors")["package_efficiency"]
    assert stored.si_low is not None
    assert stored.si_high is not None
    least, specific = house.least_power, house.specific_power
    good, poor = least / stored.si_high, least / stored.si_low
    power = lambda x: show(x, "specific power", system)  # noqa: E731
    text = "The known cost of air amounts to" if house.known_cost else "The compressors take"
    text += f" {power(specific)}" + (" at this price of electricity" if house.known_cost else "")
    text += "; packages at this pressure" + (" and altitude" if abs(house.thinness - 1.0) > TOLD else "")
    text += f" take {power(good)} to {power(poor)}."
    if specific < least:
        text += f" Loss-free compression in one stage takes {power(least)}: too little to be true."
    elif specific < good:
        text += " That is better than packages are."
    elif specific > poor:
        text += (
            " It holds more than electricity, or the house runs far below its capacity."
            if house.known_cost
            else " That is a poor package; check the figure."
        )
    grade: Grade = "pass" if good <= specific <= poor else "caution"
    return _finding("specific power of air", specific, poor, "specific power", system, grade, text)


def thin_air(house: House, system: str) -> Finding | None:
    """What the data sheet's specific power becomes in the site's air; None where that is about the same, or it is not given."""
    if house.rated_power is None:
        return None
    over = house.specific_power / house.rated_power
    if abs(over - 1.0) <= THIN:
        return None
    power = lambda x: show(x, "specific power", system)  # noqa: E731
    text = (
        f"The {power(house.rated_power)} given are taken as the data sheet's, at an intake of 1 bar. At this altitude the same "
        f"package takes {power(house.specific_power)} of free air. Was it measured here, per free air? Then write it divided by {over:.4g}."
    )
    return _finding(
        "specific power at altitude", house.specific_power, house.rated_power, "specific power", system, "caution", text
    )


def pressure_reserve(house: House, system: str) -> Finding | None:
    """How far the net's pressure is above what is needed, and what that costs."""
    if house.pressure_needed is None:
        return None
    reserve = house.pressure - house.pressure_needed
    share = float(compressor.pressure_saving(house.pressure, house.pressure_needed, house.inlet))
    unit = "bar" if system == "si" else "psi"
    shown = show(abs(reserve), "pressure difference", unit)
    if reserve < 0.0:
        text = f"The net's pressure is {shown} below what is needed; raising it takes {_percent(-share)} more compressor power."
    else:
        text = f"The net's pressure is {shown} above what is needed; without that the compressors would take {_percent(share)} less."
    grade: Grade = "caution" if reserve < 0.0 else "pass"
    return Finding(
        check="pressure reserve",
        value=float(to_unit(reserve, "pressure difference", unit)),
        limit=0.0,
        unit=unit,
        verdict=grade,
        text=text,
    )


def air_dryer(house: House, system: str) -> Finding | None:
    """Can the plant's air dryer reach that pressure dew point with the power and purge given?"""
    least, usual = load("compressors")["refrigerated_dew_point"].si, load("plant")["air_dryer_share"].si_high
    assert usual is not None
    if house.known_cost or house.pressure_dew_point >= least or house.purge_share or house.air_dryer_share > usual:
        return None
    asked, reached = (show(t, "temperature", system) for t in (house.pressure_dew_point, least))
    text = (
        f"A pressure dew point of {asked} is below the {reached} of a refrigerated air dryer; desiccant spends purge or "
        "heat, so give purge_share or a larger air_dryer_share."
    )
    return _finding("air dryer of the net", house.pressure_dew_point, least, "temperature", system, "caution", text)


def _percent(share: float) -> str:
    return show(share, "share", "%", digits=2)


def _finding(check: str, value: float, limit: float | None, kind: str, system: str, grade: Grade, text: str) -> Finding:
    unit = shown_unit(kind, system)
    return Finding(
        check=check,
        value=float(to_unit(value, kind, unit)),
        limit=None if limit is None else float(to_unit(limit, kind, unit)),
        unit=unit,
        verdict=grade,
        text=text,
    )
