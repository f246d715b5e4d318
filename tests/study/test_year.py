"""A year of levels, standby and starts: sums, limits, and what must not change."""

from __future__ import annotations

import numpy as np
import pytest
from cases import HOPPER, HOT, NEW, PRESENT, WHEEL, case

from energy.errors import CaseError
from energy.study.compare import compare
from energy.study.load import load_curve

WEEKDAYS = ["mon", "tue", "wed", "thu", "fri"]
TWO_SHIFTS = {
    "calendar.production_hours": None,
    "calendar.shifts": [
        {"name": "early", "days": WEEKDAYS, "start": "06:00", "end": "14:00"},
        {"name": "late", "days": WEEKDAYS, "start": "14:00", "end": "22:00"},
    ],
    "calendar.standby_up_to": "10 h",
}
HALF = {f"{HOPPER}.levels": [{"throughput": "90 kg/h", "share": 0.5}, {"throughput": "36 kg/h", "share": 0.5}]}


@pytest.fixture(scope="module")
def plant():
    return compare(case(PRESENT, NEW, WHEEL, HOT, changes={**TWO_SHIFTS, **HALF}))


def test_hours_of_the_calendar(plant):
    """Counted by hand for 2026: 261 weekdays of 16 h; nights of 8 h between them stay hot; 52 weekends are off."""
    year = plant.case.calendar
    assert year.production.sum() / 3600 == pytest.approx(261 * 16)
    assert year.starts.sum() == 52
    assert (year.production + year.standby + year.off).sum() / 3600 == pytest.approx(8760)


def test_months_and_states_add_up_to_the_year(plant):
    for option in plant.options:
        bought = sum(v for (_, carrier), v in option.energy.items() if carrier != "cooling")
        months = sum(v for (_, carrier), v in option.year.energy.items() if carrier != "cooling")
        assert float(np.sum(months)) == pytest.approx(bought, rel=1e-12)
        assert sum(float(v) for v in option.year.by_state().values()) == pytest.approx(bought, rel=1e-12)
        assert set(option.year.by_state()) == {"production at 100 %", "production at 40 %", "standby", "warm-up"}


def test_the_balance_closes_over_the_year(plant):
    for option in plant.options:
        supplied = sum(option.heat_in.values())
        assert supplied - sum(option.heat_out.values()) == pytest.approx(0.0, abs=1e-9 * supplied)


def test_resin_dried_is_levels_times_hours(plant):
    hours = 261 * 16
    assert float(plant.baseline.year.resin.sum()) == pytest.approx(hours * (0.5 * 90 + 0.5 * 36), rel=1e-12)


def test_warm_up_is_starts_times_one_start(plant):
    option = plant.option(NEW)
    one = option.operation.starts[0].energy["process heat", "electricity"]
    assert float(option.year.by_state()["warm-up"]) == pytest.approx(
        float((one * plant.case.calendar.starts).sum()), rel=1e-9
    )


def test_the_start_from_cold_sets_the_peak(plant):
    option = plant.option(NEW)
    with_start = float(np.max(option.year.peak["process heat", "electricity"]))
    assert with_start == pytest.approx(float(np.max(option.operation.starts[0].power)), rel=1e-12)
    assert with_start > float(np.max(option.operation.peak["process heat", "electricity"]))


def test_idling_and_part_load_make_a_kilogram_dearer(plant):
    steady = compare(case(PRESENT, NEW, WHEEL, HOT))
    for option in plant.options:
        assert option.specific_energy > 1.3 * steady.option(option.name).specific_energy


def test_controls_bring_most_of_it_back(plant):
    inputs = {"airflow_control": "variable speed", "standby_temperature": "80 degC", "standby_flow_share": 0.4}
    controlled = compare(plant.case.with_({f"options['{WHEEL}'].inputs": inputs})).option(WHEEL)
    assert controlled.specific_energy < 0.75 * plant.option(WHEEL).specific_energy


def test_one_level_at_full_load_is_no_levels():
    level = {f"{HOPPER}.levels": [{"throughput": "90 kg/h", "share": 1.0}]}
    one, none = compare(case(PRESENT, NEW, changes=level)), compare(case(PRESENT, NEW))
    for name in (PRESENT, NEW):
        assert one.option(name).total_cost == none.option(name).total_cost


@pytest.mark.common_practice(
    "with a fixed airflow a kilogram at 30 % load costs two to four times as much as at full load"
)
def test_load_curve_of_fixed_airflow_desiccant_dryers():
    curve = load_curve(compare(case(PRESENT, NEW, WHEEL, changes={f"{HOPPER}.resin": "PC"})), np.array([0.3, 1.0]))
    for name in (NEW, WHEEL):
        part, full = curve.energy[name]
        assert 2.0 <= part / full <= 4.0


