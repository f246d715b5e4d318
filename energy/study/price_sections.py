"""What a case file says of prices: tariffs, the load beside the dryers, compressed air, and how money counts."""

from __future__ import annotations

import datetime
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field

from energy.errors import UnitError
from energy.study.section import Section, typical
from energy.units import SI, Quantity, parse


class Tariffs(Section):
    """[tariffs]: each the name of a demo tariff, a file beside the case, or one price such as "0.12 USD/kWh"."""

    electricity: str
    electricity_demand: str | None = Field(default=None, title="Demand charge beside one price of electricity")
    """Per kW of each month's highest 15 minutes, such as "13 USD/kW/month"; per kVA with the power factor below. A tariff has its own."""
    gas: str | None = Field(default=None, title="Gas (higher heating value)")
    cooling: str | None = Field(default=None, title="Cooling water, per heat")
    """Per heat taken; or the plant's own cooling, in the section of that name."""
    water: str | None = Field(default=None, title="Water for the cooling tower")
    """Per volume, for the cooling tower."""
    plant_gas: Annotated[
        float | None,
        Quantity("energy", label="Gas of the whole plant in a month, present dryers included"),
        Field(ge=0),
    ] = None
    """Mean of the year, on the higher heating value. None: the dryers are billed as if no other gas were used. [J]"""
    coincidence: Annotated[
        float,
        Quantity("share", label="Share of the dryers' peak that falls on the billing peak", shown="%"),
        Field(ge=0, le=1),
    ] = SI(1.0)
    """Where the plant's own readings do not tell. Peaks of a price period count only while the dryers run in it. [-]"""
    power_factor: Annotated[float | None, Quantity("share", label="Power factor that is billed"), Field(gt=0, le=1)] = (
        None
    )
    electricity_factor: Annotated[
        float, Quantity("ratio", label="Electricity bill over that of the tariff", shown="%"), Field(gt=0, le=10)
    ] = typical("electricity_factor")
    """What prices may come to over the years of the study; its range is drawn in a simulation. [-]"""
    gas_factor: Annotated[
        float, Quantity("ratio", label="Gas bill over that of the tariff", shown="%"), Field(gt=0, le=10)
    ] = typical("gas_factor")
    water_factor: Annotated[
        float,
        Quantity("ratio", label="Water and cooling bills over those of the tariffs", shown="%"),
        Field(gt=0, le=10),
    ] = typical("water_factor")


class PlantMonth(Section):
    """[[plant_load.months]]: one month of the plant's electricity bill."""

    month: int = Field(ge=1, le=12)
    energy: Annotated[float, Quantity("energy", label="Energy of the month", shown="kWh"), Field(ge=0)]
    peak: Annotated[float, Quantity("power", label="Billed peak of the month", shown="kW"), Field(ge=0)]


class PlantReadings(Section):
    """[plant_load.readings]: interval readings of the plant's meter in the case itself, without a gap."""

    start: datetime.datetime
    """Beginning of the first interval, with its offset from UTC, such as 2025-01-01T00:00:00-06:00."""
    step: Annotated[float, Quantity("time", label="Length of an interval", shown="min"), Field(ge=60, le=3600)]
    power: tuple[Annotated[str, Field(max_length=20_000)], ...] = Field(min_length=1, max_length=400)
    """Mean of each interval in kW, parted by blanks; a line may be a day."""
    source: str = Field(default="", max_length=300)
    """File they were taken from."""


class PlantLoad(Section):
    """[plant_load]: electricity of the whole plant, its present dryers included."""

    months: tuple[PlantMonth, ...] = Field(default=(), max_length=24)
    table: str | None = Field(default=None, max_length=300)
    """Twelve months in a file beside the case: columns month, kWh, kW (.csv), or TOML."""
    file: str | None = Field(default=None, max_length=300)
    """Readings of twelve whole months beside the case: intervals as text (.csv) or ESPI (.xml)."""
    readings: PlantReadings | None = None
    """The same in the case itself."""
    zone: str | None = Field(default=None, max_length=60)
    """Time zone of the readings' clock, such as "America/Chicago", where the stamps have no offset."""
    time_column: str | None = Field(default=None, max_length=100)
    column: str | None = Field(default=None, max_length=100)
    """Of the figures, where the header does not tell which."""
    unit: str | None = Field(default=None, max_length=20)
    """kW or kWh, where the header does not tell."""


