"""The comparison: money recomputed by plain arithmetic, balances, and what must always hold."""

from __future__ import annotations

import calendar
import tomllib
from importlib import resources

import numpy as np
import numpy_financial as npf
import pandas as pd
import pytest
from cases import AIR, BEDS, HOPPER, HOT, MEMBRANE, NEW, PRESENT, WHEEL, alone, case, resin

from energy import dryers
from energy.errors import CaseError, UnknownNameError
from energy.reports.comparison_json import to_dict
from energy.study.compare import compare
from energy.study.cost import running_cost
from energy.study.life_cycle import against_baseline, life_cycle_cost, measures_of, owned, replacements
from energy.study.option_sections import Option

KWH, BTU = 3.6e6, 1055.05585262
RATE, YEARS = 0.08, 10  # as in the example


@pytest.fixture(scope="module")
def demo():
    return compare(case())


@pytest.fixture(scope="module")
def humid():
    """PA66 in a humid hall: hot air cannot dry it."""
    return compare(case(PRESENT, NEW, HOT, changes={**resin("PA66"), **HUMID}))


HUMID = {"site.hall_temperature": "28 degC", "site.hall_dew_point": "20 degC"}


def price(tariff, key, amount):
    """A price as its file prints it, by the id of its charge."""
    text = resources.files("tariffs_demo").joinpath(f"{tariff}.toml").read_text(encoding="utf-8")
    charge = next(c for c in tomllib.loads(text)["charges"] if c["id"] == key)
    number, unit = charge[amount].split(" ")
    return float(number), unit


def energies(option):
    """kWh a year by carrier, and the highest quarter-hour in kW, from the powers of the operation."""
    seconds = 6000 * 3600
    kwh = {}
    for (_, carrier), power in option.operation.energy.items():
        assert np.ptp(power) <= 1e-9 * np.max(np.abs(power))  # the example has the same duty in every month
        kwh[carrier] = kwh.get(carrier, 0.0) + float(power[0]) * seconds / KWH
    peak = sum(float(p[0]) for (_, c), p in option.operation.peak.items() if c in ("electricity", "compressed air"))
    return kwh, peak / 1e3


def test_annual_cost_by_plain_arithmetic(demo):
    per_kwh, unit = price("flat-electricity", "energy", "price")
    per_kw_month, power_unit = price("flat-electricity", "demand", "price")
    per_mmbtu, gas_unit = price("flat-gas", "gas", "price")
    per_heat, heat_unit = price("flat-cooling", "cooling", "price")
    assert (unit, power_unit, gas_unit, heat_unit) == ("USD/kWh", "USD/kW/month", "USD/MMBtu", "USD/kWh")
    maintenance = {PRESENT: 3600, NEW: 1800, WHEEL: 1500, HOT: 900, AIR: 500, MEMBRANE: 700}
    for name, fixed in maintenance.items():
        option = demo.option(name)
        kwh, peak = energies(option)
        electricity = kwh.get("electricity", 0.0) + kwh.get("compressed air", 0.0)
        expected = {
            "electricity": electricity * per_kwh + 12 * peak * per_kw_month,
            "gas": kwh.get("gas", 0.0) * KWH / (1e6 * BTU) * per_mmbtu,
            "water": kwh.get("cooling", 0.0) * per_heat,
            # 0.002 USD for each cubic metre of free air that the compressor draws in
            "maintenance": fixed + 0.002 * float(option.operation.sizing["compressed_air"][0]) * 6000 * 3600,
        }
        assert option.annual_cost == pytest.approx(expected, rel=1e-12)
        assert option.total_cost == pytest.approx(sum(expected.values()), rel=1e-12)
    assert demo.option(HOT).annual_cost["gas"] > 0 < demo.option(NEW).annual_cost["water"]


