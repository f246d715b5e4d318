"""A set-back in standby: who turns it up again, what it costs against none, where it does nothing, and its error."""

from __future__ import annotations

import re

import numpy as np
import pytest
from cases import AIR, HOT, NEW, PA, PC, PRESENT, case, plant

from energy.dryers.base import AIR_PER_RESIN
from energy.errors import CaseError, EnergyError
from energy.reports.plant_notes import plant_notes
from energy.study import set_back
from energy.study.compare import compare

WEEKDAYS = ["mon", "tue", "wed", "thu", "fri"]
TWO_SHIFTS = {
    "calendar.production_hours": None,
    "calendar.shifts": [
        {"name": "early", "days": WEEKDAYS, "start": "06:00", "end": "14:00"},
        {"name": "late", "days": WEEKDAYS, "start": "14:00", "end": "22:00"},
    ],
    "calendar.standby_up_to": "10 h",
}
COLD = f"options['{NEW}'].inputs.standby_temperature"


def told(comparison, name=NEW):
    """The sentence on an option's set-back and how grave it is; nothing where there is none."""
    found = [n for n in plant_notes(comparison, comparison.option(name)) if n.check == "set-back"]
    assert len(found) < 2
    return (found[0].text, found[0].verdict) if found else ("", "")


def two_shifts(name=NEW, temperature="80 degC", **inputs):
    """Both with and without, all else alike."""
    given = {"standby_temperature": temperature, **inputs}
    changes = {f"options['{name}'].inputs.{key}": value for key, value in given.items() if value is not None}
    return case(PRESENT, NEW, HOT, changes={**TWO_SHIFTS, **changes})


def test_it_says_how_long_before_the_shift_the_dryer_is_turned_up():
    comparison = compare(two_shifts())
    option = comparison.option(NEW)
    text, _ = told(comparison)
    hours = float(re.search(r"turn the dryer up before the shift starts: about ([\d.]+) h before,", text)[1])
    # 90 kg/h for 4 h of PC at 1.4 kJ/(kg K) and its steel, in air of 1.01 kJ/(kg K): resin alone, and at most a quarter more.
    ratio = float(np.max(option.operation.details[AIR_PER_RESIN]))
    resin = 4.0 * 1.4 / (1.01 * ratio)
    assert resin < hours < 1.25 * resin


def test_the_figures_are_those_of_the_same_option_without():
    text, _ = told(compare(two_shifts()))
    own = compare(two_shifts()).option(NEW)
    assert f"{own.total_cost:,.0f} USD a year as it is" in text
    none = compare(case(PRESENT, NEW, HOT, changes=TWO_SHIFTS)).option(NEW)
    assert f"{none.total_cost:,.0f} without a set-back" in text


def test_the_balance_of_energy_is_what_the_year_differs_by():
    option, none = (compare(c).option(NEW) for c in (two_shifts(), two_shifts(temperature=None)))
    saved, again = (
        float(x.replace(",", ""))
        for x in re.search(
            r"it saves at most ([\d,]+) kWh in standby, as if it were set back until the shift starts, and warming again takes ([\d,]+) kWh",
            told(compare(two_shifts()))[0],
        ).groups()
    )
    year, kept = (sum(e for (_, c), e in o.energy.items() if c != "cooling") / 3.6e6 for o in (option, none))
    assert saved - again == pytest.approx(kept - year, abs=1.5)
    nights, one = 209, option.operation.starts[0].after_standby["process heat", "electricity"].mean() / 3.6e6
    assert again == pytest.approx(nights * one, rel=0.01)


@pytest.mark.parametrize(("return_recovery", "cheaper"), [("0 %", False), ("90 %", True)])
def test_a_set_back_that_costs_more_than_none_is_to_be_left_out(return_recovery, cheaper):
    """Where the heat of the return air is recovered, standby takes little, and the cooler takes what the hopper loses."""
    changed = two_shifts(temperature="60 degC", return_recovery=return_recovery, standby_flow_share=0.8)
    comparison = compare(changed)
    option = comparison.option(NEW)
    none = compare(two_shifts(temperature=None, return_recovery=return_recovery, standby_flow_share=0.8)).option(NEW)
    assert (none.total_cost < option.total_cost) is cheaper
    text, grade = told(comparison)
    assert ("leave the set-back out, or try one less deep." in text) is cheaper
    assert grade == ("caution" if cheaper else "pass")


