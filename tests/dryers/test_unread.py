"""Inputs that a type has from the hopper it shares with others, and reads nothing of."""

from __future__ import annotations

import pytest
from dryer_duties import duty

from energy.dryers import TYPES
from energy.units import SI


def other(value):
    """Another value of an input; SI."""
    return SI(330.0 if value is None else 0.8 * value if value else 0.01)


@pytest.mark.parametrize("kind", TYPES)
def test_what_a_type_does_not_read_changes_nothing_of_it(kind):
    given, module = duty("PC"), TYPES[kind]
    inputs = (
        module.Inputs(airflow_control="variable speed") if "airflow_floor" in module.Inputs.UNREAD else module.Inputs()
    )
    made = module.Dryer(inputs).run(given)
    for key in module.Inputs.UNREAD:
        changed = inputs.model_copy(update={key: other(getattr(inputs, key))})
        again = module.Dryer(changed).run(given)
        for table in ("energy", "peak", "heat_out", "sizing"):
            assert dict(getattr(again, table)) == dict(getattr(made, table)), (key, table)
        assert again.hopper == made.hopper, key
