"""What is said of readings that are off: damper than practice, more power than parts, readings that do not fit together."""

from __future__ import annotations

import json

import pytest

from energy.reports import walkthrough as report
from energy.study.case import build, load_case
from energy.walkthrough.walk import walk


def walked(**readings):
    """The first readings of the demo case with some put in, or taken out where None is given."""
    document = load_case("demo").document
    first = {**document["readings"][0], **readings}
    case = build({**document, "readings": [{k: v for k, v in first.items() if v is not None}]})
    return walk(case, case.model.readings[0])


def words_of(made):
    return {row[0]: row[3] for row in (report.gap_row(gap, "si") for gap in made.gaps)}


@pytest.mark.parametrize(("dew_point", "name"), [("-28 degC", "damper than practice asks"), ("-10 degC", "too damp")])
def test_air_damper_than_the_resin_s_sheet_asks_is_a_finding_whatever_the_model_expects(dew_point, name):
    made = walked(dew_point=dew_point)
    [cause] = [c for c in made.causes if "damp" in c.name]
    assert name in cause.name
    assert "practice asks for -40 °C and accepts up to -20 °C for PC" in cause.text
    assert cause.power == 0.0
    assert words_of(made)["Dew point of the process air"] == "damper than practice asks"


def test_dry_air_is_no_finding():
    made = walked(dew_point="-42 degC")
    assert not [c for c in made.causes if "damp" in c.name]
    assert words_of(made)["Dew point of the process air"] in ("as expected", "below, within the model's range")


def test_power_that_no_part_explains_is_a_finding_with_its_money_and_what_to_look_at():
    made = walked(power="11.2 kW")
    [cause] = [c for c in made.causes if "explains" in c.name]
    parts = sum(term.value for term in walked().balance.parts)
    assert cause.power == pytest.approx(11_200.0 - parts, rel=0.05)
    assert cause.money > 1000.0
    said = " ".join(report.contradicted(made))
    assert "lie between what the meter shows and what the parts add up to; look again at electrical power" in said
    assert report.verdict(made).startswith("It takes 7")
    assert report.contradicted(walked()) == []


def test_more_than_expected_and_within_what_the_model_is_sure_of_do_not_contradict_each_other():
    made = walked(power="7.6 kW")
    off = 2.0 * made.model_uncertainty / made.balance.expected
    assert f"within the {100 * off:.0f} % that the model may be off" in report.verdict(made)
    [word] = [word for name, word in words_of(made).items() if name.startswith("Electrical power")]
    assert word == "above, within the model's range"


def test_where_nothing_was_read_that_is_said():
    case = load_case("demo")
    bare = {"hopper": case.document["readings"][0]["hopper"], "date": case.document["readings"][0]["date"]}
    case = build({**case.document, "readings": [bare]})
    assert report.verdict(walk(case, case.model.readings[0])) == "Nothing was read yet: these are the model's figures."


@pytest.mark.parametrize(
    ("stated", "said"),
    [
        ({"date": "2026-02-03", "by": "A. Reader", "note": "Lid\nopen."}, "Read on 2026-02-03 by A. Reader. Lid open."),
        ({"date": None, "by": "A. Reader", "note": None}, "Read by A. Reader."),
        ({"date": None, "by": None, "note": "Lid open."}, "Lid open."),
    ],
)
def test_day_reader_and_note_are_told(stated, said):
    made = walked(**stated)
    assert report.to_text(made, "si").splitlines()[2] == said
    kept = json.loads(report.to_json(made))
    assert {key: kept[key] for key in stated} == {key: value or "" for key, value in stated.items()}


def test_no_line_is_left_for_what_is_not_stated():
    made = walked(date=None, by=None, note=None)
    assert report.to_text(made, "si").splitlines()[2] == ""
