"""Feeds made input to every reader of files and to what is computed from it, and judges the answer.

Right is a result whose balances close, or an :class:`energy.errors.EnergyError` in words; everything else is a fault.
"""

from __future__ import annotations

import io
import json
import math
import random
import re
import tomllib
from contextlib import redirect_stderr, redirect_stdout
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import tomli_w
from making import NAMES, broken_bytes, broken_text, spoiled, with_extremes

from energy.cli import main
from energy.errors import CaseError, EnergyError
from energy.plant.weather import monthly, read_epw, read_tmy3
from energy.reports import afterwards, comparison_json, comparison_text
from energy.reports import inputs as inputs_report
from energy.study.afterwards import periods
from energy.study.case import build, example_text, load_case, read_document
from energy.study.compare import compare
from energy.study.readings import Readings
from energy.study.schema import CaseFile
from energy.tariffs import bill, demo_tariffs, load_rate_json, load_tariff
from energy.tariffs.known_load import constant_load, read_load
from energy.tariffs.reader import _demo_files
from energy.tariffs.readers import read_metered_periods
from energy.tariffs.tariff import Tariff
from energy.walkthrough import baseline
from energy.walkthrough.walk import walk

INSIDE = re.compile(r"Traceback|pydantic|validation error|<class |object at 0x|\bNoneType\b|numpy|np\.float|Errno")
"""What no sentence for a reader holds."""


class Fault(AssertionError):
    """An answer that is neither right nor told in words."""


def told(error: EnergyError) -> str:
    """Judge the words of an error."""
    text = str(error)
    lines = text.splitlines()
    if not lines or any(len(line.strip()) < 8 for line in lines):
        raise Fault(f"says too little: {text!r}") from error
    if max(map(len, lines)) > 2000:
        raise Fault(f"a line of {max(map(len, lines))} characters: {text[:200]!r}") from error
    inside = INSIDE.search(re.sub(r"'[^']*'", "", text))
    if inside:
        raise Fault(f"speaks of the program's inside, {inside[0]!r}: {text[:300]!r}") from error
    if isinstance(error, CaseError) and not error.problems:
        raise Fault("a CaseError without a problem") from error
    return "told"


def need(holds: Any, what: str) -> None:
    if not holds:
        raise Fault(what)


# ---------- seeds ----------


@cache
def _example(name: str) -> dict[str, Any]:
    return read_document(example_text(name), name)


@cache
def _tariff(name: str) -> str:
    return _demo_files()[name].read_text(encoding="utf-8")


@cache
def interval_csv() -> str:
    stamps = np.arange(np.datetime64("2026-01-01T00:00"), np.datetime64("2027-01-01T00:00"), np.timedelta64(60, "m"))
    return "Time,Load (kW)\n" + "\n".join(f"{s}Z,{200 + i * 7919 % 100}.5" for i, s in enumerate(stamps)) + "\n"


@cache
def espi_xml() -> str:
    rows = "".join(
        f"<IntervalReading><timePeriod><duration>86400</duration><start>{1767247200 + 86400 * i}</start></timePeriod>"
        f"<value>{1000 + i}</value><ReadingQuality><quality>17</quality></ReadingQuality></IntervalReading>\n"
        for i in range(365)
    )
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n<feed xmlns="http://www.w3.org/2005/Atom" xmlns:e="http://naesb.org/espi">'
        '<entry><link rel="self" href="/U/1"/><content><e:UsagePoint><e:ServiceCategory><e:kind>0</e:kind></e:ServiceCategory>'
        "</e:UsagePoint></content></entry>"
        "<entry><content><LocalTimeParameters><dstEndRule>B40E2000</dstEndRule><dstOffset>3600</dstOffset>"
        "<dstStartRule>360E2000</dstStartRule><tzOffset>-21600</tzOffset></LocalTimeParameters></content></entry>"
        '<entry><link rel="self" href="/U/1/M/1"/><link rel="related" href="/R/1"/><content><MeterReading/></content></entry>'
        '<entry><link rel="self" href="/R/1"/><content><ReadingType><uom>72</uom><powerOfTenMultiplier>3</powerOfTenMultiplier>'
        "<flowDirection>1</flowDirection><intervalLength>86400</intervalLength></ReadingType></content></entry>"
        f'<entry><link rel="up" href="/U/1/M/1/I"/><content><IntervalBlock>{rows}</IntervalBlock></content></entry></feed>'
    )


