"""The state of the Bill view, its tables and charts, without a widget or a kernel."""

from __future__ import annotations

import datetime
import json
import re

import numpy as np
import pytest

from dashboards import bill_charts, bill_swap, bill_tables
from dashboards.bill_state import State
from dashboards.swap_state import BROKEN
from energy.reports.bill import compare_lines
from energy.study.case import load_case
from energy.tariffs import bill, demo_tariffs, load_tariff
from energy.tariffs.known_load import constant_load
from energy.tariffs.marginal_price import marginal_energy_price

KWH = 3.6e6
OWN = """
name = "{name}"
commodity = "electricity"
currency = "EUR"
source = "contract of 2026-01"

[[charges]]
type = "fixed"
id = "meter"
label = "{label}"
clause = "{clause}"
source = "contract"
per_month = "40 EUR"

[[charges]]
type = "energy-flat"
id = "energy"
label = "Energy"
clause = "2"
source = "contract"
price = "0.20 EUR/kWh"
"""
PLAIN = OWN.format(name="Own", label="Meter", clause="1").encode()


@pytest.fixture
def state():
    state = State("one-machine")
    state.choose("time-of-use-electricity")
    return state


def test_a_point_before_three_digits_is_told_as_it_is_read(state):
    state.choose("flat-electricity")
    state.set("energy", "21.000")
    state.set("peak", "430")
    assert state.month_bill is not None
    assert state.remark("energy") == "21.000 is read as 21 kWh; for thousands write 21000."
    assert state.remark("peak") == ""
    # 21 kWh over 430 kW, by hand: 0.0488 h
    said = "21 kWh with a highest demand of 430 kW is 0.049 hours of use in the month: check that neither is a thousand times off."
    assert said in state.month_notes
    state.set("total", "9.845")
    assert state.remark("total") == "9.845 is read as 9.845 USD; for thousands write 9845."
    for text in ("21000", "21.00", "21.0000", "0.125", "21,000"):
        state.set("energy", text)
        assert state.remark("energy") == ""
    state.set("energy", "180 000 kWh")
    assert state.remark("energy") == ""
    assert not [note for note in state.month_notes if "hours of use" in note]  # 418 h
    state.set("energy", "8600")  # 20 h, by hand
    assert not [note for note in state.month_notes if "hours of use" in note]
    state.set("energy", "8500")
    assert [note for note in state.month_notes if "is 20 hours of use" in note]


def test_the_worked_bill_has_no_remark():
    for name in demo_tariffs():
        state = State("one-machine")
        state.choose(name)
        assert [key for key in state.texts if state.remark(key)] == []
        assert not [note for note in state.month_notes if "hours of use" in note]


def test_opens_on_the_case_s_tariff_with_its_worked_bill_as_an_example():
    state = State("one-machine")
    assert state.problems == {}
    assert (state.chosen, state.tariff.name) == ("case electricity", "Flat electricity (invented)")
    assert float(state.month_bill.total) == state.printed_total == 14840.0  # worked out by hand in the tariff's file
    assert state.example
    state.set("energy", "120000")
    assert (state.example, state.printed_total) == (False, None)  # printed for other quantities
    assert state.left_of_example() == ["Highest demand"]
    demo = State()
    assert (demo.on_plant, demo.load_name) == (True, "the case's plant")


def test_a_case_of_one_price_opens_on_a_demo_tariff(tmp_path):
    path = tmp_path / "case.toml"
    load_case("one-machine").with_(electricity="0.12 USD/kWh").save(path)
    assert State(str(path)).chosen == "time-of-use-electricity"


def test_a_worked_bill_agrees(state):
    assert state.problems == {}
    assert float(state.month_bill.total) == state.printed_total == 7121.98  # worked out by hand in the tariff's file
    assert not any(row.off for row in state.rows)
    assert state.year_bill is not None


@pytest.mark.parametrize("name", demo_tariffs())
def test_every_demo_tariff_opens_on_its_worked_bill(state, name):
    state.choose(name)
    assert state.problems == {}
    assert float(state.month_bill.total) == pytest.approx(load_tariff(name).worked.total, abs=0.005)
    assert any(row.printed is not None for row in state.rows)


