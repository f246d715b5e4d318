"""The bill of a dryer: when it runs in a price period, what the plant's load around it is, what a saving is worth."""

from __future__ import annotations

import re
import tomllib
from importlib import resources
from itertools import pairwise

import numpy as np
import pytest
from cases import NEW, PRESENT, WHEEL, case, document, readings

from energy import tariffs
from energy.errors import CaseError
from energy.reports.bill import cautions
from energy.reports.comparison_json import to_dict
from energy.study import meter
from energy.study.bills import Bills
from energy.study.case import build
from energy.study.compare import compare
from energy.study.load import load_curve
from energy.study.sweep import sweep
from energy.study.year import Year

KWH = 3.6e6
WEEKDAYS = ["mon", "tue", "wed", "thu", "fri"]
DAY = {  # production from 6 to 22 on weekdays, dryers hot through the nights
    "calendar.production_hours": None,
    "calendar.shifts": [{"name": "day", "days": WEEKDAYS, "start": "06:00", "end": "22:00"}],
    "calendar.standby_up_to": "10 h",
}
TOU, HOURS_USE, APPARENT = "time-of-use-electricity", "hours-use-electricity", "apparent-power-electricity"
PLANT = [{"month": m, "energy": "200 MWh", "peak": "450 kW"} for m in range(1, 13)]


def on(tariff, *options, **changes):
    base = {**DAY, "tariffs.electricity": tariff, "tariffs.power_factor": "90 %"}
    return case(*(options or (PRESENT, NEW, WHEEL)), changes={**base, **changes})


def prices(name):
    return tomllib.loads(resources.files("tariffs_demo").joinpath(f"{name}.toml").read_text(encoding="utf-8"))


def test_energy_and_peak_by_price_cell_are_those_of_the_year():
    of = on(TOU)
    result = compare(of)
    tariff = of.tariffs["electricity"]
    for option in result.options:
        with_, without = meter.loads(of, tariff, option.year, result.baseline.year, ("electricity", "compressed air"))
        energy = sum(v for (_, carrier), v in option.year.energy.items() if carrier == "electricity")
        np.testing.assert_allclose(with_.cell_energy.sum(-1), energy, rtol=1e-12)
        peak = sum(v for (_, carrier), v in option.year.peak.items() if carrier == "electricity")
        assert (with_.cell_peak.max(-1) <= peak * (1 + 1e-12)).all()
        assert with_.cell_peak.max() == pytest.approx(peak.max(), rel=1e-12)  # a start, within a price cell
        assert without.energy.sum() == 0.0


def test_production_falls_into_the_hours_of_its_shifts():
    """July 2026: 23 weekdays; Independence Day is a Saturday and not moved, so all 23 have 8 on-peak hours of 16."""
    of = on(TOU, **{"calendar.standby_up_to": "100 h"})  # hot over weekends: no starts
    result = compare(of)
    tariff, year = of.tariffs["electricity"], result.option(NEW).year
    with_, _ = meter.loads(of, tariff, year, result.baseline.year, ("electricity",))
    cells = tariff.price_calendar.cells
    on_peak = with_.cell_energy[6, cells.index("summer on-peak")]
    made = sum(v[6] for k, v in year.energy_in.items() if k[0] == "production" and k[2] == "electricity")
    assert on_peak == pytest.approx(made * 8 / 16, rel=1e-9)


def test_the_start_of_a_shift_peaks_only_in_its_own_price_period():
    """Mondays at six: in winter that is on-peak (06 to 10), in summer off-peak (12 to 20 is on-peak)."""
    of = on(TOU)
    result = compare(of)
    tariff, year = of.tariffs["electricity"], result.option(NEW).year
    with_, _ = meter.loads(of, tariff, year, result.baseline.year, ("electricity",))
    cells = tariff.price_calendar.cells
    summer, winter = (
        with_.cell_peak[m, cells.index(name)] for m, name in ((6, "summer on-peak"), (0, "winter on-peak"))
    )
    assert winter > 1.3 * summer
    assert with_.cell_peak[6, cells.index("summer off-peak")] == pytest.approx(winter, rel=0.05)