def test_cash_flow_and_measures_by_plain_arithmetic(demo):
    base, new = demo.baseline, demo.option(NEW)
    flow = [-(19500 + 2500)]
    for year in range(1, YEARS + 1):
        saved = (base.annual_cost["electricity"] - new.annual_cost["electricity"]) * 1.01**year
        saved += base.annual_cost["water"] - new.annual_cost["water"]
        saved += 3600 - 1800
        saved += 6500 if year in (3, 6, 9) else 0  # the overhaul of the present dryer, spared
        saved += 22000 * (15 - 10) / 15 if year == YEARS else 0  # a third of its life is left
        flow.append(saved)
    m = new.measures
    assert m.cash_flow == pytest.approx(flow, rel=1e-12)
    assert m.npv == pytest.approx(npf.npv(RATE, flow), rel=1e-12)
    assert m.irr == pytest.approx(npf.irr(flow), rel=1e-9)
    # Savings come evenly over a year, the overhaul spared at its end: 22000 are not back before the third year's overhaul.
    owed = flow[0] + flow[1] + flow[2]
    assert owed + (flow[3] - 6500) < 0 < owed + flow[3]
    assert m.payback == 3.0


def test_payback_interpolates_within_a_year_of_even_savings(demo):
    """Without overhauls to spare, and without counting what is left in the machine at the end."""
    plain = compare(demo.case.with_({f"options['{PRESENT}'].replacements": []}))
    base, new = plain.baseline, plain.option(NEW)
    owed, year = -22000.0, 0
    while True:
        saved = (base.annual_cost["electricity"] - new.annual_cost["electricity"]) * 1.01 ** (year + 1)
        saved += base.annual_cost["water"] - new.annual_cost["water"] + 3600 - 1800
        if owed + saved >= 0:
            break
        owed, year = owed + saved, year + 1
    assert new.measures.payback == pytest.approx(year - owed / saved, rel=1e-12)


def test_a_machine_bigger_than_its_duty_costs_more_per_kilogram(demo):
    case = demo.case
    sized = compare(case.with_({f"options['{PRESENT}'].built_for": "90 kg/h"})).baseline
    assert sized.specific_energy < 0.75 * demo.baseline.specific_energy  # built for 160 kg/h, run at 90
    assert sized.capital == demo.baseline.capital


@pytest.mark.parametrize("name", [NEW, BEDS, WHEEL, HOT, AIR, MEMBRANE, "Vacuum", "Infrared drum"])
def test_running_below_what_it_is_built_for_costs_more_than_a_machine_of_the_right_size(name):
    right, large = (compare(alone(name, {f"options['{name}'].built_for": size})) for size in ("90 kg/h", "160 kg/h"))
    unsaid = compare(alone(name)).baseline
    assert right.baseline.total_cost == unsaid.total_cost
    assert large.baseline.specific_energy > 1.01 * right.baseline.specific_energy
    assert large.baseline.total_cost > right.baseline.total_cost
    assert large.baseline.minimum_energy == right.baseline.minimum_energy  # the same work


def test_streams_add_up_to_the_cash_flow_and_say_what_it_comes_from(demo):
    for option in demo.options:
        if option.measures is not None:
            streams = option.measures.streams
            assert sum(streams.values()) == pytest.approx(option.measures.cash_flow, rel=1e-12, abs=1e-9)
            assert streams["capital"] == pytest.approx([-option.capital, *[0.0] * YEARS])
    streams = demo.option(NEW).measures.streams
    assert streams["replacements"] == pytest.approx([6500.0 if t in (3, 6, 9) else 0.0 for t in range(YEARS + 1)])
    assert streams["residual"] == pytest.approx([*[0.0] * YEARS, 22000 * (15 - 10) / 15])
    assert streams["maintenance"] == pytest.approx([0.0, *[3600.0 - 1800.0] * YEARS])


