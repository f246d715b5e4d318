"""Does it dry? Each check a number against a limit, before any cost is ranked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from energy.air import transport, water_vapour
from energy.air.wet_bulb import wet_bulb_temperature
from energy.dryers.base import Array, Duty, Inputs, Operation, pellet_size
from energy.resins import diffusion, hydrolysis, sorption
from energy.resins.properties import Resin
from energy.sources import load
from energy.units import show, shown_unit, to_unit

Grade = Literal["pass", "caution", "fail"]
GRADES: tuple[Grade, ...] = ("pass", "caution", "fail")
OPEN_LOOP = ("hot-air",)
# Margins, common practice and judgement, from memory: pellets this much colder than asked [K], heat capacity of the air
# over what it heats, filling of the desiccant, equilibrium moisture over the target, accuracy of a dew-point meter [K].
COLDER, MUCH_COLDER = 5.0, 15.0
AIR_MARGIN = 1.1
DESICCANT_MARGIN = 0.75
FLOOR_MARGIN = 0.5
METER = 0.5
UNKNOWN_SPREAD = 5.0  # factor either way of a diffusivity typed in without a range, as reference C2 gives most resins


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One check: a value against a limit, with a sentence."""

    check: str
    value: float | None
    """In ``unit``."""
    limit: float | None
    unit: str
    verdict: Grade
    text: str
    hopper: str = ""
    """Where an option serves several hoppers: the one it is about."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Moisture:
    """Moisture of the pellets leaving, in its worst month; dry basis. None where the resin's data do not tell."""

    target: float
    predicted: float | None
    low: float | None
    """With the fastest diffusion of the stated range."""
    high: float | None
    """With the slowest."""
    floor: float | None
    """In equilibrium with the process air."""
    residence: float
    """Of a pellet at the present throughput. [s]"""
    diffusion_time: float | None
    """A warm pellet needs to the target, all pellets alike: a lower bound. [s]"""
    needed: float | None = None
    """Residence that reaches the target on the best estimate; None where it is reached or a day does not do. [s]"""
    needed_surely: float | None = None
    """The same with the slowest diffusion of the range. [s]"""

    @property
    def expected(self) -> bool:
        """Does the best estimate reach the target? True also where no estimate can be made."""
        return self.predicted is None or self.predicted <= self.target


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """All checks of an option, or of its dryer at one hopper; the worst decides."""

    findings: tuple[Finding, ...]
    moisture: Moisture
    """Of several hoppers, that of the worst."""
    hoppers: tuple[Verdict, ...] = ()
    """Of each hopper, where there are several."""

    @property
    def overall(self) -> Grade:
        return GRADES[max(GRADES.index(f.verdict) for f in self.findings)]

    @property
    def word(self) -> str:
        """The verdict in a word: ``unlikely`` is a caution whose best estimate misses the moisture target."""
        if self.hoppers:
            unlikely = any(verdict.word == "unlikely" for verdict in self.hoppers)
            return "unlikely" if unlikely and self.overall == "caution" else self.overall
        dries = self.moisture.expected or self.grade_of("predicted moisture") == "pass"
        return self.overall if dries or self.overall != "caution" else "unlikely"

    def grade_of(self, check: str) -> Grade:
        """Verdict of one check, at the worst hopper; a check that was not made passes."""
        return GRADES[max((GRADES.index(f.verdict) for f in self.findings if f.check == check), default=0)]

    def reasons(self) -> list[str]:
        """Sentences of the findings that do not pass, worst first."""
        shaky = [f for f in self.findings if f.verdict != "pass"]
        return [
            f"{f.hopper}: {f.text}" if f.hopper else f.text
            for f in sorted(shaky, key=lambda f: -GRADES.index(f.verdict))
        ]

    @property
    def severity(self) -> tuple[int, int, bool, float]:
        """For comparing verdicts: the greater, the worse."""
        m = self.moisture
        excess = 0.0 if m.predicted is None else m.predicted / m.target
        moisture = GRADES.index(self.grade_of("predicted moisture"))
        return GRADES.index(self.overall), moisture, self.word == "unlikely", excess


