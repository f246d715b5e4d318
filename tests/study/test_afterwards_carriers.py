"""The check afterwards of dryers that take gas or compressed air: by volume, in place of electricity, or not metered at all."""

from __future__ import annotations

import pytest

from energy.errors import CaseError
from energy.reports import afterwards as told
from energy.reports.document.proposal import proposal
from energy.study.afterwards import periods
from energy.study.case import load_case
from energy.study.compare import compare
from energy.tariffs.readers import read_metered_periods

KWH = 3.6e6
BEFORE = [(15000, 2280, 0), (17000, 2570, 0), (16000, 2430, 0), (18000, 2700, 0)]
"""kg, kWh of electricity, kWh of gas: about 151 Wh/kg, as the present dryers of the demo."""
GAS_FIRED = "Hot air, gas-fired"


def fired_by_gas(price="flat-gas"):
    """The demo with its central wheel fired by gas."""
    case, name = load_case("demo"), "Central wheel, variable speed"
    given = next(option for option in case.document["options"] if option["name"] == name)["inputs"]
    return case.with_({f"options['{name}'].inputs": {**given, "heat_source": "gas"}, "tariffs.gas": price})


@pytest.fixture(scope="module")
def gas_fired():
    """The wheel fired by gas, 20.9 Wh/kg of electricity and 87.5 Wh/kg of gas."""
    made = compare(fired_by_gas())
    option = proposal(made).option
    # What the tests below rest on; 880,464 kg a year.
    assert option.carrier("electricity") / KWH / 880.464 == pytest.approx(20.9, abs=0.05)
    assert option.carrier("gas") / KWH / 880.464 == pytest.approx(87.5, abs=0.05)
    return made


def checked(comparison, after, before=BEFORE, names=("electricity", "gas")):
    rows = [
        {"when": when, "days": 7.0, "resin": f"{kg} kg"}
        | {name: f"{kwh} kWh" for name, kwh in zip(names, energy, strict=False)}
        for when, weeks in (("before", before), ("after", after))
        for kg, *energy in weeks
    ]
    return told.check(comparison, periods(rows, "weeks.csv"))


def test_a_gas_dryer_that_heats_with_electricity_is_decided_and_said_to(gas_fired):
    # By hand: 2,400 kWh for 16,000 kg are 150 Wh/kg, 2,660 for 17,500 kg are 152; 20.9 + 87.5 = 108 Wh/kg are forecast in all.
    found = checked(gas_fired, [(16000, 2400, 0), (17500, 2660, 0)])
    assert found.far == ()
    [line] = [line for line in found.beyond if "took the place" in line]
    assert line == (
        "Electricity took the place of gas in period 1, 2 of those after: 150 Wh/kg to 152 Wh/kg of electricity for 20.9 Wh/kg forecast "
        "and 0 Wh/kg of gas for 87.5 Wh/kg forecast. In all 150 Wh/kg to 152 Wh/kg for 108 Wh/kg: no slip of a reading, so it counts as metered."
    )
    assert not [line for line in found.beyond if line.startswith("Check period")]
    # Nothing was saved, by electricity or by gas.
    assert found.word == "failed"
    assert abs(found.saved["electricity"].saved) < found.saved["electricity"].metered / 50
    assert found.money["gas"] == 0.0


def test_a_single_week_on_electricity_is_named_alone(gas_fired):
    found = checked(gas_fired, [(16000, 335, 1320), (17500, 2660, 0), (17000, 355, 1400)])
    assert found.far == ()
    assert [line[:66] for line in found.beyond] == [
        "Electricity took the place of gas in period 2 of those after: 152 "
    ]


def test_a_carrier_that_reads_nothing_needs_less_of_another(gas_fired):
    # By hand: 2.7 times the 20.9 Wh/kg is 56 Wh/kg, 35 more, of the 87.5 that the gas lacks; 56 in all is half of 108.
    found = checked(gas_fired, [(kg, 0.0565 * kg, 0) for kg in (16000, 17500)])
    assert [line for line in found.beyond if "took the place" in line]
    # As much beside a tenth of the gas is a slip of ten in the gas.
    found = checked(gas_fired, [(kg, 0.0535 * kg, 0.00827 * kg) for kg in (16000, 17500)])
    assert found.word == "not decided"
    assert "of gas, where the request forecasts" in found.far[0]


def test_the_other_way_gas_in_place_of_electricity_decides():
    """Present dryers fired by gas, the demo's twin towers asked for in their place."""
    case = load_case("demo")
    options = [o for o in case.document["options"] if o["name"] in (GAS_FIRED, "Twin towers, new")]
    options = [{**o, "baseline": o["name"] == GAS_FIRED} for o in options]
    asked = compare(case.with_({"options": options, "request.recommended": "Twin towers, new"}))
    before = [(kg, 0.0082 * kg, 0.159 * kg) for kg, *_ in BEFORE]
    # Twin towers forecast 104,536 kWh or so for 880,464 kg: 119 Wh/kg of electricity, no gas.
    found = checked(asked, [(16000, 0.0082 * 16000, 0.159 * 16000), (17500, 0.0082 * 17500, 0.159 * 17500)], before)
    assert found.far == ()
    [line] = [line for line in found.beyond if "took the place" in line]
    assert line.startswith(
        "Gas took the place of electricity in period 1, 2 of those after: 159 Wh/kg of gas for none forecast"
    )


