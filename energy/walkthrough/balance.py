"""The heat balance of a dryer from its readings, and the energy per kilogram with its uncertainty."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from energy.air import moist
from energy.errors import OutOfRangeError
from energy.study.case import Case
from energy.study.readings import Readings
from energy.walkthrough.contradictions import FITS, Contradiction, contradictions, slopes_of
from energy.walkthrough.cooler import taken_by_cooler
from energy.walkthrough.doubt import Doubt, least_energy, without
from energy.walkthrough.estimate import (
    COVERAGE,
    Array,
    Estimate,
    Function,
    Reconciled,
    narrowed,
    propagate,
    reconcile,
    sensitivities,
)
from energy.walkthrough.found import Found, find, power_of
from energy.walkthrough.of_type import said_of_type
from energy.walkthrough.other_unit import in_other_unit
from energy.walkthrough.quantities import HOPPER, METER, air_gives, functions, hopper_takes, quantities
from energy.walkthrough.slips import cannot_be
from energy.walkthrough.wrong_way_round import wrong_way_round

UNEXPLAINED = "not explained"
"""Power that the meter shows and no part of the dryer takes; below 0 where it shows less than they take."""
_SAID = (
    "throughput",
    "process_temperature",
    "return_temperature",
    "hall_temperature",
    "heater_inlet_temperature",
    "air_flow",
    "regeneration",
    "process blower",
    "shell",
    "process heat",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Term:
    """One line of a heat balance. [W]"""

    name: str
    value: float
    uncertainty: float
    """Standard uncertainty."""
    origin: str
    """read, case, model, or balance where it follows from several."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Balance:
    """What the readings say of a dryer. Specific energy counts electricity and fuel bought, at the state found."""

    found: Found
    quantities: Mapping[str, Estimate]
    """As read or taken, before they were brought together."""
    reconciled: Reconciled
    slopes: Array
    """Of the specific energy, by quantity."""
    wide: Mapping[str, Estimate]
    """The quantities with the uncertainty that they were brought together with."""
    scales: Array
    """What that of each is multiplied by for what is stated, shape (quantities,). [-]"""
    throughput: Term
    """Resin that the specific energy is per kilogram of. [kg/s]"""
    power: Term
    """Electricity and fuel in all."""
    parts: tuple[Term, ...]
    """What the power goes to."""
    hopper: tuple[Term, ...]
    """Heat that the air gives, what takes it, and what is left over; from the readings as they are."""
    circuit: tuple[Term, ...]
    """Heat that return air and cooler carry."""
    specific_energy: float
    """[J/kg]"""
    uncertainty: float
    """Standard uncertainty of it. [J/kg]"""
    expected: float
    """Specific energy by the model on the same duty. [J/kg]"""
    contradictions: tuple[Contradiction, ...]
    """What does not hold with the readings as they are, the worst first."""
    missing: tuple[str, ...]
    """Quantities that were taken from the case or the model."""
    notes: tuple[str, ...]

    @property
    def scale(self) -> float:
        """Birge's scale; 1 where all fits within what is stated, so that a better instrument never widens the interval. [-]"""
        return scale_of(self.reconciled, widened=self.wide != self.quantities)

    @property
    def widened(self) -> bool:
        """Is the interval stated wider than the quantities as they were read or taken make it?"""
        off = np.array([e.uncertainty for e in self.quantities.values()])
        return self.uncertainty > 1.0001 * narrowed(off, self.reconciled.slopes, self.slopes, self.reconciled.held)

    @property
    def unexplained(self) -> Term | None:
        """What the meter shows and no part takes, as it stands among the parts; None where its balance holds."""
        return next((part for part in self.parts if part.name == UNEXPLAINED), None)

    @property
    def expanded(self) -> float:
        """Half-width of the stated interval of the specific energy. [J/kg]"""
        return COVERAGE * self.uncertainty

    @property
    def range(self) -> tuple[float, float]:
        """Ends of that interval; cut at what the resin takes, whatever dries it, and at nothing where less was found. [J/kg]"""
        low, high = (float(self.specific_energy + sign * self.expanded) for sign in (-1.0, 1.0))
        return max(low, self.least if self.specific_energy >= self.least else 0.0), high

    @property
    def least(self) -> float:
        """Heat that the resin and its water take, whatever dries them. [J/kg]"""
        return least_energy(self.found)

    @property
    def agrees(self) -> bool:
        """Do readings and model agree within what is stated of them?"""
        return self.unexplained is None and self.reconciled.scale <= FITS and dict(self.wide) == dict(self.quantities)


