"""A wall that was read gives the present dryer its jacket: what a new one is worth is then the same here and in the comparison."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from cases import PRESENT, case
from dryer_read import HOPPER

from energy.reports.not_taken_over import not_taken_over
from energy.study.at_work import operate
from energy.study.case import Case, build
from energy.study.compare import compare
from energy.study.readings import Readings
from energy.units import SI, show
from energy.walkthrough.balance import balance
from energy.walkthrough.baseline import as_baseline, overrides
from energy.walkthrough.found import find
from energy.walkthrough.walk import walk
from energy.walkthrough.walls import wall_not_counted

JACKET = "Hopper with a thin jacket"


def shop(thickness: str, kind: str = "hot-air", **inputs: object) -> Case:
    place = f"options['{PRESENT}']"
    given = {"insulation_thickness": thickness, "air_resin_ratio": 5.0, "airflow_control": "fixed", **inputs}
    given = {name: value for name, value in given.items() if value is not None}
    return case(PRESENT, changes={f"{place}.type": kind, f"{place}.inputs": given, f"{place}.built_for": None})


def written(at: Case, thickness: float, **other: object) -> dict[str, object]:
    """What is read at the case's dryer if its jacket is that thick in truth. [m]"""
    found = find(at, Readings(hopper=HOPPER))
    own = found.machine.inputs.model_copy(update={"insulation_thickness": thickness})
    op = operate(replace(found.machine, inputs=own), (found.duty,))
    taken = {
        "process_temperature": found.duty.drying_temperature,
        "return_temperature": op.hopper.return_temperature,
        "hall_temperature": found.duty.hall_temperature,
        "shell_temperature": op.shell_temperature,
    }
    shown = {name: show(float(np.ravel(v)[0]), "temperature", "degC", digits=12) for name, v in taken.items()}
    return {"hopper": HOPPER, **{name: text.replace("°", "deg") for name, text in shown.items()}, **other}


def with_jacket(at: Case, thickness: str) -> Case:
    """The case with a retrofit of its present dryer that has another jacket."""
    present, *others = at.document["options"]
    own = {"name": "Jacket", "type": present["type"], "retrofit": True, "capital": "0 USD"}
    own["inputs"] = {"insulation_thickness": thickness}
    return build({**at.document, "options": [present, *others, own]}, file="case.toml")


@pytest.mark.parametrize("kind", ["hot-air", "desiccant-twin-tower"])
@pytest.mark.parametrize("of_case", ["0 mm", "50 mm"])
@pytest.mark.common_practice("agreement with the comparison of the same retrofit")
def test_the_jacket_that_fits_the_wall_becomes_the_present_dryer_s(kind, of_case):
    at = shop(of_case, kind)
    read = Readings(**written(at, 0.004))
    made = walk(at, read)
    taken = as_baseline(at, made.balance)
    assert float(taken.model.options[0].inputs.insulation_thickness) == pytest.approx(0.004, rel=0.02)
    stored = taken.document["options"][0]["inputs"]["insulation_thickness"]
    assert stored["basis"] == "measured"
    assert stored["note"].startswith("fits the wall of ")
    low, high = (float(stored[end].removesuffix(" mm")) for end in ("low", "high"))
    assert low < 4.0 < high
    promised = next(cause.money for cause in made.causes if cause.name == JACKET)
    again = next(cause.money for cause in walk(taken, read).causes if cause.name == JACKET)
    counted = compare(with_jacket(taken, "50 mm"))
    saved = counted.baseline.total_cost - counted.options[-1].total_cost
    assert promised == pytest.approx(again, rel=1e-3)
    assert promised == pytest.approx(saved, rel=0.02)  # the day's hall is the mean of the year's


def test_a_wall_nearly_as_cold_as_the_hall_tells_no_thickness_and_that_it_is_not_counted():
    """An instrument 4 K off and a model 5 K off may make 50 mm of any jacket from some 20 mm on."""
    at = shop("0 mm")
    read = written(at, 0.05)
    assert overrides(balance(at, Readings(**read))) == {}
    [told] = not_taken_over(build({**at.document, "readings": [read]}, file="case.toml"), "si")
    counted = show(float(find(at, Readings(hopper=HOPPER)).duty.drying_temperature[0]), "temperature", "si")
    # A bare wall is as hot as the air inside.
    assert f"outside of the hopper's wall ({_short(read['shell_temperature'])} read, {counted} counted)" in told
    [why] = wall_not_counted(balance(at, Readings(**read)).found, "si")
    assert f"The comparison goes on with the bare wall of the case, which would be {counted}" in why
    near = build({**shop("40 mm").document, "readings": [read]}, file="case.toml")
    assert "wall (" not in " ".join(not_taken_over(near, "si"))


def _short(text: object) -> str:
    return f"{float(str(text).split()[0]):.3g} °C"


@pytest.mark.parametrize(
    "inputs", [{"air_resin_ratio": None}, {"air_resin_ratio": 5.0, "airflow_control": "variable speed"}]
)
def test_a_wall_is_not_taken_over_where_another_jacket_would_change_the_blower(inputs):
    at = shop("50 mm", **inputs)
    read = written(at, 0.004)
    assert "insulation_thickness" not in overrides(balance(at, Readings(**read)))
    [told] = not_taken_over(build({**at.document, "readings": [read]}, file="case.toml"), "si")
    assert "outside of the hopper's wall (" in told


def test_with_the_air_read_it_is_taken_over_whatever_the_case_says_of_the_air():
    at = shop("50 mm", air_resin_ratio=None)
    read = written(at, 0.004, air_velocity="9 m/s", duct_diameter="100 mm")
    made = balance(at, Readings(**read))
    assert {"air_resin_ratio", "insulation_thickness"} <= {*overrides(made)}
    assert walk(at, Readings(**read)).year.cost == pytest.approx(
        walk(as_baseline(at, made), Readings(**read)).year.cost, rel=2e-3
    )


def test_a_wall_colder_than_the_hall_gives_no_jacket():
    at = shop("0 mm")
    read = {**written(at, 0.004), "shell_temperature": SI(280.0)}
    assert find(at, Readings(**read)).jacket is None
