"""What a case file says of the plant: its hall, hoppers and calendar."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from energy.study.section import ONE_LINE, Section, typical
from energy.units import SI, Quantity


class MonthRow(Section):
    """[[site.months]]: one month's air outdoors, and in the hall where it is known."""

    month: int = Field(ge=1, le=12)
    outdoor_temperature: Annotated[float, Quantity("temperature", label="Outdoor temperature", shown="degC")]
    outdoor_dew_point: Annotated[float, Quantity("temperature", label="Outdoor dew point", shown="degC")]
    hall_temperature: Annotated[
        float | None, Quantity("temperature", label="Hall temperature", shown="degC"), Field(ge=263.15, le=323.15)
    ] = None
    hall_dew_point: Annotated[
        float | None, Quantity("temperature", label="Hall dew point", shown="degC"), Field(ge=233.15, le=308.15)
    ] = None


class Site(Section):
    """[site]"""

    altitude: Annotated[float, Quantity("length", label="Altitude", shown="m"), Field(ge=-500, le=4000)] = typical(
        "altitude"
    )
    climate: str | None = Field(default=None, title="Hall climate")
    """A sample climate by name, or a weather file (EPW, TMY3) beside the case; months differ then."""
    months: tuple[MonthRow, ...] = Field(default=(), max_length=24)
    """Twelve months typed in, instead of a climate by name."""
    hall_temperature: Annotated[
        float | None, Quantity("temperature", label="Hall temperature", shown="degC"), Field(ge=263.15, le=323.15)
    ] = None
    """The same all year, instead of a climate."""
    hall_dew_point: Annotated[
        float | None, Quantity("temperature", label="Hall dew point", shown="degC"), Field(ge=233.15, le=308.15)
    ] = None
    cooling_water_temperature: Annotated[
        float,
        Quantity("temperature", label="Cooling water temperature", shown="degC"),
        Field(ge=274.15, le=318.15),
    ] = typical("cooling_water_temperature")


class OwnResin(Section):
    """[hoppers.own_resin]: values that replace those of the resin named, or a resin of one's own."""

    name: str | None = Field(default=None, max_length=60, pattern=ONE_LINE)
    """What it is called wherever it is spoken of; its stored values go on being those of the resin named."""
    hygroscopic: bool | None = None
    density: Annotated[float | None, Quantity("density", label="Density"), Field(gt=100, lt=10000)] = None
    bulk_density: Annotated[float | None, Quantity("density", label="Bulk density"), Field(gt=50, lt=5000)] = None
    specific_heat: Annotated[float | None, Quantity("specific heat", label="Specific heat"), Field(gt=200, lt=6000)] = (
        None
    )
    drying_temperature: Annotated[
        float | None, Quantity("temperature", label="Drying temperature"), Field(gt=300, le=473.15)
    ] = None
    drying_temperature_limit: Annotated[
        float | None, Quantity("temperature", label="Highest drying temperature"), Field(gt=300, lt=523)
    ] = None
    yellowing_temperature: Annotated[
        float | None, Quantity("temperature", label="Yellows in hot air above"), Field(gt=300, lt=523)
    ] = None
    caking_temperature: Annotated[
        float | None,
        Quantity("temperature", label="Pellets not crystallised stick together above"),
        Field(gt=300, lt=523),
    ] = None
    residence_time: Annotated[float | None, Quantity("time", label="Residence time"), Field(gt=0)] = None
    dew_point: Annotated[
        float | None, Quantity("temperature", label="Dew point asked for"), Field(gt=173.15, lt=308)
    ] = None
    initial_moisture: Annotated[float | None, Quantity("moisture", label="Initial moisture"), Field(ge=0, lt=0.5)] = (
        None
    )
    target_moisture: Annotated[float | None, Quantity("moisture", label="Target moisture"), Field(gt=0, lt=0.5)] = None
    saturation_moisture: Annotated[
        float | None, Quantity("moisture", label="Moisture saturated in water"), Field(gt=0, lt=0.5)
    ] = None
    """The most that pellets can hold."""
    air_resin_ratio: Annotated[float | None, Quantity("ratio", label="Air per resin (kg/kg)"), Field(gt=0)] = None
    pellet_diameter: Annotated[
        float | None, Quantity("length", label="Pellet diameter", shown="mm"), Field(gt=1e-4, lt=0.05)
    ] = None
    pellet_length: Annotated[
        float | None, Quantity("length", label="Pellet length", shown="mm"), Field(gt=1e-4, lt=0.05)
    ] = None
    diffusivity: Annotated[
        float | None, Quantity("diffusivity", label="Diffusivity of water"), Field(gt=0, le=1e-8)
    ] = None
    diffusivity_temperature: Annotated[
        float | None, Quantity("temperature", label="Temperature of the diffusivity"), Field(ge=250, le=523.15)
    ] = None
    diffusion_activation_energy: Annotated[
        float | None, Quantity("molar energy", label="Activation energy of diffusion"), Field(ge=0, le=3e5)
    ] = None
    sorption_slope: Annotated[float | None, Quantity("ratio", label="Sorption slope"), Field(gt=0, le=1)] = None
    sorption_temperature: Annotated[
        float | None, Quantity("temperature", label="Temperature of the sorption slope"), Field(ge=250, le=523.15)
    ] = None