@pytest.mark.parametrize(
    ("power", "gas", "carrier"),
    [
        (209, 82.7, "electricity"),
        (2.09, 82.7, "electricity"),
        (20.9, 8.27, "gas"),
        (20.9, 827, "gas"),
        (20.9, 0, "gas"),
    ],
)
def test_a_slip_in_one_carrier_alone_still_decides_nothing(gas_fired, power, gas, carrier):
    after = [(kg, power * kg / 1e3, gas * kg / 1e3) for kg in (16000, 17500)]
    found = checked(gas_fired, after)
    assert found.word == "not decided"
    assert f"of {carrier}, where the request forecasts" in found.far[0]
    assert not [line for line in found.beyond if "took the place" in line]


def test_two_slips_that_do_not_make_up_for_each_other_decide_nothing(gas_fired):
    # By hand: electricity a tenth lacks 18.8 Wh/kg; gas of 3.1 times adds 174, nine times that, and makes 258 of 104.
    found = checked(gas_fired, [(kg, 2.09e-3 * kg, 0.256 * kg) for kg in (16000, 17500)])
    assert found.word == "not decided"
    assert not [line for line in found.beyond if "took the place" in line]


def test_cubic_metres_typed_as_kilowatt_hours_are_thought_of(gas_fired):
    found = checked(gas_fired, [(kg, 20.9e-3 * kg, 7.9e-3 * kg) for kg in (16000, 17500)])
    assert found.far[0].endswith("A slip of ten, m3 for kWh, or a meter of something else?")


# ---------- by volume ----------

HEAD = "when;days;resin (kg);electricity (kWh);{gas}\n"


def by_volume(tmp_path, heating=""):
    """The gas-fired case on a tariff with that section, and weeks of 132 m3 for 16,000 kg."""
    tariff = tmp_path / "gas.toml"
    tariff.write_text(
        'name = "Gas"\ncommodity = "gas"\ncurrency = "USD"\nsource = "sheet"\n'
        + heating
        + '[[charges]]\ntype = "energy-flat"\nid = "gas"\nlabel = "Gas"\nclause = "1"\nsource = "sheet"\nprice = "0.035 USD/kWh"\n'
    )
    weeks = tmp_path / "weeks.csv"
    weeks.write_text(
        HEAD.format(gas="gas (m³)")
        + "".join(f"before;7;{kg};{kwh};0\n" for kg, kwh, _ in BEFORE)
        + "after;7;16000;335;132\nafter;7;17500;365;145\n"
    )
    return compare(fired_by_gas(str(tariff))), periods(read_metered_periods(weeks), str(weeks))


def test_gas_by_volume_is_made_energy_by_the_heating_value_of_its_tariff(tmp_path):
    comparison, rows = by_volume(tmp_path, '[gas]\nheating_value = "40 MJ/m3"\nvolume_factor = 0.9\n')
    found = told.check(comparison, rows)
    # By hand: 277 m3 x 0.9 x 40 MJ/m3 = 9,972 MJ = 2,770 kWh.
    assert found.saved["gas"].metered / KWH == pytest.approx(2_770.0)
    assert found.far == ()
    # The same weeks in the case.
    kept = [
        {"when": r.when, "days": r.days, "resin": f"{r.resin} kg", "electricity": f"{r.electricity} J"}
        | {"gas_volume": f"{r.gas_volume} m3"}
        for r in rows
    ]
    assert told.check(compare(comparison.case.with_({"request.verification.metered": kept}))).total == found.total
    both = [{**row, "gas": "10 kWh"} for row in kept]
    with pytest.raises(CaseError, match=r"gives gas by volume and in kWh; one of them is enough"):
        told.check(comparison, periods(both, "weeks.csv"))


def test_gas_by_volume_without_a_heating_value_is_refused_in_words(tmp_path):
    comparison, rows = by_volume(tmp_path)
    with pytest.raises(CaseError) as error:
        told.check(comparison, rows)
    [problem] = error.value.problems
    assert problem.message.startswith(
        "gives gas by volume, gas (m3), and the case has no tariff of gas with a heating value"
    )
    assert "give gas (kWh), which is the volume times the heating value of the bill" in problem.message


# ---------- not metered, and not priced ----------


def test_compressed_air_that_is_not_metered_is_asked_for():
    air = compare(load_case("demo").with_({"request.recommended": "Compressed air with membrane"}))
    after = [(16000, 800), (17500, 875)]
    with pytest.raises(CaseError, match="gives no compressed air, which the dryers take before or after"):
        checked(air, after, names=("electricity",))


def test_gas_that_the_request_counts_none_of_decides_nothing():
    demo = compare(load_case("demo"))
    found = checked(demo, [(16000, 800, 2400), (17500, 875, 2625)])
    assert found.word == "not decided"
    assert found.far[0] == (
        "Check the gas after: 5,025 kWh were metered, and the request counts none, before or after. It has no price in these figures."
    )
    # A pilot flame below what a meter may err is none.
    assert "Check the gas" not in "".join(checked(demo, [(16000, 1500, 5), (17500, 1640, 5)]).far)


def test_electricity_above_its_peaks_beside_gas_as_forecast_is_told(gas_fired):
    # By hand: 2.8 times 20.9 Wh/kg of 33,500 kg are 1,960 kWh in 336 h: 5.83 kW; the peaks forecast are 5.64 kW at the most.
    found = checked(gas_fired, [(kg, 2.8 * 0.0209 * kg, 0.0875 * kg) for kg in (16000, 17500)])
    assert found.far == ()
    [one] = found.peaks.values()
    assert one.mean == pytest.approx(5830, abs=10)
    assert 0.0 < one.left < one.credit
    assert found.forecast["electricity"] == one.left
    assert any(line.startswith("Electricity after: 1,960 kWh were metered") for line in found.beyond)
    as_forecast = checked(gas_fired, [(kg, 0.0209 * kg, 0.0875 * kg) for kg in (16000, 17500)])
    assert as_forecast.peaks == {}
    assert not [line for line in as_forecast.beyond if line.startswith("Electricity after: ")]
