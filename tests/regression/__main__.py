"""Write the key results anew: ``python tests/regression --because "what changed and why"``."""

from __future__ import annotations

import argparse
import datetime
import sys

import tomli_w
from key_results import CASES, KEPT, differences, kept, key_results

HEAD = """\
# Key results of the example cases as the engine works them out. These are its own figures, not a check of whether they are
# right: they are here so that a change is noticed and given a reason. The checks against published values are elsewhere.
# Moisture left is in % dry basis by hopper, money in the currency of the case.

"""


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--because", required=True, help="what changed in the engine or the examples, and why")
    because = parser.parse_args().because.strip()
    if len(because) < 20:
        parser.error("a reason in a sentence, please")
    old = kept() if KEPT.exists() else {"change": []}
    new = {name: key_results(name) for name in CASES}
    changed = list(differences({n: old.get(n, {}) for n in CASES}, new))
    if not changed:
        print("Nothing has changed.")
        return 0
    print(*changed, sep="\n")
    change = {"date": datetime.date.today(), "why": because}
    KEPT.write_text(HEAD + tomli_w.dumps({"change": [*old["change"], change], **new}), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