@cache
def epw() -> str:
    days = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
    heads = [
        "LOCATION,Nowhere,-,XXX,invented,000000,45.0,9.0,1.0,100.0",
        *(
            "DESIGN CONDITIONS,0",
            "TYPICAL/EXTREME PERIODS,0",
            "GROUND TEMPERATURES,0",
            "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
        ),
        *("COMMENTS 1,invented", "COMMENTS 2,-", "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31"),
    ]
    rest = ",".join(["0"] * 25)
    rows = [
        f"2026,{m},{d},{h},60,?9,{10 + 8 * math.sin((m - 4) / 2):.1f},{4 + 6 * math.sin((m - 4) / 2):.1f},70,100000,{rest}"
        for m, n in enumerate(days, 1)
        for d in range(1, n + 1)
        for h in range(1, 25)
    ]
    return "\n".join([*heads, *rows]) + "\n"


@cache
def tmy3() -> str:
    rows = [line.split(",") for line in epw().splitlines()[8:]]
    head = "Date (MM/DD/YYYY),Time (HH:MM),Dry-bulb (C),Dew-point (C),Pressure (mbar)"
    body = [f"{int(r[1]):02d}/{int(r[2]):02d}/2001,{int(r[3]):02d}:00,{r[6]},{r[7]},1000" for r in rows]
    return "\n".join(['000000,"NOWHERE",XX,1.0,45.0,9.0,100', head, *body]) + "\n"


MONTHS = "month,kWh,kW,kVAr\n" + "".join(f"2026-{m:02d},{100000 + m},{400 + m},120\n" for m in range(1, 13))
MONTHS_TOML = "".join(f"[[months]]\nmonth = {m}\nkWh = {100000 + m}\nkW = {400 + m}\n" for m in range(1, 13))


def rate_record(rng: random.Random) -> dict[str, Any]:
    """A rate record with periods, tiers, demand and a ratchet."""
    day = [[rng.randrange(2) for _ in range(24)] for _ in range(12)]
    tier = [{"max": 500, "rate": 0.08, "adj": 0.01, "unit": rng.choice(("kWh", "kWh daily", "kWh/kW"))}, {"rate": 0.12}]
    tier[1]["unit"] = tier[0]["unit"]
    record = {
        "label": "x1", "name": "Invented", "startdate": 1700000000, "fixedchargefirstmeter": 12, "fixedchargeunits": "$/month",
        "energyratestructure": [tier, [{"rate": 0.2, "unit": "kWh"}]], "energyweekdayschedule": day, "energyweekendschedule": day,
        "flatdemandstructure": [[{"rate": 9}]], "flatdemandunit": "kW", "flatdemandmonths": [0] * 12,
        "demandratestructure": [[{"rate": 3, "max": 100}, {"rate": 5}], [{"rate": 7}]], "demandrateunit": "kW",
        "demandweekdayschedule": day, "demandweekendschedule": day, "demandratchetpercentage": [0.8] * 12,
        "mincharge": 20, "minchargeunits": "$/month", "fueladjustmentsmonthly": [0.001] * 12, "demandwindow": 15,
    }  # fmt: skip
    return {key: value for key, value in record.items() if rng.random() < 0.8}


# ---------- one function for each sort of input: writes files into a folder, reads them, judges ----------


def _spoil(document: Any, rng: random.Random) -> bytes:
    """A document as TOML, spoiled as a document, as text, or both."""
    if rng.random() < 0.7:
        document = spoiled(document, rng, rng.choice((1, 1, 2, 5)))
    try:
        text = tomli_w.dumps(document)
    except (TypeError, ValueError, AttributeError, UnicodeEncodeError):
        text = tomli_w.dumps(_example("one-machine"))
    if rng.random() < 0.3:
        text = broken_text(text, rng, rng.choice((1, 2, 5)))
    return broken_bytes(text, rng) if rng.random() < 0.1 else text.encode("utf-8", "surrogatepass")


