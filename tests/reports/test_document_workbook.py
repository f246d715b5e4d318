"""The workbook of a capital request: LibreOffice works it out anew, and every figure is the engine's to a cent."""

from __future__ import annotations

import dataclasses
import re
from pathlib import Path

import cases
import numpy as np
import pytest
import spreadsheet

import energy
from energy.reports.document import book, rendered
from energy.reports.document.proposal import proposal
from energy.study.case import build, example_text, read_document
from energy.study.compare import compare
from energy.study.paths import changed

PRESENT, WHEEL = cases.PRESENT, cases.WHEEL
pytestmark = pytest.mark.xdist_group("document")  # shares comparisons and one run of LibreOffice
needs_office = pytest.mark.skipif(spreadsheet.SOFFICE is None, reason="LibreOffice (soffice) is not installed")

DEARER = [{"item": "Dryer and hopper", "amount": "31000 USD"}, {"item": "Installation", "amount": "2500 USD"}]
CHANGES = {  # cells of the workbook -> their new numbers, and the case changed alike
    "bought": (
        {"option_2_capital_1": 31000.0, "option_2_incentive": 4000.0, "option_2_life": 8.0},
        {f"options['{WHEEL}'].capital": DEARER, f"options['{WHEEL}'].incentive": "4000 USD", f"options['{WHEEL}'].life": 8},
    ),
    "run": (
        {"electricity_1_price": 0.16, "option_1_maintenance": 900.0, "option_1_replacement_1": 1000.0,
         "option_1_replacement_1_every": 2.5},
        {"tariffs.electricity": "dearer.toml", f"options['{PRESENT}'].maintenance": "900 USD/year",
         f"options['{PRESENT}'].replacements": [{"item": "Overhaul", "every": 2.5, "amount": "1000 USD"}]},
    ),
    "judged": (
        {"discount_rate": 0.12, "escalation_electricity": 0.03},
        {"finance.rate": "12 %", "finance.escalation_electricity": "3 %"},
    ),
}  # fmt: skip
DEARER_BILLS = ("ratcheted dearer", "demo dearer")
TAX = {"rate": "25 %", "depreciation": "straight-line", "life": 7}
RECOVERY = {"rate": "25 %", "depreciation": "macrs-5", "incentive": "income"}
PARTS = [
    {"item": "Dryer and hopper", "amount": "11800 USD", "count": 2},
    {"item": "Fitting", "amount": "2400 USD", "part": "installation"},
]
GRANT = {
    f"options['{WHEEL}'].incentive": "3000 USD",
    f"options['{WHEEL}'].capital": PARTS,
    f"options['{PRESENT}'].replacements": [{"item": "Overhaul", "every": 4, "amount": "6500 USD", "next_due": 1.5}],
    "request.contingency": "10 %",
}
TERMS = {  # how the case counts money; the tax rate of the first is changed in its workbook too
    "tax_rate": {"finance.tax": TAX, "finance.inflation": "2 %", **GRANT},
    "late": {"finance.delay": "0.5 year", "finance.capital_year": 1},
    "started": {"finance.delay": "2.5 year", "finance.capital_year": 2, f"options['{WHEEL}'].life": 12, "finance.tax": TAX,
                f"options['{WHEEL}'].replacements": [{"item": "Wheel", "every": 4, "amount": "900 USD"}],
                f"options['{PRESENT}'].replacements": [{"item": "Beds", "every": 2, "amount": "700 USD"}]},
    "all": {"finance.tax": RECOVERY, "finance.timing": "mid", "finance.delay": "1.5 year",
            "finance.rate_basis": "nominal", "finance.inflation": "2 %", **GRANT},
    "hall": {"site.climate": "cold", "site.hall_temperature": None, "site.hall_dew_point": None, "tariffs.plant_gas": "90 GJ",
             "building": {"process_exhaust": "outside", "regeneration_exhaust": "outside", "cooling_months": "2"}},
}  # fmt: skip
PLANT = ("Present dryers", "Central wheel, variable speed", "Compressed air with membrane", "Hot air, gas-fired")
TARIFFS = ("time-of-use-electricity", "hours-use-electricity", "apparent-power-electricity")


