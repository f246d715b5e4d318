"""The year of a machine by hand: months without production, hoppers that stand, starts of several hoppers, portable dryers in draws."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from cases import AIR, HOPPER, MEMBRANE, NEW, PA, PC, PRESENT, WHEEL, case, plant

from energy.study.compare import compare
from energy.study.cost import _shares
from energy.study.year import Year, _groups, _starts_of, at_once, pauses_of, segments, starts_of, together

WEEKDAYS = ["mon", "tue", "wed", "thu", "fri"]
TWO_SHIFTS = {
    "calendar.production_hours": None,
    "calendar.shifts": [{"name": "day", "days": WEEKDAYS, "start": "06:00", "end": "22:00"}],
    "calendar.standby_up_to": "10 h",
}
HEAT = ("process heat", "electricity")
BASE = {f"options['{WHEEL}'].baseline": True}
CENTRAL = {
    f"options['{WHEEL}'].arrangement": "central",
    f"options['{WHEEL}'].central": {"duct_length": "1 m", "spare": "0 %"},
    **BASE,
}


def of_peaks(*watts):
    """A year in which one machine takes that much in every month; draws on the first axis."""
    peak = np.array(watts, float)[:, None] * np.ones(12)
    none = 0.0 * peak
    return Year(
        energy={HEAT: none}, peak={HEAT: peak}, energy_in={("production", *HEAT): none},
        peak_in={("production", *HEAT): peak}, heat_in={}, heat_out={}, states={"production": none},
        resin=none, free_air=none, least=none,
    )  # fmt: skip


def test_in_each_draw_the_largest_of_portable_dryers_are_at_work():
    """By hand, of three dryers two at once: 5 + 3 of (5, 3, 1), and 9 + 4 of (2, 9, 4)."""
    years = [of_peaks(5.0, 2.0), of_peaks(3.0, 9.0), of_peaks(1.0, 4.0)]
    for found in (together(years, 2).peak[HEAT], together(years, 2).most(["electricity"])):
        np.testing.assert_allclose(found, np.array([[8.0], [13.0]]) * np.ones(12))
    np.testing.assert_allclose(together(years).peak[HEAT], np.array([[9.0], [15.0]]) * np.ones(12))


def test_a_month_off_has_neither_peak_nor_start():
    """Weeks 5 to 9 of 2026 hold all of February; campaigns or not."""
    off = {**TWO_SHIFTS, "calendar.shutdown_weeks": [5, 6, 7, 8, 9]}
    for more in ({}, {f"{HOPPER}.running": "50 %", f"{HOPPER}.campaigns": 20}):
        option = compare(case(PRESENT, NEW, changes={**off, **more})).option(NEW)
        for table in (option.year.peak, option.year.peak_in, option.year.energy):
            for key, value in table.items():
                assert value[1] == 0.0, key
                assert np.isfinite(value).all()
        assert option.year.peak[HEAT][3] > 0.0
        assert option.year.most(["electricity"])[1] == 0.0


def test_hours_of_production_alone_are_one_state():
    option = compare(case(PRESENT, NEW)).option(NEW)
    assert list(option.year.by_state()) == ["production"]


def test_a_hopper_of_a_central_system_that_stands_takes_no_air():
    """The second hopper runs a thousandth of the time: the system heats what it does with the first alone."""
    seldom = compare(plant(WHEEL, hoppers=(PC, {**PA, "running": "0.1 %", "campaigns": 1}), **CENTRAL)).baseline
    alone = compare(plant(WHEEL, hoppers=(PC,), **CENTRAL)).baseline
    both = compare(plant(WHEEL, hoppers=(PC, PA), **CENTRAL)).baseline
    assert seldom.energy[HEAT] == pytest.approx(alone.energy[HEAT], rel=0.01)
    assert seldom.heat_out["shell and ducts"] == pytest.approx(alone.heat_out["shell and ducts"], rel=0.02)
    assert both.energy[HEAT] > 1.1 * alone.energy[HEAT]


def test_hoppers_that_are_set_back_together_are_warmed_together():
    """Deep set-backs over nights: the peak of standby is what both heaters give then, the energy what both take each time."""
    cold = {f"options['{WHEEL}'].inputs": {"standby_temperature": "45 degC"}}
    changes = {**TWO_SHIFTS, **CENTRAL, **cold}
    option = compare(plant(WHEEL, hoppers=(PC, {**PA, "drying_temperature": "90 degC"}), **changes)).baseline
    starts = option.served[0].operation.starts + option.served[1].operation.starts
    powers = [float(np.max(start.power_after_standby)) for start in starts]
    assert len(powers) == 2
    assert min(powers) > 0.2 * max(powers)
    assert float(option.year.peak_in["standby", *HEAT].max()) == pytest.approx(sum(powers), rel=1e-9)
    nights = 209
    again = nights * sum(float(np.max(start.after_standby[HEAT])) for start in starts)
    cold_starts = sum(float((start.energy[HEAT] * 52).max()) for start in starts)
    assert float(option.year.by_state()["warm-up"]) == pytest.approx(again + cold_starts, rel=0.01)


def test_shares_of_a_year_are_of_each_draw_by_itself():
    """By hand: two parts, two draws of twelve months: 1 and 3 of 4; 5 and 5 of 10."""
    parts = np.array([[1.0, 5.0], [3.0, 5.0]])[..., None] * np.ones(12)
    np.testing.assert_allclose(_shares(parts), [[0.25, 0.5], [0.75, 0.5]])
    np.testing.assert_allclose(_shares(0.0 * parts), np.zeros((2, 2)))


def test_the_highest_state_is_the_highest_level():
    """At most 63 of 90 kg/h, for a fifth of the time: the operation told of an option is that of 63 kg/h."""
    levels = [{"throughput": "45 kg/h", "share": "80 %"}, {"throughput": "63 kg/h", "share": "20 %"}]
    part, full = (
        compare(case(PRESENT, NEW, changes=changes)).option(NEW).operation
        for changes in ({f"{HOPPER}.levels": levels}, {})
    )
    assert float(np.max(part.heat_out["resin"])) == pytest.approx(0.7 * float(np.max(full.heat_out["resin"])), rel=0.03)


@pytest.mark.parametrize("name", [AIR, MEMBRANE])
def test_compressed_air_of_a_year_is_what_its_electricity_pays_for(name):
    """Turned down at part load: each cubic metre takes as much at the compressor at half load as at full."""
    inputs = {f"options['{name}'].inputs.airflow_control": "variable speed"}
    half = {f"{HOPPER}.levels": [{"throughput": "45 kg/h", "share": "100 %"}]}
    full, part = (compare(case(PRESENT, name, changes={**inputs, **more})).option(name) for more in ({}, half))
    air = [float(o.year.free_air.sum()) for o in (full, part)]
    assert air[1] < 0.8 * air[0]
    per_volume = [o.carrier("compressed air") / volume for o, volume in zip((full, part), air, strict=True)]
    assert per_volume[1] == pytest.approx(per_volume[0], rel=1e-9)


def test_levels_of_several_machines_are_one_production():
    """Machines have levels of their own: of all together only production, standby and warm-up are told apart."""
    levels = [{"throughput": "90 kg/h", "share": "50 %"}, {"throughput": "45 kg/h", "share": "50 %"}]
    changes = {**TWO_SHIFTS, f"options['{NEW}'].baseline": True}
    one = compare(plant(NEW, hoppers=({**PC, "levels": levels},), **changes)).baseline.year.by_state()
    assert set(one) == {"production at 100 %", "production at 50 %", "standby", "warm-up"}
    both = compare(plant(NEW, hoppers=({**PC, "levels": levels}, PA), **changes)).baseline
    assert set(both.year.by_state()) == {"production", "standby", "warm-up"}
    bought = sum(v for (_, carrier), v in both.energy.items() if carrier != "cooling")
    assert sum(float(v) for v in both.year.by_state().values()) == pytest.approx(bought, rel=1e-12)


def test_a_hopper_that_runs_half_the_time_stands_by_half_the_time():
    """By hand: of all production and all standby of the calendar one half, in one state each."""
    half = {f"{HOPPER}.running": "50 %", f"{HOPPER}.campaigns": 20}
    of = case(NEW, changes={**TWO_SHIFTS, **half, f"options['{NEW}'].baseline": True})
    ((on, labels, loads, seconds),) = _groups(segments(of.model.hoppers), of.calendar)
    assert (on, labels, loads.tolist()) == ((True,), ("production", "standby"), [[1.0], [0.0]])
    assert of.calendar.standby.all()
    np.testing.assert_allclose(pauses_of(of.model.hoppers[0], of.calendar), 0.5 * of.calendar.pauses)
    np.testing.assert_allclose(seconds, [0.5 * of.calendar.production, 0.5 * of.calendar.standby], rtol=1e-12)


def test_campaigns_are_spread_over_the_production_of_each_draw():
    """By hand: twenty starts a year besides those of the calendar, whether it has its hours or twice of them in January."""
    calendar = case(NEW, changes={**TWO_SHIFTS, f"options['{NEW}'].baseline": True}).calendar
    more = calendar.production * np.array([2.0, *[1.0] * 11])
    drawn = replace(calendar, production=np.stack([calendar.production, more]))
    starts, _ = _starts_of(0.5, 20.0, drawn)
    assert calendar.starts.sum() > 20.0
    changes = starts - 0.5 * calendar.starts  # a hopper that runs half the time is started at half of the starts
    np.testing.assert_allclose(changes.sum(-1), [20.0, 20.0], rtol=1e-12)
    np.testing.assert_allclose(changes, 20.0 * drawn.production / np.array([[calendar.production.sum()], [more.sum()]]))


def test_a_year_by_state_is_of_each_draw_by_itself():
    year = replace(of_peaks(5.0, 2.0), states={"production": np.array([[1.0] * 12, [3.0] * 12])})
    np.testing.assert_allclose(year.by_state()["production"], [12.0, 36.0])


def test_a_hopper_of_a_central_system_is_warmed_once_a_start_whatever_stands_beside_it():
    """By hand: each hopper's starts times the heat of one, though two states of the year have the first of them at work."""
    hoppers = [PC, {**PA, "running": "50 %", "campaigns": 20}]
    cold = {**TWO_SHIFTS, "calendar.standby_up_to": "0 h", **CENTRAL}
    of = plant(WHEEL, hoppers=hoppers, **cold)
    option = compare(of).option(WHEEL)
    by_hand = 0.0
    for one in option.served:
        starts, _ = starts_of(one.hopper, of.calendar)
        assert starts.sum() > 20.0
        by_hand += sum(float(np.broadcast_to(heat, (12,)) @ starts) for heat in one.operation.starts[0].energy.values())
    for table in (option.year.states, option.year.heat_in, option.year.heat_out):
        assert float(table["warm-up"].sum()) == pytest.approx(by_hand, rel=1e-9)
    together = sum(float(np.max(one.operation.starts[0].power)) for one in option.served)
    production = float(option.year.peak_in["production", *HEAT].max())
    assert float(option.year.peak_in["start", *HEAT].max()) == pytest.approx(max(together, production), rel=1e-9)
    assert together > production