class Level(Section):
    """A throughput below the full one, and its share of production time."""

    throughput: Annotated[
        float, Quantity("mass flow", label="Throughput of the level", shown="kg/h"), Field(gt=0, le=10)
    ]
    share: Annotated[float, Quantity("share", label="Share of production time", shown="%"), Field(gt=0, le=1)]


class Hopper(Section):
    """[[hoppers]]"""

    name: str = Field(default="Hopper 1", min_length=1, max_length=100, pattern=ONE_LINE)
    resin: str = Field(min_length=1, max_length=60)
    throughput: Annotated[float, Quantity("mass flow", label="Throughput", shown="kg/h"), Field(gt=0, le=10)]
    drying_temperature: Annotated[
        float | None, Quantity("temperature", label="Drying temperature", shown="degC"), Field(gt=300, le=473.15)
    ] = None
    residence_time: Annotated[
        float | None, Quantity("time", label="Residence time", shown="h"), Field(gt=0, le=864000)
    ] = None
    initial_moisture: Annotated[float | None, Quantity("moisture", label="Initial moisture"), Field(ge=0, lt=0.5)] = (
        None
    )
    target_moisture: Annotated[float | None, Quantity("moisture", label="Target moisture"), Field(gt=0, lt=0.5)] = None
    resin_temperature: Annotated[
        float | None,
        Quantity("temperature", label="Temperature of the pellets fed", shown="degC"),
        Field(ge=233, lt=473),
    ] = None
    levels: tuple[Level, ...] = Field(default=(), max_length=12)
    """Levels of throughput; none given: the full throughput whenever there is production."""
    running: Annotated[
        float, Quantity("share", label="Share of the plant's production time", shown="%"), Field(gt=0, le=1)
    ] = SI(1.0)
    """In the rest of it the hopper's dryer is off. [-]"""
    campaigns: int = Field(default=0, ge=0, le=8784, title="Starts after a change of material or mould, a year")
    """Starts of this hopper's production besides those of the calendar, after a change of material or mould."""
    own_resin: OwnResin | None = None


class ShiftRow(Section):
    """One shift: the days it starts on and its clock."""

    name: str = Field(default="", max_length=100, pattern=ONE_LINE)
    days: tuple[Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"], ...] = Field(min_length=1, max_length=7)
    start: str = Field(max_length=5)
    end: str = Field(max_length=5)


class Calendar(Section):
    """[calendar]: the hours of a year, or shifts from which they follow."""

    production_hours: Annotated[
        float | None, Quantity("time", label="Production hours a year", shown="h"), Field(gt=0, le=8784 * 3600)
    ] = None
    shifts: tuple[ShiftRow, ...] = Field(default=(), max_length=30)
    shutdown_weeks: tuple[int, ...] = Field(default=(), max_length=53, title="Weeks without production")
    country: str | None = Field(default=None, max_length=40)
    subdivision: str | None = Field(default=None, max_length=40)
    holidays: tuple[str, ...] = Field(default=(), max_length=60, title="Public holidays kept")
    """English names of the public holidays kept; none named: all of the country."""
    holiday_rule: Literal["none", "sunday to monday", "nearest weekday"] = "none"
    standby_up_to: Annotated[
        float, Quantity("time", label="Longest stop through which dryers stay hot", shown="h"), Field(ge=0)
    ] = SI(0.0)
