"""How big the machines of an option are, by hand, and that a size stated is the size there is."""

import pytest
from cases import AIR, HOPPER, HOT, NEW, PA, PC, WHEEL, alone, plant

from energy.study.machine_sizes import sizes_of
from energy.study.option_sections import Option


def sizes(case):
    (base,) = [o for o in case.model.options if o.baseline]
    return sizes_of(case, base)


def test_a_hopper_holds_what_flows_through_it_in_the_time_asked():
    case = alone(HOT)
    (size,) = sizes(case)
    assert size.built_for * 3600 == pytest.approx(90)
    usable = case.model.options[0].inputs.usable_share
    # 90 kg/h for 4 h, in a bed of that bulk density.
    assert size.hopper_volume == pytest.approx(360.0 / (case.resins[0].bulk_density * usable))
    assert size.air_resin_ratio == pytest.approx(case.resins[0].air_resin_ratio)


@pytest.mark.parametrize("option", [NEW, AIR])
def test_a_size_that_is_stated_stays_under_another_duty(option):
    before = alone(option)
    (size,) = sizes(before)
    place = f"options['{option}']"
    other = {
        f"{HOPPER}.resin": "PET",
        f"{HOPPER}.throughput": "140 kg/h",
        f"{HOPPER}.residence_time": None,
        f"{HOPPER}.drying_temperature": None,
    }
    stated = {
        f"{place}.built_for": f"{size.built_for * 3600!r} kg/h",
        f"{place}.hopper_volume": f"{size.hopper_volume!r} m3",
        f"{place}.inputs.air_resin_ratio": size.air_resin_ratio,
    }
    (grown,), (kept,) = sizes(before.with_(other)), sizes(before.with_({**other, **stated}))
    assert grown.built_for > size.built_for
    assert grown.hopper_volume > size.hopper_volume
    for key in ("built_for", "hopper_volume", "air_resin_ratio"):
        assert getattr(kept, key) == pytest.approx(getattr(size, key), rel=1e-9)


def test_of_a_central_system_each_hopper_has_its_own():
    case = plant(WHEEL, hoppers=(PC, PA), **{f"options['{WHEEL}'].baseline": True})
    central = Option.model_validate({**case.document["options"][0], "arrangement": "central"})
    assert [s.built_for * 3600 for s in sizes_of(case, central)] == pytest.approx([90, 40])


def test_a_type_that_does_not_dry_in_its_hopper_has_no_hopper_of_its_own():
    case = alone(HOT, {f"options['{HOT}'].type": "vacuum", f"options['{HOT}'].inputs": None})
    (size,) = sizes(case)
    assert (size.hopper_volume, size.air_resin_ratio) == (None, None)
