"""The way through a bed for another stay is that of a hopper built for it; of many months the worst is found."""

from __future__ import annotations

import numpy as np
import pytest
from dryer_duties import duty, run

from energy.dryers.way_through_hopper import Pellet, Way, in_bed_for, left_in_months, moisture_left, table_of
from energy.study.hours_needed import most_left
from energy.units import SI


def way_of(given, operation, over=0.0):
    state = operation.hopper
    return Way(
        stay=np.asarray(given.residence_time * given.design_throughput / given.throughput),
        warming=state.heating_rate,
        initial=given.initial_moisture,
        floor=np.zeros(()),
        fed=given.resin_temperature,
        out=state.resin_outlet_temperature,
        asked=1.0 / state.capacity_ratio,
        lost=state.loss_share,
        short=given.drying_temperature - state.resin_outlet_temperature,
        over=np.asarray(over),
        built=given.design_throughput / given.throughput,
        usual=1.5 / height(given),
    )


def height(given):
    """Of a hopper twice as high as wide, usable to 90 %: V = pi / 4 d2 h. [m]"""
    resin = given.resin
    volume = given.design_throughput * given.residence_time / (resin.bulk_density * 0.9)
    return np.cbrt(16.0 * volume / np.pi)


@pytest.mark.parametrize("load", [1.0, 0.6])
@pytest.mark.parametrize("longer", [0.25, 0.5, 2.0, 4.0])
def test_a_bed_of_the_same_air_is_as_it_would_be_built(load, longer):
    """Hot air, so that nothing but the hopper changes; what the bed itself takes of pressure warms the air a little."""
    stays = [float(duty("PC").residence_time) * factor for factor in (1.0, longer)]
    given = [duty("PC", load=load, residence_time=np.array(stay)) for stay in stays]
    ratio = {"air_resin_ratio": 2.4, "insulation_thickness": SI(0.02)}
    now, other = (run("hot-air", one, **ratio) for one in given)
    told, built = in_bed_for(way_of(given[0], now), stays[1] / load), way_of(given[1], other)
    # A loss that is not quite in proportion to the area of the shell.
    for name, tolerance in (("warming", 0.02 if longer < 3.0 else 0.04), ("asked", 0.004 if longer < 3.0 else 0.008)):
        assert float(getattr(told, name)) == pytest.approx(float(getattr(built, name)), rel=tolerance)
    assert float(told.out) == pytest.approx(float(built.out), abs=0.2)
    assert float(told.short) == pytest.approx(float(given[0].drying_temperature - told.out), rel=1e-9)


def test_a_low_bed_has_the_transfer_units_of_a_usual_one():
    """Half a metre high where 1.5 m is usual: as many up to three times that height, twice as many at six times."""
    way = Way(*(np.array(x) for x in (3600.0, 2.0, 0.002, 0.0, 295.0, 390.0, 0.8, 0.0, 2.0, 1.15, 1.0, 3.0)))
    for higher, units in ((2.0, 1.0), (3.0, 1.0), (6.0, 2.0)):
        assert float(in_bed_for(way, 3600.0 * np.array(higher) ** 3).warming) == pytest.approx(2.0 * units)


def test_the_shell_counts():
    """A bare hopper of eight times the stay loses four times as much, so its pellets warm more slowly than twice as fast."""
    given = duty("PC")
    bare = way_of(given, run("hot-air", given, air_resin_ratio=12.0, insulation_thickness=SI(0.0)))
    bare = bare._replace(usual=np.zeros(()))
    eight = in_bed_for(bare, 8.0 * bare.stay)
    asked = float(bare.asked)
    lost = asked * float(bare.lost)
    assert float(eight.asked) == pytest.approx(asked + 3.0 * lost, rel=1e-12)
    assert float(eight.warming) == pytest.approx(
        2.0 * float(bare.warming) * (1.0 - asked - 3.0 * lost) / (1.0 - asked), rel=1e-12
    )
    assert float(in_bed_for(bare._replace(lost=np.zeros(())), 8.0 * bare.stay).warming) == pytest.approx(
        2.0 * float(bare.warming)
    )
    # Counterflow: what is missed is (1 - c) / (exp(k) - c) (Kays and London, from memory); nothing else makes pellets colder.
    for way in (bare, eight):
        c, k = float(way.asked), float(way.warming)
        missed = (1.0 - c) / (np.exp(k) - c)
        ratio = float(way.short) / (missed * c)
        assert ratio == pytest.approx(
            float(bare.short) / ((1.0 - asked) / (np.exp(float(bare.warming)) - asked) * asked), rel=1e-9
        )


