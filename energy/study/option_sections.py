"""What a case file says of options: machines, arrangement, capital."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any, Literal, TypeAlias, Union

import numpy as np
from pydantic import Field, model_validator

from energy import dryers
from energy.dryers import base
from energy.study.section import ONE_LINE, Section, typical
from energy.units import SI, Quantity

if TYPE_CHECKING:
    AnyInputs: TypeAlias = base.Inputs
else:
    AnyInputs = Union[tuple(module.Inputs for module in dryers.TYPES.values())]  # noqa: UP007 - built from the list of types


Part: TypeAlias = Literal["equipment", "installation", "engineering", "contingency"]


class CapitalLine(Section):
    """One line of an option's capital: so many units at so much each."""

    item: str = Field(min_length=1, max_length=200, pattern=ONE_LINE)
    amount: Annotated[float, Quantity("money", label="Amount"), Field(ge=0)]
    count: int = Field(default=1, ge=1, le=1000)
    quotation: str = Field(default="", max_length=200, pattern=ONE_LINE, title="Quotation, with its number and date")
    """A line that has one counts as quoted."""
    part: Part = Field(default="equipment", title="What it pays for")
    """Only equipment has a value left at the end of the study."""


class Replacement(Section):
    """Something bought again within the study period."""

    item: str = Field(min_length=1, max_length=200, pattern=ONE_LINE)
    every: Annotated[float, Quantity("ratio", label="Years between replacements"), Field(ge=1, le=50)]
    """Each falls to the nearest end of a year. [year]"""
    next_due: Annotated[
        float | None, Quantity("ratio", label="Years from now until the next one is due"), Field(ge=0, le=60)
    ] = None
    """None: an interval from now, as after one just done. One that is overdue falls to the end of year 1. [year]"""
    amount: Annotated[float, Quantity("money", label="Amount"), Field(ge=0)]


_BuiltFor = Annotated[
    float | None,
    Quantity("mass flow", label="Throughput the machine is built for", shown="kg/h"),
    Field(gt=0, le=10),
]


_Airflow = Annotated[
    float | None,
    Quantity("gas flow", label="Process air, as nameplate or quotation say", shown="m3/h at 20 degC"),
    Field(gt=0, le=100),
]


FURTHEST = (0.3, 3.0)
"""What a meter may say over the model: beyond it is no calibration but a fault of one of them, by judgement. [-]"""
_MeteredOverModel = Annotated[
    float, Quantity("ratio", label="Metered energy over what the model counts"), Field(ge=FURTHEST[0], le=FURTHEST[1])
]


DEW_POINTS = (173.15, 298.15)
"""What the air of a present dryer may have: from the driest that the equations of moist air go to, up to what no air made dry
reaches, by judgement. [K]"""
_DeliveredDewPoint = Annotated[
    float | None,
    Quantity("temperature", label="Dew point of the air into the hopper", shown="degC"),
    Field(ge=DEW_POINTS[0], le=DEW_POINTS[1]),
]


OF_PRESENT = ("metered_over_model", "delivered_dew_point")
"""Keys of what was read at a present dryer."""
OF_DRYER = ("built_for", "hopper_volume", "airflow", *OF_PRESENT)
"""Keys of an option that a dryer of its own at a hopper may have, too."""
SIZES = ("built_for", "hopper_volume", "airflow")
"""Those of them that say how big it is."""
KEPT = "as counted before the duty was changed; the nameplate says it better"
"""Note of a size that was kept with a present dryer and not typed; it goes when the old duty is back or a value is typed."""


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
    hopper_volume: Annotated[
        float | None, Quantity("volume", label="Volume of the hopper that is there"), Field(gt=0, le=1000)
    ] = None
    """None: big enough for the residence time asked. [m3]"""
    airflow: _Airflow = None
    """Dry air to the hopper. None: by the air per resin among the inputs. [kg/s]"""
    metered_over_model: _MeteredOverModel = SI(1.0)
    """Of the electricity and fuel of a present dryer, on one duty. [-]"""
    delivered_dew_point: _DeliveredDewPoint = None
    """As read at a present dryer. None: what the model expects. It decides what dries and no energy. [K]"""

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
    ] = typical("central_duct_length")
    duct_velocity: Annotated[
        float, Quantity("velocity", label="Air velocity in the ducts", shown="m/s"), Field(gt=0)
    ] = typical("central_duct_velocity")
    duct_insulation: Annotated[
        float, Quantity("length", label="Insulation of the return ducts", shown="mm"), Field(ge=0)
    ] = typical("central_duct_insulation")
    conveying_pressure: Annotated[
        float,
        Quantity("pressure difference", label="Pressure drop of conveying to the machines", shown="kPa"),
        Field(ge=0),
    ] = typical("conveying_pressure")
    conveying_load: Annotated[float, Quantity("ratio", label="Resin per conveying air (kg/kg)"), Field(gt=0)] = typical(
        "conveying_load"
    )
    conveying_efficiency: Annotated[
        float, Quantity("share", label="Conveying blower with motor", shown="%"), Field(gt=0, le=1)
    ] = typical("conveying_efficiency")
    conveying_air_spent: Annotated[
        float, Quantity("share", label="Conveying air that is dry air lost", shown="%"), Field(ge=0, le=1)
    ] = typical("conveying_air_spent")
    spare: Annotated[
        float, Quantity("share", label="Air system over the sum of its hoppers", shown="%"), Field(ge=0)
    ] = SI(0.0)


