"""A dew point that was read at a present dryer: who may have one, what it decides, and what it leaves as it is."""

from __future__ import annotations

import numpy as np
import pytest
from cases import AIR, HOT, MEMBRANE, NEW, PA, PC, PRESENT, WHEEL, alone, case, plant

from energy.errors import CaseError
from energy.study.at_work import loaded, operate
from energy.study.compare import compare
from energy.study.duty import duties_of
from energy.study.machines import machines_of
from energy.study.paths import written
from energy.study.spread import uncertain_inputs
from energy.study.uncertainty import outcomes

ICE_POINT = 273.15
PLACE = f"options['{PRESENT}']"
KEY = f"{PLACE}.delivered_dew_point"


def read_at(dew_point, *options, **changes):
    return compare(case(PRESENT, *options, changes={KEY: dew_point, **changes}))


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({f"options['{NEW}'].delivered_dew_point": "-5 degC"}, f"options['{NEW}'].delivered_dew_point: belongs to the present dryers"),
        (
            {f"options['{NEW}'].machines": [{"hopper": "Machine 8", "type": "desiccant-wheel", "delivered_dew_point": "-5 degC"}]},
            f"options['{NEW}'].machines[1].delivered_dew_point: belongs to the present dryers: nobody has read one not yet bought",
        ),
        (
            {f"{PLACE}.machines": [{"hopper": "Machine 8", "type": "hot-air", "delivered_dew_point": "5 degC"}]},
            f"{PLACE}.machines[1].delivered_dew_point: a dryer of the type hot-air takes the air of the hall as it is",
        ),
        (
            {f"{PLACE}.machines": [{"hopper": "Machine 8", "type": "vacuum", "delivered_dew_point": "5 degC"}]},
            f"{PLACE}.machines[1].delivered_dew_point: a dryer of the type vacuum does not dry with dry air",
        ),
        (
            {f"{PLACE}.machines": [{"hopper": "Machine 8", "type": "infrared-drum", "delivered_dew_point": "5 degC"}]},
            f"{PLACE}.machines[1].delivered_dew_point: a dryer of the type infrared-drum does not dry with dry air",
        ),
        ({KEY: "26 degC"}, f"{KEY}: '26 degC' is not allowed"),
        ({KEY: "-101 degC"}, f"{KEY}: '-101 degC' is not allowed"),
        ({KEY: "-5 K"}, f"{KEY}: "),
        ({KEY: "-5"}, f"{KEY}: Dew point of the air into the hopper: '-5'"),
        ({KEY: {"value": "-5 degC", "low": "-2 degC", "high": "0 degC"}}, KEY),
    ],
)  # fmt: skip
def test_a_dew_point_belongs_to_a_present_dryer_whose_air_is_made_dry(changes, told):
    with pytest.raises(CaseError) as error:
        plant(PRESENT, NEW, HOT, **changes)
    assert any(line.startswith(f"plant.toml: {told}") for line in str(error.value).splitlines()), str(error.value)


@pytest.mark.parametrize("name", [PRESENT, WHEEL, AIR, MEMBRANE])
def test_every_type_whose_air_is_made_dry_may_have_one(name):
    found = compare(alone(name, {f"options['{name}'].delivered_dew_point": "-12 degC"})).baseline
    np.testing.assert_allclose(found.operation.delivered_dew_point, ICE_POINT - 12.0, rtol=1e-12)
    [told] = [f for f in found.verdict.findings if f.check == "dew point"]
    assert (told.value, told.verdict) == (pytest.approx(-12.0), "fail")


@pytest.mark.published(
    "Henry's law with ASHRAE Fundamentals 2017, ch. 1, eqs 5 and 6",
    where="polycarbonate at 120 degC, tests/published/diffusion.toml; slope of Golovoy and Zinbo 1989",
    quoted="computed with both equations",
)
@pytest.mark.parametrize(("celsius", "ppm"), [(-40, 0.4), (-20, 3.1), (-10, 7.8), (0, 18), (10, 37), (20, 70)])
def test_polycarbonate_dries_to_what_the_air_that_was_read_allows(celsius, ppm):
    # The table has two digits, and one at -40 degC.
    moisture = read_at(f"{celsius} degC").baseline.verdict.moisture
    assert 1e6 * moisture.floor == pytest.approx(ppm, rel=0.03 if ppm > 1 else 0.15)
    assert moisture.floor <= moisture.predicted


def test_it_dries_as_a_dryer_that_the_model_gives_the_same_air():
    # A dryer modelled to deliver damper air, and one of the usual inputs at which that dew point was read.
    modelled = compare(case(PRESENT, changes={f"{PLACE}.inputs.dew_point_approach": "40 K"})).baseline
    dew_point = float(np.max(modelled.operation.delivered_dew_point))
    read = read_at(f"{dew_point} K").baseline
    usual = compare(case(PRESENT)).baseline
    assert usual.verdict.moisture.predicted < 0.7 * modelled.verdict.moisture.predicted
    assert read.verdict.moisture.floor == pytest.approx(modelled.verdict.moisture.floor, rel=1e-9)
    for part in ("predicted", "low", "high"):
        # Some parts in a thousand: damper air warms the pellets a trifle faster.
        one, other = (getattr(of.verdict.moisture, part) for of in (read, modelled))
        assert one == pytest.approx(other, rel=3e-3), part


