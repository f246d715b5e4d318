"""Specific energy of the types against what is published, claimed or usual. No metered comparison could be found."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from energy import dryers
from energy.dryers import circuit_inputs
from energy.dryers.base import CompressedAir, Duty
from energy.resins.properties import load_resin
from energy.units import SI

KINDS = list(dryers.TYPES)
DESICCANT = [kind for kind, module in dryers.TYPES.items() if issubclass(module.Inputs, circuit_inputs.Inputs)]
WATT_HOUR = 3600.0
SCFM_PER_POUND_HOUR = 5.6084e-4 * 3600 / 0.45359237  # kg of air per kg of resin, scfm at 14.5 psia and 68 degF
KILOWATT_PER_100_CFM = 1e3 / (100 * 0.3048**3 / 60)


def duty(name, *, celsius=None, water=None, hall=20.0, fed=None, load=1.0, design=100.0):
    """A hopper for a resin in a hall of 10 degC dew point at sea level; design throughput in kg/h."""
    resin = load_resin(name)
    return Duty(
        resin=resin,
        throughput=np.array(load * design / 3600),
        design_throughput=np.array(design / 3600),
        drying_temperature=np.array(resin.drying_temperature if celsius is None else celsius + 273.15),
        residence_time=np.array(resin.residence_time),
        resin_temperature=np.array((hall if fed is None else fed) + 273.15),
        initial_moisture=np.array(resin.initial_moisture if water is None else resin.target_moisture + water / 100),
        final_moisture=np.array(resin.target_moisture),
        hall_temperature=np.array(hall + 273.15),
        hall_dew_point=np.array(283.15),
        pressure=np.array(101325.0),
        coolant_temperature=np.array(293.15),
        compressed_air=CompressedAir(
            pressure=np.array(8.01e5),
            pressure_dew_point=np.array(276.15),
            marginal_power=np.array(18 * KILOWATT_PER_100_CFM),
            line_leak_share=np.array(0.0),
        ),
    )


def run(kind, given, **inputs):
    module = dryers.TYPES[kind]
    return module.Dryer(module.Inputs(**inputs)).run(given)


def per_kilogram(given, *powers):
    """[Wh/kg]"""
    return sum(float(p) for p in powers) / float(given.throughput) / WATT_HOUR


def bought(kind, given, **inputs):
    """All that is paid for but cooling water. [Wh/kg]"""
    operation = run(kind, given, **inputs)
    return per_kilogram(given, *(p for (_, carrier), p in operation.energy.items() if carrier != "cooling"))


# ------------------------------------------------------------------------------------------------ the physical minimum


MINIMUM = [
    ("PET", 165, 0.25, 58.2),
    ("PC", 120, 0.18, 40.2),
    ("PA66", 80, 0.3, 30.8),
    ("PA6", 80, 0.3, 30.5),
    ("ABS", 80, 0.3, 25.5),
    ("PMMA", 80, 0.35, 28.4),
    ("PBT", 120, 0.22, 41.9),
    ("PLA", 80, 0.3, 28.8),
    ("TPU", 90, 0.35, 37.5),
    ("POM", 85, 0.15, 28.2),
    ("PP", 80, 0.03, 32.7),
]


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(
    ("resin", "celsius", "water", "least"),
    [
        pytest.param(
            *row,
            id=row[0],
            marks=pytest.mark.published(
                "Sensible heat and evaporation, resin from 20 degC", where=row[0], quoted="computed in reference table"
            ),
        )
        for row in MINIMUM
    ],
)
def test_no_type_dries_below_the_physical_minimum(kind, resin, celsius, water, least):
    given = duty(resin, celsius=celsius, water=water)
    sensible = load_resin(resin).specific_heat * (celsius - 20.0)
    assert (sensible + 2.6e6 * water / 100) / WATT_HOUR == pytest.approx(least, abs=0.06)
    for load in (1.0, 0.5):
        assert bought(kind, duty(resin, celsius=celsius, water=water, load=load)) > least
    assert bought(kind, duty(resin, celsius=celsius, water=water, design=500.0)) > least
    assert bought(kind, given) < 12 * least  # a slip of a unit would not stop there


# ------------------------------------------------------------------------------------------------ desiccant


BANDS = [("PET", 70, 155), ("PC", 45, 80), ("PA66", 35, 70), ("ABS", 30, 60), ("PMMA", 30, 60)]


@pytest.mark.common_practice(
    "full-load bands of closed-loop desiccant dryers, Wh/kg: from a rough balance with 12 kPa and 5 % shell loss, "
    "lower ends of PC, PA66, ABS and PMMA widened; general talk of 80 to 180 for PET, from memory"
)
@pytest.mark.parametrize("kind", DESICCANT)
@pytest.mark.parametrize(("resin", "low", "high"), BANDS)
def test_full_load_of_desiccant_dryers(kind, resin, low, high):
    _, celsius, water, _ = next(row for row in MINIMUM if row[0] == resin)  # that the bands were made for
    for design in (30.0, 100.0, 300.0, 1000.0):
        assert low <= bought(kind, duty(resin, celsius=celsius, water=water, design=design)) <= high, design


@pytest.mark.common_practice("at 30 % load with fixed airflow a kilogram costs two to four times as much")
@pytest.mark.parametrize("kind", DESICCANT)
@pytest.mark.parametrize("resin", [name for name, *_ in BANDS])
def test_part_load_with_fixed_airflow(kind, resin):
    full, part = bought(kind, duty(resin)), bought(kind, duty(resin, load=0.3))
    assert 2 <= part / full <= 4


AIRFLOW = [(1.6, 70), (2.0, 74), (2.5, 91), (3.0, 107), (4.0, 139)]


@pytest.mark.parametrize(
    ("ratio", "estimate"),
    [
        pytest.param(
            *row,
            marks=pytest.mark.published(
                "Estimate of a closed desiccant circuit, PET at 165 degC",
                where=f"{row[0]} kg/kg: {row[1]} Wh/kg",
                quoted="computed in reference table: 12 kPa at 45 %, 55 degC to the bed, 5 % shell loss",
            ),
        )
        for row in AIRFLOW
    ],
)
def test_pet_over_airflow(ratio, estimate):
    given = duty("PET", water=0.25)
    inputs = {
        "air_resin_ratio": ratio,
        "adsorption_limit": SI(328.15),
        "blower_efficiency": 0.52,
    }  # 0.45 with the motor
    rest = 12e3 - float(run("desiccant-twin-tower", given, **inputs).details["pressure_rise"]) + 4e3
    total = bought("desiccant-twin-tower", given, **inputs, circuit_pressure=SI(rest))
    # Where the aftercooler works, the heat of a blower before the desiccant is all rejected here and 80 % used there:
    # 11 Wh/kg at 3 kg/kg. At 1.6 kg/kg it does not work, and the pellets leave 14 K colder than the air. The hot duct's
    # loss, 1 to 2 Wh/kg, which the heater gives on top, is not in the estimate either.
    assert total == pytest.approx(estimate, rel=0.16)


F1 = "Extrusion 1/2016, p. 55, attributed to a supplier"


@pytest.mark.published(
    F1,
    where="PA66 from 15 to 80 degC: 31 kWh/t to heat, 19 kWh/t to dry the air, 50 kWh/t hardly to be undercut",
    quoted="read; calculated there, not metered",
)
@pytest.mark.parametrize("kind", DESICCANT)
def test_pa66_as_claimed(kind):
    given = duty("PA66", hall=15.0)
    operation = run(kind, given)
    heat = per_kilogram(given, operation.heat_out["resin"])
    # All of the lift but the last degrees, which uneven flow leaves: 77 instead of 80 degC.
    assert heat == pytest.approx(31.0, rel=0.08)
    making = [
        operation.energy[use]
        for use in operation.energy
        if use[0] in ("regeneration", "process blower", "regeneration blower", "controls")
    ]
    # A wheel has the least metal and pressure drop.
    assert 0.5 * 19 <= per_kilogram(given, *making) <= 1.3 * 19
    # Together less than 50: the claim adds up both, here blower and adsorption heat warm the air as well.
    total = bought(kind, given)
    assert 31 + 2 < total < 50
    heater = per_kilogram(given, operation.energy["process heat", "electricity"])
    assert heater < 31


@pytest.mark.published(
    "Thiriez and Gutowski, IEEE ISEE 2006",
    where="hopper drying 0.70 MJ/kg of primary energy, 58 to 65 Wh/kg of electricity",
    quoted="abstract read, this line from memory; survey, resin not said",
)
@pytest.mark.parametrize("kind", DESICCANT)
def test_survey_figure_lies_among_the_resins(kind):
    cheap, dear = bought(kind, duty("ABS")), bought(kind, duty("PET"))
    assert cheap < 58
    assert dear > 65


# ------------------------------------------------------------------------------------------------ hot air


@pytest.mark.common_practice(
    "hot air, once through, full load: 40 to 110 Wh/kg, by temperature; resins of 80 to 120 degC"
)
@pytest.mark.parametrize("resin", ["ABS", "PMMA", "PA66", "POM", "PP", "PC", "PBT"])
def test_hot_air(resin):
    assert 40 <= bought("hot-air", duty(resin)) <= 110


@pytest.mark.published(
    "Hot air, once through, 2.2 kg/kg, from 20 degC",
    where="heater 37 Wh/kg at 80 degC and 62 at 120, some 3 for the blower",
    quoted="computed in reference table",
)
@pytest.mark.parametrize(("resin", "celsius", "heater"), [("ABS", 80, 37), ("PC", 120, 62)])
def test_hot_air_end_uses(resin, celsius, heater):
    given = duty(resin, celsius=celsius)
    operation = run("hot-air", given, air_resin_ratio=2.2, heater_efficiency=1.0, duct_length=SI(0.0))
    electric = operation.energy["process blower", "electricity"]
    shaft = operation.heat_in["process blower"] - operation.heat_out["motor and drive losses"]
    # Shaft work is heat as well: the estimate left it out. Two digits; humid air takes 1.3 % more than dry.
    assert per_kilogram(given, operation.energy["process heat", "electricity"], shaft) == pytest.approx(
        heater, rel=0.025
    )
    assert 2 < per_kilogram(given, electric) < 4


# ------------------------------------------------------------------------------------------------ compressed air


@pytest.mark.common_practice("compressed air, full load: 120 to 300 Wh/kg, of which most is the compressor")
@pytest.mark.parametrize("resin", [name for name, *_ in BANDS])
def test_compressed_air(resin):
    given = duty(resin)
    compressor = per_kilogram(given, run("compressed-air", given).energy["compressed air", "compressed air"])
    total = bought("compressed-air", given)
    assert 120 <= total <= 300
    assert compressor > 0.6 * total


@pytest.mark.published(
    "Compressed air, once through, at 18 kW/100 cfm",
    where="0.50 scfm per lb/h: compressor 198 Wh/kg, heater 34.3 from 25 to 80 degC",
    quoted="computed in reference table",
)
def test_compressed_air_end_uses():
    given = duty("ABS", celsius=80, hall=25.0)
    inputs = {"air_resin_ratio": 0.5 * SCFM_PER_POUND_HOUR, "heater_efficiency": 1.0, "duct_length": SI(0.0)}
    operation = run("compressed-air", given, **inputs)
    # Real air of the reference's scfm is 0.03 % denser; three digits, and the vapour in the air.
    assert per_kilogram(given, operation.energy["compressed air", "compressed air"]) == pytest.approx(198, rel=4e-3)
    assert per_kilogram(given, operation.energy["process heat", "electricity"]) == pytest.approx(34.3, rel=4e-3)


def test_what_leaks_from_the_line_is_compressed_as_well():
    tight = duty("ABS")
    leaky = dataclasses.replace(tight, compressed_air=dataclasses.replace(tight.compressed_air, line_leak_share=0.2))
    power = [run("compressed-air", d).energy["compressed air", "compressed air"] for d in (tight, leaky)]
    assert power[1] == pytest.approx(power[0] / 0.8, rel=1e-12)


@pytest.mark.common_practice("a membrane adds its sweep of 10 to 25 % of the feed to the compressed air; from memory")
@pytest.mark.parametrize("resin", ["ABS", "PC", "PA66"])
def test_a_membrane_adds_its_sweep(resin):
    given = duty(resin)
    with_, without = (
        run(kind, given).energy["compressed air", "compressed air"]
        for kind in ("compressed-air-membrane", "compressed-air")
    )
    assert 0.10 <= 1.0 - without / with_ <= 0.25


@pytest.mark.common_practice(
    "compressed air of refrigerated dryers reaches about 0 degF, with a membrane about -35 degF"
)
def test_dew_points_of_compressed_air():
    frost = [
        run(kind, duty("ABS")).delivered_dew_point - 273.15 for kind in ("compressed-air", "compressed-air-membrane")
    ]
    assert frost == pytest.approx([-18, -37], abs=4)


# ------------------------------------------------------------------------------------------------ between the types


@pytest.mark.common_practice("desiccant dryers of the right size dry alike: a frost point of -40 degC is usual")
@pytest.mark.parametrize("kind", DESICCANT)
@pytest.mark.parametrize("resin", [name for name, *_ in BANDS])
def test_desiccant_types_reach_minus_forty(kind, resin):
    assert -65 < run(kind, duty(resin)).delivered_dew_point - 273.15 < -40


@pytest.mark.common_practice(
    "twin towers by timer waste most at part load: a regeneration that follows the water does not"
)
@pytest.mark.parametrize("kind", DESICCANT)
def test_regeneration_that_follows_the_water(kind):
    full, part = duty("PC"), duty("PC", load=0.33)
    timer, ended = (
        [
            per_kilogram(d, run(kind, d, regeneration_control=c).energy["regeneration", "electricity"])
            for d in (full, part)
        ]
        for c in ("timer", "dew point")
    )
    # Per kilogram of resin: the leak's water is the same at any load, so that even then it rises.
    assert timer[1] / timer[0] > 1.2 * ended[1] / ended[0]
    assert ended[1] < timer[1]
