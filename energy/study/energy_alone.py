"""What energy saved is worth where no peak falls: two bills of one load, with and without a part of the energy."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from energy.study import air_price, meter
from energy.study.bills import Bills
from energy.study.case import Case
from energy.study.compare import OptionResult


def worth(case: Case, base: OptionResult, option: OptionResult, name: str, saved: float) -> float:
    """By how much the bill of a meter falls in a year by energy saved, its peaks left as they are.

    The energy goes in the hours in which the dryers that take more run, in proportion to their power; beyond all that they
    take it is priced like that.

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
    most = max((base, option), key=lambda dryers: sum(map(dryers.carrier, carriers)))
    taken = sum(map(most.carrier, carriers))
    share = float(np.clip(saved / taken, -1.0, 1.0)) if taken > 0.0 else 0.0
    if tariff is None or share == 0.0:
        return 0.0
    bills = Bills(case=case, present=base.year)
    load, before = bills.of(name, tariff, carriers, most.year)
    without = bills.load_without(name, tariff, carriers, most.year)
    less = {
        key: whole - share * (whole - np.minimum(whole, rest))
        for key in ("energy", "cell_energy", "volume")
        if (whole := getattr(load, key)) is not None and (rest := getattr(without, key)) is not None
    }
    after = meter.billed(tariff, replace(load, **less))
    fall = float(before.total - after.total) * float(np.squeeze(meter.price_factor(case, name)))
    return fall * saved / (share * taken)


def air_worth(case: Case, base: OptionResult, option: OptionResult, saved: float) -> float:
    """The same of compressed air at a known cost, which is in no bill. [J/year] of its compressor to [money/year]"""
    most = max((base, option), key=lambda dryers: dryers.carrier("compressed air"))
    cost, taken = air_price.known_cost(case.model.compressed_air, most.year.free_air), most.carrier("compressed air")
    return float(np.sum(cost)) * saved / taken if cost is not None and taken > 0.0 else 0.0
