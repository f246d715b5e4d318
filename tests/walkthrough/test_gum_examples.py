"""The worked examples of the guide to the expression of uncertainty, as far as the project's functions reach.

`propagate` takes quantities that do not depend on each other, so H.2's correlated readings are handed to it as a sum of
independent ones. Not tested, since the project has no function for it: H.1's terms of second order and its degrees of
freedom.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from energy.walkthrough.estimate import Estimate, estimate, narrowed, propagate, reconcile, sensitivities

QUOTED = "results: documentation of GTC (2024-06); inputs: from memory"


def known(value, uncertainty):
    return Estimate(value=value, uncertainty=uncertainty, origin="read")


# H.1, lengths in nm: an end gauge compared with a standard.
GAUGE = {
    "standard": known(50_000_623.0, 25.0),
    "difference": known(215.0, math.hypot(5.8, 3.9, 6.7)),
    "expansion": estimate(11.5e-6, 2e-6, "read"),
    "temperature": known(-0.1, 0.41),
    "other expansion": estimate(0.0, 1e-6, "read"),
    "other temperature": estimate(0.0, 0.05, "read"),
}


def length(x):
    warm = x["other expansion"] * x["temperature"] + x["expansion"] * x["other temperature"]
    return x["standard"] + x["difference"] - x["standard"] * warm


@pytest.mark.published("JCGM 100:2008", where="H.1, l = 50 000 838 nm, u = 32 nm", quoted=QUOTED)
def test_end_gauge():
    value, off = propagate(length, GAUGE)
    assert value == pytest.approx(50_000_838.0, abs=0.5)
    assert off == pytest.approx(32.0, abs=0.5)


@pytest.mark.published("JCGM 100:2008", where="H.1, components 25, 16.6 and 2.9 nm", quoted=QUOTED)
def test_end_gauge_components():
    slopes = sensitivities(length, GAUGE)
    parts = {name: abs(slopes[name]) * e.uncertainty for name, e in GAUGE.items()}
    assert parts["standard"] == pytest.approx(25.0, abs=0.05)
    assert parts["other temperature"] == pytest.approx(16.6, abs=0.05)
    assert parts["other expansion"] == pytest.approx(2.9, abs=0.05)
    assert parts["expansion"] == parts["temperature"] == 0.0  # in the second order only


# H.2, five readings of amplitude [V], current [A] and phase [rad] at once.
READINGS = np.array(
    [
        [5.007, 4.994, 5.005, 4.990, 4.999],
        [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3],
        [1.0456, 1.0438, 1.0468, 1.0428, 1.0433],
    ]
)
IMPEDANCES = {
    "resistance": lambda v, i, phase: v / i * np.cos(phase),
    "reactance": lambda v, i, phase: v / i * np.sin(phase),
    "impedance": lambda v, i, phase: v / i,
}
SCORES = {name: known(0.0, 1.0) for name in ("first", "second", "third")}


def of_scores(function):
    """The function of the mean readings, written as a sum of three independent scores (Cholesky)."""
    mean, factor = READINGS.mean(axis=1), np.linalg.cholesky(np.cov(READINGS) / READINGS.shape[1])

    def result(x):
        scores = np.stack([np.asarray(x[name], float) for name in SCORES])
        return function(*(m + row @ scores for m, row in zip(mean, factor, strict=True)))

    return result


@pytest.mark.published("JCGM 100:2008", where="H.2, table H.4", quoted=QUOTED)
@pytest.mark.parametrize(
    ("name", "value", "off"),
    [("resistance", 127.732, 0.071), ("reactance", 219.847, 0.296), ("impedance", 254.260, 0.236)],
)
def test_resistance_and_reactance(name, value, off):
    found = propagate(of_scores(IMPEDANCES[name]), SCORES)
    assert found == (pytest.approx(value, abs=5e-4), pytest.approx(off, abs=5e-4))


@pytest.mark.published("JCGM 100:2008", where="H.2, table H.4, correlation", quoted=QUOTED)
@pytest.mark.parametrize(
    ("one", "other", "coefficient"),
    [("resistance", "reactance", -0.588), ("resistance", "impedance", -0.485), ("reactance", "impedance", 0.993)],
)
def test_correlation_of_resistance_and_reactance(one, other, coefficient):
    a, b = (np.array(list(sensitivities(of_scores(IMPEDANCES[n]), SCORES).values())) for n in (one, other))
    assert a @ b / np.sqrt(a @ a * (b @ b)) == pytest.approx(coefficient, abs=5e-4)


# H.3, corrections of a thermometer [K] against its reading [degC].
TEMPERATURE = np.array([21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511])
CORRECTION = 1e-3 * np.array([-171, -169, -166, -159, -164, -165, -156, -157, -159, -161, -160])
SCATTER = 0.0035  # standard deviation of a reading about the line, as the guide prints it; from memory
LOOSE = 0.3  # K and K per K: next to nothing is known of the line beforehand; what is looser costs digits


@pytest.mark.published("JCGM 100:2008", where="H.3.3 to H.3.5", quoted=QUOTED)
def test_line_through_a_thermometer():
    """Least squares by constraints: every reading lies on the line, of which nothing is known."""
    given = {f"reading {k}": known(b, SCATTER) for k, b in enumerate(CORRECTION)}
    given |= {"intercept": known(-0.15, LOOSE), "slope": known(0.0, LOOSE)}

    def off_line(k):
        return lambda x: x[f"reading {k}"] - x["intercept"] - x["slope"] * (TEMPERATURE[k] - 20.0)

    done = reconcile(given, [off_line(k) for k in range(len(CORRECTION))])
    at, line = done.at(), done.covariance[-2:, -2:]
    assert at["intercept"] == pytest.approx(-0.1712, abs=5e-5)
    assert at["slope"] == pytest.approx(0.00218, abs=5e-6)
    assert np.sqrt(np.diag(line)) == pytest.approx([0.0029, 0.00067], abs=5e-5)
    assert line[0, 1] / np.sqrt(line[0, 0] * line[1, 1]) == pytest.approx(-0.930, abs=5e-4)
    # Readings scatter about the line by what was put in: nine degrees of freedom are left of eleven readings.
    assert done.misfit / 9.0 == pytest.approx(1.0, abs=0.03)  # 0.0035 has two digits
    # At 30 degC, ten kelvins beyond the reference of 20 degC.
    assert at["intercept"] + 10.0 * at["slope"] == pytest.approx(-0.1494, abs=5e-5)
    result = np.zeros(len(given))
    result[-2:] = 1.0, 10.0
    off = narrowed(np.array([e.uncertainty for e in given.values()]), done.slopes, result)
    assert off == pytest.approx(0.0041, abs=5e-5)