def test_what_is_left_at_the_end_pays_nothing_back():
    """Worth it only for the 50 of 60 years of life left: net savings at no interest, and no payback."""
    changes = {f"options['{NEW}'].capital": "150000 USD", f"options['{NEW}'].life": 60, "finance.rate": "0 %"}
    m = compare(case(PRESENT, NEW, changes=changes)).option(NEW).measures
    assert m.streams["residual"][-1] == pytest.approx(125000)
    assert m.npv > 0 > m.npv - 125000
    assert np.isnan(m.payback)
    assert np.isnan(m.discounted_payback)
    assert m.payback_note.startswith("not within the study period of 10 years")


def test_nothing_is_replaced_in_the_last_year():
    overhaul = [{"item": "Overhaul", "every": 5, "amount": "1000 USD"}]
    with_, without = (
        compare(case(PRESENT, NEW, changes={f"options['{NEW}'].replacements": lines})) for lines in (overhaul, [])
    )
    spent = with_.option(NEW).measures.cash_flow - without.option(NEW).measures.cash_flow
    assert spent == pytest.approx([-1000.0 if year == 5 else 0.0 for year in range(11)], abs=1e-9)


@pytest.mark.parametrize(
    ("next_due", "years"),
    [
        (None, [4, 8]),  # an interval from now
        (2.4, [2, 6]),  # due in years 2.4, 6.4 and 10.4; none counts in the last of ten years
        (1.5, [1, 5, 9]),  # the earlier of two ends of a year that are as near
        (0.2, [1, 4, 8]),  # overdue: at the end of year 1, the others by the interval: 4.2, 8.2
        (9.0, [9]),
        (12.0, []),
    ],
)
def test_the_first_overhaul_falls_when_it_is_due(next_due, years):
    line = {"item": "Overhaul", "every": 4, "amount": "1000 USD"} | ({} if next_due is None else {"next_due": next_due})
    made = case(PRESENT, NEW, changes={f"options['{PRESENT}'].replacements": [line]})
    spent = replacements(made.model.options[0], 10)
    assert {year: float(money) for year, money in spent.items()} == dict.fromkeys(years, 1000.0)
    spared = compare(made).option(NEW).measures.streams["replacements"]
    assert spared == pytest.approx([1000.0 if year in years else 0.0 for year in range(11)])


def test_net_savings_are_the_difference_of_life_cycle_costs(demo):
    # ASTM E1074: net savings = life-cycle cost of the baseline less that of the option.
    for option in demo.options:
        if option.measures is not None:
            assert option.measures.npv == pytest.approx(
                demo.baseline.life_cycle_cost - option.life_cycle_cost, rel=1e-10, abs=1e-7
            )


@pytest.mark.parametrize(
    "finance",
    [
        {"finance.timing": "mid", "finance.rate_basis": "nominal", "finance.inflation": "2 %"},
        {"finance.tax": {"rate": "25 %", "depreciation": "straight-line", "life": 7}},
        {"tariffs.electricity": "hours-use-electricity", "tariffs.power_factor": 0.88},
    ],
)
def test_options_measured_together_are_measured_as_each_alone(finance):
    made = compare(case(changes=finance))
    base = made.baseline
    for option in made.options:
        if option.measures is None:
            continue
        cost, present = (running_cost(made.case, o.option.maintenance, o.year, base.year) for o in (option, base))
        late = {name: saving.first_year - saving.steady for name, saving in option.savings.items()}
        flow = against_baseline(made.case, option.option, cost, base.option, present, late)
        alone_ = measures_of(made.case, flow)
        assert option.measures.npv == pytest.approx(alone_.npv, rel=1e-12)
        assert option.measures.irr == pytest.approx(alone_.irr, rel=1e-12, nan_ok=True)
        assert option.measures.streams.keys() == alone_.streams.keys()
        for name, amounts in option.measures.streams.items():
            assert amounts == pytest.approx(alone_.streams[name], rel=1e-12)
        whole = life_cycle_cost(made.case, owned(made.case, option.option, cost))
        assert option.life_cycle_cost == pytest.approx(float(whole), rel=1e-12)


def test_the_baseline_is_measured_against_nothing(demo):
    assert [o.name for o in demo.options if o.measures is None] == [PRESENT]
    assert demo.baseline.name == PRESENT


