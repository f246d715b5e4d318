"""Readers of pages and documents are told the labels of inputs and no key of a case file, nor one thing twice."""

from __future__ import annotations

import re

import pytest

from energy.reports.document.records import Bullets
from energy.reports.labels import labelled


@pytest.mark.parametrize(
    ("said", "read"),
    [
        (
            "would do (“Time of each step: heat, vacuum, hold”, cycle_time, of 60 min); to be sure",
            "would do (“Time of each step: heat, vacuum, hold” of 60 min); to be sure",
        ),
        ("dry longer (“Time in the drum”, drum_time)", "dry longer (“Time in the drum”)"),
        ("dry longer (“Time in the drum”, drum_time or more)", "dry longer (“Time in the drum” or more)"),
        ("raise the “Least airflow over design” (airflow_floor).", "raise the “Least airflow over design”."),
        ("which is a residence_time of 9 h", "which is a “Residence time” of 9 h"),
        ("give its own (own_resin.diffusivity and x)", "give its own (“Diffusivity of water” and x)"),
        ("hotter regeneration (regeneration_temperature, now 250 °C)", "hotter regeneration (now 250 °C)"),
        ("see its airflow (airflow, or air_resin_ratio) and", "see its airflow and"),
        ("'hall_temprature' is no key", "'hall_temprature' is no key"),  # as somebody wrote it
    ],
)
def test_labels_take_the_place_of_keys(said, read):
    assert labelled(said) == read


def test_the_section_on_options_names_no_key(document):
    """The demo's vacuum dryers and drums are unlikely to dry: each says what its own time would have to be."""
    section = next(s for s in document.sections if "Options" in s.title)
    reasons = [item for block in section.blocks if isinstance(block, Bullets) for item in block.items]
    assert any("“Time of each step: heat, vacuum, hold” of 60 min" in reason for reason in reasons)
    assert any("“Time in the drum” of " in reason for reason in reasons)
    assert [reason for reason in reasons if re.search(r"[a-z]+_[a-z]+", reason)] == []
