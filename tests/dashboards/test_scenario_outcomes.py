"""A scenario on the page: present dryers keep their size there, and what is to be known of them stands beside it."""

from cases import HOPPER, PRESENT, WHEEL, case

from dashboards import tables
from dashboards.scenarios import outcome
from energy.study.compare import compare
from energy.study.machine_sizes import sizes_of
from energy.study.schema import Scenario

AT = f"options['{PRESENT}']"


def shop(**changes):
    return case(PRESENT, WHEEL, changes={f"{AT}.built_for": None, **changes})


def test_more_than_a_present_dryer_was_built_for_is_told_beside_the_scenario():
    of = shop()
    found = outcome(of, Scenario(name="boom", changes={f"{HOPPER}.throughput": "200 kg/h"}))
    (size,) = sizes_of(found.comparison.case, found.comparison.baseline.option)
    assert round(size.built_for * 3600, 6) == 90
    assert found.note.startswith("Not passed there by the present twin tower, whatever is saved:")
    assert found.note.endswith("More is asked there than the present dryers were built for.")
    assert found.note in tables.scenarios(compare(of), [found])
    calm = outcome(of, Scenario(name="calm", changes={f"{HOPPER}.throughput": "60 kg/h"}))
    assert calm.note == ""


def test_a_present_dryer_without_an_answer_is_told_in_place_of_the_figures():
    of = shop(**{f"{AT}.type": "vacuum", f"{AT}.inputs": {}})
    found = outcome(of, Scenario(name="boom", changes={f"{HOPPER}.throughput": "400 kg/h"}))
    assert found.comparison is None
    assert found.problem