def test_an_incentive_comes_off_the_capital():
    with_, without = (
        compare(case(PRESENT, NEW, changes={f"options['{NEW}'].incentive": text})) for text in ("2000 USD", "0 USD")
    )
    gained = with_.option(NEW).measures.cash_flow - without.option(NEW).measures.cash_flow
    assert gained == pytest.approx([2000.0] + [0.0] * 10, abs=1e-9)


def test_heat_closes_and_bills_add_up(demo, humid):
    for option in (*demo.options, *humid.options):
        put_in, come_out = sum(option.heat_in.values()), sum(option.heat_out.values())
        assert abs(put_in - come_out) <= 1e-9 * put_in
        bills = sum(line.amount for line in option.bill)
        energy_cost = sum(option.annual_cost[k] for k in ("electricity", "gas", "water"))
        assert bills == pytest.approx(energy_cost, rel=1e-12)
        assert sum(option.cost_by_end_use.values()) == pytest.approx(option.total_cost, rel=1e-12)
        assert sum(option.annual_cost.values()) == pytest.approx(option.total_cost, rel=1e-12)
        assert all(line.clause for line in option.bill)


def test_fixed_charges_are_in_no_options_cost(demo):
    dearer = compare(case(PRESENT, NEW, changes={"tariffs.electricity": "0.115 USD/kWh"}))
    assert price("flat-electricity", "customer", "per_month") == (90.0, "USD")
    for option in demo.options:
        assert "Customer charge" not in {line.line for line in option.bill}
        kwh, _ = energies(option)
        line = next(entry for entry in option.bill if entry.line == "Energy charge")
        assert line.amount == pytest.approx(0.115 * (kwh["electricity"] + kwh.get("compressed air", 0.0)), rel=1e-12)
    # Without demand charge and customer charge the rest is the energy charge alone.
    assert dearer.option(NEW).annual_cost["electricity"] == pytest.approx(
        0.115 * energies(demo.option(NEW))[0]["electricity"]
    )


def test_a_carrier_without_a_price_costs_nothing_and_is_still_counted():
    free = compare(case(PRESENT, NEW, changes={"tariffs.cooling": None})).option(NEW)
    assert free.annual_cost["water"] == 0.0
    assert free.carrier("cooling") > 0


def test_ranking_leaves_out_what_does_not_dry(humid, demo):
    assert humid.option(HOT).verdict.overall == "fail"
    assert humid.option(HOT).life_cycle_cost < min(o.life_cycle_cost for o in humid.ranked())
    assert HOT not in [o.name for o in humid.ranked()]
    assert {o.name for o in humid.options} == {PRESENT, NEW, HOT}  # it stays in sight
    for comparison in (demo, humid):
        assert all(o.verdict.overall != "fail" for o in comparison.ranked())
        places = []
        for o in comparison.ranked():
            moisture = next(f.verdict for f in o.verdict.findings if f.check == "predicted moisture")
            places.append(
                (o.verdict.overall != "pass", moisture != "pass", o.verdict.word == "unlikely", o.life_cycle_cost)
            )
        assert places == sorted(places)


# Reference table F-physics: cp x (T - 20) / 3.6 + water x 2.6 MJ/kg, printed to 0.1 Wh/kg.
@pytest.mark.published(
    "first law: sensible heat of the resin and 2.6 MJ/kg of water removed",
    where="reference table F-physics",
    quoted="computed by hand from the table's columns",
)
@pytest.mark.parametrize(
    ("name", "start", "target", "minimum"),
    [
        ("PET", "0.255 %", "50 ppm", 58.2),
        ("PC", "0.2 %", "200 ppm", 40.2),
        ("PA66", "0.45 %", "0.15 %", 30.8),
        ("ABS", "0.4 %", "0.1 %", 25.5),
        ("PMMA", "0.4 %", "500 ppm", 28.4),
    ],
)
def test_physical_minimum(name, start, target, minimum):
    wet = resin(name, resin_temperature="20 degC", initial_moisture=start, target_moisture=target)
    result = compare(case(PRESENT, NEW, AIR, changes=wet))
    for option in result.options:
        # The table's water is on wet basis; on dry basis it is up to 0.5 % of itself, 0.02 Wh/kg, more.
        assert option.minimum_energy / 3600 == pytest.approx(minimum, abs=0.08)
        assert option.specific_energy > option.minimum_energy


