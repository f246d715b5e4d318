"""What the findings of a walkthrough are worth beside what a comparison says of the same change where the case counts the dryer by its meter."""

from __future__ import annotations

from energy.walkthrough.causes import UNEXPLAINED_POWER
from energy.walkthrough.found import power_read
from energy.walkthrough.walk import Walkthrough


def beside_the_meter(walkthrough: Walkthrough) -> list[str]:
    """How a comparison tells the money of findings, where the case counts the dryer by a meter that they are not brought to; else nothing."""
    found, saved = walkthrough.balance.found, [c for c in walkthrough.causes if c.power > 0.0]
    ratio = found.metered
    if (
        not [c for c in saved if c.name != UNEXPLAINED_POWER]
        or ratio == 1.0
        or (ratio < 1.0 and power_read(found.readings))
    ):
        return []
    said = f"The case counts this dryer at {ratio:.3g} times the model, as its meter said"
    if ratio > 1.0:
        return [
            f"{said}: a comparison lets what is beyond the model fall in proportion with a retrofit and tells about {ratio:.3g} times this "
            "money. It is left out here, since nobody knows what takes it."
        ]
    return [
        f"{said}, and no power was read now: findings are the model's, and a comparison tells about {ratio:.3g} times this money."
    ]
