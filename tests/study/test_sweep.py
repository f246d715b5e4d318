"""Cost against throughput: at the case's own throughput the comparison itself; at a break-even two equal costs."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import numpy_financial as npf
import pytest
from cases import AIR, BEDS, HOPPER, HOT, NEW, PRESENT, WHEEL, case, resin

from energy.study.compare import compare
from energy.study.sweep import sweep, throughputs

RATE, YEARS = 0.08, 10


@pytest.fixture(scope="module")
def closed():
    return compare(case(PRESENT, NEW, WHEEL, BEDS))


@pytest.fixture(scope="module")
def swept(closed):
    return sweep(closed)


def test_at_its_own_throughput_the_sweep_is_the_comparison(closed, swept):
    own = int(np.argmin(np.abs(swept.throughput - 90 / 3600)))
    assert swept.throughput[own] == pytest.approx(90 / 3600, rel=1e-15)
    for option in closed.options:
        level = -npf.pmt(RATE, YEARS, option.life_cycle_cost)
        assert swept.cost[option.name][own] == pytest.approx(level, rel=1e-12)


def test_the_range_spreads_around_the_case():
    flows = throughputs(case(PRESENT, NEW))
    assert flows[0] == pytest.approx(0.25 * 90 / 3600)
    assert flows[-1] == pytest.approx(3 * 90 / 3600)
    assert (np.diff(flows) > 0).all()


@pytest.mark.published(
    "six-tenths rule, Williams (1947), Chilton (1950)",
    where="capital grows with size to the power 0.6",
    quoted="from memory",
)
@pytest.mark.parametrize("kg_per_hour", [45.0, 200.0])
def test_each_point_is_a_comparison_with_capital_scaled(closed, kg_per_hour):
    """The same plant built for another throughput, by a case of its own."""
    size = (kg_per_hour / 90) ** 0.6
    there = compare(
        closed.case.with_(
            {
                f"options['{PRESENT}'].built_for": "250 kg/h",
                f"{HOPPER}.throughput": f"{kg_per_hour} kg/h",
                f"options['{NEW}'].capital": f"{22000 * size!r} USD",
                f"options['{WHEEL}'].capital": f"{26000 * size!r} USD",
                f"options['{BEDS}'].capital": f"{24000 * size!r} USD",
            }
        )
    )
    cost = sweep(closed, np.array([kg_per_hour / 3600])).cost
    assert set(cost) == {o.name for o in closed.options}
    for option in there.options:
        if option.option.baseline:
            continue  # the machine in place stays as big as it is
        assert cost[option.name][0] == pytest.approx(-npf.pmt(RATE, YEARS, option.life_cycle_cost), rel=1e-12)


@pytest.fixture(scope="module")
def turning():
    """Compressed air, cheap to buy and dear to run, against a wheel."""
    capital = {f"options['{AIR}'].capital": "1000 USD", f"options['{WHEEL}'].capital": "60000 USD"}
    return compare(case(PRESENT, AIR, WHEEL, changes=capital))


def test_the_present_machine_stays_as_big_as_it_is(closed, swept):
    cost = swept.cost[PRESENT]
    too_small = swept.throughput > 160 / 3600
    assert np.isnan(cost[too_small]).all()
    assert np.isfinite(cost[~too_small]).all()


def test_at_a_break_even_both_options_cost_the_same(turning):
    result = sweep(turning)
    assert result.break_evens
    for turn in result.break_evens:
        there = sweep(turning, np.array([0.98, 1.0, 1.02]) * turn.throughput).cost
        gap = there[turn.below] - there[turn.above]
        assert gap[0] < 0 < gap[2]
        # Interpolated on a straight line between two of the points, which are up to 7 % apart.
        assert abs(gap[1]) < 0.02 * min(-gap[0], gap[2])


def test_between_break_evens_the_ranking_stays(turning):
    swept = sweep(turning)
    table = np.array(list(swept.cost.values()))
    names = list(swept.cost)
    edges = [0.0, *(b.throughput for b in swept.break_evens), np.inf]
    for low, high in pairwise(edges):
        inside = (swept.throughput > low) & (swept.throughput < high)
        cheapest = [names[i] for i in np.nanargmin(table[:, inside], axis=0)]
        if len(set(cheapest)) > 1:  # crossings where the costs never differ by 2 % are no break-even
            best = np.nanmin(table[:, inside], axis=0)
            rest = [swept.cost[name][inside] for name in set(cheapest)]
            assert all((np.abs(cost / best - 1.0) < 0.02).any() for cost in rest)


def test_options_that_do_not_dry_are_not_in_it():
    humid = {**resin("PA66"), "site.hall_temperature": "28 degC", "site.hall_dew_point": "20 degC"}
    assert set(sweep(compare(case(PRESENT, NEW, HOT, changes=humid))).cost) == {PRESENT, NEW}


def test_where_a_dryer_of_that_size_has_no_answer_there_is_a_gap_and_no_break_even():
    # 1.62 kg/kg heats the resin at 90 kg/h, but not in a small hopper, whose shell loses more per kilogram.
    tight = compare(case(PRESENT, WHEEL, changes={f"options['{WHEEL}'].inputs": {"air_resin_ratio": 1.62}}))
    result = sweep(tight)
    cost = result.cost[WHEEL]
    own = int(np.argmin(np.abs(result.throughput - 90 / 3600)))
    gap = np.isnan(cost)
    assert gap[0]
    assert not gap[own:].any()
    assert cost[own] == pytest.approx(-npf.pmt(RATE, YEARS, tight.option(WHEEL).life_cycle_cost), rel=1e-12)
    # The wheel is the cheaper wherever both run: the ranking turns at the gap, but costs are equal nowhere.
    both = ~gap & np.isfinite(result.cost[PRESENT])
    assert (cost[both] < result.cost[PRESENT][both]).all()
    assert result.break_evens == ()