def test_heat_of_all_states_is_added_up():
    """By hand: pellets of a hopper that runs half the time take half of the heat of one that runs always, beside another."""
    beside = [(PC,), (PC, PA), (PC, {**PA, "running": "50 %", "campaigns": 20})]
    alone, both, half = (compare(plant(WHEEL, hoppers=hoppers, **CENTRAL)).baseline.year for hoppers in beside)
    warmed = [float(year.heat_out["resin"].sum()) for year in (alone, both, half)]
    assert warmed[1] > 1.2 * warmed[0]
    assert warmed[2] == pytest.approx(0.5 * (warmed[0] + warmed[1]), rel=1e-9)
    highest = [float(year.peak_in["production", *HEAT].max()) for year in (alone, both, half)]  # with both at work
    assert highest[2] == pytest.approx(highest[1], rel=1e-9)
    assert highest[1] > 1.05 * highest[0]


@pytest.mark.parametrize("degrees", ["45 degC", "119 degC"])
def test_a_set_back_warms_what_it_takes_and_no_peak_is_below_its_mean(degrees):
    """Heat of warming goes in and out as it is bought; after a set-back of one kelvin the highest of standby is standby's own."""
    cold = {f"options['{NEW}'].inputs.standby_temperature": degrees, f"options['{NEW}'].baseline": True}
    of = case(NEW, changes={**TWO_SHIFTS, **cold})
    year = compare(of).baseline.year
    for side in (year.heat_in, year.heat_out):
        np.testing.assert_allclose(side["warm-up"], year.states["warm-up"], rtol=1e-12)
    mean = (year.energy_in["standby", *HEAT] - year.states["warm-up"]) / of.calendar.standby  # without warming again
    assert (year.peak_in["standby", *HEAT] >= mean).all()


def test_in_each_draw_the_largest_of_portable_dryers_take_what_they_take():
    """By hand, as above, beside one that stays: 8 + 1 and 13 + 1; without portable ones all count."""
    moved, fixed = SimpleNamespace(moved=True), SimpleNamespace(moved=False)
    each = [np.array([5.0, 2.0]), np.array([3.0, 9.0]), np.array([1.0, 4.0]), np.array([1.0, 1.0])]
    np.testing.assert_allclose(at_once([moved] * 3 + [fixed], each, 2), [9.0, 14.0])
    np.testing.assert_allclose(at_once([fixed] * 4, each, None), [10.0, 16.0])


def test_hall_air_of_several_machines_is_added_up():
    one = of_peaks(5.0)
    years = [replace(one, hall_air={"exhaust air": np.full((1, 12), kg)}) for kg in (1.0, 2.0)]
    np.testing.assert_allclose(together(years).hall_air["exhaust air"], 3.0)
