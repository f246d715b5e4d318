"""A changed case over the text of its file: what was not changed stays to the letter, and the text says what the case says."""

from __future__ import annotations

import tomllib

import pytest

from energy.study.case import build, example_text, load_case, read_document
from energy.study.paths import changed
from energy.study.written_over import written_over

CHANGES = {
    "a value": {"hoppers[1].throughput": "120 kg/h"},
    "a range": {"finance.rate": {"value": "7 %", "low": "6 %", "high": "9 %"}},
    "a key more": {"options[2].incentive": "900 USD"},
    "a section more": {"building": {"heating_months": "5"}, "own_tariffs": [{"name": "x", "charges": [{"a": [1, 2]}]}]},
    "a section less": {"compressed_air": None},
    "a name": {"options[2].name": "Other"},
    "a sum for lines": {"options[2].capital": "1000 USD"},
}


def comments(text):
    return [line for line in text.splitlines() if "#" in line]


@pytest.mark.parametrize("name", ["one-machine", "demo"])
def test_nothing_changed_is_the_same_text(name):
    text = example_text(name)
    assert written_over(text, read_document(text, name)) == text


@pytest.mark.parametrize("name", ["one-machine", "demo"])
@pytest.mark.parametrize("changes", CHANGES.values(), ids=CHANGES)
def test_changes_are_written_and_every_other_line_stays(name, changes):
    text = example_text(name)
    document = changed(read_document(text, name), changes)
    after = written_over(text, document)
    assert tomllib.loads(after) == document
    lost = [line for line in text.splitlines() if line.strip() and line not in after.splitlines()]
    assert len(lost) <= (14 if None in changes.values() else 4)


def test_entries_of_lists_come_and_go_with_their_own_comments():
    text = (
        '# head\n[[options]]\nname = "A" # first\n\n# on B\n[[options]]\nname = "B"\nlines = [\n  { item = "x", n = 1 }, # one\n]\n\n'
        '# on C\n[[options]]\nname = "C"\n\n# on what follows\n[end]\nn = 1 # last\n'
    )
    document = tomllib.loads(text)
    a, b, c = document["options"]
    without = written_over(text, {**document, "options": [a, c]})
    assert comments(without) == ["# head", 'name = "A" # first', "# on C", "# on what follows", "n = 1 # last"]
    short = written_over(text, {**document, "options": [a, b]})
    assert short.index("# on what follows\n[end]") > short.index('name = "B"')
    assert "# on C" not in short
    more = written_over(
        text, {**document, "options": [a, b, c, {"name": "D", "inputs": {"x": {"value": 1, "low": 0}}}]}
    )
    assert "# on what follows\n[end]" in more
    assert len(comments(more)) == len(comments(text))
    line = written_over(text, {**document, "options": [a, {**b, "lines": [*b["lines"], {"item": "y", "n": 2}]}, c]})
    assert '{ item = "x", n = 1 }, # one' in line
    for after, names in ((without, "AC"), (short, "AB"), (more, "ABCD"), (line, "ABC")):
        assert "".join(option["name"] for option in tomllib.loads(after)["options"]) == names


def test_what_the_text_cannot_take_is_written_plainly():
    # A table in two pieces with another between them, and a text that is no TOML.
    document = {"a": {"b": 1, "c": {"d": 2}}, "e": {"f": 3}}
    for text in ("[a]\nb = 0\n[e]\nf = 1\n[a.c]\nd = 0\n[a.c.x]\ny = 1\n", "[a", "", "a = 1\n"):
        assert tomllib.loads(written_over(text, document)) == document


def test_a_case_saved_over_its_file_keeps_the_comments(tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text("# mine\r\n" + example_text("one-machine"), encoding="utf-8", newline="")
    load_case(path).with_(throughput="95 kg/h").save(path, overwrite=True)
    text = path.read_text(encoding="utf-8")
    assert comments(text) == ["# mine", *comments(example_text("one-machine"))]
    assert build(read_document(text, "mine.toml")).document["hoppers"][0]["throughput"] == "95 kg/h"
