"""What energy saved is worth where no peak falls: two bills of one load, with and without a part of the energy."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from energy.study import air_price, meter
from energy.study.bills import Bills
from energy.study.case import Case
from energy.study.compare import OptionResult
from energy.tariffs import Load

ONE_WAY = 0.5
"""Net saving over all that goes up or down in price cells, from which the saving has hours of its own; by judgement. [-]"""


def worth(case: Case, base: OptionResult, option: OptionResult, name: str, saved: float) -> float:
    """By how much the bill of a meter falls in a year by energy saved, its peaks left as they are.

    The energy goes in the hours in which the two differ by the case, so that as much as the case counts is worth what its bills
    say of it; more or less of it is priced in proportion. Where they hardly differ, or take more in some hours as they take less in
    others, it goes in the hours in which the dryers that take more run, in proportion to their power.

    Parameters
    ----------
    case : Case
    base, option : OptionResult
        The present dryers, which plant readings hold, and those in their place.
    name : str
        Of the yearly cost, ``electricity`` or ``gas``.
    saved : float
        Below 0 where more is taken. [J/year]

    Returns
    -------
    float
        [money/year]; 0 where neither takes any.
    """
    tariff, carriers = next((tariff, carriers) for key, tariff, carriers in meter.meters(case) if key == name)
    less, most = sorted((option, base), key=lambda dryers: sum(map(dryers.carrier, carriers)))
    taken, kept = (sum(map(dryers.carrier, carriers)) for dryers in (most, less))
    if tariff is None or saved == 0.0 or not taken > 0.0:
        return 0.0
    bills = Bills(case=case, present=base.year)
    load, before = bills.of(name, tariff, carriers, most.year)
    without = bills.load_without(name, tariff, carriers, most.year)
    other = bills.of(name, tariff, carriers, less.year)[0]
    own = _one_way(load, other, taken - kept)
    whole = taken - kept if own else taken
    # What is taken more, as the case counts, is what comes off on the way back.
    share = float(np.clip((-saved if own and most is option else saved) / whole, -1.0, 1.0))
    moved = {}
    for key in ("energy", "cell_energy", "volume"):
        now, then, rest = (getattr(one, key) for one in (load, other, without))
        if now is not None and then is not None and rest is not None:
            least = np.minimum(now, rest)
            moved[key] = np.maximum(now - share * (now - (then if own else least)), least)
    after = meter.billed(tariff, replace(load, **moved))
    fall = float(before.total - after.total) * float(np.squeeze(meter.price_factor(case, name)))
    return fall * saved / (share * whole)


def _one_way(load: Load, other: Load, whole: float) -> bool:
    """Do two loads differ in one direction mostly? [J/year]"""
    one, two = (load.energy if load.cell_energy is None else load.cell_energy for load in (load, other))
    if one is None or two is None:
        return False
    return whole > 0.0 and whole >= ONE_WAY * float(np.sum(np.abs(one - two)))


def air_worth(case: Case, base: OptionResult, option: OptionResult, saved: float) -> float:
    """The same of compressed air at a known cost, which is in no bill. [J/year] of its compressor to [money/year]"""
    most = max((base, option), key=lambda dryers: dryers.carrier("compressed air"))
    cost, taken = air_price.known_cost(case.model.compressed_air, most.year.free_air), most.carrier("compressed air")
    return float(np.sum(cost)) * saved / taken if cost is not None and taken > 0.0 else 0.0
