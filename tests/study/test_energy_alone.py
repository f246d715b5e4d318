"""Energy saved is worth by the meters what the lines of the request say of it."""

from __future__ import annotations

import pytest

from energy.study.case import load_case
from energy.study.compare import KWH, compare
from energy.study.energy_alone import worth

CLOCK, TAX = "time-of-use-electricity", 1.06
"""The demo tariff by the clock, whose tax of 6 % is on energy and demand alike."""
DEAREST, CHEAPEST = TAX * 0.165, TAX * 0.078  # USD/kWh, of summer on-peak and off-peak


@pytest.fixture(scope="module")
def clock():
    return compare(load_case("demo").with_({"tariffs.electricity": CLOCK}))


def of(comparison, name, carrier):
    return comparison.baseline.carrier(carrier) - comparison.option(name).carrier(carrier)


def lines(option, bill):
    """What the lines of energy of a bill fall by, by hand from the bills before and after."""
    return sum(float(line.steady) for line in option.savings[bill].lines if line.group == "energy")


NAMES = ["Central wheel, variable speed", "Twin towers, new", "Wheels, variable speed", "Hot air, gas-fired"]


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("times", [1.0, 0.5, 1.5, -0.25])
def test_energy_that_the_request_counts_is_worth_what_its_lines_say(clock, name, times):
    option = clock.option(name)
    saved = of(clock, name, "electricity")
    expected = times * TAX * lines(option, "electricity")
    found = worth(clock.case, clock.baseline, option, "electricity", times * saved)
    assert found == pytest.approx(expected, rel=1e-9)


def test_gas_that_the_request_counts_is_worth_what_its_lines_say(clock):
    option = clock.option("Hot air, gas-fired")
    burnt = of(clock, option.name, "gas")
    assert burnt < 0.0
    found = worth(clock.case, clock.baseline, option, "gas", burnt)
    assert found == pytest.approx(sum(float(line.steady) for line in option.savings["gas"].lines), rel=1e-9)


def test_energy_between_two_that_hardly_differ_has_the_price_of_the_hours_in_which_they_run(clock):
    base = clock.baseline
    price = worth(clock.case, base, base, "electricity", 1e4 * KWH) / 1e4
    assert CHEAPEST < price < DEAREST
