"""Cases to test with: the example that comes with the package, cut down to a few options and changed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import ROUND_CEILING, Context
from pathlib import Path
from typing import Any

import numpy as np

from energy.study.case import Case, build, example_text, read_document
from energy.study.paths import changed

PRESENT, NEW, BEDS, WHEEL = "Present twin tower", "New twin tower", "Rotating beds", "Desiccant wheel"
HOT, AIR, MEMBRANE = "Hot air, gas-fired", "Compressed air", "Compressed air with membrane"
HOPPER = "hoppers['Machine 7']"
PC = {
    "name": "Machine 7",
    "resin": "PC",
    "throughput": "90 kg/h",
    "drying_temperature": "120 degC",
    "residence_time": "4 h",
}
PA = {"name": "Machine 8", "resin": "PA66", "throughput": "40 kg/h"}


def document(*options: str, changes: Mapping[str, Any] | None = None) -> dict[str, Any]:
    """The example as a table, with these options only, and values put at paths."""
    whole = read_document(example_text("one-machine"), "one-machine")
    if options:
        whole["options"] = [o for o in whole["options"] if o["name"] in options]
    return changed(whole, changes or {})


def case(*options: str, changes: Mapping[str, Any] | None = None) -> Case:
    """The same as a checked case."""
    return build(document(*options, changes=changes), file="case.toml")


def resin(name: str, **values: Any) -> dict[str, Any]:
    """Changes that put another resin into the hopper, dried as its own sheet says unless said otherwise."""
    own = {"drying_temperature": None, "residence_time": None, **values}
    return {f"{HOPPER}.resin": name, **{f"{HOPPER}.{key}": value for key, value in own.items()}}


def alone(option: str, changes: Mapping[str, Any] | None = None) -> Case:
    """One option by itself, which is then the baseline."""
    return case(option, changes={f"options['{option}'].baseline": True, **(changes or {})})


def plant(*options: str, hoppers: Sequence[Mapping[str, Any]] = (PC, PA), **changes: Any) -> Case:
    """The one-machine example with other hoppers; the present machine is as big as its hopper."""
    whole = document(*options)
    whole["hoppers"] = [dict(hopper) for hopper in hoppers]
    for option in whole["options"]:
        option.pop("built_for", None)
    return build(changed(whole, changes), file="plant.toml")


def up(number):
    """To the next of two digits, as text."""
    return f"{float(Context(prec=2, rounding=ROUND_CEILING).create_decimal_from_float(number)):.2g}"


def readings(folder: Path, quiet: float = 300.0, busy: float = 400.0) -> list[float]:
    """A plant that takes one power from 6 to 22 on weekdays and another else, by a clock without daylight saving."""
    times = np.arange(np.datetime64("2026-01-01T00:00"), np.datetime64("2027-01-01T00:00"), np.timedelta64(15, "m"))
    hour = (times - times.astype("datetime64[D]")).astype(int) / 60
    weekday = (times.astype("datetime64[D]").astype(int) + 3) % 7
    power = np.where((weekday < 5) & (hour >= 6) & (hour < 22), busy, quiet)
    text = ["time,kW", *(f"{str(t).replace('T', ' ')}Z,{p}" for t, p in zip(times, power, strict=True))]
    (folder / "readings.csv").write_text("\n".join(text))
    months = times.astype("datetime64[M]").astype(int) % 12
    return [float(power[months == m].sum() / 4) for m in range(12)]  # kWh


OWN_RESIN = {
    "hygroscopic": True,
    "density": "1200 kg/m3",
    "bulk_density": "700 kg/m3",
    "specific_heat": "1.5 kJ/(kg K)",
    "drying_temperature": "95 degC",
    "residence_time": "3 h",
    "initial_moisture": "0.3 %",
    "target_moisture": "0.04 %",
}
"""A user's own, without diffusion data."""
