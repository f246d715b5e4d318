"""What a simulation says of an option, where one was run."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from energy.study.compare import OptionResult


@dataclass(frozen=True, slots=True, kw_only=True)
class Odds:
    """Shares are of the draws; percentiles are 10, 50 and 90 %."""

    draws: int
    npv_positive: float
    never: float
    within: Mapping[float, float]
    """Years -> share of the draws whose payback lies within them."""
    npv: tuple[float, float, float]

    def share(self, share: float) -> str:
        """Such as "8 of 10"."""
        return f"{round(100 * share)} of 100"

    def payback(self, limit: float | None) -> str:
        """Chance of the payback that is accepted."""
        if limit is None or not self.within:
            return ""
        years = max((y for y in self.within if y <= limit + 1e-9), default=None)
        return "" if years is None else f"within {years:g} years in {self.share(self.within[years])} draws"

    def sentences(self, currency: str) -> Iterator[str]:
        low, middle, high = (f"{float(f'{value:.3g}'):,.0f}".replace("-", "−") for value in self.npv)
        yield (
            f"In {self.draws:,} draws of all uncertain inputs together the net present value lies between {low} and {high} "
            f"{currency} in eight of ten; half of the draws lie above {middle}."
        )
        yield f"It is above zero in {self.share(self.npv_positive)} draws; in {self.share(self.never)} the money never comes back."
        for years, share in sorted(self.within.items()):
            if 0.05 < share < 0.995:
                yield f"The money is back within {years:g} years in {self.share(share)} draws."


def of(simulation: Any, option: OptionResult | None) -> Odds | None:
    """The part of a simulation that is about an option; None without one."""
    if simulation is None or option is None:
        return None
    found = next(o for o in simulation.options if o.name == option.name)
    spread = found.net_savings
    p10, p50, p90 = (
        spread[key] if isinstance(spread, Mapping) else getattr(spread, key) for key in ("p10", "p50", "p90")
    )
    return Odds(
        draws=int(simulation.draws),
        npv_positive=float(found.npv_positive),
        never=float(found.never_share),
        within={float(years): float(share) for years, share in found.payback_within.items()},
        npv=(float(p10), float(p50), float(p90)),
    )
