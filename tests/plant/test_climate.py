"""Monthly climates: the samples, rows with gaps, and the hall that follows from outdoors."""

from __future__ import annotations

import numpy as np
import pytest
from CoolProp.HumidAirProp import HAPropsSI
from hypothesis import given
from hypothesis import strategies as st

from energy.air import water_vapour
from energy.errors import CaseError, ModelError, OutOfRangeError, UnknownNameError
from energy.plant.climate import Climate, climate_from_rows, hall_from_outdoor, sample_climate, sample_names
from energy.sources import load

ATMOSPHERE = 101325.0
RULE = {"heated_to": 291.15, "gain": 4.0, "moisture_gain": 0.0005}


def rows(**changes):
    """Twelve rows, outdoors at 5 to 16 degC and 3 K drier; changes by month as march={...}."""
    made = [{"month": m, "outdoor_temperature": 277.15 + m, "outdoor_dew_point": 274.15 + m} for m in range(1, 13)]
    for month, change in changes.items():
        made[{"march": 2, "july": 6}[month]] |= change
    return made


# ---------------------------------------------------------------------------------------------------- the hall


@pytest.mark.published(
    "ASHRAE RP-1485, real-gas moist air", where="0.5 g/kg added to air of a dew point", quoted="computed with CoolProp"
)
@pytest.mark.parametrize(("celsius", "dew"), [(5.0, 2.0), (14.5, 10.0), (20.0, 13.0), (29.5, 25.0)])
@pytest.mark.parametrize("pressure", [101325.0, 85000.0])
def test_hall_from_outdoor(celsius, dew, pressure):
    temperature, dew_point = hall_from_outdoor(273.15 + celsius, 273.15 + dew, pressure, **RULE)
    assert temperature == pytest.approx(273.15 + max(celsius + 4, 18))
    water = HAPropsSI("W", "T", 273.15 + celsius, "D", 273.15 + dew, "P", pressure) + 0.0005
    # The largest gap is 0.0009 K.
    assert dew_point == pytest.approx(HAPropsSI("D", "T", float(temperature), "W", water, "P", pressure), abs=0.002)


def test_hall_without_gains_is_outdoors():
    temperature, dew_point = hall_from_outdoor(
        [270.0, 300.0], [265.0, 300.0], ATMOSPHERE, heated_to=250.0, gain=0.0, moisture_gain=0.0
    )
    assert temperature == pytest.approx([270.0, 300.0])
    assert dew_point == pytest.approx([265.0, 300.0], abs=1e-5)


@given(st.floats(235, 312), st.floats(0, 30), st.floats(7e4, 1.05e5))
def test_hall_is_never_colder_or_drier_than_outdoors(outdoor, spread, pressure):
    temperature, dew_point = hall_from_outdoor(outdoor, outdoor - spread, pressure, **RULE)
    assert temperature >= outdoor + 4 - 1e-9
    assert temperature >= 291.15
    assert dew_point >= outdoor - spread


def test_array_equals_each_scalar():
    outdoor, dew = np.linspace(255, 305, 12), np.linspace(250, 298, 12)
    together = hall_from_outdoor(outdoor, dew, ATMOSPHERE, **RULE)
    apart = [hall_from_outdoor(a, b, ATMOSPHERE, **RULE) for a, b in zip(outdoor, dew, strict=True)]
    assert np.transpose(apart) == pytest.approx(np.array(together), rel=1e-12)


def test_more_water_than_the_hall_holds_is_refused():
    with pytest.raises(ModelError, match=r"hall dew point .* above the hall temperature 20 degC.*\(value 2 of 2\)"):
        hall_from_outdoor([293.15] * 2, [283.15, 293.15], ATMOSPHERE, heated_to=290.0, gain=0.0, moisture_gain=0.001)


# ------------------------------------------------------------------------------------------------- the samples


def test_sample_names():
    assert sample_names() == ["cold", "hot-dry", "hot-humid", "temperate"]


@pytest.mark.parametrize("name", ["cold", "hot-dry", "hot-humid", "temperate"])
def test_samples_are_marked_as_invented_and_follow_the_rule(name):
    climate = sample_climate(name)
    assert load(f"climates/{name}")["months"].basis == "assumption"
    assert climate.name == name
    assert "invented" in climate.notes[0]
    assert climate.notes[1] == (
        "Hall where not given: outdoor air warmed by 4 K, at least 18 degC, with 0.5 g/kg more water"
    )
    hall = hall_from_outdoor(climate.outdoor_temperature, climate.outdoor_dew_point, ATMOSPHERE, **RULE)
    assert climate.hall_temperature == pytest.approx(hall[0])
    assert climate.hall_dew_point == pytest.approx(hall[1])


@pytest.mark.common_practice("what the four words mean")
def test_samples_are_what_their_names_say():
    year = {name: sample_climate(name) for name in sample_names()}
    water = {n: water_vapour.humidity_ratio(c.outdoor_dew_point, ATMOSPHERE).mean() for n, c in year.items()}
    warmth = {n: c.outdoor_temperature.mean() for n, c in year.items()}
    assert warmth["cold"] < warmth["temperate"] < min(warmth["hot-dry"], warmth["hot-humid"])
    assert water["cold"] < water["temperate"] < water["hot-humid"]
    assert water["hot-dry"] < 0.5 * water["hot-humid"]
    assert year["cold"].outdoor_temperature.min() < 268.15
    assert year["hot-humid"].outdoor_dew_point.min() > 293.15


