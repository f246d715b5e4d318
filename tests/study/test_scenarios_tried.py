"""Scenarios of a case file: what is wrong in one is told when the file is loaded, what follows of one when the case is checked."""

from __future__ import annotations

import pytest
import tomli_w
from cases import HOPPER, NEW, PRESENT, document

from dashboards.case_state import CaseState
from energy.cli import main
from energy.errors import CaseError
from energy.study.case import build, load_case
from energy.study.paths import by_name

LEVELS = [{"throughput": "90 kg/h", "share": "50 %"}, {"throughput": "60 kg/h", "share": "50 %"}]


def written(tmp_path, changes, of=None):
    """A case file with one scenario."""
    made = document(PRESENT, NEW, changes={"scenarios": [{"name": "less", "changes": changes}], **(of or {})})
    path = tmp_path / "my.toml"
    path.write_text(tomli_w.dumps(made), encoding="utf-8")
    return path


PLACE = "scenarios['less'].changes"
WRONG = {
    "hopper": (
        {"hoppers['Machine 8'].throughput": "80 kg/h"},
        f"{PLACE}: 'hoppers['Machine 8'].throughput': there is no entry of that name; did you mean 'Machine 7'?",
    ),
    "option": (
        {"options['Desiccant weel'].life": 12},
        f"{PLACE}: 'options['Desiccant weel'].life': there is no entry of that name",
    ),
    "key": (
        {"tariffs.electricty": "0.2 USD/kWh"},
        f"{PLACE}.tariffs.electricty: unknown key; did you mean 'electricity'?",
    ),
    "no path": (
        {"throughput of machine 7": "80 kg/h"},
        f"{PLACE}: 'throughput of machine 7' is not the path of a value in a case",
    ),
    "unit": ({f"{HOPPER}.throughput": "80 kg"}, f"{PLACE}.{HOPPER}.throughput: "),
    "unit, by number": ({"hoppers[1].throughput": "80 kg"}, f"{PLACE}.{HOPPER}.throughput: "),
    "currency": ({"tariffs.electricity": "0.2 EUR/kWh"}, f"{PLACE}.tariffs.electricity: "),
    "file": ({"tariffs.electricity": "none.toml"}, f"{PLACE}.tariffs.electricity: "),
}


@pytest.mark.parametrize(("changes", "said"), WRONG.values(), ids=[*WRONG])
def test_what_is_wrong_in_a_scenario_is_told_wherever_the_file_is_loaded(tmp_path, capsys, changes, said):
    path = written(tmp_path, changes)
    for command in ("check", "compare"):
        assert main([command, str(path)]) == 2
        told = capsys.readouterr()
        assert told.out == ""
        assert told.err.startswith(f"{path}: {said}")
        assert len(told.err.splitlines()) == 1
    with pytest.raises(CaseError):
        load_case(path)


def test_a_page_does_not_open_such_a_file(tmp_path):
    changes, said = WRONG["hopper"]
    state = CaseState("one-machine")
    assert said in state.open_text("my.toml", written(tmp_path, changes).read_bytes())
    good = written(tmp_path, {f"{HOPPER}.throughput": "80 kg/h"}).read_bytes()
    assert state.open_text("my.toml", good) == ""


def test_each_wrong_change_is_told_at_once(tmp_path):
    made = document(NEW, changes={f"options['{NEW}'].baseline": True})
    made["scenarios"] = [{"name": name, "changes": WRONG[name][0]} for name in ("hopper", "key")]
    path = tmp_path / "my.toml"
    path.write_text(tomli_w.dumps(made), encoding="utf-8")
    with pytest.raises(CaseError) as error:
        load_case(path)
    assert [p.key for p in error.value.problems] == [
        "scenarios['hopper'].changes",
        "scenarios['key'].changes.tariffs.electricty",
    ]


def test_levels_above_a_throughput_that_a_scenario_lowers_are_told_with_what_to_write(tmp_path, capsys):
    path = written(tmp_path, {f"{HOPPER}.throughput": "70 kg/h"}, {f"{HOPPER}.levels": LEVELS})
    assert main(["check", str(path)]) == 2
    assert capsys.readouterr().err.strip() == (
        f"{path}: {PLACE}: {HOPPER}.levels[1].throughput does not go with them: 90 kg/h is above the hopper's throughput of 70 kg/h; up to that is "
        "allowed; change it in this scenario too"
    )
    both = {f"{HOPPER}.throughput": "70 kg/h", f"{HOPPER}.levels[1].throughput": "70 kg/h"}
    assert main(["check", str(written(tmp_path, both, {f"{HOPPER}.levels": LEVELS}))]) == 0


def test_a_machine_without_an_answer_under_a_scenario_is_a_note(tmp_path, capsys):
    small = {f"options['{NEW}'].built_for": "95 kg/h"}
    assert main(["check", str(written(tmp_path, {f"{HOPPER}.throughput": "108 kg/h"}, small))]) == 0
    told = capsys.readouterr().out
    assert ": valid." in told.splitlines()[0]
    assert "Under the scenario “less” there is no answer: " in told
    assert "95 kg/h is less than the hopper's throughput of 108 kg/h" in told
    assert main(["check", str(written(tmp_path, {f"{HOPPER}.throughput": "80 kg/h"}))]) == 0
    assert "Under the scenario" not in capsys.readouterr().out


def test_a_case_that_is_being_changed_goes_on_with_what_no_file_may_say():
    """On a page the scenario tells beside its inputs what is wrong with it; only a file is refused."""
    made = document(PRESENT, NEW, changes={"scenarios": [{"name": "less", "changes": WRONG["hopper"][0]}]})
    assert build(made).model.scenarios[0].name == "less"


@pytest.mark.parametrize(
    ("path", "named"),
    [
        ("hoppers[2].throughput", "hoppers['B'].throughput"),
        ("hoppers['B'].levels[1].share", "hoppers['B'].levels[1].share"),
        ("hoppers[3].throughput", "hoppers[3].throughput"),
        ("site.altitude", "site.altitude"),
    ],
)
def test_entries_are_called_by_their_names(path, named):
    made = {"hoppers": [{"name": "A"}, {"name": "B", "levels": [{"share": "100 %"}]}], "site": {}}
    assert by_name(made, path) == named
