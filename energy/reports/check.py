"""The result of the check afterwards: what the meters show, what is credited beside it, and whether that is enough."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from energy.reports.above_forecast import Peaks
from energy.study.afterwards import Adjusted


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """The result; money at prices of the base year."""

    option: str
    saved: dict[str, Adjusted]
    """By carrier metered."""
    signed: dict[str, tuple[float, float]]
    """By carrier metered: what the present dryers take by the request, and what those asked for. [J/year]"""
    days: float
    """Length of the periods after."""
    carried: str
    """By what they are carried to a year, in words."""
    money: dict[str, float]
    """Metered, by bill; over a year. [money/year]"""
    doubt: float
    """Half-width of all that is metered, 95 of 100. [money/year]"""
    forecast: dict[str, float]
    """Costs that no meter shows, as forecast, or what of it the meters leave possible. [money/year]"""
    needed: float
    """What the approval rests on. [money/year]"""
    expected: float
    """Forecast of the request. [money/year]"""
    far: tuple[str, ...]
    """Energy before, energy and throughput of a period after, that cannot be those of the request, and any period of more resin than all
    dryers are built for or of energy below what its resin takes up: nothing is decided then."""
    beyond: tuple[str, ...]
    """What else is to be said of the periods: carriers that took the place of others, odd ones, and throughput other than before or than
    the case's."""

    if_base: float | None = None
    """Saving if all that was taken before were base load, where the periods before cannot tell it and others were run after. [money/year]"""

    peaks: dict[str, Peaks] = field(default_factory=dict)
    """By bill, those forecast that the meters disprove."""

    unread: dict[str, str] = field(default_factory=dict)
    """Bills of whose energy nothing is metered: what they are for, in words."""

    system: str = "si"
    """Units that it is told in."""

    @property
    def total(self) -> float:
        """[money/year]"""
        return sum(self.money.values()) + sum(self.forecast.values())

    @property
    def read(self) -> float:
        """What the meters show. [money/year]"""
        return sum(self.money.values())

    @property
    def credited(self) -> float:
        """What no meter shows, as forecast, or what of it the meters leave possible. [money/year]"""
        return sum(self.forecast.values())

    @property
    def forecast_read(self) -> float:
        """What the meters were to show. [money/year]"""
        return self.expected - self.credited - sum(one.credit - one.left for one in self.peaks.values())

    @property
    def asked(self) -> float:
        """What the meters have to show: the share of their own forecast that is needed of the whole, or more where the rest costs. [money/year]"""
        own = self.forecast_read
        return max(self.needed - self.credited, own * self.needed / self.expected if self.expected > 0.0 else own)

    @property
    def to_pass(self) -> float:
        """What the meters have to show for a pass, their doubt and what is left of disproved peaks on top of what is needed. [money/year]"""
        left = sum(one.left for one in self.peaks.values())
        return max(self.asked, self.needed - self.credited + left) + self.doubt

    @property
    def either(self) -> tuple[float, float]:
        """What the meters show, and what they show if all that was taken before were base load. [money/year]"""
        return self.read, self.read if self.if_base is None else self.if_base - self.credited

    @property
    def word(self) -> str:
        """Passed, failed, or not decided by these meters.

        A saving is passed by what was measured, and not by peaks that the meters disprove; it has failed where it falls short
        even with all that is credited.
        """
        if self.far:
            return "not decided"
        if self.enough and not self.hangs_on_peaks:
            return "passed"
        return "failed" if max(self.either) + self.doubt < self.needed - self.credited else "not decided"

    @property
    def enough(self) -> bool:
        """Do the meters show what they have to, with all that is credited?"""
        return min(self.either) - self.doubt >= self.asked

    @property
    def hangs_on_peaks(self) -> bool:
        """Is it not enough without what is left of peaks that the meters disprove?"""
        return bool(self.peaks) and self.asked_of_peaks > 0.0

    @property
    def asked_of_peaks(self) -> float:
        """What peaks that the meters disprove would have to save for what is needed. [money/year]"""
        left = sum(one.left for one in self.peaks.values())
        return self.needed - (self.credited - left) - (min(self.either) - self.doubt)

    def share(self, *names: str) -> tuple[float, float] | None:
        """Energy saved of what was expected, and its half-width, of some carriers together; None where none was expected. [-]"""
        alike = [self.saved[name] for name in names or self.saved]
        whole = sum(one.expected for one in alike)
        if not whole > 0.0:
            return None
        return sum(one.saved for one in alike) / whole, math.hypot(*(one.doubt for one in alike)) / whole

    def forecast_share(self, *names: str) -> float | None:
        """The same as the request counts it; None where the present dryers take none. [-]"""
        alike = [self.signed[name] for name in names or self.signed]
        before, after = (sum(pair[i] for pair in alike) for i in (0, 1))
        return 1.0 - after / before if before > 0.0 else None