ARRANGEMENTS = ("at the machine", "portable", "central")


class Option(Section):
    """[[options]]"""

    name: str = Field(min_length=1, max_length=100, pattern=ONE_LINE)
    type: str
    arrangement: Literal["at the machine", "portable", "central"] = "at the machine"
    baseline: bool = Field(default=False, strict=True)
    retrofit: bool = Field(default=False, strict=True, title="Retrofit: the present dryers with what is changed here")
    """All that it does not say is that of the present dryers, and they keep their air and their desiccant."""
    inputs: AnyInputs = Field(discriminator="kind")
    machines: tuple[Machine, ...] = Field(default=(), max_length=40)
    """Dryers at single hoppers that differ from the option's own; beside a central system or portable dryers for the others."""
    units: int | None = Field(default=None, ge=1, le=100, title="Number of portable dryers")
    """Number of portable dryers."""
    central: Central | None = None
    capital: tuple[CapitalLine, ...] = ()
    capital_factor: Annotated[
        float, Quantity("ratio", label="Capital over the sum of its lines", shown="%"), Field(gt=0, le=10)
    ] = typical("capital_factor")
    """What the project may come to over its quotes; its range is drawn in a simulation. [-]"""
    capital_for: Annotated[
        float | None,
        Quantity("mass flow", label="Throughput the capital is quoted for, all hoppers together", shown="kg/h"),
        Field(gt=0, le=100),
    ] = None
    """None: that of the case. [kg/s]"""
    maintenance: Annotated[float, Quantity("money per year", label="Maintenance"), Field(ge=0)] = SI(0.0)
    replacements: tuple[Replacement, ...] = ()
    built_for: _BuiltFor = None
    """None: the hopper's throughput, of portable dryers the largest. [kg/s]"""
    hopper_volume: Annotated[
        float | None, Quantity("volume", label="Volume of each hopper that is there"), Field(gt=0, le=1000)
    ] = None
    """Of each hopper. None: big enough for the residence time asked. [m3]"""
    airflow: _Airflow = None
    """Dry air to each hopper. None: by the air per resin among the inputs. [kg/s]"""
    metered_over_model: _MeteredOverModel = SI(1.0)
    """Of the electricity and fuel of the present dryers, on one duty; compressed air is not on their meter. [-]"""
    delivered_dew_point: _DeliveredDewPoint = None
    """As read at the present dryers. None: what the model expects. It decides what dries and no energy. [K]"""
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
    def upkeep_given(self) -> bool:
        """Is maintenance stated, be it nothing?"""
        return "maintenance" in self.model_fields_set

    @property
    def capital_total(self) -> float:
        """[money]"""
        return self.capital_factor * self._sum_of(self.capital)

    @property
    def equipment_share(self) -> Any:
        """Share of the capital that pays for equipment; all of it where no line is another part. [-]"""
        equipment = tuple(line for line in self.capital if line.part == "equipment")
        if len(equipment) == len(self.capital):
            return 1.0
        whole = np.asarray(self._sum_of(self.capital), dtype=float)
        return np.where(whole > 0.0, self._sum_of(equipment) / np.where(whole > 0.0, whole, 1.0), 1.0)

    @staticmethod
    def _sum_of(lines: tuple[CapitalLine, ...]) -> float:
        return sum((line.amount * line.count for line in lines), start=0.0)
