"""What a set-back in standby asks for and whether it pays, and the error where a dryer has no answer because of it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from energy.dryers.base import Duty, Inputs, Start
from energy.errors import EnergyError, Problem
from energy.remembered import Hashed, Latest
from energy.study import surroundings
from energy.study.case import Case
from energy.study.finding import Finding, Grade
from energy.study.machines import machines_of
from energy.study.machines_alike import run_years
from energy.study.option_sections import Option
from energy.study.predicted_moisture import two_digits_up
from energy.study.priced import priced_year
from energy.study.run import MachineError, Served, circumstances, key_of, run_options
from energy.study.year import STANDBY, Year, of_option, pauses_of
from energy.units import SI, from_unit, show, shown_unit, to_unit

if TYPE_CHECKING:
    from energy.study.compare import Comparison, OptionResult

KEY = "standby_temperature"
STEP = 5.0
"""A set-back that can be run is told in whole steps of so many degrees, as shown."""
ALIKE = 2e-4
"""Share of the running cost by which another set-back has to be cheaper to be told as such."""
_YEARS: Latest[Year | None] = Latest(64)


def notes(comparison: Comparison, of: OptionResult) -> tuple[Finding, ...]:
    """What is to be said of an option with a set-back; nothing of one without.

    The option is run and billed once more without it: worked out where it is read, since most comparisons are not read so far.
    """
    stated = [one for one in of.served if _of(one) is not None]
    if not stated:
        return ()
    case = comparison.case
    system = case.model.case.units
    shown = " and ".join(dict.fromkeys(_shown(_of(one), system) for one in stated))
    if not np.any(case.calendar.standby > 0.0):
        text = (
            f"The set-back to {shown} has no effect here: the calendar has no standby, since its dryers are off whenever nothing is "
            "produced. With shifts, standby_up_to says through which stops they stay hot."
        )
        return (_finding("pass", text),)
    lower = [one for one in stated if (_of(one) or 0.0) < _hot(one) * (1.0 - 1e-9) and _start(one).after_standby]
    if not lower:
        why = "nothing stands in it in a standby" if not _start(stated[0]).after_standby else "no resin is dried hotter"
        return (_finding("pass", f"The set-back to {shown} has no effect here: {why}."),)
    grade, text = _before_shift(case, lower, shown)
    text += _left_out(stated, system)
    worse, more = _balance(comparison, of, lower)
    return (_finding("caution" if "caution" in (grade, worse) else "pass", f"{text} {more}"),)


def _without(comparison: Comparison, of: OptionResult) -> tuple[Year, float] | None:
    """The option's year as it would be without the set-back, and what it costs [money]; None where it has no answer. Kept."""
    case, option, present = comparison.case, of.option, comparison.baseline.year
    # Compressed air beyond what is installed has its own price.
    served = [one.duty.compressed_air for one in of.served]
    duties = tuple(replace(duty, compressed_air=air) for duty, air in zip(comparison.duties, served, strict=True))

    def made() -> Year | None:
        machines = machines_of(case, _set_to(option, None), duties)
        try:
            years = [year for year, _ in run_years(machines, case.calendar)]
        except EnergyError:
            return None
        return surroundings.with_cooling_plant(case, of_option(machines, years, option.units))

    year = _YEARS.take(key_of(case, option, circumstances(case, duties)), made)
    return None if year is None else (year, float(priced_year(case, option, year, present).total))


def blamed(case: Case, option: Option, error: MachineError, duties: tuple[Duty, ...], around: Hashed) -> Problem | None:
    """The problem of an option that has an answer without its set-back, by the key of that; None where it has none.

    Parameters
    ----------
    case : Case
    option : Option
    error : MachineError
        Of the option as it is.
    duties : tuple of Duty
    around : Hashed
        `run.circumstances` of the same case and duties.
    """
    stated = _stated(option)
    if not stated or not _runs(case, _set_to(option, None), duties, around):
        return None
    places = [""] if option.inputs.standby_temperature is not None else []
    places += [f"machines[{i + 1}]." for i, m in enumerate(option.machines) if m.inputs.standby_temperature is not None]
    system, coldest = case.model.case.units, min(stated)
    hottest = max(float(np.max(duty.drying_temperature)) for duty in duties)
    allowed = next(
        (t for t in _steps(coldest, hottest, system) if _runs(case, _at_least(option, t), duties, around)), None
    )
    way_out = "leave it out" if allowed is None else f"set it to {_shown(allowed, system)} or more, or leave it out"
    where = f"options['{option.name}'].{places[0] if len(places) == 1 else _place_of(option, coldest)}inputs.{KEY}"
    return Problem(
        where, f"a set-back to {_shown(coldest, system)} is too low for this dryer in standby; {way_out} ({error})"
    )


def _of(one: Served) -> float | None:
    given = one.machine.inputs.standby_temperature
    return None if given is None else float(np.min(given))


def _hot(one: Served) -> float:
    return float(np.max(one.duty.drying_temperature))


def _start(one: Served) -> Start:
    return one.operation.starts[0]


def _shown(temperature: float | None, system: str) -> str:
    assert temperature is not None
    return show(temperature, "temperature", system)


def _finding(grade: Grade, text: str) -> Finding:
    return Finding(check="set-back", value=None, limit=None, unit="", verdict=grade, text=text)