@pytest.mark.common_practice("full-load bands of specific energy by type, reference F-physics: estimates, not metering")
def test_specific_energy_lies_in_its_bands(demo):
    for option in demo.options:
        low, high = (120, 300) if option.option.type.startswith("compressed-air") else (40, 110)
        if option.option.type.startswith("desiccant"):
            low, high = 45, 80
        if option.option.baseline:  # at 56 % load with fixed airflow: above the full-load band, below 4 times it
            low, high = 80, 4 * 80
        assert low <= option.specific_energy / 3600 <= high, option.name


def test_specific_energy_is_what_is_bought_over_what_is_dried(demo):
    for option in demo.options:
        kwh, peak = energies(option)
        bought = sum(value for carrier, value in kwh.items() if carrier != "cooling")
        assert option.specific_energy / 3600 == pytest.approx(1000 * bought / (90 * 6000), rel=1e-12)
        assert option.peak / 1e3 == pytest.approx(peak, rel=1e-12)


@pytest.mark.published("EPA emission factors, 40 CFR 98 Table C-1; eGRID2022", where="reference G", quoted="read there")
def test_emissions(demo):
    for option in demo.options:
        kwh, _ = energies(option)
        electric = kwh["electricity"] + kwh.get("compressed air", 0.0)
        gas_mmbtu = kwh.get("gas", 0.0) * KWH / (1e6 * BTU)
        assert option.emissions == pytest.approx(0.373 * electric + 53.06 * gas_mmbtu, rel=1e-9)


def test_months_have_their_days_and_the_year_its_hours():
    for year in (2024, 2026):
        result = compare(case(PRESENT, NEW, changes={"case.year": year}))
        total = result.option(NEW).carrier("electricity")
        assert total == pytest.approx(
            float(result.option(NEW).operation.power("electricity")[0]) * 6000 * 3600, rel=1e-12
        )
    seconds = case(PRESENT, NEW, changes={"case.year": 2024}).calendar.production
    assert seconds / seconds.sum() == pytest.approx([calendar.monthrange(2024, m)[1] / 366 for m in range(1, 13)])


@pytest.mark.parametrize(
    ("changes", "slack"),
    [
        ({f"{HOPPER}.throughput": "110 kg/h"}, 0.0),
        ({f"{HOPPER}.drying_temperature": "125 degC"}, 0.0),
        ({f"{HOPPER}.initial_moisture": "0.3 %"}, 0.0),
        ({"calendar.production_hours": "6500 h"}, 0.0),
        # Where the aftercooler works, colder pellets and walls take heat from it and not from the heater, and the
        # colder air is a little easier to blow: 0.04 % less electricity in the example.
        ({"site.hall_temperature": "18 degC"}, 1e-3),
    ],
)
def test_more_of_anything_dear_takes_no_less_energy(demo, changes, slack):
    more = 0
    for one, other in zip(demo.options, compare(case(changes=changes)).options, strict=True):
        bought, now = (sum(v for (_, c), v in o.energy.items() if c != "cooling") for o in (one, other))
        assert now >= bought * (1 - slack), one.name
        more += now > bought * 1.001
    assert more >= 2


def test_every_type_can_be_an_option_and_is_named(demo):
    assert {o.option.type for o in demo.options} == set(dryers.TYPES)
    assert all(isinstance(o.option, Option) and o.label for o in demo.options)


def test_an_unknown_option_is_told_with_the_nearest(demo):
    with pytest.raises(UnknownNameError, match="did you mean 'Desiccant wheel'"):
        demo.option("Desicant wheel")


