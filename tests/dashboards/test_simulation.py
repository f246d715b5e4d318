"""The simulation behind the Compare view: when it starts and ends, what is shown of it, the process it runs in."""

from __future__ import annotations

import asyncio
import os
import re
import time
from pathlib import Path

import numpy as np
import pytest

from dashboards import simulation_charts, simulation_tables
from dashboards.background import Ended, Job, in_place
from dashboards.simulation_card import SimulationCard
from dashboards.simulation_state import FINELY, STAGES, Done, SimulationState, in_stages
from dashboards.state import State
from energy import load_case, simulate
from energy.errors import CaseError, Problem
from energy.study.case import example_text
from energy.study.simulate import Simulation

FEW = (8, 16)


class Kept:
    """Stands for work that never ends by itself."""

    def __init__(self, work, arguments, on_message):
        self.arguments, self.tell, self.cancelled = arguments, on_message, False

    def cancel(self):
        self.cancelled = True


@pytest.fixture
def state(tmp_path):
    path = tmp_path / "case.toml"
    path.write_text(example_text("one-machine"), encoding="utf-8")
    return State(str(path))


@pytest.fixture(scope="module")
def found():
    return simulate(load_case("one-machine"), 64)


@pytest.fixture(scope="module")
def sensitivity(found):
    return found.sensitivity()


@pytest.fixture
def importable(monkeypatch):
    """Lets another process find the functions of this file."""
    monkeypatch.setenv("PYTHONPATH", str(Path(__file__).parent), prepend=os.pathsep)


def follow(state, start=Kept, later=None):
    """A simulation state that somebody looks at, and every job that it started."""
    jobs = []

    def kept(*given):
        jobs.append(start(*given))
        return jobs[-1]

    simulation = SimulationState(state, kept, later)
    simulation.begin()
    return simulation, jobs


def test_nothing_is_drawn_before_somebody_looks(state):
    started = []
    simulation = SimulationState(state, lambda *given: started.append(given))
    state.set({"hoppers[1].throughput": "50 kg/h"})
    assert started == []
    simulation.begin()
    simulation.begin()
    assert len(started) == 1


def test_a_change_ends_what_runs_and_draws_the_new_case(state):
    simulation, jobs = follow(state)
    jobs[0].tell(Done(what="256 draws", share=0.5))
    assert (simulation.what, simulation.share) == ("256 draws", 0.5)
    state.set({"hoppers[1].throughput": "50 kg/h"})
    assert [job.cancelled for job in jobs] == [True, False]
    assert float(jobs[1].arguments[0].model.hoppers[0].throughput) * 3600 == pytest.approx(50.0)
    jobs[0].tell(Done(what="too late", share=0.9))
    assert simulation.what != "too late"


def test_it_waits_until_the_case_is_still(state):
    waiting = []
    simulation, jobs = follow(state, later=lambda seconds, work: waiting.append(work))
    for throughput in ("50 kg/h", "60 kg/h", "70 kg/h"):
        state.set({"hoppers[1].throughput": throughput})
    for work in waiting:
        work()
    assert len(waiting) == 4
    assert [float(job.arguments[0].model.hoppers[0].throughput) * 3600 for job in jobs] == [pytest.approx(70.0)]
    assert simulation.what


def test_an_old_simulation_is_marked_until_the_new_one_is_there(state, found, sensitivity):
    simulation, jobs = follow(state)
    jobs[0].tell(found)
    jobs[0].tell(sensitivity)
    assert simulation.sensitivity is sensitivity
    state.set({"hoppers[1].throughput": "50 kg/h"})
    assert simulation.stale
    assert simulation.simulation is found
    new = simulate(state.case, 8)
    jobs[1].tell(new)
    assert not simulation.stale
    assert simulation.simulation is new
    assert simulation.sensitivity is None


def test_a_case_with_problems_is_not_drawn(state):
    simulation, jobs = follow(state)
    state.set({"hoppers[1].throughput": "none"})
    assert len(jobs) == 1
    assert jobs[0].cancelled
    assert "once the case is complete" in simulation.problem
    state.undo()
    assert len(jobs) == 2
    assert simulation.problem == ""


def test_stages_grow_until_patience_ends(state, monkeypatch):
    monkeypatch.setattr(Simulation, "sensitivity", lambda self: None)

    def stages(patience):
        said = []
        in_stages(state.case, FEW, patience, said.append)
        return [m.draws for m in said if hasattr(m, "draws")], said

    all_of_them, said = stages(1e9)
    assert all_of_them == list(FEW)
    assert [m.share for m in said if isinstance(m, Done)][1] == 1.0
    assert stages(0.0)[0] == [FEW[0]]
    assert all(draws & (draws - 1) == 0 for draws in (*STAGES, FINELY))


def broken(what, send):
    send("first")
    if what == "wrong":
        raise CaseError([Problem("site", "is nowhere")])
    raise ZeroDivisionError


def endless(send):
    send("begun")
    time.sleep(60.0)


@pytest.mark.parametrize(
    ("what", "said"), [("wrong", "is nowhere"), ("bug", "This could not be worked out: an error in the program.")]
)
def test_what_goes_wrong_is_told(what, said, caplog, importable):
    here, there = [], asyncio.run(_messages(broken, what))
    in_place(broken, (what,), here.append)
    for messages in (here, there):
        assert messages[0] == "first"
        assert isinstance(messages[-1], Ended)
        assert said in messages[-1].problem
    assert len(caplog.records) == (what == "bug")