def joined(verdicts: Mapping[str, Verdict]) -> Verdict:
    """The verdict of an option from those of its hoppers by name."""
    if len(verdicts) == 1:
        return next(iter(verdicts.values()))
    worst = max(verdicts.values(), key=lambda verdict: verdict.severity)
    return Verdict(
        findings=tuple(replace(f, hopper=name) for name, verdict in verdicts.items() for f in verdict.findings),
        moisture=worst.moisture,
        hoppers=tuple(verdicts.values()),
    )


def tanks_of(hopper_flow: str) -> float:
    """Tanks in series that stand for a hopper's spread of residence times. [-]"""
    key = "tanks_mass_flow" if hopper_flow == "mass flow" else "tanks_funnel_flow"
    return float(load("factors")[key].si)


def residence_time(duty: Duty, operation: Operation) -> Array:
    """Of a pellet now: the type's own, or of the hopper that is built for the design throughput. [s]"""
    if operation.residence_time is not None:
        return operation.residence_time
    return duty.residence_time * duty.design_throughput / duty.throughput


def _diffusivities(resin: Resin) -> tuple[float, float, float] | None:
    """Diffusivity slow, likely, fast at its reference temperature. [m2/s]"""
    if resin.diffusivity is None:
        return None
    stored = resin.data.get("diffusivity")
    if stored is not None and stored.si_low is not None and stored.si_high is not None:
        return stored.si_low, resin.diffusivity, stored.si_high
    return resin.diffusivity / UNKNOWN_SPREAD, resin.diffusivity, resin.diffusivity * UNKNOWN_SPREAD


def floor_moisture(duty: Duty, operation: Operation) -> Array | None:
    """Moisture in equilibrium with the air entering the hopper. [kg/kg dry]"""
    resin = duty.resin
    if resin.sorption_slope is None:
        return None
    return np.asarray(
        sorption.equilibrium_moisture(duty.drying_temperature, operation.delivered_dew_point, resin.sorption_slope)
    )


def remaining_moisture(
    duty: Duty, operation: Operation, diffusivity: Array | float, tanks: float, times: Array | None = None
) -> Array:
    """Mean moisture of the pellets leaving. [kg/kg dry]

    The pellet's temperature on its way through the bed enters as the time integral of the diffusivity; the spread of
    residence times as tanks in series.

    Parameters
    ----------
    duty : Duty
        Of a resin with diffusion data.
    operation : Operation
    diffusivity : float
        At the resin's reference temperature. [m2/s]
    tanks : float
        Tanks in series. [-]
    times : ndarray, shape (n,), optional
        Residence times, above 0; each in a hopper of that size and the same proportions, in the month that leaves
        most moisture at it. [s]

    Returns
    -------
    ndarray, shape (...) or (n,)
    """
    resin, state = duty.resin, operation.hopper
    assert resin.diffusivity_temperature is not None
    assert resin.diffusion_activation_energy is not None
    floor = floor_moisture(duty, operation)
    floor = np.zeros_like(duty.throughput) if floor is None else floor
    stay, k, initial = residence_time(duty, operation), state.heating_rate, np.asarray(duty.initial_moisture)
    fed, out = np.asarray(duty.resin_temperature), state.resin_outlet_temperature
    if times is not None:
        # A bed of the same proportions is as much higher, and has as many more transfer units, as the root of its volume.
        months = np.stack(np.broadcast_arrays(stay, k, initial, floor, fed, out))
        stay, k, initial, floor, fed, out = np.unique(months, axis=-1)  # months alike once
        other = np.asarray(times)[:, None]
        stay, k = other, k * np.cbrt(other / stay)
    fed, out, k = np.broadcast_arrays(fed, out, k)
    # Points down the bed, close together where the pellets warm up.
    depth = np.linspace(0.0, 1.0, 33) ** 2
    rate = k[..., None]
    warm = fed[..., None] + (out - fed)[..., None] * np.expm1(-rate * depth) / np.expm1(-rate)
    passed = diffusion.diffusion_integral(
        warm,
        np.asarray(stay)[..., None] * depth,
        diffusivity,
        resin.diffusivity_temperature,
        resin.diffusion_activation_energy,
        points=3,  # stretches are short
    )
    left = diffusion.tanks_in_series(
        diffusion.short_cylinder, passed, tanks, resin.pellet_diameter / 2.0, resin.pellet_length
    )
    # Resin drier than the air's equilibrium is not wetted here: it keeps its moisture.
    moisture = np.asarray(initial + np.minimum(floor - initial, 0.0) * (1.0 - left))
    return moisture if times is None else moisture.max(axis=-1)


