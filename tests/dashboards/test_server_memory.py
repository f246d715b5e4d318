"""What keeps the server as small as it began; each in a process of its own, since it changes all of that process."""

from __future__ import annotations

import os
import platform
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor

import pytest
from conftest import ROOT
from visitor import Visitor

from dashboards.server import HELD

GNU = platform.libc_ver()[0] == "glibc"
HEAPS = """
import ctypes, sys, threading
from dashboards import memory
if sys.argv[1] == "one":
    memory.use_one_heap()
barrier = threading.Barrier(8)
def work():
    held = [bytes(5000) for _ in range(10)]
    barrier.wait()
threads = [threading.Thread(target=work) for _ in range(8)]
for thread in threads: thread.start()
for thread in threads: thread.join()
library = ctypes.CDLL(None)
library.fdopen.restype = ctypes.c_void_p
told = ctypes.c_void_p(library.fdopen(1, b"w"))
library.malloc_info(0, told)
library.fflush(told)
"""
CIRCLES = """
import gc, weakref
from dashboards import memory
import psutil
class Page: pass
memory.set_aside_what_stays()
gc.disable()  # as between two searches of its own
def size(): return psutil.Process().memory_info().rss / 2**20
def come():
    page = Page()
    page.self, page.held = page, [bytearray(3000) for _ in range(20_000)]
    return weakref.ref(page), bytearray(3000)  # above the page, so that the heap cannot just end lower
before = size()
page, above = come()
full = size()
assert page() is not None
memory.give_back_memory()
assert page() is None
print(before, full, size())
"""


def run(program: str, *arguments: str) -> str:
    path = os.pathsep.join(filter(None, (str(ROOT), os.environ.get("PYTHONPATH"))))
    done = subprocess.run(
        [sys.executable, "-c", program, *arguments],
        env=os.environ | {"PYTHONPATH": path},
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.mark.skipif(not GNU, reason="only the GNU C library gives threads heaps of their own that can be counted so")
def test_threads_share_one_heap():
    assert run(HEAPS, "many").count("<heap nr=") > 1
    assert run(HEAPS, "one").count("<heap nr=") == 1


def test_a_page_that_is_gone_is_found_and_its_memory_given_back():
    before, full, after = map(float, run(CIRCLES).split())
    assert full > before + 50
    if GNU:
        assert after < before + 10


@pytest.mark.thorough
def test_the_server_is_as_small_again_when_its_visitors_have_gone(serving):
    with serving() as server:
        time.sleep(15)  # its first kernel is ready
        start = server.process.memory_full_info().uss
        for _ in range(2):
            with ThreadPoolExecutor(4) as threads:
                visitors = list(threads.map(lambda _: Visitor(server.url), range(4)))
            for visitor in visitors:
                visitor.look()
                visitor.leave()
        time.sleep(HELD + 10)
        assert server.process.memory_full_info().uss < 1.07 * start
