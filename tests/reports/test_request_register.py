"""The register of inputs lists what a figure of the request depends on, and says what it leaves out."""

from __future__ import annotations

import cases
import pytest

from energy.reports.document import register
from energy.reports.document.after import assumptions
from energy.reports.document.proposal import Proposal, proposal
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


def test_a_dryer_of_its_own_is_called_by_its_hopper_and_a_line_of_capital_by_its_item(demo):
    lines = [
        {"item": "two towers", "amount": "20000 USD"},
        {"item": "crane", "part": "installation", "amount": "2000 USD"},
    ]
    name = proposal(demo).option.name
    p = proposal(compare(demo.case.with_({f"options['{name}'].capital": lines, "request.recommended": name})))
    labels = {entry.path: entry.label for entry in register.register(p)}
    assert labels["options['Present dryers'].machines[2].built_for"].startswith("Present dryers at Machine 3: ")
    assert not [label for label in labels.values() if ", machine " in label]
    assert labels[f"options['{name}'].capital[2].part"] == f"{name}: capital for crane"
