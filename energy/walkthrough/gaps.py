"""What was read beside what the model expected, quantity by quantity."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from energy.walkthrough.cycle_read import cycle_expected
from energy.walkthrough.estimate import COVERAGE, Estimate
from energy.walkthrough.found import Found, half_width, regeneration_of, usual
from energy.walkthrough.practice import BEYOND, WITHIN, dew_points
from energy.walkthrough.quantities import before_heater
from energy.walkthrough.slips import Throughputs, throughputs
from energy.walkthrough.walls import hotter_than_good


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """A quantity as read beside what the model expected, SI."""

    name: str
    kind: str
    """Of `energy.units.KINDS`."""
    read: float
    expected: float
    uncertainty: float
    """Standard uncertainty of the difference, the model's own width in it."""
    of_reading: float
    """Standard uncertainty of the reading alone."""
    damp: str = ""
    """Of a dew point above what the resin's sheet asks for, whatever the model expects: whether practice accepts it."""
    poor_jacket: bool = False
    """A wall hotter than behind a good jacket, though the case's own may be as thin."""
    known: Throughputs | None = None
    """Of a throughput, what the case counts and what the dryer is built for."""
    doubted: str = ""
    """Why the reading is to be checked, in a few words."""

    @property
    def size(self) -> float:
        """Difference over its uncertainty; beyond 2 it is no accident. [-]"""
        return (self.read - self.expected) / self.uncertainty

    @property
    def told_apart(self) -> bool:
        """Is the difference more than the instrument is off, though it may be within what the model is sure of?"""
        return abs(self.read - self.expected) > COVERAGE * self.of_reading


# Half-widths of what the model expects: of data/instruments.toml, or in kelvin; set points are known.
_SET, _SHELL = 1.0, 5.0
_WIDTHS: dict[str, str | float] = {
    "throughput": "case_throughput",
    "process_temperature": _SET,
    "regeneration_temperature": _SET,
    "shell_temperature": _SHELL,
    "return_temperature": "model_return_temperature",
    "heater_inlet_temperature": "model_heater_inlet_temperature",
    "desiccant_inlet_temperature": "model_return_temperature",
    "dew_point": "model_dew_point",
    "air_flow": "model_air_flow",
    "blower_pressure": "model_process_blower",
    "regeneration_cycle": "pressure_process_blower",
    "regeneration_power": "model_regeneration",
}
_OPEN = ("model_heater_inlet_temperature", "model_heater_inlet_open")


def compared(
    found: Found, given: Mapping[str, Estimate], power_width: float, doubted: Mapping[str, str]
) -> dict[str, Gap]:
    """By name, the quantities that were read and that the model has an expectation of.

    Parameters
    ----------
    found : Found
    given : mapping of str to Estimate
    power_width : float
        Standard uncertainty of the power that the model expects, as a share of it. [-]
    doubted : mapping of str to str
        Why a quantity is to be checked, by name.
    """
    return {
        name: replace(gap, doubted=doubted.get(name, ""))
        for name, value in _expected(found).items()
        if (gap := _gap(found, given, name, value, power_width)) is not None
    }


def _gap(found: Found, given: Mapping[str, Estimate], name: str, expected: float, power_width: float) -> Gap | None:
    from energy.study.readings import QUANTITIES

    readings = found.typed
    doubt = found.aside.get(name)
    if doubt is not None and doubt.as_read is not None:
        value, off = doubt.as_read.value, doubt.as_read.uncertainty
    elif name in given and given[name].origin == "read":
        value, off = given[name].value, given[name].uncertainty
    elif getattr(readings, name, None) is not None:
        value, off = float(getattr(readings, name)), half_width(readings, name) / math.sqrt(3.0)
    else:
        return None
    kind = "gas flow" if name == "air_flow" else QUANTITIES[name].kind
    limits = dew_points(found) if name == "dew_point" else None
    damp = ""
    if limits is not None and limits.damper(value, math.sqrt(3.0) * off):
        damp = BEYOND if limits.refused(value) else WITHIN
    known = throughputs(found) if name == "throughput" else None
    if known is not None:
        expected = min(max(value, known.low), known.high)
    own = power_width * expected if name == "power" else _own(found, name, expected)
    return Gap(
        name=name,
        kind=kind,
        read=value,
        expected=expected,
        uncertainty=math.hypot(off, own),
        of_reading=off,
        damp=damp,
        poor_jacket=name == "shell_temperature" and hotter_than_good(found),
        known=known,
    )


def _own(found: Found, name: str, expected: float) -> float:
    """Standard uncertainty of what the model expects."""
    width = _WIDTHS[name]
    if isinstance(width, str):
        width = usual(_OPEN[1] if width == _OPEN[0] and not found.closed else width)
    absolute = name.endswith("temperature") or name == "dew_point"
    return (width if absolute else width * abs(expected)) / math.sqrt(3.0)


def _expected(found: Found) -> dict[str, float]:
    op, duty = found.expected, found.duty
    electric = sum(float(np.ravel(v)[0]) for (_, c), v in op.energy.items() if c == "electricity")
    told = {"throughput": float(found.case.model.hoppers[found.place].throughput), "power": electric}
    if found.batch:
        return told
    told |= {
        "air_flow": float(op.air_flow[0]),
        "process_temperature": float(duty.drying_temperature[0]),
        "return_temperature": float(op.hopper.return_temperature[0]),
        "heater_inlet_temperature": before_heater(found, op, duty),
        "dew_point": float(op.delivered_dew_point[0]),
        "shell_temperature": float(np.ravel(op.shell_temperature)[0]),
    }
    if "pressure_rise" in op.details:  # at the flow that was found
        told["blower_pressure"] = float(np.ravel(found.as_found.details["pressure_rise"])[0])
    if found.closed:
        told |= {
            "desiccant_inlet_temperature": float(np.ravel(op.details["adsorption_temperature"])[0]),
            "regeneration_temperature": float(found.machine.inputs.regeneration_temperature),  # type: ignore[attr-defined]
            "regeneration_cycle": cycle_expected(found),
            "regeneration_power": regeneration_of(op),
        }
    return told
