"""A short run of the fuzzer; the long one is ``python tests/fuzz --cases 100000``."""

from __future__ import annotations

import random
import tempfile
import time
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from making import broken_bytes, broken_text, with_extremes
from trying import TARGETS, Fault, case_document, judge_walk, told, try_case

from energy.errors import CaseError, EnergyError
from energy.study.case import build, example_text, load_case, read_document
from energy.study.schema import CaseFile
from energy.walkthrough import baseline
from energy.walkthrough.walk import walk

SECONDS = 1.5  # for each sort of input


@pytest.mark.parametrize("name", TARGETS)
def test_made_input_gives_a_right_answer_or_words(name):
    begin, answers, number = time.monotonic(), set(), 0
    while time.monotonic() - begin < SECONDS or len(answers) < 2:
        number += 1
        with tempfile.TemporaryDirectory() as folder:
            answers.add(TARGETS[name][0](Path(folder), random.Random(f"quick/{number}")))
    assert answers == {"right", "told"}


@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.randoms(use_true_random=False))
def test_cases_at_the_edges_of_what_is_allowed(rng):
    with tempfile.TemporaryDirectory() as folder:
        assert try_case(Path(folder), rng) in ("right", "told")


@settings(max_examples=150)
@given(st.text(max_size=300) | st.randoms(use_true_random=False).map(lambda r: broken_text(example_text("demo"), r, 3)))
def test_any_text_is_a_case_or_told(text):
    try:
        build(read_document(text, "case.toml"))
    except EnergyError as error:
        told(error)


# ---------- the fuzzer itself ----------


class _Endless(EnergyError):
    """An error that goes on for pages, past what every error cuts."""

    def __str__(self) -> str:
        return "a bc " * 1000


@pytest.mark.parametrize(
    "error",
    [
        EnergyError("no"),
        EnergyError("the value is <class 'int'> and cannot be used"),
        EnergyError("1 validation error for Readings"),
        CaseError([]),
        _Endless(),
    ],
)
def test_poor_words_are_a_fault(error):
    with pytest.raises(Fault):
        told(error)


def test_words_of_a_note_are_no_missing_number():
    case = load_case("demo")
    readings = baseline.readings_of(case, case.model.hoppers[0].name).model_copy(update={"note": "seen by nan"})
    made = walk(case, readings)
    judge_walk(made, readings.note)
    with pytest.raises(Fault, match="no number"):
        judge_walk(made)


def test_making_changes_a_copy_and_repeats_itself():
    document = read_document(example_text("demo"), "demo")
    before = repr(document)
    made = [with_extremes(document, CaseFile, random.Random(7), 4) for _ in range(2)]
    assert repr(document) == before
    assert made[0] == made[1] != document
    assert case_document(random.Random(3)) == case_document(random.Random(3))
    assert broken_bytes("abc", random.Random(5)) == broken_bytes("abc", random.Random(5))