def balance(case: Case, readings: Readings) -> Balance:
    """Heat balance and specific energy of the baseline's dryer at one hopper.

    Parameters
    ----------
    case : Case
    readings : Readings
        What was read; a quantity that was not is taken from the case or the model with its wide range.

    Raises
    ------
    EnergyError
        No such hopper, a central system, or a duty that the model has no answer for.
    """
    found = _to_count_with(case, readings)
    given = quantities(found)
    parts, constraints, total = functions(found, given)
    wide, settled = _brought_together(given, constraints)
    if len(settled.slopes) < len(constraints):  # the meter is believed, and what no part takes is a part of its own
        known = tuple(parts.values())
        parts |= {UNEXPLAINED: lambda x: total(x) - sum(part(x) for part in known)}
    at = settled.at()
    moved = {n: replace(e, value=at[n]) for n, e in wide.items()}

    scales = _scales(given, scale_of(settled, widened=wide != given))
    stated = scales * np.array([e.uncertainty for e in wide.values()])

    def off(function: Function) -> tuple[Array, float]:
        slopes = np.array(list(sensitivities(function, moved).values()))
        return slopes, narrowed(stated, settled.slopes, slopes, settled.held)

    def term(name: str, function: Function) -> Term:
        origin = given[name].origin if name in given else "balance"
        return Term(name=name, value=float(function(at)), uncertainty=off(function)[1], origin=origin)

    slopes, uncertainty = off(lambda x: total(x) / x["throughput"])
    return Balance(
        found=found,
        quantities=given,
        reconciled=settled,
        slopes=slopes,
        wide=wide,
        scales=scales,
        throughput=term("throughput", lambda x: x["throughput"]),
        power=term("power", total),
        parts=tuple(term(name, part) for name, part in parts.items()),
        hopper=_hopper(found, given),
        circuit=_circuit(found, given),
        specific_energy=total(at) / at["throughput"],
        uncertainty=uncertainty,
        expected=power_of(found.expected) / float(found.duty.throughput[0]),
        contradictions=contradictions(given, constraints),
        missing=tuple(name for name in settled.names if given[name].origin != "read" and _not_read(found, name)),
        notes=(*said_of_type(found), *found.notes),
    )


def _to_count_with(case: Case, readings: Readings) -> Found:
    """The dryer as found without temperatures in another unit or in each other's place, and what else cannot be.

    What is left out may have stood for something else that was read, or made something else look right: so it is asked again.
    """
    found = find(case, readings)
    aside = dict[str, Doubt]()
    beyond = {**in_other_unit(found), **wrong_way_round(found)} or cannot_be(found, quantities(found))
    while beyond:
        aside, rest = {**beyond, **aside}, without(found.readings, beyond.values())
        found = replace(find(case, rest), typed=readings, aside=aside)
        beyond = cannot_be(found, quantities(found))
    return found


def scale_of(settled: Reconciled, *, widened: bool) -> float:
    """What uncertainties are multiplied by: Birge's scale, but only where what must hold does not within `FITS`. [-]"""
    return settled.scale if widened or settled.scale > FITS else 1.0


def _scales(given: Mapping[str, Estimate], scale: float) -> Array:
    """Birge's scale for all but the meter, which is believed, and what the case has measured. [-]"""
    return np.array([1.0 if name == "power" or e.measured else scale for name, e in given.items()])


def _not_read(found: Found, name: str) -> bool:
    """Is it one to name where it was not read? One that was read and is doubted is told as that."""
    reading = "shell_temperature" if name == "shell" else name
    return name in _SAID and name not in found.aside and getattr(found.typed, reading, None) is None