def test_the_case_s_own_tariffs_can_be_chosen(state):
    state.choose("case electricity")
    assert state.tariff.commodity == "electricity"
    state.choose("no such key")
    assert state.chosen == "case electricity"


def test_a_case_that_cannot_be_read_is_told(tmp_path):
    state = State(str(tmp_path / "none.toml"))
    assert "none.toml" in state.problems["case"]
    assert state.month_bill is not None


def test_a_printed_line_that_is_apart_is_marked_and_explained(state):
    state.choose("flat-electricity")
    state.set("printed Demand charge", "3,380")  # by hand: 3380 / 13 = 260 kW instead of 250
    rows = {row.line: row for row in state.rows}
    assert [name for name, row in rows.items() if row.off] == ["Demand charge"]
    assert rows["Demand charge"].difference == pytest.approx(130)
    assert rows["Demand charge"].meant == pytest.approx(260)
    markup = bill_tables.reconciled(state.rows, 14840.0, 14970.0, "USD")
    assert "the printed amount means 260 kW instead of 250" in markup
    assert markup.count('data-off="yes"') == 1  # the total is 0.9 % apart
    state.set("printed Demand charge", "3282")  # 0.98 % above
    assert not any(row.off for row in state.rows)


def test_a_cent_is_no_difference():
    made = bill(load_tariff("flat-water"), constant_load(load_tariff("flat-water"), 0.0, 2026), "steady", rounded=True)
    (meter, *_) = compare_lines(made.of_month(1), {"Meter charge": 25.00, "Water supplied": 0.01})
    assert (meter.off, meter.difference) == (False, 0.0)
    assert not any(row.off for row in compare_lines(made.of_month(1), {"Water supplied": 0.01}))


@pytest.mark.parametrize(
    ("key", "text", "words"),
    [
        ("energy", "lots", "is not an energy"),
        ("energy", "-5", "negative"),
        ("peak", "9 kWh", "is not a power"),
        ("power_factor", "0", "above 0 and up to 1"),
        ("power_factor", "120 %", "above 0 and up to 1"),
        ("constant", "1e400", ""),
        ("total", "12 EUR", "EUR"),
        ("year", "soon", "is not a year"),
        ("year", "1900", "outside 1970 to 2099"),
        ("printed Energy charge", "<b>", "is not an amount of money"),
    ],
)
def test_what_cannot_be_used_is_told_at_its_input(state, key, text, words):
    state.choose("flat-electricity")
    state.set(key, text)
    told = state.problems["calendar year" if key == "year" else key]
    assert words in told
    state.set(key, "")
    assert key not in state.problems


def test_a_word_as_printed_amount_is_named_where_the_amount_would_stand(state):
    state.choose("flat-electricity")
    state.set("printed Demand charge", "<b>lots")
    state.set("total", "much")
    assert state.unread == {"Demand charge": "<b>lots", "": "much"}
    markup = bill_tables.reconciled(state.rows, float(state.month_bill.total), state.printed_total, "USD", state.unread)
    assert '<span class="fail">&lt;b&gt;lots</span>' in markup
    assert '<span class="fail">much</span>' in markup
    assert markup.count("not an amount of money; write a number") == 2
    said = bill_tables.sentence(state.month_bill, state.when, state.rows, state.printed_total, state.unread)
    assert "no amount was typed in: Demand charge and the total." in said
    state.set("printed Demand charge", "3250")
    state.set("total", "")
    assert state.unread == {}


