"""What is known, printed with its sources: resins and dryer types."""

from __future__ import annotations

import re

import pytest

from energy import dryers
from energy.errors import UnknownNameError
from energy.reports.catalogue import FOLLOW, resin_text, resins_text, types_text
from energy.sources import load

# Reference table C6, by ISO 1043-1 abbreviation.
RESINS = [
    *("PET", "PBT", "PC", "ABS", "PC+ABS", "PA6", "PA66", "PA12", "PMMA", "POM", "PLA"),
    *("TPU", "PEI", "PSU", "PPE+PS", "PEEK", "SAN", "LCP", "PS", "PP", "PE"),
]
SURFACE = {"PS", "PP", "PE"}


def test_all_resins_are_listed_with_what_drying_them_takes():
    lines = resins_text().splitlines()
    rows = {line.split()[0]: line for line in lines[1:] if re.match(r"[A-Z]", line) and "°C" in line}
    assert set(rows) == set(RESINS)
    assert len(RESINS) == 21
    for name, row in rows.items():
        assert row.endswith("  no") == (name in SURFACE)
        assert re.search(r"\d+ °C +\d h +[\d,]+ ppm", row)
    # The columns stay columns, whatever the longest name.
    assert len({row.index(" °C") for row in rows.values()}) == 1
    assert re.search(r"polycarbonate +120 °C +4 h +200 ppm +yes", rows["PC"])
    assert FOLLOW in lines


@pytest.mark.parametrize("name", RESINS)
def test_a_sheet_shows_every_value_with_its_range_and_source(name):
    text = resin_text(name)
    lines = text.splitlines()
    assert lines[0].startswith(f"{name}: ")
    assert lines[-1] == FOLLOW
    for key, entry in load(f"resins/{name}").items():
        line = next(line for line in lines if line.startswith(f"  {key} "))
        assert entry.citation() in line
        if entry.low is not None:
            assert f"({entry.low:.6g} to {entry.high:.6g})" in line


def test_small_letters_will_do():
    assert resin_text("pa66") == resin_text("PA66")


def test_an_unknown_resin_is_told_with_the_nearest():
    with pytest.raises(UnknownNameError, match="resin 'PA 66' is not known; did you mean 'PA66'"):
        resin_text("PA 66")


def test_every_type_is_listed_with_every_typical_input_and_its_reason():
    text = types_text()
    for kind, module in dryers.TYPES.items():
        assert f'type = "{kind}": {module.LABEL}' in text
        for key, entry in load(f"dryers/{kind}").items():
            assert f"  {key} " in text
            assert entry.citation() in text
        # What a case need not say is stored, or optional, or a choice with a default.
        for key, field in module.Inputs.model_fields.items():
            assert key in load(f"dryers/{kind}") or not field.is_required()


def test_choices_and_what_is_worked_out_stand_with_each_type():
    sections = types_text().split('type = "')[1:]
    assert [s.partition('"')[0] for s in sections] == list(dryers.TYPES)
    for section in sections:
        heated = not section.startswith("infrared-drum")  # by radiators
        choice = re.search(r"^  heat_source +electric \| gas; electric where nothing is said$", section, re.M)
        assert (choice is not None) == heated
        assert re.search(r"^  standby_temperature +Process-air temperature in standby: worked out where", section, re.M)
        assert not re.search(r"^  kind ", section, re.M)
    vacuum = next(s for s in sections if s.startswith("vacuum"))
    assert re.search(r"^  pump +pump \| ejector; pump where nothing is said$", vacuum, re.M)
