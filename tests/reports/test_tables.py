"""Sizes in either units, and a tariff in one line."""

from __future__ import annotations

import re

import pytest
from cases import AIR, NEW, PRESENT, case

from energy.reports.comparison_text import to_text
from energy.reports.tables import describe
from energy.study.compare import compare


@pytest.fixture(scope="module")
def demo():
    return compare(case())


def test_sizes_convert(demo):
    def hopper(system, heading):
        lines = to_text(demo, system).splitlines()
        title = next(i for i, line in enumerate(lines) if line.startswith("How big"))
        assert heading in lines[title + 2]
        return float(re.split(r" {2,}", next(line for line in lines[title:] if line.startswith(NEW)))[1])

    # By hand: 90 kg/h for 4 h at 690 kg/m3, a tenth of the hopper not used.
    assert hopper("si", "m3") == pytest.approx(90 * 4 / 690 / 0.9, abs=5e-3)
    assert hopper("us", "ft3") == pytest.approx(90 * 4 / 690 / 0.9 / 0.3048**3, abs=0.05)


def test_sizes_in_us_units_are_the_same_machines(demo):
    def rows(system):
        lines = to_text(demo, system).split("\nHow big")[1].splitlines()
        rule = next(i for i, line in enumerate(lines) if line and set(line) == {"-"})
        table = [re.split(r" {2,}", line) for line in lines[rule + 1 : rule + 1 + len(demo.options)]]
        return lines[1:rule], {name: [float(c.replace(",", "")) if c != "-" else None for c in r] for name, *r in table}

    # hopper m3 -> ft3, air m3/h -> cfm, three powers in kW, desiccant kg -> lb, compressed air m3/min -> cfm
    foot = 0.3048**3
    factors = [1 / foot, 1 / 60 / foot, 1, 1, 1, 1 / 0.45359237, 1 / foot]
    (_, si), (heads, us) = rows("si"), rows("us")
    assert set(us) == {o.name for o in demo.options}
    assert re.findall(r"ft3|acfm|lb|cfm|kW", heads[1]) == ["ft3", "acfm", "kW", "kW", "kW", "lb", "cfm"]
    for name, cells in us.items():
        for here, there, factor in zip(cells, si[name], factors, strict=True):
            assert (here is None) == (there is None)
            if here is not None:  # rounded to 0.5 of the last digit shown, of whole numbers and of hundredths
                assert here == pytest.approx(there * factor, rel=0.006, abs=0.6 if factor != 1 else 0.0)
    assert us[AIR][6] == pytest.approx(demo.option(AIR).operation.sizing["compressed_air"].max() * 60 / foot, abs=0.6)


def test_a_tariff_is_described_by_its_prices(demo):
    tariffs = demo.case.tariffs
    assert describe(tariffs["electricity"]) == "90 USD a month fixed + 0.115 USD/kWh + 13 USD/kW/month"
    assert describe(tariffs["gas"]) == "60 USD a month fixed + 8.50 USD/MMBtu"
    assert describe(tariffs["cooling"]) == "0.03 USD/kWh"
    single = case(PRESENT, NEW, changes={"tariffs.electricity": "0.14 USD/kWh", "tariffs.cooling": "2 USD/GJ"}).tariffs
    assert describe(single["electricity"]) == "0.14 USD/kWh"
    assert describe(single["cooling"]) == "2 USD/GJ"  # in the unit it is written in