def _diffusion_time(duty: Duty, floor: float, target: float, initial: float, diffusivity: float) -> float | None:
    resin = duty.resin
    if resin.diffusivity_temperature is None or resin.diffusion_activation_energy is None or target <= floor:
        return None
    if initial <= target:
        return 0.0
    hot = diffusion.diffusivity(
        float(np.max(duty.drying_temperature)),
        diffusivity,
        resin.diffusivity_temperature,
        resin.diffusion_activation_energy,
    )
    fraction = (target - floor) / (initial - floor)
    needed = diffusion.time_to_fraction(
        diffusion.short_cylinder, fraction, resin.pellet_diameter / 2.0, resin.pellet_length
    )
    return float(needed / hot)


def moisture_of(duty: Duty, operation: Operation, inputs: Inputs, target: float) -> Moisture:
    """Moisture of the pellets leaving in the worst month, with its band."""
    resin = duty.resin
    floor = floor_moisture(duty, operation)
    worst_floor = None if floor is None else float(np.max(floor))
    initial = float(np.max(duty.initial_moisture))
    band = _diffusivities(resin) if resin.hygroscopic else None
    values: list[float | None] = [None, None, None]
    time = needed = surely = None
    if band is not None:
        tanks = tanks_of(inputs.hopper_flow)
        left = remaining_moisture(duty, operation, np.array(band)[:, None], tanks)
        values = [float(x) for x in np.max(left, axis=-1)]
        time = _diffusion_time(duty, worst_floor or 0.0, target, initial, band[1])
        if values[1] is not None and target < values[1]:
            needed = residence_needed(duty, operation, inputs, target, band[1])
        if values[0] is not None and target < values[0]:
            surely = residence_needed(duty, operation, inputs, target, band[0])
    return Moisture(
        target=target,
        predicted=values[1],
        low=values[2],
        high=values[0],
        floor=worst_floor,
        residence=float(np.min(residence_time(duty, operation))),
        diffusion_time=time,
        needed=needed,
        needed_surely=surely,
    )


def dries(
    duty: Duty, operation: Operation, inputs: Inputs, target: float, asked: NDArray[np.bool_] | None = None
) -> NDArray[np.bool_]:
    """Does it dry with the values as they are, the diffusivity's too? What :func:`judge` would fail, or miss, is no.

    Parameters
    ----------
    duty : Duty
        At the highest level of production; arrays of shape (..., 12).
    operation : Operation
        Of that hopper.
    inputs : Inputs
    target : float
        Moisture asked for. [kg/kg dry]
    asked : ndarray of bool, shape (...), optional
        Where it matters; elsewhere the answer is no.

    Returns
    -------
    ndarray of bool, shape (...)
    """
    resin, state = duty.resin, operation.hopper
    hot, reached = np.asarray(duty.drying_temperature), np.asarray(state.resin_outlet_temperature)
    shape = np.shape(reached + duty.throughput)[:-1]
    good = np.broadcast_to(hot.max(-1) - reached.min(-1) <= MUCH_COLDER, shape)
    good = good if asked is None else good & asked
    good = good & (np.min(state.capacity_ratio, axis=-1) >= 1.0)
    if resin.dew_point is not None and operation.air_dried:
        stored = resin.data.get("dew_point")
        bearable = resin.dew_point if stored is None or stored.si_high is None else stored.si_high
        good = good & (np.max(operation.delivered_dew_point, axis=-1) <= bearable + METER)
    if "swing" in operation.details:
        good = good & (np.max(operation.details["swing"] / operation.details["equilibrium_swing"], axis=-1) <= 1.0)
    floor = floor_moisture(duty, operation)
    if floor is not None:
        good = good & (np.max(floor, axis=-1) < target)
    initial = np.max(duty.initial_moisture, axis=-1)
    if not resin.hygroscopic:
        enough = np.max(surface_time(duty, operation, initial[..., None]), axis=-1)
        enough = enough <= np.min(residence_time(duty, operation), axis=-1)
        return np.asarray(good & (enough | (initial <= target)))
    if resin.diffusivity is None or not good.any():
        return np.asarray(good)
    open_ = np.flatnonzero(good) if good.ndim == 1 else None  # the series only where nothing has said no
    if open_ is not None and open_.size < good.size:
        duty, operation = (_some(record, open_, 0, good.size) for record in (duty, operation))
        floor = _of_axis(floor, open_, 0, good.size)
        initial = _of_axis(np.broadcast_to(initial, good.shape), open_, 0, good.size, least=1)
    left = np.asarray(_worst_moisture(duty, operation, floor, tanks_of(inputs.hopper_flow)))
    enough = (left <= target) | (initial <= target)
    if open_ is None or open_.size == good.size:
        return np.asarray(good & enough)
    answer = np.zeros(good.shape, dtype=bool)
    answer[open_] = enough
    return answer


