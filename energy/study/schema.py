"""What a case file may say. Its shape also makes the empty case, the form and the report's list of inputs."""

from __future__ import annotations

import datetime
from typing import TYPE_CHECKING, Annotated, Any, Literal, TypeAlias, Union

from pydantic import BaseModel, ConfigDict, Field, model_validator

from energy import dryers
from energy.dryers import base
from energy.equipment.building import Building
from energy.equipment.cooler import CoolingPlant
from energy.sources import load
from energy.study.readings import Readings
from energy.units import SI, Quantity

Basis = Literal["measured", "nameplate", "quoted", "read", "common practice", "assumption"]
BASES: tuple[str, ...] = ("measured", "nameplate", "quoted", "read", "common practice", "assumption")
ONE_LINE = r"^[^\x00-\x1f\x7f]*$"

if TYPE_CHECKING:
    AnyInputs: TypeAlias = base.Inputs
else:
    AnyInputs = Union[tuple(module.Inputs for module in dryers.TYPES.values())]  # noqa: UP007 - built from the list of types


def _typical(key: str) -> Any:
    """Default from data/plant.toml, read when it is needed."""
    return Field(default_factory=lambda: SI(load("plant")[key].si))


class Section(BaseModel):
    """Frozen, and strict about names."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class CaseInfo(Section):
    """[case]"""

    name: str = Field(min_length=1, max_length=200, pattern=ONE_LINE)
    currency: str = Field(pattern=r"^[A-Z]{3}$")
    units: Literal["si", "us"] = "si"
    year: int = Field(ge=1990, le=2100)
    note: str = Field(default="", max_length=2000)


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

    altitude: Annotated[float, Quantity("length", label="Altitude", shown="m"), Field(ge=-500, le=4000)] = _typical(
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
    ] = _typical("cooling_water_temperature")


class OwnResin(Section):
    """[hoppers.own_resin]: values that replace those of the resin named, or a resin of one's own."""

    name: str | None = None
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
    residence_time: Annotated[float | None, Quantity("time", label="Residence time"), Field(gt=0)] = None
    dew_point: Annotated[
        float | None, Quantity("temperature", label="Dew point asked for"), Field(gt=173.15, lt=308)
    ] = None
    initial_moisture: Annotated[float | None, Quantity("moisture", label="Initial moisture"), Field(ge=0, lt=0.5)] = (
        None
    )
    target_moisture: Annotated[float | None, Quantity("moisture", label="Target moisture"), Field(gt=0, lt=0.5)] = None
    air_resin_ratio: Annotated[float | None, Quantity("ratio", label="Air to resin ratio"), Field(gt=0)] = None
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


class Tariffs(Section):
    """[tariffs]: each the name of a demo tariff, a file beside the case, or one price such as "0.12 USD/kWh"."""

    electricity: str
    gas: str | None = Field(default=None, title="Gas (higher heating value)")
    cooling: str | None = Field(default=None, title="Cooling water, per heat")
    """Per heat taken; or the plant's own cooling, in the section of that name."""
    water: str | None = Field(default=None, title="Water for the cooling tower")
    """Per volume, for the cooling tower."""
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
    ] = _typical("electricity_factor")
    """What prices may come to over the years of the study; its range is drawn in a simulation. [-]"""
    gas_factor: Annotated[
        float, Quantity("ratio", label="Gas bill over that of the tariff", shown="%"), Field(gt=0, le=10)
    ] = _typical("gas_factor")
    water_factor: Annotated[
        float,
        Quantity("ratio", label="Water and cooling bills over those of the tariffs", shown="%"),
        Field(gt=0, le=10),
    ] = _typical("water_factor")


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
    """Package figure by ISO 1217, from the nameplate; or instead of it the efficiency or the cost below."""
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
    """"12 m3/min FAD": free air at 1 bar(a), 20 degC, the reference of ISO 1217."""
    present_flow: Annotated[
        float | None,
        Quantity("gas flow", label="Present mean flow of the compressors", shown="m3/min FAD"),
        Field(ge=0, le=100),
    ] = None
    """Leaks, purge and the present dryers included; or instead of it the share of the installed capacity below."""
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
    ] = _typical("air_dryer_share")
    purge_share: Annotated[
        float, Quantity("share", label="Air dryer's purge over its inlet flow", shown="%"), Field(ge=0, lt=1)
    ] = _typical("purge_share")
    line_leak_share: Annotated[float, Quantity("share", label="Leaks in the line", shown="%"), Field(ge=0, lt=0.9)] = (
        _typical("line_leak_share")
    )
    maintenance: Annotated[float, Quantity("price per volume", label="Compressor maintenance"), Field(ge=0)] = SI(0.0)


