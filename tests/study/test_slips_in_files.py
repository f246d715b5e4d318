"""Slips in a tariff file or a case that are easily made: told with file and key, or with what is taken."""

from __future__ import annotations

import re
from importlib import resources

import pytest
from cases import NEW, PRESENT, case, document

from energy.cli import main
from energy.errors import CaseError
from energy.reports.answer import sentences
from energy.reports.document.decision import decision
from energy.reports.document.proposal import proposal
from energy.study.case import build, load_case
from energy.study.compare import compare
from energy.tariffs import load_tariff, read_tariff_document

DEMO = resources.files("tariffs_demo") / "time-of-use-electricity.toml"
DUE = f"options['{PRESENT}'].replacements"


@pytest.fixture
def tariff(tmp_path):
    """A tariff file of the plant's own that keeps a holiday by a name that there is not."""
    text = re.sub(r"(?ms)^\[calendar\.holidays\].*?(?=^\[)", "", DEMO.read_text(encoding="utf-8"))
    text = re.sub(r"(?ms)^\[worked.*?(?=^\[\[|\Z)", "", text)
    named = '[calendar.holidays]\ncountry = "AU"\nnames = ["Anzac Day"]\n\n'
    path = tmp_path / "own.toml"
    path.write_text(text.replace("[[charges]]", f"{named}[[charges]]", 1), encoding="utf-8")
    load_tariff(path)  # nothing else is wrong in it
    return path


def test_a_holiday_that_there_is_not_is_told_with_file_and_key(tariff):
    made = document(PRESENT, NEW, changes={"tariffs.electricity": tariff.name})
    with pytest.raises(CaseError) as error:
        build(made, file="case.toml", folder=tariff.parent)
    assert str(error.value).startswith(
        "case.toml: tariffs.electricity: own.toml: calendar.holidays.names: 'Anzac Day' is not a public holiday of AU; did you mean 'ANZAC Day'"
    )


def test_a_holiday_of_a_tariff_in_the_case_is_told_by_its_place_there(tariff):
    own = {**read_tariff_document(tariff), "name": "Ours"}
    made = document(PRESENT, NEW, changes={"own_tariffs": [own], "tariffs.electricity": "Ours"})
    with pytest.raises(
        CaseError, match=re.escape("case.toml: own_tariffs['Ours'].calendar.holidays.names: 'Anzac Day'")
    ):
        build(made, file="case.toml")


def test_a_bill_names_the_file_too(tariff, capsys):
    assert main(["bill", str(tariff), "--constant", "400 kW", "--year", "2026"]) != 0
    assert f"{tariff}: calendar.holidays.names: 'Anzac Day'" in capsys.readouterr().err


def test_a_country_that_there_is_not_is_no_fault_of_the_names(tariff):
    tariff.write_text(tariff.read_text(encoding="utf-8").replace('country = "AU"', 'country = "QQ"'), encoding="utf-8")
    with pytest.raises(CaseError, match=r"own\.toml: calendar\.holidays: 'QQ' is not a country code"):
        build(document(PRESENT, NEW, changes={"tariffs.electricity": tariff.name}), folder=tariff.parent)


@pytest.mark.parametrize(("due", "told"), [(7, True), (4, False), (2, False)])
def test_a_first_replacement_later_than_an_interval_is_told(due, told):
    again = [{"item": "Desiccant", "every": 4, "next_due": due, "amount": "1800 USD"}]
    found = compare(case(PRESENT, NEW, changes={DUE: again}))
    said = "Desiccant of the present twin tower is taken to be due in 7 years and then every 4: the first later than an interval from now."
    assert any(s.startswith(said) for s in sentences(found)) is told
    blocks = decision(proposal(found), None)
    assert any(getattr(block, "text", "").startswith(said) for block in blocks) is told


def test_an_example_says_nothing_of_it():
    assert not [s for s in sentences(compare(load_case("demo"))) if "later than an interval" in s]