def test_without_a_set_back_nothing_is_said():
    comparison = compare(case(PRESENT, NEW, HOT, changes=TWO_SHIFTS))
    assert [told(comparison, option.name) for option in comparison.options] == [("", "")] * 3


def test_a_calendar_without_standby_leaves_it_without_effect():
    hours = case(PRESENT, NEW, changes={COLD: "80 degC"})
    option = compare(hours).option(NEW)
    assert told(compare(hours))[0].startswith("The set-back to 80 °C has no effect here: the calendar has no standby")
    assert option.total_cost == compare(case(PRESENT, NEW)).option(NEW).total_cost


def test_a_hopper_that_dries_no_hotter_has_no_use_of_it():
    two = {**TWO_SHIFTS, COLD: "120 degC"}
    assert "no resin is dried hotter" in told(compare(case(PRESENT, NEW, changes=two)))[0]


def test_the_hopper_that_takes_longest_is_named():
    changes = {**TWO_SHIFTS, COLD: "60 degC"}
    text, _ = told(compare(plant(PRESENT, NEW, **changes)))
    assert re.search(r"about [\d.]+ h before at Machine [78], until", text)


def test_a_standby_too_short_to_warm_again_is_told():
    """One hour without production between two shifts."""
    rows = [
        {"name": "early", "days": WEEKDAYS, "start": "06:00", "end": "13:00"},
        {"name": "late", "days": WEEKDAYS, "start": "14:00", "end": "22:00"},
    ]
    changes = {**TWO_SHIFTS, "calendar.shifts": rows, "calendar.standby_up_to": "2 h"}
    changes[COLD] = "80 degC"
    text, grade = told(compare(case(PRESENT, NEW, changes=changes)))
    assert "The standby is 1 h only, so the hopper is not hot again when the shift starts." in text
    assert grade == "caution"


@pytest.mark.parametrize("cold", ["20 degC", "27 degC"])
def test_a_set_back_near_the_hall_is_refused_by_its_own_key_with_one_that_runs(cold):
    changes = {**TWO_SHIFTS, COLD: cold}
    changes["site.hall_temperature"] = "25 degC"
    with pytest.raises(CaseError) as refused:
        compare(case(PRESENT, NEW, changes=changes))
    said = str(refused.value)
    assert (
        f"options['{NEW}'].inputs.standby_temperature: a set-back to {cold.split()[0]} °C is too low for this dryer"
        in said
    )
    lowest = int(re.search(r"set it to (\d+) °C or more, or leave it out", said)[1])
    changes[COLD] = f"{lowest} degC"
    compare(case(PRESENT, NEW, changes=changes))
    changes[COLD] = f"{lowest - 5} degC"
    with pytest.raises(CaseError):
        compare(case(PRESENT, NEW, changes=changes))


def test_a_set_back_of_one_machine_is_named_there():
    machines = [{"hopper": "Machine 8", "type": "desiccant-twin-tower", "inputs": {"standby_temperature": "20 degC"}}]
    changes = {**TWO_SHIFTS, f"options['{NEW}'].machines": machines}
    with pytest.raises(CaseError, match=r"machines\[1\]\.inputs\.standby_temperature: a set-back to 20 °C is too low"):
        compare(plant(PRESENT, NEW, **changes))


def test_another_reason_keeps_its_own_key():
    changes = {**TWO_SHIFTS, COLD: "80 degC", f"options['{NEW}'].inputs.air_resin_ratio": "0.2 kg/kg"}
    with pytest.raises(CaseError) as refused:
        compare(case(PRESENT, NEW, changes=changes))
    assert "standby_temperature" not in str(refused.value)


@pytest.mark.parametrize(
    ("own", "machine", "place"),
    [
        ("80 degC", "20 degC", "machines[1]."),
        ("20 degC", "80 degC", ""),
        (None, "20 degC", "machines[1]."),
        ("20 degC", "20 degC", ""),
    ],
)
def test_of_several_set_backs_the_deepest_is_named(own, machine, place):
    machines = [{"hopper": "Machine 8", "type": "desiccant-twin-tower", "inputs": {"standby_temperature": machine}}]
    changes = {**TWO_SHIFTS, f"options['{NEW}'].machines": machines}
    if own is not None:
        changes[COLD] = own
    with pytest.raises(CaseError) as refused:
        compare(plant(PRESENT, NEW, **changes))
    assert f"options['{NEW}'].{place}inputs.standby_temperature: a set-back to 20 °C is too low" in str(refused.value)


