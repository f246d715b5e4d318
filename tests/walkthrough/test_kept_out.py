"""What was read of an input and is not taken over is named with its reason, and with what both views count then."""

from __future__ import annotations

import pytest
from dryer_read import HOPPER, shop

from dashboards.walkthrough_state import WalkState
from energy.reports.kept_out_words import kept_out_names, kept_out_words
from energy.reports.not_taken_over import not_taken_over
from energy.study.readings import Readings
from energy.units import show
from energy.walkthrough.balance import balance
from energy.walkthrough.baseline import as_baseline, overrides, readings_from, readings_of, with_readings
from energy.walkthrough.found import regeneration_of
from energy.walkthrough.kept_out import kept_out

BY = {"regeneration_temperature": "230 degC", "cycle_time": "4 h", "airflow_control": "fixed"}
TIMER, DEW = (shop(regeneration_control=control, **BY) for control in ("timer", "dew point"))
TWO_HOURS = {"hopper": HOPPER, "regeneration_cycle": "2 h"}


def told(case, **read):
    return balance(case, readings_from({**TWO_HOURS, **read}))


@pytest.mark.parametrize(
    ("case", "read", "taken"),
    [
        (TIMER, {}, True),  # the case's control counts where none was read
        (TIMER, {"regeneration_control": "timer"}, True),
        (DEW, {"regeneration_control": "timer"}, True),
        (DEW, {}, False),
        (TIMER, {"regeneration_control": "dew point"}, False),
    ],
)
def test_the_cycle_of_a_timer_is_an_input_and_that_by_dew_point_a_result(case, read, taken):
    one = told(case, **read)
    assert ("cycle_time" in overrides(one)) == taken
    assert [kept.reading for kept in kept_out(one.found)] == ([] if taken else ["regeneration_cycle"])
    assert kept_out_names(one) == ("" if taken else "the time from one change of beds to the next")


def test_a_cycle_by_dew_point_is_told_with_what_each_view_counts():
    case = with_readings(DEW, TWO_HOURS)
    before = balance(case, readings_of(case, HOPPER))
    taken = as_baseline(case, before)
    first, second = kept_out_words(before, taken, "si")
    [request] = not_taken_over(taken, "si")
    assert request.endswith(f": {first}")
    assert "only check the balance" not in request
    assert first == (
        "Not taken over: the time from one change of beds to the next, 2 h, since beds are changed by dew point, so that the time "
        "between changes follows from the water."
    )
    of_timer = regeneration_of(told(TIMER).found.as_found)  # heat of beds that are changed every 2 h
    of_case = regeneration_of(balance(DEW, Readings(hopper=HOPPER)).found.expected)
    assert of_timer > 1.3 * of_case
    assert show(of_case, "power", "si") in second
    assert second.startswith("So the walkthrough counts ")
    walked = float(second.split(" counts ")[1].split()[0])
    assert 1e3 * walked == pytest.approx(of_timer, rel=0.02)


def test_a_set_point_of_dew_point_goes_with_the_control():
    case = shop(regeneration_control="dew point", dew_point_set_point="-40 degC", **BY)
    taken = as_baseline(case, told(case, regeneration_control="timer"))
    inputs = taken.model.options[0].inputs
    assert (inputs.regeneration_control, inputs.dew_point_set_point) == ("timer", None)


def test_air_of_a_moment_is_no_input_where_it_follows_the_load():
    case = shop(regeneration_control="timer", **{**BY, "airflow_control": "variable speed"})
    read = {"air_velocity": "12 m/s", "duct_diameter": "100 mm", "return_temperature": "70 degC"}
    one = told(case, **read)
    assert "air_resin_ratio" not in overrides(one)
    [said] = kept_out_words(one, case, "si")
    assert said.startswith("Not taken over: the air velocity, 12 m/s, since the airflow of this dryer follows the load")
    assert kept_out(told(TIMER, **read).found) == ()


def test_rotating_beds_by_timer_take_the_cycle_over():
    case = shop().with_({f"options['{shop().model.options[0].name}'].type": "desiccant-rotating-beds"})
    one = balance(case, readings_from({"hopper": HOPPER, "regeneration_cycle": "40 min"}))
    by_timer = one.found.machine.inputs.regeneration_control == "timer"
    assert ("cycle_time" in overrides(one)) == by_timer
    assert len(kept_out(one.found)) == (0 if by_timer else 1)


def test_the_notice_says_nothing_is_as_read_that_was_left_out():
    state = WalkState()
    state.choose_at("regeneration_control", "dew point")
    state.adopt()
    start = "The present dryer has the inputs that were read, but for the time from one change of beds to the next. "
    assert state.notice.startswith(start)
    assert "Not taken over: the time from one change of beds to the next, 4 h, since beds are changed" in state.notice
    assert (
        "the dryer as it was read, but for the time from one change of beds to the next and for the dew" in state.notice
    )
    state.undo()
    state.choose_at("regeneration_control", None)
    state.adopt()
    assert "but for the time" not in state.notice
    assert "one revolution: 4 h" in state.notice
