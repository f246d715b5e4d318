"""Diffusivity by temperature against published values; its integral against quadrature and the differential equation."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp
from scipy.sparse import diags_array, eye_array, kron

from energy.errors import OutOfRangeError
from energy.resins.arrhenius import diffusion_integral, diffusivity
from energy.resins.diffusion import plane_sheet, short_cylinder, sphere, time_to_fraction

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


def test_times_that_fall_are_refused():
    with pytest.raises(OutOfRangeError, match="time step = -1 s"):
        diffusion_integral([300.0, 310.0], [1.0, 0.0], 1e-11, 300.0, 4e4)


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

    # The library takes differences of orders that it has not set yet, and throws them away: whatever the memory held.
    with np.errstate(invalid="ignore", over="ignore"):
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
    found = diffusion_integral([293.15, 443.15], [0.0, 1800.0], *data)
    assert found.shape == ()
    assert found == pytest.approx(expected, rel=1e-7)
    # One history, two resins: without an energy of activation the diffusivity is the same all along.
    two = diffusion_integral([293.15, 443.15], [0.0, 1800.0], 5e-12, 353.15, [60e3, 0.0])
    assert two == pytest.approx([expected, 5e-12 * 1800.0], rel=1e-7)


def test_diffusion_integral_along_the_last_axis():
    temperatures = np.array([[300.0, 350.0, 350.0, 340.0], [350.0, 350.0, 350.0, 350.0]])
    times = np.array([0.0, 600.0, 4200.0, 5000.0])
    references = np.array([1e-11, 2e-11])
    both = diffusion_integral(temperatures, times, references, 350.0, 45e3)
    assert both[1] == pytest.approx(2e-11 * 5000.0, rel=1e-14)  # isothermal at the reference temperature
    assert both[0] == pytest.approx(diffusion_integral(temperatures[0], times, 1e-11, 350.0, 45e3), rel=1e-14)
    # One temperature all along, two ways of different length.
    held = diffusion_integral([350.0, 350.0], [[0.0, 100.0], [50.0, 350.0]], 1e-11, 350.0, 45e3)
    assert held == pytest.approx([1e-9, 3e-9], rel=1e-14)
    parts = [diffusion_integral(temperatures[0, k : k + 2], times[k : k + 2], 1e-11, 350.0, 45e3) for k in range(3)]
    assert both[0] == pytest.approx(sum(parts), rel=1e-14)


@given(st.floats(290.0, 440.0), st.floats(0.0, 30.0), st.floats(10e3, 80e3))
def test_hotter_pellets_dry_further(temperature, hotter, energy):
    time = 3600.0 * diffusivity(np.array([temperature, temperature + hotter]), 1e-11, 360.0, energy)
    cold, hot = short_cylinder(time, 1.5e-3, 3e-3)
    assert hot <= cold + 1e-15


@pytest.mark.parametrize("warms", [1.0, 10.0])
def test_three_points_are_enough_for_short_stretches(warms):
    """Against adaptive quadrature of the Arrhenius law along the line."""
    energy, reference = 60e3, 373.15
    rate = lambda t: np.exp(-energy / 8.314462618 * (1 / (353.15 + warms * t) - 1 / reference))  # noqa: E731
    expected = 1e-11 * 60.0 * quad(rate, 0.0, 1.0, epsabs=0.0, epsrel=1e-12)[0]
    found = diffusion_integral([353.15, 353.15 + warms], [0.0, 60.0], 1e-11, reference, energy, points=3)
    assert found == pytest.approx(expected, rel=1e-9)
