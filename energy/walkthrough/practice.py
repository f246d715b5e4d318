"""What practice asks of the air that dries a resin, and the words for air that is damper."""

from __future__ import annotations

from dataclasses import dataclass

from energy.study.drying_checks import METER
from energy.walkthrough.found import Found

WITHIN = "damper than practice asks, within what practice accepts"
BEYOND = "too damp"


@dataclass(frozen=True, slots=True, kw_only=True)
class DewPoints:
    """What a resin's sheet says of the air that dries it. [K]"""

    asked: float
    accepted: float

    def damper(self, read: float, half_width: float) -> bool:
        """Is air damper than asked, by more than its meter is off?"""
        return read > self.asked + max(half_width, METER)

    def refused(self, read: float) -> bool:
        """Is it damper than practice accepts?"""
        return read > self.accepted + METER


def dew_points(found: Found) -> DewPoints | None:
    """None where nobody asks for dry air."""
    resin = found.duty.resin
    if resin.dew_point is None or not found.expected.air_dried:
        return None
    stored = resin.data.get("dew_point")
    accepted = resin.dew_point if stored is None or stored.si_high is None else stored.si_high
    return DewPoints(asked=float(resin.dew_point), accepted=float(accepted))
