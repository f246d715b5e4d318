"""The case behind a view: opened, changed, undone, kept by the browser, saved; without a widget or a kernel."""

from __future__ import annotations

import datetime
import json
import re
from importlib import resources

import pytest
import tomli_w

from dashboards.case_bar import CaseBar
from dashboards.case_state import UNDO, CaseState
from dashboards.steps_back import kept, taken_up
from energy.errors import EnergyError
from energy.study.case import example_text, load_case
from energy.study.compare import compare
from energy.study.paths import changed
from energy.tariffs import demo_tariffs

THROUGHPUT = "hoppers[1].throughput"


@pytest.fixture
def state():
    return CaseState("one-machine")


@pytest.fixture
def on_disk(tmp_path):
    file = tmp_path / "line-3.toml"
    file.write_text(example_text("one-machine"), encoding="utf-8")
    return file


def _kilograms_an_hour(state):
    return float(state.case.model.hoppers[0].throughput) * 3600


def test_a_change_is_undone_and_so_is_going_back(state):
    before = state.comparison.options[0].total_cost
    state.set({THROUGHPUT: "120 kg/h"})
    state.set({THROUGHPUT: "140 kg/h"})
    state.reset()
    assert not state.changed
    state.undo()
    assert _kilograms_an_hour(state) == pytest.approx(140)
    state.undo()
    state.undo()
    assert state.undoable == 0
    assert state.comparison.options[0].total_cost == before
    state.undo()
    assert not state.changed


def test_the_browser_is_told_the_name_of_an_opened_file(state):
    told = []
    state.observe(lambda _: told.append(json.loads(state.kept()).get("file")), "revision")
    assert state.open_text("line-3.toml", example_text("demo").encode()) == ""
    assert told == ["line-3.toml"]
    again = CaseState("one-machine")
    again.observe(lambda _: told.append(json.loads(again.kept()).get("file")), "revision")
    again.take_up(state.kept())
    assert again.file == "line-3.toml"
    assert set(told) == {"line-3.toml"}
    assert len(told) > 1


def test_a_wrong_value_is_undone(state):
    state.set({THROUGHPUT: "ninety"})
    assert state.stale
    state.undo()
    assert not state.stale


def test_units_are_undone(state):
    state.system = "us"
    assert state.case.model.case.units == "us"
    state.undo()
    assert (state.system, state.case.model.case.units) == ("si", "si")
    assert state.undoable == 0


def test_only_so_many_changes_are_remembered(state, monkeypatch):
    monkeypatch.setattr(CaseState, "_compare", lambda self: None)
    for i in range(UNDO + 5):
        state.set({THROUGHPUT: f"{90 + i / 10} kg/h"})
    assert state.undoable == UNDO


def test_an_unchanged_case_is_not_kept(state):
    assert "text" not in json.loads(state.kept())


def test_steps_of_undo_outlive_a_change_of_view():
    state = CaseState()
    first = state.document
    for throughput in ("50 kg/h", "52 kg/h", "54 kg/h"):
        state.set({"hoppers[1].throughput": throughput})
    # Every view keeps what it took up as soon as it is compared, and the next one goes on from that.
    kept: list[str] = []
    between = CaseState()
    between.observe(lambda _: kept.append(between.kept()), "revision")
    between.take_up(state.kept())
    other = CaseState()
    other.take_up(kept[0])
    assert "Undo takes the last of them back" in between.notice
    assert other.notice == between.notice
    seen = []
    for _ in range(3):
        seen.append(other.document["hoppers"][0]["throughput"])
        other.undo()
    assert seen == ["54 kg/h", "52 kg/h", "50 kg/h"]
    assert other.document == first
    assert other.undoable == 0


def test_steps_for_which_there_is_no_room_are_not_kept(monkeypatch):
    state = CaseState()
    for throughput in ("50 kg/h", "52 kg/h", "54 kg/h"):
        state.set({"hoppers[1].throughput": throughput})
    *_, before, last = map(len, json.loads(state.kept())["back"])
    monkeypatch.setattr("dashboards.steps_back.ROOM", before + last)
    other = CaseState()
    other.take_up(state.kept())
    assert other.undoable == 2
    assert not other.undo_takes_all
    other.undo()
    assert other.document["hoppers"][0]["throughput"] == "52 kg/h"


def test_where_no_step_could_be_kept_undo_says_that_it_takes_all(monkeypatch):
    state = CaseState()
    for throughput in ("50 kg/h", "52 kg/h"):
        state.set({"hoppers[1].throughput": throughput})
    monkeypatch.setattr("dashboards.steps_back.ROOM", 10)
    between = CaseState()
    between.take_up(state.kept())
    assert CaseBar(between)._undo.description == "Undo all changes"
    assert "no room to keep the steps" in between.notice
    monkeypatch.undo()
    other = CaseState()
    other.take_up(between.kept())  # the leap stays one in the next view, where there is room for it
    other.set({"hoppers[1].throughput": "54 kg/h"})
    bar = CaseBar(other)
    assert bar._undo.description == "Undo"
    other.undo()
    assert bar._undo.description == "Undo all changes"
    other.undo()
    assert other.document == other.opened
    assert bar._undo.description == "Undo"


