"""Money that is kept between comparisons is that of a comparison which has nothing to look up."""

from __future__ import annotations

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


def test_another_rate_asks_for_no_bill(monkeypatch):
    case = energy.load_case("one-machine")
    before = compare(case)
    monkeypatch.setattr(priced, "_priced", None)
    after = compare(case.with_({"finance.rate": "3 %"}))
    for one, other in zip(before.options, after.options, strict=True):
        assert one.annual_cost == other.annual_cost
        assert one.option.baseline or one.measures.npv != other.measures.npv
