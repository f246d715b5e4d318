"""Compressed air: expanded plant air, heated, sent through the hopper once. Expansion makes it dry."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

import numpy as np

from energy.air import compression, water_vapour
from energy.dryers import base, open_loop
from energy.dryers.hopper_line import Line, line_of
from energy.equipment import compressor

KIND = "compressed-air"
LABEL = "compressed air"


class Inputs(base.Inputs):
    """Inputs of a compressed-air dryer."""

    AIR_IS_DEAR: ClassVar[bool] = True

    kind: Literal["compressed-air"] = "compressed-air"


@dataclass(frozen=True, slots=True)
class Dryer:
    """A compressed-air dryer."""

    inputs: Inputs

    def run(self, duty: base.Duty, line: Line | None = None) -> base.Operation:
        """Steady operation on that duty."""
        line = line or line_of(self.inputs, duty)
        return expand(self.inputs, line, duty.compressed_air.pressure_dew_point, np.zeros(()), {})


def expand(
    inputs: base.Inputs,
    line: Line,
    pressure_dew_point: base.Array,
    spent_share: base.Array,
    details: dict[str, base.Array],
) -> base.Operation:
    """Operation on air expanded from a pressure dew point, with a share of the feed spent before it.

    The expanded air is taken at hall temperature: throttling does not cool an ideal gas, and the pipe runs through the
    hall. All the compressor's electricity ends as heat in the compressor house, since the expanded air leaves with no
    more enthalpy than hall air.
    """
    supply, run = line.duty.compressed_air, line.run
    # Shaped like the duty: the same air in every period.
    humidity = compression.expanded_humidity_ratio(pressure_dew_point, supply.pressure) + 0.0 * run.air_flow
    feed = run.air_flow / (1.0 - spent_share)
    free_air = compressor.free_air_flow(feed / (1.0 - supply.line_leak_share))
    electric = free_air * supply.marginal_power
    nothing = np.zeros_like(electric)
    return open_loop.once_through(
        inputs,
        line,
        humidity=humidity,
        dew_point=water_vapour.dew_point(humidity, line.duty.pressure),
        shaft=nothing,
        energy={("compressed air", "compressed air"): electric},
        heat_in={"compressor electricity": electric},
        heat_out={"compressor house": electric},
        sizing={
            "airflow": free_air / run.share,
            "blower": nothing,
            "compressed_air": free_air / run.share,
            "desiccant": nothing,
        },
        details={"free_air": free_air, "pressure_dew_point": np.asarray(pressure_dew_point, float), **details},
    )
