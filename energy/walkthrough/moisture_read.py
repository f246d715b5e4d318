"""Moisture of the pellets leaving, as read: beside what is predicted for the dryer as it was found, and the diffusivity that gives it."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

import numpy as np

from energy.dryers.base import Array, Operation
from energy.dryers.way_through_hopper import tanks_of
from energy.resins.properties import Resin, load_resin
from energy.study.predicted_moisture import diffusivities, floor_moisture, remaining_moisture
from energy.units import show
from energy.walkthrough.doubt import Doubt, system_of
from energy.walkthrough.estimate import Estimate, estimate
from energy.walkthrough.found import Found, half_width, usual
from energy.walkthrough.moisture_spread import Share, diffusivity_of
from energy.walkthrough.slips_of_dew_point import slip_of_dew_point

NAME = "outlet_moisture"
HANGS_ON = ("process_temperature", "dew_point", "throughput", "air_flow")
"""Quantities that the prediction hangs on: where one is doubted, the moisture says nothing of the resin."""
NOTHING = 1e-6
"""Less than this no analyser shows. [kg/kg dry]"""
SURFACE, UNKNOWN, DOUBTED, NOT_RUN = "surface", "unknown", "doubted", "not run"
FLOOR, HARDLY, WETTER, DRIER = "floor", "hardly", "wetter", "drier"
"""Why a reading gives no diffusivity; see `reports/moisture_words.py`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pellets:
    """Moisture read of the pellets leaving beside what is predicted; dry basis."""

    read: Estimate
    target: float
    initial: float
    """Of the pellets fed, by the case."""
    hot: float
    """Process air. [K]"""
    dew_point: float
    """[K]"""
    throughput: float
    """[kg/s]"""
    floor: float | None
    """In equilibrium with that air."""
    band: tuple[float, float, float] | None
    """Predicted, with the fastest and with the slowest diffusion of the data; None without data."""
    diffusivity: tuple[float, float, float] | None = None
    """That gives the reading, and its range; None where it is not taken over. [m2/s]"""
    rests_on: tuple[Share, ...] = ()
    """What that range rests on, most of it first."""
    why_not: str = ""
    """Why there is none."""
    doubted: tuple[str, ...] = ()
    """Of `HANGS_ON`, what is to be checked first."""


def pellets_read(found: Found, doubted: Collection[str]) -> Pellets | None:
    """What a moisture of the pellets leaving says; None where none was read, or one that cannot be.

    Parameters
    ----------
    found : Found
    doubted : collection of str
        Quantities that are to be checked first.
    """
    if found.readings.outlet_moisture is None:
        return None
    duty, operation, resin = found.duty_found, _as_read(found), found.duty.resin
    floor = floor_moisture(duty, operation)
    known = diffusivities(resin) if resin.hygroscopic else None
    in_doubt = tuple(name for name in HANGS_ON if name in doubted or name in found.aside)
    told = Pellets(
        read=_estimate(found),
        target=float(duty.final_moisture[0]),
        initial=float(duty.initial_moisture[0]),
        hot=float(duty.drying_temperature[0]),
        dew_point=float(operation.delivered_dew_point[0]),
        throughput=float(duty.throughput[0]),
        floor=None if floor is None else float(floor[0]),
        band=None,
        doubted=in_doubt,
    )
    if known is None:
        return replace(told, why_not=UNKNOWN if resin.hygroscopic else SURFACE)
    tanks = tanks_of(found.inputs_found.hopper_flow)

    def left(diffusivity: Array) -> Array:
        return np.ravel(remaining_moisture(duty, operation, diffusivity, tanks))

    slow, likely, fast = map(float, left(np.array(known)))
    told = replace(told, band=(likely, fast, slow))
    if in_doubt or found.notes:
        return replace(told, why_not=DOUBTED if in_doubt else NOT_RUN)
    published = np.array(diffusivities(_data_of(found)))
    most, _, least = map(float, left(published))
    value, off = told.read.value, told.read.expanded
    if value > most + off or value < least - off:
        return replace(told, why_not=WETTER if value > most else DRIER)
    if value - off <= (told.floor or 0.0):
        return replace(told, why_not=FLOOR)
    if most - least <= off:
        return replace(told, why_not=HARDLY)
    if not least <= value <= most:
        return replace(told, why_not=WETTER if value > most else DRIER)
    given = diffusivity_of(found, operation, told.read, (float(published[0]), float(published[2])))
    if given is None:
        return replace(told, why_not=NOT_RUN)
    return replace(told, diffusivity=given[0], rests_on=given[1])