def test_flat_prices_by_the_clock_are_flat_prices():
    """A tariff of two periods with equal prices bills what the flat one does."""
    flat = compare(on("flat-electricity"))
    same = tariffs.Tariff.model_validate(
        {
            **{k: v for k, v in prices("flat-electricity").items() if k not in ("worked", "charges")},
            "calendar": prices(TOU)["calendar"],
            "charges": [
                *(c for c in prices("flat-electricity")["charges"] if c["type"] != "energy-flat"),
                {
                    "type": "energy-time-of-use",
                    "id": "energy",
                    "label": "Energy",
                    "clause": "1",
                    "source": "invented",
                    "prices": [
                        {"periods": ["on-peak"], "price": "0.115 USD/kWh"},
                        {"periods": ["off-peak"], "price": "0.115 USD/kWh"},
                    ],
                },
            ],
        }
    )
    for option in flat.options:
        load, none = meter.loads(flat.case, same, option.year, flat.baseline.year, ("electricity",))
        cost = tariffs.bill(same, load, "steady").total - tariffs.bill(same, none, "steady").total
        assert cost == pytest.approx(option.annual_cost["electricity"], rel=1e-9)


def test_the_plants_load_puts_the_saving_on_the_last_block():
    """Hours-use blocks: the plant is far above the dryers, so a kWh less is one of the block that its use reaches."""
    of = on(HOURS_USE, plant_load={"months": PLANT})
    result = compare(of)
    alone = compare(on(HOURS_USE))
    new, base = result.option(NEW), result.baseline
    assert new.annual_cost["electricity"] != pytest.approx(alone.option(NEW).annual_cost["electricity"], rel=1e-3)
    # By hand: bill(plant) less bill(plant less what the present dryer takes, plus the new one), month by month.
    tariff = of.tariffs["electricity"]

    def bill(year):
        sums = {q: sum(v for (_, c), v in getattr(year, q).items() if c == "electricity") for q in ("energy", "peak")}
        present = {
            q: sum(v for (_, c), v in getattr(base.year, q).items() if c == "electricity") for q in ("energy", "peak")
        }
        load = tariffs.Load(
            energy=200e3 * KWH - present["energy"] + sums["energy"],
            peak=450e3 - present["peak"] + sums["peak"],
            power_factor=np.full(12, 0.9),
            year=2026,
        )
        return tariffs.bill(tariff, load, "steady").total

    fall = bill(base.year) - bill(new.year)
    assert base.annual_cost["electricity"] - new.annual_cost["electricity"] == pytest.approx(fall, rel=1e-9)
    assert new.savings["electricity"].steady == pytest.approx(fall, rel=1e-9)


def test_a_ratchet_delays_the_saving_of_demand():
    of = compare(on(TOU, plant_load={"months": PLANT}))
    new = of.option(NEW)
    saving = new.savings["electricity"]
    assert 0 < saving.first_year <= saving.steady
    peaky = [{**row, "peak": "900 kW" if row["month"] == 7 else "450 kW"} for row in PLANT]
    held = compare(on(TOU, plant_load={"months": peaky})).option(NEW)
    delayed = held.savings["electricity"]
    assert delayed.first_year < delayed.steady  # 80 % of July's 900 kW is above the other months' 450 kW
    stream = held.measures.streams["ratchet"]
    assert stream[1] == pytest.approx((delayed.first_year - delayed.steady) * 1.01, rel=1e-9)
    assert np.count_nonzero(stream) == 1
    assert sum(held.measures.streams.values()) == pytest.approx(held.measures.cash_flow)
    assert any(note.check == "first year" for note in held.notes)


def test_the_share_of_the_peak_that_coincides():
    full, half, none = (
        compare(on("flat-electricity", **{"tariffs.coincidence": share})).option(NEW)
        for share in ("100 %", "50 %", "0 %")
    )
    demand = [sum(line.amount for line in o.bill if "emand" in line.line) for o in (full, half, none)]
    assert demand[0] > 0
    assert demand[1] == pytest.approx(demand[0] / 2, rel=1e-9)
    assert demand[2] == 0.0
    assert full.peak == none.peak


