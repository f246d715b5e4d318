"""The dryer types, one module each behind one interface: ``Dryer(inputs).run(duty) -> Operation``."""

from __future__ import annotations

from types import MappingProxyType, ModuleType

from energy.dryers import (
    compressed_air,
    compressed_air_membrane,
    hot_air,
    infrared_drum,
    rotating_beds,
    twin_tower,
    vacuum,
    wheel,
)
from energy.errors import UnknownNameError, nearest

_MODULES = (hot_air, twin_tower, rotating_beds, wheel, compressed_air, compressed_air_membrane, vacuum, infrared_drum)
TYPES: MappingProxyType[str, ModuleType] = MappingProxyType({m.KIND: m for m in _MODULES})
"""Type name as written in a case -> its module."""


def find(kind: str) -> ModuleType:
    """Module of a type; unknown names are refused with the nearest known one."""
    if kind not in TYPES:
        raise UnknownNameError(f"'{kind}' is not a dryer type; known: {', '.join(TYPES)}{nearest(kind, list(TYPES))}")
    return TYPES[kind]
