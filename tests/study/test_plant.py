"""Several hoppers: their sums, their arrangements, and what must not change when hoppers are put together."""

from __future__ import annotations

import numpy as np
import pytest
from cases import HOPPER, HOT, MEMBRANE, NEW, PA, PC, PRESENT, WHEEL, alone, case, plant

from energy.errors import CaseError, UnknownNameError
from energy.remembered import Latest
from energy.study import run
from energy.study.case import load_case
from energy.study.compare import compare
from energy.study.load import load_curve
from energy.study.paths import changed
from energy.study.sweep import sweep
from energy.study.year import segments, starts_of

WEEKDAYS = ["mon", "tue", "wed", "thu", "fri"]
SHIFT = {
    "calendar.production_hours": None,
    "calendar.shifts": [{"name": "day", "days": WEEKDAYS, "start": "06:00", "end": "22:00"}],
    "calendar.standby_up_to": "10 h",
}
NO_DUCTS = {
    "duct_length": "0 m",
    "conveying_pressure": "0 kPa",
    "conveying_air_spent": "0 %",
}


def central(name, **values):
    return {f"options['{name}'].arrangement": "central", f"options['{name}'].central": values}


def test_hoppers_at_the_machine_add_up():
    """Each hopper has its own dryer: the plant's energy is the sum of the plants of one hopper."""
    both = compare(plant(PRESENT, NEW, WHEEL, HOT, **SHIFT))
    singles = [compare(plant(PRESENT, NEW, WHEEL, HOT, hoppers=(one,), **SHIFT)) for one in (PC, PA)]
    for option in both.options:
        parts = [single.option(option.name) for single in singles]
        for key, energy in option.energy.items():
            assert energy == pytest.approx(sum(p.energy[key] for p in parts), rel=1e-12)
        for key, size in option.sizing.items():
            assert size == pytest.approx(sum(p.sizing[key] for p in parts), rel=1e-12)
        assert option.peak == pytest.approx(sum(p.peak for p in parts), rel=1e-12)
        worst = max((p.verdict for p in parts), key=lambda v: v.severity)
        assert option.verdict.overall == worst.overall
        assert option.verdict.moisture.predicted == worst.moisture.predicted
        assert [s.verdict.moisture.predicted for s in option.served] == [p.verdict.moisture.predicted for p in parts]


def test_a_central_system_of_one_hopper_without_ducts_is_the_dryer_at_the_machine():
    here, there = (
        compare(plant(NEW, hoppers=(PC,), **{f"options['{NEW}'].baseline": True, **SHIFT, **more})).baseline
        for more in ({}, central(NEW, **NO_DUCTS))
    )
    assert there.option.arrangement == "central"
    assert set(there.energy) == set(here.energy)
    for key, energy in here.energy.items():
        assert there.energy[key] == pytest.approx(energy, rel=1e-9)
    for key, size in here.sizing.items():
        assert there.sizing[key] == pytest.approx(size, rel=1e-9)
    assert there.peak == pytest.approx(here.peak, rel=1e-9)
    assert there.verdict.moisture.predicted == pytest.approx(here.verdict.moisture.predicted, rel=1e-9)


def test_ducts_conveying_and_spare_each_cost_energy():
    def total(**values):
        changes = {f"options['{WHEEL}'].baseline": True, **central(WHEEL, **{**NO_DUCTS, **values})}
        return compare(plant(WHEEL, **changes)).baseline

    least = total()
    long, spent, conveyed = (
        total(duct_length="60 m"),
        total(conveying_air_spent="50 %"),
        total(conveying_pressure="25 kPa"),
    )
    for dearer in (long, spent, conveyed):
        assert dearer.specific_energy > least.specific_energy
    # Isentropic work of a kilogram of air from 75 to 100 kPa at 20 degC, through 6 kg/kg and 45 %; cp = 1.004 kJ/(kg K).
    work = 1.004e3 * 293.15 * ((100 / 75) ** (0.4 / 1.4) - 1.0) / 6 / 0.45
    assert conveyed.energy["conveying", "electricity"] / conveyed.year.resin.sum() == pytest.approx(work, rel=2e-3)
    spare = total(spare="30 %")
    assert spare.sizing["desiccant"] == pytest.approx(1.3 * least.sizing["desiccant"], rel=1e-9)
    assert spare.sizing["airflow"] == pytest.approx(1.3 * least.sizing["airflow"], rel=1e-3)


