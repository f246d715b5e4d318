"""Desiccant wheel: a slowly turning honeycomb, regenerated without pause."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from energy.dryers import base, circuit_inputs, closed_loop
from energy.dryers.hopper_line import Line

KIND = "desiccant-wheel"
LABEL = "desiccant wheel"


class Inputs(circuit_inputs.Inputs):
    """Inputs of a desiccant-wheel dryer."""

    kind: Literal["desiccant-wheel"] = "desiccant-wheel"


@dataclass(frozen=True, slots=True)
class Dryer:
    """A desiccant-wheel dryer."""

    inputs: Inputs

    def run(self, duty: base.Duty, line: Line | None = None) -> base.Operation:
        """Steady operation on that duty."""
        return closed_loop.run(self.inputs, duty, line)
