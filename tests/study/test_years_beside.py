"""Years of options beside each other, and what one bill of them says of each: by hand."""

from __future__ import annotations

import numpy as np
import pytest

from energy.study.cost import RunningCost
from energy.study.year import Year
from energy.study.years_beside import beside, costs_of, savings_of
from energy.tariffs import Saving
from energy.tariffs.saving import SavingLine

HEATER, BLOWER = ("heater", "electricity"), ("blower", "electricity")


def months(amount):
    return np.full(12, float(amount))


def year(use, amount, heat):
    return Year(
        energy={use: months(amount)},
        peak={use: months(amount + 1)},
        energy_in={("production", *use): months(amount + 2)},
        peak_in={("production", *use): months(amount + 3)},
        heat_in={"heater": months(amount + 4)},
        heat_out={heat: months(amount + 5)},
        states={"production": months(amount)},
        resin=months(amount + 6),
        free_air=months(amount + 7),
        least=months(amount + 8),
        water=months(amount + 9),
        hall_air={heat: months(amount + 10)},
    )


def test_an_option_takes_nothing_of_what_it_does_not_have():
    years = [year(HEATER, 100, "vent"), year(BLOWER, 200, "shell")]
    both = beside(years, by_clock=True)
    tables = {"energy": 0, "peak": 1, "energy_in": 2, "peak_in": 3}
    for name, more in tables.items():
        state = ("production",) if name.endswith("_in") else ()
        table = getattr(both, name)
        assert list(table) == [(*state, *HEATER), (*state, *BLOWER)]
        np.testing.assert_array_equal(table[(*state, *HEATER)], [[100 + more] * 12, [0] * 12])
        np.testing.assert_array_equal(table[(*state, *BLOWER)], [[0] * 12, [200 + more] * 12])
    assert list(both.heat_out) == ["shell", "vent"]  # in one order, whichever comes first
    for table, more in ((both.heat_out, 5), (both.hall_air, 10)):
        np.testing.assert_array_equal(table["vent"], [[100 + more] * 12, [0] * 12])
        np.testing.assert_array_equal(table["shell"], [[0] * 12, [200 + more] * 12])
    for name, more in {"resin": 6, "free_air": 7, "least": 8, "water": 9}.items():
        np.testing.assert_array_equal(getattr(both, name), [[100 + more] * 12, [200 + more] * 12])
    assert (both.heat_in, both.states) == ({}, {})
    assert beside(years, by_clock=False).energy_in == {}


def test_the_cost_of_each_option_has_its_own_uses_in_its_own_order():
    cost = RunningCost(
        annual={"electricity": np.array([30.0, 25.0]), "maintenance": np.array([3.0, 4.0])},
        by_end_use={
            "heater": np.array([20.0, 0.0]),
            "blower": np.array([0.0, 25.0]),
            "compressed air": np.array([10.0, 0.0]),
            "maintenance": np.array([3.0, 4.0]),
        },
        lines=(("Energy", "1", np.array([30.0, 20.0])), ("Demand", "2", np.array([0.0, 5.0]))),
    )
    first, second = costs_of(cost, [["blower", "heater"], ["blower"]])
    assert first.annual == {"electricity": 30.0, "maintenance": 3.0}
    assert second.annual == {"electricity": 25.0, "maintenance": 4.0}
    # A use of its meters that costs nothing is told; one without a meter, such as the price of bought air, where it costs.
    assert list(first.by_end_use.items()) == [
        ("blower", 0.0),
        ("heater", 20.0),
        ("compressed air", 10.0),
        ("maintenance", 3.0),
    ]
    assert list(second.by_end_use.items()) == [("blower", 25.0), ("maintenance", 4.0)]
    assert first.lines == (("Energy", "1", 30.0),)
    assert second.lines == (("Energy", "1", 20.0), ("Demand", "2", 5.0))


def line(name, first_year, steady, before, quantity):
    return SavingLine(name, "1", name, "energy", first_year, steady, before, quantity, "kWh", (0.1,), 12)


SAVED = Saving(
    currency="USD",
    lines=[
        line(
            "Energy", np.array([10.0, 20.0]), np.array([11.0, 21.0]), np.array([90.0, 95.0]), np.array([100.0, 200.0])
        ),
        line("Tax", np.array([1.0, 2.0]), np.array([3.0, 4.0]), 50.0, 7.0),
    ],
    demand_possible=5.0,
    average_estimate=np.array([8.0, 9.0]),
)


def test_the_saving_of_each_option_has_its_own_lines_and_sums():
    first, second = savings_of(SAVED, 2)
    assert list(first.lines) == [line("Energy", 10.0, 11.0, 90.0, 100.0), line("Tax", 1.0, 3.0, 50.0, 7.0)]
    assert list(second.lines) == [line("Energy", 20.0, 21.0, 95.0, 200.0), line("Tax", 2.0, 4.0, 50.0, 7.0)]
    assert {type(number) for number in second.lines[0][4:8]} == {float}
    assert (first.first_year, first.steady, first.before) == (11.0, 14.0, 140.0)
    assert (second.first_year, second.steady, second.before) == (22.0, 25.0, 145.0)
    assert (first.demand_possible, first.average_estimate) == (5.0, 8.0)
    assert (second.demand_possible, second.average_estimate) == (5.0, 9.0)
    assert first.currency == "USD"


def test_lines_are_taken_by_their_place_from_either_end_or_several_at_once():
    second = savings_of(SAVED, 2)[1]
    assert len(second.lines) == 2
    assert second.lines[-1] == line("Tax", 2.0, 4.0, 50.0, 7.0)
    assert second.lines[:1] == [line("Energy", 20.0, 21.0, 95.0, 200.0)]
    assert [of.line for of in second.lines[::-1]] == ["Tax", "Energy"]
    with pytest.raises(IndexError):
        second.lines[2]


def test_one_estimate_for_all_is_that_of_each():
    alike = Saving(currency="USD", lines=SAVED.lines, demand_possible=np.array([5.0, 6.0]), average_estimate=8)
    first, second = savings_of(alike, 2)
    assert (first.demand_possible, second.demand_possible) == (5.0, 6.0)
    assert (first.average_estimate, second.average_estimate) == (8.0, 8.0)
    assert type(first.average_estimate) is float
