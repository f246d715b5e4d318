"""A present dryer of which far more is asked than it was built for: it runs with the air it has, and its verdict says so."""

import re

import numpy as np
import pytest
from cases import AIR, HOT, NEW, PRESENT, WHEEL, alone, case, resin

from energy.errors import CaseError
from energy.reports.answer import sentences
from energy.reports.doubts import not_the_same_job
from energy.study.compare import compare
from energy.study.simulate import simulate
from energy.units import parse

SMALL = f"options['{PRESENT}'].built_for"
FLOW = "hoppers[1].throughput"


def asked(kind, flow, built="50 kg/h", of=None, **inputs):
    """A present dryer of that type by itself, built for less than is asked."""
    place = f"options['{PRESENT}']"
    changes = {f"{place}.type": kind, f"{place}.inputs": inputs or None, SMALL: built, FLOW: flow, **(of or {})}
    return compare(case(PRESENT, changes=changes)).baseline


def found(of, check):
    return next(f for f in of.verdict.findings if f.check == check)


@pytest.mark.parametrize("kind", ["desiccant-twin-tower", "hot-air", "compressed-air-membrane"])
def test_too_small_a_present_dryer_runs_cold_and_its_balance_closes(kind):
    outs = []
    for flow in ("80 kg/h", "120 kg/h", "200 kg/h"):
        of = asked(kind, flow)
        assert (
            of.verdict.overall == of.verdict.grade_of("air flow") == of.verdict.grade_of("drying temperature") == "fail"
        )
        given, spent = sum(of.heat_in.values()), sum(of.heat_out.values())
        assert given == pytest.approx(spent, rel=1e-9)
        outs.append(float(of.operation.hopper.resin_outlet_temperature.min()))
    assert outs == sorted(outs, reverse=True)


def test_its_pellets_take_what_the_air_can_give():
    # 2.2 kg/kg at 50 kg/h are 110 kg/h of air from 24 to 120 degC, 1.007 kJ/(kg K) and 1.86 for its 8.8 g/kg of vapour (dew
    # point 12 degC): 2.99 kW, which is what the heater gives it. 150 kg/h of PC, 1.4 kJ/(kg K), take that over 51 K at most.
    of = asked("hot-air", "150 kg/h", air_resin_ratio=2.2)
    state, duty = of.operation.hopper, of.served[0].duty
    air = 110.0 / 3600.0 * (1007.0 + 0.0088 * 1860.0)
    offered, taken = air * 96.0, 150.0 / 3600.0 * duty.resin.specific_heat
    assert offered == pytest.approx(2990.0, rel=0.01)
    assert state.capacity_ratio.max() < offered / (taken * 96.0)
    rise = state.resin_outlet_temperature - 297.15
    # What is left to the pellets after 1.8 g/kg of water of 2.5 MJ/kg and some hundred watts of the shell.
    assert np.all(rise < offered / taken)
    assert np.all(rise > (offered - 150.0 / 3600.0 * 0.0018 * 2.6e6 - 400.0) / taken * 0.95)
    # The air leaves with next to nothing: 95 % and more of its heat stays in the hopper.
    assert np.all(state.return_temperature < 297.15 + 0.05 * 96.0)
    heat = of.operation.heat_in["process heater"] + of.operation.heat_in["process blower"]
    assert np.all(heat > offered)


def test_the_rest_of_the_comparison_goes_on_as_if_it_were_big_enough():
    small, big = (
        compare(case(PRESENT, NEW, WHEEL, AIR, changes={FLOW: "150 kg/h", SMALL: built}))
        for built in ("50 kg/h", "160 kg/h")
    )
    assert [o.name for o in small.options] == [PRESENT, NEW, WHEEL, AIR]
    for one, other in zip(small.options[1:], big.options[1:], strict=True):
        assert one.specific_energy == pytest.approx(other.specific_energy, rel=1e-12)
        assert one.verdict.word == other.verdict.word
    assert not_the_same_job(big) == []
    (told,) = not_the_same_job(small)
    assert told in sentences(small)
    assert small.baseline.specific_energy < big.baseline.specific_energy
    assert PRESENT not in [o.name for o in small.ranked()]


@pytest.mark.parametrize("flow", ["80 kg/h", "120 kg/h", "200 kg/h"])
def test_the_verdict_names_the_throughput_that_would_do(flow):
    of = asked("desiccant-twin-tower", flow)
    text = found(of, "air flow").text
    most = parse(re.search(r"through: ([\d.]+ kg/h) at most could", text)[1], "mass flow") * 3600.0
    there, more = (asked("desiccant-twin-tower", f"{share * most} kg/h") for share in (1.0, 1.15))
    for check in ("air flow", "drying temperature"):
        assert found(there, check).verdict == "pass"
    assert {found(more, check).verdict for check in ("air flow", "drying temperature")} != {"pass"}


@pytest.mark.parametrize(
    ("kind", "name", "flow", "said"),
    [
        (
            "hot-air",
            "PSU",
            "1600 kg/h",
            r"1,600 kg/h \(3,530 lb/h\) of PSU are far more than the air of the present machine can heat",
        ),
        ("vacuum", "PC", "120 kg/h", r"an air flow of 0.917 kg per kg of resin cannot bring PC to 120 °C \(248 °F\)"),
    ],
)
def test_where_the_model_has_no_answer_the_error_names_the_throughput_that_has_one(kind, name, flow, said):
    of = resin(name)  # nothing is known of how fast water leaves PSU: all of it is taken to
    with pytest.raises(CaseError, match=said) as error:
        asked(kind, flow, of=of)
    most = parse(re.search(r"about ([\d.]+ kg/h) .* at most could be brought", str(error.value))[1], "mass flow") * 3600
    assert asked(kind, f"{0.99 * most} kg/h", of=of).operation.hopper.capacity_ratio.min() > 1.0


def test_an_airflow_of_a_present_dryer_that_cannot_heat_is_no_reason_to_stop():
    little = {f"options['{HOT}'].inputs.air_resin_ratio": 0.8}
    assert compare(alone(HOT, little)).baseline.verdict.grade_of("air flow") == "fail"
    with pytest.raises(CaseError, match=r"an air flow of 0.8 kg per kg of resin cannot bring PC"):
        compare(case(PRESENT, HOT, changes=little))


def test_draws_of_it_are_counted_and_do_not_dry():
    run = simulate(case(PRESENT, NEW, changes={FLOW: "200 kg/h", SMALL: "50 kg/h"}), draws=512)
    assert (run.option(PRESENT).answered_share, run.option(PRESENT).dries_share) == (1.0, 0.0)
    assert run.option(NEW).answered_share == 1.0
