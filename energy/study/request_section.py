"""What a case file says of the capital request."""

from __future__ import annotations

import datetime
from typing import Annotated, Literal

from pydantic import Field

from energy.study.section import ONE_LINE, Section
from energy.units import SI, Quantity


class Step(Section):
    """[[request.schedule]]: one step of the work and how long it takes."""

    step: str = Field(min_length=1, max_length=200, pattern=ONE_LINE)
    weeks: float = Field(gt=0, le=520)


_Text = Annotated[str, Field(max_length=4000)]
_Line = Annotated[str, Field(max_length=200, pattern=ONE_LINE)]
_Date = Annotated[datetime.date, Field(strict=False)]


class Metered(Section):
    """[[request.verification.metered]]: a week, or any other period, at the meters named in the plan."""

    when: Literal["before", "after"]
    """Of the change."""
    days: float = Field(ge=0.01, le=366)
    resin: Annotated[float, Quantity("mass", label="Resin dried", shown="kg"), Field(gt=0, le=1e9)]
    electricity: Annotated[float | None, Quantity("energy", label="Electricity", shown="kWh"), Field(ge=0, le=1e16)] = (
        None
    )
    gas: Annotated[
        float | None, Quantity("energy", label="Gas, higher heating value", shown="kWh"), Field(ge=0, le=1e16)
    ] = None
    gas_volume: Annotated[
        float | None, Quantity("volume", label="Gas as its meter shows it, by volume", shown="m3"), Field(ge=0, le=1e9)
    ] = None
    """In place of gas: the heating value of the case's tariff of gas makes it energy."""
    compressed_air: Annotated[
        float | None,
        Quantity("energy", label="Compressed air, electricity at the compressor", shown="kWh"),
        Field(ge=0, le=1e16),
    ] = None


class VerificationPlan(Section):
    """[request.verification]: what replaces the plan's own sentences, and what was metered."""

    boundary: _Text = ""
    meters: _Text = ""
    baseline_period: _Text = ""
    variables: _Text = ""
    accuracy: _Text = ""
    success: _Text = ""
    responsible: _Text = ""
    review: _Text = ""
    metered: tuple[Metered, ...] = Field(default=(), max_length=520)


_Options = Annotated[tuple[_Line, ...], Field(max_length=100)]


class WrittenFor(Section):
    """[request.written_for]: by text, the options that it was written for and holds for, by name; empty: the one asked for.

    The pages keep it when another option comes to be asked for, so that a text that tells of the old one is read again.
    """

    title: _Options = ()
    why_now: _Options = ()
    scope: _Options = ()
    boundary: _Options = ()
    risks: _Options = ()
    non_energy: _Options = ()
    incentive_status: _Options = ()
    schedule: _Options = ()
    downtime: _Options = ()
    estimate_class: _Options = ()


class Request(Section):
    """[request]: what a capital request needs and the engine cannot know; what is left out is said to be not stated."""

    title: _Line = ""
    prepared_by: _Line = ""
    department: _Line = ""
    date: _Date | None = None
    recommended: _Line = ""
    """An option by name; empty: the one of lowest life-cycle cost among the surest."""
    why_now: _Text = ""
    scope: _Text = ""
    boundary: _Text = ""
    risks: tuple[_Text, ...] = Field(default=(), max_length=40)
    non_energy: tuple[_Text, ...] = Field(default=(), max_length=40)
    incentive_status: _Text = ""
    schedule: tuple[Step, ...] = Field(default=(), max_length=40)
    downtime: _Text = ""
    estimate_class: _Line = ""
    contingency: Annotated[
        float, Quantity("share", label="Contingency over the capital", shown="%"), Field(ge=0, le=1)
    ] = SI(0.0)
    """Asked for on top of the capital; no part of the comparison. [-]"""
    quote_date: _Date | None = None
    verification: VerificationPlan = VerificationPlan()
    approvals: tuple[_Line, ...] = Field(default=(), max_length=12)
    """Roles that sign."""
    written_for: WrittenFor = WrittenFor()