def test_steps_of_a_case_full_of_readings_outlive_a_change_of_view():
    # Half-hours of a year: 17,520 numbers are more than all steps of Undo may take.
    hours = {"start": "2025-01-01T00:00:00+00:00", "interval": "30 min", "unit": "kWh", "values": [117.25] * 17_520}
    state = CaseState()
    state.set(
        {"plant_load": {"readings": hours, "zone": "UTC", "note": "x" * 150_000}}
    )  # refused or not: kept as it is
    for throughput in ("50 kg/h", "52 kg/h", "54 kg/h"):
        state.set({"hoppers[1].throughput": throughput})
    other = CaseState()
    other.take_up(state.kept())
    assert not other.undo_takes_all
    for throughput in ("52 kg/h", "50 kg/h"):
        other.undo()
        assert other.document["hoppers"][0]["throughput"] == throughput
    other.undo()
    other.undo()
    assert other.document == state.opened


@pytest.mark.parametrize(
    ("newer", "older"),
    [
        ({"a": 1}, {"b": {"c": [1, 2]}}),
        ({"a": {"b": 1, "c": 2}}, {"a": {"b": 2}}),
        ({"rows": [{"x": 1}, {"x": 2}]}, {"rows": [{"x": 1}, {"x": 3, "y": 4}]}),
        ({"rows": [{"x": 1}, {"x": 2}]}, {"rows": [{"x": 2}]}),
        ({"day": datetime.date(2026, 1, 2), "b": True}, {"day": datetime.date(2026, 1, 3), "b": False}),
        ({"a": {"b": 1}}, {"a": "1 kg"}),
    ],
)
def test_a_step_leads_back_to_the_document_it_was_made_of(newer, older):
    (found,) = taken_up(kept([older], newer), newer)
    assert found == older


@pytest.mark.parametrize("text", ["120 kg/h", "ninety"])
def test_changes_are_kept_and_taken_up_in_another_view(state, text):
    state.set({THROUGHPUT: text})
    other = CaseState("one-machine")
    other.take_up(state.kept())
    assert other.document == state.document
    assert [p.message for p in other.problems] == [p.message for p in state.problems]
    assert "kept in this browser only" in other.notice
    other.undo()
    assert not other.changed
    assert not other.stale


def test_changes_of_another_window_are_taken_up_over_those_of_this_one(state):
    state.set({THROUGHPUT: "120 kg/h"})
    other = CaseState("one-machine")
    other.set({THROUGHPUT: "80 kg/h"})
    other.take_up(state.kept(), elsewhere=True)
    assert other.document == state.document
    assert other.notice.startswith("The changes of the other window are shown here;")


def test_files_that_a_case_names_are_told_a_line_each_with_the_button_that_takes_them(state):
    text = example_text("one-machine")
    assert text.count("[tariffs]") == 1
    site = re.sub(r"(?ms)^\[site\].*?(?=^\[)", '[site]\nclimate = "pune.epw"\n\n', text)
    tariff = re.sub(r"(?m)^electricity = .*$", 'electricity = "india-ht.toml"', site)
    said = state.open_text("mine.toml", f'{tariff}\n[plant_load]\nfile = "meter.csv"\n'.encode()).splitlines()
    assert len(said) == 3
    for key, name, button in (
        ("tariffs.electricity", "india-ht.toml", "Add a tariff file"),
        ("site.climate", "pune.epw", "Open a weather file"),
        ("plant_load.file", "meter.csv", "Open readings of the meter"),
    ):
        (line,) = [line for line in said if f"{key}: '{name}' is no file" in line]
        assert f"press “{button}” on Compare, or start with dryer-energy dashboard FILE" in line


def test_a_case_brought_along_is_kept_with_the_form_it_was_opened_in(state):
    text = example_text("one-machine").replace('"90 kg/h"', '"95 kg/h"')
    assert state.open_text("mine.toml", text.encode()) == ""
    assert "mine.toml" in state.notice
    state.set({THROUGHPUT: "150 kg/h"})
    other = CaseState("demo")
    other.take_up(state.kept())
    assert other.file == "mine.toml"
    assert _kilograms_an_hour(other) == pytest.approx(150)
    other.reset()
    assert _kilograms_an_hour(other) == pytest.approx(95)


