"""A machine at work on the duties of its hoppers, brought to the dew point and to the meter that were read."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from energy import dryers
from energy.dryers import circuit_inputs, closed_loop
from energy.dryers.base import BEYOND_MODEL, EXPECTED_DEW_POINT, Array, Duty, Operation
from energy.dryers.hopper_line import Line
from energy.errors import ModelError
from energy.study.machines import Machine

COOLER = "aftercooler"
"""Heat to cooling water in a dryer's heat balance."""
REGENERATOR, LEAVES_REGENERATION = "regeneration heater", ("regeneration exhaust", "regeneration casing")
"""Heat into regeneration, and what of it leaves without water, in a dryer's heat balance."""
METERED = ("electricity", "gas")
"""Carriers that pass a dryer's own meters."""


def operate(
    machine: Machine,
    duties: Sequence[Duty],
    on: NDArray[np.bool_] | None = None,
    lines: Sequence[Line] | None = None,
) -> Operation:
    """A machine at work on duties of its hoppers.

    Parameters
    ----------
    machine : Machine
    duties : sequence of Duty
        One for each of its hoppers.
    on : ndarray of bool, shape (states, hoppers), optional
        Which hoppers of a central system take air in each state.
    lines : sequence of Line, optional
        Its hoppers with their air where those are known already.

    Raises
    ------
    ModelError
        Inputs that do not fit together, so that a power comes out negative or pellets leave colder than they came.
    """
    if machine.ducts is None:
        operation: Operation = (
            dryers.TYPES[machine.type].Dryer(machine.inputs).run(duties[0], lines[0] if lines else None)
        )
    else:
        assert isinstance(machine.inputs, circuit_inputs.Inputs)
        operation = closed_loop.run_circuit(machine.inputs, duties, machine.ducts, on, lines)
    for (use, carrier), power in operation.energy.items():
        if (power < 0.0).any():
            raise ModelError(
                f"the {carrier} for {use} comes out negative; its shares and efficiencies do not fit together",
                power < 0.0,
            )
    for i, (duty, state) in enumerate(zip(duties, operation.hoppers, strict=True)):
        colder = state.resin_outlet_temperature < duty.resin_temperature
        if on is not None and not on[:, i].all():
            colder = colder & on[:, i, None]
        if colder.any():
            raise ModelError(
                "the pellets would leave colder than they came; the shell and ducts lose more than the air brings",
                colder,
            )
    if (np.asarray(machine.regenerated) != 1.0).any():
        operation = _as_regenerated(operation, machine.regenerated)
    if machine.delivered_dew_point is not None:
        operation = _as_delivered(operation, machine.delivered_dew_point)
    return operation if (np.asarray(machine.metered) == 1.0).all() else _as_metered(operation, machine.metered)


def _as_delivered(operation: Operation, dew_point: Array | float) -> Operation:
    """The operation with the dew point that was read of the air into the hoppers, in every state; what the model expects is kept beside it.

    It decides what the resin can dry to, and no energy. What makes air damp takes more heat (a leak), less (regeneration
    too cool) or as much as before (spent desiccant), the reading does not tell which, and what of it there is stands on the
    dryer's meter already (`_as_metered`); what damper air changes of the heat of the air itself is some parts in a thousand.
    """
    expected = operation.delivered_dew_point
    return replace(
        operation,
        delivered_dew_point=dew_point + 0.0 * expected,
        details={**operation.details, EXPECTED_DEW_POINT: expected},
    )


def _as_regenerated(operation: Operation, ratio: Array | float) -> Operation:
    """The operation with the heat of regeneration that was found, its air as it is.

    Air that is heated less leaves less heat in exhaust and casing, and drives out less water.
    """

    def found(table: Mapping[tuple[str, str], Array]) -> dict[tuple[str, str], Array]:
        return {key: value * ratio if key[0] == "regeneration" else value for key, value in table.items()}

    heat_in, heat_out = dict(operation.heat_in), dict(operation.heat_out)
    if REGENERATOR in heat_in:
        less = {name: heat_out[name] * (1.0 - ratio) for name in LEAVES_REGENERATION}
        spared = heat_in[REGENERATOR] * (1.0 - ratio)
        heat_in[REGENERATOR] = heat_in[REGENERATOR] - spared
        heat_out |= {name: heat_out[name] - heat for name, heat in less.items()}
        heat_out["evaporated water"] = heat_out["evaporated water"] - (spared - sum(less.values()))
    return replace(
        operation, energy=found(operation.energy), peak=found(operation.peak), heat_in=heat_in, heat_out=heat_out
    )


