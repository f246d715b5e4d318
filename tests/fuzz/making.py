"""Makes hostile input: valid documents with legal extremes put into them, with values of the wrong sort, with broken text."""

from __future__ import annotations

import copy
import datetime
import math
import random
import re
import types
from collections.abc import Iterator
from typing import Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from energy import dryers
from energy.dryers import base
from energy.units import Quantity, shown_unit, to_unit

NUMBERS = (
    *(
        "0",
        "-1",
        "1",
        "1e-300",
        "1e300",
        "-1e300",
        "1e999",
        "nan",
        "inf",
        "-inf",
        "0x10",
        "1,5",
        "1.5.2",
        "١٢",
        "1e",
        "−5",
    ),
    *("1_000", "9" * 400, "0." + "0" * 400 + "1", "+", "1/3"),
)
UNITS = (
    *(
        "",
        "kg/h",
        "lb/h",
        "degC",
        "degF",
        "K",
        "%",
        "ppm",
        "kW",
        "kWh",
        "USD",
        "EUR/kWh",
        "m3/h at 0 degC",
        "bar(g)",
        "h",
    ),
    *(
        "year",
        "m",
        "kg",
        "furlong",
        "kg^1e9",
        "kg**9**9**9",
        "m" * 300,
        "kg/h/h/h/h",
        "%%",
        "1/0",
        "degC*degC",
        "__import__",
    ),
)
NAMES = (
    *(
        "",
        " ",
        "\0",
        "\n",
        "\u202e",
        "é" * 50,
        "x" * 5000,
        "'",
        "']",
        '"',
        "{}",
        "{0.__class__}",
        "%s",
        "<script>",
        "../../x",
    ),
    *(
        "/etc/passwd",
        "/dev/zero",
        "load.csv",
        "months.csv",
        "weather.epw",
        "espi.xml",
        "tariff.toml",
        ".",
        "demo",
        "own",
        "PC",
    ),
    *(
        "PA66",
        "PET",
        "hot-air",
        "vacuum",
        "infrared-drum",
        "desiccant-wheel",
        "central",
        "portable",
        "temperate",
        "hot-humid",
    ),
    *(
        "US",
        "DE",
        "America/Chicago",
        "Europe/Berlin",
        "12:00",
        "24:00",
        "25:61",
        "2026-02-30",
        "mon",
        "nominal",
        "0.1 USD/kWh",
    ),
)
OTHERS = (
    *(
        0,
        1,
        -1,
        2**63,
        -(2**70),
        10**400,
        0.0,
        -0.0,
        math.nan,
        math.inf,
        1e308,
        True,
        False,
        [],
        {},
        [[]],
        [{}],
        {"": {}},
    ),
    *({"value": []}, {"value": {"value": "1 kW"}}, {"value": "1 kW", "low": "2 kW", "high": "0 kW"}, [1, "a", {}]),
    *(datetime.date(2026, 1, 1), datetime.time(12), datetime.datetime(1, 1, 1), datetime.datetime.max),
)


def nasty(rng: random.Random) -> Any:
    """A value that seldom belongs where it is put."""
    return rng.choice(
        (
            lambda: f"{rng.choice(NUMBERS)} {rng.choice(UNITS)}".strip(),
            lambda: f"{rng.choice((1, -1)) * 10 ** rng.uniform(-6, 9):.4g} {rng.choice(UNITS)}".strip(),
            lambda: rng.choice(NAMES),
            lambda: copy.deepcopy(rng.choice(OTHERS)),
        )
    )()


# ---------- legal values, at the edges of what a schema allows ----------


def legal(model: type[BaseModel], rng: random.Random, share: float = 0.5) -> dict[str, Any]:
    """A table for a model: everything required and a share of the rest."""
    made = {}
    for name, field in model.model_fields.items():
        if name == "kind" or not (field.is_required() or rng.random() < share):
            continue
        made[name] = legal_value(field, rng)
    if "inputs" in model.model_fields:
        made["type"] = rng.choice(list(dryers.TYPES))
        made["inputs"] = legal(dryers.TYPES[made["type"]].Inputs, rng, 0.2)
    return made