def _worst_moisture(duty: Duty, operation: Operation, floor: Array | None, tanks: float) -> Array:
    """Remaining moisture of the worst month, worked out for months that no other beats in every respect."""
    state, months = operation.hopper, np.shape(operation.hopper.resin_outlet_temperature)[-1]
    worse = (
        *(0.0 if floor is None else floor, duty.initial_moisture, -np.asarray(duty.resin_temperature)),
        *(-state.resin_outlet_temperature, -state.heating_rate, -residence_time(duty, operation)),
    )
    bad = np.stack(np.broadcast_arrays(*worse, state.resin_outlet_temperature)[:-1]).reshape(len(worse), -1, months)
    keep: list[int] = []
    for month in range(months):
        here = bad[..., month]
        if not any(np.all(bad[..., other] >= here) for other in keep):
            keep = [other for other in keep if not np.all(here >= bad[..., other])] + [month]
    if len(keep) < months:
        duty, operation = (_some(record, keep, -1, months) for record in (duty, operation))
    assert duty.resin.diffusivity is not None
    return np.asarray(np.max(remaining_moisture(duty, operation, duty.resin.diffusivity, tanks), axis=-1))


def _of_axis(value: Any, keep: Any, axis: int, length: int, least: int = 2) -> Any:
    """An array at some places of its first or last axis, where that is so long; all else as it is."""
    if np.ndim(value) < (least if axis == 0 else 1) or np.shape(value)[axis] != length:
        return value
    return value[keep] if axis == 0 else value[..., keep]


def _some(given: Any, keep: Any, axis: int, length: int) -> Any:
    """Duty or operation with some of its months or draws only, as far as remaining moisture asks."""

    def some(value: Any) -> Any:
        return _of_axis(value, keep, axis, length)

    if isinstance(given, Duty):
        names = ("throughput", "design_throughput", "drying_temperature", "residence_time", "resin_temperature")
        changed = {name: some(getattr(given, name)) for name in (*names, "initial_moisture")}
        if axis == 0:
            numbers = {k: some(v) for k in type(given.resin).__slots__ if np.ndim(v := getattr(given.resin, k))}
            changed["resin"] = replace(given.resin, **numbers)
        return replace(given, **changed)
    state = given.hopper
    return replace(
        given,
        hoppers=(
            replace(
                state, **{name: some(getattr(state, name)) for name in ("resin_outlet_temperature", "heating_rate")}
            ),
        ),
        delivered_dew_point=some(given.delivered_dew_point),
        residence_time=some(given.residence_time),
    )


