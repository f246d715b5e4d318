"""How big the machines of an option are at each hopper: what each is built for, its hopper, its air."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from energy.dryers import base, hopper_sizing
from energy.dryers.base import Array, Duty
from energy.study.case import Case
from energy.study.duty import duties_of
from energy.study.machines import machines_of
from energy.study.option_sections import Option


@dataclass(frozen=True, slots=True, kw_only=True)
class Size:
    """Of a machine at one hopper; None where a type has no such thing of its own."""

    built_for: float
    """Throughput. [kg/s]"""
    hopper_volume: float | None
    """[m3]"""
    air_resin_ratio: float | None
    """Air per resin at the throughput it is built for. [kg/kg]"""


def sizes_of(case: Case, option: Option) -> tuple[Size, ...]:
    """Of the machine at each hopper of the case, in their order; of a central system, what each hopper has of it.

    Raises
    ------
    ModelError
        A duty that the model has no answer for.
    """
    found = {
        place: _size(machine.inputs, duty)
        for machine in machines_of(case, option, duties_of(case))
        for place, duty in zip(machine.places, machine.duties, strict=True)
    }
    return tuple(found[place] for place in sorted(found))


def _size(inputs: base.Inputs, duty: Duty) -> Size:
    flow = _number(duty.built_for.design_throughput)
    if not inputs.DRIES_IN_HOPPER:
        return Size(built_for=flow, hopper_volume=None, air_resin_ratio=None)
    ratio = hopper_sizing.design_ratio(inputs, duty)
    volume = hopper_sizing.geometry(inputs, duty, ratio).volume
    return Size(built_for=flow, hopper_volume=_number(volume), air_resin_ratio=_number(ratio))


def _number(value: Array) -> float:
    return float(np.max(value))
