"""Hot air: air of the hall or from outdoors, blown, heated, sent through the hopper once. It can be no drier than it comes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar, Literal

import numpy as np
from pydantic import Field

from energy.air import moist, water_vapour
from energy.dryers import base, heater_and_blower, open_loop, pellet_bed
from energy.dryers.hopper_line import Line, line_of
from energy.equipment import blower
from energy.units import Quantity

KIND = "hot-air"
LABEL = "hot air"


class Inputs(base.BlowerInputs):
    """Inputs of a hot-air dryer."""

    DRIES_AIR: ClassVar[bool] = False

    kind: Literal["hot-air"] = "hot-air"
    intake: Literal["hall", "outdoors"] = Field(default="hall", title="Air taken from")
    exhaust_recovery: Annotated[
        float, Quantity("share", label="Heat recovered from the exhaust, effectiveness", shown="%"), Field(ge=0, le=0.9)
    ]


@dataclass(frozen=True, slots=True)
class Dryer:
    """A hot-air dryer."""

    inputs: Inputs

    def run(self, duty: base.Duty, line: Line | None = None) -> base.Operation:
        """Steady operation on that duty."""
        inputs = self.inputs
        line = line or line_of(inputs, duty)
        built, run = line.built, line.run
        taken, dew_point, humidity = _intake(inputs, duty)
        beds = pellet_bed.bed_pressure_drops(duty, built, run.air_flow, built.air_flow)
        rise = heater_and_blower.blower_work(inputs, run, beds[0], beds[1], inputs.circuit_pressure)
        specific = moist.specific_volume(taken, humidity, duty.pressure)
        volume = run.air_flow * specific
        shaft = blower.shaft_power(volume, rise, duty.pressure, inputs.blower_efficiency)
        design = blower.shaft_power(
            built.air_flow * specific, beds[1] + inputs.circuit_pressure, duty.pressure, inputs.blower_efficiency
        )
        electric, rated = heater_and_blower.motor_input(inputs, shaft, design)
        return open_loop.once_through(
            inputs,
            line,
            taken=None if inputs.intake == "hall" else taken,
            humidity=humidity,
            dew_point=dew_point,
            shaft=shaft,
            energy={("process blower", "electricity"): electric},
            heat_in={"process blower": electric},
            heat_out={"motor and drive losses": electric - shaft},
            sizing={
                "airflow": built.air_flow * specific,
                "blower": rated,
                "compressed_air": 0.0 * shaft,
                "desiccant": 0.0 * shaft,
            },
            details={"pressure_rise": rise},
            hall_air=run.air_flow if inputs.intake == "hall" else None,
            effectiveness=inputs.exhaust_recovery,
        )


def _intake(inputs: Inputs, duty: base.Duty) -> tuple[base.Array, base.Array, base.Array]:
    """Temperature [K], dew point [K] and humidity [kg/kg] of the air taken in."""
    if inputs.intake == "hall" or duty.outdoor_temperature is None:
        return np.asarray(duty.hall_temperature), np.asarray(duty.hall_dew_point), np.asarray(duty.hall_humidity)
    dew_point = duty.outdoor_dew_point
    assert dew_point is not None
    return duty.outdoor_temperature, dew_point, np.asarray(water_vapour.humidity_ratio(dew_point, duty.pressure))
