"""Columns of a table of metered periods: every one that is not known is named, and gas may be given by volume."""

from __future__ import annotations

import pytest

from energy.errors import CaseError
from energy.study.case import load_case
from energy.tariffs.readers import metered_periods_from_text


def read(header, cells):
    return metered_periods_from_text(f"when;days;resin (kg);{header}\nbefore;7;15000;{cells}\n")


@pytest.mark.parametrize("header", ["gas (m3)", "Gas [m³]", "gas, m3"])
def test_gas_by_volume_is_kept_as_volume(header):
    [row] = read(f"electricity (kWh);{header}", "2000;250,5")
    assert (row["gas_volume"], row["electricity"]) == ("250.5 m3", "2000 kWh")
    assert "gas" not in row


@pytest.mark.parametrize(
    ("header", "said"),
    [
        (
            "electricity (kWh);gas (Nm3)",
            "the column 'gas (Nm3)' is not known; gas is taken in kWh, MWh, GJ, MJ or MMBtu, or in m3 or ccf",
        ),
        ("electricity (kWh);gas", "the column 'gas' is not known; gas is taken in kWh"),
        ("electricity (kWh);compressed air (m3)", "compressed air is taken as the electricity of its compressor"),
        (
            "electricity (kWh);electrcity 2 (kWh)",
            "the column 'electrcity 2 (kWh)' is not known; the columns are called when, days,",
        ),
        ("electricity (kW);gas (kWh)", "the column 'electricity (kW)' is not known; electricity is taken in kWh"),
        ("gas (kWh);gas (m3)", "two columns hold gas"),
    ],
)
def test_a_column_that_is_not_known_is_named(header, said):
    with pytest.raises(CaseError) as error:
        read(header, "2000;250")
    assert said in str(error.value)


def test_dates_and_remarks_may_stand_beside_the_figures():
    [row] = read("electricity (kWh);week;Remarks", "2000;2026-W07;belt changed")
    assert set(row) == {"when", "days", "resin", "electricity"}


def test_a_blank_of_gas_by_volume_is_named_as_gas():
    with pytest.raises(CaseError, match=r"line 2: has no gas$"):
        read("electricity (kWh);gas (m3)", "2000;")


def test_a_price_of_gas_per_volume_says_what_to_write():
    with pytest.raises(CaseError) as error:
        load_case("demo").with_({"tariffs.gas": "0.60 USD/m3"})
    said = str(error.value)
    assert "'0.60 USD/m3' is a price per volume" in said
    assert "write the price per kWh, which is the price per m3 over the heating value of the bill in kWh/m3" in said
    assert "or name a tariff file that has a heating_value under [gas]" in said
    with pytest.raises(CaseError, match="is not a price per energy"):
        load_case("demo").with_({"tariffs.gas": "0.60 USD/kg"})
