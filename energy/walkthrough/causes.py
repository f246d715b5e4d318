"""Likely causes of a gap between readings and model, each with its physics and what mending it is worth a year."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping
from dataclasses import replace

import numpy as np

from energy.air import moist
from energy.dryers import hopper_sizing
from energy.sources import load
from energy.study.readings import QUANTITIES
from energy.units import show
from energy.walkthrough.balance import Balance, left_over
from energy.walkthrough.beds_as_read import LONGER
from energy.walkthrough.cycle_read import cycle_apart
from energy.walkthrough.dryness import cold_pellets, cool_regeneration, damp_air
from energy.walkthrough.evidence import SURE, Cause, Evidence
from energy.walkthrough.found import Found, half_width, power_of
from energy.walkthrough.gaps import Gap
from energy.walkthrough.jacket import poor_jacket, unexplained_heat
from energy.walkthrough.leak import by_dew_points, most_counted
from energy.walkthrough.money import YearOfDryer

WORTH_TELLING = 0.005
"""Share of the dryer's power, or of its energy a year, that a finding has to be worth."""


Rule = Callable[[Evidence], Cause | None]


def causes(
    told: Balance,
    gaps: Mapping[str, Gap],
    year: YearOfDryer,
    doubted: Collection[str] = (),
) -> tuple[Cause, ...]:
    """All that the readings speak for, by money a year; those that cost dryness and not energy last."""
    found = told.found
    evidence = Evidence(
        found=found, given=told.quantities, gaps=gaps, year=year, doubted=doubted, unexplained=told.unexplained
    )
    seen = [rule(evidence) for rule in (OF_ANY if found.batch else RULES)]
    priced = []
    for cause in seen:
        if cause is None:
            continue
        if cause.energy > 0.0:
            whole = replace(cause, energy=min(cause.energy, year.energy), money=min(cause.money, year.cost))
            priced += [whole] if whole.energy >= WORTH_TELLING * year.energy else []
            continue
        if 0.0 < cause.power < WORTH_TELLING * min(year.power, power_of(found.as_found)):
            continue
        energy, money = year.worth(cause.power)
        priced.append(replace(cause, energy=energy, money=money))
    return tuple(sorted(priced, key=lambda c: -c.money))


def too_much_air(e: Evidence) -> Cause | None:
    """More air per resin than the resin asks for."""
    found = e.found
    if not e.read("air_flow"):
        return None
    needed = _air_needed(found)
    flow = e.given["air_flow"]
    if flow.value - 1.1 * needed < SURE * flow.uncertainty:
        return None
    built_for = float(np.ravel(found.duty.built_for.design_throughput)[0])
    least = needed
    saved = e.mended(air_resin_ratio=needed / built_for)
    while saved is None and (needed := 1.1 * needed) < flow.value:
        saved = e.mended(air_resin_ratio=needed / built_for)
    if saved is None:
        return None
    per, would_do, priced = (f / e.given["throughput"].value for f in (flow.value, least, needed))
    nearest = "" if needed == least else f" The saving is that of {priced:.2g}, the least that the model can run with."
    return Cause(
        name="Too much air for the load",
        text=f"{per:.2g} kg of air per kg of resin flow; {would_do:.2g} would do.{nearest}",
        physics=f"Air that the resin does not cool {'comes back' if found.closed else 'leaves'} hot; "
        f"{'blower, cooler' if found.closed else 'blower'} and heater then work on air that dries "
        "nothing. A smaller dryer, a variable-speed blower or a damper follows the load.",
        power=saved.power,
        energy=saved.energy,
        money=saved.money,
    )


def _air_needed(found: Found) -> float:
    """Air that resin and shell of this hopper ask for at the throughput read, in the margin of any dryer. [kg/s]

    The hopper stays as big as it is: at low load it is the shell more than the resin that has to be kept warm.
    """
    duty, inputs = found.duty_found, found.inputs_found
    flow = np.asarray(duty.throughput, float)
    built = hopper_sizing.geometry(inputs, duty, 1.0)
    loss = hopper_sizing.shell_loss(inputs, duty, built, duty.drying_temperature).hopper
    least = hopper_sizing.least_air(duty, flow, loss)
    usual = np.maximum(duty.resin.air_resin_ratio * flow / least, inputs.air_over_least)
    return float(np.ravel(least * hopper_sizing.over_least(inputs, duty, flow, loss, built.height, usual))[0])


LOW_LOAD = 0.85
"""Share of what a dryer is built for below which its load is called low, by judgement. [-]"""