async def _messages(work, *arguments):
    """All messages of a job, up to its end."""
    messages, done = [], asyncio.Event()

    def take(message):
        messages.append(message)
        if isinstance(message, Ended):
            done.set()

    Job(work, arguments, take)
    await asyncio.wait_for(done.wait(), 120)
    return messages


def test_a_process_of_its_own_gives_the_same_numbers_and_leaves_the_loop_free(state):
    beats = []

    async def watched():
        async def beat():
            while True:
                beats.append(time.monotonic())
                await asyncio.sleep(0.02)

        task = asyncio.create_task(beat())
        messages = await _messages(in_stages, state.case, FEW, 1e9)
        task.cancel()
        return messages

    messages = asyncio.run(watched())
    there = [m for m in messages if hasattr(m, "draws")][-1]
    here = simulate(state.case, FEW[-1])
    assert messages[-1].problem == ""
    np.testing.assert_array_equal(there.outcomes.npv[here.recommended], here.outcomes.npv[here.recommended])
    assert there.chance() == here.chance()
    assert np.diff(beats).max() < 0.5


def test_cancelled_work_ends_at_once_and_says_nothing_more(importable):
    async def cancelled():
        messages, begun = [], asyncio.Event()

        def take(message):
            messages.append(message)
            begun.set()

        job = Job(endless, (), take)
        await asyncio.wait_for(begun.wait(), 120)
        job.cancel()
        job._process.wait(10)
        await asyncio.sleep(0.2)
        return messages

    assert asyncio.run(cancelled()) == ["begun"]


def test_work_ends_with_the_page_that_asked_for_it(importable):
    async def left():
        begun = asyncio.Event()
        job = Job(endless, (), lambda _: begun.set())
        await asyncio.wait_for(begun.wait(), 120)
        job._process.stdin.close()  # what the end of the page's own process does
        return job._process.wait(10)

    assert asyncio.run(left()) == 0


def test_the_card_shows_progress_chances_and_what_the_result_hangs_on(state, found, sensitivity):
    simulation, jobs = follow(state)
    card = SimulationCard(simulation)
    assert '<progress max="100"></progress>' in card._progress.value  # nothing of it is done yet: no 0 %
    assert "%" not in card._progress.value
    jobs[0].tell(Done(what="1,024 draws", share=0.25))
    assert '1,024 draws <progress max="100" value="25"></progress></label> 25 %' in card._progress.value
    assert card._chances.layout.display == "none"
    jobs[0].tell(found)
    jobs[0].tell(sensitivity)
    jobs[0].tell(Ended())
    assert card._progress.value == ""
    assert found.chance() in card.sentence.value
    assert card._chances.layout.display is None
    assert card._option.value == found.recommended
    assert len(card._tornado.figure["data"]) == 2
    assert "<table" in card._readings.value
    assert card._finer.layout.display is None
    card._finer.click()
    assert jobs[1].arguments[1] == (FINELY,)


def test_the_band_holds_eight_of_ten_of_the_draws(found):
    low, high = simulation_charts.cash_band(found, found.recommended)["data"][:2]
    added = np.cumsum(found.outcomes.flows[found.recommended], axis=-1)[:, -1]
    inside = (added >= low["y"][-1]) & (added <= high["y"][-1])
    assert inside.mean() == pytest.approx(0.8, abs=0.04)


def test_the_curve_of_payback_ends_at_the_share_that_ever_pays(found):
    figure = simulation_charts.payback_chances(found)
    for line in figure["data"]:
        option = found.option(line["name"])
        assert line["y"][0] == pytest.approx(0.0)
        assert line["y"][-1] == pytest.approx(100.0 * (1.0 - option.never_share))


def test_hostile_names_are_text_in_every_table(state):
    state.set({"options[2].name": "<img src=x onerror=alert(1)>"})
    found = simulate(state.case, 8)
    shown = (
        simulation_tables.chances(found)
        + simulation_tables.readings(found)
        + simulation_tables.hangs_on(found, found.sensitivity())
        + simulation_tables.drawn(found)
    )
    assert "<img" not in shown
    assert "&lt;img" in shown


def test_every_percentile_has_a_column_of_its_own(found):
    table = simulation_tables.chances(found)
    heads = re.findall(r"<th [^>]*>(P\d\d)</th>", table)
    assert heads == ["P10", "P50", "P90"] * 3
    rows = dict(re.findall(r'<tr><th scope="row">([^<]*)</th>(.*?)</tr>', table))
    best = found.option(found.recommended)
    cells = re.findall(r"<td>([^<]*)</td>", rows[best.name])
    worth = [best.net_savings.p10, best.net_savings.p50, best.net_savings.p90]
    assert cells[4:7] == [f"{amount / 1e3:,.1f}".replace("-", "−") for amount in worth]
    columns = [len(re.findall("<td", row)) + 2 * row.count('colspan="3"') for row in rows.values()]
    accepted = found.case.model.finance.maximum_payback is not None
    assert columns == [12 + accepted] * len(found.options)


def test_no_money_is_said_of_what_is_not_expected_to_dry(state):
    found = simulate(state.case, 16)
    table = simulation_tables.chances(found)
    rows = dict(re.findall(r'<tr><th scope="row">([^<]*)</th>(.*?)</tr>', table))
    for option in found.comparison.options:
        if option.priced and not option.option.baseline:
            assert (rows[option.name].count("–</td>") == 6) == (option.verdict.word in ("unlikely", "fail"))
