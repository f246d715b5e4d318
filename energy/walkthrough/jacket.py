"""A hopper whose wall is hotter than behind a good jacket, and what a jacket saves by the model of the dryer as found."""

from __future__ import annotations

import numpy as np

from energy.study.at_work import COOLER
from energy.walkthrough.balance import left_over
from energy.walkthrough.evidence import SURE, Cause, Evidence
from energy.walkthrough.jacket_read import thickness_where
from energy.walkthrough.quantities import losses
from energy.walkthrough.walls import good_jacket, good_wall, hotter_than_good, wall_of

BARE = 0.6
"""Share of the difference between process air and hall that a wall without a jacket has at least: pellets and air inside keep it
somewhat colder than the model's bare wall, which has all of it; by judgement. [-]"""
WALL, JACKETED = "Bare hopper", "Hopper with a thin jacket"


def poor_jacket(e: Evidence) -> Cause | None:
    """A wall hotter than that of a usual jacket."""
    found, surface = e.found, e.found.readings.shell_temperature
    if surface is None or not hotter_than_good(found):
        return None
    there = thickness_where(lambda thickness: _first(wall_of(found, thickness).outer) - surface)
    saved = e.mended(read={"insulation_thickness": there}, insulation_thickness=good_jacket(found))
    if saved is None:
        return None
    hall = float(found.duty.hall_temperature[0])
    bare = surface - hall >= BARE * (float(found.duty_found.drying_temperature[0]) - hall)
    return Cause(
        name=WALL if bare else JACKETED,
        text=f"The hopper's wall is {e.show(float(surface), 'temperature')}; with a good jacket it would be "
        f"{e.show(good_wall(found), 'temperature')}.",
        physics=_physics(_not_saved(e, saved.power, there, good_jacket(found))),
        power=saved.power,
        energy=saved.energy,
        money=saved.money,
    )


def unexplained_heat(e: Evidence) -> Cause | None:
    """The air gives more heat than resin, water and shell take."""
    found, rest = e.found, left_over(e.found, e.given)
    value, off = rest.value, rest.uncertainty
    if value < SURE * off or not e.read("return_temperature") or {"throughput", "air_flow"} & {*e.doubted}:
        return None
    if found.readings.shell_temperature is not None:
        return None
    own = float(found.machine.inputs.insulation_thickness)
    lost = losses(found.as_found, found.duty_found)[1] + value
    there = thickness_where(lambda thickness: _first(wall_of(found, thickness).hopper) - lost)
    saved = e.mended(read={"insulation_thickness": min(there, own)}, insulation_thickness=own)
    if saved is None:
        return None
    return Cause(
        name="Heat lost at the hopper",
        text=f"The air leaves {e.show(value, 'power')} more in the hopper than resin, water and jacket should take.",
        physics="A bare or wet jacket, hot air leaking out at the lid, or resin wetter than said; feel the wall, then "
        f"read its temperature. The saving is that of a jacket.{_not_saved(e, saved.power, min(there, own), own)}",
        power=saved.power,
        energy=saved.energy,
        money=saved.money,
    )


_COOLED = (
    " While it runs, most of what the hopper loses would stay in air and pellets otherwise, and go on to the cooler of the return air "
    "where the pellets are warm: a jacket saves at the hot duct and at starts from cold, and less air may do with it."
)


def _physics(not_saved: str) -> str:
    wall = "The wall warms the hall by convection and radiation day and night"
    if not_saved:
        return f"{wall}; a jacket of mineral wool stops most of it.{not_saved}"
    return f"{wall}; the heater gives it back. A jacket of mineral wool stops most of it."


def _not_saved(e: Evidence, power: float, thin: float, good: float) -> str:
    """Where most of what the wall no longer loses behind a good jacket goes, if it is not the heater that need not give it."""
    operation = e.found.expected if "air_flow" in e.doubted else e.found.as_found
    kept = _first(wall_of(e.found, thin).hopper) - _first(wall_of(e.found, good).hopper)
    cooler = any(name.startswith(COOLER) for name in operation.heat_out)
    return _COOLED if cooler and power < 0.5 * kept else ""


def _first(value: object) -> float:
    return float(np.ravel(np.asarray(value))[0])
