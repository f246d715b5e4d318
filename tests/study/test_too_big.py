"""A throughput far above what one dryer can do: what is too big, where it stands, and what to do."""

from __future__ import annotations

import pytest
from cases import HOPPER, HOT, NEW, PRESENT, WHEEL, case

from energy.errors import CaseError
from energy.study.compare import compare

BUILT = f"options['{PRESENT}'].built_for"


def told(*options, **changes):
    with pytest.raises(CaseError) as error:
        compare(case(*options, changes=changes))
    return [str(line) for line in error.value.lines()]


@pytest.mark.parametrize("name", [NEW, WHEEL])
def test_a_throughput_that_no_dryer_can_do_is_told_by_its_key(name):
    # 36,000 kg/h of PC for 4 h are 144 t, at 690 kg/m3 in 90 % of the hopper 232 m3; of a height twice its width: 10.6 m.
    changes = {f"{HOPPER}.throughput": "36,000 kg/h", BUILT: "90 kg/h"}
    line = next(one for one in told(PRESENT, name, **changes) if f"'{name}'" in one)
    assert "one dryer for 36,000 kg/h is too big to be worked out: its bed would be 11 m high" in line
    assert f"a slip of ten in {HOPPER}.throughput, or a comma that parts thousands?" in line
    assert "share the resin among several hoppers" in line
    assert "enthalpy" not in line  # what the equations of air stumble over tells nobody what is wrong
    assert " K is outside" not in line


def test_a_dryer_stated_too_big_is_told_by_what_it_is_built_for():
    (line,) = told(PRESENT, NEW, **{f"options['{NEW}'].built_for": "36000 kg/h"})
    assert f"a slip of ten in options['{NEW}'].built_for, or a comma" in line


def test_a_blower_that_heats_too_much_whatever_the_size_is_told_as_before():
    (line,) = told(PRESENT, HOT, **{f"options['{HOT}'].inputs": {"circuit_pressure": "1 bar"}})
    assert "the blower alone heats the air above the drying temperature; lower the pressure drop or the airflow" in line
    assert "too big" not in line