def slip_of_moisture(found: Found) -> Doubt | None:
    """A moisture that the pellets leaving cannot have: more than they came with, or less than the air leaves in them."""
    read = found.readings.outlet_moisture
    if read is None:
        return None
    off, initial, floor = _half_width(found), float(found.duty.initial_moisture[0]), _floor(found)
    system, shown = system_of(found), show(read, "moisture", "ppm")
    first = f"Check the moisture of the pellets leaving: {shown} is"
    if read - off > initial:
        brief = "wetter than they came in"
        text = (
            f"{first} wetter than the pellets come in by the case ({show(initial, 'moisture', 'ppm')}). A slip of ten, or are they fed wetter than "
            "that (initial_moisture of the hopper)?"
        )
    elif read < NOTHING:
        brief = "less than an analyser shows"
        text = f"{first} less than any analyser shows. Per cent taken for ppm?"
    elif read + off < floor:
        brief = "drier than its air lets them"
        air = (found.duty_found.drying_temperature[0], _as_read(found).delivered_dew_point[0])
        hot, dew_point = (show(float(t), "temperature", system) for t in air)
        text = (
            f"{first} drier than air of {hot} with a dew point of {dew_point} leaves them in the long run "
            f"({show(floor, 'moisture', 'ppm')}). A slip of ten, or is the air drier than that? Read its dew point."
        )
    else:
        return None
    return Doubt(name=NAME, reading=NAME, brief=f"{brief}: check it", text=text, cannot_be=True)


def _half_width(found: Found) -> float:
    """How far the reading may be off: of a small one, no less than what an analyser tells apart."""
    half = half_width(found.readings, NAME)
    return half if NAME in found.readings.accuracy else max(half, usual("moisture_told_apart"))


def _estimate(found: Found) -> Estimate:
    return estimate(float(found.readings.outlet_moisture or 0.0), _half_width(found), "read")


def _as_read(found: Found) -> Operation:
    """The dryer as found, with the dew point that was read, else that which the case has of it, else the model's."""
    of_case, expected = found.delivered_dew_point, float(np.ravel(found.expected.delivered_dew_point)[0])
    dew_point = found.readings.dew_point
    if dew_point is None:
        dew_point = of_case if of_case != expected else float(np.ravel(found.as_found.delivered_dew_point)[0])
    return replace(found.as_found, delivered_dew_point=np.array([float(dew_point)]))


def _floor(found: Found) -> float:
    """What the air leaves in the pellets in the long run; 0 where that is not known, or the dew point is to be checked."""
    floor = floor_moisture(found.duty_found, _as_read(found))
    known = floor is not None and not found.duty.resin.of_another("sorption_slope") and slip_of_dew_point(found) is None
    return float(floor[0]) if floor is not None and known else 0.0


def _data_of(found: Found) -> Resin:
    """The resin with the range that is published of its diffusion: that of an earlier reading is none of it."""
    resin = found.duty.resin
    row = found.case.document["hoppers"][found.place]
    own = row.get("own_resin", {}).get("diffusivity")
    if not isinstance(own, Mapping) or own.get("basis") != "measured":
        return resin
    if row["resin"].lower() != "own":
        stored = load_resin(row["resin"])
        keys = ("diffusivity_temperature", "diffusion_activation_energy")
        if stored.diffusivity is not None and all(getattr(stored, key) == getattr(resin, key) for key in keys):
            return stored
    return replace(resin, ranges=())