def test_a_month_typed_in_stays_with_another_tariff_of_its_kind(state):
    state.choose("flat-electricity")
    state.set("energy", "77000")
    state.set("peak", "333")
    state.set("total", "12,345.60")
    state.set_month(9)
    assert state.upload_tariff("own.toml", PLAIN) == ""
    assert (state.month, state.texts["energy"], state.texts["peak"]) == (9, "77000", "333")
    assert state.printed_total is None  # was in another currency
    assert not state.worked_left  # this file has no worked bill
    state.choose("flat-electricity")
    assert (state.month, state.texts["peak"]) == (9, "333")
    assert state.worked_left
    state.take_worked()
    assert float(state.month_bill.total) == pytest.approx(load_tariff("flat-electricity").worked.total, abs=0.005)
    assert not state.worked_left
    state.set("energy", "77000")
    state.choose("flat-gas")  # another commodity is another bill
    assert float(state.month_bill.total) == pytest.approx(load_tariff("flat-gas").worked.total, abs=0.005)


def test_an_amount_alone_goes_with_the_bill_that_it_was_printed_on(state):
    state.choose("flat-electricity")
    state.set("total", "99")
    state.choose("time-of-use-electricity")
    assert state.printed_total == 7121.98  # of the worked bill
    assert not state.worked_left


def test_a_bare_number_keeps_its_unit_when_the_tariff_counts_in_another(state):
    state.choose("flat-electricity")
    state.set("energy", "77")
    assert state.upload_tariff("own.toml", PLAIN.replace(b"/kWh", b"/MWh")) == ""
    assert state.energy_unit == "MWh"
    assert state.texts["energy"] == "77 kWh"


def test_periods_that_do_not_agree_with_the_month_are_told(state):
    state.set("energy", "41000")
    assert "40,000 kWh" in state.problems["energy"]
    assert state.month_bill is None
    state.set("energy", "40000")
    assert float(state.month_bill.total) == 7121.98


def test_a_higher_demand_before_raises_the_ratchet(state):
    # By hand: 80 % of 200 kW = 160 kW instead of 150, 10 kW x 6 USD/kW = 60 more, and 6 % tax on it.
    state.set("earlier_peak", "200")
    assert float(state.month_bill.total) == pytest.approx(7121.98 + 60 * 1.06, abs=0.011)
    state.set_month(12)
    assert "energy winter on-peak" in [i.key for i in state.inputs()]


def test_energy_by_month_only_is_spread_and_told(state):
    for key in [k for k in state.texts if k.startswith(("energy ", "peak "))]:
        state.texts.pop(key)
    state.set("energy", "40000")
    state.set("peak", "150")
    assert state.month_bill is not None
    assert any("spread over the hours" in note for note in state.month_notes)


def test_a_missing_power_factor_is_asked_for(state):
    state.choose("hours-use-electricity")
    state.set("power_factor", "")
    assert "needs the power factor" in state.problems["month"]
    assert state.month_bill is None


# ---------- uploads ----------


def test_an_uploaded_tariff_is_used(state):
    assert state.upload_tariff("own.toml", PLAIN) == ""
    state.set("energy", "1000")
    assert float(state.month_bill.total) == 240.00
    assert ("uploaded: Own", "upload") in state.choices()
    other = PLAIN.replace(b"0.20 EUR", b"0.30 EUR")
    assert state.upload_tariff("own.toml", other) == ""
    state.set("energy", "1000")
    assert float(state.month_bill.total) == 340.00


@pytest.mark.parametrize(
    ("name", "data", "words"),
    [
        ("own.toml", PLAIN.replace(b"price", b"prise"), "own.toml: charges.energy.prise: there is no such key"),
        ("own.toml", b"\xff\xfe\x00", "own.toml: is not text in UTF-8"),
        ("own.toml", b"name = ", "own.toml: "),
        ("rate.json", b"[]", "rate.json: items: there is no record number 1"),
        ("rate.exe", b"", "neither a tariff file (.toml) nor a rate record (.json)"),
    ],
)
def test_a_tariff_that_cannot_be_used_leaves_the_one_before(state, name, data, words):
    before = state.chosen
    told = state.upload_tariff(name, data)
    assert words in told
    assert "/tmp" not in told
    assert state.chosen == before


def test_a_rate_record_says_what_was_left_out(state):
    record = {"name": "One price", "sector": "Industrial", "energyratestructure": [[{"rate": 0.1}]]}
    assert state.upload_tariff("rate.json", json.dumps(record).encode()) == ""
    assert state.ignored == ("sector",)


