"""Desiccant, rotating beds: several smaller beds indexed through the air paths."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from energy.dryers import base, circuit_inputs, closed_loop
from energy.dryers.hopper_line import Line

KIND = "desiccant-rotating-beds"
LABEL = "desiccant, rotating beds"


class Inputs(circuit_inputs.Inputs):
    """Inputs of a desiccant dryer with rotating beds."""

    kind: Literal["desiccant-rotating-beds"] = "desiccant-rotating-beds"


@dataclass(frozen=True, slots=True)
class Dryer:
    """A desiccant dryer with rotating beds."""

    inputs: Inputs

    def run(self, duty: base.Duty, line: Line | None = None) -> base.Operation:
        """Steady operation on that duty."""
        return closed_loop.run(self.inputs, duty, line)