def legal_value(field: FieldInfo, rng: random.Random) -> Any:
    """A value that a field allows by itself."""
    quantity = next((mark for mark in field.metadata if isinstance(mark, Quantity)), None)
    low = max((getattr(m, end) for m in field.metadata for end in ("gt", "ge") if hasattr(m, end)), default=None)
    high = min((getattr(m, end) for m in field.metadata for end in ("lt", "le") if hasattr(m, end)), default=None)
    if quantity is not None:
        return _quantity(quantity, low, high, rng)
    return _of(field.annotation, low, high, rng)


def _quantity(quantity: Quantity, low: float | None, high: float | None, rng: random.Random) -> Any:
    bottom = -1e3 if low is None else float(low)
    top = max(1e3, 1e6 * bottom) if high is None else float(high)
    span = top - bottom
    value = rng.choice(
        (
            bottom,
            bottom + 1e-9 * span,
            top,
            top - 1e-9 * span,
            *(bottom + span * 10 ** rng.uniform(-6, 0) for _ in range(4)),
        )
    )
    system = rng.choice(("si", "us"))
    unit = quantity.shown if quantity.shown and system == "si" else shown_unit(quantity.kind, system, "USD")
    text = f"{to_unit(value, quantity.kind, unit):.15g} {unit.replace('money', 'USD')}".strip()
    if rng.random() < 0.15:
        return {
            "value": text,
            "low": text,
            "high": text,
            "basis": rng.choice(("measured", "assumption", "read")),
            "note": "-",
        }
    return text


def _of(annotation: Any, low: float | None, high: float | None, rng: random.Random) -> Any:
    origin, inside = get_origin(annotation), get_args(annotation)
    if annotation is base.Inputs or (
        inside and all(isinstance(a, type) and issubclass(a, base.Inputs) for a in inside)
    ):
        return {}
    if origin is Literal:
        return rng.choice(inside)
    if origin in (Union, types.UnionType):
        return _of(rng.choice([a for a in inside if a is not type(None)]), low, high, rng)
    if origin is tuple:
        return [_of(inside[0], None, None, rng) for _ in range(rng.choice((1, 1, 2, 3, 12)))]
    if origin is dict:
        return {"options[1].capital_factor": "90 %"}
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return legal(annotation, rng)
    if annotation is bool:
        return rng.random() < 0.5
    if annotation is int:
        bottom, top = int(low or 0), int(high if high is not None else 60)
        return rng.choice((bottom, top, rng.randint(bottom, top)))
    if annotation is float:
        return rng.random()
    return rng.choice(NAMES)


def with_extremes(document: dict[str, Any], model: type[BaseModel], rng: random.Random, changes: int) -> dict[str, Any]:
    """A copy with some values replaced by others that the schema allows."""
    made = copy.deepcopy(document)
    for _ in range(changes):
        places = list(_tables(made, model))
        weights = [len(of.model_fields) for _, of in places]
        table, of = rng.choices(places, weights)[0]
        name = rng.choice([name for name in of.model_fields if name != "kind"])
        if name in ("type", "inputs"):
            table |= {key: value for key, value in legal(of, rng, 0.0).items() if key in ("type", "inputs")}
        elif not (name in ("options", "hoppers", "machines") and rng.random() < 0.8):
            table[name] = legal_value(of.model_fields[name], rng)
    return made


def _tables(table: Any, model: type[BaseModel]) -> Iterator[tuple[dict[str, Any], type[BaseModel]]]:
    """Every table of a document and the model of each."""
    if not isinstance(table, dict):
        return
    yield table, model
    for name, field in model.model_fields.items():
        given = table.get(name)
        if name == "inputs" and table.get("type") in dryers.TYPES:
            yield from _tables(given, dryers.TYPES[table["type"]].Inputs)
            continue
        inner = next((a for a in _flat(field.annotation) if isinstance(a, type) and issubclass(a, BaseModel)), None)
        if inner is not None:
            for entry in given if isinstance(given, list) else [given]:
                yield from _tables(entry, inner)


