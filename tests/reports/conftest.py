"""The capital request of the examples, made once for all tests that read it."""

from __future__ import annotations

import cases
import pytest

from energy.reports.document import model
from energy.study.case import load_case
from energy.study.compare import compare


@pytest.fixture(scope="session")
def small():
    """Two options of the one-machine case."""
    return compare(cases.case(cases.PRESENT, cases.WHEEL, cases.HOT))


@pytest.fixture(scope="session")
def demo():
    return compare(load_case("demo"))


@pytest.fixture(scope="session")
def document(demo):
    return model.document(demo)
