"""Process air as nameplate or quotation say it, in place of air per resin."""

from __future__ import annotations

import numpy as np
import pytest
from cases import HOT, NEW, PRESENT, case

from energy.errors import CaseError
from energy.study import uncertainty
from energy.study.case import build
from energy.study.compare import compare
from energy.study.paths import changed

OF = f"options['{PRESENT}']"
FLOW = 300.0 * 101325.0 / (287.042 * 293.15)  # kg/h of 300 m3/h at 20 degC and 1 atm, by the gas law: 361.2


def air(found) -> float:
    """Dry air of the present dryer at full throughput. [kg/h]"""
    return 3600.0 * float(np.max(found.baseline.served[0].operation.air_flow))


def test_a_stated_flow_is_the_same_as_its_air_per_resin():
    built = {f"{OF}.built_for": "160 kg/h"}
    flow, ratio = (
        compare(case(PRESENT, NEW, changes={**built, **stated}))
        for stated in (
            {f"{OF}.airflow": "300 m3/h at 20 degC"},
            {f"{OF}.inputs.air_resin_ratio": FLOW / 160.0},
        )
    )
    assert air(flow) == pytest.approx(FLOW, rel=1e-4)
    assert air(flow) == pytest.approx(air(ratio), rel=1e-4)
    for key, energy in ratio.baseline.energy.items():
        assert flow.baseline.energy[key] == pytest.approx(energy, rel=2e-4)  # the gas constant has six digits


def test_it_stays_when_the_throughput_changes():
    asked = [
        case(PRESENT, NEW, changes={f"{OF}.airflow": "300 m3/h at 20 degC", f"{OF}.built_for": None}).with_(
            throughput=text
        )
        for text in ("90 kg/h", "120 kg/h")
    ]
    assert [air(compare(of)) for of in asked] == pytest.approx([FLOW, FLOW], rel=1e-4)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        (
            {f"{OF}.airflow": "300 m3/h at 20 degC", f"{OF}.inputs.air_resin_ratio": 3.0},
            f"{OF}.airflow: says the air a second time, beside inputs.air_resin_ratio",
        ),
        ({f"{OF}.airflow": "300 m3/h"}, "300 m3/h"),
        (
            {f"{OF}.airflow": "300 m3/h at 20 degC", f"{OF}.arrangement": "portable", f"{OF}.units": 1},
            f"{OF}.airflow: belongs to dryers at the machine; this option is portable",
        ),
        (
            {f"{OF}.airflow": "300 m3/h at 20 degC", f"{OF}.type": "vacuum", f"{OF}.inputs": {}},
            f"{OF}.airflow: a dryer of the type vacuum does not dry in its hopper",
        ),
    ],
)
def test_what_it_cannot_be_beside_is_told(changes, said):
    with pytest.raises(CaseError) as refused:
        case(PRESENT, NEW, changes=changes)
    assert said in str(refused.value)


def test_too_little_of_it_is_told_at_its_key():
    of = case(PRESENT, NEW, changes={f"options['{NEW}'].airflow": "20 m3/h at 20 degC"})
    with pytest.raises(CaseError, match=r"airflow: an air flow of 0\.\d+ kg per kg of resin cannot bring"):
        compare(of)


def changed_present(of, **more):
    options = changed(of.document, {})["options"]
    own = {"name": "Changed", "type": options[0]["type"], "retrofit": True, "capital": "1000 USD", **more}
    return build({**changed(of.document, {}), "options": [*options, own]}, file="my.toml")


def test_a_retrofit_has_it_of_the_present_dryers_with_blower_and_beds():
    of = case(PRESENT, HOT, changes={f"{OF}.airflow": "400 m3/h at 20 degC"})
    found = compare(changed_present(of, inputs={"insulation_thickness": "60 mm"}))
    for key in ("airflow", "blower", "desiccant"):
        assert found.option("Changed").sizing[key] == pytest.approx(found.baseline.sizing[key], rel=1e-9)


@pytest.mark.parametrize(
    ("present", "own", "kg_per_h"),
    [
        ({f"{OF}.airflow": "400 m3/h at 20 degC"}, {"inputs": {"air_resin_ratio": 3.0}}, 3.0 * 160.0),
        ({f"{OF}.inputs.air_resin_ratio": 3.0}, {"airflow": "300 m3/h at 20 degC"}, FLOW),
    ],
)
def test_a_retrofit_with_its_own_air_has_that_alone(present, own, kg_per_h):
    of = case(PRESENT, HOT, changes={f"{OF}.built_for": "160 kg/h", **present})
    found = compare(changed_present(of, **own)).option("Changed")
    assert 3600.0 * float(np.max(found.operation.air_flow)) == pytest.approx(kg_per_h, rel=1e-4)


def test_its_range_is_drawn():
    span = {"value": "300 m3/h at 20 degC", "low": "250 m3/h at 20 degC", "high": "350 m3/h at 20 degC"}
    stated = case(PRESENT, NEW, changes={f"{OF}.airflow": {**span, "basis": "nameplate"}})
    inputs, _ = uncertainty.uncertain_inputs(stated)
    place = [entry.name for entry in inputs].index(f"{OF}.airflow")
    points = np.full((3, len(inputs)), 0.5)
    points[:, place] = 0.05, 0.5, 0.95
    # More air to heat, to blow and to cool again at the present dryer: the more there is to save.
    saved = uncertainty.outcomes(stated, inputs, points).saving[NEW]
    assert np.all(np.diff(saved) > 0.01 * saved[0])