class CompressedAir(Section):
    """[compressed_air]"""

    pressure: Annotated[
        float, Quantity("pressure", label="Compressed-air pressure", shown="bar(g)"), Field(gt=1.5e5, le=1_501_325)
    ]  # up to 14 bar(g): moist air is known to 16 bar
    pressure_dew_point: Annotated[
        float, Quantity("temperature", label="Pressure dew point", shown="degC"), Field(ge=193.15, le=313.15)
    ]
    specific_power: Annotated[
        float | None,
        Quantity("specific power", label="Specific power of the compressor", shown="kW/(m3/min)"),
        Field(gt=1e5, lt=3e6),
    ] = None
    """Package figure by ISO 1217, from the nameplate, at an intake of 1 bar; in the site's air the package takes more per free air.
    Or instead of it the efficiency or the cost below."""
    isentropic_efficiency: Annotated[
        float | None,
        Quantity("share", label="Isentropic efficiency of the compressor package", shown="%"),
        Field(ge=0.2, le=0.95),
    ] = None
    cost: Annotated[float | None, Quantity("price per volume", label="Known cost of compressed air"), Field(gt=0)] = (
        None
    )
    """All told, per volume of free air (1 bar, 20 degC) that reaches the net; part load and air dryer are in it."""
    control: Literal["modulating", "load-unload", "variable-speed", "full load"] = "full load"
    installed_capacity: Annotated[
        float | None,
        Quantity("gas flow", label="Installed capacity of the compressors", shown="m3/min FAD"),
        Field(gt=0, le=100),
    ] = None
    """"12 m3/min FAD", as rated: volume taken in, at 1 bar(a), 20 degC, the reference of ISO 1217. At altitude that is less free air."""
    present_flow: Annotated[
        float | None,
        Quantity("gas flow", label="Present mean flow of the compressors", shown="m3/min FAD"),
        Field(ge=0, le=100),
    ] = None
    """Leaks, purge and the present dryers included, as free air of 1 bar(a), 20 degC at any altitude; or instead of it the share of
    the installed capacity below."""
    present_share: Annotated[
        float | None, Quantity("share", label="Present mean load of the compressors", shown="%"), Field(ge=0, le=1)
    ] = None
    capital_if_larger: Annotated[
        float | None, Quantity("money", label="Capital if a bigger compressor is needed"), Field(ge=0)
    ] = None
    pressure_needed: Annotated[
        float | None,
        Quantity("pressure", label="Compressed-air pressure needed", shown="bar(g)"),
        Field(gt=1.5e5, le=1_501_325),
    ] = None
    """By the most demanding user of the net."""
    air_dryer_share: Annotated[
        float,
        Quantity("share", label="Air dryer's power over the compressor's", shown="%"),
        Field(ge=0, lt=1),
    ] = typical("air_dryer_share")
    purge_share: Annotated[
        float, Quantity("share", label="Air dryer's purge over its inlet flow", shown="%"), Field(ge=0, lt=1)
    ] = typical("purge_share")
    line_leak_share: Annotated[float, Quantity("share", label="Leaks in the line", shown="%"), Field(ge=0, lt=0.9)] = (
        typical("line_leak_share")
    )
    maintenance: Annotated[float, Quantity("price per volume", label="Compressor maintenance"), Field(ge=0)] = SI(0.0)


def _shares(given: Any) -> Any:
    """Shares written as texts in a list, as numbers; all else as it is, for the check of the field to refuse."""
    if not isinstance(given, list | tuple):
        return given
    try:
        return [
            parse(entry, "share", label=f"Year {i}") if isinstance(entry, str) else entry
            for i, entry in enumerate(given, start=1)
        ]
    except UnitError as error:
        raise ValueError(str(error)) from error


class Taxes(Section):
    """[finance.tax]: after tax where it is given; rate and rules are for the finance department to say."""

    rate: Annotated[float, Quantity("share", label="Tax rate", shown="%"), Field(ge=0, lt=1)]
    depreciation: Literal["macrs-5", "macrs-7", "straight-line", "first-year", "own"]
    life: int | None = Field(
        default=None, ge=1, le=60, title="Years of straight-line", description="years, of straight-line"
    )
    table: Annotated[tuple[float, ...] | None, BeforeValidator(_shares)] = Field(
        default=None, min_length=1, max_length=60, title="Own shares of the cost deducted in years 1, 2, ..."
    )
    """Shares of the cost deducted in years 1, 2, ... of own depreciation, "40 %" or 0.4; they add up to 100 %."""
    incentive: Literal["lowers basis", "income", "untaxed"] = Field(
        default="lowers basis", title="An incentive counts as"
    )


class Finance(Section):
    """[finance]"""

    rate: Annotated[float, Quantity("rate", label="Discount rate", shown="%"), Field(gt=-0.5, lt=2)]
    rate_basis: Literal["real", "nominal"] = Field(title="Rate and escalations are")
    years: int = Field(ge=1, le=50, title="Years of the study")
    escalation_electricity: Annotated[
        float, Quantity("rate", label="Escalation of electricity", shown="%"), Field(gt=-0.5, lt=1)
    ] = SI(0.0)
    escalation_gas: Annotated[float, Quantity("rate", label="Escalation of gas", shown="%"), Field(gt=-0.5, lt=1)] = SI(
        0.0
    )
    escalation_other: Annotated[
        float,
        Quantity("rate", label="Escalation of maintenance, cooling and water", shown="%"),
        Field(gt=-0.5, lt=1),
    ] = SI(0.0)
    timing: Literal["end", "mid"] = Field(default="end", title="Yearly amounts count at")
    """When yearly amounts count: at the end of their year, or in its middle."""
    inflation: Annotated[float, Quantity("rate", label="General inflation", shown="%"), Field(gt=-0.5, lt=1)] = SI(0.0)
    """Counts in nominal money, and for what is deducted for depreciation."""
    delay: Annotated[
        float, Quantity("time", label="From the base date to the start of service", shown="year"), Field(ge=0)
    ] = SI(0.0)
    capital_year: int = Field(default=0, ge=0, le=50, title="Capital spent at the end of year")
    """At whose end the capital is spent; 0 is the base date."""
    tax: Taxes | None = None
    """None: before tax."""
    maximum_payback: Annotated[
        float | None, Quantity("time", label="Longest acceptable payback", shown="year"), Field(gt=0)
    ] = None
    electricity_emission: Annotated[
        float | None,
        Quantity("emission factor", label="Emission factor of electricity", shown="kg/kWh"),
        Field(ge=0),
    ] = None
