"""Diffusion out of pellets: printed series, the partial differential equation, residence-time spread."""

from __future__ import annotations

import tomllib
from pathlib import Path

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp
from scipy.sparse import diags_array, eye_array, kron
from scipy.special import gammaln, jn_zeros

from energy.air.wet_bulb import wet_bulb_temperature
from energy.errors import ModelError, OutOfRangeError
from energy.resins.diffusion import (
    BESSEL_ZEROS,
    cylinder,
    diffusion_integral,
    diffusivity,
    plane_sheet,
    short_cylinder,
    sphere,
    surface_drying_time,
    tanks_in_series,
    time_to_fraction,
)

TABLES = tomllib.loads((Path(__file__).parents[1] / "published" / "diffusion.toml").read_text("utf-8"))
ONES = (1.0, 2.0)  # a cylinder as long as wide, on the radius
SHAPES = {"sphere": (sphere, ()), "cylinder": (cylinder, ()), "plane_sheet": (plane_sheet, ())}
ALL_SHAPES = SHAPES | {"short_cylinder": (short_cylinder, ONES)}
HOUR = 3600.0

ORDER = np.arange(1.0, 4001.0)
SERIES = {  # 4000 terms: decay and weight of each
    "sphere": ((ORDER * np.pi) ** 2, 6.0 / (ORDER * np.pi) ** 2),
    "cylinder": (jn_zeros(0, 4000) ** 2, 4.0 / jn_zeros(0, 4000) ** 2),
    "plane_sheet": (((ORDER - 0.5) * np.pi) ** 2, 2.0 / ((ORDER - 0.5) * np.pi) ** 2),
}


def rows(table: str) -> list:
    def mark(row):
        return pytest.mark.published(row["source"], where=row["where"], quoted=row["quoted"])

    return [
        pytest.param(row, marks=mark(row), id=str(row.get("material", next(iter(row.values())))))
        for row in TABLES[table]
    ]


# ----------------------------------------------------------------------------------------- the printed series


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


@given(st.lists(fourier_numbers, min_size=1, max_size=12), st.floats(1.0, 100.0))
def test_arrays_equal_scalars(fourier, tanks):
    fo = np.array(fourier)
    kept = fo.copy()
    for shape, geometry in ALL_SHAPES.values():
        each = [shape(f, *geometry) for f in fourier]
        assert shape(fo, *geometry) == pytest.approx(each, rel=1e-13, abs=1e-300)
        mixed = [tanks_in_series(shape, f, tanks, *geometry) for f in fourier]
        assert tanks_in_series(shape, fo, tanks, *geometry) == pytest.approx(mixed, rel=1e-12)
    np.testing.assert_array_equal(fo, kept)


def test_blocks_and_broadcasting():
    time = np.logspace(-9, -5, 3 * 4096 + 5)
    radius = np.array([[1.0e-3], [1.5e-3]])
    both = short_cylinder(time, radius, 3e-3)
    assert both.shape == (2, time.size)
    for k in (0, 4095, 4096, 12292):
        assert both[:, k] == pytest.approx([short_cylinder(time[k], r, 3e-3) for r in (1.0e-3, 1.5e-3)], rel=1e-13)
    assert short_cylinder(np.empty((0, 2)), 1e-3, 3e-3).shape == (0, 2)