def surface_time(duty: Duty, operation: Operation, initial: Array | float) -> Array:
    """Time to evaporate the surface water at the wet bulb, with the least film coefficient a sphere can have, 2 k / d. [s]"""
    resin, hot = duty.resin, np.asarray(duty.drying_temperature)
    humidity = water_vapour.humidity_ratio(operation.delivered_dew_point, duty.pressure)
    size = pellet_size(resin)
    return diffusion.surface_drying_time(
        initial,
        size,
        resin.density,
        hot,
        wet_bulb_temperature(hot, humidity, duty.pressure),
        2.0 * transport.thermal_conductivity(hot) / size,
    )


def judge(duty: Duty, operation: Operation, inputs: Inputs, target: float, system: str) -> Verdict:
    """All checks of one dryer at one hopper.

    Parameters
    ----------
    duty : Duty
        At the highest level of production.
    operation : Operation
        Of that hopper.
    inputs : Inputs
        Of the dryer.
    target : float
        Moisture asked for. [kg/kg dry]
    system : {"si", "us"}
        Units of the sentences.
    """
    moisture = moisture_of(duty, operation, inputs, target)
    checks = _Checks(system, duty, operation, inputs, moisture)
    found = [
        checks.temperature(),
        checks.air(),
        checks.residence(),
        checks.dew_point(),
        checks.desiccant(),
        checks.floor(),
        checks.predicted(),
        checks.yellowing(),
        checks.caking(),
        checks.hydrolysis(),
    ]
    return Verdict(findings=tuple(f for f in found if f is not None), moisture=moisture)


