"""Power that no part explains: one value wherever it is told, and in the right direction; the slip of ten in a power."""

from __future__ import annotations

import re

import pytest

from energy.reports import walkthrough as report
from energy.study.case import build, load_case
from energy.walkthrough.causes import UNEXPLAINED_POWER
from energy.walkthrough.walk import walk


def walked(**readings):
    """The first readings of the demo case with some put in."""
    document = load_case("demo").document
    case = build({**document, "readings": [{**document["readings"][0], **readings}]})
    return walk(case, case.model.readings[0])


def of_one_machine(**readings):
    """The example of one machine, 88 kg/h of PC weighed."""
    case = load_case("one-machine")
    case = build({**case.document, "readings": [{"hopper": "Machine 7", "throughput": "88 kg/h", **readings}]})
    return walk(case, case.model.readings[0])


def test_what_is_not_explained_is_one_value_in_table_finding_and_contradiction():
    # Less air than the hopper takes heat from: brought together, the parts take more than with the readings as they are.
    made = walked(power="11.2 kW", air_velocity="9 m/s")
    rows = {name: kilowatts for name, kilowatts, _ in map(report.power_row, made.balance.parts)}
    rest = float(rows.pop("Not explained").split()[0])
    parts = sum(float(kilowatts.split()[0]) for kilowatts in rows.values())
    assert rest + parts == pytest.approx(11.2, abs=0.03)  # each row is rounded to 0.01 kW
    [cause] = [cause for cause in made.causes if cause.name == UNEXPLAINED_POWER]
    assert float(cause.text.split()[0]) == pytest.approx(rest, abs=0.01)
    told = float(re.search(r"add up to ([\d.]+) kW", cause.text)[1])
    assert told == pytest.approx(parts, abs=0.03)
    assert cause.power == pytest.approx(1000.0 * rest, abs=5.0)
    apart = re.search(r"([\d.]+) kW lie between what the meter shows", " ".join(report.contradicted(made)))
    assert float(apart[1]) == pytest.approx(rest, abs=0.01)


def test_a_meter_that_shows_less_than_the_parts_take_is_told_as_that():
    said = " ".join(report.contradicted(walked(power="3 kW")))
    assert said.startswith("The meter shows less than the parts of this dryer")
    assert "more than the parts" not in said
    assert "The meter is believed: the difference is not explained." in said
    # 57.6 kg/h of PC take 2.2 to 2.4 kW by themselves: half a kilowatt cannot be, and contradicts nothing any more.
    assert report.contradicted(walked(power="0.5 kW")) == []
    more = " ".join(report.contradicted(walked(power="11.2 kW")))
    assert (
        "The meter shows more than the parts of this dryer, run as it was read, can take. The meter is believed: the rest"
        in more
    )


@pytest.mark.parametrize(
    ("power", "said"),
    [
        # Heaters and blowers of this dryer take 14 kW together at most, and up to twice that is not doubted.
        ("1.9 kW", "Ten times it, 19 kW, would fit: a slip of ten?"),
        ("190 kW", "A tenth of it, 19 kW, would fit: a slip of ten?"),
    ],
)
def test_a_slip_of_ten_is_offered_wherever_what_was_meant_would_not_be_doubted(power, said):
    [told] = report.to_check(of_one_machine(power=power))
    assert told.endswith(said)
    assert report.to_check(of_one_machine(power="19 kW")) == []