def _before_shift(case: Case, lower: Sequence[Served], shown: str) -> tuple[Grade, str]:
    """Who turns it up, and how long before: hot air at the full flow has to go through the whole hopper."""
    times = {}
    for one in lower:
        start, occurs = _start(one), pauses_of(one.hopper, case.calendar) > 0.0
        heat, power = (np.broadcast_to(x, (12,)) for x in (_heat(start), start.power_after_standby))
        there = occurs & (power > 0.0)
        times[one.hopper.name] = float(np.max(heat[there] / power[there], initial=0.0))
    name = max(times, key=lambda k: times[k])
    longest = times[name]
    at = f" at {name}" if len(case.model.hoppers) > 1 else ""
    text = (
        f"The set-back to {shown} asks for somebody, or a timer, to turn the dryer up before the shift starts: about {_hours(longest)} "
        f"before{at}, until the heater has brought back what the hopper lost."
    )
    pause = float(np.max(case.calendar.mean_pause))
    if longest <= pause:
        return "pass", text
    return (
        "caution",
        f"{text} The standby is {_hours(pause)} only, so the hopper is not hot again when the shift starts.",
    )


def _left_out(stated: Sequence[Served], system: str) -> str:
    """Hoppers whose resin is dried no hotter than the set-back, so that it does nothing there; empty where there is none."""
    named = [
        f"{one.hopper.name} (dried at {_shown(_hot(one), system)})"
        for one in stated
        if (_of(one) or 0.0) >= _hot(one) * (1.0 - 1e-9)
    ]
    if not named:
        return ""
    row = " and ".join([*filter(None, [", ".join(named[:-1])]), named[-1]])
    where = f"{row}, {'whose resin is' if len(named) == 1 else 'whose resins are'} dried no hotter"
    return f" It is left out at {where}: there standby keeps the drying temperature."


def _hours(seconds: float) -> str:
    if seconds < 3600.0:
        return f"{max(5.0 * math.ceil(seconds / 300.0), 5.0):.0f} min"
    return f"{two_digits_up(seconds / 3600.0)} h"


def _heat(start: Start) -> np.ndarray:
    """Bought for one warming after a standby. [J]"""
    return np.asarray(sum(start.after_standby.values()))


def _balance(comparison: Comparison, of: OptionResult, lower: Sequence[Served]) -> tuple[Grade, str]:
    """What standby saves against what warming takes, and what the option costs without."""
    without, case = _without(comparison, of), comparison.case
    if without is None:
        return "pass", "Whether it pays cannot be told: without it the dryer has no answer."
    year, other = without
    own = of.total_cost
    again = sum(float(np.sum(_heat(_start(one)) * pauses_of(one.hopper, case.calendar))) for one in lower)
    spared = _in_standby(year) - (_in_standby(of.year) - again)
    energy = lambda x: f"{x / 3.6e6:,.0f} kWh"  # noqa: E731
    text = (
        f"In a year it saves at most {energy(spared)} in standby, as if it were set back until the shift starts, and warming again takes "
        f"{energy(again)}. To run, this option costs {own:,.0f} {case.model.case.currency} a year as it is, {other:,.0f} without a set-back"
    )
    if other >= own - ALIKE * abs(own):
        saved = other - own
        much = f"the set-back saves {saved:,.0f}" if saved > ALIKE * abs(own) else "the set-back makes no difference"
        return "pass", f"{text}: {much}."
    return "caution", f"{text}: leave the set-back out, or try one less deep."


def _in_standby(year: Year) -> float:
    """Electricity and fuel in standby, warming again included. [J]"""
    return sum(
        float(np.sum(v))
        for (state, _, carrier), v in year.energy_in.items()
        if state == STANDBY and carrier != "cooling"
    )


def _steps(coldest: float, hottest: float, system: str) -> list[float]:
    """Set-backs above the one stated and below drying, in whole steps. [K]"""
    unit = shown_unit("temperature", system)
    low, high = (float(to_unit(t, "temperature", unit)) for t in (coldest, hottest))
    first = math.floor(low / STEP) + 1
    return [float(from_unit(STEP * i, "temperature", unit)) for i in range(first, math.ceil(high / STEP))]


def _stated(option: Option) -> list[float]:
    dryers = [option.inputs, *(machine.inputs for machine in option.machines)]
    return [float(inputs.standby_temperature) for inputs in dryers if inputs.standby_temperature is not None]


def _place_of(option: Option, temperature: float) -> str:
    own = (i for i, m in enumerate(option.machines) if m.inputs.standby_temperature == temperature)
    place = next(own, None)
    return "" if place is None or option.inputs.standby_temperature == temperature else f"machines[{place + 1}]."


def _set_to(option: Option, temperature: float | None) -> Option:
    """The option with every set-back at that temperature, or without any."""
    return _changed(option, lambda _: temperature)


def _at_least(option: Option, temperature: float) -> Option:
    return _changed(option, lambda given: max(given, temperature))


def _changed(option: Option, how: Callable[[float], float | None]) -> Option:
    def changed(inputs: Inputs) -> Inputs:
        given = inputs.standby_temperature
        if given is None:
            return inputs
        made = how(float(given))
        return inputs.model_copy(update={KEY: None if made is None else SI(made)})

    machines = tuple(m.model_copy(update={"inputs": changed(m.inputs)}) for m in option.machines)
    return option.model_copy(update={"inputs": changed(option.inputs), "machines": machines})


def _runs(case: Case, option: Option, duties: tuple[Duty, ...], around: Hashed) -> bool:
    return not isinstance(run_options(case, [option], duties, around)[0], MachineError)
