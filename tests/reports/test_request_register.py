"""The register of inputs lists what a figure of the request depends on, and says what it leaves out."""

from __future__ import annotations

from types import SimpleNamespace

import cases
import pytest

from energy.reports.document import register, swings
from energy.reports.document.after import _value, assumptions
from energy.reports.document.proposal import Proposal, proposal
from energy.reports.document.savings import savings
from energy.study.compare import compare

pytestmark = pytest.mark.xdist_group("document")


def test_prices_of_carriers_that_no_compared_option_uses_are_left_out(demo):
    p = proposal(demo)
    paths = {e.path for e in register.register(p)}
    assert register.left_out(p) == ["gas", "compressed air"]
    assert not [path for path in paths if "gas" in path or path.startswith("compressed_air")]
    assert {"tariffs.electricity", "tariffs.water", "cooling.medium", "tariff water.supply.price"} <= paths
    said = next(iter(assumptions(p))).text
    assert "Left out, since neither uses it: what belongs to gas and compressed air." in said


def test_what_the_recommended_option_uses_stays(small):
    p = Proposal(comparison=small, option=small.option(cases.HOT), why="as if it dried")  # gas-fired
    assert "gas" not in register.left_out(p)
    assert "finance.escalation_gas" in {e.path for e in register.register(p)}


def test_dryers_that_differ_are_named_by_their_hopper_and_lines_of_money_by_what_they_are(demo):
    labels = {e.path: e.label for e in register.register(proposal(demo))}
    present, central = "options['Present dryers']", "options['Central wheel, variable speed']"
    assert (
        labels[f"{present}.machines[1].built_for"] == "Present dryers at Machine 1: throughput the machine is built for"
    )
    assert labels[f"{present}.machines[2].inputs.motor_class"] == "Present dryers at Machine 3: motor class"
    assert labels[f"{present}.inputs.motor_class"] == "Present dryers: motor class"
    assert labels[f"{present}.replacements[1].amount"] == "Present dryers: replacement, amount"
    assert labels[f"{central}.capital[1].amount"] == "Central wheel, variable speed: capital, amount"
    assert labels[f"{central}.capital[4].part"] == "Central wheel, variable speed: capital, what it pays for"
    assert not [label for label in labels.values() if ", machine " in label]


def test_ranges_of_a_dryer_that_differs_are_told_by_its_hopper(demo):
    found, _ = swings.swings(demo, proposal(demo).option)
    labels = [swing.label for swing in found]
    assert "Present dryers at Machine 1: dew point above equilibrium, 10 K to 40 K" in labels


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({}, "Electricity is the bill of the whole plant; the other lines are of the dryers alone."),
        (
            {"tariffs.plant_gas": "900 GJ"},
            "Electricity and gas are the bills of the whole plant; the other lines are of the dryers alone.",
        ),
        ({"plant_load": None, "tariffs.plant_gas": "900 GJ"}, "Gas is the bill of the whole plant; the other lines"),
        ({"plant_load": None}, "Bills of the dryers alone: the case has no load of the whole plant."),
    ],
)
def test_whose_bills_stand_before_and_after_is_told(demo, changes, said):
    p = proposal(compare(demo.case.with_(changes)))
    table = next(iter(savings(p, p.comparison.option("Central wheel, variable speed"))))
    assert table.note.startswith(said)


@pytest.mark.parametrize(
    ("value", "printed"),
    [
        ("0.04125 USD/kWh", "0.04125 USD/kWh"),
        ("0.0041 USD/gal", "0.0041 USD/gal"),
        ("9000 USD (8000 to 10000 USD)", "9,000 USD (8,000 to 10,000 USD)"),
        ("150000 kWh", "150,000 kWh"),
        ("1234.5678 USD", "1,234.5678 USD"),
        ("2026-01-05 to 2026-12-31", "2026-01-05 to 2026-12-31"),
        ("1,200 kg/m3", "1,200 kg/m³"),
    ],
)
def test_thousands_are_parted_and_decimals_are_not(value, printed):
    assert _value(SimpleNamespace(value=value)) == printed
