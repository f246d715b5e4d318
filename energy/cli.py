"""Command line: ``dryer-energy``. Bad input ends with status 2 and one line per problem, never with a traceback."""

from __future__ import annotations

import argparse
import io
import os
import sys
from collections.abc import Sequence
from pathlib import Path

from energy.errors import EnergyError

DRAWS = 1024  # of energy.study.simulate, which is imported late


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns its exit status."""
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="replace")  # a terminal without a degree sign still gets its table
    arguments = _parser().parse_args(argv)
    try:
        status = int(arguments.run(arguments) or 0)
        sys.stdout.flush()
        return status
    except EnergyError as error:
        for line in str(error).splitlines():
            print(line, file=sys.stderr)
        return 2
    except OSError as error:
        os.dup2(
            os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno()
        )  # what is left must not be tried again at the end
        if isinstance(error, BrokenPipeError):  # the reader of our output closed it, as `| head` does
            return 0
        print(f"{error.filename or 'output'}: cannot be written ({error.strerror})", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        return 130


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="dryer-energy",
        description="Energy, annual cost and payback of plastics pellet dryers, compared on one duty.",
    )
    commands = parser.add_subparsers(title="commands", required=True, metavar="COMMAND")

    def command(name: str, run: object, text: str) -> argparse.ArgumentParser:
        sub = commands.add_parser(name, help=text, description=text)
        sub.set_defaults(run=run)
        return sub

    sub = command("dashboard", _dashboard, "serve the dashboards on this machine and open the browser")
    sub.add_argument(
        "case", nargs="?", metavar="CASE", help="case file, demo or one-machine; the demo case when left out"
    )
    sub.add_argument("--port", type=int, default=8866, help="0 takes any free port")
    sub.add_argument("--no-browser", action="store_true", help="only print the address")
    sub.add_argument(
        "--pages",
        type=int,
        metavar="N",
        help="most pages open at once; one for every 300 MB of the computer's memory when left out",
    )

    sub = command("compare", _compare, "compare the options of a case")
    sub.add_argument("case", metavar="CASE", help="case file, or demo")
    sub.add_argument("--json", action="store_true", help="as JSON")
    sub.add_argument("--units", choices=("si", "us"), help="units shown; the case's own when left out")

    sub = command("simulate", _simulate, "draw every uncertain input: spread, chances, and what to measure next")
    sub.add_argument("case", metavar="CASE", help="case file, or demo")
    sub.add_argument("--draws", type=int, default=DRAWS, metavar="N", help=f"simulated cases ({DRAWS})")
    sub.add_argument("--seed", type=int, default=1, metavar="S", help="the same seed gives the same draws (1)")
    sub.add_argument("--quick", action="store_true", help="without tornado, break-even values and scenarios")
    sub.add_argument("--json", action="store_true", help="as JSON")

    sub = command("check", _check, "validate a case and its scenarios, and list every input with its basis and source")
    sub.add_argument("case", metavar="CASE", help="case file, or demo")

    sub = command("report", _report, "write the capital request as PDF, live workbook or web page")
    sub.add_argument("case", metavar="CASE", help="case file, or demo")
    sub.add_argument("--to", required=True, metavar="FILE", help="ends in .pdf, .xlsx or .html")
    sub.add_argument("--short", action="store_true", help="two pages, for small requests")
    sub.add_argument(
        "--paper", choices=("a4", "letter"), help="letter for a case in US units, else a4, where nothing is said"
    )
    sub.add_argument(
        "--draws", type=int, default=DRAWS, metavar="N", help=f"simulated cases behind its chances ({DRAWS}); 0: none"
    )
    sub.add_argument("--seed", type=int, default=1, metavar="S", help="the same seed gives the same draws (1)")
    sub.add_argument("--force", action="store_true", help="overwrite a file that exists")

    sub = command("new", _new, "write a commented case to start from")
    sub.add_argument("file", metavar="FILE")
    sub.add_argument("--example", default="demo", help="which example (demo)")
    sub.add_argument("--force", action="store_true", help="overwrite a file that exists")

    sub = command("bill", _bill, "a bill, line by line, each line with its clause")
    sub.add_argument("tariff", metavar="TARIFF", help="tariff file, demo tariff by name, or OpenEI rate record (.json)")
    sub.add_argument("--load", metavar="FILE", help="interval CSV, ESPI XML, or table of twelve months (CSV, TOML)")
    sub.add_argument("--constant", metavar="POWER", help='the same all year: "400 kW"; water "0.5 m3/h"')
    for name in ("energy", "peak", "daily-peak", "volume"):
        sub.add_argument(f"--{name}", metavar="QUANTITY", help=f"{name.replace('-', ' ')} of each month, with unit")
    sub.add_argument("--power-factor", metavar="FACTOR", help="of all months, such as 0.92")
    sub.add_argument("--year", type=int, required=True, metavar="Y")
    sub.add_argument("--month", type=int, metavar="M", help="1 to 12: only the bill of that month")
    sub.add_argument("--json", action="store_true", help="as JSON")
    sub.add_argument("--column", help="column of kW or kWh in a CSV; number of the meter reading in an ESPI file")
    sub.add_argument("--unit", help="unit of that column, where its header names none")
    sub.add_argument("--time-column", dest="time", help="column of time stamps")
    sub.add_argument(
        "--zone", help="IANA time zone of stamps without an offset, or UTC; of the bill, where its tariff names none"
    )
    sub.add_argument("--stamp", choices=("beginning", "end"), help="what of an interval the stamp marks")
    sub.add_argument("--step", type=int, metavar="SECONDS", help="length of the intervals")
    sub.add_argument("--day-first", choices=("yes", "no"), help="whether 3/8/2026 is the 3rd of August")
    sub.add_argument("--decimal", choices=(".", ","), help="decimal sign")
    sub.add_argument("--currency", default="USD", help="of a rate record, which does not say it (USD)")
    sub.add_argument("--record", type=int, default=1, metavar="N", help="which record of a file of several (1)")

    sub = command("walkthrough", _walkthrough, "one dryer from a few readings: balance, findings, what to read next")
    sub.add_argument("case", metavar="CASE", help="case file, or demo")
    sub.add_argument("--readings", metavar="FILE", help="readings (TOML); those kept in the case when left out")
    sub.add_argument("--hopper", metavar="NAME", help="which hopper's dryer; the first when left out")
    sub.add_argument("--units", choices=("si", "us"), help="units shown; the case's own when left out")
    sub.add_argument("--json", action="store_true", help="as JSON")
    sub.add_argument(
        "--save",
        nargs="?",
        const="",
        metavar="FILE",
        help="write the case to FILE, with the readings kept as its baseline's",
    )
    sub.add_argument("--force", action="store_true", help="overwrite a file that exists")

    sub = command("verify", _verify, "the check afterwards: what was metered before and after beside what was signed")
    sub.add_argument("case", metavar="CASE", help="case file as it was signed, or demo")
    sub.add_argument(
        "--metered",
        metavar="FILE",
        help="CSV with when (before, after), days, resin (kg), electricity (kWh), gas (kWh, or m3 with a tariff that has its heating value), "
        "compressed air (kWh); "
        "what the case keeps when left out",
    )
    sub.add_argument("--decimal", choices=(".", ","), help="decimal sign of that file, where it does not show it")
    sub.add_argument("--json", action="store_true", help="as JSON")

    command("types", _types, "list the dryer types with their typical inputs and sources")

    sub = command("resins", _resins, "list the resins, or the sheet of one with its sources")
    sub.add_argument("resin", nargs="?", metavar="RESIN", help="abbreviation by ISO 1043-1, such as PC")
    return parser


def _dashboard(arguments: argparse.Namespace) -> int:
    from energy.study.case import EXAMPLES, load_case

    path = None
    if arguments.case is not None:
        load_case(arguments.case)  # a bad case is told here, on the terminal
        named = arguments.case in EXAMPLES and not Path(arguments.case).exists()
        given = Path(arguments.case)
        path = None if named and arguments.case == "demo" else given if named else given.resolve()
    import importlib

    launch = importlib.import_module("dashboards.launch")
    return int(launch.serve(path, arguments.port, not arguments.no_browser, most_pages=arguments.pages))


def _compare(arguments: argparse.Namespace) -> int:
    from energy.reports.comparison_json import to_json
    from energy.reports.comparison_text import to_text
    from energy.study.case import load_case
    from energy.study.compare import compare

    case = load_case(arguments.case)
    if arguments.units:
        case = case.with_({"case.units": arguments.units})
    comparison = compare(case)
    print(to_json(comparison) if arguments.json else to_text(comparison, case.model.case.units))
    return 0


def _simulate(arguments: argparse.Namespace) -> int:
    from energy.reports.simulation import to_json, to_text
    from energy.study.case import load_case
    from energy.study.simulate import simulate

    told = _told_share if sys.stderr.isatty() else None
    simulation = simulate(load_case(arguments.case), arguments.draws, arguments.seed, progress=told)
    sensitivity = None if arguments.quick else simulation.sensitivity()
    print((to_json if arguments.json else to_text)(simulation, sensitivity))
    return 0


def _told_share(share: float) -> None:
    print(f"\r{share:5.0%} of the draws", end="\n" if share >= 1.0 else "", file=sys.stderr, flush=True)


def _check(arguments: argparse.Namespace) -> int:
    from energy.reports.inputs import to_text
    from energy.study import desiccant_stated
    from energy.study.case import load_case
    from energy.study.compare import compare
    from energy.study.scenarios import tried

    case = load_case(arguments.case)
    compared = compare(case)
    without = tried(case)
    print(to_text(case))
    for option in compared.options:
        for note in option.notes:
            if note.check == desiccant_stated.CHECK:
                print(f"\n{option.name}: {note.text}")
    for name, why in without.items():
        print(f"\nUnder the scenario “{name}” there is no answer: {why}.")
    return 0


def _report(arguments: argparse.Namespace) -> int:
    from energy.reports.document import check_target, write_report
    from energy.study.case import load_case
    from energy.study.compare import compare

    check_target(Path(arguments.to), overwrite=arguments.force)
    case = load_case(arguments.case)
    simulation = None
    if arguments.draws != 0:
        from energy.study.simulate import simulate

        simulation = simulate(case, arguments.draws, arguments.seed)
    comparison = compare(case) if simulation is None else simulation.comparison
    write_report(
        comparison,
        arguments.to,
        simulation=simulation,
        short=arguments.short,
        paper=arguments.paper,
        overwrite=arguments.force,
    )
    print(f"{arguments.to} written")
    return 0


def _new(arguments: argparse.Namespace) -> int:
    from energy.errors import UnknownNameError, nearest
    from energy.study.case import EXAMPLES, example_text, write_whole

    if arguments.example not in EXAMPLES:
        hint = nearest(arguments.example, EXAMPLES)
        raise UnknownNameError(f"'{arguments.example}' is not an example; known: {', '.join(EXAMPLES)}{hint}")
    write_whole(Path(arguments.file), example_text(arguments.example).encode(), overwrite=arguments.force)
    print(f"{arguments.file} written; next: dryer-energy compare {arguments.file}")
    return 0


def _bill(arguments: argparse.Namespace) -> int:
    from energy.reports.bill import cautions, to_json, to_text
    from energy.reports.bill_input import about_load, bill_of, load_of, tariff_of

    tariff, notes = tariff_of(arguments)
    metered = load_of(arguments, tariff)
    made = bill_of(arguments, tariff, metered.load)
    if arguments.month is not None:
        made = made.of_month(arguments.month)
    notes = [*notes, *metered.cautions, *cautions(tariff, metered.load)]
    print(to_json(made, notes) if arguments.json else to_text(made, about_load(arguments), notes))
    return 0


def _walkthrough(arguments: argparse.Namespace) -> int:
    from energy.reports.walkthrough import to_text
    from energy.reports.walkthrough_json import to_json
    from energy.study.case import load_case
    from energy.walkthrough import baseline
    from energy.walkthrough.walk import walk

    if arguments.save == "":
        raise EnergyError(
            "--save: name the file to write the case to, with the readings in it: --save my-case-read.toml"
        )
    case = load_case(arguments.case)
    hopper = arguments.hopper or next((r.hopper for r in case.model.readings), case.model.hoppers[0].name)
    readings = baseline.readings_of(case, hopper)
    if arguments.readings is not None:
        whose = hopper if arguments.hopper is not None or len(case.model.hoppers) == 1 else ""
        written = baseline.read_readings(arguments.readings, whose)
        if arguments.hopper is not None:
            written = {**written, "hopper": hopper}
        readings = baseline.readings_from(written, arguments.readings)
        if arguments.save is not None:
            case = baseline.with_readings(case, written)
    made = walk(case, readings)
    print(to_json(made) if arguments.json else to_text(made, arguments.units or case.model.case.units))
    if arguments.save is not None:
        case.save(arguments.save, overwrite=arguments.force)
        print(f"{arguments.save} written", file=sys.stderr)
    return 0


def _verify(arguments: argparse.Namespace) -> int:
    from energy.reports import afterwards
    from energy.study.afterwards import periods
    from energy.study.case import load_case
    from energy.study.compare import compare
    from energy.tariffs.readers import read_metered_periods

    case, rows = load_case(arguments.case), None
    if arguments.metered is None and not case.model.request.verification.metered:
        raise EnergyError(
            f"{case.file}: nothing was metered yet; give the weeks before and after as a table, --metered weeks.csv, with the columns when, days, "
            "resin (kg) and electricity (kWh) or other carriers"
        )
    if arguments.metered is not None:
        rows = periods(read_metered_periods(arguments.metered, decimal=arguments.decimal), arguments.metered)
    found = afterwards.check(compare(case), rows, arguments.metered or "")
    print((afterwards.to_json if arguments.json else afterwards.to_text)(found, case.currency))
    return 0


def _types(arguments: argparse.Namespace) -> int:
    from energy.reports.catalogue import types_text

    print(types_text())
    return 0


def _resins(arguments: argparse.Namespace) -> int:
    from energy.reports.catalogue import resin_text, resins_text

    print(resins_text() if arguments.resin is None else resin_text(arguments.resin))
    return 0


if __name__ == "__main__":
    sys.exit(main())