def test_altitude_makes_the_hall_a_little_damper():
    # The same dew point outdoors is more water per kilogram of thinner air, so that 0.5 g/kg count for less.
    low, high = sample_climate("temperate"), sample_climate("temperate", pressure=84556.0)
    assert (high.hall_dew_point < low.hall_dew_point).all()
    assert list(high.hall_temperature) == list(low.hall_temperature)


def test_samples_cannot_be_changed():
    with pytest.raises(ValueError, match="read-only"):
        sample_climate("cold").hall_temperature[0] = 300.0


def test_unknown_sample():
    with pytest.raises(UnknownNameError, match=r"'hot_dry' is not .*; known are cold, hot-dry.*did you mean 'hot-dry'"):
        sample_climate("hot_dry")


# ---------------------------------------------------------------------------------------------- rows of a case


def test_rows_in_any_order_and_given_halls_are_kept():
    made = rows(march={"hall_temperature": 299.0}, july={"hall_temperature": 301.0, "hall_dew_point": 290.0})
    climate = climate_from_rows([*made[6:], *made[:6]], name="ours", notes=("measured",))
    assert climate.outdoor_temperature == pytest.approx(277.15 + np.arange(1, 13))
    ruled = hall_from_outdoor(climate.outdoor_temperature, climate.outdoor_dew_point, ATMOSPHERE, **RULE)
    assert (climate.hall_temperature[2], climate.hall_temperature[6]) == (299.0, 301.0)
    assert climate.hall_dew_point[6] == 290.0
    others = [0, 1, 3, 4, 5, 7, 8, 9, 10, 11]
    assert climate.hall_temperature[others] == pytest.approx(ruled[0][others])
    assert np.delete(climate.hall_dew_point, 6) == pytest.approx(np.delete(ruled[1], 6))
    assert climate.notes[0] == "measured"
    assert len(climate.notes) == 2


def test_rule_of_ones_own():
    climate = climate_from_rows(rows(), heated_to=296.15, gain=10.0, moisture_gain=0.0)
    assert climate.hall_temperature[11] == pytest.approx(277.15 + 12 + 10)
    assert climate.hall_temperature[0] == 296.15
    assert climate.hall_dew_point == pytest.approx(climate.outdoor_dew_point, abs=1e-5)
    assert "at least 23 degC, with 0 g/kg" in climate.notes[0]


def test_no_note_on_a_rule_that_was_not_used():
    hall = {"hall_temperature": 300.0, "hall_dew_point": 285.0}
    assert climate_from_rows([row | hall for row in rows()]).notes == ()


@pytest.mark.parametrize(
    ("made", "message"),
    [
        (rows()[:11], "rows: December missing; a climate has twelve months"),
        ([*rows(), rows()[4]], "row 13: May stands in row 5 already"),
        (rows(march={"month": 4}), "row 4: April stands in row 3 already\nrows: March missing"),
        (rows(march={"month": 0}), "row 3: month = 0 is not a month; write 1 to 12"),
        (rows(march={"month": 2.5}), "row 3: month = 2.5 is not a month"),
        (rows(march={"month": None}), "row 3: month = None is not a month"),
        (rows(march={"outdoor_dew_point": None}), "row 3: the outdoor dew point of March is missing"),
        (rows(march={"outdoor_temperature": "8 degC"}), "row 3: the outdoor temperature of March is '8 degC'"),
        (rows(march={"hall_temperature": float("nan")}), "row 3: the hall temperature of March is nan"),
        (rows(march={"hall_temp": 290.0}), "row 3: there is no key 'hall_temp'; did you mean 'hall_temperature'"),
        (rows(march={"outdoor_dew_point": 290.0}), "March: outdoor dew point 16.85 degC is above the outdoor temp"),
        (rows(march={"hall_dew_point": 300.0}), "March: hall dew point 26.85 degC is above the hall temperature 18"),
        (rows(march={"hall_temperature": 272.0}), "March: hall dew point .* is above the hall temperature -1.15"),
        (rows(march={"outdoor_temperature": 8.0}), "March: outdoor temperature -265.1 degC is outside -70 to 70 degC"),
        (rows(july={"hall_temperature": 350.0}), "July: hall temperature 76.85 degC is outside"),
        ([], "rows: January, February"),
    ],
)
def test_rows_refused_by_row_or_month(made, message):
    with pytest.raises(CaseError, match=message):
        climate_from_rows(made)


def test_every_problem_is_reported_at_once():
    with pytest.raises(CaseError) as found:
        climate_from_rows(rows(march={"outdoor_dew_point": None}, july={"month": 13}))
    assert [problem.key for problem in found.value.problems] == ["row 3", "row 7", "rows"]


def test_wrong_pressure_and_wrong_shape():
    with pytest.raises(OutOfRangeError, match="pressure"):
        climate_from_rows(rows(), pressure=1013.0)
    with pytest.raises(CaseError, match=r"hall_temperature: has shape \(2,\); it must be 12 months"):
        Climate(
            name="x",
            hall_temperature=np.array([290.0, 291.0]),
            hall_dew_point=np.full(12, 280.0),
            outdoor_temperature=np.full(12, 285.0),
            outdoor_dew_point=np.full(12, 280.0),
        )
