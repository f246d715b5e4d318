"""What compressed air costs where its cost is known, and what electricity that amounts to."""

from __future__ import annotations

import numpy as np

from energy import tariffs
from energy.dryers.base import Array
from energy.errors import OutOfRangeError
from energy.study.price_sections import CompressedAir


def electricity_price(tariff: tariffs.Tariff, seconds: Array) -> float:
    """Price of a kilowatt drawn all through production, demand included, fixed charges not.

    Parameters
    ----------
    tariff : Tariff
        Of electricity.
    seconds : ndarray, shape (12,)
        Production in each month. [s]

    Returns
    -------
    float
        NaN where there is no production. [money/J]
    """
    if not seconds.sum() > 0.0:
        return float("nan")
    kilowatt = np.where(seconds > 0.0, 1e3, 0.0)
    drawn = tariffs.bill(tariff, tariffs.Load(energy=1e3 * seconds, peak=kilowatt)).total
    nothing = tariffs.bill(tariff, tariffs.Load(energy=0.0 * seconds, peak=0.0 * seconds)).total
    return float((drawn - nothing) / (1e3 * seconds.sum()))


def implied(section: CompressedAir, electricity_price: float | None) -> float:
    """Electricity per volume that a known cost of air amounts to, as if it were all electricity. [J/m3]

    Raises
    ------
    OutOfRangeError
        No price of electricity above 0 [money/J].
    """
    assert section.cost is not None
    if electricity_price is None or not electricity_price > 0.0:
        raise OutOfRangeError(
            "electricity has no price above 0, so the known cost of air does not tell what electricity it takes; "
            "give specific_power or isentropic_efficiency instead"
        )
    return section.cost / electricity_price


def known_cost(section: CompressedAir | None, free_air: Array) -> Array | None:
    """Money for air at its known cost, in place of its electricity's bill; None where no cost is given.

    Parameters
    ----------
    section : CompressedAir or None
    free_air : ndarray, shape (..., 12)
        Free air sent in each month. [m3]

    Returns
    -------
    ndarray, shape (...), or None
        [money]
    """
    if section is None or section.cost is None:
        return None
    return np.asarray(free_air.sum(-1) * np.squeeze(section.cost))
