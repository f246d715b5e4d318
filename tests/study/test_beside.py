"""Some hoppers with dryers of their own beside a central system or portable dryers for the others."""

from __future__ import annotations

import copy

import numpy as np
import pytest

from energy.errors import CaseError, EnergyError
from energy.study.case import build, example_text, read_document
from energy.study.compare import compare
from energy.study.simulate import simulate
from energy.walkthrough.balance import balance
from energy.walkthrough.baseline import readings_from

PRESENT, CENTRAL, PORTABLE = "Present dryers", "Central wheel, variable speed", "Portable wheels"
OWN = {"hopper": "Machine 4", "type": "desiccant-wheel", "inputs": {"airflow_control": "variable speed"}}


def plant(hoppers, *names, **changes):
    """The demo with some of its hoppers and options, without the plant's load; `changes` of options by name."""
    whole = copy.deepcopy(dict(read_document(example_text("demo"), "demo")))
    whole["hoppers"] = [row for row in whole["hoppers"] if row["name"] in hoppers]
    options = [row for row in whole["options"] if row["name"] in (PRESENT, *names)]
    for row in options:
        listed = [m for m in row.get("machines", []) if m["hopper"] in hoppers]
        row.pop("machines", None)
        row |= {"machines": listed} if listed else {}
        row |= changes.get(row["name"], {})
        for key in [key for key, value in row.items() if value is None]:
            del row[key]
    gone = ("readings", "scenarios", "request", "plant_load")
    return build({**{k: v for k, v in whole.items() if k not in gone}, "options": options}, file="plant.toml")


ALL = [f"Machine {i}" for i in (1, 2, 3, 4)]


@pytest.mark.parametrize(("name", "more"), [(CENTRAL, {}), (PORTABLE, {"units": 3})])
def test_it_is_what_serves_the_others_and_the_dryer_beside_it(name, more):
    both = compare(plant(ALL, name, **{name: {"machines": [OWN], **more}})).option(name)
    shared = compare(plant(ALL[:3], name, **{name: more})).option(name)
    alone = {"arrangement": "at the machine", "central": None, "units": None, "machines": [OWN]}
    beside = compare(plant(ALL[3:], name, **{name: alone})).option(name)
    keys = {*shared.energy, *beside.energy}
    for key in keys:
        expected = shared.energy.get(key, 0.0) + beside.energy.get(key, 0.0)
        assert both.energy[key] == pytest.approx(expected, rel=1e-9)
    for size in ("hopper_volume", "blower", "process_heater", "desiccant"):
        assert both.sizing[size] == pytest.approx(shared.sizing[size] + beside.sizing[size], rel=1e-9)
    assert both.peak == pytest.approx(shared.peak + beside.peak, rel=1e-9)  # taken together
    assert [one.hopper.name for one in both.served] == ALL
    assert both.served[3].verdict.moisture == beside.served[0].verdict.moisture
    assert sum(both.heat_in.values()) == pytest.approx(sum(both.heat_out.values()), rel=1e-9)


def test_draws_of_it_are_the_comparison_of_the_changed_case():
    case = plant(ALL, CENTRAL, **{CENTRAL: {"machines": [OWN]}})
    found = simulate(case, 32, 3)
    assert np.isfinite(found.outcomes.saving[CENTRAL]).sum() > 24
    middle = found.comparison.option(CENTRAL).total_cost
    saving = found.comparison.baseline.total_cost - middle
    assert np.nanmin(found.outcomes.saving[CENTRAL]) < saving < np.nanmax(found.outcomes.saving[CENTRAL])


def test_nothing_is_left_for_a_system_without_a_hopper():
    own = [{**OWN, "hopper": name} for name in ALL]
    with pytest.raises(
        CaseError, match="every hopper has a dryer of its own under machines, so nothing is left for central"
    ):
        plant(ALL, CENTRAL, **{CENTRAL: {"machines": own}})
    with pytest.raises(CaseError, match="4 dryers for 3 hoppers"):
        plant(ALL, PORTABLE, **{PORTABLE: {"machines": [OWN], "units": 4}})


def test_a_walkthrough_reads_the_dryer_beside_a_central_system():
    case = plant(ALL, CENTRAL, **{PRESENT: {"baseline": False}, CENTRAL: {"baseline": True, "machines": [OWN]}})
    read = {"throughput": "110 kg/h", "power": "9 kW"}
    found = balance(case, readings_from({"hopper": "Machine 4", **read}))
    assert found.found.machine.ducts is None
    with pytest.raises(EnergyError, match="is a central system; a walkthrough takes one dryer"):
        balance(case, readings_from({"hopper": "Machine 1", **read}))
