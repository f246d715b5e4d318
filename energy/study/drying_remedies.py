"""What would dry a resin that is not sure to be: how much more air, how much more time, in sentences."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from energy.dryers import circuit_inputs, hopper_sizing, vacuum
from energy.dryers.base import AIR_PER_RESIN, Duty, Inputs, Operation
from energy.study.air_for_heat import air_over_least, carried
from energy.study.form import entries
from energy.study.practice import too_long
from energy.study.predicted_moisture import Moisture, gets_usual_air, two_digits_up
from energy.units import show, shown_unit, to_unit

LOWEST_VACUUM = 200.0
"""That a dryer's vacuum pump holds, by judgement. [Pa]"""
LEAST_VAPOUR = 0.01
"""Share of vapour that a purge can bring the gas to, by judgement. [-]"""

HOTTEST_REGENERATION = 573.15
"""That an input may have. [K]"""
A_DAY = 86400.0
"""Longest time that is looked at. [s]"""


def _whose(data: str, stored: str, name: str) -> str:
    return stored and f" by the {data} data of {stored}, from which {name} starts"


def two_digits_down(value: float) -> str:
    """A number above 0 to the next lower of two digits."""
    step = 10.0 ** (math.floor(math.log10(value)) - 1)
    down = step * math.floor(value / step + 1e-9)
    return f"{down:.2g}" if down < 100.0 else f"{down:.0f}"


