"""What a reading worth taking promises is about what it does once it is taken, by the type of dryer."""

from __future__ import annotations

import pytest
from cases import AIR, HOT, alone

from energy.reports import walkthrough as report
from energy.study.readings import Readings
from energy.units import SI
from energy.walkthrough.found import find, metered_power, power_of
from energy.walkthrough.walk import walk

HOPPER = "Machine 7"


def compressed(**read):
    """Readings that are what the model expects of a dryer with compressed air, and others."""
    case = alone(AIR)
    op = find(case, Readings(hopper=HOPPER, throughput="90 kg/h")).expected
    given = {
        "throughput": "90 kg/h",
        "process_temperature": "120 degC",
        "return_temperature": SI(float(op.hopper.return_temperature[0])),
        "air_flow": SI(float(op.air_flow[0])),
    }
    return walk(case, Readings(hopper=HOPPER, **given, **{k: v(op) if callable(v) else v for k, v in read.items()}))


def promised(made, name):
    return next((one for one in made.next_readings if one.name == name), None)


@pytest.mark.common_practice("the same reading, taken")
def test_a_meter_beside_compressed_air_narrows_what_it_shows_and_no_more():
    before = compressed()
    after = compressed(power=lambda op: SI(metered_power(op)))
    promise = promised(before, "power")
    assert promise is not None
    assert promise.uncertainty == pytest.approx(after.balance.uncertainty, rel=0.1)
    # Most of it is compressed air, known to a fifth, which is no part of the meter: no more than that can be promised.
    air = next(part for part in after.balance.parts if part.name == "compressed air")
    assert promise.uncertainty > 0.9 * air.uncertainty / after.balance.throughput.value
    assert "the compressed air is not on it" in promise.how


@pytest.mark.common_practice("the same reading, taken")
def test_a_meter_of_electricity_beside_gas_narrows_no_gas():
    case = alone(HOT)
    op = find(case, Readings(hopper=HOPPER, throughput="90 kg/h")).expected
    assert metered_power(op) == pytest.approx(power_of(op))
    read = {"hopper": HOPPER, "throughput": "90 kg/h", "process_temperature": "120 degC"}
    gas = sum(float(power[0]) for (_, carrier), power in op.energy.items() if carrier == "gas")
    before, after = walk(case, Readings(**read)), walk(case, Readings(**read, power=SI(power_of(op) - gas)))
    # Nearly all of it is gas: controls and blower are what the meter tells of.
    assert promised(before, "power") is None
    assert after.balance.uncertainty > 0.95 * before.balance.uncertainty


def bare(**read):
    """A hopper without a jacket on hot air, whose wall is as hot as the model has it where it is read."""
    case = alone(HOT, {f"options['{HOT}'].inputs.insulation_thickness": "0 mm"})
    return walk(case, Readings(hopper=HOPPER, throughput="90 kg/h", process_temperature="120 degC", **read))


def test_reading_the_wall_does_what_it_promises_and_is_not_asked_for_again():
    before = bare()
    wall = SI(float(before.balance.found.as_found.shell_temperature[0]))
    promise, after = promised(before, "shell"), bare(shell_temperature=wall)
    assert promise is not None
    assert promise.uncertainty == pytest.approx(after.balance.uncertainty, rel=0.1)
    assert promised(after, "shell") is None
    assert "Infrared thermometer" not in report.to_text(after, "si")
    # Nor beside a wall near the hall, whose heat is known to no better than a half.
    assert "Infrared thermometer" not in report.to_text(compressed(shell_temperature="34 degC"), "si")
