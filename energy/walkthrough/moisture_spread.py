"""The diffusivity that gives a moisture read of the pellets leaving, and its range by all that the prediction hangs on."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from energy.dryers.base import Array, Duty, Operation
from energy.dryers.way_through_hopper import tanks_of
from energy.errors import ModelError, OutOfRangeError
from energy.sources import load
from energy.study.at_work import operate
from energy.study.predicted_moisture import remaining_moisture
from energy.units import parse
from energy.walkthrough.estimate import COVERAGE, Estimate, estimate
from energy.walkthrough.found import Found, usual
from energy.walkthrough.quantities import quantities

FED, READ = "initial_moisture", "outlet_moisture"
NOT_STATED = "as of a measurement, though the case states none"
BEYOND = math.log(1e3)
"""How far beyond the data a diffusivity is looked for, in its logarithm, so that a slope is not cut there."""
ROUNDS = 60
"""Of halving."""
STEPS = (1.0, 0.1)
"""Of the standard uncertainty; the small one where the model cannot run the dryer at the other."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """What a quantity has in the range of the diffusivity."""

    name: str
    off: float
    """Half-width of the interval of the quantity, with the factor of 2, SI."""
    moves: float
    """By how much that moves the logarithm of the diffusivity."""
    note: str = ""
    """Where its range is none that anybody stated or measured."""


def hangs_on(found: Found) -> dict[str, Estimate]:
    """What the prediction hangs on besides the diffusivity, as read, else with the range that the walkthrough gives it."""
    duty, given = found.duty_found, quantities(found)
    hot = estimate(float(duty.drying_temperature[0]), usual("case_drying_temperature"), "case", "the set point")
    told = {"process_temperature": given.get("process_temperature", hot)}
    if "dew_point" in given and duty.resin.sorption_slope is not None:
        told["dew_point"] = given["dew_point"]
    if "air_flow" in given:
        told["air_flow"] = given["air_flow"]
    return told | {"throughput": given["throughput"], FED: _fed(found)}


def _fed(found: Found) -> Estimate:
    """Moisture of the pellets fed within the range of the case, else within what a measurement of it is usually off by. [kg/kg dry]"""
    value = float(found.duty.initial_moisture[0])
    share = float(load("measurements")[FED].si)
    ends = [value * (1.0 - share), value * (1.0 + share)]
    stated = found.case.document["hoppers"][found.place].get(FED)
    own = [[low, high] for key, low, high in found.duty.resin.ranges if key == FED]
    if isinstance(stated, Mapping) and stated.get("low") is not None:
        ends = [parse(stated[key], "moisture") for key in ("low", "high")]
    elif stated is None and own:
        ends = own[0]
    nobody = stated is None and not own
    return estimate(value, 0.5 * (ends[1] - ends[0]), "case", NOT_STATED if nobody else "")


def diffusivity_of(
    found: Found, as_read: Operation, moisture: Estimate, published: tuple[float, float]
) -> tuple[tuple[float, float, float], tuple[Share, ...]] | None:
    r"""Diffusivity that gives a moisture, with its range, and what that rests on; None where the model cannot run the dryer nearby.

    .. math:: \ln D_{\pm} = \ln D \pm \sqrt{(\Delta_{\pm} \ln D)^2 + \sum_i (2 u_i \, \partial \ln D / \partial x_i)^2}

    with the moisture's own part as far as the interval of the reading reaches to that side. No range reaches beyond the data.

    Parameters
    ----------
    found : Found
    as_read : Operation
        The dryer as found, with the dew point that counts.
    moisture : Estimate
        Read of the pellets leaving. [kg/kg dry]
    published : tuple of float
        Slowest and fastest of the data. [m2/s]

    Source
    ------
    JCGM 100:2008, eq. 10 for the logarithm; slopes as in 5.1.3, note 2, from the diffusivities a standard uncertainty to both sides.
    """
    given = hangs_on(found)
    off = moisture.expanded
    count = len(given)
    wanted = moisture.value + off * np.array([0.0, 1.0, -1.0, *np.zeros(2 * count)])
    for step in STEPS:
        try:
            duty, operation = _nearby(found, as_read, given, step)
        except (ModelError, OutOfRangeError):
            continue
        at = _logarithms(found, duty, operation, wanted, published)
        up, down = at[3 : 3 + count], at[3 + count :]
        moves = COVERAGE * np.abs(up - down) / (2.0 * step)
        break
    else:
        return None
    others = float(np.sqrt(np.sum(moves**2)))
    likely, slow, fast = map(float, at[:3])
    least, most = (math.log(end) for end in published)
    ends = (
        likely,
        max(least, likely - math.hypot(likely - slow, others)),
        min(most, likely + math.hypot(fast - likely, others)),
    )
    shares = [
        Share(name=READ, off=off, moves=max(likely - slow, fast - likely)),
        *(
            Share(name=name, off=one.expanded, moves=float(moved), note=one.note if name == FED else "")
            for (name, one), moved in zip(given.items(), moves, strict=True)
        ),
    ]
    found_at, slowest, fastest = map(math.exp, ends)
    return (found_at, slowest, fastest), tuple(sorted(shares, key=lambda share: -share.moves))


def _nearby(found: Found, as_read: Operation, given: Mapping[str, Estimate], step: float) -> tuple[Duty, Operation]:
    """The dryer as found three times, then with each quantity up by so many of its standard uncertainty, then down, as if in so many months."""
    names, count = list(given), len(given)

    def of(name: str, value: float) -> Array:
        moved = np.full(3 + 2 * count, value)
        if name in given:
            place, by = 3 + names.index(name), step * given[name].uncertainty
            moved[[place, place + count]] += np.array([by, -by])
        return moved

    there = found.duty_found
    duty = replace(
        there,
        throughput=of("throughput", float(there.throughput[0])),
        drying_temperature=of("process_temperature", float(there.drying_temperature[0])),
        initial_moisture=of(FED, float(there.initial_moisture[0])),
    )
    machine = replace(found.machine, inputs=found.inputs_found)
    operation = operate(machine, (duty,))
    state = operation.hopper
    if "air_flow" in given:
        air = of("air_flow", float(found.as_found.air_flow[0]))
        places = [3 + names.index("air_flow") + half for half in (0, count)]
        ratio = air[places] / float(np.ravel(there.built_for.design_throughput)[0])
        inputs = machine.inputs.model_copy(update={"air_resin_ratio": ratio, "airflow_control": "fixed"})
        aired = operate(replace(machine, inputs=inputs), (replace(there, throughput=np.repeat(there.throughput, 2)),))
        rate, out = state.heating_rate.copy(), state.resin_outlet_temperature.copy()
        rate[places], out[places] = aired.hopper.heating_rate, aired.hopper.resin_outlet_temperature
        state = replace(state, heating_rate=rate, resin_outlet_temperature=out)
    dew_point = of("dew_point", float(np.ravel(as_read.delivered_dew_point)[0]))
    return duty, replace(operation, hoppers=(state,), delivered_dew_point=dew_point)


def _logarithms(
    found: Found, duty: Duty, operation: Operation, wanted: NDArray[np.float64], published: tuple[float, float]
) -> Array:
    """Logarithm of the diffusivity that leaves each moisture; at an end of what is looked through where none does."""
    tanks = tanks_of(found.inputs_found.hopper_flow)
    low, high = (np.full(wanted.shape, math.log(d) + s * BEYOND) for d, s in zip(published, (-1.0, 1.0), strict=True))
    for _ in range(ROUNDS):  # the moisture falls steadily with the diffusivity
        middle = 0.5 * (low + high)
        wetter = np.ravel(remaining_moisture(duty, operation, np.exp(middle), tanks)) > wanted
        low, high = np.where(wetter, middle, low), np.where(wetter, high, middle)
    return np.asarray(0.5 * (low + high))
