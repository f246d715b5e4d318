"""Long work in a process of its own: the page stays free meanwhile, and a change ends the work at once.

Bytes go both ways: the work and its arguments as one pickle to the process, messages as pickles of known length back.
Nothing from outside is ever unpickled: both ends are this program.
"""

from __future__ import annotations

import asyncio
import copyreg
import importlib
import logging
import os
import pickle
import struct
import subprocess
import sys
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from threading import Thread
from types import MappingProxyType
from typing import Any, BinaryIO

from energy.errors import EnergyError

Send = Callable[[Any], None]
"""Hands a message to the page."""
Work = Callable[..., None]
"""A function of a module: its arguments, then `send`, to which it gives its messages."""
_LENGTH = struct.Struct("<Q")
_log = logging.getLogger(__name__)


def _read_only(items: dict[Any, Any]) -> MappingProxyType[Any, Any]:
    return MappingProxyType(items)


copyreg.pickle(MappingProxyType, lambda mapping: (_read_only, (dict(mapping),)))  # type: ignore[arg-type]


class Job:
    """One piece of work under way.

    Parameters
    ----------
    work : function
        Of a module, not one made on the spot.
    arguments : tuple
        Handed to it, before `send`.
    on_message : callable
        Called in the loop that started the job with each message; the last one is an `Ended`.
    """

    def __init__(self, work: Work, arguments: tuple[Any, ...], on_message: Callable[[Any], None]) -> None:
        self._on_message, self._loop = on_message, asyncio.get_running_loop()
        self._given_up = False
        self._process = subprocess.Popen(
            [sys.executable, "-c", f"from {__name__} import serve; serve()"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
            cwd=Path(__file__).resolve().parent.parent,
        )
        content = pickle.dumps((work.__module__, work.__qualname__, arguments))
        Thread(target=self._run, args=(content,), daemon=True).start()

    def cancel(self) -> None:
        """End the work; no message comes after this."""
        self._given_up = True
        self._process.kill()

    def _run(self, content: bytes) -> None:
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        ended: Any = Ended("The work ended before it was done.")
        with self._process, suppress(OSError):
            # It stays open: its end tells the work that the page has gone.
            self._process.stdin.write(_LENGTH.pack(len(content)) + content)
            self._process.stdin.flush()
            while (message := _read(self._process.stdout)) is not None:
                if isinstance(message, Ended):
                    ended = message
                    break
                self._tell(message)
        self._tell(ended)

    def _tell(self, message: Any) -> None:
        with suppress(RuntimeError):  # the loop has closed: nobody is waiting
            self._loop.call_soon_threadsafe(self._hand_over, message)

    def _hand_over(self, message: Any) -> None:
        if not self._given_up:
            self._on_message(message)


class Ended:
    """The last message of a job: what went wrong, or an empty text."""

    def __init__(self, problem: str = "") -> None:
        self.problem = problem


def in_place(work: Work, arguments: tuple[Any, ...], on_message: Callable[[Any], None]) -> None:
    """Do the work here and now, with the same messages: for where there is no loop, and nobody waits for a page."""
    on_message(_do(work, arguments, on_message))


def _do(work: Work, arguments: tuple[Any, ...], send: Send) -> Ended:
    try:
        work(*arguments, send)
    except EnergyError as error:
        return Ended(str(error))
    except OSError:  # nobody listens any more
        raise
    except Exception:
        _log.exception("work in the background failed")
        return Ended("This could not be worked out: an error in the program.")
    return Ended()


def serve() -> None:
    """Do the work that the standard input names and write its messages to the standard output."""
    _give_way()
    module, name, arguments = _read(sys.stdin.buffer)
    Thread(target=_end_with_the_page, daemon=True).start()
    work = getattr(importlib.import_module(module), name)
    out, sys.stdout = sys.stdout.buffer, sys.stderr
    with suppress(OSError):
        _write(out, _do(work, arguments, lambda message: _write(out, message)))
    with suppress(OSError):
        out.close()


def _give_way() -> None:
    """What a visitor waits for goes first, also where Linux shares the processor between sessions and not processes."""
    if hasattr(os, "nice"):
        os.nice(19)
    with suppress(OSError):
        Path("/proc/self/autogroup").write_text("19", encoding="ascii")


def _end_with_the_page() -> None:
    os.read(sys.stdin.fileno(), 1)  # not by way of the buffer, which may not be in use when the program ends
    os._exit(0)


def _write(out: BinaryIO, message: Any) -> None:
    content = pickle.dumps(message)
    out.write(_LENGTH.pack(len(content)) + content)
    out.flush()


def _read(source: Any) -> Any:
    """The next message; None at the end."""
    head = source.read(_LENGTH.size)
    if len(head) < _LENGTH.size:
        return None
    (length,) = _LENGTH.unpack(head)
    content = source.read(length)
    return pickle.loads(content) if len(content) == length else None
