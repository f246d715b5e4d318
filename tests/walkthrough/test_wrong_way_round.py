"""Two temperatures entered in each other's place are named as a pair, and neither is in a figure."""

from __future__ import annotations

import itertools

import pytest
from cases import PRESENT, case

from energy.errors import CaseError
from energy.reports import walkthrough as report
from energy.walkthrough.baseline import readings_from
from energy.walkthrough.usable import usable
from energy.walkthrough.walk import walk

READ = {
    "hopper": "Machine 7",
    "process_temperature": "120 degC",
    "return_temperature": "70 degC",
    "hall_temperature": "22 degC",
    "heater_inlet_temperature": "50 degC",
    "desiccant_inlet_temperature": "42 degC",
    "shell_temperature": "38 degC",
    "regeneration_temperature": "235 degC",
}


def exchanged(one: str, other: str, **rest: str | None) -> dict[str, str]:
    kept = {name: value for name, value in {**READ, **rest}.items() if value is not None}
    return {**kept, one: kept[other], other: kept[one]}


REFUSED = [
    ("process_temperature", "return_temperature"),
    ("process_temperature", "heater_inlet_temperature"),
    ("process_temperature", "shell_temperature"),
    ("process_temperature", "desiccant_inlet_temperature"),
    ("process_temperature", "hall_temperature"),
    ("return_temperature", "hall_temperature"),
]


def test_in_their_places_nothing_is_refused_or_doubted():
    assert usable(READ) == (READ, {})
    assert walk(case(PRESENT), readings_from(READ)).doubts == ()


@pytest.mark.parametrize(("hot", "cold"), REFUSED)
def test_the_pair_is_named_and_both_are_left_out(hot, cold):
    typed = exchanged(hot, cold)
    kept, left = usable(typed)
    assert {*left} == {hot, cold}
    assert {*kept} == {*READ} - {hot, cold}
    said = left[hot]
    assert said.startswith(
        f"{hot} of {READ[cold].replace(' deg', ' °')} is below {cold} of {READ[hot].replace(' deg', ' °')}, "
    )
    assert "as if they were the wrong way round; check which is which" in said
    with pytest.raises(CaseError) as error:
        readings_from(typed)
    assert said in str(error.value)


def test_what_no_exchange_would_mend_leaves_out_the_one_typed_last_alone():
    # Return air of 150 degC beside a hopper's wall of 130: with process and return exchanged the bed would be colder than the air.
    typed = {**READ, "return_temperature": "150 degC", "regeneration_temperature": "140 degC"}
    kept, left = usable(typed)
    assert {*left} == {"return_temperature"}
    assert kept["process_temperature"] == "120 degC"
    assert "wrong way round" not in left["return_temperature"]


def test_air_before_the_heater_a_little_hotter_than_behind_it_may_be():
    # A heater that is off, and a duct that cools.
    assert usable({**READ, "heater_inlet_temperature": "130 degC"})[1] == {}


@pytest.mark.parametrize(
    ("one", "other", "rest", "said"),
    [
        ("shell_temperature", "hall_temperature", {},
         "Check which is which, outside of the hopper's wall (22 °C) or hall (38 °C): the first is colder than the second, beside hot "
         "process air, and the wrong way round they would fit."),
        ("return_temperature", "hall_temperature", {"return_temperature": "48 degC", "shell_temperature": None,
         "desiccant_inlet_temperature": None},
         "Check which is which, return air out of the hopper (22 °C) or hall (48 °C): the first is colder than the second, beside hot "
         "process air, and the wrong way round they would fit."),
        ("process_temperature", "regeneration_temperature", {},
         "Check which is which, process air into the hopper (235 °C) or regeneration air into the bed (120 °C): the first is hotter than "
         "the second, and the wrong way round they would fit."),
    ],
)  # fmt: skip
def test_a_pair_of_which_one_alone_would_be_called_off_is_asked_about_as_a_pair(one, other, rest, said):
    made = walk(case(PRESENT), readings_from(exchanged(one, other, **rest)))
    assert report.to_check(made) == [said]
    assert {doubt.reading for doubt in made.doubts} == {one, other}
    without = {
        name: value for name, value in {**READ, **rest}.items() if value is not None and name not in (one, other)
    }
    assert made.balance.specific_energy == walk(case(PRESENT), readings_from(without)).balance.specific_energy


def test_a_hall_that_is_as_the_case_has_it_is_not_asked_about():
    # The hall is as the case has it or near it: 64 degF, 17.8 degC, for 64 degC is a slip of the return air alone.
    read = {name: value for name, value in READ.items() if name != "desiccant_inlet_temperature"}
    made = walk(case(PRESENT), readings_from({**read, "return_temperature": "64 degF"}))
    assert [doubt.name for doubt in made.doubts] == ["return_temperature"]


def test_any_two_exchanged_leave_an_answer():
    names = [name for name in READ if name != "hopper"]
    for one, other in itertools.combinations(names, 2):
        kept, _ = usable(exchanged(one, other))
        assert walk(case(PRESENT), readings_from(kept)).balance.specific_energy > 0.0