def test_every_balance_closes_and_nothing_undercuts_the_minimum():
    demo = compare(load_case("demo"))
    assert {o.option.arrangement for o in demo.options} == {"at the machine", "portable", "central"}
    assert len(demo.options) == 10
    for option in demo.options:
        supplied = sum(option.heat_in.values())
        assert supplied - sum(option.heat_out.values()) == pytest.approx(0.0, abs=1e-9 * supplied)
        assert option.specific_energy > option.minimum_energy
        bought = sum(v for (_, carrier), v in option.energy.items() if carrier != "cooling")
        assert sum(float(v) for v in option.year.by_state().values()) == pytest.approx(bought, rel=1e-12)
        assert option.year.resin.sum() == pytest.approx(demo.baseline.year.resin.sum(), rel=1e-12)


def test_part_load_of_the_sum():
    """A central system with one of two equal hoppers off runs like a bigger system half used: dearer per kilogram."""
    twins = ({**PC, "name": "A"}, {**PC, "name": "B"})
    rarely = ({**PC, "name": "A"}, {**PC, "name": "B", "running": "30 %", "campaigns": 10})
    changes = {f"options['{WHEEL}'].baseline": True, **central(WHEEL)}
    always, part = (compare(plant(WHEEL, hoppers=h, **changes)).baseline for h in (twins, rarely))
    assert part.sizing["airflow"] == pytest.approx(always.sizing["airflow"], rel=1e-9)
    assert part.specific_energy > always.specific_energy
    assert part.year.resin.sum() == pytest.approx(0.65 * always.year.resin.sum(), rel=1e-12)


def test_levels_of_several_hoppers_are_laid_over_each_other():
    """By hand: A is full for 50 %, at half for 50 %; B is full for 30 %, at 0.2 for 30 %, off for 40 %."""
    levels_a = [{"throughput": "90 kg/h", "share": "50 %"}, {"throughput": "45 kg/h", "share": "50 %"}]
    levels_b = [{"throughput": "8 kg/h", "share": "50 %"}, {"throughput": "40 kg/h", "share": "50 %"}]
    both = plant(
        NEW,
        hoppers=({**PC, "levels": levels_a}, {**PA, "levels": levels_b, "running": "60 %", "campaigns": 5}),
        **{f"options['{NEW}'].baseline": True},
    )
    found = [(round(s.share, 9), tuple(round(x, 9) for x in s.loads)) for s in segments(both.model.hoppers)]
    assert found == [(0.3, (1.0, 1.0)), (0.2, (1.0, 0.2)), (0.1, (0.5, 0.2)), (0.4, (0.5, 0.0))]
    result = compare(both).baseline
    assert result.year.resin.sum() == pytest.approx(6000 * (90 * 0.75 + 40 * 0.6 * 0.6), rel=1e-12)


def test_campaigns_start_from_cold():
    idle = {**PC, "running": "50 %", "campaigns": 20}
    of = plant(NEW, hoppers=(idle,), **{f"options['{NEW}'].baseline": True})
    starts, stop = starts_of(of.model.hoppers[0], of.calendar)
    assert starts.sum() == pytest.approx(20)
    assert stop == pytest.approx(np.full(12, 0.5 * 6000 * 3600 / 20))
    option = compare(of).baseline
    heat = float(option.operation.starts[0].energy["process heat", "electricity"].max())
    assert float(option.year.by_state()["warm-up"]) == pytest.approx(20 * heat, rel=1e-6)


def test_a_machine_of_its_own_at_one_hopper():
    mixed = {
        f"options['{NEW}'].baseline": True,
        f"options['{NEW}'].machines": [{"hopper": "Machine 8", "type": "hot-air", "built_for": "60 kg/h"}],
    }
    option = compare(plant(NEW, **mixed)).baseline
    assert [s.machine.type for s in option.served] == ["desiccant-twin-tower", "hot-air"]
    assert option.label == "desiccant, twin tower, hot air"
    assert option.served[1].duty.built_for.design_throughput[0] * 3600 == pytest.approx(60)
    one = compare(
        plant(
            HOT,
            hoppers=(PA,),
            **{
                f"options['{HOT}'].baseline": True,
                f"options['{HOT}'].inputs": None,
                f"options['{HOT}'].built_for": None,
            },
        )
    ).baseline
    assert option.served[1].verdict.overall == one.verdict.overall == "fail"
    assert option.verdict.overall == "fail"
    assert all(f.hopper in ("Machine 7", "Machine 8") for f in option.verdict.findings)


