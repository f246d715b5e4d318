"""The kinds of quantity, the units each accepts with their factors, and what to say of units that mislead.

Conventions: Btu and therm are International Table units; kcal is the IT kilocalorie (1 kcal/h = 1.163 W)
except per mole, where it is the thermochemical one (4184 J); gal is the US gallon; a year has 8760 h and a
month is a twelfth of it.

Source
------
Exact factors: NIST SP 811 (2008), appendix B.8. Gas constant of dry air: ISO 2533:1975.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import NamedTuple

STANDARD_ATMOSPHERE = 101325.0
"""Pressure at sea level, and what gauge readings are counted from when nothing else is said. [Pa]"""
GAS_CONSTANT_DRY_AIR = 287.05287
"""Specific gas constant of dry air, ISO 2533:1975; ideal gas. [J/(kg K)]"""

_IN, _FT, _LB = 0.0254, 0.3048, 0.45359237
_FT3 = _FT**3
_PSI = _LB * 9.80665 / _IN**2
_BTU, _KCAL = 1055.05585262, 4186.8
_MIN, _H = 60.0, 3600.0
_RANKINE = 1 / 1.8


class Scale(NamedTuple):
    """How a unit is read: ``si = x * factor + offset``; a share w on wet basis then becomes w / (1 - w)."""

    factor: float
    offset: float = 0.0
    gauge: bool = False
    wet: bool = False


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of quantity.

    Its name, SI unit, accepted units (any currency stands as USD), the units it is shown in to SI and to US
    customary readers (any currency stands as money), and its name with article for a sentence.
    """

    name: str
    si: str
    units: tuple[str, ...]
    shown_si: str
    shown_us: str
    article: str


VOLUME = {"m3": 1.0, "L": 1e-3, "ft3": _FT3, "gal": 231 * _IN**3, "ccf": 100 * _FT3, "Mcf": 1000 * _FT3}
MASS = {"kg": 1.0, "g": 1e-3, "t": 1000.0, "lb": _LB, "short ton": 2000 * _LB}
ENERGY = {
    "J": 1.0,
    "kJ": 1e3,
    "MJ": 1e6,
    "GJ": 1e9,
    "Wh": _H,
    "kWh": 1e3 * _H,
    "MWh": 1e6 * _H,
    "Btu": _BTU,
    "kBtu": 1e3 * _BTU,
    "MMBtu": 1e6 * _BTU,
    "therm": 1e5 * _BTU,
}
POWER = {
    "W": 1.0,
    "kW": 1e3,
    "MW": 1e6,
    "hp": 550 * _FT * _LB * 9.80665,
    "Btu/h": _BTU / _H,
    "kBtu/h": 1e3 * _BTU / _H,
    "MMBtu/h": 1e6 * _BTU / _H,
    "ton of refrigeration": 12e3 * _BTU / _H,
    "TR": 12e3 * _BTU / _H,
    "kcal/h": _KCAL / _H,
}
APPARENT = {"kVA": 1e3, "VA": 1.0, "MVA": 1e6}
REACTIVE = {"kvar": 1e3, "var": 1.0, "Mvar": 1e6}
MASS_FLOW = {
    "kg/h": 1 / _H,
    "kg/s": 1.0,
    "kg/min": 1 / _MIN,
    "g/s": 1e-3,
    "t/h": 1000 / _H,
    "lb/h": _LB / _H,
    "short ton/h": 2000 * _LB / _H,
    "lb/min": _LB / _MIN,
    "lb/s": _LB,
}
VOLUME_FLOW = {"m3/h": 1 / _H, "m3/min": 1 / _MIN, "m3/s": 1.0, "L/s": 1e-3, "L/min": 1e-3 / _MIN}
CFM = {"acfm": _FT3 / _MIN, "cfm": _FT3 / _MIN, "ft3/min": _FT3 / _MIN, "ft3/h": _FT3 / _H}


def _linear(factors: Mapping[str, float]) -> dict[str, Scale]:
    return {unit: Scale(factor) for unit, factor in factors.items()}


def _gas_flow() -> dict[str, Scale]:
    """Flows of dry air counted as a volume; the condition of that volume is part of the unit."""

    def at(condition: str, units: Mapping[str, float], pressure: float, temperature: float) -> dict[str, Scale]:
        density = pressure / (GAS_CONSTANT_DRY_AIR * temperature)
        return {condition.format(unit): Scale(factor * density) for unit, factor in units.items()}

    cubic = {unit: factor for unit, factor in VOLUME_FLOW.items() if unit.startswith("m3")}
    standard = {"scfm": CFM["cfm"]}
    return {
        **at("N{}", cubic, STANDARD_ATMOSPHERE, 273.15),
        **at("{}", standard, STANDARD_ATMOSPHERE, 519.67 * _RANKINE),
        **at("{} at 60 degF", standard, STANDARD_ATMOSPHERE, 519.67 * _RANKINE),
        # "14.5 psia, 68 degF" is the 1 bar(a), 20 degC of ISO 1217, rounded.
        **at("{} at 68 degF", standard, 1e5, 293.15),
        **at("{} FAD", VOLUME_FLOW | {"cfm": CFM["cfm"], "ft3/min": CFM["cfm"]}, 1e5, 293.15),
        **at("{} at 0 degC", VOLUME_FLOW, STANDARD_ATMOSPHERE, 273.15),
        **at("{} at 20 degC", VOLUME_FLOW, STANDARD_ATMOSPHERE, 293.15),
        **_linear(MASS_FLOW),
    }