class Taxes(Section):
    """[finance.tax]: after tax where it is given; rate and rules are for the finance department to say."""

    rate: Annotated[float, Quantity("share", label="Tax rate", shown="%"), Field(ge=0, lt=1)]
    depreciation: Literal["macrs-5", "macrs-7", "straight-line", "first-year", "own"]
    life: int | None = Field(
        default=None, ge=1, le=60, title="Years of straight-line", description="years, of straight-line"
    )
    table: tuple[float, ...] | None = Field(
        default=None, min_length=1, max_length=60, title="Own shares of the cost deducted in years 1, 2, ..."
    )
    """Shares of the cost deducted in years 1, 2, ... of own depreciation; they add up to 1."""
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
        Quantity("rate", label="Escalation of cooling and maintenance", shown="%"),
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


class CapitalLine(Section):
    """One line of an option's capital: so many units at so much each."""

    item: str = Field(min_length=1, max_length=200, pattern=ONE_LINE)
    amount: Annotated[float, Quantity("money", label="Amount"), Field(ge=0)]
    count: int = Field(default=1, ge=1, le=1000)


class Replacement(Section):
    """Something bought again within the study period."""

    item: str = Field(min_length=1, max_length=200, pattern=ONE_LINE)
    every: Annotated[float, Quantity("ratio", label="Years between replacements"), Field(ge=1, le=50)]
    """Each falls to the nearest end of a year. [year]"""
    amount: Annotated[float, Quantity("money", label="Amount"), Field(ge=0)]


_BuiltFor = Annotated[
    float | None,
    Quantity("mass flow", label="Throughput the machine is built for", shown="kg/h"),
    Field(gt=0, le=10),
]


def _with_kind(given: Any, kind: Any) -> Any:
    """Inputs with the type that decides their schema."""
    return {**given, "kind": kind} if isinstance(given, dict) else given


class Machine(Section):
    """[[options.machines]]: the dryer of one hopper where it differs from the option's own."""

    hopper: str = Field(min_length=1, max_length=100, pattern=ONE_LINE)
    type: str
    inputs: AnyInputs = Field(discriminator="kind")
    built_for: _BuiltFor = None
    """None: the hopper's throughput. [kg/s]"""

    @model_validator(mode="before")
    @classmethod
    def _inputs_by_type(cls, given: Any) -> Any:
        if not isinstance(given, dict):
            return given
        return {**given, "inputs": _with_kind(given.get("inputs", {}), given.get("type"))}


class Central(Section):
    """[options.central]: what lies between one air system and its hoppers."""

    duct_length: Annotated[
        float, Quantity("length", label="Length of the supply ducts, and of the return ducts", shown="m"), Field(ge=0)
    ] = _typical("central_duct_length")
    duct_velocity: Annotated[
        float, Quantity("velocity", label="Air velocity in the ducts", shown="m/s"), Field(gt=0)
    ] = _typical("central_duct_velocity")
    duct_insulation: Annotated[
        float, Quantity("length", label="Insulation of the return ducts", shown="mm"), Field(ge=0)
    ] = _typical("central_duct_insulation")
    conveying_pressure: Annotated[
        float,
        Quantity("pressure difference", label="Pressure drop of conveying to the machines", shown="kPa"),
        Field(ge=0),
    ] = _typical("conveying_pressure")
    conveying_load: Annotated[float, Quantity("ratio", label="Resin per conveying air (kg/kg)"), Field(gt=0)] = (
        _typical("conveying_load")
    )
    conveying_efficiency: Annotated[
        float, Quantity("share", label="Conveying blower with motor", shown="%"), Field(gt=0, le=1)
    ] = _typical("conveying_efficiency")
    conveying_air_spent: Annotated[
        float, Quantity("share", label="Conveying air that is dry air lost", shown="%"), Field(ge=0, le=1)
    ] = _typical("conveying_air_spent")
    spare: Annotated[
        float, Quantity("share", label="Air system over the sum of its hoppers", shown="%"), Field(ge=0)
    ] = SI(0.0)


ARRANGEMENTS = ("at the machine", "portable", "central")