def test_the_frame_says_what_the_json_says(demo):
    frame, plain = demo.to_frame(), to_dict(demo)["options"]
    assert isinstance(frame, pd.DataFrame)
    assert list(frame["option"]) == [o["name"] for o in plain]
    columns = {
        "specific energy [Wh/kg]": "specific_energy_wh_per_kg",
        "minimum [Wh/kg]": "minimum_wh_per_kg",
        "peak [kW]": "peak_kw",
        "CO2 [kg/year]": "co2_kg",
        "capital [USD]": "capital",
        "life-cycle cost [USD]": "life_cycle_cost",
        "net savings [USD]": "npv",
        "simple payback [year]": "simple_payback_years",
        "capital over saving [year]": "capital_over_saving_years",
        "discounted payback [year]": "discounted_payback_years",
        "internal rate of return [1]": "irr",
    }
    for column, key in columns.items():
        wanted = [np.nan if o[key] is None else o[key] for o in plain]
        assert list(frame[column]) == pytest.approx(wanted, rel=1e-12, nan_ok=True)
    assert list(frame["running cost [USD/year]"]) == pytest.approx(
        [o["annual_cost"]["total"] for o in plain], rel=1e-12
    )
    for column, key in {
        "electricity [kWh/year]": "electricity_kwh",
        "compressed-air electricity [kWh/year]": "compressed_air_kwh",
        "gas [kWh/year]": "gas_kwh",
        "cooling heat [kWh/year]": "cooling_kwh",
    }.items():
        assert list(frame[column]) == pytest.approx([o["carriers"][key] for o in plain], rel=1e-12)


@pytest.mark.published(
    "isentropic efficiency of a package",
    where="reference B3: 17 kW/100 cfm at 100 psig is 0.782",
    quoted="computed with ideal gas",
)
def test_a_compressor_may_be_told_by_its_isentropic_efficiency():
    """100 psig over the reference inlet of 1 bar, as in the table: 7.8948 bar(a), at sea level, where a data sheet holds as it is."""
    nameplate = {"pressure": "7.8948 bar(a)", "pressure_dew_point": "3 degC", "specific_power": "17 kW/100 cfm"}
    efficiency = {"pressure": "7.8948 bar(a)", "pressure_dew_point": "3 degC", "isentropic_efficiency": "78.2 %"}
    costs = [
        compare(case(PRESENT, AIR, changes={"compressed_air": air, "site.altitude": "0 m"}))
        .option(AIR)
        .carrier("compressed air")
        for air in (nameplate, efficiency)
    ]
    assert costs[0] == pytest.approx(costs[1], rel=1e-3)  # three digits


@pytest.mark.parametrize("air", [{}, {"specific_power": "6 kW/(m3/min)", "isentropic_efficiency": "70 %"}])
def test_a_compressor_is_told_once(air):
    given = {"pressure": "7 bar(g)", "pressure_dew_point": "3 degC", **air}
    with pytest.raises(CaseError, match=r"one of specific_power .* and isentropic_efficiency is needed"):
        case(PRESENT, AIR, changes={"compressed_air": given})


def test_one_price_of_electricity_takes_a_charge_per_demand_beside_it():
    # Twelve months at 10 USD for each kW of the highest 15 minutes, on top of what the energy costs.
    bare = case(PRESENT, NEW, changes={"tariffs.electricity": "0.10 USD/kWh"})
    priced = compare(bare.with_({"tariffs.electricity_demand": "10 USD/kW/month"}))
    for before, after in zip(compare(bare).options, priced.options, strict=True):
        added = after.annual_cost["electricity"] - before.annual_cost["electricity"]
        assert after.peak == before.peak > 0.0
        assert added == pytest.approx(sum(10.0 * kw for kw in _peaks(after)), rel=1e-9)


def _peaks(option):
    """Electricity of the dryer, and of the compressor for it, in each month's highest 15 minutes. [kW]"""
    return option.year.most(("electricity", "compressed air")) / 1e3
