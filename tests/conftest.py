"""Every `published` mark must say source, where and quoted; the run ends by listing the sources.

Tests run side by side (pytest-xdist); those against a running server stay together.
"""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import settings

settings.register_profile("any machine", deadline=None)  # a busy one is no failure
settings.load_profile("any machine")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    problems = set()
    for item in items:
        fixtures = getattr(item, "fixturenames", ())
        if "serving" in fixtures:  # one after the other: they share a server, those of the pieces another
            item.add_marker(pytest.mark.xdist_group("pieces" if "pieces" in fixtures else "server"))
        for mark in item.iter_markers("published"):
            said = dict(zip(("source", "where", "quoted"), mark.args, strict=False)) | mark.kwargs
            missing = [key for key in ("source", "where", "quoted") if not said.get(key)]
            if missing or len(said) > 3:
                problems.add(f"{item.nodeid.partition('[')[0]}: published: missing {missing}, said {said}")
            item.user_properties.append(("published", said.get("source")))
    if problems:
        raise pytest.UsageError("\n".join(sorted(problems)))


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    passed = [report for report in terminalreporter.stats.get("passed", []) if report.when == "call"]
    checks = Counter(source for r in passed for name, source in r.user_properties if name == "published")
    if checks:
        terminalreporter.section("checked against published sources")
    for source, number in sorted(checks.items()):
        terminalreporter.write_line(f"{number:5d}  {source}")
