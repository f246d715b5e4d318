"""How many pages may be open at once: each has a process of its own, and one too many would starve all of them."""

from __future__ import annotations

from collections.abc import Collection
from http import HTTPStatus
from typing import Any

from tornado.ioloop import IOLoop
from tornado.web import authenticated
from voila.tornado.handler import TornadoVoilaHandler

from dashboards import memory
from dashboards.plain_pages import plain_page

A_PAGE = 300e6
"""Memory of a page while a simulation runs behind it. [byte] Two that were measured took 225 and 313 MB, 80 to 90 MB at rest."""
UNKNOWN = 20
"""Places where the system does not say how much memory there is."""
ASK_AGAIN = 5
"""After so long a page that found no place asks again. [s]"""
LAID_OUT = 5
"""So long after a page was sent nothing needs any more what it was laid out with, half of what it takes in the server. [s]"""


def usual_most() -> int:
    """Most pages at once where nothing is said: as many as this computer's memory holds, and at least 4."""
    size = memory.of_computer()
    return UNKNOWN if size is None else max(4, int(size // A_PAGE))


def taken(kernels: Any, under_way: Collection[object]) -> int:
    """Places that are taken.

    Parameters
    ----------
    kernels : kernel manager of Voilà
        All of its kernels count but those that wait for a visitor.
    under_way : collection
        Pages that have been let in and have no kernel yet.
    """
    waiting = sum(task.done() for pool in kernels._pools.values() for task in pool)
    return len(kernels) - waiting + len(under_way)


class View(TornadoVoilaHandler):
    """A view; where no place is left, a page that says so and asks again by itself.

    That helps who reloads a page or goes on to another view, too: the page that is left is closed only after the next was asked for.
    """

    @authenticated
    async def get(self, path: str | None = None) -> None:
        most, under_way = self.settings["most_pages"], self.settings["pages_under_way"]
        if taken(self.kernel_manager, under_way) >= most:
            self._refuse(most)
            return
        under_way.add(self)
        try:
            async for markup in self.get_generator(path=path):
                under_way.discard(self)  # its kernel has started
                self.write(markup)
                self.flush()
        finally:
            under_way.discard(self)
            IOLoop.current().call_later(LAID_OUT, memory.give_back_memory)

    def _log(self) -> None:
        if (
            self.get_status() != HTTPStatus.SERVICE_UNAVAILABLE
        ):  # no fault of the server, and it comes every few seconds
            super()._log()

    def _refuse(self, most: int) -> None:
        resources = {**self.voila_configuration.resources, "base_url": self.base_url}
        self.set_status(HTTPStatus.SERVICE_UNAVAILABLE)
        self.set_header("Cache-Control", "no-store")
        self.set_header("Retry-After", str(ASK_AGAIN))
        self.finish(plain_page("full.html.j2", resources, most=most, seconds=ASK_AGAIN))