def _brought_together(
    given: Mapping[str, Estimate], constraints: Mapping[str, Function]
) -> tuple[Mapping[str, Estimate], Reconciled]:
    """Readings and model reconciled; where they contradict each other it is the model that is taken to be wider.

    A meter that shows what the parts cannot be is believed, and its balance left out: something is on it that is no part
    of this dryer or of its model. Else a worn dryer is not the one that was modelled, while an instrument keeps its
    accuracy. Only what is in a balance that does not hold is widened: a return air that does not fit says nothing of
    regeneration. Where that does not help, the readings contradict each other, and all that is in it is widened by
    Birge's scale. What the case has measured has no part in that: it stays where it is, within its own range.
    """
    must_hold = [*constraints.values()]
    settled = _settled(given, must_hold)
    if settled is not None and _worst(given, constraints, settled) <= FITS:
        return given, settled
    gaps, slopes = slopes_of(given, constraints)
    off = np.array([e.uncertainty for e in given.values()])
    broken = np.abs(gaps) > FITS * np.sqrt(((slopes * off) ** 2).sum(axis=1))
    if METER in constraints and (settled is None or broken[[*constraints].index(METER)]):
        return _brought_together(given, {name: f for name, f in constraints.items() if name != METER})
    inside = dict(zip(given, np.any(slopes[broken if broken.any() else ~broken] != 0.0, axis=0), strict=True))
    held = [n for n, e in given.items() if e.measured]
    for factor in (2.0, 4.0, 8.0):
        wide = {
            n: replace(e, uncertainty=factor * e.uncertainty)
            if e.origin != "read" and inside[n] and n not in held
            else e
            for n, e in given.items()
        }
        widened = _settled(wide, must_hold, held)
        if widened is not None and _worst(wide, constraints, widened, held) <= FITS:
            return wide, widened
    scale = _worst(given, constraints, settled) if settled is not None else FITS
    wide = {
        n: replace(e, uncertainty=scale * e.uncertainty) if inside[n] and n not in held else e for n, e in given.items()
    }
    return wide, reconcile(wide, must_hold, held)


def _worst(
    given: Mapping[str, Estimate],
    constraints: Mapping[str, Function],
    settled: Reconciled,
    held: Sequence[str] = (),
) -> float:
    """Birge's scale of all that must hold; beside a meter that fits, of the hopper's balance by itself where that is more. [-]

    Such a meter has no part in the hopper's balance, and must not make up for one that does not hold. One that does not fit may ask for the
    same air as the hopper does.
    """
    if not {HOPPER, METER} <= {*constraints}:
        return settled.scale
    hopper, meter = (_settled(given, [constraints[name]], held) for name in (HOPPER, METER))
    fits = meter is not None and meter.scale <= FITS
    return max(settled.scale, hopper.scale) if fits and hopper is not None else settled.scale


def _settled(
    given: Mapping[str, Estimate], must_hold: Sequence[Function], held: Sequence[str] = ()
) -> Reconciled | None:
    """The quantities brought together; None where they would have to be what nothing can be."""
    try:
        return reconcile(given, must_hold, held)
    except OutOfRangeError:
        return None


def left_over(found: Found, given: Mapping[str, Estimate]) -> Term:
    """Heat that the air gives in the hopper beyond what resin, water and shell take. [W]"""
    return _term("left over", lambda x: air_gives(found, x) - sum(hopper_takes(found, x).values()), given)


def _hopper(found: Found, given: Mapping[str, Estimate]) -> tuple[Term, ...]:
    if found.batch:
        return ()

    def taken(name: str, *from_: str) -> Term:
        return _term(name, lambda x: hopper_takes(found, x)[name], given, _origin(given, from_))

    air = ("air_flow", "process_temperature", "return_temperature")
    into = _term("given by the air", lambda x: air_gives(found, x), given, _origin(given, air))
    return (
        into,
        taken("resin", "throughput", "process_temperature"),
        taken("evaporation", "throughput", "water"),
        taken("shell", "shell"),
        left_over(found, given),
    )


def _origin(given: Mapping[str, Estimate], names: Sequence[str]) -> str:
    """The weakest of what a term mainly rests on."""
    origins = {given[name].origin for name in names if name in given}
    return next((word for word in ("model", "case") if word in origins), "read")


def _circuit(found: Found, given: Mapping[str, Estimate]) -> tuple[Term, ...]:
    if found.batch:
        return ()
    specific = float(moist.heat_capacity(given["return_temperature"].value, 0.0))

    above = _term(
        "return air above the hall",
        lambda x: x["air_flow"] * specific * (x["return_temperature"] - x["hall_temperature"]),
        given,
    )
    if not found.closed:
        return (above,)
    heat, off = taken_by_cooler(found, given)
    origin = "model" if found.readings.desiccant_inlet_temperature is None else "balance"
    return above, Term(name="taken by the cooler", value=heat, uncertainty=off, origin=origin)


def _term(name: str, function: Function, given: Mapping[str, Estimate], origin: str = "balance") -> Term:
    value, off = propagate(function, given)
    return Term(name=name, value=value, uncertainty=off, origin=origin)
