"""The highest and the lowest of a few values."""

import math

import numpy as np
import pytest

from energy.study.extremes import highest, lowest
from energy.units import SI


@pytest.mark.parametrize("values", [[3.0, -1.0, 2.0], np.array([[3.0, 0.0], [-1.0, 2.0]]), (3, -1)])
def test_of_several_values(values):
    assert (lowest(values), highest(values)) == (-1.0, 3.0)


def test_one_value_is_both_and_a_plain_number():
    assert [type(found(SI(2.5))) for found in (lowest, highest)] == [float, float]
    assert lowest(SI(2.5)) == highest(np.array(2.5)) == 2.5


def test_what_is_no_number_stays_seen():
    assert math.isnan(highest([1.0, math.nan, 3.0]))
    assert math.isnan(lowest([1.0, math.nan, 3.0]))
