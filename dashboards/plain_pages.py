"""Pages without a kernel: they are drawn at once, and hold their style sheets and scripts in themselves."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader
from jupyter_server.base.handlers import JupyterHandler
from tornado.web import authenticated

from dashboards.launch import CASE_VARIABLE, HERE, case_mark

STYLES = ("style.css", "form.css", "walkthrough.css", "paper.css")
"""Style sheets of every page, in the order in which they count."""
FOLDER = HERE / "share" / "jupyter" / "voila" / "templates"


def plain_page(name: str, resources: dict[str, Any], **values: Any) -> str:
    """Markup of a page.

    Parameters
    ----------
    name : str
        Its template, in the folder of the pages' templates.
    resources : dict
        The views and the address they begin at, for the bar on top.
    **values
        What else the template asks for.
    """
    page = Environment(loader=FileSystemLoader(FOLDER), autoescape=False).get_template(f"dryer/{name}")
    files = {"css": STYLES, "page_js": ("page.js",), "start_js": ("start.js",)}
    texts = {
        key: "".join((FOLDER / "dryer" / "static" / file).read_text(encoding="utf-8") for file in names)
        for key, names in files.items()
    }
    return page.render(resources=resources, **texts, **values)


class Start(JupyterHandler):
    """The first page: the views and what they are for. It is drawn at once, while a kernel works out the case."""

    def initialize(self, resources: dict[str, Any]) -> None:
        self._resources = resources

    @authenticated
    def get(self) -> None:
        self.set_header("Cache-Control", "no-store")
        mark = case_mark(os.environ.get(CASE_VARIABLE))
        self.finish(plain_page("start.html.j2", self._resources, case=_case_name(), mark=mark))


def _case_name() -> str:
    """Of the case that every view opens with."""
    path = os.environ.get(CASE_VARIABLE)
    return Path(path).name if path else "the demo plant"