def _pressure() -> dict[str, Scale]:
    """Pressures that say gauge or absolute; plain ones are left out on purpose, but for Pa, atm and Torr."""
    table = _linear({"Pa": 1.0, "atm": STANDARD_ATMOSPHERE, "Torr": STANDARD_ATMOSPHERE / 760})
    for gauge, absolute in (("(g)", "(a)"), ("g", "a"), (" gauge", " absolute")):
        for unit, factor in {"bar": 1e5, "mbar": 1e2, "kPa": 1e3, "MPa": 1e6, "psi": _PSI}.items():
            table[unit + gauge] = Scale(factor, STANDARD_ATMOSPHERE, gauge=True)
            table[unit + absolute] = Scale(factor)
    table |= {"Pa(a)": Scale(1.0), "Pa(g)": Scale(1.0, STANDARD_ATMOSPHERE, gauge=True)}
    first = ("bar(g)", "bar(a)", "kPa(g)", "kPa(a)", "psig", "psia", "mbar(a)")
    return {unit: table[unit] for unit in first} | table


def _moisture() -> dict[str, Scale]:
    """Water in resin; % and ppm alone are by mass on wet basis, as ISO 15512 results are."""
    parts = {"%": 1e-2, "ppm": 1e-6, "g/kg": 1e-3, "kg/kg": 1.0}
    table = {unit: Scale(parts[unit], wet=True) for unit in ("%", "ppm")}
    for spelling in ("{} {} basis", "{} ({} basis)"):
        table |= {spelling.format(u, b): Scale(x, wet=b == "wet") for u, x in parts.items() for b in ("wet", "dry")}
    return table


TABLES: dict[str, dict[str, Scale]] = {}
"""Factors by kind and spelling."""
DENOMINATORS: dict[str, str] = {}
"""Of a price, the kind of what stands below the money."""
_kinds: dict[str, Kind] = {}


def _add(name: str, si: str, shown: tuple[str, str], article: str, table: dict[str, Scale]) -> None:
    listed = tuple(u for u in table if u and not re.search(r" (gauge|absolute)$|\(\w+ basis\)", u))
    TABLES[name], _kinds[name] = table, Kind(name, si, listed, *shown, article)


def _add_money(
    name: str, si: str, shown: tuple[str, str], article: str, table: dict[str, float], per: str = ""
) -> None:
    if per:
        DENOMINATORS[name] = per
    TABLES[name] = _linear(table)
    listed = tuple(f"USD{end}" for end in table)
    _kinds[name] = Kind(name, f"money{si}", listed, f"money{shown[0]}", f"money{shown[1]}", article)


