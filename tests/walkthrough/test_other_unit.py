"""A temperature in degF that was typed as degC, or the other way round, is questioned where the dryer cannot have it."""

from __future__ import annotations

import copy

import pytest
from cases import HOPPER as PLACE
from cases import PRESENT, case, resin

from energy.errors import CaseError
from energy.reports import walkthrough as report
from energy.study.case import Case, load_case
from energy.units import SI
from energy.walkthrough.balance import balance
from energy.walkthrough.baseline import as_baseline, readings_from, undoubted
from energy.walkthrough.walk import walk

READ = {
    "hopper": "Machine 7",
    "weighed_mass": "15 kg",
    "weighing_time": "10 min",
    "process_temperature": "119 degC",
    "return_temperature": "66 degC",
    "hall_temperature": "24 degC",
    "dew_point": "-38 degC",
    "air_velocity": "10.5 m/s",
    "duct_diameter": "110 mm",
    "velocity_in": "process duct",
    "shell_temperature": "34 degC",
    "regeneration_temperature": "235 degC",
    "regeneration_cycle": "4 h",
    "power": "7.5 kW",
}


def shop(**changes: object) -> Case:
    """90 kg/h of PC at 120 degC, which stands 135 degC at most, through the present twin towers."""
    return case(PRESENT, changes=changes)


def walked(at: Case | None = None, **read: object):
    taken = {name: value for name, value in {**READ, **read}.items() if value is not None}
    return walk(shop() if at is None else at, readings_from(taken))


def told(made) -> list[tuple[str, str]]:
    return [(doubt.reading, doubt.text) for doubt in made.doubts]


PBT = resin("PBT", drying_temperature="120 degC")
PROCESS, RETURN = "Check the process air into the hopper: ", "Check the return air out of the hopper: "
WALL, REGENERATION = "Check the outside of the hopper's wall: ", "Check the regeneration air into the bed: "


def test_nothing_is_doubted_before_a_unit_is_taken_for_another():
    assert told(walked()) == []


# 246 degF = 118.9 degC, 250 = 121.1, 155 = 68.3, 130 = 54.4, 75 = 23.9; 120 degC = 248 degF, 230 = 446, by (F - 32) / 1.8.
@pytest.mark.parametrize(
    ("changes", "read", "name", "text"),
    [
        (PBT, {"process_temperature": "246 degC"}, "process_temperature",
         f"{PROCESS}246 °C is above 140 °C, the most that PBT stands; 246 °F would be 119 °C: which is it?"),
        ({}, {"process_temperature": "250 degC"}, "process_temperature",
         f"{PROCESS}250 °C is above 135 °C, the most that PC stands; 250 °F would be 121 °C: which is it?"),
        # 200 degF are 93.3 degC, no slip of a set point of 120 degC; but PC is a lump at 200 degC.
        ({}, {"process_temperature": "200 degC"}, "process_temperature",
         f"{PROCESS}200 °C is above 135 °C, the most that PC stands."),
        ({}, {"process_temperature": None, "return_temperature": "155 degC"}, "return_temperature",
         f"{RETURN}155 °C is hotter than the air into the hopper (120 °C); 155 °F would be 68.3 °C: which is it?"),
        ({}, {"return_temperature": "68 degF"}, "return_temperature",
         f"{RETURN}68 °F is colder than the hall (75.2 °F), which cannot be beside hot process air; 68 °C would be 154 °F: which is it?"),
        ({}, {"shell_temperature": "130 degC"}, "shell_temperature",
         f"{WALL}130 °C is hotter than the air inside the hopper (119 °C), which warms it; 130 °F would be 54.4 °C: which is it?"),
        ({}, {"shell_temperature": "121 degC"}, "shell_temperature",
         f"{WALL}121 °C is hotter than the air inside the hopper (119 °C), which warms it; 121 °F would be 49.4 °C: which is it?"),
        ({}, {"shell_temperature": "34 degF"}, "shell_temperature",
         f"{WALL}34 °F is colder than the hall (75.2 °F), which cannot be beside hot process air; 34 °C would be 93.2 °F: which is it?"),
        ({}, {"hall_temperature": "24 degF"}, "hall_temperature",
         "Check the hall: 24 °F is colder than a hall is in which people mould; 24 °C would be 75.2 °F: which is it?"),
        ({}, {"regeneration_temperature": "230 degF"}, "regeneration_temperature",
         f"{REGENERATION}230 °F is too cold to take the water out of desiccant; 230 °C would be 446 °F: which is it? "
         "If it is right, look at the regeneration heater."),
        ({f"options['{PRESENT}'].inputs.regeneration_temperature": "180 degC"}, {"regeneration_temperature": "345 degC"},
         "regeneration_temperature",
         f"{REGENERATION}345 °C is hotter than desiccant is heated, which is to 300 °C at most; 345 °F would be 174 °C: which is it?"),
    ],
)  # fmt: skip
def test_what_the_dryer_cannot_have_is_asked_about_in_the_other_unit(changes, read, name, text):
    made = walked(shop(**changes), **{"power": None, **read})
    assert told(made) == [(name, text)]