@pytest.fixture(scope="session")
def worked_out(demo, tmp_path_factory):
    """Recalculated sheets and the comparison they must agree with, by what was changed."""
    folder = tmp_path_factory.mktemp("books")
    wanted = {"demo": demo}
    spreadsheet.changed(rendered(demo, ".xlsx"), folder / "demo.xlsx", {})
    text = (Path(energy.__file__).parents[1] / "tariffs_demo" / "flat-electricity.toml").read_text(encoding="utf-8")
    text = text.partition("[worked]")[0].replace("0.115 USD/kWh", "0.16 USD/kWh")
    (folder / "dearer.toml").write_text(text, encoding="utf-8")
    case = dataclasses.replace(cases.case(PRESENT, WHEEL), folder=folder)
    plain = rendered(compare(case), ".xlsx")
    for name, (cells, changes) in CHANGES.items():
        wanted[name] = compare(case.with_(changes))
        spreadsheet.changed(plain, folder / f"{name}.xlsx", cells)
    for name, changes in TERMS.items():
        wanted[f"terms {name}"] = compare(case.with_(changes))
        spreadsheet.changed(rendered(wanted[f"terms {name}"], ".xlsx"), folder / f"terms {name}.xlsx", {})
    spreadsheet.changed(rendered(wanted["terms tax_rate"], ".xlsx"), folder / "tax_rate.xlsx", {"tax_rate": 0.35})
    wanted["tax_rate"] = compare(case.with_({**TERMS["tax_rate"], "finance.tax": {**TAX, "rate": "35 %"}}))
    ratcheted = {
        "tariffs.electricity": "time-of-use-electricity"
    }  # prices by period and a ratchet: lines of the engine
    dearer = {f"{carrier}_factor": factor for carrier, factor in (("electricity", 1.2), ("gas", 0.9), ("water", 1.1))}
    changes = {f"tariffs.{key}": f"{factor:.0%}" for key, factor in dearer.items()}
    for name, start in (("ratcheted dearer", case.with_(ratcheted)), ("demo dearer", demo.case)):
        wanted[name] = compare(start.with_(changes))
        book = rendered(compare(start), ".xlsx")
        kept = {key: factor for key, factor in dearer.items() if f'name="{key}"' in spreadsheet.names(book)}
        spreadsheet.changed(book, folder / f"{name}.xlsx", kept)
    whole = read_document(example_text("demo"), "demo")
    whole["options"] = [o for o in whole["options"] if o["name"] in PLANT]
    for tariff in TARIFFS:
        name = tariff.partition("-")[0]
        wanted[name] = compare(build(changed(whole, {"tariffs.electricity": tariff, "tariffs.power_factor": "90 %"})))
        spreadsheet.changed(rendered(wanted[name], ".xlsx"), folder / f"{name}.xlsx", {})
    sheets = spreadsheet.recalculated(folder)
    return {name: (sheets[name], comparison) for name, comparison in wanted.items()}


def engine(comparison):
    """The figures of the sheet Measures from the engine."""
    found = {}
    carriers = {"electricity": "Electricity", "gas": "Gas", "water": "Cooling and water", "maintenance": "Maintenance"}
    for o in comparison.options:
        found[o.name, "Running cost, USD/year"] = o.total_cost
        found[o.name, "Life-cycle cost, USD"] = o.life_cycle_cost
        for carrier, label in carriers.items():
            found[o.name, f"{label}, USD/year"] = o.annual_cost[carrier]
        if o.measures is not None and o.verdict.word in ("pass", "caution"):
            m = o.measures
            found[o.name, "Net savings, USD"] = m.npv
            found[o.name, "Savings-to-investment ratio"] = m.sir
            found[o.name, "Adjusted internal rate of return"] = m.airr
            found[o.name, "Simple payback, overhauls counted, years"] = m.payback
            found[o.name, "Capital over a year's saving, years"] = m.capital_over_saving
            found[o.name, "Discounted payback, years"] = m.discounted_payback
            if np.isfinite(m.irr) and comparison.case.model.finance.timing == "end":
                found[o.name, "Internal rate of return"] = m.irr
    return found


def measures(sheets):
    """Cells of the tables that the workbook works out, by option and measure; the check is one of them."""
    found, names = {}, None
    for row in sheets["Measures"]:
        if row and row[0] in ("By the formulas here", "By the engine"):
            names = row[1:] if row[0] == "By the formulas here" else None
        elif row and names:
            found |= {(name, row[0]): cell for name, cell in zip(names, row[1:], strict=False) if name and cell}
    return found


def plain(text):
    """A cell as a number."""
    return float(text[:-1]) / 100 if text.endswith("%") else float(text)