def test_out_of_range():
    with pytest.raises(OutOfRangeError, match=r"Fourier number = -1 is outside 0 to inf.*\(1 of 2 values\)"):
        sphere([0.1, -1.0])
    with pytest.raises(OutOfRangeError, match="Fourier number = nan"):
        cylinder(np.nan)
    with pytest.raises(OutOfRangeError, match="pellet radius = 0 m"):
        short_cylinder(1e-6, 0.0, 3e-3)
    with pytest.raises(OutOfRangeError, match=r"tanks in series = 0\.5 is outside 1 to"):
        tanks_in_series(sphere, 0.1, 0.5)
    with pytest.raises(OutOfRangeError, match="remaining fraction = 0 "):
        time_to_fraction(sphere, 0.0)
    with pytest.raises(
        OutOfRangeError, match=r"remaining fraction = 1\.001 is outside 1e-30 to 1, the range of time_to_fraction"
    ):
        time_to_fraction(sphere, 1.001)
    assert time_to_fraction(sphere, 1.0) == 0.0
    with pytest.raises(OutOfRangeError, match="time step = -1 s"):
        diffusion_integral([300.0, 310.0], [1.0, 0.0], 1e-11, 300.0, 4e4)
    some = (
        short_cylinder([1e-6, -1.0, np.nan], 1.5e-3, [3e-3, 3e-3, 3e-3], on_range="nan"),
        tanks_in_series(sphere, [0.1, -1.0, np.nan], 5.0, on_range="nan"),
        time_to_fraction(short_cylinder, [0.5, 0.0, 0.5], [1.5e-3, 1.5e-3, -1.0], 3e-3, on_range="nan"),
    )
    for values in some:
        assert np.isnan(values).tolist() == [False, True, True]


# ---------------------------------------------------------------------------------- an independent solution


def _pellet_by_finite_volumes(cells, radius, length, temperature, end, reference, reference_temperature, energy):
    """Mean remaining fraction of a short cylinder from its differential equation in r and z."""
    faces = np.sin(np.linspace(0.0, 0.5 * np.pi, cells + 1))  # finer towards the surface

    def line(size, power):
        edge, middle = size * faces, 0.5 * size * (faces[1:] + faces[:-1])
        volume = np.diff(edge ** (power + 1)) / (power + 1)
        conductance = edge[1:] ** power / np.diff(np.append(middle, size))  # the last: to the dry surface
        inner = conductance[:-1]
        loss = conductance + np.insert(inner, 0, 0.0)
        matrix = diags_array([inner / volume[1:], -loss / volume, inner / volume[:-1]], offsets=[-1, 0, 1])
        return matrix, volume / volume.sum()

    (r_matrix, r_share), (z_matrix, z_share) = line(radius, 1), line(0.5 * length, 0)
    one = eye_array(cells)
    matrix = (kron(r_matrix, one) + kron(one, z_matrix)).tocsc()

    def diffusion(t):
        return reference * np.exp(-energy / 8.314462618 * (1.0 / temperature(t) - 1.0 / reference_temperature))

    solution = solve_ivp(
        lambda t, c: diffusion(t) * (matrix @ c),
        (0.0, end),
        np.ones(cells**2),
        method="BDF",
        jac=lambda t, c: diffusion(t) * matrix,
        rtol=1e-6,
        atol=1e-9,
    )
    return np.kron(r_share, z_share) @ solution.y[:, -1]


def test_short_cylinder_warming_up_against_its_differential_equation():
    # ABS (activation energy 43.5 kJ/mol) warmed from 20 to 85 degC in 40 min, held for 60, cooled to 60 degC.
    times = np.array([0.0, 2400.0, 6000.0, 7200.0])
    temperatures = np.array([293.15, 358.15, 358.15, 333.15])
    data = (6.6e-11, 370.95, 43.5e3)
    coarse, fine = (
        _pellet_by_finite_volumes(n, 1.5e-3, 2.5e-3, lambda t: np.interp(t, times, temperatures), times[-1], *data)
        for n in (16, 32)
    )
    expected = fine + (fine - coarse) / 3.0  # second order in the cell size
    found = short_cylinder(diffusion_integral(temperatures, times, *data), 1.5e-3, 2.5e-3)
    assert 0.2 < expected < 0.5
    assert found == pytest.approx(expected, abs=5e-6)  # what the extrapolation leaves


def test_diffusion_integral_against_adaptive_quadrature():
    data = (5e-12, 353.15, 60e3)
    expected = quad(lambda t: diffusivity(293.15 + 150.0 * t / 1800.0, *data), 0.0, 1800.0, epsrel=1e-12)[0]
    assert diffusion_integral([293.15, 443.15], [0.0, 1800.0], *data) == pytest.approx(expected, rel=1e-7)