def readings():
    start = datetime.datetime(2026, 1, 1, 5, tzinfo=datetime.UTC)
    stamps = (start + datetime.timedelta(minutes=15 * i) for i in range(35_040))
    return ("time,kW\n" + "".join(f"{at:%Y-%m-%dT%H:%MZ},100\n" for at in stamps)).encode()


def test_readings_give_the_bill_of_the_constant_load_they_hold(state):
    constant = state.year_bill
    assert state.upload_readings("meter.csv", readings()) == ""
    assert state.year_bill.lines == constant.lines
    state.drop_readings()
    assert state.year_bill.lines == constant.lines


def test_readings_that_lack_something_say_where_to_type_it_in(state):
    state.choose("flat-electricity")
    told = state.upload_readings("meter.csv", readings())
    assert told.startswith("meter.csv: ")
    assert "Time zone of the stamps" in told
    assert state.year_bill is None
    state.set("read zone", "America/New_York")
    assert state.problems == {}
    assert float(state.year_bill.total) == 12 * 90 + 876_000 * 0.115 + 12 * 100 * 13  # by hand


# ---------- prices, tables, charts ----------


def test_one_more_unit_costs_its_price_with_tax():
    tariff = load_tariff("time-of-use-electricity")
    prices = marginal_energy_price(tariff, constant_load(tariff, 100e3, 2026)) * KWH
    of = dict(zip(tariff.price_calendar.cells, prices.T, strict=True))
    # By hand: price x 1.06; summer is June to September.
    assert of["summer on-peak"][5:9] == pytest.approx([0.165 * 1.06] * 4, rel=1e-7)
    assert np.isnan(of["summer on-peak"][[0, 4, 9]]).all()
    assert of["winter off-peak"][0] == pytest.approx(0.078 * 1.06, rel=1e-7)


def test_one_more_unit_in_blocks_costs_the_price_of_the_last_block():
    tariff = load_tariff("hours-use-electricity")
    load = constant_load(tariff, 100e3, 2026, power_factor=np.full(12, 0.95))
    # By hand: a constant load uses its demand 672 h or more, beyond 400 h: 0.052, less 0.003 of the rider.
    assert marginal_energy_price(tariff, load)[:, 0] * KWH == pytest.approx([0.049] * 12, rel=1e-6)


def test_the_map_shows_the_hours_of_the_tariff():
    tariff = load_tariff("time-of-use-electricity")
    prices = marginal_energy_price(tariff, constant_load(tariff, 100e3, 2026))
    cells = tariff.price_calendar.cells
    work = bill_charts.grid(tariff, prices, 2026, "Monday to Friday", "kWh")
    assert [cells[c] for c in work.cell[6]] == ["summer off-peak"] * 12 + ["summer on-peak"] * 8 + [
        "summer off-peak"
    ] * 4
    assert [h for h in range(24) if cells[work.cell[0, h]] == "winter on-peak"] == [6, 7, 8, 9, 17, 18, 19, 20]
    sunday = bill_charts.grid(tariff, prices, 2026, "Sunday", "kWh")
    assert {cells[c] for c in sunday.cell.ravel()} == {"summer off-peak", "winter off-peak"}
    figure = bill_charts.price_map(tariff, work, "Monday to Friday", "kWh", (0.0, 1.0))
    assert np.shape(figure["data"][0]["z"]) == (12, 24)


def test_the_stack_of_months_adds_up_to_the_bill(state):
    figure = bill_charts.by_month(state.year_bill)
    assert sum(sum(trace["y"]) for trace in figure["data"]) == pytest.approx(float(state.year_bill.total))


def test_every_charge_stands_in_words_with_its_clause():
    for name in demo_tariffs():
        tariff = load_tariff(name)
        markup = bill_tables.charges(tariff)
        for charge in tariff.charges:
            assert charge.clause in markup
        assert markup.count("<tr>") == len(tariff.charges) + 1


