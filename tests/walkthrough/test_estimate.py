"""Propagation of uncertainty against closed forms, and readings brought together by what must hold."""

from __future__ import annotations

import math

import numpy as np
import pytest

from energy.errors import EnergyError
from energy.walkthrough.estimate import Estimate, estimate, narrowed, propagate, reconcile


def known(value, uncertainty):
    return Estimate(value=value, uncertainty=uncertainty, origin="read")


@pytest.mark.published("JCGM 100:2008", where="4.3.7, eq. 7", quoted="from memory")
def test_half_width_is_a_rectangle():
    assert estimate(20.0, 0.3, "read").uncertainty == pytest.approx(0.3 / math.sqrt(3.0))


@pytest.mark.published("JCGM 100:2008", where="5.1.2, eq. 10: a sum with factors", quoted="from memory")
def test_sum():
    value, off = propagate(lambda x: 3.0 * x["a"] - 2.0 * x["b"], {"a": known(5.0, 0.2), "b": known(1.0, 0.4)})
    assert (value, off) == (pytest.approx(13.0), pytest.approx(1.0))


@pytest.mark.published(
    "JCGM 100:2008", where="5.1.6, eq. 12: relative uncertainties of a product", quoted="from memory"
)
def test_product_of_powers():
    x = {"velocity": known(12.0, 0.6), "diameter": known(0.11, 0.0011)}
    value, off = propagate(lambda x: x["velocity"] * x["diameter"] ** 2, x)
    # The second derivative of the square moves it by parts in 1e5.
    assert off / value == pytest.approx(math.sqrt(0.05**2 + (2 * 0.01) ** 2), rel=1e-4)


def test_two_readings_of_one_thing_give_the_weighted_mean():
    # 10 with 1 and 13 with 2: weights 1 and 1/4, mean 10.6, uncertainty 1/sqrt(1.25), misfit 9/5.
    done = reconcile({"a": known(10.0, 1.0), "b": known(13.0, 2.0)}, [lambda x: x["a"] - x["b"]])
    assert done.at() == {"a": pytest.approx(10.6), "b": pytest.approx(10.6)}
    assert math.sqrt(done.covariance[0, 0]) == pytest.approx(1.0 / math.sqrt(1.25))
    assert done.misfit == pytest.approx(9.0 / 5.0)
    assert done.scale == pytest.approx(math.sqrt(9.0 / 5.0))


def test_without_constraints_nothing_moves():
    done = reconcile({"a": known(10.0, 1.0)}, [])
    assert done.at() == {"a": 10.0}
    assert done.scale == 1.0
    assert narrowed(np.array([1.0]), done.slopes, np.array([3.0])) == pytest.approx(3.0)


def test_a_balance_that_is_not_linear_closes():
    done = reconcile({"a": known(3.0, 0.3), "b": known(10.0, 0.5)}, [lambda x: x["a"] ** 2 - x["b"]])
    at = done.at()
    assert at["a"] ** 2 == pytest.approx(at["b"], rel=1e-6)


def test_certain_quantities_cannot_be_brought_together():
    with pytest.raises(EnergyError, match="all certain"):
        reconcile({"a": known(1.0, 0.0), "b": known(2.0, 0.0)}, [lambda x: x["a"] - x["b"]])
