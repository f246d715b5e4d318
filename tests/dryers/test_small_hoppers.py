"""Small hoppers: pellets leave them warm with the air of a big one, and less resin takes less air and less energy."""

from __future__ import annotations

import numpy as np
import pytest
from dryer_duties import duty, run

from energy.dryers import TYPES, hopper_sizing

KIND = "desiccant-wheel"


@pytest.mark.common_practice(
    "hoppers of a few litres dry at the machine on the air per resin that is usual for big ones"
)
@pytest.mark.parametrize("resin", ["PC", "PBT", "PA66", "PEEK"])
@pytest.mark.parametrize("kilograms", [1.0, 5.0, 20.0, 90.0])
def test_pellets_leave_a_small_hopper_as_warm_as_a_big_one(resin, kilograms):
    given = duty(resin, design=kilograms)
    leaves = float(run(KIND, given).hopper.resin_outlet_temperature)
    assert leaves == pytest.approx(float(given.drying_temperature), abs=hopper_sizing.COLDER)


@pytest.mark.parametrize("kind", [KIND, "desiccant-twin-tower", "compressed-air", "hot-air"])
@pytest.mark.parametrize("resin", ["PC", "PA66"])
def test_less_resin_takes_less_air_and_less_energy(kind, resin):
    made = [run(kind, duty(resin, design=kilograms)) for kilograms in (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 200.0, 1000.0)]
    assert np.all(np.diff([float(one.air_flow) for one in made]) > 0.0)
    assert np.all(np.diff([float(sum(one.energy.values())) for one in made]) > 0.0)


def test_a_bed_has_the_units_of_a_usual_one_until_it_is_higher():
    """One each 0.15 m of a bed of 1.5 m: the 5 to 15 that are usual stand for 0.3 and 0.1 m."""
    inputs = run_inputs(transfer_unit_height="0.15 m")
    assert hopper_sizing.transfer_units(inputs, np.array([0.2, 1.5, 3.0])) == pytest.approx([10.0, 10.0, 20.0])


def run_inputs(**given):
    return TYPES[KIND].Inputs(**given)