@pytest.mark.parametrize(
    "kept",
    [
        "",
        "[]",
        "null",
        "{}",
        '{"base": "x"}',
        '{"base": "x", "text": "a = ", "opened": "", "file": ""}',
        '{"text": 3, "base": 4}',
    ],
)
def test_what_cannot_be_taken_up_is_told_and_changes_nothing(state, kept):
    before = state.comparison
    state.take_up(kept)
    assert "cannot be used" in state.notice
    assert state.comparison is before
    assert not state.changed


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"\xff\xfe\x00", "UTF-8"),
        (b"a = ", "TOML"),
        (b"[case]\nname = 3\n", "case.name"),
        (b"#" * 2_000_001, "2000000 bytes"),
        (b"", "hoppers"),
    ],
)
def test_a_file_that_is_no_case_is_told_and_the_case_on_screen_stays(state, content, words):
    state.set({THROUGHPUT: "120 kg/h"})
    assert words in state.open_text("x.toml", content)
    assert _kilograms_an_hour(state) == pytest.approx(120)
    assert state.undoable == 1


def test_saving_writes_the_file_that_was_opened(on_disk):
    state = CaseState(str(on_disk))
    state.set({THROUGHPUT: "120 kg/h"})
    assert on_disk.read_text(encoding="utf-8") == example_text("one-machine")  # nothing is written unless asked
    state.save()
    assert float(load_case(on_disk).model.hoppers[0].throughput) * 3600 == pytest.approx(120)
    assert not state.changed
    assert "text" not in json.loads(state.kept())
    state.set({THROUGHPUT: "130 kg/h"})
    state.save()
    assert float(load_case(on_disk).model.hoppers[0].throughput) * 3600 == pytest.approx(130)


def test_saving_keeps_comments_and_order_of_the_file(on_disk):
    before = on_disk.read_text(encoding="utf-8").splitlines()
    state = CaseState(str(on_disk))
    for hall in ("26 degC", "28 degC"):
        state.set({"site.hall_temperature": hall})
        state.save()
        after = on_disk.read_text(encoding="utf-8").splitlines()
        (was,) = (line for line in before if line.startswith("hall_temperature"))
        assert [line for line in before if line not in after] == [was]
        assert after[before.index(was)] == f'hall_temperature = "{hall}"'
        assert len(after) == len(before)
    # What a visitor brings is handed back with its comments too.
    assert state.open_text("mine.toml", on_disk.read_bytes()) == ""
    assert state.to_take_home() == on_disk.read_bytes()


TOU = "time-of-use-electricity"
SHIFTS = {
    "calendar.production_hours": None,
    "calendar.shifts": [{"name": "day", "days": ["mon", "tue", "wed"], "start": "06:00", "end": "22:00"}],
}


def _named_by_file(folder, **changes):
    """A case whose tariffs are files beside it, as anybody writes them, one of them named in a scenario."""
    for name, file in ((TOU, "power.toml"), ("flat-gas", "gas.toml"), ("flat-electricity", "other.toml")):
        (folder / file).write_bytes(resources.files("tariffs_demo").joinpath(f"{name}.toml").read_bytes())
    document = changed(
        load_case("one-machine").document,
        {
            **SHIFTS,
            "tariffs.electricity": "power.toml",
            "tariffs.gas": "gas.toml",
            "scenarios": [{"name": "Other", "changes": {"tariffs.electricity": "other.toml"}}],
            **changes,
        },
    )
    file = folder / "plant.toml"
    file.write_text("# of the plant\n" + tomli_w.dumps(document), encoding="utf-8")
    return file


def _costs(state):
    case = state.case
    of_scenario = compare(case.with_(case.model.scenarios[0].changes))
    return [[o.total_cost for o in found.options] for found in (state.comparison, of_scenario)]


def test_a_downloaded_case_takes_its_tariff_files_along_and_opens_anywhere(tmp_path):
    served = CaseState(str(_named_by_file(tmp_path)))
    bar = CaseBar(served)
    sent = []
    bar.download.send = lambda content, buffers=(): sent.append((content, buffers))
    bar.download._answer(None, "wanted", None)
    ((content, (home,)),) = sent
    assert content["kind"] == "file"
    assert home.startswith(b"# of the plant\n")
    assert "holds what power.toml, gas.toml, other.toml said" in served.notice
    elsewhere = CaseState("one-machine")
    assert elsewhere.open_text("plant.toml", home) == ""
    assert _costs(elsewhere) == _costs(served)
    assert _costs(served)[0] != _costs(served)[1]
    names = [tariff["name"] for tariff in elsewhere.document["own_tariffs"]]
    assert len(set(names)) == 3
    assert not set(names) & set(demo_tariffs())
    # Saved where it was opened it goes on naming its files.
    served.set({THROUGHPUT: "95 kg/h"})
    served.save()
    assert load_case(tmp_path / "plant.toml").document["tariffs"]["electricity"] == "power.toml"
    assert "own_tariffs" not in load_case(tmp_path / "plant.toml").document