def _beside(folder: Path, rng: random.Random) -> None:
    """Files that a case may name."""
    files = {"load.csv": interval_csv, "weather.epw": epw, "espi.xml": espi_xml, "months.csv": lambda: MONTHS}
    files["tariff.toml"] = lambda: _tariff("time-of-use-electricity")
    for name, text in files.items():
        made = text()
        (folder / name).write_bytes(
            made.encode() if rng.random() < 0.7 else broken_text(made, rng, 1).encode("utf-8", "replace")
        )


def case_document(rng: random.Random) -> dict[str, Any]:
    """One of the examples cut down to a few options, with legal extremes."""
    document = dict(_example("one-machine" if rng.random() < 0.85 else "demo"))
    first, *others = document["options"]
    document["options"] = [first, *rng.sample(others, rng.choice((0, 1, 2)))]
    if rng.random() < 0.15:
        inputs = rng.choice(({}, {"insulation_thickness": "60 mm"}, {"regeneration_temperature": "290 degC"}))
        row = {"name": "Changed", "type": first["type"], "retrofit": True, "capital": "900 USD", "inputs": inputs}
        document["options"].append(row)
    if rng.random() < 0.15:
        own = tomllib.loads(_tariff(rng.choice(("time-of-use-electricity", "flat-electricity"))))
        document |= {"own_tariffs": [own], "tariffs": document["tariffs"] | {"electricity": own["name"]}}
    if rng.random() < 0.1:
        held = {"start": "2026-01-01T00:00:00Z", "step": "60 min", "power": ["400 380.5 " * 12] * 365}
        document["plant_load"] = {"readings": held}
    return with_extremes(document, CaseFile, rng, rng.choice((1, 1, 2, 4)))


def try_case(folder: Path, rng: random.Random) -> str:
    document = case_document(rng)
    file = folder / "case.toml"
    file.write_bytes(_spoil(document, rng) if rng.random() < 0.25 else tomli_w.dumps(document).encode())
    if any(
        name in file.read_bytes() for name in (b"load.csv", b"weather.epw", b"espi.xml", b"months.csv", b"tariff.toml")
    ):
        _beside(folder, rng)
    try:
        case = load_case(file)
        result = compare(case)
    except EnergyError as error:
        return told(error)
    judge_comparison(result)
    again = build(read_document(case.to_toml(), "again"), folder=folder)
    need(
        comparison_json.to_json(compare(again)) == comparison_json.to_json(result),
        "the saved case gives another answer",
    )
    inputs_report.to_text(case)
    if rng.random() < 0.2:
        try:
            judge_walk(walk(case, baseline.readings_of(case, rng.choice(case.model.hoppers).name)))
        except EnergyError as error:
            return told(error)
    if rng.random() < 0.03:
        from energy.reports import simulation
        from energy.study.simulate import simulate

        try:
            simulation.to_json(simulate(case, 32, 1), None)
        except EnergyError as error:
            return told(error)
    return "right"


def judge_comparison(result: Any) -> None:
    for option in result.options:
        into, out = sum(option.heat_in.values()), sum(option.heat_out.values())
        need(abs(into - out) <= 1e-6 * abs(into), f"{option.name}: heat in {into} is not heat out {out}")
        need(all(v >= 0 for v in option.energy.values()), f"{option.name}: negative energy {option.energy}")
        cost = sum(option.annual_cost.values())
        need(math.isclose(cost, option.total_cost, rel_tol=1e-9, abs_tol=1e-6), f"{option.name}: costs do not add up")
        need(math.isfinite(option.life_cycle_cost), f"{option.name}: life-cycle cost {option.life_cycle_cost}")
    for system in ("si", "us"):
        text = comparison_text.to_text(result, system)
        for name in (hopper.name for hopper in result.case.model.hoppers):
            text = text.replace(name, "")  # which may be anything
        need(not re.search(r"\b(nan|inf)\b", text), f"no number in the table: {text[:2000]}")
    json.loads(comparison_json.to_json(result), parse_constant=lambda name: need(False, f"{name} in the JSON"))


