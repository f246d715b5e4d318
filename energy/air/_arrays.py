"""How the equations of air are worked out over arrays: polynomials, and large arrays block by block."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from energy.air._ranges import FloatArray

_BLOCK = 8192  # values worked on at a time: temporaries then stay in the processor's cache


def polynomial(x: FloatArray, coefficients: tuple[float, ...]) -> FloatArray:
    """Polynomial of x, coefficients from the constant upwards (Horner)."""
    result = coefficients[-1] * x
    for coefficient in coefficients[-2:0:-1]:
        result += coefficient
        result *= x
    result += coefficients[0]
    return result


def in_blocks(kernel: Callable[..., FloatArray], *arguments: FloatArray) -> FloatArray:
    """The kernel over the broadcast arguments, block by block where they are large; a scalar for scalars."""
    together = np.broadcast(*arguments)
    size, shape = together.size, together.shape
    if size <= _BLOCK:
        return np.asarray(kernel(*arguments))[()]
    if size <= _BLOCK * shape[0]:  # along the first axis: what is alike along others is worked on once
        result: FloatArray = np.empty(shape)
        step = _BLOCK * shape[0] // size
        long = [a.ndim == len(shape) and len(a) > 1 for a in arguments]
        for start in range(0, shape[0], step):
            rows = slice(start, start + step)
            result[rows] = kernel(*(a[rows] if cut else a for a, cut in zip(arguments, long, strict=True)))
        return result
    flat = [a if a.ndim == 0 else np.broadcast_to(a, shape).reshape(-1) for a in arguments]
    result = np.empty(size)
    for start in range(0, size, _BLOCK):
        part = slice(start, start + _BLOCK)
        result[part] = kernel(*(a if a.ndim == 0 else a[part] for a in flat))
    return result.reshape(shape)
