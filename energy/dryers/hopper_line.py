"""A hopper with its air, as it is built and as it is run; of several dryers in a few calls."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from energy.dryers.base import Duty, Inputs
from energy.dryers.hopper_sizing import Geometry, Shell, ShellLoss, design_ratios, geometry, shell_losses
from energy.dryers.process_control import Setting, settings


@dataclass(frozen=True, slots=True)
class Line:
    """One hopper with its air."""

    duty: Duty
    built: Geometry
    run: Setting
    loss: ShellLoss


def line_of(inputs: Inputs, duty: Duty) -> Line:
    """The hopper of one dryer."""
    return lines_of([(inputs, duty)])[0]


def lines_of(dryers: Sequence[tuple[Inputs, Duty]]) -> list[Line]:
    """The hoppers of several dryers, or those of one that serves several.

    Raises
    ------
    ModelError
        One of them cannot be built or run so.
    """
    hoppers = [
        (inputs, duty, geometry(inputs, inputs.vessel(duty), ratio))
        for (inputs, duty), ratio in zip(dryers, design_ratios(dryers), strict=True)
    ]
    runs = settings(hoppers)
    losses = shell_losses([Shell(*hopper, run.temperature) for hopper, run in zip(hoppers, runs, strict=True)])
    return [Line(duty, built, run, loss) for (_, duty, built), run, loss in zip(hoppers, runs, losses, strict=True)]
