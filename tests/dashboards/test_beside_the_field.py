"""What is wrong stands beside its field, in the reader's words: states and forms without a browser."""

from __future__ import annotations

import datetime
import html

import pytest

from dashboards.bill_state import State as BillState
from dashboards.input_names import input_names
from dashboards.inputs import Inputs
from dashboards.request import View as RequestView
from dashboards.request_state import RequestState
from dashboards.state import State
from dashboards.walkthrough import View as WalkView
from dashboards.walkthrough_state import WalkState
from energy.reports.print_signs import pretty
from energy.study.case import build, example_text, read_document
from energy.study.paths import walk
from energy.units import KINDS, to_unit


@pytest.fixture
def plant():
    """The form of a plant with two shifts and levels, every section folded out."""
    state = State(None, lambda _, work: None)
    shown = Inputs(state)
    state.observe(lambda _: shown.refresh(), ("revision", "system"))
    for section in ("shifts", "more-duty"):
        shown.unfold(section)
    return shown


def problem(form, identity):
    return form.find(identity)["problem"]


# ---------- shifts, levels, holidays ----------


@pytest.mark.parametrize("typed", ["25:00", "22"])
def test_a_shift_end_that_is_no_time_of_day_is_marked_at_its_field(plant, typed):
    plant.form.enter("calendar.shifts[2].end", typed)
    assert problem(plant.form, "calendar.shifts[2].end").startswith(f"'{typed}' is not a time of day")
    assert problem(plant.form, "calendar.shifts[1].end") == ""
    assert problem(plant.form, "calendar.shifts[2].start") == ""
    assert plant.form.find("shifts")["problem"] == "1 problem"


def test_a_shift_without_a_name_is_marked_too(plant):
    plant.form.enter("calendar.shifts[2].name", "")
    plant.form.enter("calendar.shifts[2].end", "25:00")
    assert "is not a time of day" in problem(plant.form, "calendar.shifts[2].end")
    assert problem(plant.form, "calendar.shifts[1].end") == ""


def test_shifts_that_overlap_are_told_below_them(plant):
    plant.form.enter("calendar.shifts[2].start", "13:00")
    assert "overlap; a minute belongs to one shift" in plant.form.find("calendar.shifts:wrong")["label"]


def test_shares_of_levels_that_miss_the_whole_are_told_below_them(plant):
    state = plant.state
    state.hopper = 1
    plant.refresh()
    levels = [{"throughput": "40 kg/h", "share": "50 %"}, {"throughput": "20 kg/h", "share": "40 %"}]
    state.set({"hoppers[2].levels": levels})
    told = plant.form.find("hoppers[2].levels:wrong")
    assert (told["as"], told["label"]) == ("problem", "the shares add up to 90 %; they must make 100 %")


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("country", "Germany", "'Germany' is not a country code"),
        ("subdivision", "BQ", "'BQ' is not a part of"),
        ("holidays", "Labour Dax", "'Labour Dax' is not a public holiday"),
    ],
)
def test_what_is_wrong_with_holidays_is_told_where_it_was_typed(plant, field, typed, said):
    for key in ("country", "subdivision", "holidays"):
        plant.form.enter(f"calendar.{key}", {"country": "US"}.get(key, ""))
    plant.form.enter(f"calendar.{field}", typed)
    told = {key: problem(plant.form, f"calendar.{key}") for key in ("country", "subdivision", "holidays")}
    assert told[field].startswith(said)
    assert [key for key in told if told[key]] == [field]


@pytest.mark.parametrize(("typed", "weeks"), [("31-33", [31, 32, 33]), ("2, 31 to 32", [2, 31, 32]), ("52", [52])])
def test_weeks_are_typed_one_by_one_or_as_a_span(plant, typed, weeks):
    plant.form.enter("calendar.shutdown_weeks", typed)
    assert plant.state.document["calendar"]["shutdown_weeks"] == weeks
    assert plant.state.problems == ()


@pytest.mark.parametrize("typed", ["31 32", "33-31"])
def test_weeks_that_cannot_be_read_say_how_to_write_them(plant, typed):
    plant.form.enter("calendar.shutdown_weeks", typed)
    told = problem(plant.form, "calendar.shutdown_weeks")
    assert told == f"'{typed}' is not a whole number; write several one by one, such as 31, 32"


# ---------- readings of the meter ----------


def meter(offset, hour=0):
    """100 kW in every quarter hour of a year from that hour of 1 January 2026 on."""
    start = datetime.datetime(2026, 1, 1, hour)
    stamps = (start + datetime.timedelta(minutes=15 * i) for i in range(35_040))
    return ("time,kW\n" + "".join(f"{at:%Y-%m-%dT%H:%M}{offset},100\n" for at in stamps)).encode()


@pytest.mark.parametrize(
    ("offset", "named"),
    [("", "'UTC', or the zone of the clock they show"), ("-05:00", "'America/Chicago' or the zone of your clock")],
)
def test_readings_of_no_known_clock_say_where_it_is_typed_in(plant, offset, named):
    plant.unfold("plant_load")
    before = plant.state.document
    plant.form.upload("meter", "meter.csv", meter(offset))
    assert problem(plant.form, "meter").endswith(
        f"; open the file on Bill and say under Time zone of the stamps: {named}"
    )
    assert plant.state.document == before