def test_a_hopper_that_is_there_keeps_its_volume_whatever_time_is_asked():
    # 0.5 m3, of which 90 % moves, holds 0.5 x 0.9 x 700 = 315 kg; built for 90 kg/h that is 3.5 h.
    own = {"hoppers[1].own_resin": {"bulk_density": "700 kg/m3"}, f"options['{PRESENT}'].inputs.usable_share": "90 %"}
    asked = [case(PRESENT, NEW, changes={**own, "hoppers[1].residence_time": t}) for t in ("2 h", "5 h")]
    stays, sizes = [], []
    for wish in asked:
        result = compare(
            wish.with_({f"options['{PRESENT}'].hopper_volume": "0.5 m3", f"options['{PRESENT}'].built_for": None})
        )
        stays.append([float(o.served[0].duty.residence_time[0]) / 3600 for o in result.options])
        sizes.append(float(result.baseline.sizing["hopper_volume"]))
    assert stays == [pytest.approx([3.5, 2.0]), pytest.approx([3.5, 5.0])]
    assert sizes == pytest.approx([0.5, 0.5])
    # Built for 160 kg/h and run at 90: 1 m3 still holds 630 kg, which is 7 h.
    double = compare(asked[0].with_({f"options['{PRESENT}'].hopper_volume": "1 m3"})).baseline
    assert double.verdict.moisture.residence / 3600 == pytest.approx(7.0)


def test_a_present_machine_may_be_outgrown_and_says_so():
    # Built for 72 and asked 90 kg/h: a bed for 4 h at 72 holds 3.2 h at 90.
    grown = {f"options['{PRESENT}'].built_for": "72 kg/h", "hoppers[1].residence_time": "4 h"}
    of = compare(case(PRESENT, NEW, changes=grown))
    assert of.baseline.verdict.moisture.residence / 3600 == pytest.approx(3.2)
    [said] = [f for f in of.baseline.verdict.findings if f.check == "throughput"]
    assert (said.verdict, said.value, said.limit) == ("caution", pytest.approx(90), pytest.approx(72))
    assert "25% more: pellets stay shorter" in said.text
    assert not [f for f in of.option(NEW).verdict.findings if f.check == "throughput"]
    with pytest.raises(CaseError, match="72 kg/h is less than the hopper's throughput"):
        case(PRESENT, NEW, changes={f"options['{NEW}'].built_for": "72 kg/h"})


def test_present_dryers_count_as_their_meter_says():
    # One price of 0.10 USD/kWh: a fifth more energy is a fifth more money, and the dryer compared with keeps its own.
    flat = {"tariffs": {"electricity": "0.10 USD/kWh"}}
    ratio = {f"options['{PRESENT}'].metered_over_model": "120 %"}
    model, meter = (compare(case(PRESENT, NEW, changes=of)) for of in (flat, {**flat, **ratio}))
    beyond = ("metered beyond the model", "electricity")
    told = dict(meter.baseline.energy)
    assert told.pop(beyond) == pytest.approx(
        0.2 * sum(e for (_, carrier), e in model.baseline.energy.items() if carrier == "electricity")
    )
    assert told == pytest.approx(dict(model.baseline.energy))  # nobody knows which part of the dryer takes it
    bought = sum(e for (_, carrier), e in model.baseline.energy.items() if carrier == "electricity") / 3.6e6
    hours = float(model.case.model.calendar.production_hours) / 3600.0
    assert (meter.baseline.peak - model.baseline.peak) / 1e3 == pytest.approx(
        0.2 * bought / hours
    )  # steady all the year
    dearer = meter.baseline.total_cost - model.baseline.total_cost
    assert dearer == pytest.approx(0.2 * bought * 0.10)
    assert meter.option(NEW).energy == model.option(NEW).energy
    # The balance stays closed, and what the model does not know of ends up in the hall.
    assert meter.baseline.heat_out["metered beyond the model"] / 3.6e6 == pytest.approx(0.2 * bought)
    assert sum(meter.baseline.heat_in.values()) == pytest.approx(sum(meter.baseline.heat_out.values()))
    assert meter.baseline.verdict.moisture == model.baseline.verdict.moisture


