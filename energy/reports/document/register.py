"""The inputs that a request rests on: those of the plant, the baseline and the recommended option that a figure depends on."""

from __future__ import annotations

import re
from calendar import month_name
from collections.abc import Iterable
from dataclasses import replace

from energy.reports import inputs
from energy.reports.document.capital import with_quotes
from energy.reports.document.proposal import Proposal
from energy.reports.document.words import BESIDE
from energy.study.case import Case
from energy.study.idle import is_idle
from energy.study.paths import written

_OF = {
    "gas": r"tariffs\.gas|tariff gas\.|finance\.escalation_gas$|factors\.gas_|options\[.*\.gas_efficiency$",
    "compressed air": r"compressed_air\.",
    "cooling": r"cooling\.|tariffs\.(water|cooling)|tariff (water|cooling)\.|site\.cooling_water_temperature$",
}
"""Paths of the inputs that count only where a carrier is bought."""

_MONTH = re.compile(r"site\.months\[(\d+)\]\.")


def left_out(p: Proposal) -> list[str]:
    """Carriers that neither the baseline nor the recommended option uses and the case has inputs of."""
    compared = [p.base, *([p.option] if p.option else [])]
    money = {"gas": "gas", "cooling": "water"}
    unused = [
        carrier
        for carrier in _OF
        if not any(o.carrier(carrier) or o.annual_cost.get(money.get(carrier, ""), 0.0) for o in compared)
    ]
    return [carrier for carrier in unused if any(re.match(_OF[carrier], e.path) for e in inputs.register(p.case))]


def used(p: Proposal, entries: Iterable[inputs.Input]) -> list[inputs.Input]:
    """Those inputs that a figure of the baseline or the recommended option depends on."""
    away = [_OF[carrier] for carrier in left_out(p)]
    return [e for e in with_quotes(p, entries) if not any(re.match(pattern, e.path) for pattern in away)]


def register(p: Proposal) -> list[inputs.Input]:
    """Inputs of the case but for those of options that are not compared here; labels name hopper or resin."""
    others = {o.name for o in p.comparison.options} - {p.base.name, *([p.option.name] if p.option else [])}
    away = (*(f"options['{name}']" for name in others), "plant_load.months", *BESIDE)
    entries = used(p, inputs.register(p.case))
    found = [e for e in entries if not e.path.startswith(away) and not is_idle(p.case.model, e.path)]
    return [replace(e, label=_label(p.case, e)) for e in found]


def month_of(case: Case, entry: inputs.Input) -> str:
    """Name of the month of the climate that an input is of; empty for all others."""
    found = _MONTH.match(entry.path)
    return month_name[case.model.site.months[int(found[1]) - 1].month] if found else ""


def _label(case: Case, entry: inputs.Input) -> str:
    """The label with the hopper, option or resin it belongs to; a typical value belongs to none."""
    label = entry.label[:1].upper() + entry.label[1:]
    if month := month_of(case, entry):
        return f"{month}: {label.lower()}"
    if entry.path.startswith("resin "):
        return f"{entry.path.removeprefix('resin ').partition('.')[0]}: {label.lower()}"
    owner = entry.path.partition("['")[2].partition("']")[0]
    section, _, key = entry.path.partition(".")
    if not owner and label.lower() == key.replace("_", " "):  # a choice among words, told by its key alone
        return f"{section.replace('_', ' ').capitalize()}: {label.lower()}"
    if not owner or written(case.document, entry.path) is None:
        return label
    if entry.hopper:
        owner += f" at {entry.hopper}"
    line = re.search(r"\.(capital|replacement)s?\[\d+\]\.", entry.path)
    return f"{owner}: {f'{line[1]}, ' if line else ''}{label.lower()}"
