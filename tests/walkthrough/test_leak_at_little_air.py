"""A leak costs about as much beside air that is just too little as beside air that is just enough."""

from __future__ import annotations

from itertools import pairwise

import pytest
from dryer_read import AIR, shop, there

from energy.study.readings import Readings
from energy.walkthrough.walk import walk

LEAK, COLD = "Leaking return line", "Too little air for so much resin"


def found(ratio: float):
    truth = there(shop(), {"leak_share": 0.15, "air_resin_ratio": ratio})
    read: Readings = truth.read((*AIR, "return_dew_point"))
    made = walk(shop(), read)
    return float(truth.operation.hopper.capacity_ratio[0]), next(c for c in made.causes if c.name == LEAK)


@pytest.mark.common_practice("a hundredth less air changes no cost by much more than a hundredth or two")
def test_the_cost_of_a_leak_does_not_jump_where_air_gets_short():
    seen = [found(ratio) for ratio in (1.62, 1.60, 1.58, 1.56, 1.54, 1.52)]
    carried, money = [r for r, _ in seen], [leak.money for _, leak in seen]
    assert carried[0] > 1.0 > carried[-1]
    assert all(later == pytest.approx(earlier, rel=0.05) for earlier, later in pairwise(money))
    assert min(money) > 0.0


@pytest.mark.common_practice("nobody is told to run a dryer on too little air")
def test_less_air_is_still_no_remedy_where_it_is_short():
    truth = there(shop(), {"air_resin_ratio": 1.5})
    names = {cause.name for cause in walk(shop(), truth.read(AIR)).causes}
    assert COLD in names
    assert "Too much air for the load" not in names
