"""Every input of a case with its value, unit, basis and source; what is assumed is named."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from pydantic import BaseModel

from energy.reports.catalogue import number
from energy.resins.properties import Resin
from energy.sources import Sourced, load
from energy.study.case import Case
from energy.study.idle import is_idle
from energy.study.paths import typical_of, walk, written
from energy.study.plant_sections import Hopper
from energy.study.references import is_price
from energy.study.retrofits import ITS_OWN, inherited
from energy.study.schema import CaseFile
from energy.units import Quantity, show, usual_unit

_NAMES = ("name", "note", "item", "quotation", "kind", "currency", "units", "baseline")
"""Keys that name things and change no result."""
_WORDS = {"part": "what it pays for"}
"""What a key is called where its own word says nothing."""
_MACHINE = re.compile(r"options\['.*'\]\.machines\[\d+\]")
_PLAIN = str.maketrans({"°": "deg", "²": "2", "³": "3", ",": None})
"""From what is shown to what one types."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Input:
    """One line of the register of inputs."""

    path: str
    label: str
    value: str
    basis: str
    source: str
    assumed: bool
    hopper: str = ""
    """That the dryer it is of stands at, where that dryer differs from the option's own."""


def register(case: Case) -> list[Input]:
    """All inputs: quantities and choices of the case first, then the prices of its tariffs and the resin's values."""
    lines = [
        _line(case, path, quantity.label, _shown(value, quantity, case))
        for path, quantity, value in walk(case.model)
        if value is not None
    ]
    choices = [
        _line(case, path, _WORDS.get(key := path.rpartition(".")[2], key.replace("_", " ")), text)
        for path, text in _choices(case.model)
    ]
    at = {path: hopper for path, _, hopper in _machines(case.model)}
    of_the_case = [
        replace(entry, hopper=at.get(machine_part(entry.path), ""))
        for entry in (*lines, *choices)
        if not _of_the_present(case, entry.path)
    ]
    return [*of_the_case, *_factors(case), *_of_tariffs(case), *_of_resin(case)]


def _of_the_present(case: Case, path: str) -> bool:
    """Is it of a retrofit, and as it is of the present dryers?"""
    for own, of in inherited(case.document).items():
        if path.startswith(own):
            key = path.removeprefix(own)
            alone = re.split(r"[.\[]", key)[0] in (*ITS_OWN, "retrofit")
            return not alone and written(case.completed, path) == written(case.completed, of + key)
    return False


def _machines(model: CaseFile) -> Iterator[tuple[str, str, str]]:
    """Path, option and hopper of each dryer that differs from its option's own."""
    for option in model.options:
        for i, machine in enumerate(option.machines, start=1):
            yield f"options['{option.name}'].machines[{i}]", option.name, machine.hopper


def machine_places(model: CaseFile) -> dict[str, str]:
    """Path of each dryer that differs from its option's own -> option and hopper, as people would say it."""
    return {path: f"{option} at {hopper}" for path, option, hopper in _machines(model)}


def machine_part(path: str) -> str:
    """The part of a path up to a dryer that differs; empty where it names none."""
    found = _MACHINE.match(path)
    return found[0] if found else ""


def _factors(case: Case) -> Iterator[Input]:
    """Emission factors behind the CO2, where the case gives none."""
    keys = ["gas_emission_factor"]
    if case.model.finance.electricity_emission is None:
        keys.append("electricity_emission_factor")
    for key in keys:
        stored = load("factors")[key]
        yield Input(
            path=f"factors.{key}",
            label=key.replace("_", " ").capitalize(),
            value=f"{number(stored.value)} {stored.unit}",
            basis=stored.basis,
            source=stored.citation(),
            assumed=True,
        )


def _choices(model: BaseModel, path: str = "") -> Iterator[tuple[str, str]]:
    """Every key of a case that is set and holds no quantity: a choice among words, a number of years."""
    for key in type(model).model_fields:
        value, here = getattr(model, key), f"{path}.{key}".lstrip(".")
        if key == "part" and value == "equipment":  # of every line of capital that says nothing
            continue
        if here == "request":  # its texts are no inputs of the comparison
            continue
        if isinstance(value, BaseModel):
            yield from _choices(value, here)
        elif isinstance(value, tuple):
            if value and isinstance(value[0], Mapping):  # a tariff: its prices stand among the prices
                yield here, ", ".join(str(entry.get("name", "without a name")) for entry in value)
                continue
            if value and not isinstance(value[0], BaseModel):
                yield here, ", ".join(str(entry) for entry in value)
                continue
            for i, entry in enumerate(value):
                yield from _choices(entry, f"{here}['{entry.name}']" if hasattr(entry, "name") else f"{here}[{i + 1}]")
        elif isinstance(value, bool) and key not in _NAMES:
            yield here, "yes" if value else "no"
        elif isinstance(value, str | int) and key not in _NAMES:
            yield here, str(value)


