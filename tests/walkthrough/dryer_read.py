"""A dryer of the model, changed as wished, and what a visitor with instruments would read at it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from cases import PRESENT, case

from energy.air import water_vapour
from energy.dryers.base import Duty, Inputs, Operation
from energy.sources import load
from energy.study.at_work import operate
from energy.study.case import Case
from energy.study.readings import Readings
from energy.units import SI
from energy.walkthrough.found import Found, find, power_of, usual
from energy.walkthrough.quantities import before_heater

HOPPER = "Machine 7"
AIR = ("throughput", "process_temperature", "return_temperature", "hall_temperature", "dew_point", "air_flow")
FULL = (*AIR, "heater_inlet_temperature", "regeneration_temperature", "regeneration_cycle", "blower_pressure")


def shop(**inputs: object) -> Case:
    """One polycarbonate machine at its full load, with typical inputs but for these."""
    place = f"options['{PRESENT}']"
    return case(PRESENT, changes={f"{place}.inputs": inputs, f"{place}.built_for": None})


@dataclass(frozen=True)
class There:
    """What stands there in truth."""

    inputs: Inputs
    duty: Duty
    operation: Operation
    found: Found

    @property
    def specific_energy(self) -> float:
        return power_of(self.operation) / float(self.duty.throughput[0])

    def values(self) -> dict[str, float]:
        """Everything that can be read, without error."""
        op, duty, inputs = self.operation, self.duty, self.inputs
        own = replace(self.found, inputs_found=inputs, machine=replace(self.found.machine, inputs=inputs))
        state = op.hopper
        back = state.return_humidity + inputs.leak_share * (duty.hall_humidity - state.return_humidity)
        water, swing = op.details["water_adsorbed"], op.details["swing"]
        return {
            "throughput": duty.throughput[0],
            "process_temperature": duty.drying_temperature[0],
            "return_temperature": state.return_temperature[0],
            "hall_temperature": duty.hall_temperature[0],
            "dew_point": op.delivered_dew_point[0],
            "return_dew_point": water_vapour.dew_point(back, duty.pressure)[0],
            "heater_inlet_temperature": before_heater(own, op, duty),
            "desiccant_inlet_temperature": op.details["adsorption_temperature"][0],
            "air_flow": op.air_flow[0],
            "shell_temperature": op.shell_temperature[0],
            "blower_pressure": op.details["pressure_rise"][0],
            "regeneration_temperature": inputs.regeneration_temperature,
            "regeneration_cycle": (op.sizing["desiccant"] / inputs.beds * swing / water)[0],
            "regeneration_power": op.energy["regeneration", "electricity"][0],
            "power": power_of(op),
        }

    def read(self, names=FULL, noise: np.random.Generator | None = None, **other: object) -> Readings:
        """Readings of these, each off by up to its instrument's accuracy where there is noise."""
        values, taken = self.values(), {}
        for name in names:
            half = usual(name)
            if load("instruments")[name].kind != "temperature difference":
                half *= values[name]
            taken[name] = SI(values[name] + (0.0 if noise is None else noise.uniform(-half, half)))
        return Readings(hopper=HOPPER, **{**taken, **other})


def there(at: Case, inputs: dict | None = None, **duty: object) -> There:
    """The case's dryer in truth, with other inputs and another duty than the case says."""
    found = find(at, Readings(hopper=HOPPER))
    own = found.machine.inputs.model_copy(update=inputs or {})
    of = replace(found.duty, **{name: np.array([float(v)]) for name, v in duty.items()})
    return There(own, of, operate(replace(found.machine, inputs=own), (of,)), found)
