"""Desiccant, twin tower: two big beds, one drying while the other is heated and cooled."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from energy.dryers import base, circuit_inputs, closed_loop
from energy.dryers.hopper_line import Line

KIND = "desiccant-twin-tower"
LABEL = "desiccant, twin tower"


class Inputs(circuit_inputs.Inputs):
    """Inputs of a twin-tower desiccant dryer."""

    kind: Literal["desiccant-twin-tower"] = "desiccant-twin-tower"


@dataclass(frozen=True, slots=True)
class Dryer:
    """A twin-tower desiccant dryer."""

    inputs: Inputs

    def run(self, duty: base.Duty, line: Line | None = None) -> base.Operation:
        """Steady operation on that duty."""
        return closed_loop.run(self.inputs, duty, line)
