"""Machines that run side by side answer as each does alone."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from itertools import cycle
from typing import get_args

import numpy as np
import pytest
from cases import HOT, MEMBRANE, NEW, PRESENT, case

import energy
from energy.dryers.way_through_hopper import tanks_of
from energy.errors import CaseError
from energy.study.compare import compare
from energy.study.duty import duties_of
from energy.study.machines import machines_of
from energy.study.machines_alike import run_years
from energy.study.predicted_moisture import Dried, moistures_of, remaining_moisture
from energy.study.run import circumstances, run_at_price, run_options
from energy.study.year import run_year, together


def numbers(given, path=""):
    """Every array of a record by its place."""
    if isinstance(given, np.ndarray | float):
        return {path: given}
    if isinstance(given, Mapping):
        parts = given.items()
    elif isinstance(given, tuple):
        parts = enumerate(given)
    elif dataclasses.is_dataclass(given):
        parts = ((f.name, getattr(given, f.name)) for f in dataclasses.fields(given))
    else:
        return {}
    return {place: number for key, part in parts for place, number in numbers(part, f"{path}.{key}").items()}


@pytest.mark.parametrize(
    ("name", "metered", "dew_points"),
    [
        ("demo", [1.0], [None]),
        ("one-machine", [1.0], [None]),
        ("one-machine", [1.1, 1.3, 0.9, 0.7, 1.0], [None]),
        ("demo", [1.0], [None, 250.0, 265.0]),
    ],
)
def test_side_by_side_is_as_alone(name, metered, dew_points):
    case_ = energy.load_case(name)
    duties = duties_of(case_)
    machines = [machine for option in case_.model.options for machine in machines_of(case_, option, duties)]
    machines = [
        dataclasses.replace(one, metered=ratio, delivered_dew_point=dew_point)
        for one, ratio, dew_point in zip(machines, cycle(metered), cycle(dew_points), strict=False)
    ]
    for machine, beside in zip(machines, run_years(machines, case_.calendar), strict=True):
        alone, found = numbers(run_year(machine, case_.calendar)), numbers(beside)
        assert found.keys() == alone.keys()
        for place, number in alone.items():
            np.testing.assert_allclose(found[place], number, rtol=1e-12, atol=1e-9, err_msg=place)


@pytest.mark.parametrize("name", [NEW, HOT, MEMBRANE])
def test_machines_that_differ_in_a_word_alone_answer_each_for_itself(name):
    case_ = case(name, changes={f"options['{name}'].baseline": True})
    (machine,) = machines_of(case_, case_.model.options[0], duties_of(case_))
    fields = type(machine.inputs).model_fields
    words = {key: get_args(fields[key].annotation) for key, value in machine.inputs if isinstance(value, str)}
    machines = [
        dataclasses.replace(machine, inputs=machine.inputs.model_copy(update={key: word}))
        for key, allowed in words.items()
        for word in allowed
        if key != "kind"
    ]
    years = [run_year(one, case_.calendar) for one in machines]
    taken = {tuple(float(power.sum()) for power in year.energy.values()) for year, _ in years}
    assert len(taken) > 1  # some of the words count
    for (alone, _), (beside, _) in zip(years, run_years(machines, case_.calendar), strict=True):
        assert beside.energy.keys() == alone.energy.keys()
        for key, taken_alone in alone.energy.items():
            np.testing.assert_allclose(beside.energy[key], taken_alone, rtol=1e-12, err_msg=str(key))


def test_moisture_of_all_hoppers_in_one_call_is_that_of_each():
    case_ = energy.load_case("demo")
    served = [one for option in compare(case_).options for one in option.served]
    hoppers = [
        Dried(duty=one.duty, operation=one.operation, inputs=one.machine.inputs, target=one.verdict.moisture.target)
        for one in served
    ]
    for one, beside in zip(hoppers, moistures_of(hoppers), strict=True):
        (alone,) = moistures_of([one])
        for number, other in zip(dataclasses.astuple(beside), dataclasses.astuple(alone), strict=True):
            assert number == (None if other is None else pytest.approx(other, rel=1e-12, abs=0.0))
        if beside.predicted is not None:  # months that another beats in all respects are left out
            resin, tanks = one.duty.resin, tanks_of(one.inputs.hopper_flow)
            every = remaining_moisture(one.duty, one.operation, resin.diffusivity, tanks)
            assert beside.predicted == pytest.approx(every.max(), rel=1e-12)


def test_all_peaks_at_once_are_those_of_as_many_machines_as_there_are():
    case_ = energy.load_case("demo")
    machines = machines_of(case_, case_.model.options[0], duties_of(case_))
    years = [run_year(machine, case_.calendar)[0] for machine in machines]
    every, counted = numbers(together(years)), numbers(together(years, len(years)))
    assert every.keys() == counted.keys()
    for place, number in every.items():
        np.testing.assert_array_equal(counted[place], number, err_msg=place)
    fewer = together(years, len(years) - 1).most(("electricity",))
    assert np.all(fewer < together(years).most(("electricity",)))


def test_compressed_air_at_another_price_dries_as_before():
    case_ = energy.load_case("demo").with_(
        {"site.altitude": "123 m"}
    )  # compared by no other test: side by side the last digits may differ
    (option,) = (one for one in case_.model.options if one.name == "Compressed air with membrane")
    cheap, dear = duties_of(case_), duties_of(case_, added_air=1.0)
    assert dear[0].compressed_air.marginal_power > 1.1 * cheap[0].compressed_air.marginal_power
    (before,) = run_options(case_, [option], cheap, circumstances(case_, cheap))
    (whole,) = run_options(case_, [option], dear, circumstances(case_, dear))
    found = run_at_price(case_, option, dear, ("another place to keep it",), before)
    assert found.verdict == whole.verdict == before.verdict
    assert [one.verdict for one in found.served] == [one.verdict for one in whole.served]
    assert found.energy == whole.energy != before.energy
    asked = numbers(whole)
    for place, number in numbers(found).items():
        np.testing.assert_array_equal(number, asked.pop(place), err_msg=place)
    assert not asked


def test_a_machine_without_an_answer_is_told_and_no_other():
    too_little = {f"options['{NEW}'].inputs.air_resin_ratio": 0.2}
    with pytest.raises(CaseError) as error:
        compare(case(PRESENT, NEW, HOT, MEMBRANE, changes=too_little))
    (problem,) = error.value.problems
    assert problem.key == f"options['{NEW}'].inputs.air_resin_ratio"
    assert "at least" in problem.message