def _flat(annotation: Any) -> Iterator[Any]:
    yield annotation
    for inner in get_args(annotation):
        yield from _flat(inner)


# ---------- wrong values ----------


def spoiled(document: Any, rng: random.Random, changes: int) -> Any:
    """A copy with some keys taken away, added, doubled, exchanged or given values that do not belong there."""
    made = copy.deepcopy(document)
    for _ in range(changes):
        places = list(_places(made))
        if not places:
            return made
        holder, key = rng.choice(places)
        act = rng.randrange(6)
        if act == 0:
            del holder[key]
        elif act == 1:
            other, there = rng.choice(places)
            value = copy.deepcopy(other[there] if there in _keys(other) else None)
            holder[key] = "" if value is None else value
        elif act == 2 and isinstance(holder, list):
            holder.insert(rng.randrange(len(holder) + 1), copy.deepcopy(holder[key]))
        elif act == 2:
            holder[rng.choice((str(key)[:-1], f"{key}s", rng.choice(NAMES)))] = holder[key]
        elif act == 3 and isinstance(holder[key], str):
            holder[key] = broken_text(holder[key], rng, 1)
        else:
            holder[key] = nasty(rng)
    return made


def _keys(holder: Any) -> Any:
    return holder.keys() if isinstance(holder, dict) else range(len(holder))


def _places(document: Any) -> Iterator[tuple[Any, Any]]:
    for key in list(_keys(document)):
        yield document, key
        if isinstance(document[key], dict | list):
            yield from _places(document[key])


# ---------- broken text ----------

TOKENS = (
    *(
        "\0",
        "\ufeff",
        "\r",
        "\r\n",
        "\n",
        ",",
        ";",
        "\t",
        '"',
        "'",
        "[[",
        "]]",
        "{",
        "}",
        "=",
        "<",
        ">",
        "</a>",
        "<a>",
        "&a;",
    ),
    *(
        "<!DOCTYPE a [<!ENTITY a 'b'>]>",
        "<![CDATA[",
        "<?xml version='1.0' encoding='utf-7'?>",
        "<!--",
        "[" * 2000,
        "<a>" * 200,
    ),
    *(NUMBERS + UNITS + NAMES),
)


def broken_text(text: str, rng: random.Random, changes: int) -> str:
    """A copy with pieces cut out, doubled, moved, or odd ones put in."""
    for _ in range(changes):
        size = len(text)
        at = rng.randrange(size + 1)
        end = min(size, at + int(10 ** rng.uniform(0, math.log10(size + 10))))
        act = rng.randrange(9)
        if act > 5:  # another digit, which mostly leaves a file that can be read
            digits = [m.start() for m in re.finditer("[0-9]", text[at : at + 200])]
            if digits:
                at += rng.choice(digits)
                text = text[:at] + rng.choice("0123456789.") + text[at + 1 :]
        elif act == 0:
            text = text[:at] + text[end:]
        elif act == 1:
            text = text[:end] + text[at:]
        elif act == 2:
            text = text[:at]
        elif act == 3 and at < size:
            text = (
                text[:at]
                + chr(rng.choice((0, 9, 34, 44, 60, 127, 255, 0x7FFF, ord(text[at]) ^ (1 << rng.randrange(7)))))
                + text[at + 1 :]
            )
        else:
            text = text[:at] + rng.choice(TOKENS) + text[at if act == 4 else end :]
    return text


def broken_bytes(text: str, rng: random.Random) -> bytes:
    """The text as bytes, now and then in another encoding or not text at all."""
    made = text.encode("utf-8", "surrogatepass")
    act = rng.randrange(20)
    if act == 0:
        return text.encode("utf-16", "surrogatepass")
    if act == 1:
        at = rng.randrange(len(made) + 1)
        return made[:at] + rng.randbytes(rng.randrange(1, 40)) + made[at:]
    if act == 2:
        return rng.randbytes(rng.randrange(2000))
    return made