class Option(Section):
    """[[options]]"""

    name: str = Field(min_length=1, max_length=100, pattern=ONE_LINE)
    type: str
    arrangement: Literal["at the machine", "portable", "central"] = "at the machine"
    baseline: bool = False
    inputs: AnyInputs = Field(discriminator="kind")
    machines: tuple[Machine, ...] = Field(default=(), max_length=40)
    """Dryers at single hoppers that differ from the option's own."""
    units: int | None = Field(default=None, ge=1, le=100, title="Number of portable dryers")
    """Number of portable dryers."""
    central: Central | None = None
    capital: tuple[CapitalLine, ...] = ()
    capital_factor: Annotated[
        float, Quantity("ratio", label="Capital over the sum of its lines", shown="%"), Field(gt=0, le=10)
    ] = _typical("capital_factor")
    """What the project may come to over its quotes; its range is drawn in a simulation. [-]"""
    maintenance: Annotated[float, Quantity("money per year", label="Maintenance"), Field(ge=0)] = SI(0.0)
    replacements: tuple[Replacement, ...] = ()
    built_for: _BuiltFor = None
    """None: the hopper's throughput, of portable dryers the largest. [kg/s]"""
    incentive: Annotated[float, Quantity("money", label="Incentive"), Field(ge=0)] = SI(0.0)
    life: int | None = Field(default=None, ge=1, le=60, title="Years of service, for the value left at the end")

    @model_validator(mode="before")
    @classmethod
    def _inputs_by_type(cls, given: Any) -> Any:
        """The type decides the schema of the inputs; one sum instead of lines is one line."""
        if not isinstance(given, dict):
            return given
        filled = dict(given)
        if "capital" in filled and not isinstance(filled["capital"], (list, tuple)):
            filled["capital"] = [{"item": "Capital", "amount": filled["capital"]}]
        filled["inputs"] = _with_kind(filled.get("inputs", {}), filled.get("type"))
        if filled.get("arrangement") == "central" and filled.get("central") is None:
            filled["central"] = {}
        return filled

    @property
    def capital_total(self) -> float:
        """[money]"""
        return self.capital_factor * sum((line.amount * line.count for line in self.capital), start=0.0)


class Scenario(Section):
    """[[scenarios]]: changes that belong together, by the path that error messages print."""

    name: str = Field(min_length=1, max_length=100, pattern=ONE_LINE)
    changes: dict[str, Any] = Field(min_length=1, max_length=100)


class Step(Section):
    """[[request.schedule]]: one step of the work and how long it takes."""

    step: str = Field(min_length=1, max_length=200, pattern=ONE_LINE)
    weeks: float = Field(gt=0, le=520)


_Text = Annotated[str, Field(max_length=4000)]
_Line = Annotated[str, Field(max_length=200, pattern=ONE_LINE)]
_Date = Annotated[datetime.date, Field(strict=False)]


class VerificationPlan(Section):
    """[request.verification]: what replaces the plan's own sentences."""

    boundary: _Text = ""
    meters: _Text = ""
    baseline_period: _Text = ""
    variables: _Text = ""
    accuracy: _Text = ""
    success: _Text = ""
    responsible: _Text = ""
    review: _Text = ""


class Request(Section):
    """[request]: what a capital request needs and the engine cannot know; what is left out is said to be not stated."""

    title: _Line = ""
    prepared_by: _Line = ""
    department: _Line = ""
    date: _Date | None = None
    recommended: _Line = ""
    """An option by name; empty: the one of lowest life-cycle cost among the surest."""
    why_now: _Text = ""
    scope: _Text = ""
    boundary: _Text = ""
    risks: tuple[_Text, ...] = Field(default=(), max_length=40)
    non_energy: tuple[_Text, ...] = Field(default=(), max_length=40)
    incentive_status: _Text = ""
    schedule: tuple[Step, ...] = Field(default=(), max_length=40)
    downtime: _Text = ""
    estimate_class: _Line = ""
    contingency: Annotated[
        float, Quantity("share", label="Contingency over the capital", shown="%"), Field(ge=0, le=1)
    ] = SI(0.0)
    """Asked for on top of the capital; no part of the comparison. [-]"""
    quote_date: _Date | None = None
    verification: VerificationPlan = VerificationPlan()
    approvals: tuple[_Line, ...] = Field(default=(), max_length=12)
    """Roles that sign."""


class CaseFile(Section):
    """The whole file."""

    case: CaseInfo
    site: Site
    hoppers: tuple[Hopper, ...] = Field(min_length=1, max_length=40)
    calendar: Calendar
    tariffs: Tariffs
    compressed_air: CompressedAir | None = None
    plant_load: PlantLoad | None = None
    """None: the bills are those of the dryers alone."""
    cooling: CoolingPlant | None = None
    """What cools the dryers' water; None where the heat taken is priced by a tariff, or free."""
    building: Building | None = None
    """The hall around the dryers; None: what heat does to it is not counted."""
    finance: Finance
    own_tariffs: tuple[dict[str, Any], ...] = Field(default=(), max_length=8)
    """[[own_tariffs]]: tariffs in the case itself, each with the keys of a tariff file; [tariffs] takes one by its name."""
    request: Request = Request()
    options: tuple[Option, ...] = Field(min_length=1, max_length=20)
    readings: tuple[Readings, ...] = Field(default=(), max_length=40)
    """What was read at the baseline's dryers."""
    scenarios: tuple[Scenario, ...] = Field(default=(), max_length=20)