def _line(case: Case, path: str, label: str, shown: str) -> Input:
    raw = written(case.completed, path)
    if raw is None:
        stored = typical_of(case.model, path)
        basis, source = ("default", "") if stored is None else (stored.basis, stored.note or stored.citation())
        return Input(path=path, label=label, value=shown, basis=basis, source=source, assumed=True)
    table = raw if isinstance(raw, dict) else {}
    quotation = _quotation_of(case, path)
    basis = str(table.get("basis", "quoted" if quotation else "given"))
    span = f" ({table['low']} to {table['high']})" if "low" in table and "high" in table else ""
    text = shown if isinstance(raw, bool) else str(table.get("value", raw))
    same = shown if isinstance(raw, list) else text if shown.translate(_PLAIN) == text else f"{text} = {shown}"
    return Input(
        path=path,
        label=label,
        value=same + span,
        basis=basis,
        source=", ".join(t for t in (str(table.get("note", "") or _item_of(case, path)), quotation) if t),
        assumed=basis in ("assumption", "common practice"),
    )


def _quotation_of(case: Case, path: str) -> str:
    """The quotation that a line of capital names."""
    if not re.search(r"\.capital\[\d+\]\.amount$", path):
        return ""
    line = written(case.completed, path.rpartition("[")[0])
    own = written(case.completed, f"{path.removesuffix('.amount')}.quotation") if isinstance(line, list) else None
    return f"quotation {own}" if own else ""


def _item_of(case: Case, path: str) -> str:
    """What a line of capital or a replacement is for."""
    line, _, key = path.rpartition(".")
    if key not in ("amount", "part"):
        return ""
    return str(written(case.completed, f"{line}.item") or "")


def _shown(value: float, quantity: Quantity, case: Case) -> str:
    return show(value, quantity.kind, quantity.unit(case.model.case.units, case.currency), digits=4)


def _of_tariffs(case: Case) -> Iterator[Input]:
    """Every price on the tariffs; a single price written in the case stands there already."""
    for commodity, tariff in case.tariffs.items():
        if is_price(getattr(case.model.tariffs, commodity) or ""):
            continue
        for charge in tariff.charges:
            for key, quantity, value in walk(charge):
                if getattr(value, "text", ""):
                    yield Input(
                        path=f"tariff {commodity}.{charge.id}.{key}",
                        label=f"{charge.label}, {quantity.label.lower()}",
                        value=value.text,
                        basis="invented" if tariff.invented else "tariff",
                        source=f"{tariff.name}: {charge.clause}",
                        assumed=tariff.invented,
                    )


def _of_resin(case: Case) -> Iterator[Input]:
    for resin in dict.fromkeys(resin.abbreviation for resin in case.resins):
        users = [(h, r) for h, r in zip(case.model.hoppers, case.resins, strict=True) if r.abbreviation == resin]
        yield from _stored_values(case, users[0][1], [hopper for hopper, _ in users])


def _stored_values(case: Case, resin: Resin, hoppers: list[Hopper]) -> Iterator[Input]:
    for key, entry in resin.data.items():
        # Where every hopper of the resin has its own value, that stands above.
        if entry.kind is None or all(getattr(hopper, key, None) is not None for hopper in hoppers):
            continue
        yield Input(
            path=f"resin {resin.abbreviation}.{key}",
            label=key.replace("_", " ").capitalize(),
            value=_stored_value(entry, case.model.case.units),
            basis=entry.basis,
            source=entry.citation(),
            assumed=entry.basis in ("assumption", "common practice", "memory"),
        )


def _stored_value(entry: Sourced, system: str) -> str:
    """Value and range in the reader's units; as stored where those are its own."""
    span = "" if entry.low is None else f" ({entry.low:g} to {entry.high:g})"
    if system == "si" or entry.kind is None:
        return f"{entry.value:g}{span} {entry.unit}".strip()
    told = usual_unit(entry.kind, entry.unit, system)
    number, _, unit = show(entry.si, entry.kind, told, digits=4).partition(" ")
    if entry.si_low is not None and entry.si_high is not None:
        ends = (show(end, entry.kind, told, digits=4).split(" ")[0] for end in (entry.si_low, entry.si_high))
        span = f" ({' to '.join(ends)})"
    return f"{number}{span} {unit}".strip()


def to_text(case: Case) -> str:
    """The register on a terminal; a star marks what is assumed, and what nothing is worked out from is told."""
    lines = [f"{case.file}: valid. {case.name}", ""]
    entries = register(case)
    for entry in entries:
        mark = "*" if entry.assumed else " "
        basis = "not used" if is_idle(case.model, entry.path) else entry.basis
        lines.append(f"{mark} {entry.path:62s} {entry.value:34s} {basis:16s} {entry.source}".rstrip())
    assumed = sum(e.assumed for e in entries)
    lines += [
        "",
        f"{len(entries)} inputs, {assumed} of them assumed or taken from stored typical values (marked *).",
    ]
    lines += list(dict.fromkeys(note for resin in case.resins for note in resin.notes))
    return "\n".join(lines)
