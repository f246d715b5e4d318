"""Which readings of a walkthrough a request counts with, and which it does not."""

from __future__ import annotations

import re

import pytest

from energy.reports.document.baseline import baseline
from energy.reports.document.proposal import proposal
from energy.reports.document.records import Paragraph
from energy.reports.not_taken_over import not_taken_over
from energy.study.case import load_case
from energy.study.compare import compare
from energy.walkthrough.balance import balance
from energy.walkthrough.baseline import as_baseline, readings_of, with_readings

pytestmark = pytest.mark.xdist_group("document")
READ = {
    "hopper": "Machine 7",
    "date": "2026-11-03",
    "throughput": "82 kg/h",
    "hall_temperature": "30 degC",
    "return_temperature": "50 degC",
    "regeneration_temperature": "231 degC",
}


@pytest.fixture(scope="module")
def read():
    return with_readings(load_case("one-machine"), READ)


def test_what_was_read_and_is_not_counted_is_told_with_both_values(read):
    # The case counts 90 kg/h in its own hall.
    (said,) = not_taken_over(read, "si")
    assert said.startswith(
        "Read at Machine 7 (on 2026-11-03) and not taken over into the comparison: throughput (82 kg/h read, 90 kg/h counted)"
    )
    assert "hall temperature (30 °C read, " in said
    assert "regeneration temperature (231 °C read, " in said
    assert "only check the balance: return air out of the hopper" in said
    p = proposal(compare(read))
    told = next(b.text for b in baseline(p) if isinstance(b, Paragraph) and b.topic == "Read at the dryers.")
    assert said in told


def test_what_was_taken_over_is_not_told(read):
    taken = as_baseline(read, balance(read, readings_of(read, "Machine 7")))
    hall = {"hoppers['Machine 7'].throughput": "82 kg/h"}
    (said,) = not_taken_over(taken.with_(hall), "si")
    assert "regeneration temperature" not in said
    assert "throughput (" not in said
    assert "hall temperature (" in said


def test_a_dew_point_is_told_until_it_is_taken_over():
    case = with_readings(load_case("one-machine"), {"hopper": "Machine 7", "dew_point": "-5 degC"})
    (said,) = not_taken_over(case, "si")
    assert re.search(r"dew point of the air into the hopper \(-5 °C read, -\d\d(\.\d)? °C counted\)\.$", said)
    taken = as_baseline(case, balance(case, readings_of(case, "Machine 7")))
    assert not_taken_over(taken, "si") == []
    # A meter does not tell half a kelvin.
    near, far = (taken.with_({"readings[1].dew_point": value}) for value in ("-5.4 degC", "-6 degC"))
    assert not_taken_over(near, "si") == []
    assert "(-6 °C read, -5 °C counted)" in not_taken_over(far, "si")[0]
    hall = {"options['Hot air, gas-fired'].baseline": True, "options['Present twin tower'].baseline": None}
    (said,) = not_taken_over(case.with_(hall), "si")
    assert (
        said
        == "At Machine 7: The other readings name no input and only check the balance: dew point of the process air."
    )


def test_without_readings_nothing_is_told():
    assert not_taken_over(load_case("one-machine").with_({"readings": None}), "si") == []


def test_what_is_doubted_is_told_with_it():
    fahrenheit = {"hopper": "Machine 7", "date": "2026-11-03", "process_temperature": "248 degC"}
    case = with_readings(load_case("one-machine"), fahrenheit)
    (said,) = not_taken_over(case, "si")
    assert "To be checked before any of it counts: process air into the hopper, " in said
    good = with_readings(load_case("one-machine"), {**fahrenheit, "process_temperature": "125 degC"})
    assert "To be checked" not in not_taken_over(good, "si")[0]
