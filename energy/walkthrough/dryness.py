"""Causes that cost dryness and not energy: cold pellets, cool regeneration, damp air."""

from __future__ import annotations

import numpy as np

from energy.dryers.hopper_sizing import COLDER
from energy.study.air_for_heat import carried, heated
from energy.study.drying_checks import MUCH_COLDER
from energy.walkthrough.evidence import SURE, Cause, Evidence
from energy.walkthrough.found import half_width
from energy.walkthrough.other_unit import too_cold_to_dry
from energy.walkthrough.practice import BEYOND, WITHIN, dew_points

COLD = "Too little air for so much resin"


def cold_pellets(e: Evidence) -> Cause | None:
    """Air that cannot warm the resin through, by the model of the dryer as found, as the comparison checks it."""
    found, duty = e.found, e.found.duty_found
    if {"throughput", "air_flow"} & {*e.doubted}:
        return None
    state, flow = found.as_found.hopper, e.given["throughput"]
    asked, reached = (float(np.ravel(v)[0]) for v in (duty.drying_temperature, state.resin_outlet_temperature))
    share = carried(duty, found.inputs_found, found.as_found)
    if asked - reached <= COLDER and share >= 1.0:
        return None
    over = float(np.ravel(flow.value / duty.built_for.design_throughput)[0]) - 1.0
    load = f", {100 * over:.0f} % more than it was built for" if over > 0.005 else ""
    becomes = "they do not dry" if asked - reached > MUCH_COLDER else "they may not dry"
    said = "" if e.read("throughput") else " as the case has it"
    enough = "It has the heat, but not the time to give it to them."
    if share < 1.0:
        most = heated(duty, found.inputs_found, found.as_found)
        would_do = (
            f"{e.show(most, 'mass flow')} at most could be warmed and dried"
            if most > 0.0
            else "the shell takes all of it"
        )
        enough = (
            f"This air carries {share:.2f} times the heat that resin, water and shell take up to get warm: {would_do}."
        )
    return Cause(
        name=COLD,
        text=f"At {e.show(flow.value, 'mass flow')}{said}{load}, pellets leave near {e.show(reached, 'temperature')} "
        f"instead of {e.show(asked, 'temperature')}; {becomes}.",
        physics=f"{enough} Water leaves cold pellets slowly, however dry the air is. Feed less, or give more air: a clean "
        "filter, a faster blower, a larger dryer.",
        power=0.0,
        settled_by="Temperature of the pellets at the hopper's outlet, in a scoop of them, and the moisture of the same pellets.",
    )


def cool_regeneration(e: Evidence) -> Cause | None:
    """Regeneration air colder than the set point of the case, which leaves water on the desiccant.

    Air that was read dry beside it says that it does its work; only where it is too cold to dry any desiccant is that odd.
    """
    if not e.found.closed or e.size("regeneration_temperature") > -SURE:
        return None
    gap = e.gaps["regeneration_temperature"]
    dry = e.read("dew_point") and damp_air(e) is None
    if dry and not too_cold_to_dry(e.found):
        return None
    return Cause(
        name="Regeneration too cool",
        text=f"Regeneration air is {e.show(gap.read, 'temperature')}; {e.show(gap.expected, 'temperature')} is set."
        + (" The process air is dry all the same: read both again." if dry else ""),
        physics="Such air leaves water on the desiccant, which then dries the process air less. Look at the regeneration heater: "
        "a burnt element or fuse, a limit switch that has tripped. Look at its filter and airflow, too: with little air the limit "
        "switch cuts the heater off.",
        power=0.0,
    )


TOO_DAMP, DAMPER, UNEXPECTED = f"Process air {BEYOND}", f"Process air {WITHIN}", "Process air damper than expected"


def damp_air(e: Evidence) -> Cause | None:
    """Process air damper than the resin's sheet asks for, whatever the model expects; or than the model expects."""
    read, limits = e.found.readings.dew_point, dew_points(e.found)
    if read is None or "dew_point" in e.doubted:  # a sign left out, or put too much
        return None
    if limits is not None and limits.damper(read, half_width(e.found.readings, "dew_point")):
        refused, resin = limits.refused(read), e.found.duty.resin.called
        name = TOO_DAMP if refused else DAMPER
        more = " Air this damp is not accepted practice." if refused else ""
        wanted = (
            f"practice asks for {e.show(limits.asked, 'temperature')} and accepts up to "
            f"{e.show(limits.accepted, 'temperature')} for {resin}.{more}"
        )
    elif e.found.closed and e.size("dew_point") >= SURE:
        name, wanted = UNEXPECTED, f"{e.show(e.gaps['dew_point'].expected, 'temperature')} was expected."
    else:
        return None
    return Cause(
        name=name,
        text=f"Its dew point is {e.show(float(read), 'temperature')}; {wanted}",
        physics="Spent desiccant, regeneration too cool, a leak behind the desiccant or its inlet too hot: the pellets "
        "cannot get drier than the air lets them."
        if e.found.closed
        else "Nothing dries this air beyond what its dew point says: the pellets cannot get drier than the air lets them.",
        power=0.0,
    )
