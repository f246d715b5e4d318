"""What is bought stands in the unit that its price is written in, or in one of the case's system."""

from __future__ import annotations

import re
from dataclasses import replace
from io import BytesIO

import pypdf
import pytest
from cases import HOT, PRESENT, WHEEL, case

from dashboards import tables as page_tables
from dashboards import where_from
from energy.reports import tables
from energy.reports.comparison_text import to_text
from energy.reports.document import rendered
from energy.reports.document.proposal import Proposal
from energy.reports.document.savings import savings
from energy.study.compare import compare

DEMO = "time-of-use-electricity"
MONTHS = [{"month": m, "energy": "300 MWh", "peak": "900 kW"} for m in range(1, 13)]


def quantities(comparison, option):
    """Tables of the section with the savings."""
    p = Proposal(comparison=comparison, option=comparison.option(option), why="")
    return [block for block in savings(p, p.option) if hasattr(block, "rows")]


def test_gas_is_billed_in_the_unit_that_its_price_is_written_in():
    found = compare(case(PRESENT, HOT, changes={"tariffs.gas": "8.5 USD/MMBtu"}))
    assert "gas: Gas at one price: 8.5 USD/MMBtu" in to_text(found, "us")
    (line,) = found.option(HOT).savings["gas"].lines
    assert line.unit == "MMBtu"
    # 1 MMBtu (IT) is 293.07 kWh.
    kwh = found.option(HOT).carrier("gas") / 3.6e6
    assert -float(line.steady) == pytest.approx(8.5 * kwh / 293.0711, rel=1e-5)
    assert float(line.steady) == pytest.approx(float(line.quantity) * 8.5, rel=1e-9)


@pytest.mark.parametrize(("units", "sign", "litres"), [("si", "m³", 1000.0), ("us", "gal", 3.785411784)])
def test_water_is_told_in_the_units_of_the_case(units, sign, litres):
    changes = {"case.units": units, "cooling": {"medium": "tower water"}, "tariffs.water": "3 USD/m3"}
    changes |= {"tariffs.cooling": None}
    found = compare(case(PRESENT, WHEEL, changes=changes))
    rows = {row[0]: row for row in quantities(found, WHEEL)[-1].rows}
    told = float(rows[f"Water {sign}"][1].replace(",", ""))
    assert told == pytest.approx(float(found.baseline.year.water.sum()) * 1000.0 / litres, abs=0.6)


def test_what_cooling_costs_is_called_cooling():
    found = compare(
        case(PRESENT, WHEEL, changes={"cooling": None, "tariffs.water": None, "tariffs.cooling": "0.02 USD/kWh"})
    )
    panel = where_from.panels(found, "si").split('id="why-0-to-run"')[1].split("</div>")[0]
    (said,) = re.findall(r'<p class="worked">(electricity .*? a year)</p>', panel)
    assert " + cooling " in said
    assert "water" not in said


@pytest.mark.parametrize(("window", "said"), [(15, False), (30, True)])
def test_a_peak_is_said_to_be_what_it_is(window, said):
    found = compare(case(PRESENT, WHEEL, changes={"tariffs.electricity": DEMO}))
    tariff = found.case.tariffs["electricity"].model_copy(update={"demand_window": 60.0 * window})
    found = replace(found, case=replace(found.case, tariffs={**found.case.tariffs, "electricity": tariff}))
    note = tables.peak_note(found.case)
    assert note.startswith("highest mean of 15 minutes")
    assert ("the tariff bills means of 30 minutes, which can be lower" in note) is said
    assert f"Peak is the {note}." in page_tables.options(found, "si")


def test_twelve_months_under_prices_by_the_clock_are_said_to_be_spread():
    month = "The plant is known by month: energy is spread over the hours of the clock"
    for tariff, told in ((DEMO, True), ("0.15 USD/kWh", False)):
        changes = {"tariffs.electricity": tariff, "tariffs.electricity_demand": None, "plant_load": {"months": MONTHS}}
        found = compare(case(PRESENT, WHEEL, changes=changes))
        assert (month in quantities(found, WHEEL)[0].note) is told


def test_paper_goes_with_the_units():
    """Letter is 8.5 by 11 inches of 72 points, A4 210 by 297 mm."""
    for units, size in (("us", [612, 792]), ("si", [595, 842])):
        page = pypdf.PdfReader(
            BytesIO(rendered(compare(case(changes={"case.units": units})), ".pdf", short=True))
        ).pages[0]
        assert [round(float(x)) for x in page.mediabox[2:]] == size
