"""Where one input alone turns the choice, told as the recommended option has it."""

from __future__ import annotations

import numpy as np
import pytest
from cases import NEW, PRESENT, WHEEL, case
from scipy.optimize import brentq

from energy.study.break_even import break_even_values
from energy.study.compare import compare
from energy.study.uncertainty import uncertain_inputs
from energy.units import SI

KEY = "regeneration_temperature"


def shared(of):
    """Towers and wheel share the input, at a typical value each of their own."""
    return next(entry for entry in uncertain_inputs(of)[0] if entry.name == f"typical {KEY}")


def place(option):
    return f"options['{option}'].inputs.{KEY}"


def test_a_shared_input_is_told_as_the_option_has_it():
    entry = shared(case(PRESENT, NEW, WHEEL))
    towers, wheel = entry.places[place(NEW)], entry.places[place(WHEEL)]
    assert towers.value != wheel.value
    assert (entry.at(NEW), entry.at(WHEEL), entry.at("of none")) == (towers, wheel, towers)
    assert (entry.whose(NEW), entry.whose(WHEEL)) == (NEW, WHEEL)


def test_an_input_with_one_value_for_all_is_nobodys():
    entries = uncertain_inputs(case(PRESENT, NEW, WHEEL))[0]
    assert next(e for e in entries if e.name == "typical leak_share").whose(WHEEL) == ""


def test_the_value_at_which_the_choice_turns_is_that_of_the_option_chosen():
    """Looked for again with both dryers set to what they have at the same chance: there their net savings are equal."""

    def npv(of):
        return {o.name: float(o.measures.npv) for o in compare(of).options if o.measures is not None}

    of = case(PRESENT, NEW, WHEEL)
    ahead, capital = npv(of)[NEW] - npv(of)[WHEEL], f"options['{NEW}'].capital_factor"
    of_doubled = npv(of)[NEW] - npv(of.with_({capital: SI(2.0)}))[NEW]
    dearer = of.with_({capital: SI(1.0 + 0.9 * ahead / of_doubled)})
    entry = shared(dearer)
    (turn,) = break_even_values(dearer, NEW, [entry], [NEW, WHEEL])
    towers = entry.places[place(NEW)]
    assert (turn.of, turn.instead, turn.now) == (NEW, WHEEL, towers.value)
    chance = brentq(lambda p: float(towers.quantile(np.array(p))) - turn.value, 0.004, 0.996)
    there = npv(
        dearer.with_({place(n): SI(float(entry.places[place(n)].quantile(np.array(chance)))) for n in (NEW, WHEEL)})
    )
    assert there[WHEEL] == pytest.approx(there[NEW], abs=2.0)
