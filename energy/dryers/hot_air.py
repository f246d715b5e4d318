"""Hot air: hall air, blown, heated, sent through the hopper once. It can be no drier than the hall."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from energy.air import moist
from energy.dryers import base, open_loop
from energy.equipment import blower

KIND = "hot-air"
LABEL = "hot air"


class Inputs(base.BlowerInputs):
    """Inputs of a hot-air dryer."""

    kind: Literal["hot-air"] = "hot-air"


@dataclass(frozen=True, slots=True)
class Dryer:
    """A hot-air dryer."""

    inputs: Inputs

    def run(self, duty: base.Duty) -> base.Operation:
        """Steady operation on that duty."""
        inputs, built = self.inputs, base.geometry(self.inputs, duty, base.design_ratio(self.inputs, duty))
        humidity = np.asarray(duty.hall_humidity)
        rise = base.bed_pressure_drop(duty, built) + inputs.circuit_pressure
        volume = built.air_flow * moist.specific_volume(duty.hall_temperature, humidity, duty.pressure)
        shaft = blower.shaft_power(volume, rise, duty.pressure, inputs.blower_efficiency)
        electric, rated = base.motor_input(shaft, inputs.motor_class, inputs.drive_efficiency)
        return open_loop.once_through(
            inputs,
            duty,
            built,
            humidity=humidity,
            shaft=shaft,
            energy={("process blower", "electricity"): electric},
            heat_in={"process blower": electric},
            heat_out={"motor and drive losses": electric - shaft},
            sizing={
                "airflow": volume,
                "blower": rated,
                "compressed_air": 0.0 * shaft,
                "desiccant": 0.0 * shaft,
            },
            details={"pressure_rise": rise},
        )
