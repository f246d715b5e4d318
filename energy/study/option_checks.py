"""What no single field of an option can tell: what its arrangement needs, which machine serves which hopper, what it buys."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any

from energy import dryers
from energy.dryers import circuit_inputs
from energy.errors import Problem, nearest
from energy.study.option_sections import OF_PRESENT, Machine, Option
from energy.study.retrofits import NO_BASELINE
from energy.study.schema import CaseFile
from energy.tariffs import Tariff
from energy.units import show


def options(model: CaseFile, document: Mapping[str, Any]) -> Iterator[Problem]:
    """Names, machines and needs of each option; one baseline; a recommended option that there is."""
    seen: set[str] = set()
    for option, raw_option in zip(model.options, document["options"], strict=True):
        if option.name in seen:
            yield Problem(f"options['{option.name}'].name", "two options have this name; each needs its own")
        seen.add(option.name)
        if "kind" in raw_option.get("inputs", {}):
            yield Problem(f"options['{option.name}'].inputs.kind", "unknown key; the type stands in the option itself")
        yield from _machines(model, option)
        yield from _intakes(model, option)
        needs_air = any(
            kind.startswith("compressed-air") or getattr(inputs, "pump", "pump") == "ejector"
            for kind, inputs in _kinds(model, option)
        )
        if needs_air and model.compressed_air is None:
            yield Problem(
                "compressed_air",
                f"is missing; option '{option.name}' needs pressure, pressure dew point, specific power",
            )
    baselines = [o.name for o in model.options if o.baseline]
    if not baselines:
        yield Problem("options", NO_BASELINE)
    elif len(baselines) > 1:
        yield Problem(
            "options",
            f"{len(baselines)} options are marked baseline ({', '.join(baselines)}); exactly one is allowed",
        )
    wanted = model.request.recommended
    if wanted and wanted not in seen:
        yield Problem(
            "request.recommended",
            f"'{wanted}' is not an option; known: {', '.join(o.name for o in model.options)}{nearest(wanted, list(seen))}",
        )


def carriers(model: CaseFile, tariffs: Mapping[str, Tariff]) -> Iterator[Problem]:
    """Every carrier that an option buys has a tariff."""
    for option in model.options:
        sources = {
            source
            for _, inputs in _kinds(model, option)
            for source in (inputs.heat_source, getattr(inputs, "regeneration_heat_source", "electric"))
        }
        if "gas" in sources and "gas" not in tariffs and model.tariffs.gas is None:
            yield Problem("tariffs.gas", f"is missing; option '{option.name}' is heated with gas")


def set_backs(model: CaseFile, hot: Mapping[str, float]) -> Iterator[Problem]:
    """A standby at the drying temperature or above is none at a lower one.

    Parameters
    ----------
    model : CaseFile
    hot : mapping of str to float
        Drying temperature of each hopper, by its name. [K]
    """
    system = model.case.units
    for option in model.options:
        own = {machine.hopper for machine in option.machines}
        served: list[tuple[str, Any, list[str]]] = [
            ("", option.inputs, [name for name in hot if name not in own]),
            *((f"machines[{i + 1}].", m.inputs, [m.hopper]) for i, m in enumerate(option.machines)),
        ]
        for key, inputs, names in served:
            temperature = inputs.standby_temperature
            warmest = max((hot[name] for name in names if name in hot), default=None)
            if temperature is not None and warmest is not None and temperature > warmest * (1.0 + 1e-9):
                shown, limit = (show(float(t), "temperature", system) for t in (temperature, warmest))
                yield Problem(
                    f"options['{option.name}'].{key}inputs.standby_temperature",
                    f"{shown} is above the drying temperature of {limit}; a set-back is below it, or is left out",
                )


def _intakes(model: CaseFile, option: Option) -> Iterator[Problem]:
    """Air from outdoors has to be known."""
    if model.site.climate is not None or model.site.months:
        return
    dryers_there = [("", option.inputs), *((f"machines[{i + 1}].", m.inputs) for i, m in enumerate(option.machines))]
    for key, inputs in dryers_there:
        if getattr(inputs, "intake", "hall") == "outdoors":
            yield Problem(
                f"options['{option.name}'].{key}inputs.intake",
                "the case has no air outdoors; give site.climate or site.months in place of one hall air, or take the air from the hall",
            )


def _kinds(model: CaseFile, option: Option) -> list[tuple[str, Any]]:
    """Types and inputs of the dryers that an option has."""
    own = {machine.hopper: (machine.type, machine.inputs) for machine in option.machines}
    return [own.get(hopper.name, (option.type, option.inputs)) for hopper in model.hoppers]


def _machines(model: CaseFile, option: Option) -> Iterator[Problem]:
    """What an arrangement needs and what it cannot have; machines named for hoppers that there are, and big enough."""
    place, system = f"options['{option.name}']", model.case.units
    hoppers = {hopper.name: hopper for hopper in model.hoppers}
    seen = set()
    for i, machine in enumerate(option.machines):
        if machine.hopper not in hoppers:
            known = ", ".join(hoppers)
            yield Problem(
                f"{place}.machines[{i + 1}].hopper",
                f"there is no hopper '{machine.hopper}'{nearest(machine.hopper, list(hoppers))}; known: {known}",
            )
        if machine.hopper in seen:
            yield Problem(f"{place}.machines[{i + 1}].hopper", f"'{machine.hopper}' has a machine already")
        seen.add(machine.hopper)
    shared = [hopper for hopper in model.hoppers if hopper.name not in seen]
    if not shared and option.arrangement != "at the machine":
        yield Problem(
            f"{place}.machines",
            f"every hopper has a dryer of its own under machines, so nothing is left for {option.arrangement} dryers",
        )
    if (option.units is not None) != (option.arrangement == "portable"):
        said = "is missing; how many portable dryers?" if option.units is None else "is for portable dryers only"
        yield Problem(f"{place}.units", said)
    if option.central is not None:
        if option.arrangement != "central":
            yield Problem(f"{place}.central", "is for a central system only; set arrangement to central")
        if option.central.spare > 1.0:
            yield Problem(
                f"{place}.central.spare",
                f"{100 * option.central.spare:.4g} % is more than the system itself; up to 100 % is allowed",
            )
    if option.arrangement == "central" and not issubclass(dryers.TYPES[option.type].Inputs, circuit_inputs.Inputs):
        allowed = [k for k, module in dryers.TYPES.items() if issubclass(module.Inputs, circuit_inputs.Inputs)]
        yield Problem(f"{place}.type", f"a central system is of a desiccant type: {', '.join(allowed)}")
    if option.arrangement == "central" and option.built_for is not None:
        yield Problem(f"{place}.built_for", "a central system is built for the sum of its hoppers; use central.spare")
    if option.arrangement == "portable" and option.units is not None:
        if option.units > len(shared):
            yield Problem(
                f"{place}.units", f"{option.units} dryers for {len(shared)} hoppers; at most one for each is allowed"
            )
        at_once = sum(float(hopper.running) for hopper in shared)
        if at_once > option.units * (1 + 1e-9):
            yield Problem(
                f"{place}.units",
                f"{option.units} dryers cannot serve hoppers that together run {100 * at_once:.4g} % of the time; at least "
                f"{math.ceil(at_once - 1e-9)} are needed",
            )
    for key in ("hopper_volume", "airflow"):
        if getattr(option, key) is not None and option.arrangement != "at the machine":
            yield Problem(f"{place}.{key}", f"belongs to dryers at the machine; this option is {option.arrangement}")
    own_dryers: list[tuple[str, Option | Machine]] = [("", option)]
    own_dryers += [(f"machines[{i + 1}].", machine) for i, machine in enumerate(option.machines)]
    for key, dryer in own_dryers:
        if not dryer.inputs.DRIES_IN_HOPPER:
            yield from (
                Problem(
                    f"{place}.{key}{name}", f"a dryer of the type {dryer.type} does not dry in its hopper; leave it out"
                )
                for name in ("hopper_volume", "airflow")
                if getattr(dryer, name) is not None
            )
        if dryer.airflow is not None and dryer.inputs.air_resin_ratio is not None:
            yield Problem(
                f"{place}.{key}airflow",
                "says the air a second time, beside inputs.air_resin_ratio; leave one of them out",
            )
        if dryer.metered_over_model != 1.0 and not (option.baseline or option.retrofit):
            yield Problem(
                f"{place}.{key}metered_over_model",
                "belongs to the present dryers: nobody has metered one not yet bought",
            )
        if dryer is option and (unused := _of_none(model, option)):
            yield Problem(f"{place}.{unused}", "every hopper has a dryer of its own under machines; state it there")
        if dryer.delivered_dew_point is not None:
            present = option.baseline or option.retrofit
            yield from _delivered_dew_point(f"{place}.{key}delivered_dew_point", dryer, present)
    for hopper in model.hoppers:
        own = next(((i, m) for i, m in enumerate(option.machines) if m.hopper == hopper.name), None)
        built, key = (
            (option.built_for, "built_for") if own is None else (own[1].built_for, f"machines[{own[0] + 1}].built_for")
        )
        # A present machine may run at more than it was built for; its verdict says so.
        there = option.baseline or option.retrofit
        if built is not None and built < hopper.throughput * (1 - 1e-9) and not there:
            small, asked = (show(float(x), "mass flow", system) for x in (built, hopper.throughput))
            which = "the hopper's throughput" if len(hoppers) == 1 else f"the throughput of {hopper.name},"
            yield Problem(
                f"{place}.{key}",
                f"{small} is less than {which} {'of ' if len(hoppers) == 1 else ''}{asked}; a machine built for that or more is "
                "needed",
            )


def _of_none(model: CaseFile, option: Option) -> str:
    """A key of what was read at the present dryers that counts for none, since each is one of the option's machines."""
    if option.retrofit or {h.name for h in model.hoppers} - {m.hopper for m in option.machines}:
        return ""
    return next((key for key in OF_PRESENT if key in option.model_fields_set), "")


def _delivered_dew_point(key: str, dryer: Option | Machine, present: bool) -> Iterator[Problem]:
    """A dew point that was read belongs to a present dryer whose air is made dry."""
    if not present:
        yield Problem(key, "belongs to the present dryers: nobody has read one not yet bought")
    if not dryer.inputs.DRIES_AIR:
        why = (
            "takes the air of the hall as it is; state the dew point of the hall instead"
            if dryer.inputs.DRIES_IN_HOPPER
            else "does not dry with dry air; leave it out"
        )
        yield Problem(key, f"a dryer of the type {dryer.type} {why}")