_add(
    *("temperature", "K", ("degC", "degF"), "a temperature"),
    {"degC": Scale(1.0, 273.15), "degF": Scale(_RANKINE, 459.67 * _RANKINE), "K": Scale(1.0)},
)
_add(
    *("temperature difference", "K", ("K", "degF"), "a temperature difference"),
    _linear({"K": 1.0, "degC": 1.0, "degF": _RANKINE, "delta_degC": 1.0, "delta_degF": _RANKINE}),
)
_add(
    *("length", "m", ("m", "ft"), "a length"),
    _linear({"m": 1.0, "cm": 1e-2, "mm": 1e-3, "um": 1e-6, "ft": _FT, "in": _IN}),
)
_add(
    *("area", "m2", ("m2", "ft2"), "an area"),
    _linear({"m2": 1.0, "cm2": 1e-4, "mm2": 1e-6, "ft2": _FT**2, "in2": _IN**2}),
)
_add("volume", "m3", ("m3", "ft3"), "a volume", _linear(VOLUME))
_add("mass", "kg", ("kg", "lb"), "a mass", _linear(MASS))
_add("mass flow", "kg/s", ("kg/h", "lb/h"), "a mass flow", _linear(MASS_FLOW))
_add("volume flow", "m3/s", ("m3/h", "acfm"), "an actual volume flow", _linear(VOLUME_FLOW | CFM))
_add("gas flow", "kg/s", ("m3/h at 0 degC", "scfm"), "a gas flow with its reference condition", _gas_flow())
_add("pressure", "Pa", ("bar(a)", "psia"), "a pressure that says gauge or absolute", _pressure())
_add(
    *("pressure difference", "Pa", ("kPa", "psi"), "a pressure difference"),
    _linear({"Pa": 1.0, "kPa": 1e3, "mbar": 1e2, "bar": 1e5, "psi": _PSI, "inH2O": 9806.65 * _IN}),
)
_add("power", "W", ("kW", "kW"), "a power", _linear(POWER))
_add("energy", "J", ("kWh", "kWh"), "an energy", _linear(ENERGY))
_add("current", "A", ("A", "A"), "an electric current", _linear({"A": 1.0, "mA": 1e-3, "kA": 1e3}))
_add("voltage", "V", ("V", "V"), "a voltage", _linear({"V": 1.0, "kV": 1e3}))
_add("demand", "W or VA", ("kW", "kW"), "a demand in kW or kVA", _linear(POWER | APPARENT))
_add("apparent power", "VA", ("kVA", "kVA"), "an apparent power", _linear(APPARENT))
_add(
    *("reactive energy", "var s", ("kvarh", "kvarh"), "a reactive energy"),
    _linear({f"{unit}h": _H * factor for unit, factor in REACTIVE.items()}),
)
_add(
    *("heating value", "J/m3", ("MJ/m3", "Btu/ft3"), "an energy per volume of gas"),
    _linear(
        {f"{e}/{v}": ENERGY[e] / VOLUME[v] for e in ("MJ", "kWh", "Btu", "therm", "MMBtu") for v in ("m3", "ft3")}
        | {"therm/ccf": ENERGY["therm"] / VOLUME["ccf"], "MMBtu/Mcf": ENERGY["MMBtu"] / VOLUME["Mcf"]}
    ),
)
_add(
    *("specific energy", "J/kg", ("Wh/kg", "Wh/lb"), "a specific energy"),
    _linear(
        {"J/kg": 1.0, "kJ/kg": 1e3, "MJ/kg": 1e6, "Wh/kg": _H, "kWh/kg": 1e3 * _H, "kWh/t": _H}
        | {"Wh/lb": _H / _LB, "kWh/lb": 1e3 * _H / _LB, "Btu/lb": _BTU / _LB, "kcal/kg": _KCAL}
    ),
)
_add(
    *("specific heat", "J/(kg K)", ("kJ/(kg K)", "Btu/(lb degF)"), "a specific heat"),
    _linear({"J/(kg K)": 1.0, "kJ/(kg K)": 1e3, "J/(g K)": 1e3, "Btu/(lb degF)": _BTU / (_LB * _RANKINE)}),
)
_add(
    *("density", "kg/m3", ("kg/m3", "lb/ft3"), "a density"),
    _linear({"kg/m3": 1.0, "kg/L": 1e3, "g/cm3": 1e3, "g/L": 1.0, "lb/ft3": _LB / _FT3}),
)
_add(
    *("conductivity", "W/(m K)", ("W/(m K)", "Btu/(h ft degF)"), "a thermal conductivity"),
    _linear({"W/(m K)": 1.0, "mW/(m K)": 1e-3, "Btu/(h ft degF)": _BTU / (_H * _FT * _RANKINE)}),
)
_add(
    *("diffusivity", "m2/s", ("m2/s", "ft2/h"), "a diffusivity"),
    _linear({"m2/s": 1.0, "cm2/s": 1e-4, "mm2/s": 1e-6, "m2/h": 1 / _H, "ft2/h": _FT**2 / _H}),
)
_add(
    *("molar energy", "J/mol", ("kJ/mol", "kJ/mol"), "a molar energy"),
    _linear({"J/mol": 1.0, "kJ/mol": 1e3, "kJ/kmol": 1.0, "kcal/mol": 4184.0}),
)
_add("share", "", ("%", "%"), "a share", _linear({"": 1.0, "%": 0.01}))
# Of two masses too, such as air per resin.
_add("ratio", "", ("", ""), "a ratio", _linear({"": 1.0, "%": 0.01, "kg/kg": 1.0, "lb/lb": 1.0}))
_add(
    *("time", "s", ("h", "h"), "a time"),
    _linear(
        {
            "s": 1.0,
            "min": _MIN,
            "h": _H,
            "day": 24 * _H,
            "week": 168 * _H,
            "month": 730 * _H,
            "year": 8760 * _H,
        }
    ),
)
_add("moisture", "kg/kg dry basis", ("% wet basis", "% wet basis"), "a moisture content", _moisture())
_add(
    *("specific power", "J/m3", ("kW/(m3/min)", "kW/100 cfm"), "a specific power of compressed air"),
    _linear(
        {"kW/(m3/min)": 1e3 * _MIN, "kW/(m3/h)": 1e3 * _H, "kW/100 cfm": 10 * _MIN / _FT3}
        | {"kWh/m3": 1e3 * _H, "kWh/1000 ft3": _H / _FT3, "Wh/m3": _H, "kJ/m3": 1e3, "J/m3": 1.0}
    ),
)
_add(
    *("velocity", "m/s", ("m/s", "ft/min"), "a velocity"),
    _linear({"m/s": 1.0, "m/min": 1 / _MIN, "km/h": 1 / 3.6, "ft/min": _FT / _MIN, "ft/s": _FT}),
)
_add(
    *("rate", "1/year", ("%/year", "%/year"), "a rate"),
    _linear({"%": 0.01, "%/year": 0.01, "1/year": 1.0, "/year": 1.0}),
)
_add(
    *("emission factor", "kg/J", ("kg/kWh", "lb/kWh"), "an emission factor"),
    _linear({f"{m}/{e}": MASS[m] / ENERGY[e] for e in ("kWh", "MWh", "MMBtu", "GJ") for m in ("kg", "g", "lb", "t")}),
)
_add_money(
    *("price per energy", "/J", ("/kWh", "/kWh"), "a price per energy"),
    {f"/{u}": 1 / ENERGY[u] for u in ("kWh", "MWh", "MMBtu", "therm", "GJ", "MJ", "J")},
    per="energy",
)
_add_money(
    *("price per volume", "/m3", ("/m3", "/1000 ft3"), "a price per volume"),
    {f"/{u}": 1 / VOLUME[u] for u in VOLUME} | {f"/1000 {u}": 1e-3 / VOLUME[u] for u in ("ft3", "gal")},
    per="volume",
)
_add_money(
    *("price per mass", "/kg", ("/kg", "/lb"), "a price per mass"),
    {f"/{u}": 1 / MASS[u] for u in MASS},
    per="mass",
)
_add_money(
    *("price per power", "/W/month", ("/kW/month", "/kW/month"), "a price per power and month"),
    {
        f"/{u}{end}": x / (POWER | APPARENT | REACTIVE)[u]
        for u in ("kW", "MW", "hp", "W", "kVA", "VA", "kvar", "var")
        for end, x in {"/month": 1, "": 1, "/year": 1 / 12}.items()
    },
    per="power",
)
_add_money("money", "", ("", ""), "an amount of money", {"": 1.0})
_add_money(
    "money per year",
    "/year",
    ("/year", "/year"),
    "an amount of money per year",
    {"/year": 1.0, "/month": 12.0},
)

