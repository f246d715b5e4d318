"""A jacket saves what the comparison says after the same change, and a wall is called bare only where it is about as hot as one."""

from __future__ import annotations

import numpy as np
import pytest
from cases import PRESENT, case
from dryer_read import AIR, HOPPER, there
from two_shifts import SHIFTS, bought

from energy.reports.walkthrough import gap_row
from energy.study.case import Case
from energy.study.readings import Readings
from energy.units import SI
from energy.walkthrough.found import find
from energy.walkthrough.walk import walk


def shop(thickness: str, kind: str = "desiccant-twin-tower", **inputs: object) -> Case:
    """One machine in two shifts, warm at night and cold at the weekend, with 30 % more air than its resin asks for."""
    place = f"options['{PRESENT}']"
    given = {"insulation_thickness": thickness, "air_resin_ratio": 3.0, "airflow_control": "fixed", **inputs}
    return case(
        PRESENT, changes={f"{place}.type": kind, f"{place}.inputs": given, f"{place}.built_for": None, **SHIFTS}
    )


def read(at: Case, **other: object) -> Readings:
    """What is read at the dryer of the case, of any type: throughput, temperatures, airflow and wall."""
    found = find(at, Readings(hopper=HOPPER))
    duty, op = found.duty, found.expected
    taken = {
        "throughput": duty.throughput,
        "process_temperature": duty.drying_temperature,
        "return_temperature": op.hopper.return_temperature,
        "hall_temperature": duty.hall_temperature,
        "air_flow": op.air_flow,
        "shell_temperature": op.shell_temperature,
    }
    return Readings(hopper=HOPPER, **{**{name: SI(float(np.ravel(v)[0])) for name, v in taken.items()}, **other})


def finding(made, name):
    return next(cause for cause in made.causes if cause.name == name)


@pytest.mark.parametrize(
    ("kind", "thickness", "usual"),
    [
        ("desiccant-twin-tower", "4 mm", "50 mm"),
        ("desiccant-twin-tower", "12 mm", "50 mm"),
        ("hot-air", "4 mm", "50 mm"),
        ("desiccant-wheel", "4 mm", "50 mm"),
    ],
)
@pytest.mark.common_practice("agreement with the comparison of the same two cases")
def test_a_jacket_is_worth_what_the_comparison_says_of_it(kind, thickness, usual):
    thin, good = (shop(t, kind) for t in (thickness, usual))
    cause = finding(walk(thin, read(thin)), "Hopper with a thin jacket")
    (energy, cost), (less, cheaper) = bought(thin), bought(good)
    assert cause.energy == pytest.approx(energy - less, rel=0.03)
    assert cause.money == pytest.approx(cost - cheaper, rel=0.03)


def test_a_wall_beside_a_cooler_of_the_return_air_is_not_all_given_back_by_the_heater():
    made = walk(shop("4 mm"), read(shop("4 mm")))
    cause = finding(made, "Hopper with a thin jacket")
    lost = next(term for term in made.balance.hopper if term.name == "shell").value
    assert 0.0 < cause.power < 0.4 * lost
    assert "and go on to the cooler of the return air" in cause.physics
    open_ = shop("4 mm", "hot-air")
    assert finding(walk(open_, read(open_)), "Hopper with a thin jacket").physics.startswith(
        "The wall warms the hall by convection and radiation day and night; the heater gives it back."
    )


@pytest.mark.parametrize(
    ("degrees", "name"),
    [(60.0, "Hopper with a thin jacket"), (75.0, "Hopper with a thin jacket"), (95.0, "Bare hopper")],
)
def test_a_wall_is_bare_where_it_is_nearly_as_hot_as_what_is_inside(degrees, name):
    # Air of 120 degC inside and a hall of 24 degC or so: three fifths of that difference are at 82 degC.
    for thickness in ("30 mm", "100 mm"):  # whatever the case says of the jacket
        at = shop(thickness)
        made = walk(at, read(at, shell_temperature=SI(273.15 + degrees)))
        assert [c.name for c in made.causes if "opper" in c.name] == [name]


def test_a_wall_as_the_case_s_thin_jacket_has_it_is_not_called_as_expected_beside_its_finding():
    at = shop("12 mm")
    made = walk(at, read(at))
    [gap] = [gap for gap in made.gaps if gap.name == "shell_temperature"]
    assert abs(gap.size) < 0.1
    assert gap_row(gap, "si")[3] == "hotter than with a good jacket"
    good = shop("50 mm")
    [gap] = [g for g in walk(good, read(good)).gaps if g.name == "shell_temperature"]
    assert gap_row(gap, "si")[3] == "as expected"


def test_heat_lost_at_the_hopper_is_worth_what_a_jacket_saves():
    at = shop("50 mm", air_resin_ratio=6.0)  # enough that the pellets are warm behind a bare wall
    bare, sound = there(at, {"insulation_thickness": 0.0}), there(at)
    cause = finding(walk(at, bare.read((*AIR, "power"))), "Heat lost at the hopper")
    saved = (bare.specific_energy - sound.specific_energy) * bare.values()["throughput"]
    assert bare.values()["air_flow"] == pytest.approx(sound.values()["air_flow"])
    assert cause.power == pytest.approx(saved, rel=0.1)
