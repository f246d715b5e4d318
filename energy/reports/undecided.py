"""Why a check afterwards is not decided, and what the meters would have to show for a pass."""

from __future__ import annotations

from collections.abc import Callable

from energy.reports.check import Check

WHOLE = 0.995
"""Share of the forecast from which what is needed is all of it, as closely as it is told. [-]"""


def why_not(found: Check) -> str:
    """Why it is not decided, in a clause."""
    if found.far:
        several = len(found.far) > 1
        return f"since the figures cannot be right as they are ({'see the checks below' if several else 'see the check below'})"
    if found.enough:
        return "since the meters disprove the peaks that were forecast, and without them what was needed is not reached"
    if max(found.either) + found.doubt < found.asked:
        return "since what was needed is reached only with what no meter shows"
    if all(abs(one - found.asked) <= found.doubt for one in found.either) or found.if_base is None:
        return "since what was needed lies within what the saving may be off"
    return "since it depends on the base load, which the periods before do not tell"


def what_passes(found: Check, money: Callable[[float], str]) -> str:
    """What the meters would have to show for a pass, where that alone is missing; else empty."""
    if found.word != "not decided" or found.far or found.enough:
        return ""
    both = ", whatever the base load was" if found.if_base is not None else ""
    needed = money(found.to_pass - found.doubt)
    return (
        f"It is passed where the meters show {money(found.to_pass)} a year or more{both}: the {needed} needed and, on top, the {money(found.doubt)} that "
        "the saving may be off. More and longer periods make that doubt smaller, down to the error of the meters."
    )


def whole_forecast(found: Check) -> str:
    """That nothing less than the forecast is enough, where that is why it is not decided; else empty."""
    near = abs(found.total - found.expected) <= found.doubt < 0.5 * found.expected
    if found.word in ("passed", "failed") or found.far or found.needed < WHOLE * found.expected or not near:
        return ""
    return (
        "What is needed is the whole forecast, as the sum asked for needs no less for its payback or its worth: a saving exactly as forecast is "
        "then shown by no meter, whose doubt lies on both sides of it. Agree what share of the forecast counts as a success, and write it under "
        "“Counts as a success” on the request page (request.verification.success); this verdict goes by the longest payback accepted "
        "(finance.maximum_payback) and the net present value alone."
    )
