"""The checks of drying at one hopper: each a number against a limit, with its sentence."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from energy.dryers import circuit_inputs, desiccant_beds, vacuum
from energy.dryers.base import EXPECTED_DEW_POINT
from energy.dryers.hopper_sizing import COLDER
from energy.resins import hydrolysis, sorption
from energy.resins.properties import Resin
from energy.study.air_for_heat import AIR_MARGIN, FAR, air_is_its_own, heated, over_usual, slip_of_ten
from energy.study.drying_remedies import Remedies
from energy.study.extremes import highest, lowest
from energy.study.finding import Finding, Grade
from energy.study.practice import METER, bearable_dew_point, least_time, too_long
from energy.study.practice_words import hours_apart, why_so_long
from energy.study.predicted_moisture import surface_time
from energy.units import show, shown_unit, to_unit

OPEN_LOOP = ("hot-air",)
# Margins, common practice and judgement, from memory: pellets this much colder than asked [K], filling of the desiccant,
# equilibrium moisture over the target, accuracy of a dew-point meter [K].
MUCH_COLDER = 15.0
DESICCANT_MARGIN = 0.75
FLOOR_MARGIN = 0.5


@dataclass(frozen=True, slots=True)
class DryingChecks(Remedies):
    """The checks of one hopper and its dryer; those that do not apply are None."""

    @property
    def resin(self) -> Resin:
        return self.duty.resin

    def _ppm(self, moisture: float) -> str:
        ppm = float(to_unit(moisture, "moisture", "ppm"))
        return f"{ppm:,.0f} ppm" if ppm >= 1.0 else "1 ppm" if ppm > 0.5 else "less than 1 ppm"

    def _degrees(self, temperature: float) -> str:
        return show(temperature, "temperature", self.system)

    def _finding(
        self, check: str, value: float, limit: float | None, kind: str, unit: str, grade: Grade, text: str
    ) -> Finding:
        return Finding(
            check=check,
            value=float(to_unit(value, kind, unit)),
            limit=None if limit is None else float(to_unit(limit, kind, unit)),
            unit=unit or "1",
            verdict=grade,
            text=text,
        )

    def throughput(self) -> Finding | None:
        """Is more asked of a machine than it was built for? The checks below tell what becomes of the resin."""
        asked, built = self._asked_and_built()
        if asked <= built:
            return None
        text = (
            f"{show(asked, 'mass flow', self.system)} are asked of a machine built for {show(built, 'mass flow', self.system)}, "
            f"{asked / built - 1.0:.0%} more: pellets stay shorter in the same air."
        )
        return self._finding(
            "throughput", asked, built, "mass flow", shown_unit("mass flow", self.system), "caution", text
        )

    def _asked_and_built(self) -> tuple[float, float]:
        """Throughput now, and that of the design. [kg/s]"""
        asked, built = (highest(flow) for flow in (self.duty.throughput, self.duty.built_for.design_throughput))
        return asked, asked if math.isclose(asked, built, rel_tol=1e-9, abs_tol=1e-8) else built

    def temperature(self) -> Finding:
        """Do the pellets reach the drying temperature?"""
        asked = highest(self.duty.drying_temperature)
        reached = lowest(self.operation.hopper.resin_outlet_temperature)
        short = asked - reached
        grade: Grade = "pass" if short <= COLDER else "caution" if short <= MUCH_COLDER else "fail"
        text = f"Pellets leave at {self._degrees(reached)}; the drying temperature is {self._degrees(asked)}."
        if grade != "pass":
            text += self.more_air()
        unit = shown_unit("temperature", self.system)
        return self._finding("drying temperature", reached, asked - COLDER, "temperature", unit, grade, text)

    def air(self) -> Finding | None:
        """Does the air carry enough heat?"""
        ratio = self.least_air()
        if math.isinf(ratio):
            return None
        grade: Grade = "pass" if ratio >= AIR_MARGIN else "caution" if ratio >= 1.0 else "fail"
        text = f"The air carries {ratio:.2f} times the heat that resin, water and shell take up."
        if grade == "caution":
            text += " That leaves no margin for a dirty filter; raise the airflow."
        if grade == "fail":
            most = heated(self.duty, self.inputs, self.operation)
            text += (
                f" That is too little to warm them through: {show(most, 'mass flow', self.system)} at most could be warmed and dried, since the "
                "shell takes its part whatever is fed. Feed less, or raise the airflow."
                if most > 0.0
                else " The shell takes what the air brings, whatever is fed: raise the airflow."
            )
        if grade == "pass" and not air_is_its_own(self.duty, self.inputs):
            return self._finding("air flow", ratio, 1.0, "ratio", "", grade, text)
        built, over = over_usual(self.duty, self.inputs)
        if grade == "pass" and over > FAR:
            grade = "caution"
            text += (
                f" It is built for {built:.2g} kg of air per kg of resin, {over:.2g} times what {self.resin.called} is usually given in a dryer like it: "
                "see its airflow (airflow, or air_resin_ratio) and what it is built for (built_for)."
            )
            if self.inputs.airflow_control != "fixed" and self.inputs.return_air_target is None:
                text += (
                    " Its control is taken to hold the temperature at which all that air comes back at full load, and spares none of it "
                    "there; write the one that it holds (return_air_target)."
                )
        if grade != "pass":
            text += slip_of_ten(over)
        return self._finding("air flow", ratio, 1.0, "ratio", "", grade, text)

    def residence(self) -> Finding | None:
        """Is the recommended time kept?"""
        if not self.operation.air_dried:
            return None
        accepted = self.resin.range_of("residence_time")
        least, why = self.resin.residence_time if accepted is None else accepted[0], ""
        if self.resin.hygroscopic and (self.moisture.predicted is None or not self.moisture.expected):
            # Where practice alone speaks for it, the time that it takes here.
            asked = least_time(self.duty, self.moisture.target)
            least, why = float(asked.time), why_so_long(self.resin, asked, self.duty, self.moisture.target, self.system)
        stay, enough = self.moisture.residence, self.moisture.residence >= least * (1 - 1e-9)
        stays, hours = hours_apart(stay, least)
        text = f"Pellets stay {stays} h; practice asks for {hours} h or more for {self.resin.called}{why}."
        if alone := self.moisture.diffusion_time:
            text += f" Diffusion alone needs {alone / 3600:.2g} h in warm pellets{self.whose_diffusion}; "
            text += (
                "the recommended time also covers the warming of the bed, pellets that run ahead, wetter lots and safety."
                if alone <= least
                else "that is longer than practice asks for, so practice and the diffusion data disagree: the check of predicted moisture goes by the data."
            )
        longest = too_long(self.resin, self.operation, stay)
        if longest is not None:
            text += (
                f" That is {stay / longest:.2g} times the longest that practice accepts ({longest / 3600:.3g} h), and long heat ages a resin: "
                "keep the hopper less full, take a smaller one, or set the temperature back."
            )
        grade: Grade = "pass" if enough and longest is None else "caution"
        return self._finding("residence time", stay, least, "time", "h", grade, text)

    def dew_point(self) -> Finding | None:
        """Is the air as dry as practice asks?"""
        asked = self.resin.dew_point
        if asked is None or not self.operation.air_dried:
            return None
        worst = highest(self.operation.delivered_dew_point)
        bearable = bearable_dew_point(self.resin)
        grade: Grade = "pass" if worst <= asked + METER else "caution" if worst <= bearable + METER else "fail"
        expected = self.operation.details.get(EXPECTED_DEW_POINT)
        beside = "" if expected is None else f", as read, where {self._degrees(highest(expected))} is expected"
        text = (
            f"The air enters the hopper with a dew point of {self._degrees(worst)}{self._month()}{beside}; "
            f"practice asks for {self._degrees(asked)}"
        )
        if grade != "pass":
            text += f" and accepts up to {self._degrees(bearable)} for {self.resin.called}"
        text += f", which a meter's {METER:.1g} K does not tell apart." if grade == "pass" and worst > asked else "."
        if grade == "fail":
            text += " Air this damp is not accepted practice, whatever the moisture predicted below."
        if grade != "pass" and isinstance(self.inputs, circuit_inputs.Inputs):
            if expected is not None and worst > np.max(expected) + METER:
                text += " Spent desiccant, regeneration too cool, a leak or a hot inlet to the desiccant makes it damper than expected."
            elif self._water_passes(self.inputs):
                text += f" Part of the water passes the desiccant before its cycle ends: {self._why_so_much_water()}."
            else:
                text += self.drier_air(worst)
        unit = shown_unit("temperature", self.system)
        return self._finding("dew point", worst, asked, "temperature", unit, grade, text)

    def _water_passes(self, inputs: circuit_inputs.Inputs) -> bool:
        """Does more water come than the beds hold? Beds that are changed by dew point are used longer on purpose."""
        by_dew_point = bool(np.all(np.asarray(inputs.regeneration_control) == "dew point"))
        asked, built = self._asked_and_built()
        return self._desiccant_load() > inputs.bed_use and not (by_dew_point and asked <= built)

    def _why_so_much_water(self) -> str:
        """What brings a desiccant more water than it was sized for, in a clause."""
        asked, built = self._asked_and_built()
        if asked > built:
            return "more resin is dried than it was built for"
        assert isinstance(self.inputs, circuit_inputs.Inputs)
        sized = float(np.max(desiccant_beds.design_hall(self.inputs, self.duty)))
        hall = float(np.max(self.duty.hall_dew_point))
        if hall > sized:
            return f"the hall is damper ({self._degrees(hall)}) than the beds are sized for ({self._degrees(sized)}, an input of the dryer)"
        return "more comes than it was built for"

    def _desiccant_load(self) -> float:
        return highest(self.operation.details["desiccant_load"])

    def desiccant(self) -> Finding | None:
        """Can the desiccant take up the water of a cycle?"""
        if "desiccant_load" not in self.operation.details:
            return None
        used = self._desiccant_load()
        grade: Grade = "pass" if used <= DESICCANT_MARGIN else "caution" if used <= 1.0 else "fail"
        text = f"A cycle's water fills the desiccant to {100 * used:.0f} % of what it could hold."
        first = highest(self.inputs.bed_use) if isinstance(self.inputs, circuit_inputs.Inputs) else DESICCANT_MARGIN
        if used > first:
            text += f" From {100 * first:.0f} % on part of the water passes it before the cycle ends"
            text += "." if grade == "pass" else ": "
        elif grade != "pass":
            text += " Little is left for more water: "
        if grade != "pass":
            asked, built = self._asked_and_built()
            outgrown = "more resin is dried than it was built for."
            text += outgrown if asked > built else self._room(used, first)
        return self._finding("desiccant loading", used, 1.0, "share", "%", grade, text)

    def _room(self, used: float, first: float) -> str:
        """What leaves more room in beds; those that are sized for what comes are as full whatever it is."""
        given = isinstance(self.inputs, circuit_inputs.Inputs) and self.inputs.desiccant_mass is not None
        sized = self.duty.bed_mass is None and not given
        if sized and used <= first * 1.001:
            return "beds are sized to be that full, by bed_use; less of it makes them bigger."
        ways = ["less leakage (leak_share)", *self.hotter_regeneration()]
        ways.append("bigger beds (a smaller bed_use)" if sized else "a colder inlet (adsorption_limit)")
        return f"{', '.join(ways[:-1])} or {ways[-1]} would help."

    def _month(self) -> str:
        if self.inputs.kind not in OPEN_LOOP:
            return ""
        dew = np.broadcast_to(self.operation.delivered_dew_point, (12,))
        if np.ptp(dew) < 0.1:
            return ""
        import calendar

        return f" in {calendar.month_name[int(np.argmax(dew)) + 1]}"

    def floor(self) -> Finding | None:
        """Can the resin get that dry at all in this air?"""
        floor, target = self.moisture.floor, self.moisture.target
        if floor is None:
            return None
        initial = highest(self.duty.initial_moisture)
        if initial <= target < floor:
            wets = "this vacuum" if isinstance(self.inputs, vacuum.Inputs) else "this air"
            text = (
                f"As it comes, with {self._ppm(initial)}, {self.resin.called} meets the target of {self._ppm(target)}; {wets} would "
                f"wet it, in the long run to {self._ppm(floor)}{self._month()}."
            )
            return self._finding("equilibrium moisture", floor, target, "moisture", "ppm", "caution", text)
        grade: Grade = "pass" if floor <= FLOOR_MARGIN * target else "caution" if floor < target else "fail"
        text = (
            f"{self.around} {self.resin.called} dries to {self._ppm(floor)} at best{self._month()}{self.whose_sorption}; "
            f"the target is {self._ppm(target)}."
        )
        if grade == "fail" and self.whose_sorption:
            grade = "caution"  # what another resin takes up rules nothing out
        if grade != "pass" and isinstance(self.inputs, vacuum.Inputs):
            text += self.less_vapour(floor, FLOOR_MARGIN * target)
        elif grade != "pass":
            assert self.resin.sorption_slope is not None
            hot = highest(self.duty.drying_temperature)
            slope = self.resin.sorption_slope
            needed = float(sorption.dew_point_for_moisture(FLOOR_MARGIN * target, hot, slope, on_range="nan"))
            if math.isnan(needed):
                text += " No air is dry enough for that target."
            else:
                text += f" A dew point of {self._degrees(needed)} or lower would bring that to half the target."
        return self._finding("equilibrium moisture", floor, target, "moisture", "ppm", grade, text)

    def predicted(self) -> Finding | None:
        """Does it get there in the time it has?"""
        m, initial = self.moisture, highest(self.duty.initial_moisture)
        if initial <= m.target:
            text = f"Nothing to dry: the pellets come in at {self._ppm(initial)}; the target is {self._ppm(m.target)}."
            return self._finding("predicted moisture", initial, m.target, "moisture", "ppm", "pass", text)
        if not self.resin.hygroscopic:
            return self._surface(initial)
        if m.predicted is None or m.low is None or m.high is None:
            return Finding(
                check="predicted moisture",
                value=None,
                limit=float(to_unit(m.target, "moisture", "ppm")),
                unit="ppm",
                verdict="caution",
                text=f"No diffusion data for {self.resin.called}: only the recommended time stands for drying{self.stands_or_not()}",
            )
        grade: Grade = "pass" if m.high <= m.target else "fail" if m.low > m.target else "caution"
        text = (
            f"Moisture of the pellets leaving, best estimate{self.whose_diffusion}: {self._ppm(m.predicted)} ({self._ppm(m.low)} to "
            f"{self._ppm(m.high)}); the target is {self._ppm(m.target)}."
        )
        if grade != "pass" and self.least_air() < 1.0:
            text += " Its pellets leave cold: less resin or more air comes before anything else."
        elif grade == "caution":
            text += self.needed()
        elif grade == "fail":
            text += (
                self.drier()
                if m.floor is not None and m.floor > m.target
                else f" Even the fastest diffusion of its range does not get there; {self.longer_or_hotter()}."
            )
        wet_air = m.floor is not None and m.floor > m.target
        if self.whose_diffusion or (self.whose_sorption and wet_air):
            grade = "caution"  # data of another resin neither promise nor rule out
            text += self.own_data()
        return self._finding("predicted moisture", m.predicted, m.target, "moisture", "ppm", grade, text)

    def _surface(self, initial: float) -> Finding:
        """Surface water leaves as fast as heat reaches it: through the film around a pellet, and with the air at all."""
        minutes = float(np.max(surface_time(self.duty, self.operation, initial))) / 60.0
        enough = minutes * 60.0 <= self.moisture.residence
        within = "seconds" if minutes < 1.0 else f"{minutes:.2g} minutes"
        text = (
            f"{self.resin.called} holds {self._ppm(initial)} on its surface only. In the hot air it is gone within "
            f"{within} even without wind, and the air carries the heat to evaporate it, so the target is "
            "reached where the pellets are warm."
        )
        if not enough:
            text = (
                f"{self.resin.called} needs {minutes:.2g} minutes in the hot air to lose the {self._ppm(initial)} on "
                f"its surface, longer than it stays; drain or centrifuge it first, or {self.longer()}."
            )
        reached = self.moisture.target if enough else initial
        grade: Grade = "pass" if enough else "fail"
        return self._finding("surface moisture", reached, self.moisture.target, "moisture", "ppm", grade, text)

    def yellowing(self) -> Finding | None:
        """Does hot air discolour the resin?"""
        limit = self.resin.yellowing_temperature
        if limit is None:
            return None
        hot = highest(self.duty.drying_temperature)
        grade: Grade = "pass" if hot <= limit else "caution"
        text = f"{self.resin.called} yellows in hot air above {self._degrees(limit)}; the air has {self._degrees(hot)}."
        return self._finding(
            "yellowing", hot, limit, "temperature", shown_unit("temperature", self.system), grade, text
        )

    def caking(self) -> Finding | None:
        """Do pellets that are not crystallised stick together?"""
        limit = self.resin.caking_temperature
        if limit is None:
            return None
        hot = highest(self.duty.drying_temperature)
        grade: Grade = "pass"
        text = (
            f"Holds for crystallised {self.resin.called} only: amorphous pellets stick together above "
            f"{self._degrees(limit)}."
        )
        unit = shown_unit("temperature", self.system)
        return replace(self._finding("caking", hot, None, "temperature", unit, grade, text), limit=None)

    def hydrolysis(self) -> Finding | None:
        """What the water left does to PET in the melt."""
        predicted, target = self.moisture.predicted, self.moisture.target
        if self.resin.abbreviation.upper() != "PET" or predicted is None:
            return None
        loss, allowed = (float(hydrolysis.molar_mass_loss(x)) for x in (predicted, target))
        grade: Grade = "pass" if loss <= allowed else "caution"
        as_pet = " as it does in PET, from which it starts" if self.whose_diffusion else ""
        text = (
            f"If all the water left reacts in the melt{as_pet}, {self.resin.called} loses {100 * loss:.2g} % of its molar mass "
            f"({100 * allowed:.2g} % at the target)."
        )
        return self._finding("hydrolysis", loss, allowed, "share", "%", grade, text)