def test_diffusion_integral_along_the_last_axis():
    temperatures = np.array([[300.0, 350.0, 350.0, 340.0], [350.0, 350.0, 350.0, 350.0]])
    times = np.array([0.0, 600.0, 4200.0, 5000.0])
    references = np.array([1e-11, 2e-11])
    both = diffusion_integral(temperatures, times, references, 350.0, 45e3)
    assert both[1] == pytest.approx(2e-11 * 5000.0, rel=1e-14)  # isothermal at the reference temperature
    assert both[0] == pytest.approx(diffusion_integral(temperatures[0], times, 1e-11, 350.0, 45e3), rel=1e-14)
    parts = [diffusion_integral(temperatures[0, k : k + 2], times[k : k + 2], 1e-11, 350.0, 45e3) for k in range(3)]
    assert both[0] == pytest.approx(sum(parts), rel=1e-14)


@given(st.floats(290.0, 440.0), st.floats(0.0, 30.0), st.floats(10e3, 80e3))
def test_hotter_pellets_dry_further(temperature, hotter, energy):
    time = 3600.0 * diffusivity(np.array([temperature, temperature + hotter]), 1e-11, 360.0, energy)
    cold, hot = short_cylinder(time, 1.5e-3, 3e-3)
    assert hot <= cold + 1e-15


# ------------------------------------------------------------------------------------------------- the resins

GOLOVOY = pytest.mark.published(
    "Golovoy & Zinbo, Polym. Eng. Sci. 29 (1989) 1733", where="abstract", quoted="read in the abstract"
)


@GOLOVOY
def test_polycarbonate_diffusivity():
    # 8.7e-7 cm2/s at 100 degC and 7.9 kcal/mol, which is D0 = 3.684e-6 m2/s.
    energy = 7.9 * 4184.0
    assert diffusivity(373.15, 8.7e-11, 373.15, energy) == 8.7e-11
    assert diffusivity(1e12, 8.7e-11, 373.15, energy) == pytest.approx(3.684e-6, rel=1e-3)
    assert diffusivity(393.15, 8.7e-11, 373.15, energy) == pytest.approx(1.50e-10, abs=0.6e-12)


@pytest.mark.parametrize(
    ("celsius", "reference", "reference_celsius", "energy", "printed"),
    [
        (165.0, 4e-13, 25.0, 36.2e3, 4.27e-11),  # PET, cast film
        (165.0, 1e-10, 160.0, 40e3, 1.14e-10),  # PET, assumed
        (80.0, 2.2e-12, 37.0, 47e3, 2.02e-11),  # PMMA
        (90.0, 2e-12, 23.0, 46e3, 6.29e-11),  # TPU
        (80.0, 6.58e-11, 97.8, 43.5e3, 3.23e-11),  # ABS
        (88.0, 6.58e-11, 97.8, 43.5e3, 4.49e-11),
    ],
)
@pytest.mark.published("Arrhenius", where="diffusivities of the drying table", quoted="computed beside the table")
def test_diffusivity_at_drying_temperature(celsius, reference, reference_celsius, energy, printed):
    found = diffusivity(celsius + 273.15, reference, reference_celsius + 273.15, energy)
    assert found == pytest.approx(printed, rel=0.005)  # half a digit


@pytest.mark.published(
    "Plastics Technology, knowledge centre on drying",
    where="ABS, 0.35 to 0.10 % in 45 min at 208 degF",
    quoted="read",
)
def test_abs_diffusivity_that_a_drying_test_implies():
    sphere_time = time_to_fraction(sphere, 0.10 / 0.35) * 1.5e-3**2
    cylinder_time = time_to_fraction(short_cylinder, 0.10 / 0.35, 1.5e-3, 3e-3)
    assert sphere_time / 2700.0 == pytest.approx(6.58e-11, abs=0.6e-13)
    assert cylinder_time / 2700.0 == pytest.approx(7.24e-11, abs=0.6e-13)


