"""Keeps the server as small as it began, however many pages come and go."""

from __future__ import annotations

import ctypes
import gc
import os
from collections.abc import Callable
from pathlib import Path

M_ARENA_MAX = -8
"""Number of the setting in the GNU C library's malloc.h."""
CONTAINER = (Path("/sys/fs/cgroup/memory.max"), Path("/sys/fs/cgroup/memory/memory.limit_in_bytes"))
"""Where Linux tells the limit of control groups, version 2 and version 1, as a container sees its own (kernel documentation, cgroup-v2, memory.max)."""


def use_one_heap() -> None:
    """Let all threads share one heap; those that serve the kernels would each keep up to 1 MB of a page that is gone.

    Counts for this process alone, and has to come before its first other thread.
    """
    setting = _of_c_library("mallopt")
    if setting is not None:
        setting(M_ARENA_MAX, 1)


def set_aside_what_stays() -> None:
    """Leave what a start has loaded out of every later search for what is gone: it takes 10 ms then, not 250."""
    gc.freeze()


def give_back_memory() -> None:
    """Let go of pages that are gone, and let the system have what the C library keeps of them.

    A page is a circle of objects: Python would find it only when a quarter as many have gathered as a start loads.
    """
    gc.collect()
    trim = _of_c_library("malloc_trim")
    if trim is not None:
        trim(0)


def _of_c_library(name: str) -> Callable[..., int] | None:
    """A function that the GNU C library alone has."""
    return getattr(ctypes.CDLL(None), name, None) if os.name == "posix" else None


def of_computer() -> int | None:
    """Memory of this computer, or of the container that all of this runs in [byte]; None where the system does not say."""
    try:
        size = os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE")
    except (AttributeError, ValueError):  # Windows has no such call, another system perhaps no such number
        return None
    return min([size, *_limits()])


def _limits() -> list[int]:
    """What Linux lets the processes of a container have, where it says so."""
    found = []
    for file in CONTAINER:
        try:
            found.append(int(file.read_text()))
        except (OSError, ValueError):  # no such file; "max" where there is no limit
            continue
    return found
