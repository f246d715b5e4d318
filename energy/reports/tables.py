"""Rows and figures of a comparison that text, JSON, documents and pages have in common."""

from __future__ import annotations

import math

import numpy as np

from energy.dryers import circuit_inputs
from energy.reports.paid_back import paid_back
from energy.study.case import Case
from energy.study.compare import OptionResult
from energy.study.life_cycle_measures import Measures
from energy.tariffs import Tariff
from energy.units import shown_unit, to_unit


def sizes_note(system: str) -> str:
    """What the columns of the sizes count."""
    free = {"si": "1 bar, 20 °C", "us": "14.5 psia, 68 °F"}[system]
    return (
        f"air at the blower's inlet, or as free air ({free}) where compressed; heater for a start from cold; "
        "regeneration heater while it heats, without margin; motor rating of the blower"
    )


def peak_note(case: Case) -> str:
    """What a peak is a mean of, and what the bill's demand is where that is another."""
    electricity = case.tariffs.get("electricity")
    window = 15.0 if electricity is None else float(electricity.demand_window) / 60.0
    said = "highest mean of 15 minutes"
    if window == 15.0:
        return said
    return f"{said}; the tariff bills means of {window:.0f} minutes, which can be lower"


def demand_counted(case: Case) -> str:
    """How the dryers' power comes onto the billed demand, in words; beside a plant that is read by the interval it is laid over the readings."""
    share = f"{100 * float(case.model.tariffs.coincidence):.3g} %"
    after = _regenerated_later(case)
    electricity = case.tariffs.get("electricity")
    if case.readings is not None and electricity is not None:
        return (
            "the dryers' mean power in each operating state, starts from cold too, is laid over the plant's readings interval by interval; "
            f"where their peak in a state stands further above that mean than that of the present dryers, {share} of the difference is added in that state, "
            f"and where it stands less far above it, taken off{after}"
        )
    starts = ", starts from cold too," if case.model.calendar.shifts else ""
    return f"the highest power of the dryers in each operating state{starts} comes onto the billed demand, {share} of it{after}"


def _regenerated_later(case: Case) -> str:
    """Why the peak of a dryer with beds may be above that of each level of throughput, in a clause; empty where it cannot be."""
    dryers = [of for option in case.model.options for of in (option.inputs, *(own.inputs for own in option.machines))]
    with_beds = any(isinstance(inputs, circuit_inputs.Inputs) and float(inputs.beds) > 1.0 for inputs in dryers)
    if not with_beds or all(len(hopper.levels) < 2 for hopper in case.model.hoppers):
        return ""
    return (
        "; a desiccant bed loaded at one level of throughput is regenerated while the next has begun, so that the peak of a dryer with beds may be "
        "above that of each level"
    )


def clock_taken(case: Case) -> str:
    """Whose clock the stamps of the plant's readings are taken on, where neither they nor the case say it; empty otherwise."""
    given = case.model.plant_load
    file = "" if given is None or given.zone is not None else given.file or ""
    if case.readings is None or case.readings.zone is None or not file or file.lower().endswith(".xml"):
        return ""
    return f"The time stamps of {file} have no offset and are read on the tariff's own clock, {case.readings.zone}."


GAS = {"si": "kWh", "us": "MMBtu"}
"""Unit of a year's gas (higher heating value) in the reader's units."""


def in_whole(values: list[float], total: float) -> list[int]:
    """Amounts as whole money that add up to the total as it is printed: each rounded up or down, the nearest first."""
    down = [math.floor(round(value, 6)) for value in values]
    missing = round(total) - sum(down)
    nearest = sorted(range(len(values)), key=lambda i: down[i] - values[i])
    return [whole + (i in nearest[:missing]) for i, whole in enumerate(down)]


def paybacks(m: Measures) -> str:
    """Payback in years, overhauls counted, in brackets that on running cost alone where replacements are spared or added."""
    alone = f" ({paid_back(m, 'payback_on_savings')})" if np.any(m.streams["replacements"] != 0.0) else ""
    return paid_back(m, "payback") + alone


def sizes(options: list[OptionResult], system: str) -> tuple[list[str], list[list[str]]]:
    """How big each machine is: headings with units, and a row for each option that begins with its name."""
    si = system == "si"
    volume, flow, air = ("m3", "m3/h", "m3/min") if si else ("ft3", "acfm", "cfm")
    mass = shown_unit("mass", system)
    head = ["option", f"hopper {volume}", f"air {flow}", "heater kW", "regeneration kW", "blower kW"]
    head += [f"desiccant {mass}", f"compressed-air {air}"]
    rows = []
    for o in options:
        s = o.sizing
        rows.append(
            [
                o.name,
                _figure(float(to_unit(s["hopper_volume"], "volume", volume))),
                f"{to_unit(s['airflow'], 'volume flow', flow):,.0f}",
                *(_figure(s[key] / 1e3) for key in ("process_heater", "regeneration_heater", "blower")),
                _figure(float(to_unit(s["desiccant"], "mass", mass))),
                _figure(float(to_unit(s["compressed_air"], "volume flow", air))),
            ]
        )
    return head, rows


def _figure(value: float) -> str:
    """Three significant digits, noughts too, so that a column reads evenly; a dash for what there is not."""
    return "-" if value <= 0 else f"{value:#.3g}".rstrip(".") if value < 999.5 else f"{value:,.0f}"


def describe(tariff: Tariff) -> str:
    """The prices of a tariff in one line."""
    return " + ".join(tariff.describe())
