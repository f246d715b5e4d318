"""Hopper by hopper in the capital request: what the present dryers leave, what the proposed ones do."""

from __future__ import annotations

from dataclasses import replace

import pytest
from cases import NEW, PRESENT, case, resin

from energy.reports.document import decision, dryness
from energy.reports.document.proposal import proposal
from energy.study.compare import compare

pytestmark = pytest.mark.xdist_group("document")


def _leaving(option, *ppm, stay=3.6e4):
    """The option with these best estimates at its hoppers; shares of wet pellets in millionths."""
    served = []
    for s, wet in zip(option.served, ppm, strict=True):
        dry = wet * 1e-6 / (1.0 - wet * 1e-6)
        moisture = replace(s.verdict.moisture, predicted=dry, low=0.5 * dry, high=2.0 * dry, residence=stay)
        served.append(replace(s, verdict=replace(s.verdict, moisture=moisture, practice_kept=False)))
    return replace(option, served=tuple(served))


def _asked(demo, before, after, **how):
    p = proposal(demo)
    options = [_leaving(o, *before) if o is p.base else o for o in demo.options]
    return proposal(replace(demo, options=tuple(options))), _leaving(p.option, *after, **how)


def test_each_hopper_tells_limit_present_proposed_and_which_is_wetter(demo):
    # Targets of the case: 200, 2,000, 1,000 and 50 ppm; a difference of less than 2 % of them is none.
    p, option = _asked(demo, (50, 1500, 400, 30), (150, 1501, 300, 70))
    rows = dryness.by_hopper(p, option).rows
    assert [row[2] for row in rows] == ["200", "2,000", "1,000", "50"]
    assert [row[3] for row in rows] == ["50 (25 to 100)", "1,500 (751 to 2,996)", "400 (200 to 800)", "30 (15 to 60)"]
    assert [row[4].split(" ")[0] for row in rows] == ["150", "1,501", "300", "70"]
    assert [row[5] for row in rows] == [
        "limit kept, not for sure; wetter than now",  # 300 ppm at the slow end
        "limit kept, not for sure; as now",
        "limit kept in the whole range; drier than now",
        "limit missed; wetter than now",
    ]


def test_wetter_than_now_is_a_plain_warning_even_within_the_limit(demo):
    p, option = _asked(demo, (50, 1500, 400, 20), (150, 1500, 400, 20), stay=1.8e4)
    warning = dryness.wetter(p, option)
    assert warning.style == "warning"
    assert "at Machine 1 (PC): 150 against 50 ppm, both within 200 ppm" in warning.text
    assert "stay 5.0 h in the hopper instead of 10.0 h" in warning.text
    assert "Machine 2" not in warning.text
    assert dryness.wetter(*_asked(demo, (150, 1500, 400, 20), (50, 1500, 400, 20))) is None


def test_what_practice_dries_and_the_diffusion_data_do_not_is_asked_for_with_both_said():
    changes = {**resin("PA66"), "request.recommended": NEW}
    p = proposal(compare(case(PRESENT, NEW, changes=changes)))
    (row,) = dryness.by_hopper(p, p.option).rows
    assert row[5] == "limit missed, though dried as practice does; wetter than now"
    said = " ".join(block.text for block in decision.decision(p, None) if hasattr(block, "text"))
    assert "By practice yes, by the diffusion data no" in said
    assert "drying trial" in said
