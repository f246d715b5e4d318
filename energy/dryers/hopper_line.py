"""A hopper with its air, as it is built and as it is run; of several dryers in a few calls."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from energy.dryers.base import Duty, Inputs
from energy.dryers.hopper_sizing import Geometry, Shell, ShellLoss, design_ratios, geometry, shell_losses
from energy.dryers.process_control import Setting, setting


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
    shells, runs = [], []
    for (inputs, duty), ratio in zip(dryers, design_ratios(dryers), strict=True):
        built = geometry(inputs, inputs.vessel(duty), ratio)
        run = setting(inputs, duty, built)
        runs.append(run)
        shells.append(Shell(inputs, duty, built, run.temperature))
    return [
        Line(of.duty, of.built, run, loss) for of, run, loss in zip(shells, runs, shell_losses(shells), strict=True)
    ]
