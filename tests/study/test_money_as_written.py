"""Prices and shares that count as they are written: demand per kVA, a depreciation table in per cent, the average price in words."""

from __future__ import annotations

import numpy as np
import pytest
from cases import NEW, PRESENT, case

from energy.errors import CaseError
from energy.reports import swap as swap_words
from energy.reports.inputs import register
from energy.study.bills import average_price_words, bill_notes
from energy.study.compare import compare
from energy.study.swap import swap
from energy.tariffs.saving import Saving, SavingLine

PER_KVA = {
    "tariffs.electricity": "0.10 USD/kWh",
    "tariffs.electricity_demand": "10 USD/kVA/month",
    "tariffs.power_factor": "80 %",
}


def _peaks(option):
    """Electricity of the dryer in each month's highest 15 minutes. [kW]"""
    return option.year.most(("electricity", "compressed air")) / 1e3


@pytest.mark.parametrize("unit", ["kVA/month", "kva", "KVA / month", "kV A/month"])
def test_a_demand_price_per_kva_is_billed_on_kva(unit):
    bare = case(PRESENT, NEW, changes=PER_KVA | {"tariffs.electricity_demand": None})
    priced = compare(bare.with_({"tariffs.electricity_demand": f"10 USD/{unit}"}))
    for before, after in zip(compare(bare).options, priced.options, strict=True):
        added = after.annual_cost["electricity"] - before.annual_cost["electricity"]
        assert added == pytest.approx(sum(10.0 * kw / 0.80 for kw in _peaks(after)), rel=1e-9)


def test_a_demand_price_per_kva_is_shown_as_written_and_counted_in_full():
    result = compare(case(PRESENT, NEW, changes=PER_KVA))
    assert result.case.tariffs["electricity"].describe() == ("0.10 USD/kWh", "10 USD/kVA/month")
    line = next(x for x in result.option(NEW).savings["electricity"].lines if x.group == "demand")
    assert (line.unit, line.rates) == ("kVA", (10.0,))
    fall = _peaks(result.baseline) - _peaks(result.option(NEW))
    assert line.steady == pytest.approx(np.sum(fall) / 0.80 * 10.0)
    assert result.option(NEW).savings["electricity"].demand_realised() == pytest.approx(1.0)
    entry = next(e for e in register(result.case) if e.path == "tariffs.electricity_demand")
    assert entry.value == "10 USD/kVA/month"


def test_a_demand_price_per_kva_without_a_power_factor_is_refused():
    with pytest.raises(CaseError, match=r"tariffs.electricity: .*needs the power factor.*; give tariffs.power_factor"):
        compare(case(PRESENT, NEW, changes=PER_KVA | {"tariffs.power_factor": None}))


def test_a_demand_price_per_kvar_is_no_price_of_demand():
    with pytest.raises(CaseError, match=r"tariffs.electricity_demand: .*is per kvar; write it per kW or kVA"):
        case(PRESENT, NEW, changes=PER_KVA | {"tariffs.electricity_demand": "10 USD/kvar/month"})


def _tax(table):
    return {"finance.tax": {"rate": "27 %", "depreciation": "own", "table": table}}


def test_a_depreciation_table_takes_shares_as_everywhere():
    npv = {
        str(table): compare(case(PRESENT, NEW, changes=_tax(table))).option(NEW).measures.npv
        for table in ([0.4, 0.2, 0.2, 0.2], ["40 %", "20 %", 0.2, "0.2"])
    }
    assert len(set(npv.values())) == 1
    with pytest.raises(
        CaseError, match=r"finance.tax.table: Year 2: 'lots' is not a share; write a number, or a number and %"
    ):
        case(PRESENT, NEW, changes=_tax(["40 %", "lots"]))
    with pytest.raises(CaseError, match="add up to 100 %; these add up to 90 %"):
        case(PRESENT, NEW, changes=_tax(["40 %", "50 %"]))


def _saving(fall, estimate):
    line = SavingLine("Energy", "7", "energy", "energy", fall, fall, 1e4, 0.0, "kWh", (0.1,), 12)
    return Saving(currency="CAD", lines=(line,), demand_possible=0.0, average_estimate=estimate)


def test_an_average_price_that_goes_the_wrong_way_is_said_so_without_a_percentage():
    falls, rises = _saving(26.0, -101.0), _saving(-26.0, 101.0)
    assert average_price_words(falls) == (
        "By the average price of the bill, times the kWh added, the bill would rise by 101 CAD a year; it falls by 26 CAD."
    )
    assert average_price_words(rises) == (
        "By the average price of the bill, times the kWh saved, the bill would fall by 101 CAD a year; it rises by 26 CAD."
    )
    ((note, *_),) = bill_notes(case(PRESENT, NEW), [{"electricity": falls}])
    assert (note.check, note.value) == ("average price", None)
    # 101 for 26, both of them more: 288 % too high.
    assert average_price_words(_saving(-26.0, -101.0)) == (
        "kWh added times the average price of the bill would say 101 CAD a year; the bill rises by 26 CAD: the average is 288 % too high."
    )


def test_a_swap_on_a_tariff_per_kva_gives_back_all_of_the_demand_saving():
    priced = compare(case(PRESENT, NEW, changes=PER_KVA))
    said = swap_words.sentences(swap(priced.case, NEW, priced.case.tariffs["electricity"]))
    assert said[-1].endswith("100 % of that comes off the bill.")