def test_a_download_names_the_files_that_stay_behind(tmp_path):
    (tmp_path / "months.csv").write_text("month,kWh,kW\n" + "\n".join(f"{m},200000,450" for m in range(1, 13)))
    state = CaseState(str(_named_by_file(tmp_path, **{"plant_load.table": "months.csv"})))
    assert not state.problems
    state.to_take_home()
    assert state.notice.endswith(
        "It still needs months.csv beside it: take it along, and open it with dryer-energy dashboard."
    )


def test_a_tariff_file_that_has_changed_meanwhile_is_not_taken_along(tmp_path):
    state = CaseState(str(_named_by_file(tmp_path)))
    file = tmp_path / "gas.toml"
    file.write_text(file.read_text(encoding="utf-8").replace('price = "', 'price = "1'), encoding="utf-8")
    with pytest.raises(EnergyError, match=r"gas\.toml has changed"):
        state.to_take_home()


def test_a_scenario_has_no_file_of_this_computer_read(state, secret):
    changes = {"tariffs.electricity": secret}
    state.set({"scenarios": [{"name": "Other", "changes": changes}]})
    assert [p.key for p in state.problems] == ["scenarios[1].tariffs.electricity"]
    assert "hunter2" not in state.problems[0].message


def test_a_file_that_somebody_else_changed_is_not_overwritten(on_disk):
    state = CaseState(str(on_disk))
    state.set({THROUGHPUT: "120 kg/h"})
    theirs = on_disk.read_text(encoding="utf-8") + "\n# theirs\n"
    on_disk.write_text(theirs, encoding="utf-8")
    with pytest.raises(EnergyError, match="changed on disk"):
        state.save()
    assert on_disk.read_text(encoding="utf-8") == theirs


def test_a_case_from_elsewhere_has_no_file_to_save_to(state):
    assert not state.saveable
    with pytest.raises(EnergyError, match="download"):
        state.save()


@pytest.fixture
def secret(tmp_path):
    file = tmp_path / "secret.csv"
    file.write_text("password,hunter2\n1,2\n", encoding="utf-8")
    return str(file)


@pytest.mark.parametrize("key", ["plant_load.file", "plant_load.table", "site.climate", "tariffs.electricity"])
def test_a_page_has_no_file_of_this_computer_read(state, on_disk, secret, key):
    """Neither through a value, nor an uploaded case, nor what a browser says it has kept."""
    hall = {"site.hall_temperature": None, "site.hall_dew_point": None} if key == "site.climate" else {}
    text = tomli_w.dumps(changed(state.document, {key: secret, **hall}))
    state.set({key: secret, **hall})
    told = [p.message for p in state.problems if p.key == key]
    told += [state.open_text("a.toml", text.encode())]
    served = CaseState(str(on_disk))
    served.take_up(json.dumps({"base": served.base, "text": text}))
    told += [p.message for p in served.problems]
    assert len(told) == 3
    for sentence in told:
        assert "no file that can be read from a page" in sentence
        assert "password" not in sentence
        assert "hunter2" not in sentence


def test_the_files_of_the_case_as_served_are_read(on_disk, tmp_path):
    (tmp_path / "own.toml").write_bytes((resources.files("tariffs_demo") / "flat-electricity.toml").read_bytes())
    on_disk.write_text(
        example_text("one-machine").replace('electricity = "flat-electricity"', 'electricity = "own.toml"'),
        encoding="utf-8",
    )
    served = CaseState(str(on_disk))
    served.set({THROUGHPUT: "120 kg/h"})
    assert not served.problems
    assert _kilograms_an_hour(served) == pytest.approx(120)


def test_the_demo_case_takes_changes_away_only_at_a_second_click(state):
    bar = CaseBar(state)
    state.set({THROUGHPUT: "120 kg/h"})
    bar._demo.click()
    assert _kilograms_an_hour(state) == pytest.approx(120.0)
    assert "click Demo case once more" in bar._notice.value
    state.set({THROUGHPUT: "130 kg/h"})  # another change asks again
    bar._demo.click()
    assert _kilograms_an_hour(state) == pytest.approx(130.0)
    bar._demo.click()
    assert state.case.name == load_case("demo").name


def test_a_case_kept_with_a_wrong_value_is_shown_with_its_own_last_result():
    before = CaseState("demo")
    before.set({"hoppers[1].throughput": "90 kg/h"})
    cost = before.comparison.baseline.total_cost
    before.set({"hoppers[1].drying_temperature": "abc"})
    again = CaseState("demo")
    assert again.comparison.baseline.total_cost != cost
    again.take_up(before.kept())
    assert [p.key for p in again.problems] == [p.key for p in before.problems]
    assert again.stale
    assert again.comparison.baseline.total_cost == cost
