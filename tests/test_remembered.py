"""What is kept of a function of arrays: worked out once for equal arrays, and for nothing that differs."""

from __future__ import annotations

import numpy as np
import pytest

from energy.remembered import Latest, remembered


def test_equal_arrays_are_worked_on_once():
    calls = []

    @remembered(4)
    def both(a, b):
        calls.append(1)
        return a + b, a * b

    one, other = np.array([[1.0, 2.0]]), np.array([3.0, 4.0])
    total, product = both(one, other)
    np.testing.assert_array_equal(total, [[4.0, 6.0]])
    np.testing.assert_array_equal(product, [[3.0, 8.0]])
    assert both(one.copy(), [3, 4])[0] is total
    assert len(calls) == 1
    with pytest.raises(ValueError, match="read-only"):
        total += 1.0


def test_another_shape_or_value_is_another_call():
    @remembered(4)
    def same(a):
        return a + 0.0

    flat = np.arange(6.0)
    assert same(flat).shape == (6,)
    assert same(flat.reshape(2, 3)).shape == (2, 3)
    assert same(2.0) == 2.0
    changed = flat.copy()
    changed[3] = np.nextafter(3.0, 4.0)
    assert same(changed)[3] != same(flat)[3]
    flat[0] = 9.0  # what is kept is not a view of what was given
    assert same(np.arange(6.0))[0] == 0.0


def test_the_latest_used_are_kept():
    made = []

    def make(key):
        return lambda: made.append(key) or key.upper()

    kept = Latest(2)
    assert [kept.take(key, make(key)) for key in ("a", "b", "a", "c", "a", "b")] == ["A", "B", "A", "C", "A", "B"]
    assert made == ["a", "b", "c", "b"]  # c put out b, which had not been used for longer


def test_several_are_kept_and_the_new_ones_made_together():
    kept, asked = Latest(2), []
    keys = ["a", "b", "a", "c"]

    def make(places):
        asked.append([keys[place] for place in places])
        return [keys[place].upper() for place in places]

    assert kept.take("b", lambda: "kept") == "kept"
    assert kept.take_all(keys, make) == ["A", "kept", "A", "C"]  # more than are kept, each once
    assert kept.take_all(keys[3:], make) == ["C"]
    assert asked == [["a", "c"]]
