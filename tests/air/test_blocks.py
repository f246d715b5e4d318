"""Large arrays worked on block by block give what one piece gives."""

from __future__ import annotations

import numpy as np
import pytest

from energy.air._arrays import _BLOCK, in_blocks

RNG = np.random.default_rng(5)


def kernel(x, y, z):
    return np.asarray(x + 2.0 * y + 3.0 * z)


@pytest.mark.parametrize(
    "shapes",
    [
        ((7,), (7,), ()),
        ((_BLOCK,), (_BLOCK,), ()),
        ((_BLOCK + 1,), (_BLOCK + 1,), ()),
        ((3 * _BLOCK + 5,), (1,), (3 * _BLOCK + 5,)),
        ((900, 12), (12,), (900, 1)),
        ((700, 3, 12), (700, 1, 1), (12,)),
        ((2, 2 * _BLOCK + 3), (2 * _BLOCK + 3,), ()),  # one row is more than a block
        ((2, _BLOCK + 1), (2, 1), (1, _BLOCK + 1)),
    ],
)
def test_blocks_are_the_whole(shapes):
    arguments = [RNG.normal(size=shape) for shape in shapes]
    np.testing.assert_array_equal(in_blocks(kernel, *map(np.asarray, arguments)), kernel(*arguments))


def test_no_block_is_larger_than_the_cache_takes():
    seen = []

    def watched(x, y):
        seen.append(np.broadcast_shapes(x.shape, y.shape))
        return x + y

    for shape in ((3 * _BLOCK,), (900, 12), (2, 2 * _BLOCK)):
        in_blocks(watched, np.ones(shape), np.ones(()))
    assert max(int(np.prod(shape)) for shape in seen) <= _BLOCK
    assert len(seen) == 3 + 2 + 4