def test_the_same_swap_pays_back_differently_on_each_demo_tariff():
    found = {}
    for name in tariffs.demo_tariffs():
        if tariffs.load_tariff(name).commodity == "electricity":
            found[name] = compare(on(name, plant_load={"months": PLANT})).option(WHEEL).measures.npv
    assert len(found) >= 4
    worth = sorted(found.values())
    assert all(b - a > 50 for a, b in pairwise(worth)), found


def test_savings_by_line_are_in_the_json_and_an_average_price_is_judged():
    new = compare(on(TOU, plant_load={"months": PLANT})).option(NEW)
    told = to_dict(compare(on(TOU, plant_load={"months": PLANT})))["options"][1]["saving"]["electricity"]
    saving = new.savings["electricity"]
    assert sum(line["steady"] for line in told["lines"]) == pytest.approx(saving.steady, rel=1e-9)
    assert {line["clause"] for line in told["lines"]} >= {"Monthly rate, item 2"}
    assert told["demand_realised"] == pytest.approx(saving.demand_realised(), rel=1e-9)
    assert any(note.check == "average price" for note in new.notes) == (abs(saving.average_error) > 0.1)


def test_gas_in_blocks_is_billed_with_its_highest_day():
    of = case(PRESENT, "Hot air, gas-fired", changes={**DAY, "tariffs.gas": "block-gas"})
    gas = compare(of).option("Hot air, gas-fired")
    assert gas.annual_cost["gas"] > 0
    assert sum(gas.cost_by_end_use.values()) == pytest.approx(gas.total_cost, rel=1e-12)


def test_sweep_and_comparison_agree_on_a_time_of_use_tariff():
    result = compare(on(TOU, plant_load={"months": PLANT}))
    curve = sweep(result, np.array([90.0 / 3600, 60.0 / 3600]))
    rate, years = 0.08, 10
    for option in result.ranked():
        level = option.life_cycle_cost * rate / (1 - (1 + rate) ** -years)
        assert curve.cost[option.name][0] == pytest.approx(level, rel=1e-9)
    assert load_curve(result).energy


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"plant_load": {"months": PLANT[:11]}}, r"plant_load.months: twelve months are needed, each once; look at December"),
        (
            {"plant_load": {"months": [{**row, "energy": "471 MWh"} if row["month"] == 2 else row for row in PLANT]}},
            r"plant_load.months\[2\].energy: .* in February is more than a peak of 450 kW gives in 672 h",
        ),
        ({"plant_load": {}}, r"plant_load: nothing is given; one of months"),
        ({"plant_load": {"months": [{**row, "energy": "1 MWh"} for row in PLANT]}}, r"plant_load: the plant takes less"),
        ({"tariffs.power_factor": None, "tariffs.electricity": HOURS_USE}, r"tariffs.electricity: .*power factor"),
        ({"tariffs.power_factor": "0 %"}, r"tariffs.power_factor: '0 %' is not allowed"),
    ],
)  # fmt: skip
def test_what_cannot_be_billed_is_named(changes, told):
    with pytest.raises(CaseError, match=told):
        compare(on(TOU, **changes))


# ---------- interval readings ----------


def beside(folder, tariff, **changes):
    of = document(PRESENT, NEW, WHEEL, changes={**DAY, "tariffs.electricity": tariff, "tariffs.power_factor": "90 %",
                  "plant_load": {"file": "readings.csv", "zone": "UTC"}, **changes})  # fmt: skip
    return build(of, folder=folder, file="case.toml")


HOT_ALWAYS = {"calendar.standby_up_to": "100 h"}  # no starts


