"""An airflow ten times off: told in the check of air and in the answer, and no reason to leave an option out."""

from __future__ import annotations

import pytest
from cases import AIR, NEW, PRESENT, WHEEL, case
from one_dryer import finding

from energy.errors import CaseError
from energy.reports.answer import sentences
from energy.reports.document.decision import decision
from energy.reports.document.proposal import proposal
from energy.study.case import build
from energy.study.compare import compare

OF = f"options['{PRESENT}']"
# 4000 m3/h at 20 degC and 1.204 kg/m3 are 4816 kg/h: 30 kg per kg of the 160 kg/h that the present dryer is built for.
# PC usually gets about 2.2 kg/kg, 0.5 cfm for each lb/h.
TENFOLD = "4000 m3/h at 20 degC"
SLIP = "A tenth of the air would be usual: a slip of ten?"


def with_air(flow, **more):
    return compare(case(PRESENT, NEW, WHEEL, changes={f"{OF}.airflow": flow, **more}))


def about_air(found):
    return [text for text in sentences(found) if "times what is usual" in text and "not stated" not in text]


def test_ten_times_the_air_is_a_caution_with_the_slip_and_a_sentence_of_the_answer():
    found = with_air(TENFOLD)
    told = finding(found.baseline.verdict, "air flow")
    assert told.verdict == "caution"
    assert "It is built for 30 kg of air per kg of resin, 1" in told.text  # 10 to 19 times
    assert told.text.endswith(SLIP)
    [said] = about_air(found)
    assert said.startswith("The present twin tower: 30 kg of air per kg of resin, 1")
    assert said.endswith(SLIP)
    assert "check it first (airflow, or air_resin_ratio; built_for)" in said
    assert all(finding(found.option(name).verdict, "air flow").verdict == "pass" for name in (NEW, WHEEL))


def test_air_per_resin_is_seen_as_the_airflow_is():
    found = compare(case(PRESENT, NEW, changes={f"{OF}.inputs.air_resin_ratio": 22.0}))
    assert finding(found.baseline.verdict, "air flow").text.endswith(SLIP)
    assert len(about_air(found)) == 1


@pytest.mark.parametrize("flow", ["400 m3/h at 20 degC", "700 m3/h at 20 degC"])
def test_air_up_to_twice_the_usual_is_nothing_to_tell(flow):
    found = with_air(flow)
    assert finding(found.baseline.verdict, "air flow").verdict == "pass"
    assert about_air(found) == []


def test_five_times_the_air_is_told_without_a_slip():
    found = with_air("1600 m3/h at 20 degC")  # 12 kg/kg: a tenth would be too little
    told = finding(found.baseline.verdict, "air flow")
    assert told.verdict == "caution"
    assert "slip of ten" not in told.text + about_air(found)[0]


def test_a_control_that_follows_far_too_much_air_is_told_with_what_would_set_it():
    more = {f"{OF}.inputs.airflow_control": "variable speed"}
    told = finding(with_air(TENFOLD, **more).baseline.verdict, "air flow").text
    assert "spares none of it there; write the one that it holds (return_air_target)." in told
    at_target = with_air(TENFOLD, **more, **{f"{OF}.inputs.return_air_target": "60 degC"}).baseline
    assert "return_air_target" not in finding(at_target.verdict, "air flow").text
    assert "return_air_target" not in finding(with_air(TENFOLD).baseline.verdict, "air flow").text
    # Followed, it spares what was said.
    assert at_target.specific_energy < 0.6 * with_air(TENFOLD, **more).baseline.specific_energy


def test_what_is_usual_of_compressed_air_is_a_quarter_over_the_least():
    """6 kg/kg carry 3.82 times the heat, 3.05 times what such a dryer is built for; of what is usual of PC it would be 2.7 times."""
    found = compare(case(PRESENT, AIR, changes={f"options['{AIR}'].inputs.air_resin_ratio": 6.0}))
    told = finding(found.option(AIR).verdict, "air flow")
    assert told.verdict == "caution"
    assert "3.82 times the heat" in told.text
    assert "3 times what PC is usually given in a dryer like it" in told.text


def test_an_option_that_was_ranked_stays_so():
    plain = compare(case(PRESENT, NEW, WHEEL))
    found = compare(case(PRESENT, NEW, WHEEL, changes={f"options['{NEW}'].airflow": "2400 m3/h at 20 degC"}))
    of = found.option(NEW)
    assert finding(of.verdict, "air flow").verdict == of.verdict.word == "caution"
    assert {o.name for o in found.ranked()} == {o.name for o in plain.ranked()}
    assert of.held_out
    [said] = about_air(found)
    assert said.startswith(f"“{NEW}”: 3")  # 2400 x 1.204 / 90 = 32 kg/kg


def test_a_retrofit_has_the_air_of_what_is_there_and_the_doubt_is_told_there():
    """Nor does a jacket make the same air more than is usual."""
    document = case(PRESENT, NEW, changes={f"{OF}.airflow": TENFOLD}).document
    probe = {"name": "Probe", "retrofit": True, "capital": "3000 USD", "inputs": {"insulation_thickness": "80 mm"}}
    found = compare(build({**document, "options": [*document["options"], probe]}))
    assert finding(found.baseline.verdict, "air flow").verdict == "caution"
    assert finding(found.option("Probe").verdict, "air flow").verdict == "pass"
    [said] = about_air(found)
    assert said.startswith("The present twin tower: 30 kg")


def test_what_was_read_at_the_dryer_stands_beside_it():
    document = case(PRESENT, NEW, changes={f"{OF}.airflow": TENFOLD}).document
    for read, said in (
        ({"air_flow": "380 m3/h at 0 degC"}, "At Machine 7 380 m³/h at 0 °C was read; "),
        ({"power": "11 kW"}, "At Machine 7 11 kW was read; "),
    ):
        found = compare(build({**document, "readings": [{"hopper": "Machine 7", **read}]}))
        assert said in about_air(found)[0]
        assert about_air(found)[0].endswith("is counted.")


def test_the_request_asks_too():
    found = with_air(TENFOLD)
    [said] = about_air(found)
    assert said in [getattr(block, "text", "") for block in decision(proposal(found), None)]


def test_a_tenth_of_the_air_has_the_slip_too():
    # 40 m3/h at 20 degC are 48 kg/h, 0.54 for each of 90 kg/h; heat alone takes about 1.5.
    slip = "Ten times the air would be usual: a slip of ten?"
    with pytest.raises(CaseError, match=r"airflow: .*Ten times the air would be usual: a slip of ten\?"):
        compare(case(PRESENT, NEW, changes={f"options['{NEW}'].airflow": "20 m3/h at 20 degC"}))
    short = finding(with_air("45 m3/h at 20 degC").baseline.verdict, "air flow")
    assert short.verdict == "fail"
    assert short.text.endswith(slip)
    little = finding(with_air("160 m3/h at 20 degC").baseline.verdict, "air flow")
    assert "slip of ten" not in little.text
