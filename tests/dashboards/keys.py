"""A visitor with a keyboard alone."""

from __future__ import annotations

from typing import Any


def walk_to(page: Any, label: str, most: int = 120) -> Any:
    """Press Tab until the control of that name has the focus; it is returned."""
    wanted = page.get_by_label(label, exact=True).or_(page.get_by_role("button", name=label, exact=True)).first
    for _ in range(most):
        if wanted.evaluate("node => node === document.activeElement"):
            return wanted
        page.keyboard.press("Tab")
    raise AssertionError(f"{label} is not reached with Tab")