def test_a_metered_dryer_keeps_the_airflow_of_a_resin_of_ones_own():
    own = {f"{HOPPER}.own_resin": {"air_resin_ratio": 3.0}, f"options['{PRESENT}'].built_for": None}
    ratio = {f"options['{PRESENT}'].metered_over_model": "120 %"}
    model, meter = (compare(alone(PRESENT, changes)).baseline for changes in (own, {**own, **ratio}))
    for of in (model, meter):
        np.testing.assert_allclose(of.operation.air_flow, 3.0 * 90.0 / 3600, rtol=1e-12)  # of 90 kg/h
    assert meter.carrier("electricity") == pytest.approx(1.2 * model.carrier("electricity"), rel=1e-12)


def test_compressed_air_is_not_on_the_meter_of_a_dryer():
    ratio = {f"options['{MEMBRANE}'].metered_over_model": "1.5"}
    model, meter = (compare(alone(MEMBRANE, changes)) for changes in ({}, ratio))
    electricity = sum(e for (_, carrier), e in model.baseline.energy.items() if carrier == "electricity")
    assert 0.0 < electricity < model.baseline.energy["compressed air", "compressed air"]
    assert dict(meter.baseline.energy) == pytest.approx(
        {**model.baseline.energy, ("metered beyond the model", "electricity"): 0.5 * electricity}
    )


def test_a_meter_below_the_model_takes_from_every_end_use():
    ratio = {f"options['{PRESENT}'].metered_over_model": "80 %"}
    model, meter = (compare(alone(PRESENT, changes)).baseline for changes in ({}, ratio))
    for (use, carrier), energy in model.energy.items():
        factor = 0.8 if carrier == "electricity" else 1.0
        assert meter.energy[use, carrier] == pytest.approx(factor * energy), (use, carrier)
    assert meter.energy.keys() == model.energy.keys()
    assert sum(meter.heat_in.values()) == pytest.approx(sum(meter.heat_out.values()))


def test_a_machine_of_its_own_without_an_answer_is_told_at_its_own_inputs():
    own = {"hopper": "Machine 8", "type": "desiccant-twin-tower", "inputs": {"air_resin_ratio": 0.2}}
    with pytest.raises(CaseError) as error:
        compare(plant(PRESENT, NEW, **{f"options['{NEW}'].machines": [own]}))
    (problem,) = error.value.problems
    assert problem.key == f"options['{NEW}'].machines[1].inputs.air_resin_ratio"
    assert problem.message.startswith("at Machine 8: ")


def test_capital_is_so_many_units_at_so_much_each():
    lines = [{"item": "Dryer", "amount": "20000 USD", "count": 3}, {"item": "Ducts", "amount": "5000 USD"}]
    assert compare(alone(NEW, {f"options['{NEW}'].capital": lines})).baseline.capital == 65000.0


def test_sweep_and_load_curve_of_a_plant_meet_its_comparison():
    of = compare(plant(PRESENT, NEW, WHEEL, **central(WHEEL)))
    whole = sweep(of, np.array([130.0 / 3600]))
    rate, years = 0.08, 10
    annuity = rate / (1 - (1 + rate) ** -years)
    for option in of.ranked():
        assert whole.cost[option.name][0] == pytest.approx(option.life_cycle_cost * annuity, rel=1e-9)
    curve = load_curve(of, np.array([0.4, 1.0]))
    for option in of.options:
        assert curve.energy[option.name][-1] == pytest.approx(option.specific_energy, rel=1e-9)
        assert curve.energy[option.name][0] > curve.energy[option.name][1]


def test_part_load_turns_fixed_against_variable_airflow_on_the_demo():
    demo = load_case("demo")
    cost = {}
    for load in (1.0, 0.4):
        levels = {
            f"hoppers['{h.name}'].levels": [
                {"throughput": f"{load * float(h.throughput) * 3600} kg/h", "share": "100 %"}
            ]
            for h in demo.model.hoppers
        }
        at = compare(demo.with_(levels))
        cost[load] = [at.option(n).life_cycle_cost for n in ("Twin towers, new", "Wheels, variable speed")]
    assert cost[1.0][0] < cost[1.0][1]
    assert cost[0.4][0] > 1.05 * cost[0.4][1]


def _place(path, value):
    return {f"options['{NEW}'].{path}": value}


