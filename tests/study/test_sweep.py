"""Cost against throughput: at the case's own throughput the comparison itself; at a break-even two equal costs."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import numpy_financial as npf
import pytest
from cases import AIR, BEDS, HOPPER, HOT, NEW, PRESENT, WHEEL, case, resin

from energy.study.compare import compare
from energy.study.sweep import _break_evens, sweep, throughputs

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


def test_capital_grows_from_the_throughput_it_is_quoted_for(closed):
    """A quote for half the throughput is one of 2^0.6 = 1.515717 times as much for the whole."""
    quoted = compare(closed.case.with_({f"options['{NEW}'].capital_for": "45 kg/h"}))
    dearer = compare(closed.case.with_({f"options['{NEW}'].capital": f"{22000 * 1.515716567} USD"}))
    at = sweep(quoted, np.array([90 / 3600])).cost[NEW][0]
    assert at == pytest.approx(-npf.pmt(RATE, YEARS, dearer.option(NEW).life_cycle_cost), rel=1e-9)


@pytest.fixture(scope="module")
def turning():
    """Compressed air, cheap to buy and dear to run, against a wheel."""
    free = {f"options['{AIR}'].capital": "0 USD", f"options['{AIR}'].maintenance": "0 USD/year"}
    return compare(case(PRESENT, AIR, WHEEL, changes={**free, f"options['{WHEEL}'].capital": "65000 USD"}))


def test_the_present_machine_stays_as_big_as_it_is(closed, swept):
    cost = swept.cost[PRESENT]
    too_small = swept.throughput > 160 / 3600
    assert np.isnan(cost[too_small]).all()
    assert np.isfinite(cost[~too_small]).all()


def test_of_an_outgrown_present_machine_no_more_is_asked_than_the_case_does():
    plant = compare(case(PRESENT, WHEEL, changes={f"options['{PRESENT}'].built_for": "85 kg/h"}))
    cost = sweep(plant, np.array([85, 90, 91]) / 3600).cost[PRESENT]
    assert cost[1] == pytest.approx(-npf.pmt(RATE, YEARS, plant.baseline.life_cycle_cost), rel=1e-12)
    assert np.isfinite(cost).tolist() == [True, True, False]


def test_the_present_machine_at_part_load_is_a_comparison_with_its_size(closed):
    there = compare(closed.case.with_(throughput="45 kg/h")).baseline
    assert there.option.built_for == pytest.approx(160 / 3600)
    cost = sweep(closed, np.array([45 / 3600])).cost[PRESENT]
    assert cost[0] == pytest.approx(-npf.pmt(RATE, YEARS, there.life_cycle_cost), rel=1e-12)


def test_an_option_with_room_to_grow_keeps_its_share_of_room():
    """A wheel built for a third more than it runs at: so it is at every throughput."""
    plant = compare(case(PRESENT, WHEEL, changes={f"options['{WHEEL}'].built_for": "120 kg/h"}))
    own, other = sweep(plant, np.array([90 / 3600, 60 / 3600])).cost[WHEEL]
    assert own == pytest.approx(-npf.pmt(RATE, YEARS, plant.option(WHEEL).life_cycle_cost), rel=1e-12)
    smaller = {
        f"{HOPPER}.throughput": "60 kg/h",
        f"options['{WHEEL}'].built_for": "80 kg/h",
        f"options['{WHEEL}'].capital": f"{26000 * (60 / 90) ** 0.6!r} USD",
    }
    there = compare(plant.case.with_(smaller)).option(WHEEL)
    assert other == pytest.approx(-npf.pmt(RATE, YEARS, there.life_cycle_cost), rel=1e-12)


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
    # The ranking turns too where the present machine can do no more, 160 kg/h.
    edges = sorted([0.0, *(b.throughput for b in swept.break_evens), 160 / 3600, np.inf])
    assert len(edges) == 5
    for low, high in pairwise(edges):
        inside = (swept.throughput > low) & (swept.throughput < high)
        assert len({names[i] for i in np.nanargmin(table[:, inside], axis=0)}) == 1


@pytest.mark.parametrize(
    ("below", "above", "at"),
    [
        (0.05, 0.05, 2.0),
        (0.03, 0.05, 1.75),
        (0.01, 0.05, None),  # not told apart on one side
        (0.05, 0.01, None),
        (0.01, 0.01, None),
    ],
)
def test_costs_that_never_differ_by_2_percent_make_no_break_even(below, above, at):
    """A cost of 100 against one that is dearer by a share up to 1.0 and cheaper by another from 3.0 on."""
    flows = np.array([0.5, 1.0, 3.0, 4.0])
    cost = {"level": np.full(4, 100.0), "falling": 100.0 * (1 + np.array([below, below, -above, -above]))}
    found = [(b.below, b.above, b.throughput) for b in _break_evens(flows, cost)]
    assert found == ([] if at is None else [("level", "falling", pytest.approx(at))])


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
