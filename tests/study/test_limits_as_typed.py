"""Limits of readings and of metered weeks are told in the unit that was typed; a slip of ten is asked about where it would explain them."""

from __future__ import annotations

import pytest

from energy.errors import CaseError
from energy.reports import afterwards as told
from energy.study.afterwards import periods
from energy.study.case import load_case
from energy.study.compare import compare
from energy.units import unit_of
from energy.walkthrough.baseline import readings_from

READ = {"hopper": "Machine 7"}


@pytest.mark.parametrize(
    ("text", "kind", "unit"),
    [
        ("24,000 ft/min", "velocity", "ft/min"),
        ("−110 lb", "mass", "lb"),
        ("9,6 kg", "mass", "kg"),
        ("5", "mass", ""),
        ("110 kW", "mass", ""),
        ("heavy", "mass", ""),
        ("400 °F", "temperature", "degF"),
    ],
)
def test_the_unit_of_what_was_typed(text, kind, unit):
    assert unit_of(text, kind) == unit


@pytest.mark.parametrize(
    ("read", "said"),
    [
        # 60 m/s are 60 / 0.3048 x 60 = 11,811 ft/min.
        (
            {"air_velocity": "24000 ft/min"},
            "'24000 ft/min' is not allowed; Air velocity in the duct must be at most 11,810 ft/min. A tenth of it, 2,400 ft/min, would do: a slip of ten?",
        ),
        ({"air_velocity": "240 m/s"}, "must be at most 60 m/s. A tenth of it, 24 m/s, would do: a slip of ten?"),
        ({"weighed_mass": "-110 lb"}, "Resin weighed must be more than 0 lb"),
        ({"duct_diameter": "0.5 in"}, "must be at least 0.7874 in. Ten times it, 5 in, would do: a slip of ten?"),
        ({"dew_point": "-220 degF"}, "must be at least -121 °F"),
        # 11,000 lb in one minute are 660,000 lb/h; 10 kg/s are 36,000 kg/h or 79,366 lb/h.
        (
            {"weighed_mass": "11000 lb", "weighing_time": "1 min"},
            "weighed_mass over weighing_time is 660,000 lb/h; at most 79,400 lb/h can be",
        ),
    ],
)
def test_a_limit_is_told_in_the_unit_that_was_typed(read, said):
    with pytest.raises(CaseError) as error:
        readings_from({**READ, **read})
    assert said in str(error.value)


@pytest.mark.parametrize(
    "read", [{"air_velocity": "24000 m/s"}, {"weighed_mass": "-110 lb"}, {"hall_temperature": "150 degC"}]
)
def test_no_slip_of_ten_is_asked_about_that_would_not_explain_it(read):
    with pytest.raises(CaseError) as error:
        readings_from({**READ, **read})
    assert "slip of ten" not in str(error.value)


def weeks(when, *pounds_and_kwh):
    return [{"when": when, "days": 7.0, "resin": f"{lb} lb", "electricity": f"{kwh} kWh"} for lb, kwh in pounds_and_kwh]


def test_a_week_without_pounds_must_have_more_than_0_pounds():
    with pytest.raises(CaseError, match=r"'0 lb' is not allowed; Resin dried must be more than 0 lb\."):
        periods(weeks("before", (0, 100)), "weeks.csv")


def test_the_check_afterwards_tells_the_line_per_pound_in_a_case_of_us_units():
    # On one line by construction: 0.05 kWh a pound, which is 50 Wh/lb or 110 Wh/kg (0.45359237 kg).
    before = [(lb, 0.05 * lb) for lb in (44000, 49000, 46000, 51000)]
    rows = periods(weeks("before", *before) + weeks("after", (48000, 2000), (47000, 1950)), "weeks.csv")
    for system, said in (("us", "before, 50 Wh for each lb"), ("si", "before, 110 Wh for each kg")):
        found = told.check(compare(load_case("demo").with_({"case.units": system})), rows)
        assert any(said in line for line in told.sentences(found, "USD"))