PLACE = f"plant.toml: options['{NEW}']"


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        (_place("machines", [{"hopper": "Machine 9", "type": "hot-air"}]), f"{PLACE}.machines[1].hopper: there is no hopper 'Machine 9'"),
        (
            _place("machines", [{"hopper": "Machine 8", "type": "hot-air"}, {"hopper": "Machine 8", "type": "hot-air"}]),
            f"{PLACE}.machines[2].hopper: 'Machine 8' has a machine already",
        ),
        (_place("machines", [{"hopper": "Machine 8", "type": "hotair"}]), f"{PLACE}.machines[1].type: 'hotair' is not a dryer type"),
        (
            _place("machines", [{"hopper": "Machine 8", "type": "hot-air", "built_for": "20 kg/h"}]),
            f"{PLACE}.machines[1].built_for: 20 kg/h is less than the throughput of Machine 8, 40 kg/h",
        ),
        (_place("arrangement", "portable"), f"{PLACE}.units: is missing"),
        (_place("units", 2), f"{PLACE}.units: is for portable dryers only"),
        ({**_place("arrangement", "portable"), **_place("units", 1)}, f"{PLACE}.units: 1 dryers cannot serve hoppers that together run 200 %"),
        ({**_place("arrangement", "portable"), **_place("units", 9)}, f"{PLACE}.units: 9 dryers for 2 hoppers; at most one for each"),
        (central(NEW, spare="120 %"), f"{PLACE}.central.spare: 120 % is more than the system itself"),
        (_place("central", {"spare": "10 %"}), f"{PLACE}.central: is for a central system only"),
        (
            {f"options['{HOT}'].arrangement": "central"},
            f"plant.toml: options['{HOT}'].type: a central system is of a desiccant type: desiccant-twin-tower",
        ),
        (
            {**_place("arrangement", "portable"), **_place("units", 2), **_place("hopper_volume", "1 m3")},
            f"{PLACE}.hopper_volume: belongs to dryers at the machine; this option is portable",
        ),
        (
            _place("machines", [{"hopper": "Machine 8", "type": "vacuum", "hopper_volume": "1 m3"}]),
            f"{PLACE}.machines[1].hopper_volume: a dryer of the type vacuum does not dry in its hopper",
        ),
        (
            _place("metered_over_model", "1.1"),
            f"{PLACE}.metered_over_model: belongs to the present dryers",
        ),
        ({**central(NEW), **_place("built_for", "200 kg/h")}, f"{PLACE}.built_for: a central system is built for the sum"),
    ],
)  # fmt: skip
def test_what_does_not_fit_an_arrangement_is_named(changes, told):
    with pytest.raises(CaseError) as error:
        plant(PRESENT, NEW, HOT, **changes)
    assert any(line.startswith(told) for line in str(error.value).splitlines()), str(error.value)


@pytest.mark.parametrize(
    ("hopper", "told"),
    [
        ({**PA, "name": "Machine 7"}, "hoppers['Machine 7'].name: two hoppers have this name"),
        ({**PA, "running": "60 %"}, "hoppers['Machine 8'].campaigns: is missing"),
        ({**PA, "levels": [{"throughput": "20 kg/h", "share": "90 %"}]}, "hoppers['Machine 8'].levels: the shares add up to 90 %"),
        (
            {**PA, "levels": [{"throughput": "50 kg/h", "share": "100 %"}]},
            "hoppers['Machine 8'].levels[1].throughput: 50 kg/h is above the hopper's throughput of 40 kg/h",
        ),
        ({**PA, "resin": "PA67"}, "hoppers['Machine 8'].resin: resin 'PA67' is not known"),
        ({**PA, "drying_temperature": "20 degC"}, "hoppers['Machine 8'].drying_temperature: "),
    ],
)  # fmt: skip
def test_what_is_wrong_with_a_second_hopper_is_named_by_its_name(hopper, told):
    with pytest.raises(CaseError) as error:
        plant(PRESENT, NEW, hoppers=(PC, hopper))
    assert any(line.startswith(f"plant.toml: {told}") for line in str(error.value).splitlines()), str(error.value)


def test_air_that_cannot_heat_one_hopper_is_told_with_its_name():
    with pytest.raises(
        CaseError, match=r"options\['New twin tower'\].inputs.air_resin_ratio: at Machine 7: an air flow"
    ):
        compare(plant(PRESENT, NEW, **_place("inputs", {"air_resin_ratio": 1.2})))


