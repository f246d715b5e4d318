"""What the Bill view takes from the case: its power factor, its currency and the tariffs it holds; and how numbers may be written."""

from __future__ import annotations

import pytest
import tomli_w

from dashboards.bill_state import State as BillState
from dashboards.shown_case import format_number
from dashboards.state import State
from energy.errors import EnergyError
from energy.reports.bill_input import power_factor
from energy.study.case import example_text, read_document
from energy.study.swap import on_other_tariffs


@pytest.mark.parametrize(
    ("text", "factor"), [("85", 0.85), ("85 %", 0.85), ("0.85", 0.85), ("80,5", 0.805), ("1", 1.0)]
)
def test_a_power_factor_from_ten_up_is_per_cent(text, factor):
    assert power_factor(text) == pytest.approx(factor)


@pytest.mark.parametrize("text", ["120", "1.2", "120 %", "-1", "0"])
def test_what_is_no_power_factor_is_refused(text):
    with pytest.raises(EnergyError, match="above 0 and up to 1"):
        power_factor(text)


@pytest.fixture
def rupees(tmp_path):
    """A case in rupees with a power factor, on a price, that holds a tariff of its own beside it."""
    own = {
        "name": "Own HT",
        "commodity": "electricity",
        "currency": "INR",
        "source": "sheet",
        "charges": [
            {
                "type": "energy-flat",
                "id": "e",
                "label": "Energy",
                "clause": "1",
                "source": "sheet",
                "price": "9 INR/kWh",
            },
            {
                "type": "demand-flat",
                "id": "d",
                "label": "Demand",
                "clause": "2",
                "source": "sheet",
                "price": "475 INR/kVA/month",
            },
        ],
    }
    text = example_text("one-machine").replace(" USD", " INR").replace('"USD"', '"INR"').replace("USD/", "INR/")
    document = read_document(text, "rupees.toml")
    document["tariffs"] = {"electricity": "8.5 INR/kWh", "power_factor": "92 %", "gas": "4 INR/kWh"}
    document["own_tariffs"] = [own]
    path = tmp_path / "rupees.toml"
    path.write_text(tomli_w.dumps(document), encoding="utf-8")
    return BillState(str(path))


def test_the_power_factor_of_the_case_stands_there_until_another_is_typed(rupees):
    rupees.choose("case own Own HT")
    assert rupees.texts["power_factor"] == "92 %"
    rupees.set("power_factor", "85")
    assert rupees.problems == {}
    assert float(rupees.load.power_factor[0]) == pytest.approx(0.85)
    rupees.choose("case electricity")
    assert rupees.texts["power_factor"] == "85"


def test_a_year_of_the_cases_plant_says_where_its_power_factor_is_another(rupees):
    months = [{"month": m, "energy": "150 MWh", "peak": "400 kW"} for m in range(1, 13)]
    rupees.behind.set({"plant_load": {"months": months}})
    rupees.take_plant()
    assert not [note for note in rupees.notes if "power factor typed in" in note]
    rupees.set("power_factor", "85")
    assert "Billed at the power factor typed in, 85 %; the case, and Compare with it, has 92 %." in rupees.notes


def test_tariffs_that_the_case_holds_can_be_chosen_and_made_its_own(rupees):
    assert ("in the case: Own HT", "case own Own HT") in rupees.choices()
    rupees.choose("case own Own HT")
    assert rupees.usable
    rupees.use_tariff()
    assert rupees.behind.document["tariffs"]["electricity"] == "Own HT"
    assert rupees.chosen == "case electricity"
    assert not any(key.startswith("case own") for _, key in rupees.choices())


def test_other_tariffs_of_a_swap_have_the_cases_own_and_one_sentence_for_another_currency(rupees):
    option = rupees.swap.options()[0]
    found = on_other_tariffs(rupees.case, option)
    assert [one.tariff.name for one in found if not isinstance(one, str)] == ["Own HT"]
    assert [one for one in found if isinstance(one, str)] == ["Tariffs in USD are left out: the case counts in INR."]


@pytest.mark.parametrize(
    ("value", "exact", "text"),
    [
        (1_150_000.0, True, "1150000"),
        (1_150_000.0, False, "1150000"),
        (232_730.5, True, "232730.5"),
        (12_345_678.9, False, "12345679"),
        (1_500_000_000.0, True, "1500000000"),
        (96.6666666, False, "96.67"),
        (28.0, True, "28"),
    ],
)
def test_large_numbers_are_written_in_full(value, exact, text):
    assert format_number(value, exact=exact) == text


def test_a_capital_is_shown_in_full_and_taken_in_indian_grouping():
    state = State("one-machine")
    state.set({"options[2].capital": "1150000 USD"})
    assert state.text_at("options[2].capital", "money", None) == "1150000"
    state.set({"options[2].capital": state.with_unit("15,30,232.73", "money")})
    assert state.problems == ()
    assert state.text_at("options[2].capital", "money", None) == "1530232.73"
