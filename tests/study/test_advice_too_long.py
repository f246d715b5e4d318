"""A time that is longer than the check of it bears is told as that, and not as what to do."""

from __future__ import annotations

import re

import pytest
from cases import HOPPER, NEW, alone, resin

from energy.reports import answer
from energy.study.compare import compare

# Practice dries PBT up to 4 h, and the check of the stay warns from three times that.
LONGEST = 4.0


def finding(verdict, check):
    return next(f for f in verdict.findings if f.check == check)


def judged(changes):
    return compare(alone(NEW, changes)).baseline.verdict


@pytest.mark.parametrize("throughput", ["38 kg/h", "90 kg/h"])
def test_a_time_beyond_what_practice_accepts_is_told_as_too_long(throughput):
    changes = {**resin("PBT"), f"{HOPPER}.throughput": throughput}
    told = finding(judged(changes), "predicted moisture").text
    found = re.search(r"it would take about ([\d.]+) h in the hopper, ([\d.]+) times the longest", told)
    hours, times = float(found[1]), float(found[2])
    assert hours > 3.0 * LONGEST
    assert times == pytest.approx(hours / LONGEST, abs=0.05)
    assert (
        "practice accepts (4 h), and long heat ages a resin: measure the moisture, or let a drying trial settle it"
        in told
    )
    assert "would with" not in told
    # What would come of it all the same: the check of moisture passes, and that of the stay warns by as much.
    there = judged({**changes, f"{HOPPER}.residence_time": f"{found[1]} h"})
    assert there.grade_of("predicted moisture") == "pass"
    stay = finding(there, "residence time")
    assert stay.verdict == "caution"
    assert f"That is {found[2]} times the longest that practice accepts (4 h)" in stay.text


def test_a_best_estimate_that_takes_too_long_is_told_as_too_long():
    # PMMA, too, is dried up to 4 h in practice, and so it is here: practice has its own sentence.
    told = finding(judged({**resin("PMMA"), f"{HOPPER}.throughput": "12 kg/h"}), "predicted moisture").text
    found = re.search(
        r"target is missed: it would take about ([\d.]+) h in the hopper, ([\d.]+) times the longest", told
    )
    assert float(found[1]) > 3.0 * LONGEST
    assert "practice accepts (4 h), and long heat ages a resin. Temperature, time and dew point are those" in told
    assert "would do" not in told
    assert "to be sure" not in told


def test_a_sure_time_that_is_too_long_stands_beside_one_that_is_not():
    told = finding(judged(resin("PBT", target_moisture="60 ppm")), "predicted moisture").text
    likely = re.search(r"about ([\d.]+) h in the hopper would do with as much air; to be sure, more than a day", told)
    assert float(likely[1]) < 3.0 * LONGEST
    assert "more than 6 times the longest that practice accepts (4 h), and long heat ages a resin: measure" in told


def test_a_time_that_practice_bears_is_still_told_as_what_to_do():
    told = finding(judged(resin("PC", residence_time="2 h")), "predicted moisture").text
    assert re.search(r"about [\d.]+ h in the hopper would", told)
    assert "ages a resin" not in told


def test_the_answer_says_so_too():
    made = compare(alone(NEW, resin("PBT")))
    said = " ".join(answer.sentences(made))
    assert "would reach the target at the slow end of the diffusion data too." in said
    assert (
        "That is far longer than practice accepts for PBT at Machine 7 (4 h at most), and long heat ages a resin"
        in said
    )
    assert "far longer than practice accepts" not in " ".join(
        answer.sentences(compare(alone(NEW, resin("PC", residence_time="2 h"))))
    )