@pytest.mark.parametrize(
    ("seconds", "said"),
    [(10.0, "5 min"), (1200.0, "20 min"), (1201.0, "25 min"), (3300.0, "55 min"), (3600.0, "1 h"), (9001.0, "2.6 h")],
)
def test_times_are_told_in_five_minutes_or_two_digits_upwards(seconds, said):
    assert set_back._hours(seconds) == said


def test_a_set_back_of_next_to_nothing_makes_no_difference():
    text, grade = told(compare(two_shifts(temperature="119.99 degC")))
    assert text.endswith("the set-back makes no difference.")
    assert grade == "pass"


def test_where_it_has_no_effect_nothing_is_to_be_heeded():
    assert told(compare(case(PRESENT, NEW, changes={COLD: "80 degC"})))[1] == "pass"
    assert told(compare(case(PRESENT, NEW, changes={**TWO_SHIFTS, COLD: "120 degC"})))[1] == "pass"


def test_a_dryer_without_an_answer_unless_set_back_cannot_be_told(monkeypatch):
    comparison = compare(two_shifts(temperature="81 degC"))

    def none(*_):
        raise EnergyError("no answer")

    monkeypatch.setattr(set_back, "run_years", none)
    text, grade = told(comparison)
    assert text.endswith("Whether it pays cannot be told: without it the dryer has no answer.")
    assert grade == "pass"


def test_standby_of_a_month_and_of_a_year_are_counted_in_whole():
    """By hand of the figures told: what is saved less what warming takes, times the price, is what the running cost differs by."""
    flat = {"tariffs.electricity": "0.10 USD/kWh", "tariffs.cooling": None}
    of = compare(two_shifts().with_(flat))
    text, _ = told(of)
    saved, again = (float(x.replace(",", "")) for x in re.findall(r"([\d,]+) kWh", text))
    own, other = (
        float(x.replace(",", ""))
        for x in re.search(r"costs ([\d,]+) USD a year as it is, ([\d,]+) without", text).groups()
    )
    assert other - own == pytest.approx(0.10 * (saved - again), abs=1.5)
    told_saving = float(re.search(r"the set-back saves ([\d,]+)\.", text)[1].replace(",", ""))
    assert told_saving == pytest.approx(other - own, abs=1.0)


def test_beyond_what_compressors_deliver_the_air_without_has_its_own_price():
    """The compressors are short of 2 m3/min: what it costs without is what the same dryer costs that has none."""
    short = {
        "compressed_air.installed_capacity": "5 m3/min FAD",
        "compressed_air.present_flow": "3 m3/min FAD",
        "compressed_air.capital_if_larger": "30000 USD",
    }
    place = f"options['{AIR}'].inputs"
    back, none = (
        compare(case(PRESENT, AIR, changes={**TWO_SHIFTS, **short, place: inputs}))
        for inputs in ({"standby_temperature": "80 degC"}, {})
    )
    text, _ = told(back, AIR)
    assert f"{none.option(AIR).total_cost:,.0f} without a set-back" in text


LEFT_OUT = " It is left out at Machine 8 (dried at 80 °C), whose resin is dried no hotter: there standby keeps the drying temperature."


@pytest.mark.parametrize("temperature", ["90 degC", "80 degC"])
def test_a_hopper_that_it_cannot_set_back_is_named_with_why(temperature):
    """PC dried at 120 °C can be set back, PA66 at 80 °C beside it cannot."""
    cooler = {"hoppers['Machine 8'].drying_temperature": "80 degC"}
    text, _ = told(compare(plant(PRESENT, NEW, **{**TWO_SHIFTS, **cooler, COLD: temperature})))
    assert LEFT_OUT in text
    assert re.search(r"about [\d.]+ h before at Machine 7, until", text)


def test_where_it_sets_back_every_hopper_none_is_named():
    cooler = {"hoppers['Machine 8'].drying_temperature": "80 degC"}
    assert "left out at" not in told(compare(plant(PRESENT, NEW, **{**TWO_SHIFTS, **cooler, COLD: "75 degC"})))[0]


def test_several_hoppers_that_it_leaves_out_are_named_in_a_row():
    three = (PC, *({**PA, "name": name, "drying_temperature": "80 degC"} for name in ("Machine 8", "Machine 9")))
    text, _ = told(compare(plant(PRESENT, NEW, hoppers=three, **{**TWO_SHIFTS, COLD: "90 degC"})))
    assert (
        "It is left out at Machine 8 (dried at 80 °C) and Machine 9 (dried at 80 °C), whose resins are dried no hotter"
        in text
    )
