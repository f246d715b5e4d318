"""Compressed air with a membrane that lowers the pressure dew point at the price of sweep air."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar, Literal

import numpy as np
from pydantic import Field

from energy.air import saturation
from energy.dryers import base, compressed_air
from energy.dryers.hopper_line import Line, line_of
from energy.equipment import membrane
from energy.errors import ModelError
from energy.units import Quantity

KIND = "compressed-air-membrane"
LABEL = "compressed air with membrane"


class Inputs(base.Inputs):
    """Inputs of a compressed-air dryer with a membrane."""

    AIR_IS_DEAR: ClassVar[bool] = True

    kind: Literal["compressed-air-membrane"] = "compressed-air-membrane"
    membrane_dew_point: Annotated[
        float,
        Quantity("temperature", label="Pressure dew point after the membrane", shown="degC"),
        Field(gt=173.15),
    ]
    sweep_over_least: Annotated[float, Quantity("ratio", label="Sweep over its physical minimum"), Field(ge=1)]
    sweep_share: Annotated[
        float | None, Quantity("share", label="Sweep share of the feed", shown="%"), Field(gt=0, lt=1)
    ] = None
    """None: the physical minimum times ``sweep_over_least``. [-]"""


@dataclass(frozen=True, slots=True)
class Dryer:
    """A compressed-air dryer with a membrane."""

    inputs: Inputs

    def run(self, duty: base.Duty, line: Line | None = None) -> base.Operation:
        """Steady operation on that duty.

        Raises
        ------
        ModelError
            A sweep share below the physical minimum, or one that leaves no air.
        """
        inputs, supply = self.inputs, duty.compressed_air
        # A membrane cannot wet the air: with a supply already drier than its outlet it passes the air on.
        outlet = np.minimum(inputs.membrane_dew_point, supply.pressure_dew_point)
        least = membrane.least_sweep_share(
            supply.pressure,
            duty.pressure,
            saturation.saturation_pressure(supply.pressure_dew_point),
            saturation.saturation_pressure(outlet),
        )
        sweep = np.asarray(
            inputs.sweep_over_least * least if inputs.sweep_share is None else inputs.sweep_share + 0.0 * least
        )
        if np.any(sweep < least):
            raise ModelError(
                f"a sweep of {100 * float(np.min(sweep)):.3g} % is below the physical minimum of "
                f"{100 * float(np.max(least)):.3g} % at this pressure and dew point"
            )
        if np.any(sweep >= 1.0):
            raise ModelError(
                f"the membrane would spend {100 * float(np.max(sweep)):.3g} % of its feed as sweep, "
                "which leaves no air; raise the pressure or the dew point after the membrane"
            )
        line = line or line_of(inputs, duty)
        return compressed_air.expand(inputs, line, outlet, sweep, {"sweep_share": sweep, "least_sweep_share": least})
