"""The machines of an option: which dryer serves which hoppers, how big it is, and how it runs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import reduce
from typing import Any

import numpy as np

from energy import dryers
from energy.dryers import base, circuit_inputs, closed_loop, hopper_sizing
from energy.dryers.base import Array, Duty
from energy.dryers.closed_loop import Distribution
from energy.equipment import conveying
from energy.resins.properties import Resin
from energy.study.case import Case
from energy.study.duty import sized_for
from energy.study.option_sections import Central, Option
from energy.study.option_sections import Machine as OwnMachine
from energy.study.plant_sections import Hopper

DUCT_AIR = 333.15  # K, air in the ducts of a central system, warm from the hoppers or from the desiccant


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """A dryer and the hoppers it serves: one at the machine, several on a central system."""

    type: str
    inputs: base.Inputs
    places: tuple[int, ...]
    """Of the hoppers in the case."""
    hoppers: tuple[Hopper, ...]
    duties: tuple[Duty, ...]
    """Of each hopper at full throughput."""
    ducts: Distribution | None = None
    """Of a central system."""
    metered: Array | float = 1.0
    """Electricity and fuel that a meter says over what the model counts, shape (..., 1, 1). [-]"""
    delivered_dew_point: Array | float | None = None
    """Of the air into its hoppers as it was read, shape (..., 1, 1). None: what the model expects. [K]"""
    regenerated: Array | float = 1.0
    """Heat of regeneration that was found over what the model counts. [-]"""
    moved: bool = False
    """Is it one of several portable dryers, of which fewer run at once than there are hoppers?"""
    timed_at: Array | float | None = None
    """Throughput at which the residence time asked of a portable dryer fills its hopper. None: what it is built for. [kg/s]"""
    hopper_volume: float | None = None
    """Of a hopper that is there, from which the residence time follows. None: it follows the time asked. [m3]"""

    @property
    def label(self) -> str:
        """Name of the type in words."""
        return str(dryers.TYPES[self.type].LABEL)


def machines_of(
    case: Case,
    option: Option,
    duties: Sequence[Duty],
    grow: Array | float = 1.0,
    scales: Sequence[Array | float] | None = None,
) -> tuple[Machine, ...]:
    """The machines of an option; of portable dryers one for each hopper they are moved to. A hopper with a dryer of its own has
    that beside it, whatever serves the others.

    Parameters
    ----------
    case : Case
    option : Option
    duties : sequence of Duty
        One for each hopper of the case.
    grow : array_like, shape (..., 1, 1), optional
        Size of the machines over what the case has. [-]
    scales : sequence of array_like, shape (..., 1, 1), optional
        Throughput of each hopper over the case's own, for machines that are built for it. [-]
    """
    hoppers = case.model.hoppers
    full = [float(h.throughput) * scale for h, scale in zip(hoppers, scales or [1.0] * len(hoppers), strict=True)]
    present = next(o for o in case.model.options if o.baseline) if option.retrofit else None
    if option.baseline or present is not None:
        duties = [replace(duty, stands=True) for duty in duties]
        if case.stands:
            full = [_then(case, hopper, size) for hopper, size in zip(hoppers, full, strict=True)]
            duties = [_with_beds_then(case, hopper, duty) for hopper, duty in zip(hoppers, duties, strict=True)]
    own = {machine.hopper: machine for machine in option.machines}
    shared = [place for place, hopper in enumerate(hoppers) if hopper.name not in own]
    found: list[Machine] = []
    if option.arrangement == "central":
        found.append(_central(case, option, present, [(place, duties[place], full[place] * grow) for place in shared]))
        shared = []
    ratios: dict[int, Array] = {}
    timed = list(full)
    if option.arrangement == "portable":
        # A portable dryer has one hopper, big enough for the largest bed it is moved to.
        volumes = {p: full[p] * _bed(duties[p]) for p in shared}
        largest = reduce(np.maximum, volumes.values())
        blower = option.inputs if present is None else present.inputs
        moved = _moved(blower, [(duties[p], full[p], largest / _bed(duties[p])) for p in shared])
        duties, full = list(duties), list(full)
        for place, (duty, size, ratio) in zip(shared, moved, strict=True):
            duties[place], full[place] = duty, size
            if ratio is not None:
                ratios[place] = ratio
    before = {machine.hopper: machine for machine in present.machines} if present is not None else {}
    for place, (hopper, duty) in enumerate(zip(hoppers, duties, strict=True)):
        if hopper.name not in own and place not in shared:
            continue  # on the central system
        machine = own.get(hopper.name, option)
        size = full[place] if machine.built_for is None else machine.built_for
        if is_metered(machine):
            duty = replace(duty, resin=_with_usual_air(duty.resin))
        if machine.hopper_volume is not None:
            duty = _in_hopper(machine.inputs, duty, size, machine.hopper_volume)
        if present is not None:
            there = _with_own_air(before.get(hopper.name, present), size)
            duty = _with_air_of(there, duty, size * grow)
        sized: tuple[Duty, ...] = (sized_for(duty, size * grow),)
        if present is not None:
            sized = _with_beds_of(there, sized, Distribution())
        air = ratios.get(place)
        moves = option.arrangement == "portable" and hopper.name not in own
        found.append(
            Machine(
                type=machine.type,
                inputs=_with_own_air(machine, size) if air is None else _with_air(machine.inputs, air),
                places=(place,),
                hoppers=(hopper,),
                duties=sized,
                metered=machine.metered_over_model,
                delivered_dew_point=machine.delivered_dew_point,
                moved=moves,
                timed_at=timed[place] * size / full[place] if moves else None,
                hopper_volume=machine.hopper_volume,
            )
        )
    return tuple(found)


def _bed(duty: Duty) -> Array:
    """Volume of resin that a throughput keeps in its hopper, over that throughput. [m3 s/kg]"""
    return np.asarray(np.max(duty.residence_time, axis=-1, keepdims=True) / duty.resin.bulk_density)


def _central(
    case: Case, option: Option, present: Option | None, served: Sequence[tuple[int, Duty, Array | float]]
) -> Machine:
    """The central system of some hoppers: their places, duties and the throughput it is built for. [kg/s]"""
    assert option.central is not None
    sizes = [size for _, _, size in served]
    duties = [duty for _, duty, _ in served]
    if present is not None:
        duties = [_with_air_of(present.inputs, duty, size) for duty, size in zip(duties, sizes, strict=True)]
    sized = tuple(sized_for(duty, size) for duty, size in zip(duties, sizes, strict=True))
    if present is not None and present.central is not None:
        sized = _with_beds_of(present.inputs, sized, distribution(present.inputs, present.central, sized))
    return Machine(
        type=option.type,
        inputs=option.inputs,
        places=tuple(place for place, _, _ in served),
        hoppers=tuple(case.model.hoppers[place] for place, _, _ in served),
        duties=sized,
        ducts=distribution(option.inputs, option.central, sized),
        metered=option.metered_over_model,
        delivered_dew_point=option.delivered_dew_point,
    )


def _with_air_of(present: base.Inputs, duty: Duty, size: Array | float) -> Duty:
    """The duty with the air per resin that a dryer of these inputs is built for, be it more than is usual. [kg/s]"""
    ratio = hopper_sizing.design_ratio(present, sized_for(duty, size))
    usual: Any = float(ratio.item()) if ratio.size == 1 else ratio
    return replace(duty, resin=replace(duty.resin, air_resin_ratio=usual))


def _then(case: Case, hopper: Hopper, now: Array | float) -> Array | float:
    """What the present dryer of a hopper was built for, whatever its throughput is under a scenario or in a draw. [kg/s]"""
    kept = case.stands.get(hopper.name)
    return now if kept is None else kept.built_for + 0.0 * now


def _with_beds_then(case: Case, hopper: Hopper, duty: Duty) -> Duty:
    """The duty with the desiccant that the present dryer of a hopper has without a scenario."""
    kept = case.stands.get(hopper.name)
    return duty if kept is None else replace(duty, bed_mass=kept.bed_mass)


def _with_beds_of(present: base.Inputs, duties: tuple[Duty, ...], ducts: Distribution) -> tuple[Duty, ...]:
    """The duties with the desiccant that a dryer of these inputs has."""
    if not isinstance(present, circuit_inputs.Inputs):
        return duties
    mass = closed_loop.bed_mass(present, duties, ducts)
    return tuple(replace(duty, bed_mass=mass) for duty in duties)


def with_its_beds(machine: Machine) -> Machine:
    """A machine with the desiccant that it has, so that it keeps that whatever is changed of its inputs."""
    if not isinstance(machine.inputs, circuit_inputs.Inputs):
        return machine
    mass = closed_loop.bed_mass(machine.inputs, machine.duties, machine.ducts or Distribution())
    return replace(machine, duties=tuple(replace(duty, bed_mass=mass) for duty in machine.duties))


def kept_by(present: Machine, duties: Sequence[Duty]) -> tuple[Duty, ...]:
    """Duties for what is changed of a present dryer with a hopper of its own: with its beds and air, as a retrofit has them.

    Parameters
    ----------
    present : Machine
    duties : sequence of Duty
        Of its hopper, sized for it.
    """
    ratio = hopper_sizing.design_ratio(present.inputs, present.duties[0])
    usual: Any = float(ratio.item()) if ratio.size == 1 else ratio
    kept = []
    for duty in duties:
        resin = replace(duty.resin, air_resin_ratio=usual)
        design = None if duty.design is None else replace(duty.design, resin=resin)
        kept.append(replace(duty, resin=resin, design=design))
    if not isinstance(present.inputs, circuit_inputs.Inputs):
        return tuple(kept)
    mass = closed_loop.bed_mass(present.inputs, present.duties, Distribution())
    return tuple(replace(duty, bed_mass=mass) for duty in kept)


def is_metered(dryer: Option | OwnMachine) -> bool:
    """Does the comparison count a present dryer as its meter says?"""
    return bool(np.asarray(dryer.metered_over_model != 1.0).any())


def _with_usual_air(resin: Resin) -> Resin:
    """The resin with the airflow that is stored of it: what a metered dryer gets is seen by its meter, and not drawn.

    Not `Resin.usual_air`: an airflow that the case states itself is kept, as many draws as it has.
    """
    stored = resin.data.get("air_resin_ratio")
    return resin if stored is None else replace(resin, air_resin_ratio=stored.si)


def _in_hopper(inputs: base.Inputs, duty: Duty, size: Array | float, volume: float) -> Duty:
    """The duty with the residence time that a hopper of that volume gives. [kg/s, m3]"""
    stay = volume * inputs.usable_share * duty.resin.bulk_density / size
    return replace(duty, residence_time=stay + 0.0 * duty.hall_temperature)


def _moved(
    inputs: base.Inputs, served: Sequence[tuple[Duty, Array | float, Array | float]]
) -> list[tuple[Duty, Array | float, Array | None]]:
    """Duties, sizes and air per resin of one portable dryer at each hopper it is moved to: one bed, and one blower for the most air asked.

    Parameters
    ----------
    inputs : Inputs
    served : sequence of tuple
        Of each hopper its duty, its throughput, and the throughput that fills the bed of the portable dryer in the residence
        time asked. [kg/s]
    """
    if not isinstance(inputs, base.BlowerInputs):
        return [(duty, bed, None) for duty, _, bed in served]
    ratios = [
        hopper_sizing.design_ratio(inputs, sized_for(_staying(duty, bed / size), size)) for duty, size, bed in served
    ]
    air = reduce(np.maximum, [ratio * size for ratio, (_, size, _) in zip(ratios, served, strict=True)])
    return [
        (_staying(duty, bed / (air / ratio)), air / ratio, ratio)
        for ratio, (duty, _, bed) in zip(ratios, served, strict=True)
    ]


def _with_own_air(dryer: Option | OwnMachine, size: Array | float) -> base.Inputs:
    """The inputs of a dryer built for that throughput, with the air that it is stated to have. [kg/s]"""
    return dryer.inputs if dryer.airflow is None else _with_air(dryer.inputs, np.asarray(dryer.airflow / size))


def _with_air(inputs: base.Inputs, ratio: Array) -> base.Inputs:
    """The inputs of a dryer whose air per resin is settled."""
    return inputs.model_copy(update={"air_resin_ratio": float(ratio.item()) if ratio.size == 1 else ratio})


def _staying(duty: Duty, longer: Array | float) -> Duty:
    """The duty with another residence time, by that factor."""
    return replace(duty, residence_time=duty.residence_time * longer + 0.0 * duty.hall_temperature)


def distribution(inputs: base.Inputs, central: Central, duties: Sequence[Duty]) -> Distribution:
    """Ducts and conveying of a central system, laid out for the sum of its hoppers."""
    flow = sum(
        hopper_sizing.design_ratio(inputs, duty) * duty.built_for.design_throughput * (1.0 + central.spare)
        for duty in duties
    )
    diameter = conveying.duct_diameter(flow, central.duct_velocity, DUCT_AIR)
    one_way = conveying.duct_pressure(central.duct_length, diameter, central.duct_velocity, DUCT_AIR)
    return Distribution(
        return_conductance=conveying.duct_conductance(central.duct_length, diameter, central.duct_insulation),
        pressure=2.0 * one_way,
        air_spent=central.conveying_air_spent / central.conveying_load,
        conveying_work=conveying.conveying_work(
            central.conveying_load, central.conveying_pressure, central.conveying_efficiency
        ),
        spare=central.spare,
    )