@pytest.mark.published(
    "J. Appl. Polym. Sci. 39 (1990), water in polyarylate",
    where="3.2 mm, 24 h to 0.9 of saturation",
    quoted="read",
)
def test_polyarylate_diffusivity_that_an_uptake_test_implies():
    assert time_to_fraction(plane_sheet, 0.1) * 1.6e-3**2 / 86400.0 == pytest.approx(2.5e-11, abs=0.6e-12)


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


# ------------------------------------------------------------------------------------------- residence times


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


# --------------------------------------------------------------------------------------------------- inverse


@given(st.floats(1e-20, 0.999), st.floats(0.3e-3, 5e-3), st.floats(0.3e-3, 50e-3))
def test_time_to_fraction_round_trip(fraction, radius, length):
    time = time_to_fraction(short_cylinder, fraction, radius, length)
    # A change of 1e-8 in the time changes the fraction by up to 1e-8 times its logarithm.
    assert short_cylinder(time, radius, length) == pytest.approx(fraction, rel=1e-8 * (1.0 - np.log(fraction)))
    assert time_to_fraction(short_cylinder, [fraction, 1.0], radius, length) == pytest.approx([time, 0.0], rel=2e-8)


def test_time_to_fraction_of_something_that_does_not_dry():
    with pytest.raises(ModelError, match="must fall steadily"):
        time_to_fraction(lambda time, on_range: 0.6 + 0.4 * np.exp(-time), 0.5)


# ------------------------------------------------------------------------------------------- surface moisture


def test_surface_drying_closes_the_heat_balance():
    # 0.2 % on 3 mm polypropylene in air of 80 degC, 0.2 m/s in the bed (93.7 W/(m2 K), Wakao and Kaguei).
    wet_bulb = wet_bulb_temperature(353.15, 0.01, 101325.0)
    time = surface_drying_time(0.002, 3e-3, 905.0, 353.15, wet_bulb, 93.7)
    heat = 93.7 * np.pi * 3e-3**2 * (353.15 - wet_bulb) * time
    vaporisation = PropsSI("H", "T", wet_bulb, "Q", 1, "Water") - PropsSI("H", "T", wet_bulb, "Q", 0, "Water")
    water = 0.002 * 905.0 * np.pi * 3e-3**3 / 6.0
    assert heat == pytest.approx(water * vaporisation, rel=1e-3)  # vapour as an ideal gas
    assert time < 600.0  # minutes, where water inside a pellet takes hours


def test_surface_drying_stops_in_saturated_air():
    assert surface_drying_time(0.0, 3e-3, 905.0, 353.15, 305.0, 90.0) == 0.0
    with pytest.raises(OutOfRangeError, match="warmer than its wet bulb"):
        surface_drying_time(0.002, 3e-3, 905.0, 305.0, 305.0, 90.0)
    some = surface_drying_time([0.002, -1.0, 0.002], 3e-3, 905.0, [350.0, 350.0, 300.0], 305.0, 90.0, on_range="nan")
    assert np.isnan(some).tolist() == [False, True, True]


@pytest.mark.parametrize("warms", [1.0, 10.0])
def test_three_points_are_enough_for_short_stretches(warms):
    """Against adaptive quadrature of the Arrhenius law along the line."""
    energy, reference = 60e3, 373.15
    rate = lambda t: np.exp(-energy / 8.314462618 * (1 / (353.15 + warms * t) - 1 / reference))  # noqa: E731
    expected = 1e-11 * 60.0 * quad(rate, 0.0, 1.0, epsabs=0.0, epsrel=1e-12)[0]
    found = diffusion_integral([353.15, 353.15 + warms], [0.0, 60.0], 1e-11, reference, energy, points=3)
    assert found == pytest.approx(expected, rel=1e-9)
