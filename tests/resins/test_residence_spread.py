"""Pellets that do not all stay equally long, against quadrature, the exact sum and plug flow."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import ALL_SHAPES, ONES, SERIES, SHAPES
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.special import gammaln

from energy.errors import OutOfRangeError
from energy.resins.diffusion import plane_sheet, short_cylinder, sphere
from energy.resins.residence_spread import tanks_in_series


@given(st.lists(st.floats(0.0, 50.0), min_size=1, max_size=12), st.floats(1.0, 100.0))
def test_arrays_equal_scalars(fourier, tanks):
    fo = np.array(fourier)
    kept = fo.copy()
    for shape, geometry in ALL_SHAPES.values():
        mixed = [tanks_in_series(shape, f, tanks, *geometry) for f in fourier]
        assert tanks_in_series(shape, fo, tanks, *geometry) == pytest.approx(mixed, rel=1e-12)
    np.testing.assert_array_equal(fo, kept)


def test_out_of_range():
    with pytest.raises(OutOfRangeError, match=r"tanks in series = 0\.5 is outside 1 to"):
        tanks_in_series(sphere, 0.1, 0.5)
    some = tanks_in_series(sphere, [0.1, -1.0, np.nan], 5.0, on_range="nan")
    assert np.isnan(some).tolist() == [False, True, True]


@pytest.mark.parametrize("name", ALL_SHAPES)
@pytest.mark.parametrize("tanks", [1.0, 1.5, 4.0, 20.0])
def test_tanks_against_adaptive_quadrature(name, tanks):
    shape, geometry = ALL_SHAPES[name]

    def integrand(v, mean):  # in the root of the residence time, where the fraction is smooth
        density = np.exp(tanks * np.log(tanks) - gammaln(tanks) + (2 * tanks - 1) * np.log(v) - tanks * v * v)
        return 2.0 * density * shape(mean * v * v, *geometry)

    for mean in (1e-4, 0.02, 0.3, 3.0, 50.0):
        late = 0.2 / np.sqrt(mean) if mean > 1.0 else 1.0
        parts = [quad(integrand, a, b, args=(mean,), epsabs=1e-11)[0] for a, b in ((0.0, late), (late, 8.0))]
        assert tanks_in_series(shape, mean, tanks, *geometry) == pytest.approx(sum(parts), abs=1e-6)


@pytest.mark.parametrize("name", SHAPES)
@pytest.mark.parametrize("tanks", [1.0, 3.7, 12.0])
def test_tanks_against_the_exact_sum(name, tanks):
    # Each term exp(-k Fo) becomes (1 + k Fo / n)^-n; the rest of 4000 terms is below 1e-7 from Fo = 0.01 on.
    decay, weight = SERIES[name]
    for mean in (0.01, 0.1, 1.0, 30.0):
        expected = weight @ (1.0 + decay * mean / tanks) ** -tanks
        assert tanks_in_series(SHAPES[name][0], mean, tanks) == pytest.approx(expected, abs=1e-6)


@pytest.mark.published(
    "Levenspiel, Chemical Reaction Engineering, 3rd ed. (1999), ch. 18",
    where="effectiveness of a catalyst slab and sphere, first order: the same Laplace transform",
    quoted="from memory",
)
def test_one_stirred_tank_is_the_effectiveness_factor():
    fo = np.logspace(-5, 3, 33)
    q = 1.0 / np.sqrt(fo)
    assert 1.0 - tanks_in_series(plane_sheet, fo, 1.0) == pytest.approx(np.tanh(q) / q, abs=1e-6)
    removed = np.where(q > 0.1, 3.0 * (q / np.tanh(q) - 1.0) / q**2, 1.0 - q**2 / 15.0)
    assert 1.0 - tanks_in_series(sphere, fo, 1.0) == pytest.approx(removed, abs=1e-6)


def test_many_tanks_are_plug_flow():
    fo = np.logspace(-3, 1, 9)
    assert tanks_in_series(short_cylinder, fo, 1e9, *ONES) == pytest.approx(short_cylinder(fo, *ONES), abs=1e-8)


@given(st.floats(1e-4, 20.0), st.floats(1.0, 200.0), st.floats(1.0, 5.0))
def test_mixing_never_dries_better(mean, tanks, more):
    # Jensen: the remaining fraction is a convex function of time.
    plug = short_cylinder(mean, *ONES)
    some, few = (tanks_in_series(short_cylinder, mean, n, *ONES) for n in (more * tanks, tanks))
    assert plug <= some + 1e-6
    assert some <= few + 1e-6
    assert few <= 1.0


def test_tanks_broadcast():
    mean, tanks, radius = (
        np.array([1e-7, 1e-6]),
        np.array([[2.0], [30.0], [1.0]]),
        np.array([[[1e-3]], [[2e-3]]]),
    )
    all_ = tanks_in_series(short_cylinder, mean, tanks, radius, 3e-3)
    assert all_.shape == (2, 3, 2)
    one = tanks_in_series(short_cylinder, mean[1], tanks[1, 0], radius[1, 0, 0], 3e-3)
    assert all_[1, 1, 1] == pytest.approx(one, abs=1e-6)  # the number of nodes follows the fewest tanks
    large = np.full(2**17, 1e-6)  # in parts
    assert tanks_in_series(short_cylinder, large, 9.0, 1e-3, 3e-3) == pytest.approx(
        tanks_in_series(short_cylinder, 1e-6, 9.0, 1e-3, 3e-3), rel=1e-12
    )
