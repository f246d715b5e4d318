"""The long run: ``python tests/fuzz --cases 100000``; ``--only N`` repeats one case and keeps its files."""

from __future__ import annotations

import argparse
import multiprocessing
import os
import resource
import signal
import sys
import tempfile
import time
import traceback
import warnings
from collections import Counter
from pathlib import Path
from queue import Empty
from typing import Any

from watching import SLOWEST, Watch

MOST_MEMORY = 2**30  # bytes


def _work(first: int, step: int, cases: int, seed: int, until: float, now: Any, queue: Any) -> None:
    from trying import attempt

    warnings.simplefilter("error")
    resource.setrlimit(resource.RLIMIT_DATA, (MOST_MEMORY, MOST_MEMORY))

    def late(*_: object) -> None:
        raise TimeoutError(f"took more than {SLOWEST} s of the processor")

    signal.signal(signal.SIGPROF, late)
    for number in range(first, cases, step):
        if time.time() > until:
            break
        now[0] = number
        with tempfile.TemporaryDirectory() as folder:
            signal.setitimer(signal.ITIMER_PROF, SLOWEST)
            try:
                queue.put((number, *attempt(number, seed, Path(folder))))
            except BaseException as error:  # everything that is no answer counts, an exit as well
                frames = traceback.extract_tb(error.__traceback__)
                ours = [f for f in frames if "/energy/" in f.filename] or frames
                where = f"{Path(ours[-1].filename).name}:{ours[-1].lineno}"
                queue.put((number, "fault", f"{type(error).__name__} at {where}: {str(error)[:300]}"))
            finally:
                signal.setitimer(signal.ITIMER_PROF, 0)
    queue.put(None)


def run(
    cases: int, seed: int = 1, jobs: int = 2, minutes: float = 1e6
) -> tuple[Counter[tuple[str, str]], dict[str, list[int]]]:
    """Try cases side by side; counts by kind and answer, and faults with the numbers of their cases."""
    counts: Counter[tuple[str, str]] = Counter()
    faults: dict[str, list[int]] = {}
    queue: Any = multiprocessing.Queue()
    until = time.time() + 60 * minutes
    workers = []
    for first in range(jobs):
        now = multiprocessing.Array("d", [first])
        process = multiprocessing.Process(target=_work, args=(first, jobs, cases, seed, until, now, queue), daemon=True)
        process.start()
        workers.append((process, now, Watch(process.pid, now)))
    left, told = jobs, time.time()
    while left:
        try:
            found = queue.get(timeout=5)
        except Empty:  # nothing within 5 s: is a worker dead or hung?
            for process, now, watch in workers:
                if not process.is_alive():
                    if process.exitcode:
                        raise SystemExit(f"case {now[0]:.0f} ended its process ({process.exitcode})") from None
                elif hung := watch.fault():
                    process.kill()
                    raise SystemExit(hung) from None
            continue
        if found is None:
            left -= 1
            continue
        number, kind, answer = found
        if kind == "fault":
            faults.setdefault(answer.partition(": ")[0], []).append(number)
            if len(faults[answer.partition(": ")[0]]) == 1:
                print(f"case {number}: {answer}", flush=True)
        counts[kind, "fault" if kind == "fault" else answer] += 1
        if time.time() - told > 60:
            told = time.time()
            print(f"{sum(counts.values())} cases, {len(faults)} kinds of fault", flush=True)
    return counts, faults


def main() -> int:
    parser = argparse.ArgumentParser(prog="python tests/fuzz", description=__doc__)
    parser.add_argument("--cases", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=min(4, os.cpu_count() or 1))
    parser.add_argument("--minutes", type=float, default=1e6, help="stop after so long")
    parser.add_argument("--only", type=int, metavar="N", help="repeat one case, with its traceback and its files kept")
    arguments = parser.parse_args()
    if arguments.only is not None:
        from trying import attempt

        warnings.simplefilter("error")
        folder = Path(tempfile.mkdtemp())
        print(folder)
        print(*attempt(arguments.only, arguments.seed, folder))
        return 0
    begin = time.time()
    counts, faults = run(arguments.cases, arguments.seed, arguments.jobs, arguments.minutes)
    for (kind, answer), count in sorted(counts.items()):
        print(f"{kind:12s} {answer:6s} {count:8d}")
    for fault, numbers in faults.items():
        print(f"{fault}: {len(numbers)} cases, such as {numbers[:5]}")
    print(f"{sum(counts.values())} cases in {time.time() - begin:.0f} s")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
