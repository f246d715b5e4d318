"""What readings say of a present dryer beside what the comparison counts for it, in sentences."""

from __future__ import annotations

from energy.errors import EnergyError
from energy.reports.rows import joined
from energy.reports.walkthrough import set_aside
from energy.reports.walkthrough_words import per_resin
from energy.study.case import Case
from energy.units import show, shown_unit, to_unit
from energy.walkthrough.balance import Balance, balance
from energy.walkthrough.baseline import metered_over_model
from energy.walkthrough.found import metered_power, power_read


def beside_the_model(case: Case, system: str) -> list[str]:
    """What readings kept with the case say of its present dryers beside what the comparison counts, a sentence or two each."""
    told = []
    for readings in case.model.readings:
        if not power_read(readings):
            continue
        try:
            found = balance(case, readings)
        except EnergyError:  # a duty or a system that a walkthrough has no answer for: nothing was read of it
            continue
        if power_read(found.found.readings):  # what was read and cannot be is told as not taken over
            when = f" ({readings.occasion})" if readings.occasion else ""
            told.append(f"At {readings.hopper}{when} {model_beside(found, system)}")
    return told


def model_beside(found: Balance, system: str, left_out: str = "") -> str:
    """What the readings say of a dryer beside what the comparison counts for it on the duty of that day.

    `left_out` names what is in doubt and stays out where all else has been taken over.
    """
    aside = set_aside(found)
    unit = shown_unit("specific energy", system)

    def shown(value: float) -> str:
        return f"{to_unit(value, 'specific energy', unit):,.0f} {unit}"

    flow = show(float(found.found.duty.throughput[0]), "mass flow", system)
    read = f"{per_resin(found, system)} at {flow}"
    read += f" with {left_out} as read, which is in doubt" if left_out else ""
    read += f" without {aside}, which is to be checked" if aside else ""
    counted = counted_energy(found)
    apart = abs(found.specific_energy - counted) > found.expanded
    if found.found.metered != 1.0 and not apart:
        between = "counted in what" if found.found.metered > 1.0 else "taken off what"
        return (
            f"the readings say {read} and the comparison counts {shown(counted)} there, brought to the meter: the model by itself counts "
            f"{shown(found.expected)}. What lies between is {between} a replacement saves. That holds if its cause goes with the "
            "present dryer; find the cause before a saving is signed."
        )
    said = f"the readings say {read}, the comparison counts {shown(counted)} there"
    if not apart:
        return f"{said}, which is within that."
    share = counted / found.specific_energy - 1.0
    said = f"{said}, {abs(share):.0%} {'more' if share > 0 else 'less'}. Bills and savings go by what is counted"
    if power_read(found.found.readings) and metered_over_model(found) is None:
        return (
            f"{said}, and the meter is too far from the model to be taken over: it may cover more than this dryer, or a reading is off. "
            "Find out before a saving is signed."
        )
    in_doubt = joined([*filter(None, (left_out, aside))])
    mend = f"check what is in doubt ({in_doubt})" if in_doubt else "take the readings over into the present dryer"
    return f"{said}: {mend}, or find what takes the rest, before a saving is signed."


def counted_energy(balance: Balance) -> float:
    """Electricity and fuel per resin that the comparison counts on the duty of the readings. [J/kg]"""
    found = balance.found
    beyond = (found.metered - 1.0) * metered_power(found.expected)
    return balance.expected + beyond / float(found.duty.throughput[0])
