"""The demand charge beside one price of electricity, typed in on the page: per kW, or per kVA with the power factor."""

from __future__ import annotations

import pytest

from dashboards.inputs import Inputs
from dashboards.state import State

PATH = "tariffs.electricity_demand"


def test_a_bare_number_keeps_the_unit_that_the_demand_price_has():
    state = State("one-machine", lambda _, work: None)
    shown = Inputs(state)
    shown.refresh()
    state.observe(lambda _: shown.refresh(), ("revision", "system"))
    form = shown.form
    state.set({"plant_load": None, "tariffs.electricity": "0.12 USD/kWh"})
    form.enter(PATH, "13")
    assert state.document["tariffs"]["electricity_demand"] == "13 USD/kW/month"
    assert "kW/month" in form.find(PATH)["label"]
    per_kw = state.comparison.baseline.annual_cost["electricity"]
    form.enter("more-prices", "yes", "open")
    form.enter("tariffs.power_factor", "80")
    form.enter(PATH, "13 USD/kVA/month")
    form.enter(PATH, "26")  # and no price per kW
    assert state.document["tariffs"]["electricity_demand"] == "26 USD/kVA/month"
    assert "kVA/month" in form.find(PATH)["label"]
    assert not state.problems
    # Per kW 13, per kVA 26 / 80 %: 32.5 for each kW, two and a half times.
    form.enter(PATH, "")
    energy = state.comparison.baseline.annual_cost["electricity"]
    form.enter(PATH, "26 USD/kVA/month")
    assert state.comparison.baseline.annual_cost["electricity"] - energy == pytest.approx(2.5 * (per_kw - energy))
