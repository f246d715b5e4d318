"""What was read and does not become an input of the present dryer, with its reason and with what is counted then, in sentences."""

from __future__ import annotations

from energy.errors import EnergyError
from energy.reports.rows import joined
from energy.reports.walkthrough import shown_reading
from energy.study.case import Case
from energy.study.readings import QUANTITIES
from energy.units import show
from energy.walkthrough.balance import Balance, balance
from energy.walkthrough.found import regeneration_of
from energy.walkthrough.kept_out import AIR, CYCLE, TEMPERATURE, KeptOut, kept_out

_NAMES = {
    AIR: "air velocity",
    CYCLE: "time from one change of beds to the next",
    TEMPERATURE: "temperature of the regeneration air",
}
APART = 0.005
"""Share by which heat of regeneration has to differ to be told twice. [-]"""


def kept_out_names(told: Balance) -> str:
    """Names of such readings, joined; empty where none is kept out."""
    return joined([f"the {_NAMES[one.reading]}" for one in kept_out(told.found)])


def said_of(one: KeptOut, system: str) -> str:
    """One such reading with its reason, in a sentence."""
    shown = shown_reading(one.value, QUANTITIES[one.reading], system)
    return f"Not taken over: the {_NAMES[one.reading]}, {shown}, since {one.why}."


def kept_out_words(told: Balance, taken: Case, system: str) -> list[str]:
    """A sentence for each such reading, and both figures where the heat of regeneration hangs on it.

    Parameters
    ----------
    told : Balance
        Of what may be taken over.
    taken : Case
        With that.
    system : {"si", "us"}
    """
    kept = kept_out(told.found)
    said = [said_of(one, system) for one in kept]
    if not {CYCLE, TEMPERATURE} & {one.reading for one in kept}:
        return said
    try:
        after = balance(taken, told.found.readings)
    except EnergyError:
        return said
    read = next((part.value for part in after.parts if part.name == "regeneration"), None)
    counted = regeneration_of(after.found.expected)
    if read is None or abs(read - counted) <= APART * max(abs(read), counted):
        return said
    walked, compared = (show(heat, "power", system) for heat in (read, counted))
    return [
        *said,
        f"So the walkthrough counts {walked} of regeneration heat with what was read, and the comparison {compared}.",
    ]