@dataclass(frozen=True, slots=True)
class Remedies:
    """One hopper and its dryer, and what is to be said of what would dry its resin."""

    system: str
    duty: Duty
    operation: Operation
    inputs: Inputs
    moisture: Moisture
    practice_kept: bool
    """Is the resin dried as its practice has it?"""
    not_of_practice: tuple[str, ...] = ()
    """What is not as practice has it, in clauses."""
    timed_at: float | None = None
    """Throughput at which the residence time asked fills the hopper. None: what it is built for. [kg/s]"""
    hopper_volume: float | None = None
    """Of a hopper that is there, from which the residence time follows. [m3]"""

    @property
    def whose_diffusion(self) -> str:
        """Whose diffusion data they are, where they are of the stored resin that one of another name starts from; a clause."""
        resin = self.duty.resin
        return _whose("diffusion", resin.of_another("diffusivity"), resin.called)

    @property
    def whose_sorption(self) -> str:
        """The same of what the resin takes up from air."""
        resin = self.duty.resin
        return _whose("sorption", resin.of_another("sorption_slope"), resin.called)

    def least_air(self) -> float:
        return carried(self.duty, self.inputs, self.operation)

    def more_air(self) -> str:
        """The airflow that would warm the pellets through."""
        if self._turned_down():
            return (
                " Its control turns the air down too far for that: raise the “Return-air temperature held” (return_air_target) or the “Least "
                "airflow over design” (airflow_floor)."
            )
        over = air_over_least(self.duty, self.inputs)
        if over >= hopper_sizing.MOST_AIR:
            return " Its bed is too low for any air to warm them through."
        times = over / self.least_air()
        return f" About {two_digits_up(max(times, 1.0))} times the air would warm them through."

    @property
    def around(self) -> str:
        """What the pellets dry in, as a sentence begins with it."""
        return "Under this vacuum" if isinstance(self.inputs, vacuum.Inputs) else "In this air"

    def less_vapour(self, floor: float, wanted: float) -> str:
        """The vacuum, or the vapour in it, that would bring the moisture in equilibrium down. [kg/kg dry]"""
        assert isinstance(self.inputs, vacuum.Inputs)
        # Equilibrium moisture goes with the vapour's pressure, the product of the two.
        known, less = entries(type(self.inputs)), wanted / floor
        pressure, share = self.inputs.vacuum_pressure * less, self.inputs.vapour_share * less
        named = []
        if pressure > LOWEST_VACUUM:
            named.append(
                f"“{known['vacuum_pressure'].label}” (vacuum_pressure) of {two_digits_down(pressure / 100.0)} mbar(a) or less"
            )
        if share > LEAST_VAPOUR:
            named.append(
                f"“{known['vapour_share'].label}” (vapour_share) of {two_digits_down(100.0 * share)} % or less, swept out with more hall air"
            )
        if not named:
            return " No vacuum that can be held is low enough for that target."
        return f" A {', or a '.join(named)}, would bring that to half the target."

    def drier(self) -> str:
        """What it takes where what the pellets dry in is too damp for the target."""
        if isinstance(self.inputs, vacuum.Inputs):
            return (
                " This vacuum leaves more than that in them however long they stay: it takes a lower pressure (vacuum_pressure) or less vapour in "
                "it (vapour_share)."
            )
        return " This air leaves more than that in them however long they stay: it takes drier air."

    def drier_air(self, dew_point: float) -> str:
        """What of a desiccant circuit makes its air drier than it is, of what is left to be changed. [K]

        The cooler cools no further than to what the inlet is held at, so colder water alone changes nothing.
        """
        assert isinstance(self.inputs, circuit_inputs.Inputs)
        held = self.inputs.dew_point_set_point
        if held is not None and dew_point < float(np.max(held)) + 0.1:
            return f" It is held there by the “{entries(type(self.inputs))['dew_point_set_point'].label}” (dew_point_set_point): lower it."
        ways = [*self.hotter_regeneration(), self._colder_inlet()]
        return f" What makes the air drier: {' or '.join(ways)}."

    def hotter_regeneration(self) -> tuple[str, ...]:
        """As a clause, where an input may still be hotter."""
        assert isinstance(self.inputs, circuit_inputs.Inputs)
        hot = float(np.max(self.inputs.regeneration_temperature))
        if hot > HOTTEST_REGENERATION - 1.0:
            return ()
        return (f"hotter regeneration (regeneration_temperature, now {self._degrees(hot)})",)

    def _colder_inlet(self) -> str:
        """A colder inlet to the desiccant, in a clause with its price: as cold as the coolant allows."""
        assert isinstance(self.inputs, circuit_inputs.Inputs)
        limit = float(np.min(self.inputs.adsorption_limit))
        inlet = float(np.max(self.operation.details["adsorption_temperature"]))
        by_water = self.inputs.cooler == "water"
        coolant = float(np.max(self.duty.coolant_temperature if by_water else self.duty.hall_temperature))
        coldest = coolant + float(np.max(self.inputs.cooler_approach))
        price = "which takes more cooling and more heat after it"
        if inlet - coldest < 1.0:
            means = "colder cooling water" if by_water else "a cooler with water"
            return f"a colder inlet to the desiccant by {means} and with it a lower adsorption_limit, now {self._degrees(limit)}, {price}"
        now = (
            f"which holds it at {self._degrees(limit)}" if limit - inlet < 1.0 else f"below its {self._degrees(inlet)}"
        )
        return f"a colder inlet to the desiccant (a lower adsorption_limit, {now}), {price}"

    def _degrees(self, temperature: float) -> str:
        return show(temperature, "temperature", self.system)

    def _turned_down(self) -> bool:
        """Does a dryer of one hopper send less air than it is built for?"""
        built = np.max(self.operation.details.get(AIR_PER_RESIN, 0.0) * self.duty.design_throughput)
        return self.inputs.airflow_control != "fixed" and bool(built > 1.01 * np.max(self.operation.air_flow))

    def stands_or_not(self) -> str:
        """Ends the sentence on a resin without diffusion data."""
        if self.practice_kept:
            return ", at the temperature and in the air that it is kept with here."
        if not self.operation.air_dried:
            return ", and that is a time in a hopper of hot, dry air: nothing tells how this dryer does. A drying trial settles it."
        return f", and it is not dried as practice has it: nothing speaks for it. Here {'; '.join(self.not_of_practice)}; or let a drying trial settle it."

    def own_data(self) -> str:
        """Said where the data are of the stored resin that one of another name starts from."""
        name, stored = self.duty.resin.called, self.duty.resin.abbreviation
        return (
            f" Data of another resin neither promise nor rule out what {name} does: give its own (own_resin.diffusivity and sorption_slope), begin its "
            f"name with {stored} where it is a grade of that, or measure the moisture."
        )

    def needed(self) -> str:
        """What a residence that reaches the target would be: on the best estimate, and at the slow end of the range."""
        m = self.moisture
        place = "in the hopper" if self.operation.residence_time is None else "at drying temperature"
        beyond = self._beyond(m.needed_surely)
        instead = ": measure the moisture, or let a drying trial settle it, instead of drying that long"
        sure = (
            f"about {two_digits_up(m.needed_surely / 3600)} h {place}"
            if m.needed_surely
            else f"more than a day {place}"
        )
        if m.expected and beyond:
            if self.whose_diffusion:
                return f" To be sure of the target by them takes {sure}, {beyond}."
            return f" The diffusion data of this resin are not sure enough to promise the target: it would take {sure}, {beyond}{instead}."
        if m.expected:
            given = self._given_by(m.needed_surely) if m.needed_surely else ""
            if self.whose_diffusion:
                return f" To be sure of the target by them: {sure}{given}."
            return (
                f" The diffusion data of this resin are not sure enough to promise the target: {sure} would{given}; or measure "
                "the moisture."
            )
        likely = (
            f"about {two_digits_up(m.needed / 3600)} h {place} would do{self._given_by(m.needed)}"
            if m.needed
            else f"even a day {place} would not do"
        )
        if self.practice_kept:  # which says the same at the end
            instead = ""
        if likely_beyond := self._beyond(m.needed):
            hours = f"about {two_digits_up(m.needed / 3600)} h {place}" if m.needed else f"more than a day {place}"
            likely, sure = f"it would take {hours}, {likely_beyond}{instead}", ""
        elif beyond:
            sure = f"; to be sure, {sure}, {beyond}{instead}"
        else:
            sure = f"; to be sure, {sure}"
        return f" On the best estimate the target is missed: {likely}{sure}.{self._practice_says()}"

    def _beyond(self, needed: float | None) -> str:
        """Said beside a time that is so long that the check of it would warn; empty where it would not. None is more than a day. [s]"""
        told = float(two_digits_up(needed / 3600.0)) * 3600.0 if needed else A_DAY
        longest = too_long(self.duty.resin, self.operation, self._stay_as_written(told))
        if longest is None:
            return ""
        times = f"{'' if needed else 'more than '}{told / longest:.2g} times"
        return f"{times} the longest that practice accepts ({longest / 3600.0:.3g} h), and long heat ages a resin"

    def longer_or_hotter(self) -> str:
        """What is left where even the fastest diffusion misses the target; hotter alone where the time would be far too long."""
        if beyond := self._beyond(self.moisture.needed):
            return f"longer would be {beyond}: hotter if the resin allows"
        return f"{self.longer()}, or hotter if the resin allows"

    def longer(self) -> str:
        """To dry longer, with the input that a type has its own time from, and what it would be on the best estimate."""
        if self.inputs.TIME_BY is None:
            return "dry longer"
        likely = " or more on the best estimate" if self.moisture.needed else ""
        return f"dry longer ({self._own_time(self.moisture.needed)}{likely})"

    def _own_time(self, needed: float | None) -> str:
        """The input that a type has its own time from, and what it would be where that is known. [s]"""
        key = self.inputs.TIME_BY
        assert key is not None
        name = f"“{entries(type(self.inputs))[key].label}”, {key}"
        if needed is None:
            return name
        return f"{name}, of {two_digits_up(getattr(self.inputs, key) / 60.0 * needed / self.moisture.residence)} min"

    def _given_by(self, needed: float) -> str:
        """What the time in the hopper takes besides, or the input that a type has its own time from, and what it would be."""
        if self.inputs.TIME_BY is not None:
            return f" ({self._own_time(needed)})"
        as_much = self.inputs.air_resin_ratio is not None or gets_usual_air(
            self.inputs, self.duty.resin, self.operation
        )
        # One that has more than is usual is built for more again, since a bigger shell takes more.
        return f" with {'as much air' if as_much else 'the air that it is then built for'}{self._asked_as(needed)}"

    def _stay_as_written(self, told: float) -> float:
        """How long pellets would stay with that time as it is told to be written, to two digits. [s]"""
        share = float(np.max(self.duty.throughput)) / float(np.max(self.duty.design_throughput))
        return told if abs(share - 1.0) <= 0.02 else float(two_digits_up(told * share / 3600.0)) * 3600.0 / share

    def _asked_as(self, needed: float) -> str:
        """What to write where that is not the time itself: the volume of a hopper that is given, or the time at the throughput where it counts.

        A portable dryer has the hopper that its resins ask at their own throughputs, and not at what its blower could warm of each.
        """
        if self.hopper_volume is not None:
            stay = 3600.0 * float(two_digits_up(needed / 3600.0))
            return (
                f", which is a hopper_volume of {self._volume_up(self.hopper_volume * stay / self.moisture.residence)}"
            )
        now = float(np.max(self.duty.throughput))
        built = float(np.max(self.duty.design_throughput)) if self.timed_at is None else self.timed_at
        if abs(now / built - 1.0) <= 0.02:
            return ""
        hours = two_digits_up(float(two_digits_up(needed / 3600.0)) * now / built)
        at = show(built, "mass flow", self.system)
        where = f"the {at} that it is built for" if self.timed_at is None else f"its throughput of {at}"
        return f", which is a residence_time of {hours} h at {where}"

    def _volume_up(self, volume: float) -> str:
        """With two digits, not less than it is. [m3]"""
        unit = shown_unit("volume", self.system)
        return f"{two_digits_up(float(to_unit(volume, 'volume', unit)))} {unit}"

    def _practice_says(self) -> str:
        """Said where the diffusion data miss the target: that practice speaks for it all the same, or what keeps it from doing so."""
        if self.not_of_practice:
            return f" Practice does not speak for it either: {'; '.join(self.not_of_practice)}."
        if not self.practice_kept:
            return ""
        return (
            f" Temperature, time and dew point are those that {self.duty.resin.called} is dried with in practice, so practice and these data disagree: a "
            "drying trial, or the moisture of pellets as they leave today, settles it."
        )