@dataclass(frozen=True, slots=True)
class _Checks:
    system: str
    duty: Duty
    operation: Operation
    inputs: Inputs
    moisture: Moisture

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

    def temperature(self) -> Finding:
        """Do the pellets reach the drying temperature?"""
        asked = float(np.max(self.duty.drying_temperature))
        reached = float(np.min(self.operation.hopper.resin_outlet_temperature))
        short = asked - reached
        grade: Grade = "pass" if short <= COLDER else "caution" if short <= MUCH_COLDER else "fail"
        text = f"Pellets leave at {self._degrees(reached)}; the drying temperature is {self._degrees(asked)}."
        if grade != "pass":
            text += " More air would warm them through."
        unit = shown_unit("temperature", self.system)
        return self._finding("drying temperature", reached, asked - COLDER, "temperature", unit, grade, text)

    def air(self) -> Finding | None:
        """Does the air carry enough heat?"""
        ratio = float(np.min(self.operation.hopper.capacity_ratio))
        if np.isinf(ratio):
            return None
        grade: Grade = "pass" if ratio >= AIR_MARGIN else "caution" if ratio >= 1.0 else "fail"
        text = f"The air carries {ratio:.2f} times the heat that resin, water and shell take up."
        if grade != "pass":
            text += " That leaves no margin for a dirty filter; raise the airflow."
        return self._finding("air flow", ratio, 1.0, "ratio", "", grade, text)

    def residence(self) -> Finding | None:
        """Is the recommended time kept?"""
        if not self.operation.air_dried:
            return None
        stored = self.resin.data.get("residence_time")
        least = self.resin.residence_time if stored is None or stored.si_low is None else stored.si_low
        stay, enough = self.moisture.residence, self.moisture.residence >= least * (1 - 1e-9)
        text = (
            f"Pellets stay {stay / 3600:.3g} h; practice asks for {least / 3600:.3g} h or more for "
            f"{self.resin.abbreviation}."
        )
        if self.moisture.diffusion_time:
            text += (
                f" Diffusion alone needs {self.moisture.diffusion_time / 3600:.2g} h in warm pellets; the recommended "
                "time also covers the warming of the bed, pellets that run ahead, wetter lots and safety."
            )
        return self._finding("residence time", stay, least, "time", "h", "pass" if enough else "caution", text)

    def dew_point(self) -> Finding | None:
        """Is the air as dry as practice asks?"""
        asked = self.resin.dew_point
        if asked is None or not self.operation.air_dried:
            return None
        worst = float(np.max(self.operation.delivered_dew_point))
        stored = self.resin.data.get("dew_point")
        bearable = asked if stored is None or stored.si_high is None else stored.si_high
        grade: Grade = "pass" if worst <= asked + METER else "caution" if worst <= bearable + METER else "fail"
        text = (
            f"The air enters the hopper with a dew point of {self._degrees(worst)}{self._month()}; "
            f"practice asks for {self._degrees(asked)}"
        )
        if grade != "pass":
            text += f" and accepts up to {self._degrees(bearable)} for {self.resin.abbreviation}"
        text += "."
        if grade == "fail":
            text += " Air this damp is not accepted practice, whatever the moisture predicted below."
        if grade != "pass" and "residual_loading" in self.operation.details:
            text += " Regenerating hotter, or a colder inlet to the desiccant, makes the air drier."
        unit = shown_unit("temperature", self.system)
        return self._finding("dew point", worst, asked, "temperature", unit, grade, text)

    def desiccant(self) -> Finding | None:
        """Can the desiccant take up the water of a cycle?"""
        swing = self.operation.details.get("swing")
        if swing is None:
            return None
        used = float(np.max(swing / self.operation.details["equilibrium_swing"]))
        grade: Grade = "pass" if used <= DESICCANT_MARGIN else "caution" if used <= 1.0 else "fail"
        text = f"A cycle's water fills the desiccant to {100 * used:.0f} % of what it could hold."
        if grade != "pass":
            text += " The dew point rises before the cycle ends: less leakage, hotter regeneration or a colder inlet would help."
        return self._finding("desiccant loading", used, 1.0, "share", "%", grade, text)

    def _month(self) -> str:
        dew = np.broadcast_to(self.operation.delivered_dew_point, (12,))
        if self.inputs.kind not in OPEN_LOOP or np.ptp(dew) < 0.1:
            return ""
        import calendar

        return f" in {calendar.month_name[int(np.argmax(dew)) + 1]}"

    def floor(self) -> Finding | None:
        """Can the resin get that dry at all in this air?"""
        floor, target = self.moisture.floor, self.moisture.target
        if floor is None:
            return None
        grade: Grade = "pass" if floor <= FLOOR_MARGIN * target else "caution" if floor < target else "fail"
        text = (
            f"In this air {self.resin.abbreviation} dries to {self._ppm(floor)} at best{self._month()}; "
            f"the target is {self._ppm(target)}."
        )
        if grade != "pass":
            assert self.resin.sorption_slope is not None
            hot = float(np.max(self.duty.drying_temperature))
            slope = self.resin.sorption_slope
            needed = float(sorption.dew_point_for_moisture(FLOOR_MARGIN * target, hot, slope, on_range="nan"))
            if np.isnan(needed):
                text += " No air is dry enough for that target."
            else:
                text += f" A dew point of {self._degrees(needed)} or lower would bring that to half the target."
        return self._finding("equilibrium moisture", floor, target, "moisture", "ppm", grade, text)

    def predicted(self) -> Finding | None:
        """Does it get there in the time it has?"""
        m, initial = self.moisture, float(np.max(self.duty.initial_moisture))
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
                text=f"No diffusion data for {self.resin.abbreviation}: only the recommended time stands for drying.",
            )
        grade: Grade = "pass" if m.high <= m.target else "fail" if m.low > m.target else "caution"
        text = (
            f"Moisture of the pellets leaving, best estimate: {self._ppm(m.predicted)} ({self._ppm(m.low)} to "
            f"{self._ppm(m.high)}); the target is {self._ppm(m.target)}."
        )
        if grade == "caution":
            text += self._needed(m)
        elif grade == "fail":
            text += (
                " Even the fastest diffusion of its range does not get there; dry longer, hotter if the resin allows, "
                "or in drier air."
            )
        return self._finding("predicted moisture", m.predicted, m.target, "moisture", "ppm", grade, text)

    def _needed(self, m: Moisture) -> str:
        """What a residence that reaches the target would be: on the best estimate, and at the slow end of the range."""
        place = "in the hopper" if self.operation.residence_time is None else "at drying temperature"
        sure = f"about {m.needed_surely / 3600:.2g} h {place}" if m.needed_surely else f"more than a day {place}"
        if m.expected:
            return (
                f" The diffusion data of this resin are not sure enough to promise the target: {sure} would; or measure "
                "the moisture."
            )
        likely = f"about {m.needed / 3600:.2g} h {place} would do" if m.needed else f"even a day {place} would not do"
        return f" On the best estimate the target is missed: {likely}; to be sure, {sure}."

    def _surface(self, initial: float) -> Finding:
        """Surface water leaves as fast as heat reaches it: through the film around a pellet, and with the air at all."""
        minutes = float(np.max(surface_time(self.duty, self.operation, initial))) / 60.0
        enough = minutes * 60.0 <= self.moisture.residence
        within = "seconds" if minutes < 1.0 else f"{minutes:.2g} minutes"
        text = (
            f"{self.resin.abbreviation} holds {self._ppm(initial)} on its surface only. In the hot air it is gone within "
            f"{within} even without wind, and the air carries the heat to evaporate it, so the target is "
            "reached where the pellets are warm."
        )
        if not enough:
            text = (
                f"{self.resin.abbreviation} needs {minutes:.2g} minutes in the hot air to lose the {self._ppm(initial)} on "
                "its surface, longer than it stays; drain or centrifuge it first, or dry longer."
            )
        reached = self.moisture.target if enough else initial
        grade: Grade = "pass" if enough else "fail"
        return self._finding("surface moisture", reached, self.moisture.target, "moisture", "ppm", grade, text)

    def yellowing(self) -> Finding | None:
        """Does hot air discolour the resin?"""
        limit = self.resin.yellowing_temperature
        if limit is None:
            return None
        hot = float(np.max(self.duty.drying_temperature))
        grade: Grade = "pass" if hot <= limit else "caution"
        text = (
            f"{self.resin.abbreviation} yellows in hot air above {self._degrees(limit)}; "
            f"the air has {self._degrees(hot)}."
        )
        return self._finding(
            "yellowing", hot, limit, "temperature", shown_unit("temperature", self.system), grade, text
        )

    def caking(self) -> Finding | None:
        """Do pellets that are not crystallised stick together?"""
        limit = self.resin.caking_temperature
        if limit is None:
            return None
        hot = float(np.max(self.duty.drying_temperature))
        grade: Grade = "pass"
        text = (
            f"Holds for crystallised {self.resin.abbreviation} only: amorphous pellets stick together above "
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
        text = (
            f"If all the water left reacts in the melt, PET loses {100 * loss:.2g} % of its molar mass "
            f"({100 * allowed:.2g} % at the target)."
        )
        return self._finding("hydrolysis", loss, allowed, "share", "%", grade, text)


def curve(duty: Duty, operation: Operation, inputs: Inputs, times: Array) -> dict[str, Array] | None:
    """Moisture leaving in its worst month against residence time, each in a hopper of its own size, with its band.

    Returns
    -------
    dict of ndarray, shape (len(times),)
        ``predicted``, ``low``, ``high``. [kg/kg dry]; None without diffusion data.
    """
    band = _diffusivities(duty.resin) if duty.resin.hygroscopic else None
    if band is None:
        return None
    tanks = tanks_of(inputs.hopper_flow)
    slow, likely, fast = (remaining_moisture(duty, operation, d, tanks, times) for d in band)
    return {"predicted": likely, "low": fast, "high": slow}


def residence_needed(
    duty: Duty, operation: Operation, inputs: Inputs, target: float, diffusivity: float
) -> float | None:
    """Residence time that reaches a moisture, up to a day; None where a day does not do. [s]"""
    times, step, tanks = 3600.0 * np.linspace(0.25, 24.0, 96), 8, tanks_of(inputs.hopper_flow)
    rough = remaining_moisture(duty, operation, diffusivity, tanks, times[step - 1 :: step])
    if rough[-1] > target:
        return None
    end = step * (1 + int(np.argmax(rough <= target)))
    near = times[max(0, end - step - 1) : end]
    return float(np.interp(-target, -remaining_moisture(duty, operation, diffusivity, tanks, near), near))