def test_air_that_no_longer_suffices_is_given_more():
    """Asked 0.8 of the air at its design throughput, a fifth of it by the shell, and 1.15 over the least: at 8 times the stay 1.28
    are asked, so it is built for 1.15 x 1.28 times the air."""
    way = Way(*(np.array(x) for x in (3600.0, 2.0, 0.002, 0.0, 295.0, 390.0, 0.8, 0.2, 2.0, 1.15, 1.0)))
    far = in_bed_for(way, np.array(8 * 3600.0))
    assert float(far.asked) == pytest.approx(1.28 / (1.15 * 1.28))
    # At half that throughput half of what resin asks is left, at the same air: 0.32 + 0.16 now.
    half = way._replace(asked=np.array(0.48), lost=np.array(0.16 / 0.48), built=np.array(2.0))
    assert float(in_bed_for(half, np.array(8 * 3600.0)).asked) == pytest.approx((0.32 + 0.64) / (1.15 * 1.28))
    # Air that stays as it is stays short.
    kept = in_bed_for(way._replace(over=np.zeros(())), np.array(8 * 3600.0))
    assert float(kept.asked) == pytest.approx(1.28)
    # Below 0 by the smaller flow, which is the air: 2 / 0.2 transfer units, twice as many, times 1 / 1.28 - 1.
    assert float(kept.warming) == pytest.approx(2.0 * (2.0 / 0.2) * (1.0 / 1.28 - 1.0))
    assert float(kept.out) == float(way.out)


@pytest.mark.parametrize("most", [0.6, 1.1])
@pytest.mark.parametrize("over", [0.0, 1.15])
def test_the_worst_month_at_any_stay_is_found(most, over):
    """Of months that each are worst in something, the wettest pellets are those of one month taken by itself."""
    drawn = np.random.default_rng(11)
    low = [1800, 0.3, 0.001, 1e-5, 285, 350, 0.2, 0.0, 5.0]
    high = [14400, 9, 0.003, 8e-4, 305, 390, most, 0.4, 50.0]
    for shape, steps in (((200, 12), 1000), ((200, 3), 3)):  # in coarse steps many are alike
        parts = [a + (b - a) * drawn.integers(0, steps, shape) / steps for a, b in zip(low, high, strict=True)]
        c, k = np.minimum(parts[6], 0.999), parts[1]
        usual = drawn.uniform(0.0, 3.0, shape)
        parts[8] *= parts[6] * (1.0 - c) / (np.exp(k) - c)  # as much colder as counterflow leaves them
        ways = Way(*parts, np.full(shape, over), np.ones(shape), usual)
        pellets = Pellet(*(np.full(shape[0], value) for value in (1.5e-3, 3e-3, 373.15, 4e4)))
        of_month = Pellet(*(part[:, None] for part in pellets))
        diffusivity = 10 ** drawn.uniform(-11.5, -9.5, (shape[0], 1))
        stays = drawn.uniform(900, 60000, (shape[0], 2))
        found = most_left(table_of(ways), np.array(pellets), diffusivity, 8.0, stays)
        for i, stay in enumerate(stays.T):
            each = moisture_left(in_bed_for(ways, stay[:, None]), of_month, diffusivity, 8.0)
            np.testing.assert_allclose(found[:, i], each.max(axis=1), rtol=1e-12)
        row, month, now = left_in_months(ways, pellets, diffusivity, 8.0)
        each = moisture_left(ways, of_month, diffusivity, 8.0)
        np.testing.assert_allclose(now[:, 0], each[row, month], rtol=1e-12)
        assert len(row) < each.size
        worst = np.maximum.reduceat(now[:, 0], np.flatnonzero(np.diff(row, prepend=-1)))
        np.testing.assert_allclose(worst, each.max(axis=1), rtol=1e-12)


def test_many_ways_at_once_leave_what_each_leaves():
    """Of pellets that warm at the top or, where the air is little, at the bottom; more than are worked on at a time."""
    drawn = np.random.default_rng(3)
    low, high = [1800, -4.0, 0.001, 1e-5, 285, 350], [14400, 9, 0.003, 8e-4, 305, 390]
    ways = Way(*(drawn.uniform(a, b, (300, 2)) for a, b in zip(low, high, strict=True)))
    pellet = Pellet(1.5e-3, drawn.uniform(2e-3, 4e-3, (300, 1)), drawn.uniform(350.0, 400.0, (300, 1)), 4e4)
    together = moisture_left(ways, pellet, 1e-10, 8.0)
    for i in (0, 127, 128, 255, 256, 299):
        own = pellet._replace(length=pellet.length[i], reference_temperature=pellet.reference_temperature[i])
        alone = moisture_left(Way(*(part[i] if np.ndim(part) else part for part in ways)), own, 1e-10, 8.0)
        np.testing.assert_allclose(together[i], alone, rtol=1e-12)


def test_a_shell_that_would_cool_pellets_below_absolute_zero_is_no_overflow():
    """What is tried over a stay of a thousand days may be no temperature at all: no water moves then, and nothing overflows."""
    way = Way(*np.array([8.64e7, -3.0, 0.002, 1e-5, 291.0, -900.0]))
    cold = moisture_left(way, Pellet(1.5e-3, 3e-3, 353.0, 5.5e4), 1e-12, 8.0)
    colder = moisture_left(way._replace(out=np.asarray(-9e5)), Pellet(1.5e-3, 3e-3, 353.0, 5.5e4), 1e-12, 8.0)
    warm = moisture_left(way._replace(out=np.asarray(353.0)), Pellet(1.5e-3, 3e-3, 353.0, 5.5e4), 1e-12, 8.0)
    assert warm < 0.1 * cold
    assert colder == cold <= 0.002
