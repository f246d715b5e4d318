"""Rewrites key_results.toml: ``python tests/regression --why "REASON"``; without the reason it only tells what changed."""

from __future__ import annotations

import argparse
import datetime
import sys

import key_results
import tomli_w

FEWEST_WORDS = 3  # a reason that somebody can judge later


def changed(before: key_results.Results | None, now: key_results.Results) -> list[str]:
    """What changed; one line if there was nothing before."""
    if before is None:
        return ["first values"]
    return list(key_results.differences(before["results"], now))


def written(history: list[dict[str, object]], now: key_results.Results) -> str:
    """The whole file."""
    return key_results.HEAD + tomli_w.dumps({"change": history, "results": now})


def main(arguments: list[str] | None = None) -> int:
    """0 when written or nothing changed, 1 when a reason is missing."""
    parser = argparse.ArgumentParser(prog="tests/regression", description=__doc__)
    parser.add_argument("--why", default="", help="the reason for the change, in a sentence")
    why = " ".join(parser.parse_args(arguments).why.split())
    before = key_results.kept() if key_results.FILE.exists() else None
    now = {case: key_results.worked_out(case) for case in key_results.CASES}
    what = changed(before, now)
    if not what:
        print("nothing changed by more than the tolerance; the file stays as it is")
        return 0
    print(*what, sep="\n")
    if len(why.split()) < FEWEST_WORDS:
        print('not written: say why in a sentence, --why "..."', file=sys.stderr)
        return 1
    entry = {"date": datetime.date.today(), "what": what, "why": why}
    history = [*(before["change"] if before else []), entry]
    key_results.FILE.write_text(written(history, now), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