def timer_regeneration(e: Evidence) -> Cause | None:
    """Regeneration by the clock although little water comes."""
    found, inputs = e.found, e.found.inputs_found
    if not found.closed or getattr(inputs, "regeneration_control", "") != "timer":
        return None
    cycle = found.readings.regeneration_cycle
    as_read = {} if cycle is None or cycle_apart(found) is not None else {"cycle_time": float(cycle)}
    saved = e.mended(read=as_read, regeneration_control="dew point")
    if saved is None:
        return None
    own = float(found.machine.inputs.cycle_time)  # type: ignore[attr-defined]
    seen = found.readings.regeneration_control is not None or (cycle is not None and cycle <= LONGER * own)
    how = "Beds are changed" if seen else "As the case has it, beds are changed"
    load_ = float(np.ravel(found.duty.throughput / found.duty.built_for.design_throughput)[0])
    return Cause(
        name=f"Regeneration by timer{' at low load' if load_ < LOW_LOAD else ''}",
        text=(
            f"{how} by the clock{_more_often(e)}, at {100 * load_:.0f} % of what the dryer is built for."
            + ("" if seen else " Look at its controller, or time the bed changes.")
        ),
        physics="Every change heats bed and vessel anew, however little water the bed holds. Changing by dew point makes "
        "as many changes as the water asks for.",
        power=saved.power,
        energy=saved.energy,
        money=saved.money,
    )


def _more_often(e: Evidence) -> str:
    """How often beds are changed where that is clearly more often than in the case, as the words behind the clock; else empty."""
    cycle, own = e.found.readings.regeneration_cycle, float(e.found.machine.inputs.cycle_time)  # type: ignore[attr-defined]
    if cycle is None or LONGER * cycle > own or cycle_apart(e.found) is not None:
        return ""
    unit = QUANTITIES["regeneration_cycle"].unit(e.found.case.model.case.units)
    return f" every {show(cycle, 'time', unit)}, where the case has {show(own, 'time', unit)}"


def hot_regeneration(e: Evidence) -> Cause | None:
    """Regeneration air hotter than the set point of the case."""
    if not e.found.closed or e.size("regeneration_temperature") < SURE:
        return None
    gap = e.gaps["regeneration_temperature"]
    saved = e.mended(regeneration_temperature=gap.expected)
    if saved is None:
        return None
    return Cause(
        name="Regeneration too hot",
        text=f"Regeneration air is {e.show(gap.read, 'temperature')}; {e.show(gap.expected, 'temperature')} is set.",
        physics="Bed, vessel and exhaust are heated in proportion to the temperature, and the desiccant ages faster.",
        power=saved.power,
        energy=saved.energy,
        money=saved.money,
    )


def hot_process_air(e: Evidence) -> Cause | None:
    """Process air hotter than the drying temperature."""
    if e.size("process_temperature") < SURE:
        return None
    gap = e.gaps["process_temperature"]
    saved = e.mended(asked=gap.expected)
    if saved is None:
        return None
    return Cause(
        name="Drying hotter than asked for",
        text=f"Process air is {e.show(gap.read, 'temperature')}; {e.show(gap.expected, 'temperature')} is asked for.",
        physics="Resin, shell and return air take heat in proportion to the temperature, and the resin may degrade.",
        power=saved.power,
        energy=saved.energy,
        money=saved.money,
    )


def leaking(e: Evidence) -> Cause | None:
    """Return air more humid than the resin's water makes it."""
    found, leak = e.found, by_dew_points(e.found, e.given)
    if leak is None or {"air_flow", "return_dew_point"} & {*e.doubted}:
        return None
    share, off = leak
    tight = float(load(f"dryers/{found.machine.type}")["leak_share"].si)
    if share - tight < SURE * off:
        return None
    counted, most = min(share, most_counted(found)), most_counted(found)
    beyond = (
        ""
        if share <= most
        else f" That is more than the {100 * most:.0f} % that the model can count: its money is that of {100 * most:.0f} %."
    )
    saved = e.mended(read={"leak_share": counted}, leak_share=tight)
    return Cause(
        name="Leaking return line",
        text=f"About {100 * share:.0f} % of the air that reaches the desiccant is hall air; {100 * tight:.1g} % is usual.{beyond}",
        physics="The suction side draws humid hall air in through hoses, filter lid and seals. Its water loads the "
        "desiccant as the resin's does, and the beds are changed more often or deliver damper air.",
        power=0.0 if saved is None else saved.power,
        energy=0.0 if saved is None else saved.energy,
        money=0.0 if saved is None else saved.money,
    )


def overcooled(e: Evidence) -> Cause | None:
    """Air before the heater colder than it need be."""
    if not e.found.closed or e.size("heater_inlet_temperature") > -SURE or "air_flow" in e.doubted:
        return None
    gap = e.gaps["heater_inlet_temperature"]
    flow = e.given["air_flow"].value
    saved = flow * float(moist.heat_capacity(gap.read, 0.0)) * (gap.expected - gap.read) / e.given["heater"].value
    return Cause(
        name="Return air cooled too far",
        text=f"Air before the heater is {e.show(gap.read, 'temperature')}; {e.show(gap.expected, 'temperature')} was "
        "expected.",
        physics="What the cooler takes beyond what the desiccant needs, the heater has to give again. Throttle the "
        "cooling water.",
        power=saved,
    )


