"""What the sections of a case file have in common."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from energy.sources import load
from energy.units import SI

Basis = Literal["measured", "nameplate", "quoted", "read", "common practice", "assumption"]
BASES: tuple[str, ...] = ("measured", "nameplate", "quoted", "read", "common practice", "assumption")
ONE_LINE = r"^[^\x00-\x1f\x7f]*$"


def typical(key: str) -> Any:
    """Default from data/plant.toml, read when it is needed."""
    return Field(default_factory=lambda: SI(load("plant")[key].si))


class Section(BaseModel):
    """Frozen, and strict about names."""

    model_config = ConfigDict(frozen=True, extra="forbid")