KINDS: Mapping[str, Kind] = MappingProxyType(_kinds)
"""Every kind of quantity by name."""


def _hints() -> dict[tuple[str, str], str]:
    """What to write instead of a unit that can mean two things, by kind and unit."""
    hints = {
        ("pressure", u): f"{u} does not say gauge or absolute; write {u}(g) or {u}(a)"
        for u in ("bar", "mbar", "kPa", "MPa")
    }
    hints["pressure", "psi"] = "psi does not say gauge or absolute; write psig or psia"
    condition = "does not say at which condition the gas is counted as a volume; write"
    for u in VOLUME_FLOW:
        hints["gas flow", u] = (
            f"{u} {condition} {u} at 0 degC or {u} at 20 degC (both 1013 mbar(a)), {u} FAD (1 bar(a), 20 degC), or the air as it is at the blower, "
            f"as in {u} at 20 degC and 845 mbar(a)"
        )
    for u in CFM:
        hints["gas flow", u] = (
            f"{u} {condition} scfm (60 degF, 14.696 psia), scfm at 68 degF (14.5 psia), cfm FAD (1 bar(a), 20 degC), or the air as it is at the "
            "blower, as in cfm at 68 degF and 12.3 psia"
        )
    for u in ("scfm", *(f"N{u}" for u in VOLUME_FLOW)):
        hints["volume flow", u] = (
            f"{u} counts gas at a reference condition; write the flow as it is there, in m3/h or acfm"
        )
    for kind, end in (("mass", ""), ("mass flow", "/h")):
        hints[kind, f"ton{end}"] = f"ton{end} can be 1000 kg or 2000 lb; write t{end} or short ton{end}"
    for kind, end in (("energy", ""), ("power", "/h")):
        hints[kind, f"MBtu{end}"] = f"MBtu{end} can be a thousand or a million Btu; write kBtu{end} or MMBtu{end}"
    hints["power", "ton"] = "ton is not a power by itself; write ton of refrigeration"
    for u in ("g/kg", "kg/kg"):
        hints["moisture", u] = f"{u} does not say the basis; write {u} wet basis or {u} dry basis"
    return hints


HINTS = _hints()
"""What to write instead of a unit that can mean two things, by kind and unit."""