def cooler_off(e: Evidence) -> Cause | None:
    """Air into the desiccant too hot for it."""
    inlet = e.found.readings.desiccant_inlet_temperature
    if not e.found.closed or inlet is None:
        return None
    limit = float(e.found.machine.inputs.adsorption_limit)  # type: ignore[attr-defined]
    if inlet - limit < SURE * (half_width(e.found.readings, "desiccant_inlet_temperature") + 2.0) / math.sqrt(3.0):
        return None
    return Cause(
        name="Cooler off",
        text=f"Air enters the desiccant at {e.show(float(inlet), 'temperature')}; it takes up water below "
        f"{e.show(limit, 'temperature')}.",
        physics="Hot desiccant holds little water, so the dew point rises. Check water, valve and fins of the cooler.",
        power=0.0,
    )


def dirty_filter(e: Evidence) -> Cause | None:
    """More pressure than the flow explains, or less air than built for."""
    if e.read("air_flow") and e.found.readings.air_velocity is not None and e.size("blower_pressure") > SURE:
        gap = e.gaps["blower_pressure"]
        own = float(e.found.machine.inputs.circuit_pressure)  # type: ignore[attr-defined]
        clogged = own + gap.read - gap.expected
        saved = e.mended(read={"circuit_pressure": clogged}, circuit_pressure=own)
        return Cause(
            name="Dirty filter",
            text=f"The blower works against {e.show(gap.read, 'pressure difference')}; at this airflow "
            f"{e.show(gap.expected, 'pressure difference')} was expected.",
            physics="Blower power is flow times pressure; a clogged filter, a kinked hose or a shut damper adds pressure.",
            power=0.0 if saved is None else saved.power,
            energy=0.0 if saved is None else saved.energy,
            money=0.0 if saved is None else saved.money,
        )
    if e.read("air_flow") and e.size("air_flow") < -SURE:
        gap = e.gaps["air_flow"]
        return Cause(
            name="Little air",
            text=f"{100 * gap.read / gap.expected:.0f} % of the expected airflow.",
            physics="A clogged filter, a slipping belt or a blower turning backwards: the pellets at the outlet may stay "
            "cold and wet.",
            power=0.0,
        )
    return None


def funnelling(e: Evidence) -> Cause | None:
    """The air gives less heat than the resin should take."""
    rest = left_over(e.found, e.given)
    value, off = rest.value, rest.uncertainty
    if value > -SURE * off or "air_flow" in e.doubted or not (e.read("return_temperature") and e.read("throughput")):
        return None
    return Cause(
        name="Funnelling",
        text=f"The air leaves {e.show(-value, 'power')} less in the hopper than this throughput should take.",
        physics="Pellets that run down the middle leave before they are warm, and the air comes back hot beside them; "
        "or less resin runs than said. They leave wetter than the residence time suggests.",
        power=0.0,
    )


UNEXPLAINED_POWER = "Power that nothing here explains"


def unexplained_power(e: Evidence) -> Cause | None:
    """The meter shows more than the parts add up to with all that was read."""
    if not e.read("power") or "air_flow" in e.doubted:  # what the parts take hangs on the air
        return None
    if e.unexplained is None or e.unexplained.value < SURE * e.unexplained.uncertainty:
        return None
    rest = e.unexplained.value
    energy, money = e.year.steady(rest)
    return Cause(
        name=UNEXPLAINED_POWER,
        text=f"{e.show(rest, 'power')} that no cause tried here explains: the meter shows "
        f"{e.show(e.given['power'].value, 'power')}, and all parts of this dryer, run as it was read, add up to "
        f"{e.show(e.given['power'].value - rest, 'power')}.",
        physics="The meter may cover more than this dryer (a loader, a second hopper, a chiller); a heater may be stuck on"
        f"{' or work against the cooler' if e.found.closed else ''}; hot air may leak out before the hopper; the clamp may sit on another cable, or the power "
        "factor be taken too high. Switch the dryer off for a minute: what still flows is not its own.",
        power=rest,
        energy=energy,
        money=money,
    )


RULES: tuple[Rule, ...] = (
    unexplained_power,
    too_much_air,
    timer_regeneration,
    hot_regeneration,
    hot_process_air,
    poor_jacket,
    leaking,
    overcooled,
    cooler_off,
    cold_pellets,
    cool_regeneration,
    damp_air,
    dirty_filter,
    funnelling,
    unexplained_heat,
)
OF_ANY: tuple[Rule, ...] = (unexplained_power,)
"""Those that need no stream of hot air through a hopper."""