@pytest.mark.parametrize(
    "read",
    [
        {"process_temperature": "134 degC"},  # hotter than asked for, and what PC stands
        {"process_temperature": "150 degC"},  # too hot for PC, and 150 degF would be 66 degC
        {"process_temperature": "95 degC"},
        {"process_temperature": None, "return_temperature": "115 degC"},
        {"shell_temperature": "110 degC"},  # bare
        {"hall_temperature": "6 degC"},
        {"hall_temperature": "45 degC", "shell_temperature": "52 degC"},
        {"hall_temperature": "43 degF"},
        {"dew_point": "-40 degC"},
        {"dew_point": "-40 degF"},
        {"dew_point": "-28 degF"},
        {"dew_point": "-76 degF"},
        {"regeneration_temperature": "180 degC"},
        {"regeneration_temperature": "290 degC"},
        {"regeneration_temperature": "446 degF"},
        {"process_temperature": "246 degF"},
    ],
)
def test_what_the_dryer_may_have_is_not_doubted(read):
    made = walked(**{"power": None, **read})
    assert [doubt for doubt in made.doubts if "which is it?" in doubt.text or doubt.name in read] == []


def test_where_the_case_is_cold_itself_its_hall_may_be():
    cold = shop(**{"site.hall_temperature": "12 degC", "site.hall_dew_point": "2 degC"})
    # 24 degC is more than 10 K from the case's 12 degC.
    assert "hall_temperature" not in [doubt.name for doubt in walked(cold, hall_temperature="24 degF").doubts]


def test_a_producer_s_own_limit_is_that_of_the_resin():
    own = shop(**{f"{PLACE}.own_resin": {"drying_temperature_limit": "170 degC"}})
    assert told(walked(own, process_temperature="160 degC", power=None)) == []


def test_a_number_without_unit_is_in_those_of_the_case():
    us = shop(**{"case.units": "us"})
    read = {name: value for name, value in READ.items() if name != "power"}
    cold = readings_from(read).model_copy(update={"hall_temperature": SI(268.706)})  # 24 degF
    assert [doubt.name for doubt in walk(us, cold).doubts] == ["hall_temperature"]
    assert "hall_temperature" not in [doubt.name for doubt in walk(shop(), cold).doubts]  # -4.4 degC


def test_a_temperature_in_doubt_is_in_no_figure_and_no_finding():
    made, without = (walked(process_temperature=hot, power=None) for hot in ("250 degC", None))
    assert made.balance.specific_energy == without.balance.specific_energy
    assert made.year.cost == without.year.cost
    assert [cause.name for cause in made.causes] == [cause.name for cause in without.causes]
    assert "process_temperature" not in made.balance.missing
    [row] = [report.gap_row(gap, "si") for gap in made.gaps if gap.name == "process_temperature"]
    assert [*row[1:]] == ["250 °C", "120 °C", "above what the resin stands: check its unit"]


def test_the_demo_with_a_process_air_in_degf_promises_no_money_for_it():
    example = load_case("demo")
    made = walk(example, readings_from({**example.document["readings"][0], "process_temperature": "250 degC"}))
    assert [doubt.name for doubt in made.doubts] == ["process_temperature"]
    assert "Drying hotter than asked for" not in [cause.name for cause in made.causes]


# ---------- take-over ----------


def taken(at: Case, **read: object) -> dict:
    """The present dryer's section once what is not in doubt was taken over."""
    made = walked(at, **read)
    rest = undoubted(made.balance.found.readings, [doubt.name for doubt in made.doubts])
    document = copy.deepcopy(dict(as_baseline(at, balance(at, rest)).document))
    return next(option for option in document["options"] if option.get("baseline"))


@pytest.mark.parametrize(
    ("read", "air", "meter"),
    [
        ({}, True, True),
        ({"process_temperature": "250 degC"}, False, False),
        ({"process_temperature": "250 degC", "velocity_in": "return duct"}, True, False),
        ({"return_temperature": "68 degF", "velocity_in": "return duct"}, False, True),
        ({"return_temperature": "68 degF"}, True, True),
        ({"hall_temperature": "24 degF"}, True, False),
    ],
)
def test_what_rests_on_a_temperature_in_doubt_is_not_taken_over(read, air, meter):
    option = taken(shop(), **{"power": "14 kW", **read})
    assert ("air_resin_ratio" in option["inputs"]) == air
    assert ("metered_over_model" in option) == meter
    assert option["inputs"]["regeneration_temperature"]["basis"] == "measured"
    assert "246" not in str(option)


# ---------- refused before they are read ----------


@pytest.mark.parametrize(
    ("read", "said"),
    [
        ({"hall_temperature": "75 degC"}, "Hall must be at most 50 °C; 75 °F would be 23.9 °C"),
        ({"regeneration_temperature": "400 degC"}, "must be at most 350 °C; 400 °F would be 204 °C"),
        ({"regeneration_temperature": "170 degF"}, "must be at least 176 °F; 170 °C would be 338 °F"),
        ({"return_temperature": "155 degC"}, "check which is which, and the unit: 155 °F would be 68.3 °C"),
        ({"process_temperature": "120 degF"}, "check which is which, and the unit: 120 °C would be 248 °F"),
    ],
)
def test_what_is_refused_is_told_with_the_unit_that_would_do(read, said):
    with pytest.raises(CaseError) as error:
        readings_from({**READ, **read})
    assert said in str(error.value)


@pytest.mark.parametrize("read", [{"hall_temperature": "150 degC"}, {"return_temperature": "121 degC"}])
def test_and_without_it_where_it_would_not(read):
    with pytest.raises(CaseError) as error:
        readings_from({**READ, **read})
    assert "would be" not in str(error.value)
