"""Arrays of floats, and the one range check of the engine: it writes every range error."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from energy.errors import OutOfRangeError

FloatArray = NDArray[np.float64]
OnRange = Literal["raise", "nan"]
_FEW = 200  # values


def floats(values: ArrayLike) -> FloatArray:
    """Values as an array of floats, itself where it is one already; None becomes NaN."""
    return np.asarray(values, dtype=np.float64)


def check(
    name: str, values: ArrayLike, low: float, high: float, unit: str, source: str, on_range: OnRange = "raise"
) -> FloatArray:
    """Values as floats, refused (or replaced by NaN) where they lie outside a closed range or are NaN.

    Parameters
    ----------
    name : str
        What the values are, as the caller knows it.
    values : array_like, shape (...)
        The values. [unit]
    low, high : float
        Ends of the range, both allowed, and 1e-12 of themselves beyond: rounding of unit conversions. [unit]
    unit : str
        Unit for the message; "" for a pure number.
    source : str
        What has that range, to end the sentence "... is outside 0 to 1, the range of".
    on_range : {"raise", "nan"}
        What to do with values out of range.

    Returns
    -------
    ndarray, shape (...)
        The values, in a new array only where something had to be replaced. [unit]

    Raises
    ------
    OutOfRangeError
        Any value out of range or NaN, and ``on_range="raise"``.
    ValueError
        ``on_range`` is neither "raise" nor "nan".
    """
    if on_range not in ("raise", "nan"):
        raise ValueError(f"on_range = {on_range!r} is not allowed; write 'raise' or 'nan'")
    array = floats(values)
    if array.size == 0:
        return array
    # Every quantity passes here, mostly of few values: for those the place of the least is found faster than the least.
    # It is that of a NaN where there is one.
    if array.size <= _FEW:
        least, most = array.item(array.argmin()), array.item(array.argmax())
    else:
        least, most = np.minimum.reduce(array, axis=None), np.maximum.reduce(array, axis=None)
    if least >= low and most <= high:  # false for NaN too
        return array
    low_end, high_end = low - 1e-12 * abs(low), high + 1e-12 * abs(high)
    if least >= low_end and most <= high_end:
        return array
    inside = (array >= low_end) & (array <= high_end)
    if on_range == "nan":
        return np.where(inside, array, np.nan)
    bad = array[~inside]
    of_unit = f" {unit}" if unit else ""
    count = f" ({bad.size} of {array.size} values)" if array.size > 1 else ""
    allowed = f"{low:.9g} to {high:.9g}{of_unit}, the range of {source}"
    raise OutOfRangeError(f"{name} = {bad[0]:.9g}{of_unit} is outside {allowed}{count}", ~inside)
