"""Money that is kept between comparisons is that of a comparison which has nothing to look up."""

from __future__ import annotations

from dataclasses import astuple

import pytest

import energy
from energy.reports.comparison_json import to_dict
from energy.study import priced
from energy.study.compare import compare

BASE, NEW = "Present twin tower", "New twin tower"
MONTHS = [
    {"month": month, "energy": "150 MWh", "peak": f"{420 + 5 * month} kW"} for month in range(1, 13)
]  # of a plant of its own
CHANGES = [
    {"finance.rate": "4 %"},
    {"finance.electricity_emission": "0.1 kg/kWh"},
    {f"options['{NEW}'].capital": [{"item": "Dryer", "amount": "30000 USD"}]},
    {f"options['{NEW}'].maintenance": "900 USD/year"},
    {f"options['{BASE}'].baseline": False, f"options['{NEW}'].baseline": True},
    {f"options['{NEW}'].inputs.leak_share": "4 %"},
    {f"options['{BASE}'].metered_over_model": 1.2},
    {"tariffs.electricity": "0.2 USD/kWh"},
    {"tariffs.electricity": "200 USD/MWh"},
    {"tariffs.electricity": "time-of-use-electricity"},
    {"tariffs.electricity_factor": 1.5},
    {"tariffs.coincidence": "60 %"},
    {"tariffs.electricity": "time-of-use-electricity", "plant_load": {"months": MONTHS}},
    {"tariffs.electricity": "time-of-use-electricity", "plant_load": {"months": MONTHS[::-1]}},
    {"case.year": 2028},
    {"calendar.production_hours": "5000 h"},
    {"site.altitude": "900 m"},
    {"compressed_air.maintenance": "0.004 USD/m3"},
    {"building": {"heating_carrier": "gas"}},
]


@pytest.mark.parametrize("change", CHANGES)
def test_what_is_kept_is_what_is_made_anew(change, monkeypatch):
    case = energy.load_case("one-machine")
    changed = case.with_(change)
    monkeypatch.setattr(priced, "_KEPT", priced.Latest(4))
    made = to_dict(compare(changed))
    monkeypatch.setattr(priced, "_KEPT", priced.Latest(4))
    before = to_dict(compare(case))
    assert to_dict(compare(changed)) == made != before
    assert to_dict(compare(changed)) == made
    assert to_dict(compare(case)) == before


@pytest.mark.parametrize("tariff", ["time-of-use-electricity", "flat-electricity", "hours-use-electricity"])
@pytest.mark.parametrize("name", ["one-machine", "demo"])
def test_options_billed_beside_each_other_are_billed_as_each_alone(name, tariff, monkeypatch):
    case = energy.load_case(name).with_(
        {
            "tariffs.electricity": tariff,
            "tariffs.power_factor": 0.9,
            "plant_load": {"months": MONTHS},
            "building": {"heating_carrier": "gas"},
        }
    )
    monkeypatch.setattr(priced, "_KEPT", priced.Latest(4))
    together = compare(case)
    monkeypatch.setattr(priced, "_KEPT", priced.Latest(4))
    monkeypatch.setattr(priced, "rows_by_load", lambda _: True)
    for one, alone in zip(together.options, compare(case).options, strict=True):
        assert one.cost_by_end_use == pytest.approx(alone.cost_by_end_use, rel=1e-12)
        assert list(one.cost_by_end_use) == list(alone.cost_by_end_use)
        assert one.annual_cost == pytest.approx(alone.annual_cost, rel=1e-12)
        assert [line[:2] for line in map(astuple, one.bill)] == [line[:2] for line in map(astuple, alone.bill)]
        assert [line.amount for line in one.bill] == pytest.approx([line.amount for line in alone.bill], rel=1e-12)
        assert one.savings.keys() == alone.savings.keys()
        for meter, saving in one.savings.items():
            mine, other = (list(s.lines) for s in (saving, alone.savings[meter]))
            assert [(*x[:4], *x[-3:]) for x in mine] == [(*x[:4], *x[-3:]) for x in other]
            for x, y in zip(mine, other, strict=True):
                assert x[4:8] == pytest.approx(y[4:8], rel=1e-12, abs=1e-9)
            assert saving.demand_possible == pytest.approx(alone.savings[meter].demand_possible, rel=1e-12)


def test_another_rate_asks_for_no_bill(monkeypatch):
    case = energy.load_case("one-machine")
    before = compare(case)
    monkeypatch.setattr(priced, "_priced", None)
    after = compare(case.with_({"finance.rate": "3 %"}))
    for one, other in zip(before.options, after.options, strict=True):
        assert one.annual_cost == other.annual_cost
        assert one.option.baseline or one.measures.npv != other.measures.npv