def test_a_short_key_is_refused_where_it_could_mean_several_hoppers():
    of = plant(PRESENT, NEW)
    told = r"several hoppers; write the path and a table, as in with_\(\{\"hoppers\['Machine 7'\].throughput\": ...\}\)"
    with pytest.raises(UnknownNameError, match=told):
        of.with_(throughput="50 kg/h")
    assert of.with_({"hoppers['Machine 8'].throughput": "50 kg/h"}).model.hoppers[1].throughput * 3600 == pytest.approx(
        50
    )
    assert changed(of.document, {f"{HOPPER}.resin": "ABS"})["hoppers"][0]["resin"] == "ABS"


def test_the_one_machine_example_is_a_plant_of_one_hopper():
    assert len(case().model.hoppers) == 1
    assert compare(case(PRESENT, NEW)).option(NEW).served[0].hopper.name == "Machine 7"


def test_what_is_kept_from_one_comparison_changes_nothing_in_the_next():
    """Prices, throughput, levels and units one after the other, as on the page, and each alone in a process of its own."""
    import subprocess
    import sys

    changes = [
        {"tariffs.electricity": "0.2 USD/kWh"},
        {f"{HOPPER}.throughput": "80 kg/h"},
        {f"{HOPPER}.target_moisture": "0.01 %"},
        {"site.hall_dew_point": "15 degC"},
        {"calendar.production_hours": "5000 h"},
        {"case.units": "us"},
    ]
    kept = [compare(case(PRESENT, NEW, HOT, changes=c)) for c in changes]
    told = [repr([(o.total_cost, o.verdict.reasons(), o.peak) for o in c.options]) for c in kept]
    code = (
        "import sys; sys.path.insert(0, 'tests')\n"
        "from cases import HOPPER, HOT, NEW, PRESENT, case\n"
        "from energy.study.compare import compare\n"
        "c = compare(case(PRESENT, NEW, HOT, changes={!r}))\n"
        "print(repr([(o.total_cost, o.verdict.reasons(), o.peak) for o in c.options]))"
    )
    for change, expected in zip(changes, told, strict=True):
        alone_ = subprocess.run(
            [sys.executable, "-X", "utf8", "-c", code.format(change)],
            capture_output=True,
            text=True,
            encoding="utf-8",
            check=True,
        )
        assert alone_.stdout.strip() == expected


@pytest.mark.parametrize(
    "change",
    [
        {"site.altitude": "900 m"},
        {"cooling.medium": "chilled water"},
        {"calendar.production_hours": "4000 h"},
        {f"{HOPPER}.running": "70 %", f"{HOPPER}.campaigns": 20},
        {f"options['{NEW}'].inputs.desiccant_pressure": "7 kPa"},
    ],
    ids=str,
)
def test_a_run_is_kept_for_nothing_but_its_own_circumstances(change, monkeypatch):
    cooling = {"cooling": {}, "tariffs.cooling": None, "tariffs.water": "3 USD/m3"}
    first = case(PRESENT, NEW, MEMBRANE, changes=cooling)
    before = compare(first)
    kept = compare(first.with_(change))
    monkeypatch.setattr(run, "_RUNS", Latest(1))
    monkeypatch.setattr(run, "_JUDGED", Latest(1))
    anew = compare(first.with_(change))
    assert [run_of(o) for o in kept.options] == [run_of(o) for o in anew.options]
    assert [run_of(o) for o in kept.options] != [run_of(o) for o in before.options]


def run_of(option):
    findings = [finding.text for finding in option.verdict.findings]
    return option.energy, option.heat_out, option.peak, option.sizing, option.year.water.tolist(), findings


def test_changed_money_keeps_the_run():
    money = {
        "capital": "77777 USD",
        "maintenance": "5 USD/year",
        "incentive": "7 USD",
        "life": 9,
        "replacements": [{"item": "Overhaul", "every": 4, "amount": "900 USD"}],
    }
    first = compare(case(PRESENT, NEW))
    later = compare(case(PRESENT, NEW, changes={f"options['{NEW}'].{key}": value for key, value in money.items()}))
    assert later.option(NEW).served is first.option(NEW).served
    assert later.option(NEW).life_cycle_cost != first.option(NEW).life_cycle_cost
