"""Charges of every type, a calendar and loads, for the tests of tariffs."""

from __future__ import annotations

import numpy as np

from energy.tariffs import Load, Tariff

KWH = 3.6e6
WORKDAYS = ["mon", "tue", "wed", "thu", "fri"]
CALENDAR = {
    "time_zone": "America/Chicago",
    "seasons": {"summer": ["06-01 to 09-30"], "winter": ["10-01 to 05-31"]},
    "holidays": {"country": "US", "names": ["Independence Day", "Labor Day"], "rule": "sunday to monday"},
    "windows": [
        {"period": "on-peak", "seasons": ["summer"], "days": WORKDAYS, "hours": ["12:00-18:00"]},
        {"period": "shoulder", "days": WORKDAYS, "seasons": ["winter"], "hours": ["06:00-10:00", "17:00-21:00"]},
    ],
    "rest": "off-peak",
}
COMMON = {"id": "it", "label": "The charge", "clause": "Clause 7", "source": "invented"}
BASE = {**COMMON, "id": "base", "label": "Base", "clause": "Clause 1", "type": "energy-flat", "price": "0.1 USD/kWh"}
DEMAND = {**COMMON, "id": "kw", "label": "Demand", "clause": "Clause 2", "type": "demand-flat", "price": "5 USD/kW"}
OWN = {
    "fixed": {"per_month": "90 USD"},
    "energy-flat": {"price": "0.115 USD/kWh"},
    "energy-time-of-use": {
        "prices": [
            {"periods": ["on-peak"], "price": "0.21 USD/kWh"},
            {"periods": ["shoulder"], "price": "0.14 USD/kWh"},
            {"periods": ["summer off-peak"], "price": "0.09 USD/kWh"},
            {"periods": ["winter off-peak"], "price": "0.08 USD/kWh"},
        ]
    },
    "energy-blocks": {
        "blocks": [
            {"up_to": "15000 kWh", "price": "0.14 USD/kWh"},
            {"up_to": "60000 kWh", "price": "0.11 USD/kWh"},
            {"price": "0.12 USD/kWh"},
        ],
        "per": "30 days",
    },
    "hours-use-blocks": {
        "demand": "kw",
        "blocks": [
            {"up_to": "200 h", "price": "0.12 USD/kWh"},
            {"up_to": "400 h", "price": "0.09 USD/kWh"},
            {"price": "0.07 USD/kWh"},
        ],
    },
    "rider-per-energy": {"price": "-0.004 USD/kWh"},
    "carbon": {"price": "40 USD/t", "emission_factor": "0.18 kg/kWh"},
    "demand-flat": {
        "price": "13 USD/kW/month",
        "ratchet": {"share": "80 %"},
        "power_factor": {"rule": "target-over-factor", "target": "90 %"},
        "rounding": "1 kW",
    },
    "demand-time-of-use": {
        "prices": [
            {"periods": ["on-peak"], "price": "16 USD/kW"},
            {"periods": ["shoulder", "winter off-peak"], "price": "7 USD/kW", "name": "winter"},
        ],
        "free": "5 kW",
    },
    "demand-blocks": {"blocks": [{"up_to": "50 kW", "price": "0 USD/kW"}, {"price": "9 USD/kW"}]},
    "reactive-demand": {"price": "0.40 USD/kvar", "free_share": "20 %"},
    "capacity": {"price": "3 USD/MMBtu", "ratchet_share": "60 %"},
    "volume-flat": {"price": "3.20 USD/m3"},
    "volume-blocks": {"blocks": [{"up_to": "30 m3", "price": "2 USD/m3"}, {"price": "3 USD/m3"}]},
    "rider-percent": {"share": "-2 %", "of": ["base", "kw"]},
    "discount": {"share": "3 %", "of": ["base"]},
    "load-factor-credit": {"price": "0.005 USD/kW", "over": "100 h", "demand": "kw"},
    "minimum-bill": {"per_month": "250 USD", "price": "60 USD/kW", "demand": "kw", "of": ["base"]},
    "tax-percent": {"share": "6 %", "of": ["base"]},
}
"""An example of the keys of each type; a new type needs one here."""


def tariff_with(kind, calendar=CALENDAR, before=(BASE, DEMAND), **changes):
    """A tariff of a base charge, a demand charge and the example of one type."""
    charge = {**COMMON, **OWN[kind], "type": kind} | changes
    return tariff_of(*before, charge, calendar=calendar)


def tariff_of(*charges, commodity="electricity", **others):
    """A tariff of some charges, without the keys that do not matter to a test."""
    common = {"clause": "1", "source": "test"}
    return Tariff.model_validate(
        {
            "name": "T",
            "commodity": commodity,
            "currency": "USD",
            "source": "test",
            "charges": [{"label": charge["id"]} | common | charge for charge in charges],
        }
        | others
    )


def in_june(quantity):
    """A quantity in June and nothing in the other months."""
    return np.where(np.arange(12) == 5, quantity, 0.0)


def random_load(generator, cells, *leading):
    """A load with every quantity, by price cell too."""
    energy = generator.uniform(1e9, 1e11, (*leading, 12, len(cells)))
    return Load(
        cells=tuple(cells),
        cell_energy=energy,
        cell_peak=generator.uniform(2e4, 2e5, (*leading, 12, len(cells))),
        volume=generator.uniform(1.0, 90.0, (*leading, 12)),
        daily_peak=generator.uniform(1e9, 1e10, (*leading, 12)),
        power_factor=generator.uniform(0.75, 1.0, (*leading, 12)),
        year=2026,
    )


def scaled(load, factor):
    """The same load, every quantity times a factor."""
    return Load(
        cells=load.cells,
        cell_energy=load.cell_energy * factor,
        cell_peak=load.cell_peak * factor,
        volume=load.volume * factor,
        daily_peak=load.daily_peak * factor,
        power_factor=load.power_factor,
        year=load.year,
    )


def worked_load(rate):
    """The load of a tariff's worked bill: one month, and nothing in the others."""
    worked = rate.worked
    only = np.arange(12) == worked.month - 1
    fields = {
        key: np.where(only, getattr(worked, key), 0.0)
        for key in ("energy", "peak", "volume", "daily_peak")
        if getattr(worked, key) is not None
    }
    if worked.power_factor is not None:
        fields["power_factor"] = np.full(12, worked.power_factor)
    if worked.energy_in or worked.peak_in:
        cells = rate.price_calendar.cells
        fields["cells"] = cells
        for field, given in (("cell_energy", worked.energy_in), ("cell_peak", worked.peak_in)):
            fields[field] = np.where(only[:, None], [given.get(cell, 0.0) for cell in cells], 0.0)
    return Load(year=2026, **fields)
