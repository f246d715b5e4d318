"""Where a flow saves money and never owes any: it pays back at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from energy.finance.measures import nothing_to_pay_back

_NOTHING = 0.005
"""Amount below which there is none: half of the least coin. [money]"""


def at_once(flows: ArrayLike) -> NDArray[np.bool_]:
    """Where a payback is missing because no extra money is ever owed, while some is saved.

    Parameters
    ----------
    flows : array_like, shape (..., n + 1)
        Net cash flow of years 0 to n, outlays negative. [money]

    Returns
    -------
    ndarray of bool, shape (...)
        False, too, where nothing is paid and nothing saved.
    """
    flows = np.asarray(flows, dtype=float)
    return np.asarray(nothing_to_pay_back(flows) & np.any(np.abs(flows) > _NOTHING, axis=-1))
