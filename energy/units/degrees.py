"""A temperature with its number in the other unit: what it would be, had degF been taken for degC or the other way round."""

from __future__ import annotations

from energy.units import parse, show, to_unit

_OTHER = {"degC": "degF", "degF": "degC"}


def unit_typed(value: float, system: str = "si") -> str:
    """Unit that a temperature was written in; that of the system where it came as a number."""
    text = getattr(value, "text", "")
    if text:
        return "degF" if "F" in text else "degC"
    return "degF" if system == "us" else "degC"


def in_other(value: float, unit: str) -> float:
    """The temperature, written in degC or degF, with its number in the other of them. [K]"""
    return parse(f"{float(to_unit(value, 'temperature', unit)):.12g} {_OTHER[unit]}", "temperature")


def said_in_other(value: float, unit: str) -> str:
    """``246 degF would be 119 degC``, of a temperature of 246 degC."""
    other = in_other(value, unit)
    return f"{show(other, 'temperature', _OTHER[unit])} would be {show(other, 'temperature', unit)}"
