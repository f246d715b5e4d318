"""The times that several hoppers would take are told in words that go with one dryer and with several."""

from __future__ import annotations

import pytest
from cases import PRESENT, plant

from energy.reports.drying_words import time_that_would
from energy.study.compare import compare

HOPPERS = tuple(
    {"name": name, "resin": "PMMA", "throughput": "30 kg/h", "residence_time": "4 h"} for name in ("One", "Two")
)


@pytest.mark.parametrize(
    ("name", "called"),
    [
        ("Present dryers", "the present dryers"),
        ("Present dryer", "the present dryer"),
        ("Old towers", "“Old towers”"),
    ],
)
def test_times_of_several_hoppers_go_with_any_name(name, called):
    of = compare(plant(PRESENT, hoppers=HOPPERS, **{f"options['{PRESENT}'].name": name})).baseline
    assert all(served.verdict.word == "caution" or not served.verdict.moisture.expected for served in of.served)
    said = time_that_would(of)
    assert said.startswith(f"On the best estimate the target takes in {called}: PMMA at One about ")
    assert "; PMMA at Two about " in said
    assert "needs" not in said