@pytest.mark.parametrize("offset", ["Z", "+00:00"])
def test_stamps_in_utc_are_counted_by_utc(plant, offset):
    plant.unfold("plant_load")
    plant.form.upload("meter", "meter.csv", meter(offset))
    assert problem(plant.form, "meter") == ""
    assert plant.state.document["plant_load"]["zone"] == "UTC"
    assert "876 MWh a year with at most 100 kW now" in plant.state.notice  # 8760 h of 100 kW
    assert "days and months are those of UTC" in plant.state.notice


def test_stamps_in_utc_of_a_year_on_another_clock_say_so(plant):
    plant.unfold("plant_load")
    plant.form.upload("meter", "meter.csv", meter("Z", hour=5))
    told = problem(plant.form, "meter")
    assert "739 of its 744 h are there. The time stamps are in UTC" in told
    assert told.endswith("For another clock open the file on Bill.")


def test_a_file_without_a_unit_says_where_column_and_unit_are_typed_in(plant):
    plant.unfold("plant_load")
    data = b"time,A\n2026-01-01T00:00Z,3\n2026-01-01T00:15Z,3\n"
    plant.form.upload("meter", "meter.csv", data)
    there = "name the column of figures under Column of figures and under Unit of the figures; the columns are"
    assert f"; open the file on Bill and {there}" in problem(plant.form, "meter")
    assert f"; {there}" in BillState().upload_readings("meter.csv", data)


# ---------- labels and units ----------


def test_units_beside_a_field_are_in_print_and_can_be_typed(plant):
    form = plant.form
    form.enter("hoppers[1].drying_temperature", "abc")
    assert problem(form, "hoppers[1].drying_temperature") == (
        "Drying temperature: 'abc' is not a temperature; write a number and one of °C, °F, K"
    )
    for typed in ("120 °C", "248 °F"):
        form.enter("hoppers[1].drying_temperature", typed)
        assert plant.state.problems == ()
        assert float(plant.state.case.model.hoppers[0].drying_temperature) == pytest.approx(393.15)


@pytest.mark.parametrize("kind", [*KINDS])
def test_every_unit_is_read_as_it_is_printed(kind):
    units = {*KINDS[kind].units, KINDS[kind].shown_si, KINDS[kind].shown_us}
    for unit in units:
        assert to_unit(2.0, kind, pretty(unit)) == pytest.approx(to_unit(2.0, kind, unit))


def test_readings_on_the_list_of_assumptions_name_their_hopper():
    model = build(read_document(example_text("demo"), "demo")).model
    found = {path: quantity for path, quantity, value in walk(model) if value is not None}
    names = {path: name for name, path in input_names(found, model)}
    assert names["readings[1].weighed_mass"] == "Resin weighed: read at Machine 1"
    assert [name for name in names.values() if "[" in name] == []


def shown_on(view):
    return html.unescape(view._problems.value)


@pytest.fixture(scope="module")
def walk_view():
    return WalkView(WalkState())


@pytest.mark.parametrize(
    ("path", "typed", "said"),
    [
        ("hoppers[1].drying_temperature", "abc", ">Machine 1, drying temperature: 'abc' is not a temperature; write"),
        ("site.hall_temperature", "abc", ">site, hall temperature: 'abc' is not a temperature; write"),
        ("calendar.shifts[2].end", "25:00", ">calendar, late, end: '25:00' is not a time of day; write"),
    ],
)
def test_what_is_wrong_on_compare_is_told_by_labels_on_the_other_views(walk_view, path, typed, said):
    walk_view.state.reset()
    walk_view.state.set({path: typed})
    assert said in shown_on(walk_view)
    request = RequestView(RequestState())
    request.state.set({path: typed})
    assert said in shown_on(request)


def test_an_accuracy_that_cannot_be_read_names_each_unit_once(walk_view):
    state = walk_view.state
    state.reset()
    state.read("process_temperature", "23 +- abc")
    assert pretty(state.problem_of("process_temperature")).endswith(
        "write a number and one of K, °C, °F. Left out so far."
    )


# ---------- temperatures the wrong way round ----------


@pytest.mark.parametrize(
    ("system", "process", "back", "said"),
    [
        # 250 °F = 121.1 °C; 130 °C = 266 °F
        ("si", "250 °F", "130", "of 121.1 °C (typed as 250 °F) is below “Return air out of the hopper” of 130 °C"),
        ("us", "250", "130 °C", "of 250 °F is below “Return air out of the hopper” of 266 °F (typed as 130 °C)"),
        ("si", "121", "130", "of 121 °C is below “Return air out of the hopper” of 130 °C"),
    ],
)
def test_temperatures_the_wrong_way_round_are_told_in_the_unit_shown(walk_view, system, process, back, said):
    state = walk_view.state
    state.reset()
    state.system = system
    state.read("process_temperature", process)
    state.read("return_temperature", back)
    assert said in state.problem_of("return_temperature")
    state.reset()