def judge_walk(made: Any, *written: str) -> None:
    """Judge an answer; `written` are words of the visitor, which may say anything."""
    from energy.reports import walkthrough, walkthrough_json

    walkthrough_json.to_json(made)
    for system in ("si", "us"):
        text = walkthrough.to_text(made, system)
        for words in filter(None, written):
            text = text.replace(words, "")
        need(not re.search(r"\b(nan|inf)\b", text), "no number in the walkthrough")


def try_tariff(folder: Path, rng: random.Random) -> str:
    document = tomllib.loads(_tariff(rng.choice(demo_tariffs())))
    if rng.random() < 0.5:
        document = with_extremes(document, Tariff, rng, rng.choice((1, 2, 4)))
    file = folder / "tariff.toml"
    file.write_bytes(_spoil(document, rng) if rng.random() < 0.7 else tomli_w.dumps(document).encode())
    try:
        tariff = load_tariff(file)
        tariff.describe()
        judge_bill(tariff, rng)
    except EnergyError as error:
        return told(error)
    return "right"


def judge_bill(tariff: Tariff, rng: random.Random) -> None:
    flow = rng.choice((0.0, 1e-9, 1.0, 4e5, 1e12))
    load = constant_load(tariff, flow, rng.choice((1970, 2024, 2026, 2099)), power_factor=np.full(12, 0.9))
    made = bill(tariff, load, "steady")
    lines = sum(float(line.amount) for line in made.lines)
    size = sum(abs(float(line.amount)) for line in made.lines)
    need(math.isfinite(lines), f"a bill of {lines}")
    need(abs(float(made.total) - lines) <= 1e-9 * size, f"the bill is {made.total}, its lines {lines}")
    bill(tariff, load, "steady", rounded=True)


def try_rate(folder: Path, rng: random.Random) -> str:
    record: Any = rate_record(rng)
    if rng.random() < 0.8:
        record = spoiled(record, rng, rng.choice((1, 1, 2, 4)))
    text = json.dumps(rng.choice((record, [record], {"items": [record]})), default=str)
    if rng.random() < 0.1:
        text = broken_text(text, rng, 2)
    file = folder / "rate.json"
    file.write_bytes(broken_bytes(text, rng) if rng.random() < 0.1 else text.encode("utf-8", "surrogatepass"))
    try:
        tariff, _ = load_rate_json(file, time_zone=rng.choice((None, "America/Chicago")))
        judge_bill(tariff, rng)
    except EnergyError as error:
        return told(error)
    return "right"


def _broken(folder: Path, name: str, text: str, rng: random.Random) -> Path:
    file = folder / name
    made = broken_text(text, rng, rng.choice((0, 1, 1, 2, 5)))
    file.write_bytes(broken_bytes(made, rng))
    return file


def try_weather(folder: Path, rng: random.Random) -> str:
    name, text, read = rng.choice((("a.epw", epw(), read_epw), ("a.csv", tmy3(), read_tmy3)))
    try:
        temperature, dew_point = monthly(read(_broken(folder, name, text, rng)))
    except EnergyError as error:
        need(error.file if isinstance(error, CaseError) else True, "the error names no file")
        return told(error)
    need(np.isfinite([temperature, dew_point]).all() and (dew_point <= temperature + 0.6).all(), "air that cannot be")
    return "right"


def try_load(folder: Path, rng: random.Random) -> str:
    name, text = rng.choice(
        (("a.csv", interval_csv()), ("a.csv", interval_csv().replace(",", ";").replace(".", ",")), ("a.xml", espi_xml()),
         ("a.csv", MONTHS), ("a.toml", MONTHS_TOML))
    )  # fmt: skip
    tariff = load_tariff(rng.choice(("flat-electricity", "time-of-use-electricity")))
    options: dict[str, Any] = {}
    if rng.random() < 0.3:
        choices: dict[str, tuple[Any, ...]] = {
            "column": NAMES,
            "zone": (*NAMES, "UTC"),
            "unit": ("kW", "kWh", *NAMES),
            "time": NAMES,
            "stamp": ("end",),
            "step": (1, 900, 3600, 10**9),
            "day_first": (True, False),
            "decimal": (",", "."),
        }
        key = rng.choice(list(choices))
        options[key] = rng.choice(choices[key])
    try:
        read = read_load(_broken(folder, name, text, rng), tariff, 2026, month=rng.choice((None, 1)), **options)
        made = bill(tariff, read.load, "steady")
    except EnergyError as error:
        return told(error)
    need(math.isfinite(float(made.total)), f"a bill of {made.total}")
    return "right"


