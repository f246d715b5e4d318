"""What a bill gives back of a fall of power, in a sentence."""

from __future__ import annotations

import math
from collections.abc import Callable

from energy.tariffs import Saving

NEARLY_ALL = 0.95
"""Share of what the fall of power is worth from which nothing needs a reason; by judgement. [-]"""
SHARED = "what is billed is a peak that they share with other hours, as of the rest of the plant, a start from cold or an old peak"


def demand_words(saving: Saving, money: Callable[[float], str]) -> str:
    """How much of what the fall of the dryers' power is worth at the full demand rates the bill gives back; empty without demand.

    Parameters
    ----------
    saving : Saving
        Without draws.
    money : callable
        Writes an amount, with its currency where it is wanted.
    """
    share, possible = float(saving.demand_realised()), float(saving.demand_possible)
    if not math.isfinite(share):
        return ""
    falls = possible > 0.0
    if share < 0.0:
        return (
            f"The dryers' power {'falls' if falls else 'rises'}, which would be worth {money(abs(possible))} a year at the full demand rates; but the "
            f"demand lines of the bill {'rise' if falls else 'fall'} by {money(abs(share * possible))}: {SHARED}."
        )
    said = (
        f"At the full demand rates the {'fall' if falls else 'rise'} of the dryers' power would be worth {money(abs(possible))} a year; "
        f"{100 * share:,.0f} % of that {'comes off' if falls else 'comes onto'} the bill"
    )
    if share >= NEARLY_ALL:
        return f"{said}."
    return f"{said}: {SHARED}."
