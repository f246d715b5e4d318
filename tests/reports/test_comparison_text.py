"""The comparison on a terminal: what stands where, and what is held out."""

from __future__ import annotations

import re

import pytest
from cases import HOT, NEW, PRESENT, alone, case, resin

from energy.reports.comparison_text import to_text
from energy.study.case import build, load_case
from energy.study.compare import CAUTIONS, compare


@pytest.fixture(scope="module")
def demo():
    return compare(case())


def test_the_table_shows_every_option_ranked_and_in_columns(demo):
    text = to_text(demo, "si").splitlines()
    rule = next(i for i, line in enumerate(text) if set(line) == {"-"})
    heads, rows = text[rule - 2 : rule], text[rule + 1 : rule + 10]
    shown = [re.split(r" {2,}", row)[0] for row in rows]
    assert shown[: len(demo.ranked())] == [o.name for o in demo.ranked()]
    assert set(shown[len(demo.ranked()) :]) == {HOT, "Infrared drum"}  # those that do not dry, last
    for word in ("electricity", "gas", "cooling", "peak", "running", "capital", "life-cycle", "savings", "payback"):
        assert any(word in head for head in heads)
    assert "Wh/kg" in heads[1]
    assert all(len(line) <= len(text[rule]) for line in (*heads, *rows))
    new = next(row for row in rows if row.startswith(NEW))
    cells = re.split(r" {2,}", new)
    option = demo.option(NEW)
    assert cells[1] == "pass"
    assert float(cells[2]) == pytest.approx(option.specific_energy / 3600, abs=0.05)
    assert float(cells[7].replace(",", "")) == pytest.approx(option.total_cost, abs=0.5)
    paid, alone_ = (float(v) for v in re.fullmatch(r"([\d.]+) \(([\d.]+)\)", cells[-1]).groups())
    assert paid == pytest.approx(option.measures.payback, abs=0.05)
    assert alone_ == pytest.approx(option.measures.payback_on_savings, abs=0.05)
    assert next(row for row in rows if row.startswith(PRESENT)).endswith("baseline")


def test_annual_cost_by_line_stands_below(demo):
    text = to_text(demo, "si")
    assert "What a year costs, USD" in text
    row = next(line for line in text.split("What a year costs")[1].splitlines() if line.startswith(HOT))
    numbers = [float(cell.replace(",", "")) for cell in re.split(r" {2,}", row)[1:]]
    cost = demo.option(HOT).annual_cost
    wanted = [cost["electricity"], cost["gas"], cost["water"], cost["maintenance"], demo.option(HOT).total_cost]
    assert numbers == pytest.approx(wanted, abs=0.5)


def test_us_units(demo):
    text = to_text(demo, "us")
    assert "PC at 198.4 lb/h" in text
    assert "Wh/lb" in text
    assert "Wh/kg" not in text
    shown = float(re.split(r" {2,}", next(line for line in text.splitlines() if line.startswith(NEW)))[2])
    assert shown == pytest.approx(demo.option(NEW).specific_energy / 3600 * 0.45359237, abs=0.05)


def test_what_is_in_doubt_is_told_and_cautions_end_the_page(demo):
    text = to_text(demo, "si")
    doubts = text.split("Does it dry?")[1].split("Cautions")[0]
    for option in demo.options:
        assert (f"  {option.name}: {option.verdict.overall}" in doubts) == (option.verdict.overall != "pass")
        for reason in option.verdict.reasons():
            assert f"    - {reason}" in doubts
    assert text.endswith("\n".join(f"  - {c}" for c in CAUTIONS))


def test_an_option_that_fails_stays_in_the_table_last_and_is_not_the_answer():
    humid = {**resin("PA66"), "site.hall_temperature": "28 degC", "site.hall_dew_point": "20 degC"}
    comparison = compare(case(PRESENT, NEW, HOT, changes=humid))
    text = to_text(comparison, "si")
    table = text.split("\n\n")[1].splitlines()
    assert table[-2].startswith(HOT)
    assert " fail " in table[-2]
    assert table[-2].endswith(" -")  # no payback is held out
    told = text.split("\n\n")[2]
    assert told.split(". ")[-1] == f"Not ranked, since it does not dry PA66: {HOT}."
    assert told.count(HOT) == 1
    assert comparison.ranked()[0].name.lower() in told.lower()
    only = compare(alone(HOT, humid))
    assert "None of the options dries PA66 to its target" in to_text(only, "si")


def test_end_uses_add_up_to_the_total(demo):
    lines = to_text(demo, "si").splitlines()
    title = next(i for i, line in enumerate(lines) if line.startswith("Where the energy goes, Wh/kg"))
    rule = next(i for i in range(title, len(lines)) if set(lines[i]) == {"-"})
    for row in lines[rule + 1 : rule + 1 + len(demo.options)]:
        name, *numbers = re.split(r" {2,}", row)
        *uses, total, minimum = map(float, numbers)
        assert sum(uses) == pytest.approx(total, abs=0.05 * (len(uses) + 1))
        assert total == pytest.approx(demo.option(name).specific_energy / 3600, abs=0.05)
        assert minimum < total


def test_end_uses_in_us_units(demo):
    row = next(
        x for x in to_text(demo, "us").split("Where the energy goes, Wh/lb")[1].splitlines() if x.startswith(NEW)
    )
    *uses, total, minimum = map(float, re.split(r" {2,}", row)[1:])
    assert sum(uses) == pytest.approx(total, abs=0.05 * (len(uses) + 1))
    assert minimum == pytest.approx(demo.option(NEW).minimum_energy / 3600 * 0.45359237, abs=0.05)


@pytest.mark.parametrize("failing", [HOT, "Infrared drum"])
def test_no_money_is_held_out_for_what_does_not_dry(demo, failing):
    lines = to_text(demo, "si").splitlines()
    heads = next(line for line in lines if line.startswith("option"))
    row = next(line for line in lines if line.startswith(failing))
    start = heads.index("savings USD")
    new = next(line for line in lines if line.startswith(NEW))
    assert new[start : start + 11].strip() == f"{demo.option(NEW).measures.npv:,.0f}"
    assert row[start : start + 11].strip() == ""
    assert row.endswith(" -")
    assert demo.option(failing).measures.npv != 0.0


def test_the_prices_stand_below(demo):
    text = to_text(demo, "si")
    assert "electricity: Flat electricity (invented): 90 USD a month fixed + 0.115 USD/kWh + 13 USD/kW/month" in text
    assert "load-unload control" in text


def test_a_twin_of_the_present_dryer_changes_no_bill():
    document = load_case("one-machine").document
    twin = {**document["options"][0], "name": "Twin", "baseline": False}
    found = compare(build({**document, "options": [document["options"][0], twin]}))
    assert "The bills stay as they are with Twin." in to_text(found, "si")


def test_what_the_bills_do_not_hold_is_told_beside_what_they_fall_by():
    """The cost of a year falls by what the bills fall by and by what no bill line holds, such as upkeep."""
    comparison = compare(load_case("demo"))
    best = comparison.ranked()[0]
    (said,) = re.findall(
        r"^Besides, upkeep, .*: ([-\d,]+) a year, ([-\d,]+) in all\.$", to_text(comparison, "si"), re.MULTILINE
    )
    besides, whole = (float(number.replace(",", "")) for number in said)
    bills = sum(line.steady for saving in best.savings.values() for line in saving.lines)
    assert whole == pytest.approx(comparison.baseline.total_cost - best.total_cost, abs=0.5)
    assert besides == pytest.approx(whole - bills, abs=1.0)