def try_readings(folder: Path, rng: random.Random) -> str:
    document = dict(_example("demo")["readings"][0], hopper="Machine 7")
    document = with_extremes(document, Readings, rng, rng.choice((0, 1, 2, 4)))
    file = folder / "readings.toml"
    file.write_bytes(_spoil(document, rng) if rng.random() < 0.5 else tomli_w.dumps(document).encode())
    case = load_case("one-machine")
    try:
        readings = baseline.readings_from(baseline.read_readings(file), str(file))
        made = walk(case, readings)
        judge_walk(made, readings.note, readings.by, readings.date)
        judge_comparison(compare(baseline.as_baseline(case, made.balance)))
    except EnergyError as error:
        return told(error)
    return "right"


METERED = "when;days;resin (kg);electricity (kWh);gas (kWh)\n" + "".join(
    f"{when};7;{14000 + i * 613};{1800 + i * 71};{i * 3}\n"
    for when, weeks in (("before", 6), ("after", 5))
    for i in range(weeks)
)


def try_metered(folder: Path, rng: random.Random) -> str:
    comparison = compare(load_case("one-machine"))
    try:
        read = periods(read_metered_periods(_broken(folder, "weeks.csv", METERED, rng)), "weeks.csv")
        found = afterwards.check(comparison, read)
    except EnergyError as error:
        return told(error)
    numbers = (found.total, found.doubt, found.needed)
    need(np.isfinite(numbers).all() and found.doubt >= 0.0, f"no numbers: {numbers}")
    need(not re.search(r"\b(nan|inf)\b", afterwards.to_text(found, "USD")), "no number in the check afterwards")
    return "right"


def try_command(folder: Path, rng: random.Random) -> str:
    """The command line: status 0 or 2, and a file that is whole or not there."""
    case, out = folder / "case.toml", folder / "out.toml"
    case.write_bytes(
        _spoil(_example("one-machine"), rng) if rng.random() < 0.5 else example_text("one-machine").encode()
    )
    readings = folder / "readings.toml"
    written = dict(_example("demo")["readings"][0], hopper="Machine 7")
    readings.write_bytes(_spoil(written, rng) if rng.random() < 0.7 else tomli_w.dumps(written).encode())
    if rng.random() < 0.3:
        out.write_text("mine")
    before = out.read_text() if out.exists() else None
    arguments = ["walkthrough", str(case), "--readings", str(readings), "--save", str(out)]
    arguments += rng.choice(([], ["--force"], ["--units", "us"], ["--hopper", rng.choice(NAMES).replace("\0", "")]))
    said, wrong = io.StringIO(), io.StringIO()
    with redirect_stdout(said), redirect_stderr(wrong):
        status = main(arguments)
    need(status in (0, 2), f"status {status}")
    need(status == 0 or wrong.getvalue().strip(), "a refusal without a word")
    if status:
        need((out.read_text() if out.exists() else None) == before, "a refused command changed its target")
    else:
        load_case(out)
    left = {path.name for path in folder.iterdir()} - {"case.toml", "readings.toml", "out.toml"}
    need(not left, f"left behind: {left}")
    return "right" if status == 0 else "told"


TARGETS = {
    "case": (try_case, 10),
    "tariff": (try_tariff, 6),
    "rate record": (try_rate, 5),
    "weather": (try_weather, 2),
    "load": (try_load, 4),
    "readings": (try_readings, 3),
    "command": (try_command, 2),
    "metered": (try_metered, 1),
}
"""What is tried, and how often of 33 times."""
ORDER = [name for name, (_, times) in TARGETS.items() for _ in range(times)]


def attempt(number: int, seed: int, folder: Path) -> tuple[str, str]:
    """Try one case in an empty folder: what it was, and whether the answer was right or told in words."""
    rng = random.Random(f"{seed}/{number}")
    name = ORDER[number % len(ORDER)]
    return name, TARGETS[name][0](folder, rng)
