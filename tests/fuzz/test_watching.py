"""Workers that hang are told from those that get little of a busy computer."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from watching import Watch

HERE = Path(__file__).parent
LOOP, SLEEP = "while True: pass", "import time; time.sleep(1e6)"
ONE_CASE = """
import importlib.util, multiprocessing, signal, sys, time
from functools import partial
multiprocessing.set_start_method("fork")
sys.path.insert(0, {folder!r})
spec = importlib.util.spec_from_file_location("long_run", {folder!r} + "/__main__.py")
long_run = importlib.util.module_from_spec(spec)
spec.loader.exec_module(long_run)
import trying
def attempt(number, seed, folder):
    {does}
trying.attempt = attempt
long_run.SLOWEST = 1
long_run.Watch = partial(long_run.Watch, out_of_reach=3, asleep={asleep})
print(long_run.run(1, jobs=1))
"""


@contextmanager
def running(program: str) -> Iterator[int]:
    with subprocess.Popen([sys.executable, "-c", program]) as process:
        try:
            yield process.pid
        finally:
            process.kill()


def first_fault(watch: Watch, seconds: float) -> str:
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if found := watch.fault():
            return found
        time.sleep(0.05)
    return ""


def test_an_endless_loop_is_known_by_its_processor_time():
    with running(LOOP) as pid:
        assert first_fault(Watch(pid, [7], out_of_reach=0.3), 60) == "case 7 works on where no signal reaches"


def test_an_endless_sleep_is_known_by_the_clock():
    with running(SLEEP) as pid:
        watch = Watch(pid, [7], out_of_reach=0.3, asleep=1)
        assert first_fault(watch, 60) == "case 7 waits for something that does not come"


def test_a_worker_that_gets_no_processor_is_left_alone_and_a_new_case_begins_anew():
    case = [7]
    with running(LOOP) as pid:
        watch = Watch(pid, case, out_of_reach=0.3)
        assert watch.fault() == ""
        os.kill(pid, signal.SIGSTOP)
        assert first_fault(watch, 0.6) == ""
        os.kill(pid, signal.SIGCONT)
        assert first_fault(watch, 60) != ""
        case[0] = 8
        assert watch.fault() == ""


@pytest.mark.thorough
@pytest.mark.parametrize(
    ("does", "asleep", "said"),
    [
        ("while True: pass", 60, "TimeoutError at "),
        (f"signal.signal(signal.SIGPROF, signal.SIG_IGN)\n    {LOOP}", 60, "case 0 works on where no signal reaches"),
        ("time.sleep(1e6)", 3, "case 0 waits for something that does not come"),
    ],
)
def test_a_long_run_ends_a_case_that_hangs(does, asleep, said):
    program = ONE_CASE.format(folder=str(HERE), does=does, asleep=asleep)
    done = subprocess.run(
        [sys.executable, "-c", program],
        env=os.environ | {"PYTHONPATH": str(HERE.parents[1])},
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert said in done.stdout + done.stderr
    assert "Traceback" not in done.stderr
