"""Inputs of a closed desiccant circuit, shared by the three desiccant types.

The types differ in these only: mass and metal of the beds, cycle, temperatures, how heat is kept or thrown away.
No type carries an efficiency of its own that is not one of them.
"""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from energy.dryers import base
from energy.units import Quantity


class Inputs(base.BlowerInputs):
    """Inputs of a closed desiccant circuit."""

    leak_share: Annotated[float, Quantity("share", label="Hall air leaking in", shown="%"), Field(ge=0, le=0.2)]
    adsorption_limit: Annotated[
        float,
        Quantity("temperature", label="Highest air temperature into the desiccant", shown="degC"),
        Field(gt=283, lt=373),
    ]
    cooler: Literal["water", "hall air"]
    """What takes the heat of the aftercooler; hall air keeps it in the hall and costs a fan."""
    cooler_approach: Annotated[
        float, Quantity("temperature difference", label="Aftercooler approach", shown="K"), Field(ge=0)
    ]
    """Coldest air out of the cooler over the water, or the hall air, into it. [K]"""
    cooler_fan_share: Annotated[
        float,
        Quantity("share", label="Fan electricity per heat of a hall-air cooler", shown="%"),
        Field(ge=0, le=0.5),
    ]
    """[-]"""
    desiccant: Literal["13x", "5a"] = "13x"
    desiccant_mass: Annotated[
        float | None,
        Quantity("mass", label="Desiccant in each dryer, all its beds together", shown="kg"),
        Field(ge=0.01, le=100_000),
    ] = None
    """As it is filled in, whatever the duty: of dryers at the machine and of portable ones in each, of a central system in the
    whole of it. None: beds are sized for the duty. [kg]"""
    regeneration_temperature: Annotated[
        float,
        Quantity("temperature", label="Regeneration temperature", shown="degC"),
        Field(ge=393.15, le=573.15),
    ]
    regeneration_control: Literal["timer", "dew point"]
    dew_point_set_point: Annotated[
        float | None,
        Quantity("temperature", label="Dew point at which a bed is changed", shown="degC"),
        Field(gt=193, lt=283),
    ] = None
    """With regeneration ended by dew point; None: a bed is changed before its outlet rises. [K]"""
    regeneration_heat_source: base.HeatSource = "electric"
    cycle_time: Annotated[
        float, Quantity("time", label="Adsorption time of a bed, or one revolution", shown="h"), Field(gt=0)
    ]
    beds: Annotated[float, Quantity("ratio", label="Beds"), Field(ge=1)]
    heating_share: Annotated[float, Quantity("share", label="Share of the cycle heating", shown="%"), Field(gt=0, le=1)]
    cooling_share: Annotated[float, Quantity("share", label="Share of the cycle cooling", shown="%"), Field(ge=0, le=1)]
    bed_use: Annotated[
        float, Quantity("share", label="Share of the equilibrium swing used", shown="%"), Field(gt=0, le=1)
    ]
    inert_ratio: Annotated[float, Quantity("ratio", label="Metal or carrier heated per desiccant (kg/kg)"), Field(ge=0)]
    inert_specific_heat: Annotated[
        float,
        Quantity("specific heat", label="Heat capacity of metal or carrier", shown="kJ/(kg K)"),
        Field(gt=0),
    ]
    exhaust_share: Annotated[
        float,
        Quantity("share", label="Regeneration heat leaving with the exhaust", shown="%"),
        Field(ge=0, le=0.8),
    ]
    casing_share: Annotated[
        float,
        Quantity("share", label="Regeneration heat lost through casing and ducts", shown="%"),
        Field(ge=0, le=0.5),
    ]
    purge_recovery: Annotated[
        float, Quantity("share", label="Desiccant heat recovered by the purge", shown="%"), Field(ge=0, lt=1)
    ]
    carry_over_share: Annotated[
        float,
        Quantity("share", label="Desiccant heat carried into the process air", shown="%"),
        Field(ge=0, le=1),
    ]
    dew_point_approach: Annotated[
        float, Quantity("temperature difference", label="Dew point above equilibrium", shown="K"), Field(ge=0)
    ]
    design_hall_dew_point: Annotated[
        float,
        Quantity("temperature", label="Hall dew point the beds are sized for", shown="degC"),
        Field(gt=250, lt=310),
    ]
    desiccant_pressure: Annotated[
        float,
        Quantity("pressure difference", label="Pressure drop of the desiccant", shown="kPa"),
        Field(ge=0),
    ]
    regeneration_pressure: Annotated[
        float,
        Quantity("pressure difference", label="Pressure rise of the regeneration blower", shown="kPa"),
        Field(ge=0),
    ]
    return_recovery: Annotated[
        float,
        Quantity("share", label="Heat recovered from the return air, effectiveness", shown="%"),
        Field(ge=0, le=0.9),
    ]
    regeneration_recovery: Annotated[
        float, Quantity("share", label="Exhaust heat returned to the regeneration air", shown="%"), Field(ge=0, le=0.9)
    ]
    regeneration_blower_efficiency: Annotated[
        float, Quantity("share", label="Regeneration blower efficiency", shown="%"), Field(gt=0, le=1)
    ]

    @model_validator(mode="after")
    def _set_point_needs_its_control(self) -> Self:
        if self.dew_point_set_point is not None and self.regeneration_control != "dew point":
            raise ValueError(
                "a dew_point_set_point needs regeneration_control = 'dew point'; a timer does not look at it"
            )
        return self