def test_damper_air_leaves_more_moisture_and_no_other_dryer_changes():
    plain = compare(case(PRESENT, NEW))
    left, grades = [], []
    for dew_point in ("-60 degC", "-40 degC", "-22 degC", "-5 degC", "15 degC"):
        found = read_at(dew_point, NEW)
        left.append(found.baseline.verdict.moisture.predicted)
        grades.append(found.baseline.verdict.grade_of("dew point"))
        assert found.option(NEW).verdict == plain.option(NEW).verdict
    assert left == sorted(set(left))
    # Polycarbonate's sheet asks for -40 degC and accepts -20 degC.
    assert grades == ["pass", "pass", "caution", "fail", "fail"]


def test_it_changes_no_energy_and_no_money():
    plain, read = compare(case(PRESENT, NEW)), read_at("-5 degC", NEW)
    assert read.baseline.energy == plain.baseline.energy
    assert read.baseline.heat_out == plain.baseline.heat_out
    assert (read.baseline.peak, read.baseline.total_cost) == (plain.baseline.peak, plain.baseline.total_cost)
    assert read.option(NEW).measures.npv == plain.option(NEW).measures.npv
    metered = {f"{PLACE}.metered_over_model": "120 %"}
    both = read_at("-5 degC", NEW, **metered)
    assert both.baseline.energy == compare(case(PRESENT, NEW, changes=metered)).baseline.energy
    assert both.baseline.verdict == read.baseline.verdict


def test_every_state_of_production_has_it():
    levels = [{"throughput": "90 kg/h", "share": "50 %"}, {"throughput": "40 kg/h", "share": "50 %"}]
    of = plant(PRESENT, hoppers=({**PC, "levels": levels},), **{KEY: "-8 degC"})
    duties = duties_of(of)
    (machine,) = machines_of(of, of.model.options[0], duties)
    operation = operate(machine, loaded(machine.duties, np.array([[1.0], [0.4], [0.0]])))
    assert np.ndim(operation.air_flow) == 2
    np.testing.assert_allclose(operation.delivered_dew_point, ICE_POINT - 8.0)


def test_a_machine_of_its_own_has_its_own_and_a_central_system_one_for_all():
    own = {"hopper": "Machine 8", "type": "desiccant-twin-tower", "delivered_dew_point": "-3 degC"}

    def delivered(**changes):
        served = compare(plant(PRESENT, **changes)).baseline.served
        return [float(np.max(one.operation.delivered_dew_point)) - ICE_POINT for one in served]

    plain = delivered()
    assert delivered(**{f"{PLACE}.machines": [own]}) == pytest.approx([plain[0], -3.0])
    # What is said of the option is not said of a dryer that differs.
    without = {k: v for k, v in own.items() if k != "delivered_dew_point"}
    both = delivered(**{KEY: "-7 degC", f"{PLACE}.machines": [without]})
    assert both[0] == pytest.approx(-7.0)
    assert both[1] == pytest.approx(delivered(**{f"{PLACE}.machines": [without]})[1])
    assert delivered(**{KEY: "-7 degC", f"{PLACE}.arrangement": "central"}) == pytest.approx([-7.0, -7.0])
    portable = {f"{PLACE}.arrangement": "portable", f"{PLACE}.units": 2}
    assert delivered(**{KEY: "-7 degC", **portable}) == pytest.approx([-7.0, -7.0])


def test_the_verdict_says_what_was_read_and_what_was_expected():
    (told,) = (f.text for f in read_at("-5 degC").baseline.verdict.findings if f.check == "dew point")
    expected = float(np.max(compare(case(PRESENT)).baseline.operation.delivered_dew_point)) - ICE_POINT
    assert f"dew point of -5 °C, as read, where {expected:.3g} °C is expected; practice asks for -40 °C" in told
    assert "Spent desiccant" in told
    (told,) = (f.text for f in read_at("-60 degC").baseline.verdict.findings if f.check == "dew point")
    assert "Spent desiccant" not in told
    (told,) = (f.text for f in compare(case(PRESENT)).baseline.verdict.findings if f.check == "dew point")
    assert "as read" not in told


def test_its_range_is_drawn():
    # Measured: normal, 95 of 100 between low and high. Polycarbonate's sheet accepts -20 degC; a meter does not tell 0.5 K.
    value = {"value": "-20 degC", "low": "-22 degC", "high": "-18 degC", "basis": "measured"}
    of = case(PRESENT, NEW, changes={KEY: value})
    assert written(of.document, KEY) == value
    inputs = [entry for entry in uncertain_inputs(of)[0] if entry.name == KEY]
    points = np.array([[0.05], [0.5], [0.65], [0.73], [0.95]])
    drawn = -20.0 + np.array([-1.6449, 0.0, 0.3853, 0.6128, 1.6449]) * 2.0 / 1.96
    found = outcomes(of, inputs, points)
    assert found.dries[PRESENT].tolist() == [bool(dew_point <= -19.5) for dew_point in drawn]
    assert found.dries[PRESENT].tolist() == [True, True, True, False, False]
    np.testing.assert_allclose(found.saving[NEW], found.saving[NEW][0], rtol=1e-12)
    of_two = plant(PRESENT, NEW, hoppers=(PC, PA), **{f"{PLACE}.machines": [
        {"hopper": "Machine 8", "type": "desiccant-twin-tower", "delivered_dew_point": value}
    ]})  # fmt: skip
    names = [entry.name for entry in uncertain_inputs(of_two)[0]]
    assert f"{PLACE}.machines[1].delivered_dew_point" in names
