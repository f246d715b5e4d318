"""What a moisture of the pellets leaving says, in sentences."""

from __future__ import annotations

from energy.reports.rows import joined
from energy.reports.walkthrough_words import label
from energy.study.plant_sections import OwnResin
from energy.units import Quantity, show
from energy.walkthrough.found import Found
from energy.walkthrough.moisture_read import (
    DOUBTED,
    DRIER,
    FLOOR,
    HARDLY,
    NOT_RUN,
    NOTHING,
    SURFACE,
    UNKNOWN,
    WETTER,
    Pellets,
)

SAME = 0.005
"""Difference up to which a diffusivity is that of the case. [-]"""


def ppm(moisture: float) -> str:
    """A moisture of dried pellets, wet basis."""
    return show(moisture, "moisture", "ppm") if moisture >= NOTHING else "less than 1 ppm"


def of_pellets(found: Found, pellets: Pellets | None, system: str) -> list[str]:
    """The reading beside target and prediction, what that is of, and what becomes of it; nothing where none counts."""
    if pellets is None:
        return []
    return [
        *(_beside(found, pellets), _conditions(pellets, system)),
        _not_taken(found, pellets) if pellets.why_not else _taken(found, pellets, system),
    ]


def not_taken_over(found: Found, pellets: Pellets | None) -> list[str]:
    """That a moisture is not taken over, and why, in a sentence; nothing where it is."""
    return [_not_taken(found, pellets)] if pellets is not None and pellets.why_not else []


def _beside(found: Found, pellets: Pellets) -> str:
    read, off = pellets.read.value, pellets.read.expanded
    said = f"The pellets leave with {ppm(read).removesuffix(' ppm')} ± {show(off, 'moisture', 'ppm', digits=2)}: {_beside_target(pellets)}"
    if pellets.band is None:
        return f"{said}."
    likely, low, high = pellets.band
    apart = "as wet as predicted, as far as the reading tells" if abs(read - likely) <= off else ""
    apart = apart or ("wetter than predicted" if read > likely else "drier than predicted")
    other = found.duty.resin.of_another("diffusivity")
    place = "inside" if low <= read <= high else "at the edge" if low - off <= read <= high + off else "outside"
    return f"{said}, and {apart} ({ppm(likely)}), {place} of the band of the diffusion data{f' of {other}' if other else ''} ({ppm(low)} to {ppm(high)})."


def _beside_target(pellets: Pellets) -> str:
    over, target = pellets.read.value - pellets.target, f"the target of {ppm(pellets.target)}"
    said = f"above {target}" if over > NOTHING else f"they meet {target}"
    return said if abs(over) > pellets.read.expanded else f"{said}, but by less than the reading may be off"


def _conditions(pellets: Pellets, system: str) -> str:
    hot, dew_point = (show(t, "temperature", system) for t in (pellets.hot, pellets.dew_point))
    return (
        f"That is of {show(pellets.throughput, 'mass flow', system)} in air of {hot} with a dew point of {dew_point}, as read or else as in the case, "
        f"and of pellets that come in with {ppm(pellets.initial)} by the case."
    )


def _taken(found: Found, pellets: Pellets, system: str) -> str:
    quantity = next(m for m in OwnResin.model_fields["diffusivity"].metadata if isinstance(m, Quantity))
    unit = quantity.unit(system)
    value, low, high = (show(d, quantity.kind, unit, digits=2) for d in pellets.diffusivity or ())
    before = show(float(found.duty.resin.diffusivity or 0.0), quantity.kind, unit, digits=2)
    if abs((pellets.diffusivity or (0.0,))[0] / float(found.duty.resin.diffusivity or 1.0) - 1.0) < SAME:
        return f"The case counts with that: a diffusivity of water of {value}."
    return (
        f"Taken over, it gives the resin of this hopper a diffusivity of water of {value} ({low} to {high}) in place of {before}, and all options are "
        f"judged by the resin as it dries here. {_rests_on(pellets, system)}"
    )


_WHAT = {
    "outlet_moisture": ("the moisture read", "moisture"),
    "initial_moisture": ("the moisture of the pellets fed", "moisture"),
    "process_temperature": ("the process temperature", "temperature difference"),
    "dew_point": ("the dew point", "temperature difference"),
    "throughput": ("the throughput", "mass flow"),
    "air_flow": ("the airflow", "gas flow"),
}
LITTLE = 0.05
"""Of what moves the diffusivity most, up to which a quantity is not named. [-]"""


def _rests_on(pellets: Pellets, system: str) -> str:
    """What the range of the diffusivity rests on."""
    told = []
    for share in pellets.rests_on:
        if share.moves < LITTLE * pellets.rests_on[0].moves:
            continue
        words, kind = _WHAT[share.name]
        unit = "ppm" if kind == "moisture" else system
        told.append(f"{words} (± {show(share.off, kind, unit, digits=2)}{', ' if share.note else ''}{share.note})")
    first = "That range rests on" if len(told) == 1 else "That range rests, most of it first, on"
    return f"{first} {joined(told)}."


def _not_taken(found: Found, pellets: Pellets) -> str:
    resin, floor = found.duty.resin.called, ppm(pellets.floor or 0.0)
    told = {
        SURFACE: f"{resin} holds water on its surface only, so that the moisture cannot be compared with a prediction of diffusion.",
        UNKNOWN: f"There are no diffusion data for {resin}, so that the moisture cannot be compared with a prediction.",
        DOUBTED: f"The moisture is not taken over before this is checked: {joined([label(name).lower() for name in pellets.doubted])}.",
        NOT_RUN: "The moisture is not taken over, since the model cannot run the dryer as it was read.",
        FLOOR: f"The moisture is not taken over: it cannot be told from what this air leaves in them in any time ({floor}), whatever the diffusivity.",
        HARDLY: "The moisture is not taken over: over all that the data allow of the diffusivity the prediction moves by less than the reading may be off.",
        WETTER: f"The moisture is not taken over, since no diffusivity that the data of {resin} allow leaves so much: something else is likelier. Read the "
        "temperature of pellets from the outlet (cold pellets), the dew point at the hopper (damp air) and the throughput (pellets that pass through quickly, "
        "also down the middle), and take another sample in a closed bottle: hot dry pellets take up water on the way.",
        DRIER: f"The moisture is not taken over, since no diffusivity that the data of {resin} allow leaves so little: something else is likelier. Measure the "
        "moisture of the pellets fed (drier than the case has it), read the throughput and the level in the hopper (a longer stay) and the process air "
        "(hotter), and look whether the analyser drove all water out.",
    }
    return told[pellets.why_not]