def test_a_moving_load_changes_the_ranking_between_fixed_and_variable_airflow():
    changes = {
        f"options['{NEW}'].capital": "1000 USD",
        f"options['{NEW}'].inputs": {"airflow_control": "fixed"},
        f"options['{WHEEL}'].capital": "9000 USD",
        f"options['{WHEEL}'].inputs": {"airflow_control": "variable speed"},
    }
    full = compare(case(PRESENT, NEW, WHEEL, changes=changes))
    part = {f"{HOPPER}.levels": [{"throughput": "36 kg/h", "share": 1.0}]}
    low = compare(case(PRESENT, NEW, WHEEL, changes={**changes, **part}))
    assert full.option(NEW).life_cycle_cost < full.option(WHEEL).life_cycle_cost
    assert low.option(WHEEL).life_cycle_cost < low.option(NEW).life_cycle_cost


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        (
            {f"{HOPPER}.levels": [{"throughput": "90 kg/h", "share": 0.5}]},
            r"levels: the shares add up to 50 %; they must make",
        ),
        ({f"{HOPPER}.levels": [{"throughput": "91 kg/h", "share": 1.0}]}, r"levels\[1\].throughput: 91 kg/h is above"),
        ({**TWO_SHIFTS, "calendar.production_hours": "10 h"}, r"calendar: production_hours and shifts are both given"),
        ({"calendar.production_hours": None}, r"calendar: neither production_hours nor shifts are given"),
        ({**TWO_SHIFTS, "calendar.shutdown_weeks": [60]}, r"calendar.shutdown_weeks: week 60 is not in 2026"),
        ({**TWO_SHIFTS, "calendar.country": "USS"}, r"did you mean 'US'"),
    ],
)
def test_what_cannot_be_is_told_at_its_key(changes, words):
    with pytest.raises(CaseError, match=words):
        case(PRESENT, NEW, changes=changes)


def test_overlapping_shifts_are_told():
    rows = [{"days": ["mon"], "start": "06:00", "end": "14:00"}, {"days": ["mon"], "start": "13:00", "end": "22:00"}]
    with pytest.raises(CaseError, match=r"calendar.shifts: .* overlap"):
        case(PRESENT, changes={"calendar.production_hours": None, "calendar.shifts": rows})


def test_a_set_back_night_costs_what_the_hopper_has_cooled(plant):
    """What standby takes less is not all saved: every morning the hopper is warmed again."""
    hot, back = (
        plant.case.with_({f"options['{NEW}'].inputs": {"standby_temperature": t}}) for t in ("120 degC", "80 degC")
    )
    kept, cooled = (compare(c).option(NEW) for c in (hot, back))
    nights = float(plant.case.calendar.pauses.sum())
    assert nights == 209
    one = float(cooled.operation.starts[0].after_standby["process heat", "electricity"].max())
    more = float(cooled.year.by_state()["warm-up"] - kept.year.by_state()["warm-up"])
    assert more == pytest.approx(nights * one, rel=0.01)
    # 90 kg/h for 4 h of PC at 1.4 kJ/(kg K), 40 K: 5.6 kWh of resin, and some steel; not more in a night than all of it.
    assert 5.0 < one / 3.6e6 < 9.0
    saved = float(kept.year.by_state()["standby"] - cooled.year.by_state()["standby"])
    assert 0.0 < more < saved
    for year in (kept.year, cooled.year):
        into, out = (sum(float(v.sum()) for v in terms.values()) for terms in (year.heat_in, year.heat_out))
        assert into == pytest.approx(out, rel=1e-9)
        for key, energy in year.energy.items():
            listed = sum(float(v.sum()) for (_, *rest), v in year.energy_in.items() if tuple(rest) == key)
            assert listed == pytest.approx(float(energy.sum()), rel=1e-12)


def test_a_set_back_above_the_drying_temperature_is_refused(plant):
    with pytest.raises(
        CaseError, match=r"inputs.standby_temperature: 130 °C is above the drying temperature of 120 °C"
    ):
        plant.case.with_({f"options['{NEW}'].inputs": {"standby_temperature": "130 degC"}})


def test_a_deep_set_back_asks_for_nearly_the_power_of_a_start_from_cold(plant):
    """Weekends at 50 degC: the heater gives nearly what a start takes; from 110 degC production asks for more."""

    def peak(temperature, up_to="100 h"):
        inputs = {"standby_temperature": temperature} if temperature else {}
        changes = {"calendar.standby_up_to": up_to, f"options['{NEW}'].inputs": inputs}
        option = compare(plant.case.with_(changes)).option(NEW)
        return float(np.max(option.year.peak["process heat", "electricity"])), option

    off, _ = peak(None, "0 h")
    deep, option = peak("50 degC")
    start = option.operation.starts[0]
    hot, hall, back = 120.0, float(option.duty.hall_temperature[0]) - 273.15, 50.0
    # A pause is long enough to cool it all but through.
    assert deep / off == pytest.approx((hot - back) / (hot - hall), rel=0.03)
    assert deep == pytest.approx(float(np.max(start.power_after_standby)), rel=1e-9)
    shallow, _ = peak("110 degC")
    none, _ = peak(None)
    assert shallow <= none < deep