def test_readings_of_a_plant_that_peaks_with_its_dryers_bill_like_its_months(tmp_path):
    energy = readings(tmp_path)
    months = [{"month": m + 1, "energy": f"{kwh} kWh", "peak": "400 kW"} for m, kwh in enumerate(energy)]
    by_interval = compare(beside(tmp_path, "flat-electricity", **HOT_ALWAYS))
    by_month = compare(on("flat-electricity", plant_load={"months": months}, **HOT_ALWAYS))
    for one, other in zip(by_interval.options, by_month.options, strict=True):
        assert one.name == other.name
        if one.savings:
            for group in ("energy", "tax"):
                falls = [o.savings["electricity"].of_group(group) for o in (one, other)]
                assert falls[0] == pytest.approx(falls[1], rel=1e-6), group
    assert by_interval.option("Desiccant wheel").savings["electricity"].of_group("demand") == pytest.approx(
        at_13_usd(by_interval, "Desiccant wheel", in_production)
    )


def in_production(option):
    """Highest power while it produces, by month; the share that coincides is 100 %. [W]"""
    return sum(
        v for (state, _, carrier), v in option.year.peak_in.items() if (state, carrier) == ("production", "electricity")
    )


def at_13_usd(comparison, name, power):
    """What the demand line of the flat tariff falls by in a year, against the present machine."""
    return 13.0 * float(np.sum(power(comparison.option(PRESENT)) - power(comparison.option(name)))) / 1e3


@pytest.mark.parametrize("jacket", ["10 mm", "50 mm", "100 mm"])
def test_peaks_count_in_the_state_they_fall_in(tmp_path, jacket):
    """A plant peaking in production, 100 kW above the four hours after a start: however short warming up takes the heater's full power, none is on a bill."""
    energy = readings(tmp_path)
    rows = (tmp_path / "readings.csv").read_text().splitlines()
    (tmp_path / "readings.csv").write_text(
        "\n".join(r.replace(",400.0", ",300.0") if re.search(r" 0[6-9]:", r) else r for r in rows)
    )
    assert len(energy) == 12
    starts = {"calendar.standby_up_to": "0 h", "options[1].inputs": {"insulation_thickness": jacket}}
    found = compare(beside(tmp_path, "flat-electricity", **starts))
    assert any(state == "start" and np.max(v) > 1e3 for (state, _, _), v in found.option(NEW).year.peak_in.items())
    for name in (NEW, "Desiccant wheel"):
        falls = found.option(name).savings["electricity"].of_group("demand")
        assert falls == pytest.approx(at_13_usd(found, name, in_production), rel=1e-6)


def test_the_plants_own_bill_counts_the_power_factor_of_the_case(tmp_path):
    """400 kW at 90 % are 444.4 kVA; with 80 % typed in beside it they are 500."""
    readings(tmp_path)
    of = beside(tmp_path, APPARENT, **HOT_ALWAYS)
    for typed, kva in ((None, 400.0 / 0.9), (0.8, 500.0)):
        load, _ = meter.plant_load(of, of.tariffs["electricity"], typed)
        assert load.peak / load.power_factor / 1e3 == pytest.approx(np.full(12, kva))
        assert tariffs.bill(of.tariffs["electricity"], load, "steady").total > 0.0


def test_readings_see_when_the_plant_peaks(tmp_path):
    """A plant that peaks while its dryers are off: what they take in production is on no billing peak."""
    readings(tmp_path, quiet=900.0, busy=300.0)
    off = {"tariffs.coincidence": "0 %", "calendar.standby_up_to": "0 h"}
    saving = compare(beside(tmp_path, "flat-electricity", **off)).option(NEW).savings["electricity"]
    assert saving.of_group("demand") == pytest.approx(0.0, abs=1e-6)
    assert saving.of_group("energy") > 0


@pytest.mark.parametrize(
    ("spoil", "told"),
    [
        (lambda text: text.replace("2026-05-05 10:15Z,400.0\n", ""), r"plant_load.file: readings.csv: 1 gaps in the readings"),
        (lambda text: text.replace("kW", "furlongs"), r"plant_load.file: .*name the column"),
        (lambda text: "\n".join(text.splitlines()[:3000]), r"plant_load.file: 2026-02 is not whole"),
        (lambda text: text.replace("400.0", "1.0").replace("300.0", "1.0"), r"plant_load: the plant takes less"),
    ],
)  # fmt: skip
def test_readings_that_cannot_be_used_are_named(tmp_path, spoil, told):
    readings(tmp_path)
    path = tmp_path / "readings.csv"
    path.write_text(spoil(path.read_text()))
    with pytest.raises(CaseError, match=told):
        compare(beside(tmp_path, "flat-electricity"))