def _as_metered(operation: Operation, ratio: Array | float) -> Operation:
    """The operation with its electricity and fuel as a meter says.

    What is beyond the model is an end use of its own, since nobody knows the part that takes it; it adds its mean power
    to the peak, and its heat stays in the hall. A meter that shows less takes from every end use alike. Starts from cold
    stay as modelled: the meter was read in production. Compressed air and cooling water are not on a dryer's meter; but the
    cooler hands over no more than what the meter shows and the resin and its water leave, where that is less than modelled.

    Source
    ------
    A model brought to a meter before savings are told from it: calibrated simulation, option D of the International
    Performance Measurement and Verification Protocol, and ASHRAE Guideline 14 (from memory).
    """
    less, more = np.minimum(ratio, 1.0), np.maximum(ratio, 1.0) - 1.0
    cooled = _left_to_cool(operation, less)

    def metered(table: Mapping[tuple[str, str], Array]) -> dict[tuple[str, str], Array]:
        found = {key: value * less if key[1] in METERED else value for key, value in table.items()}
        found |= {key: value * cooled for key, value in table.items() if key[1] == "cooling"}
        if np.any(more > 0.0):
            for carrier in dict.fromkeys(key[1] for key in operation.energy if key[1] in METERED):
                mean = sum(power for (_, c), power in operation.energy.items() if c == carrier)
                found[BEYOND_MODEL, carrier] = np.asarray(more * mean)
        return found

    beyond = np.asarray(sum(power * (ratio - 1.0) for (_, c), power in operation.energy.items() if c in METERED))
    spared = operation.heat_out.get(COOLER, np.zeros(())) * (1.0 - cooled)
    cooler = {COOLER: operation.heat_out[COOLER] - spared} if COOLER in operation.heat_out else {}
    return replace(
        operation,
        energy=metered(operation.energy),
        peak=metered(operation.peak),
        heat_in={**operation.heat_in, BEYOND_MODEL: beyond},
        heat_out={**operation.heat_out, **cooler, BEYOND_MODEL: np.asarray(beyond + spared)},
    )


def _left_to_cool(operation: Operation, less: Array | float) -> Array:
    """Share of the modelled heat to cooling water that a dryer can hand over with less power than modelled; else 1. [-]"""
    cooling = sum(power for (_, carrier), power in operation.energy.items() if carrier == "cooling")
    bought = less * sum(power for (_, carrier), power in operation.energy.items() if carrier in METERED)
    rest = bought - sum(operation.heat_out.get(taken, 0.0) for taken in ("resin", "evaporated water"))
    share = np.clip(rest, 0.0, cooling) / np.where(cooling > 0.0, cooling, 1.0)
    return np.where((np.asarray(less) < 1.0) & (np.asarray(cooling) > 0.0), share, 1.0)


def loaded(
    duties: Sequence[Duty], loads: Array, stood: Sequence[Array] | None = None, paused: Array | float = 0.0
) -> tuple[Duty, ...]:
    """Duties at shares of their full throughput, shape (states, hoppers): states become the second last axis.

    `stood` is the mean time off before a warm start of each, if another, and `paused` that of a standby. [s]
    """
    flows = [duty.throughput * loads[:, i, None] for i, duty in enumerate(duties)]
    stops = [duty.stop_time for duty in duties] if stood is None else stood
    pause = np.asarray(paused)
    return tuple(
        replace(d, throughput=t, stop_time=s, pause_time=pause) for d, t, s in zip(duties, flows, stops, strict=True)
    )
