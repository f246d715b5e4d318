"""Looks after the worker processes of a long run: tells one that hangs from one that merely has to wait for its turn."""

from __future__ import annotations

import time
from typing import Any

import psutil

SLOWEST = 20
"""Processor time of a case, in which it may be compared twice and simulated; a signal ends it after that. [s]"""
OUT_OF_REACH = 3 * SLOWEST
"""Processor time after which no signal has reached the case. [s]"""
ASLEEP = 3600
"""Time by the clock in which even a worker that gets little of a busy computer is done with a case. [s]"""


def processor_time(pid: int) -> float:
    """Processor time that a process has taken so far, its own and the system's for it. [s]"""
    times = psutil.Process(pid).cpu_times()
    return times.user + times.system


class Watch:
    """Looks at one worker now and then.

    Parameters
    ----------
    pid : int
        Its process.
    now : array of float
        Number of its case, which the worker writes there as it begins it.
    out_of_reach, asleep : float
        Limits of one case by the processor and by the clock. [s]
    """

    def __init__(self, pid: int, now: Any, out_of_reach: float = OUT_OF_REACH, asleep: float = ASLEEP) -> None:
        self._pid, self._now, self._out_of_reach, self._asleep = pid, now, out_of_reach, asleep
        self._case = -1.0

    def fault(self) -> str:
        """What is wrong with the case under way; empty where nothing is. Counted from when the case was first seen."""
        taken, clock = processor_time(self._pid), time.monotonic()
        if self._now[0] != self._case:
            self._case, self._taken, self._clock = self._now[0], taken, clock
        if taken - self._taken > self._out_of_reach:
            return f"case {self._case:.0f} works on where no signal reaches"
        if clock - self._clock > self._asleep:
            return f"case {self._case:.0f} waits for something that does not come"
        return ""