def test_a_file_of_readings_that_is_not_there(tmp_path):
    with pytest.raises(CaseError, match=r"plant_load.file: 'readings.csv' is not a file beside the case"):
        beside(tmp_path, "flat-electricity")


def test_twelve_months_in_a_file_are_those_typed_in(tmp_path):
    (tmp_path / "readings.csv").write_text("month,kWh,kW\n" + "\n".join(f"{m},200000,450" for m in range(1, 13)))
    in_a_file = compare(beside(tmp_path, TOU, plant_load={"table": "readings.csv"}))
    typed = compare(on(TOU, plant_load={"months": PLANT}))
    assert [o.total_cost for o in in_a_file.options] == pytest.approx([o.total_cost for o in typed.options], rel=1e-12)
    (tmp_path / "readings.csv").write_text("month,kWh,kW\n1,200000,450")
    with pytest.raises(CaseError, match=r"plant_load.table: "):
        beside(tmp_path, TOU, plant_load={"table": "readings.csv"})


def test_readings_of_an_hour_are_billed_and_told(tmp_path):
    """Shifts and readings change on the hour, so hours hold what quarters do; the demand is said to be a lower bound."""
    readings(tmp_path)
    fine = compare(beside(tmp_path, "flat-electricity"))
    rows = (tmp_path / "readings.csv").read_text().splitlines()
    (tmp_path / "readings.csv").write_text("\n".join([rows[0], *rows[1::4]]))
    coarse = compare(beside(tmp_path, "flat-electricity"))
    assert [o.total_cost for o in coarse.options] == pytest.approx([o.total_cost for o in fine.options], rel=1e-9)
    told = {
        r: [n.text for n in c.option(NEW).notes if n.check == "plant readings"] for r, c in ((60, coarse), (15, fine))
    }
    assert told[15] == []
    assert len(told[60]) == 1
    assert "lower bound" in told[60][0]


def test_a_start_from_cold_does_not_hide_what_falls_in_production():
    """130 kW in production become 116 while a start takes 184 kW before and after: the bill goes by the 14 kW, or by the 0 of the starts."""

    def year(start, production):
        nothing = np.zeros(12)
        key = ("process heat", "electricity")
        power = {("start", *key): nothing + start, ("production", *key): nothing + production}
        empty = {name: {} for name in ("energy", "peak", "energy_in", "heat_in", "heat_out", "states")}
        return Year(**empty, peak_in=power, resin=nothing, free_air=nothing, least=nothing)

    bills = Bills(case=on("flat-electricity"), present=year(184e3, 130e3))
    assert bills.fall(("electricity",), year(184e3, 116e3)) == pytest.approx(14e3)
    assert bills.fall(("electricity",), year(184e3, 144e3)) == pytest.approx(-14e3)
    assert bills.fall(("electricity",), year(150e3, 116e3)) == pytest.approx(34e3)


@pytest.mark.parametrize(
    ("factor", "said"), [("0.088", "was ten times that meant?"), ("0.3", "idling motors? "), ("0.5", ""), ("0.88", "")]
)
def test_a_power_factor_that_no_plant_has_is_told(factor, said):
    """By hand: 1/0.088 = 11.4 and 1/0.3 = 3.3 kVA for a kW."""
    option = compare(on(APPARENT, **{"tariffs.power_factor": factor})).option(NEW)
    told = [n.text for n in option.notes if n.check == "power factor"]
    assert len(told) == bool(said)
    assert all(said in text and f"{1.0 / float(factor):.1f} times the kW" in text for text in told)
    tariff = tariffs.load_tariff(APPARENT)
    load = tariffs.Load(energy=np.full(12, 1e12), peak=np.full(12, 4e5), power_factor=np.full(12, float(factor)))
    assert any("power factor of" in text for text in cautions(tariff, load)) == bool(said)
