"""What a case file may say. Its shape also makes the empty case, the form and the report's list of inputs."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import Field

from energy.equipment.building import Building
from energy.equipment.cooler import CoolingPlant
from energy.study.option_sections import Option
from energy.study.plant_sections import Calendar, Hopper, Site
from energy.study.price_sections import CompressedAir, Finance, PlantLoad, Tariffs
from energy.study.readings import Readings
from energy.study.request_section import Request
from energy.study.section import ONE_LINE, Section


class CaseInfo(Section):
    """[case]"""

    name: str = Field(min_length=1, max_length=200, pattern=ONE_LINE)
    currency: str = Field(pattern=r"^[A-Z]{3}$")
    units: Literal["si", "us"] = "si"
    year: int = Field(ge=1990, le=2100)
    note: str = Field(default="", max_length=2000)


class Scenario(Section):
    """[[scenarios]]: changes that belong together, by the path that error messages print."""

    name: str = Field(min_length=1, max_length=100, pattern=ONE_LINE)
    changes: dict[str, Any] = Field(min_length=1, max_length=100)


MOST_OWN_TARIFFS = 8


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
    own_tariffs: tuple[dict[str, Any], ...] = Field(default=(), max_length=MOST_OWN_TARIFFS)
    """[[own_tariffs]]: tariffs in the case itself, each with the keys of a tariff file; [tariffs] takes one by its name."""
    request: Request = Request()
    options: tuple[Option, ...] = Field(min_length=1, max_length=20)
    readings: tuple[Readings, ...] = Field(default=(), max_length=40)
    """What was read at the baseline's dryers."""
    scenarios: tuple[Scenario, ...] = Field(default=(), max_length=20)
