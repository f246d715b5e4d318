"""One dryer on a resin, and what its verdict says: made for several tests."""

from __future__ import annotations

from cases import HOT, NEW, alone, resin

from energy.study.compare import compare

WARM_HALL = {"site.hall_temperature": "32 degC"}


def hot_air(name, dew_point="12 degC", **values):
    """Hot air on a resin in a warm hall of that dew point."""
    of = {**resin(name, **values), **WARM_HALL, "site.hall_dew_point": dew_point}
    return compare(alone(HOT, of)).baseline.verdict


def desiccant(name, **values):
    """A desiccant dryer on a resin."""
    return compare(alone(NEW, resin(name, **values)))


def finding(verdict, check):
    return next(f for f in verdict.findings if f.check == check)
