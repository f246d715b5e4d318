"""A heat exchanger that is paid for and finds nothing to recover is told."""

from __future__ import annotations

import numpy as np
import pytest
from cases import HOPPER, HOT, NEW, PRESENT, case, resin

from energy.study.compare import compare


def told(found):
    return [note.text for note in found.notes if note.check == "heat recovery"]


@pytest.mark.parametrize(("name", "gives"), [("PET", True), ("ABS", False)])
def test_return_air_that_is_no_warmer_than_what_it_would_warm(name, gives):
    """From PET air comes back hot; from ABS colder than the blower leaves it."""
    with_, without = (
        compare(case(PRESENT, NEW, changes={**resin(name), f"options['{NEW}'].inputs.return_recovery": share})).option(
            NEW
        )
        for share in ("60 %", "0 %")
    )
    saved = sum(without.energy.values()) - sum(with_.energy.values())
    assert (saved > 1e6) == gives
    assert bool(told(with_)) != gives
    assert not told(without)
    if not gives:
        back = float(np.max(with_.operation.hopper.return_temperature)) - 273.15
        assert f"the return air is no warmer, at most {back:.3g} °C, than blower and desiccant" in told(with_)[0]


def test_an_exhaust_is_always_warmer_than_the_hall():
    found = compare(case(PRESENT, HOT, changes={f"options['{HOT}'].inputs.exhaust_recovery": "50 %"})).option(HOT)
    assert not told(found)


def test_what_less_throughput_may_give_is_left_open():
    levels = [{"throughput": "90 kg/h", "share": "50 %"}, {"throughput": "20 kg/h", "share": "50 %"}]
    changes = {**resin("ABS"), f"options['{NEW}'].inputs.return_recovery": "60 %", f"{HOPPER}.levels": levels}
    (said,) = told(compare(case(PRESENT, NEW, changes=changes)).option(NEW))
    assert "finds nothing to recover in production at full throughput: " in said
    assert said.endswith("At less, from which air comes back hotter, it may give some.")