@needs_office
@pytest.mark.parametrize(
    "change",
    [
        "demo",
        *CHANGES,
        "tax_rate",
        *DEARER_BILLS,
        *(f"terms {t}" for t in TERMS),
        *(t.partition("-")[0] for t in TARIFFS),
    ],
)
def test_the_recalculated_workbook_is_the_engine_to_a_cent(worked_out, change):
    sheets, comparison = worked_out[change]
    wrong = [cell for rows in sheets.values() for row in rows for cell in row if re.match(r"#[A-Z/0!?]+|Err:\d", cell)]
    assert not wrong
    sheet = measures(sheets)
    for key, value in engine(comparison).items():
        if not np.isfinite(value):
            assert sheet[key] == "none", key
        else:
            assert plain(sheet[key]) == pytest.approx(value, abs=0.005 if "USD" in key[1] else 1e-6), key
    (told,) = (cell for row in sheets["Cash flow"] for cell in row if "Costs of the baseline" in cell)
    for o in comparison.options:
        if o.verdict.word in ("fail", "unlikely"):
            assert f"{o.name} {'fails' if o.verdict.word == 'fail' else 'is unlikely'} to dry" in told
            assert (o.name, "Net savings, USD") not in sheet
    # The check stands against the engine's figures of the case the book was made from.
    assert ("differs" in {sheet[o.name, "Check"] for o in comparison.options}) == (
        change in (*CHANGES, "tax_rate", *DEARER_BILLS)
    )


@needs_office
def test_old_peaks_cost_more_where_the_whole_bill_does(worked_out):
    _, comparison = worked_out["ratcheted dearer"]
    assert any(abs(float(s.first_year - s.steady)) > 1 for o in comparison.options for s in o.savings.values())


@needs_office
def test_what_is_asked_for_holds_the_contingency(worked_out):
    figures = {row[0]: row[1] for row in worked_out["demo"][0]["Request"]}
    assert float(figures["Asked for, with contingency"]) == pytest.approx(109000 * 1.08)


@needs_office
@pytest.mark.parametrize("change", ["demo", "terms tax_rate", "terms all", "terms late"])
def test_the_parts_of_the_worth_add_up_to_it(worked_out, change):
    sheets, comparison = worked_out[change]
    rows = [row for row in sheets["Request"] if row]
    first = next(i for i, row in enumerate(rows) if row[0] == "What the net present value is made of")
    last = next(i for i, row in enumerate(rows) if row[0] == "Sum: net present value")
    parts = {row[0]: float(row[1]) for row in rows[first + 1 : last]}
    npv = proposal(comparison).option.measures.npv
    assert float(rows[last][1]) == pytest.approx(npv, abs=0.005)
    assert sum(parts.values()) == pytest.approx(npv, abs=0.005 * len(parts))
    assert ("Tax" in parts) == (comparison.case.model.finance.tax is not None)
    assert parts["Capital"] < 0


@needs_office
@pytest.mark.parametrize("change", ["demo", "terms tax_rate", "terms all"])
def test_the_contingency_spent_is_a_dearer_machine(worked_out, change):
    sheets, comparison = worked_out[change]
    figures = {row[0]: row[1] for row in sheets["Request"]}
    option = proposal(comparison).option
    extra = {
        "item": "Contingency",
        "amount": f"{float(comparison.case.model.request.contingency) * option.capital} USD",
        "part": "contingency",
    }
    lines = [
        {"item": line.item, "amount": f"{float(line.amount)} USD", "count": line.count, "part": line.part}
        for line in option.option.capital
    ]
    dearer = compare(comparison.case.with_({f"options['{option.name}'].capital": [*lines, extra]})).option(option.name)
    spent = float(figures["The same with the contingency spent"])
    assert spent == pytest.approx(dearer.measures.npv, abs=0.005)


@needs_office
@pytest.mark.parametrize("tariff", TARIFFS)
def test_tariffs_that_no_sheet_can_express_are_yearly_amounts(worked_out, tariff):
    sheets, _ = worked_out[tariff.partition("-")[0]]
    assert any("yearly amounts only" in cell for row in sheets["Inputs"] for cell in row)


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("=1+1", "'=1+1"),
        ("+1", "'+1"),
        ("-1", "'-1"),
        ("@a", "'@a"),
        (" =1", "' =1"),
        ("a=1", "a=1"),
        ("", ""),
        ("\t=1", "' =1"),
    ],
)
def test_text_is_no_formula(text, kept):
    assert book.safe(text) == kept
