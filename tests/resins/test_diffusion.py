"""Diffusion out of pellets: printed series, limits, printed drying times, and the way back."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from bodies import ALL_SHAPES, HOUR, SERIES, SHAPES, TABLES, rows
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq
from scipy.special import jn_zeros

from energy.errors import ModelError, OutOfRangeError
from energy.resins.diffusion import (
    BESSEL_ZEROS,
    _bessel_ratio_expansion,
    cylinder,
    plane_sheet,
    short_cylinder,
    sphere,
    time_to_fraction,
)


@pytest.mark.parametrize("row", rows("remaining"))
def test_printed_remaining_fractions(row):
    for name, (shape, geometry) in ALL_SHAPES.items():
        assert shape(row["fourier"], *geometry) == pytest.approx(row[name], abs=0.6e-5), name


@pytest.mark.parametrize("row", rows("inverse"))
def test_printed_fourier_numbers(row):
    for name, (shape, geometry) in ALL_SHAPES.items():
        assert time_to_fraction(shape, row["fraction"], *geometry) == pytest.approx(row[name], abs=0.6e-5), name


@pytest.mark.published("Crank, The Mathematics of Diffusion, 2nd ed. 1975", where="half-times", quoted="from memory")
def test_half_times():
    # The sheet on its full thickness, twice the length of our Fourier number.
    assert time_to_fraction(plane_sheet, 0.5) / 4.0 == pytest.approx(0.0492, abs=0.6e-4)
    assert time_to_fraction(sphere, 0.5) == pytest.approx(0.0305, abs=0.6e-4)


@pytest.mark.published(
    "Abramowitz and Stegun, Handbook of Mathematical Functions (1964)",
    where="Table 9.5, zeros of J0",
    quoted="from memory; all compared with scipy.special.jn_zeros",
)
def test_bessel_zeros():
    assert BESSEL_ZEROS[:3] == pytest.approx((2.4048255577, 5.5200781103, 8.6537279129), abs=0.6e-10)
    assert pytest.approx(jn_zeros(0, len(BESSEL_ZEROS)), rel=1e-14) == BESSEL_ZEROS


@pytest.mark.published(
    "Abramowitz and Stegun, Handbook of Mathematical Functions (1964)",
    where="eq. 9.7.1, I0 and I1 of large arguments; their quotient by long division here",
    quoted="from memory",
)
def test_ratio_of_bessel_functions_for_large_arguments():
    def expansion(order):
        terms = [Fraction(1)]
        for k in range(1, 13):
            terms.append(-terms[-1] * (4 * order**2 - (2 * k - 1) ** 2) / (8 * k))
        return terms

    above, below = expansion(1), expansion(0)
    quotient = []
    for k in range(13):
        quotient.append(above[k] - sum(quotient[i] * below[k - i] for i in range(k)))
    assert quotient[:4] == [1, Fraction(-1, 2), Fraction(-1, 8), Fraction(-1, 8)]
    assert _bessel_ratio_expansion(13) == pytest.approx([float(q) for q in quotient], rel=1e-13)


@pytest.mark.parametrize("name", SHAPES)
def test_series_of_4000_terms(name):
    # The rest of 4000 terms is below 1e-15 from Fo = 1e-6 on.
    fourier = np.logspace(-6, 2, 801)
    decay, weight = SERIES[name]
    expected = np.exp(-np.multiply.outer(fourier, decay)) @ weight
    assert SHAPES[name][0](fourier) == pytest.approx(expected, abs=1e-10)


@pytest.mark.published(
    "Crank, The Mathematics of Diffusion, 2nd ed. 1975", where="short-time solutions", quoted="from memory"
)
def test_short_times():
    fo = np.array([1e-12, 1e-9, 1e-6, 1e-4])
    root = np.sqrt(fo / np.pi)
    assert 1.0 - sphere(fo) == pytest.approx(6.0 * root - 3.0 * fo, rel=1e-9)
    assert 1.0 - plane_sheet(fo) == pytest.approx(2.0 * root, rel=1e-9)
    # Two terms: the next, Fo^1.5 / (3 sqrt(pi)), is a twelfth of Fo of the first.
    assert np.all(np.abs((1.0 - cylinder(fo)) / (4.0 * root - fo) - 1.0) <= 0.09 * fo + 1e-9)
    assert cylinder(0.05) - (1.0 - 4.0 * np.sqrt(0.05 / np.pi) + 0.05) == pytest.approx(0.0025, abs=0.6e-4)


@pytest.mark.parametrize("name", ALL_SHAPES)
def test_limits(name):
    shape, geometry = ALL_SHAPES[name]
    assert shape(0.0, *geometry) == 1.0
    assert shape(1e6, *geometry) == 0.0


@pytest.mark.parametrize("name", SHAPES)
def test_monotone_across_the_change_of_formula(name):
    fine = SHAPES[name][0](np.linspace(0.015, 0.055, 200_001))
    assert np.diff(fine).max() < 0.0


def test_short_cylinder_has_the_long_cylinder_and_the_sheet_as_limits():
    time = np.array([1e-9, 1e-7, 1e-6])
    assert short_cylinder(time, 1.5e-3, np.inf) == pytest.approx(cylinder(time / 1.5e-3**2))
    assert short_cylinder(time, np.inf, 3e-3) == pytest.approx(plane_sheet(time / 1.5e-3**2))


fourier_numbers = st.floats(0.0, 50.0)


@given(fourier_numbers, fourier_numbers, st.floats(0.2, 20.0))
def test_within_bounds_and_falling(one, other, slenderness):
    shorter, longer = sorted((one, other))
    for shape, geometry in [*SHAPES.values(), (short_cylinder, (1.0, slenderness))]:
        less, more = shape(longer, *geometry), shape(shorter, *geometry)
        assert 0.0 <= less <= more + 1e-15 <= 1.0 + 2e-15  # the same but for the last digit


def test_blocks_and_broadcasting():
    time = np.logspace(-9, -5, 3 * 4096 + 5)
    radius = np.array([[1.0e-3], [1.5e-3]])
    both = short_cylinder(time, radius, 3e-3)
    assert both.shape == (2, time.size)
    for k in (0, 4095, 4096, 12292):
        assert both[:, k] == pytest.approx([short_cylinder(time[k], r, 3e-3) for r in (1.0e-3, 1.5e-3)], rel=1e-13)
    assert short_cylinder(np.empty((0, 2)), 1e-3, 3e-3).shape == (0, 2)


@given(st.lists(fourier_numbers, min_size=1, max_size=12))
def test_arrays_equal_scalars(fourier):
    fo = np.array(fourier)
    kept = fo.copy()
    for shape, geometry in ALL_SHAPES.values():
        each = [shape(f, *geometry) for f in fourier]
        assert shape(fo, *geometry) == pytest.approx(each, rel=1e-13, abs=1e-300)
    np.testing.assert_array_equal(fo, kept)


@pytest.mark.parametrize("name", ALL_SHAPES)
def test_time_to_a_fraction_is_found_closely_and_in_few_looks(name):
    shape, geometry = ALL_SHAPES[name]
    looks = []

    def seen(*given, **how):
        looks.append(given)
        return shape(*given, **how)

    for fraction in np.exp(-np.logspace(-3.0, 1.5, 30)):
        looks.clear()
        found = float(time_to_fraction(seen, fraction, *geometry))
        assert len(looks) <= 6
        exact = brentq(lambda t, f=fraction: np.log(shape(t, *geometry) / f), 0.99 * found, 1.01 * found, rtol=1e-14)
        assert found == pytest.approx(exact, rel=3e-10)


def test_out_of_range():
    with pytest.raises(OutOfRangeError, match=r"Fourier number = -1 is outside 0 to inf.*\(1 of 2 values\)"):
        sphere([0.1, -1.0])
    with pytest.raises(OutOfRangeError, match="Fourier number = nan"):
        cylinder(np.nan)
    with pytest.raises(OutOfRangeError, match="pellet radius = 0 m"):
        short_cylinder(1e-6, 0.0, 3e-3)
    with pytest.raises(OutOfRangeError, match="remaining fraction = 0 "):
        time_to_fraction(sphere, 0.0)
    with pytest.raises(
        OutOfRangeError, match=r"remaining fraction = 1\.001 is outside 1e-30 to 1, the range of time_to_fraction"
    ):
        time_to_fraction(sphere, 1.001)
    assert time_to_fraction(sphere, 1.0) == 0.0
    some = (
        short_cylinder([1e-6, -1.0, np.nan], 1.5e-3, [3e-3, 3e-3, 3e-3], on_range="nan"),
        time_to_fraction(short_cylinder, [0.5, 0.0, 0.5], [1.5e-3, 1.5e-3, -1.0], 3e-3, on_range="nan"),
    )
    for values in some:
        assert np.isnan(values).tolist() == [False, True, True]


@pytest.mark.parametrize("row", rows("drying"))
def test_printed_drying(row):
    d, r = row["diffusivity"], 1e-3 * row["radius_mm"]
    rounding = 0.005 * 10 ** np.floor(np.log10(d)) / d  # half a digit of the diffusivity as printed
    after = sphere(d * np.array([1.0, 2.0, 4.0]) * HOUR / r**2)
    # No diffusivity moves the fraction by more than half its own relative change.
    assert 100.0 * (1.0 - after) == pytest.approx(row["removed_percent"], abs=0.051 + 50.0 * rounding)
    left = 1e4 * row["initial_percent"] * after[2]
    steep = np.log(row["initial_percent"] * 1e4 / max(left, 1e-3)) * rounding  # relative, at late times
    assert left == pytest.approx(row["residual_ppm"], abs=0.051 + steep * row["residual_ppm"])
    target = row["target_percent"] / row["initial_percent"]
    hours = time_to_fraction(sphere, target) * r**2 / d / HOUR
    assert hours == pytest.approx(row["sphere_hours"], abs=0.0051 + rounding * hours)
    hours = time_to_fraction(short_cylinder, target, r, 2.0 * r) / d / HOUR
    assert hours == pytest.approx(row["short_cylinder_hours"], abs=0.0051 + rounding * hours)


def _drying(material):
    return next(row for row in TABLES["drying"] if row["material"].startswith(material))


def _removed_in_first_hour(material):
    row = _drying(material)
    return 1.0 - short_cylinder(row["diffusivity"] * HOUR, 1e-3 * row["radius_mm"], 2e-3 * row["radius_mm"])


def _hours_to_target(material):
    row = _drying(material)
    size = 1e-3 * row["radius_mm"]
    target = row["target_percent"] / row["initial_percent"]
    return time_to_fraction(short_cylinder, target, size, 2.0 * size) / row["diffusivity"] / HOUR


@pytest.mark.common_practice("most of the water leaves in the first hour")
def test_first_hour():
    # Holds for these in a warm pellet ...
    for material in ("PC", "PET lo", "PET mid", "PET hi", "PBT", "PEI", "PLA lo", "TPU"):
        assert _removed_in_first_hour(material) > 0.65, material
    # ... and not, or barely, for these: ABS and PMMA lose half, polyamide a third.
    for material, most in (("ABS 80C", 0.60), ("PMMA", 0.50), ("PA66/PA6 dry-end", 0.35)):
        assert _removed_in_first_hour(material) < most, material


@pytest.mark.common_practice("about four hours in the dryer are usual")
def test_four_hours():
    # A lower bound that four hours cover, with heating and the spread of residence times on top ...
    for material in ("PC", "PET mid", "PBT", "PEI", "PLA lo", "TPU", "ABS 80C", "PA66/PA6 bag-fresh"):
        assert _hours_to_target(material) < 4.0, material
    # ... but not for polyamide that has stood open.
    assert _hours_to_target("PA66/PA6 dry-end") > 12.0


@given(st.floats(1e-20, 0.999), st.floats(0.3e-3, 5e-3), st.floats(0.3e-3, 50e-3))
def test_time_to_fraction_round_trip(fraction, radius, length):
    time = time_to_fraction(short_cylinder, fraction, radius, length)
    # A change of 1e-8 in the time changes the fraction by up to 1e-8 times its logarithm.
    assert short_cylinder(time, radius, length) == pytest.approx(fraction, rel=1e-8 * (1.0 - np.log(fraction)))
    assert time_to_fraction(short_cylinder, [fraction, 1.0], radius, length) == pytest.approx([time, 0.0], rel=2e-8)


def test_time_to_fraction_of_something_that_does_not_dry():
    with pytest.raises(ModelError, match="must fall steadily"):
        time_to_fraction(lambda time, on_range: 0.6 + 0.4 * np.exp(-time), 0.5)
