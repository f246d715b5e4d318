"""A dryer that differs from its option's own is called by its hopper wherever a page names an input of it."""

from __future__ import annotations

from dashboards import where_from
from energy.reports.simulation import place_in_words
from energy.study.case import load_case
from energy.study.compare import compare


def test_panels_tell_inputs_of_a_dryer_that_differs_by_its_hopper():
    panels = where_from.panels(compare(load_case("demo")), "si")
    assert "Throughput the machine is built for, dryer at Machine 1: 110 kg/h, nameplate" in panels
    assert "Throughput the machine is built for, dryer at Machine 3: 150 kg/h, nameplate" in panels
    assert "that differs" not in panels


def test_charts_and_tables_of_chances_do_the_same():
    model = load_case("demo").model
    assert place_in_words("options['Present dryers'].machines[2].built_for", model) == "Present dryers at Machine 3"
    assert place_in_words("options['Present dryers'].inputs.leak_share", model) == "Present dryers"