def test_texts_of_a_tariff_are_escaped(state):
    hostile = "<img src=x onerror=alert(1)>"
    data = OWN.format(name=hostile, label=hostile, clause=hostile).encode()
    assert state.upload_tariff(f"{hostile}.toml", data) == ""
    state.set("energy", "1000")
    state.set(f"printed {hostile}", "90")
    made = state.month_bill
    shown = [
        bill_tables.about(state.tariff),
        bill_tables.charges(state.tariff),
        bill_tables.reconciled(state.rows, 1.0, 2.0, "EUR"),
        bill_tables.sentence(made, state.when, state.rows, 2.0),
        bill_tables.year(state.year_bill),
        bill_tables.month(made),
        bill_tables.problem(state.upload_tariff(f"{hostile}.json", b"")),
        json.dumps(bill_charts.by_month(state.year_bill)),
    ]
    assert hostile in made.lines[0].line
    assert not [markup for markup in shown if re.search("<img", markup)]


# ---------- the case's plant, and a swap of dryers ----------


def test_the_plant_of_the_case_can_be_the_years_load():
    """Demo: 2193 MWh in twelve months, the highest 590 kW in July."""
    state = State()
    assert state.has_plant
    state.choose("flat-electricity")
    state.take_plant()
    assert state.problems == {}
    by_charge = {name: float(amount) for name, amount in state.year_bill.by_charge().items()}
    assert by_charge["energy"] == pytest.approx(2_193_000 * 0.115)
    assert by_charge["demand"] == pytest.approx(
        13 * (520 + 525 + 530 + 535 + 550 + 580 + 590 + 575 + 560 + 540 + 530 + 520)
    )
    assert state.load_name == "the case's plant"
    state.choose("flat-water")
    assert (state.on_plant, state.has_plant) == (False, False)
    assert not State("one-machine").has_plant


def test_a_plant_known_by_month_is_told_to_be_spread(state):
    demo = State()
    demo.choose("time-of-use-electricity")
    demo.take_plant()
    assert any("spread over the hours of the clock" in note for note in demo.notes)
    demo.drop_readings()
    assert demo.load_name == "a constant load"


def test_a_swap_is_worked_out_when_asked_for_and_dropped_with_its_tariff():
    later = []
    state = State(later=later.append)
    state.choose("time-of-use-electricity")
    swap = state.swap
    swap.choose("Central wheel, variable speed")
    swap.ask(state.tariff)
    assert (swap.waiting, swap.made, len(later)) == (True, None, 1)
    swap.ask(state.tariff)  # a second click while it waits
    assert len(later) == 1
    later.pop()()
    assert swap.made.option.name == "Central wheel, variable speed"
    assert len(swap.others) == 4
    shown = bill_swap.lines(swap.made)
    assert all(text in shown for text in ("kWh less at 0.165 USD/kWh", "kW less on average in 12 months", "Rider T"))
    state.choose("flat-electricity")
    assert swap.made is None
    swap.ask(state.tariff)
    swap.choose("Rotating beds")  # before it was worked out
    later.pop()()
    assert (swap.made, swap.waiting) == (None, False)


def test_a_swap_that_cannot_be_billed_is_told():
    state = State()
    state.swap.choose("Rotating beds")
    state.choose("flat-water")
    state.swap.ask(state.tariff)
    assert "a swap is billed on electricity or gas" in state.swap.problem


def test_an_error_in_the_swap_is_kept_inside(monkeypatch, caplog):
    state = State()
    monkeypatch.setattr("dashboards.swap_state.swap", lambda *_: 1 / 0)
    state.swap.choose("Rotating beds")
    state.swap.ask(state.tariff)
    assert state.swap.problem == BROKEN
    assert "ZeroDivisionError" in caplog.text


@pytest.mark.parametrize(
    ("typed", "amount"),
    [("14,840.00 $", 14_840.0), ("14840 USD", 14_840.0), ("14,840.00", 14_840.0), ("14,840.00 €", None)],
)
def test_the_sign_of_the_currency_may_stand_behind_an_amount(typed, amount):
    state = State("demo")  # a flat tariff in USD
    state.set("total", typed)
    assert state.printed_total == amount
