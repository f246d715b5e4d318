"""Draws of a case: each is the comparison of the changed case; chances, words, the worth of readings."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
from cases import HOT, NEW, PRESENT, WHEEL, case, document

import energy
from energy.cli import main
from energy.errors import CaseError
from energy.reports.simulation import to_json, to_text
from energy.resins.properties import load_resin
from energy.study import uncertainty
from energy.study.break_even import break_even_values
from energy.study.case import Stands, build
from energy.study.compare import compare
from energy.study.sensitivity import run_scenarios, tornado, total_effects
from energy.study.simulate import simulate
from energy.study.spread import groups
from energy.study.uncertainty import correlated, outcomes, probabilities, uncertain_inputs, values_of
from energy.units import SI


def changed(case, values, draw):
    """The case with the values of one draw written into it."""
    put = {}
    for path, value in values.items():
        x = SI(float(value[draw]))
        name = path.removeprefix("resin ")
        if name == path:
            put[path] = x
            continue
        abbreviation, _, key = name.rpartition(".")
        for hopper, resin in zip(case.model.hoppers, case.resins, strict=True):
            if resin.abbreviation == abbreviation:
                put[f"hoppers['{hopper.name}'].own_resin.{key}"] = x
    for hopper in case.model.hoppers:
        drawn = put.get(f"hoppers['{hopper.name}'].throughput")
        for i, level in enumerate(hopper.levels):  # levels are shares of the full throughput
            put[f"hoppers['{hopper.name}'].levels[{i + 1}].throughput"] = SI(
                float(level.throughput) * float(drawn) / float(hopper.throughput)
            )
    made = case.with_(put)
    # A value drawn of a resin is no word of the user's: what practice is stays as it is stored.
    stored = (replace(r, data=load_resin(r.abbreviation).data) for r in made.resins)
    # Present dryers are built for what the case says, whatever is drawn.
    stands = {h.name: Stands(built_for=float(h.throughput), bed_mass=None) for h in case.model.hoppers}
    return replace(made, resins=tuple(stored), stands=stands)


def on_readings():
    """The demo plant with its load read by the hour, up and down through the day."""
    day = " ".join(str(180 + 25 * min(hour, 24 - hour)) for hour in range(24))
    held = {"start": "2026-01-01T00:00:00-06:00", "step": "60 min", "power": [day] * 365}
    return energy.load_case("demo").with_({"plant_load": {"readings": held, "zone": "Etc/GMT+6"}})


@pytest.mark.parametrize(
    "case",
    [energy.load_case("one-machine"), energy.load_case("demo"), on_readings()],
    ids=["one machine", "demo", "readings"],
)
def test_a_draw_is_the_comparison_of_the_changed_case(case):
    inputs, held = uncertain_inputs(case)
    assert held == ()
    points = probabilities(8, len(inputs), 5)
    values = values_of(inputs, points)
    found = outcomes(case, inputs, points)
    for draw in (0, 3):
        comparison = compare(changed(case, values, draw))
        for option in comparison.options:
            if option.measures is None:
                continue
            npv, payback = option.measures.npv, option.measures.payback
            saving = comparison.baseline.total_cost - option.total_cost
            # The hours of a year and the levels are scaled, not read: the last digits differ.
            assert found.npv[option.name][draw] == pytest.approx(npv, rel=1e-9, abs=1e-6), option.name
            assert found.saving[option.name][draw] == pytest.approx(saving, rel=1e-9, abs=1e-6)
            expected = payback if np.isfinite(payback) else np.inf
            assert found.payback[option.name][draw] == pytest.approx(expected, rel=1e-9)
            best = option.verdict.word in ("pass", "caution")
            assert bool(found.dries[option.name][draw]) == best, option.name


def test_all_at_their_values_is_the_comparison():
    case = energy.load_case("demo")
    inputs, _ = uncertain_inputs(case)
    found = outcomes(case, inputs, np.full((2, len(inputs)), np.nan))
    for option in compare(case).options:
        expected = 0.0 if option.measures is None else option.measures.npv
        np.testing.assert_allclose(found.npv[option.name], expected, rtol=1e-12)


def test_options_see_the_same_draws_and_do_not_touch_each_other():
    case = energy.load_case("one-machine")
    inputs, _ = uncertain_inputs(case)
    points = probabilities(16, len(inputs), 2)
    alone = outcomes(case, inputs, points, ["Desiccant wheel"])
    together = outcomes(case, inputs, points)
    np.testing.assert_array_equal(alone.npv["Desiccant wheel"], together.npv["Desiccant wheel"])
    assert set(alone.npv) == {"Present twin tower", "Desiccant wheel"}


def test_a_typical_value_is_one_input_for_all_dryers_but_one_the_case_gives_is_not():
    inputs, _ = uncertain_inputs(energy.load_case("demo"))
    names = [entry.name for entry in inputs]
    assert len(set(names)) == len(names)
    leak = next(entry for entry in inputs if entry.name == "typical leak_share")
    assert len(leak.places) > 2
    assert "options['Present dryers'].inputs.leak_share" not in leak.places
    assert "options['Present dryers'].inputs.leak_share" in names
    assert not any("recovery" in name and name.endswith(("return_recovery", "exhaust_recovery")) for name in names)


def test_a_dryer_that_differs_in_its_size_alone_is_one_with_the_others():
    plain = energy.load_case("demo")
    present = plain.document["options"][0]
    own = {"hopper": "Machine 4", "type": present["type"], "built_for": "100 kg/h"}
    same = {**present["inputs"], "air_resin_ratio": 3.1}

    def names(inputs):
        rows = [*present["machines"], {**own, "inputs": inputs}]
        return {e.name: e for e in uncertain_inputs(plain.with_({"options['Present dryers'].machines": rows}))[0]}

    alike, worn = names(same), names({**same, "motor_class": "IE2"})
    assert set(alike) == {e.name for e in uncertain_inputs(plain)[0]}
    leak = "options['Present dryers'].inputs.leak_share"
    assert set(alike[leak].places) == {leak, leak.replace(".inputs", ".machines[3].inputs")}
    assert leak.replace(".inputs", ".machines[3].inputs") in worn


def certain(case, keep=()):
    """The case with every input given and none with a range."""
    inputs, _ = uncertain_inputs(case)
    put = {p: SI(d.value) for e in inputs for p, d in e.places.items() if not p.startswith("resin ") and p not in keep}
    for hopper, resin in zip(case.model.hoppers, case.resins, strict=True):
        for key, entry in resin.data.items():
            if entry.si_low is not None and key not in ("residence_time", "dew_point", "drying_temperature"):
                put.setdefault(f"hoppers['{hopper.name}'].own_resin.{key}", SI(getattr(resin, key)))
    allowed = type(case.model.hoppers[0]).model_fields["own_resin"].annotation.__args__[0].model_fields
    for path in [p for p in put if p.endswith(".every")]:  # the plain number that it was keeps its range
        put[path] = {"value": put[path], "low": put[path], "high": put[path], "basis": "measured"}
    return case.with_({k: v for k, v in put.items() if ".own_resin." not in k or k.rpartition(".")[2] in allowed})


def test_a_range_of_no_width_gives_the_one_answer():
    case = certain(energy.load_case("one-machine"))
    flat = {"value": "90 kg/h", "low": "90 kg/h", "high": "90 kg/h", "basis": "measured"}
    case = case.with_(throughput=flat)
    found = simulate(case, 4)
    assert found.inputs == ()
    for option in compare(case).options:
        if option.measures is not None:
            spread = found.option(option.name).net_savings
            assert spread.p10 == spread.p50 == spread.p90 == pytest.approx(option.measures.npv, rel=1e-12)
    assert found.measure_next == ()


@pytest.fixture(scope="module")
def simulation():
    return simulate(energy.load_case("one-machine"), 128, 1)


def test_shares_and_percentiles_hang_together(simulation):
    assert simulation.draws == 128
    for option in simulation.options:
        within = list(option.payback_within.values())
        assert within == sorted(within)
        assert within[-1] == pytest.approx(1.0 - option.never_share)
        if option.net_savings.p10 is not None:
            assert option.net_savings.p10 <= option.net_savings.p50 <= option.net_savings.p90
    dry_somewhere = np.mean(simulation.outcomes.best([o.name for o in simulation.options]) >= 0)
    assert sum(option.cheapest for option in simulation.options) == pytest.approx(dry_somewhere)
    air = simulation.option("Compressed air with membrane")
    assert air.payback.p50 is None  # never, and no mean of what never comes
    assert air.never_share > 0.9


def test_the_answer_is_in_words(simulation):
    text = to_text(simulation)
    assert "of 100 simulated cases the money is back within 3 years" in text
    assert "seed 1" in text
    assert "mean payback" not in text


def test_json_keys_are_those_agreed_and_bytes_repeat(simulation):
    said = json.loads(to_json(simulation))
    assert {"draws", "seed", "options", "measure_next"} <= set(said)
    agreed = {
        "name",
        "dries_share",
        "net_savings",
        "payback_years",
        "never_share",
        "payback_within",
        "npv_positive",
        "cheapest",
    }
    assert agreed <= set(said["options"][1])
    assert set(said["options"][1]["net_savings"]) == {"p10", "p50", "p90"}
    assert {"input", "how", "worth", "spread_cut"} <= set(said["measure_next"][0])
    again = simulate(energy.load_case("one-machine"), 128, 1)
    assert to_json(again) == to_json(simulation)
    assert to_json(simulate(energy.load_case("one-machine"), 128, 2)) != to_json(simulation)


def test_measuring_narrows_the_band_and_drops_down_the_list():
    case = energy.load_case("one-machine")
    simulation = simulate(case, 1024, 1)
    cost = {"value": "3600 USD/year", "low": "3500 USD/year", "high": "3700 USD/year", "basis": "measured"}
    path = "options['Present twin tower'].maintenance"
    after = simulate(case.with_({path: cost}), 1024, 1)
    best = simulation.recommended

    def band(found):
        spread = found.option(best).net_savings
        return spread.p90 - spread.p10

    def cut(found):
        return next(r.spread_cut for r in found.measure_next if r.input == path)

    assert band(after) < band(simulation)
    assert cut(after) < cut(simulation)


def test_a_draw_outside_what_can_be_is_counted_and_not_clipped():
    case = energy.load_case("one-machine").with_(
        {
            "options['Present twin tower'].inputs.blower_efficiency": {
                "value": "38 %",
                "low": "-40 %",
                "high": "45 %",
                "basis": "assumption",
            }
        }
    )
    found = simulate(case, 64, 1)
    share = found.option("New twin tower").answered_share
    assert 0.5 < share < 0.9  # half of the draws are below the value, of which 40 of 78 below 0
    assert any("left the range" in sentence for sentence in found.sentences())
    assert f"(of the {round(64 * share)} of 64 simulated cases that the model has an answer for)" in found.chance()


def test_the_best_is_asked_where_every_option_has_an_answer():
    """A set-back near the temperature of the hall: in some draws no cooler can give it, and only the present dryer is left."""
    name = "Desiccant wheel"
    cold = {"value": "55 degC", "low": "26 degC", "high": "57 degC", "basis": "assumption"}
    shift = {"name": "day", "days": ["mon", "tue", "wed", "thu", "fri"], "start": "06:00", "end": "22:00"}
    calendar = {"calendar.production_hours": None, "calendar.shifts": [shift], "calendar.standby_up_to": "10 h"}
    changes = {**calendar, f"options['{name}'].inputs.standby_temperature": cold}
    found = simulate(energy.load_case("one-machine").with_(changes), 64, 1)
    there = {o.name: found.outcomes.answered[o.name] for o in found.options}
    assert 0 < there[name].sum() < there["Present twin tower"].sum()
    together = np.all(list(there.values()), axis=0)
    npv = np.array([np.where(found.outcomes.dries[n], found.outcomes.npv[n], -np.inf)[together] for n in there])
    assert [o.cheapest for o in found.options] == pytest.approx(
        [np.mean(npv.argmax(0) == i) for i in range(len(there))]
    )
    assert sum(o.cheapest for o in found.options) == pytest.approx(1.0)


def test_tornado_is_one_at_a_time():
    case = energy.load_case("one-machine")
    inputs, _ = uncertain_inputs(case)
    path = "options['Present twin tower'].maintenance"
    some = [entry for entry in inputs if entry.name == path or entry.name == "finance.rate"]
    (swing,) = tornado(case, "Desiccant wheel", some)
    low = some[0].distribution.quantile(0.1)
    expected = compare(case.with_({path: SI(float(low))})).option("Desiccant wheel").measures.npv
    assert swing.at_low == pytest.approx(expected, rel=1e-9)
    assert swing.at_low < swing.at_high


def test_break_even_is_where_the_best_option_changes():
    case = energy.load_case("one-machine")
    names = [o.name for o in case.model.options]
    alone = np.full((1, 0), np.nan)
    now = names[outcomes(case, [], alone).best(names)[0]]
    path = f"options['{now}'].maintenance"
    cost = float(next(o for o in case.model.options if o.name == now).maintenance)
    span = {
        "value": f"{cost} USD/year",
        "low": "0 USD/year",
        "high": f"{cost + 30000.0} USD/year",
        "basis": "assumption",
    }
    case = case.with_({path: span})
    inputs = [entry for entry in uncertain_inputs(case)[0] if entry.name == path]
    (turn,) = break_even_values(case, now, inputs, names)
    comparison = compare(case.with_({path: SI(turn.value)}))
    npv = {o.name: 0.0 if o.measures is None else o.measures.npv for o in comparison.options}
    # Sixteen halvings of 30 000 a year come within half a dollar a year, over ten years a few dollars.
    assert turn.instead != now
    assert npv[now] == pytest.approx(npv[turn.instead], abs=5.0)


def test_draws_without_a_physical_answer_are_found_and_the_others_kept():
    case = energy.load_case("one-machine")
    ratio = {"value": "2.2", "low": "0.5", "high": "3", "basis": "assumption"}
    path = "options['Desiccant wheel'].inputs.air_resin_ratio"
    case = case.with_({path: ratio})
    inputs = [entry for entry in uncertain_inputs(case)[0] if entry.name == path]
    points = np.linspace(0.02, 0.98, 25)[:, None]
    found = outcomes(case, inputs, points)
    there = found.answered["Desiccant wheel"]
    values = inputs[0].distribution.quantile(points[:, 0])
    assert 0 < there.sum() < there.size
    assert values[~there].max() < values[there].min()  # air too little to heat the resin, and no other
    assert found.answered["New twin tower"].all()
    assert "air flow" in found.reasons["Desiccant wheel"]
    last = int(np.flatnonzero(there)[0])
    expected = compare(case.with_({path: SI(float(values[last]))})).option("Desiccant wheel").measures.npv
    assert found.npv["Desiccant wheel"][last] == pytest.approx(expected, rel=1e-9)
    with pytest.raises(CaseError):
        compare(case.with_({path: SI(float(values[~there].max()))}))


def test_total_effects_of_what_counts_and_what_does_not():
    case = energy.load_case("one-machine")
    inputs, _ = uncertain_inputs(case)
    path, other = "options['Present twin tower'].maintenance", "typical drum_time"
    found = total_effects(case, "Desiccant wheel", inputs, [path, other], draws=32)
    assert found[path] == pytest.approx(1.0, abs=0.3)  # the only one of the two that counts; 32 points
    assert found[other] == 0.0


def test_scenarios_are_named_changes():
    case = energy.load_case("one-machine")
    document = {"scenarios": [{"name": "dear power", "changes": {"tariffs.electricity": "0.30 USD/kWh"}}]}
    case = case.with_(document)
    (name,) = run_scenarios(case)
    assert name == "dear power"
    assert run_scenarios(case)[name].baseline.total_cost > compare(case).baseline.total_cost
    again = energy.study.case.build(dict(case.document))
    assert again.model.scenarios == case.model.scenarios
    wrong = case.with_({"scenarios": [{"name": "typo", "changes": {"finance.rat": "9 %"}}]})
    with pytest.raises(CaseError, match=r"scenarios\['typo'\]"):
        run_scenarios(wrong)


def test_scenarios_that_are_none_are_refused():
    with pytest.raises(CaseError, match="scenarios"):
        energy.load_case("one-machine").with_({"scenarios": [{"name": "empty", "changes": {}}]})


@pytest.mark.parametrize(("draws", "seed", "word"), [(0, 1, "draws"), (2_000_000, 1, "draws"), (8, -1, "seed")])
def test_bad_numbers_are_refused(draws, seed, word, capsys):
    case = energy.load_case("one-machine")
    with pytest.raises(CaseError, match=word):
        simulate(case, draws, seed)
    assert main(["simulate", "one-machine", "--draws", str(draws), "--seed", str(seed)]) == 2
    assert word in capsys.readouterr().err


def test_blocks_of_draws_give_what_each_draw_gives_alone(monkeypatch):
    case = energy.load_case("one-machine")
    inputs, _ = uncertain_inputs(case)
    points = probabilities(8, len(inputs), 4)
    whole = outcomes(case, inputs, points)
    monkeypatch.setattr(uncertainty, "BLOCK", 1)  # and four where the months are alike
    parts = outcomes(case, inputs, points)
    alone = outcomes(case, inputs, points[5:6])
    for name in whole.npv:
        for table in ("npv", "saving", "payback"):
            one, two, three = (getattr(x, table)[name] for x in (whole, parts, alone))
            np.testing.assert_allclose(two, one, rtol=1e-9)
            np.testing.assert_allclose(three, one[5:6], rtol=1e-9)
        np.testing.assert_array_equal(parts.dries[name], whole.dries[name])


def test_draws_without_an_answer_are_those_that_halving_finds(monkeypatch):
    case = energy.load_case("one-machine")
    path = "options['Desiccant wheel'].inputs.air_resin_ratio"
    case = case.with_({path: {"value": "2.2", "low": "0.5", "high": "3", "basis": "assumption"}})
    inputs = [entry for entry in uncertain_inputs(case)[0] if entry.name == path]
    points = probabilities(128, 1, 6)  # as many as it takes to tell draws from months
    told = outcomes(case, inputs, points, ["Desiccant wheel"])
    monkeypatch.setattr(uncertainty, "LOCATED", 1000)
    halved = outcomes(case, inputs, points, ["Desiccant wheel"])
    assert 0 < told.answered["Desiccant wheel"].sum() < 128
    np.testing.assert_array_equal(told.answered["Desiccant wheel"], halved.answered["Desiccant wheel"])
    np.testing.assert_allclose(told.npv["Desiccant wheel"], halved.npv["Desiccant wheel"], rtol=1e-9)


@pytest.mark.published("normal copula", where="Spearman's rank correlation", quoted="6/pi asin(rho/2)")
def test_what_hangs_together_rises_together_and_each_stays_even():
    inputs, _ = uncertain_inputs(energy.load_case("demo"))
    points = correlated(inputs, probabilities(4096, len(inputs), 9))
    members, coefficient = groups(inputs)["throughputs"]
    assert len(members) == 4
    ranks = np.argsort(np.argsort(points[:, members], axis=0), axis=0)
    found = np.corrcoef(ranks.T)[np.triu_indices(4, 1)]
    # The standard error of a rank correlation of 4096 draws is about 0.014.
    np.testing.assert_allclose(found, 6 / np.pi * np.arcsin(coefficient / 2), atol=0.04)
    even = (np.arange(4096) + 0.5) / 4096
    np.testing.assert_allclose(np.sort(points[:, members], axis=0), np.repeat(even[:, None], 4, axis=1), atol=0.03)
    alone = [i for i in range(len(inputs)) if not any(i in m for m, _ in groups(inputs).values())]
    np.testing.assert_array_equal(points[:, alone], probabilities(4096, len(inputs), 9)[:, alone])


def test_progress_is_told_and_may_end_the_run(monkeypatch):
    monkeypatch.setattr(uncertainty, "BLOCK", 1)
    shares = []
    simulate(energy.load_case("one-machine"), 8, progress=shares.append)
    assert shares == [0.5, 1.0]

    def enough(share):
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        simulate(energy.load_case("one-machine"), 8, progress=enough)


def test_bands_and_curves_for_charts(simulation):
    name = simulation.recommended
    band = simulation.cumulative_cash(name)
    years = simulation.case.model.finance.years
    assert all(band[p].shape == (years + 1,) for p in ("p10", "p50", "p90"))
    assert (band["p10"] <= band["p50"]).all()
    assert (band["p50"] <= band["p90"]).all()
    option = simulation.option(name)
    whole = np.arange(1, years + 1)
    np.testing.assert_allclose(simulation.paid_back(name, whole), [option.payback_within[int(y)] for y in whole])
    assert simulation.chance() in simulation.sentences()


def test_prices_and_capital_have_a_spread_unless_the_case_gives_its_own():
    case = energy.load_case("one-machine")
    names = {entry.name for entry in uncertain_inputs(case)[0]}
    assert "tariffs.electricity_factor" in names
    assert "options['Desiccant wheel'].capital_factor" in names
    path = "options['Desiccant wheel'].capital"
    quote = {"value": "20000 USD", "low": "19000 USD", "high": "22000 USD", "basis": "quoted"}
    names = {entry.name for entry in uncertain_inputs(case.with_({path: [{"item": "All", "amount": quote}]}))[0]}
    assert "options['Desiccant wheel'].capital_factor" not in names
    assert f"{path}[1].amount" in names


def test_command_line(capsys):
    assert main(["simulate", "one-machine", "--draws", "8", "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert said["draws"] == 8
    assert "of 100 simulated cases" in said["answer"]
    assert {"tornado", "break_evens", "scenarios"} <= set(said)
    assert main(["simulate", "one-machine", "--draws", "8"]) == 0
    text = capsys.readouterr().out
    assert "What to measure next" in text
    assert "at its P10 and at its P90" in text
    assert main(["simulate", "one-machine", "--draws", "8", "--quick"]) == 0
    assert "at its P10 and at its P90" not in capsys.readouterr().out


def test_a_metered_dryer_takes_what_its_meter_says_in_every_draw():
    # A present dryer at 1.3 times the model: neither its own inputs nor the airflow usual for the resin move what it takes.
    plain = case(PRESENT, NEW, changes={f"options['{NEW}'].inputs.air_resin_ratio": "2.2"})
    metered = plain.with_({f"options['{PRESENT}'].metered_over_model": "130 %"})
    names = [{entry.name for entry in uncertain_inputs(of)[0]} for of in (plain, metered)]
    assert names[1] < names[0]
    assert all(n.startswith(("typical ", f"options['{PRESENT}'].inputs.")) for n in names[0] - names[1])
    spreads = []
    for of in (plain, metered):
        inputs, _ = uncertain_inputs(of)
        [place] = [i for i, entry in enumerate(inputs) if entry.name == "resin PC.air_resin_ratio"]
        points = np.full((2, len(inputs)), 0.5)
        points[:, place] = (0.1, 0.9)
        spreads.append(np.ptp(outcomes(of, inputs, points).saving[NEW]))
    assert spreads[0] > 100.0
    assert spreads[1] == pytest.approx(0.0, abs=1e-6)


def test_a_price_that_nobody_pays_is_not_worth_asking_for():
    # Prices are drawn together, so that of gas tells of electricity's: but no dryer here burns gas.
    run = simulate(case(PRESENT, NEW, WHEEL), draws=256)
    assert any(entry.name == "tariffs.gas_factor" for entry in run.inputs)
    assert "tariffs.electricity_factor" in {reading.input for reading in run.measure_next}
    assert "tariffs.gas_factor" not in {reading.input for reading in run.measure_next}
    burning = simulate(case(PRESENT, NEW, HOT), draws=64)
    asked = {reading.input for reading in burning.measure_next}
    assert ("tariffs.gas_factor" in asked) == (HOT in burning.candidates)


def test_nothing_paid_and_nothing_saved_pays_back_never_and_a_saving_for_nothing_at_once():
    """The comparison tells no payback for the same dryers again; nor does a simulation, in which 0 years were back in time."""
    again = {"name": "Same again", "type": "desiccant-twin-tower", "retrofit": True, "capital": "0 USD"}
    thicker = {**again, "name": "Thicker jacket", "inputs": {"insulation_thickness": "80 mm"}}
    both = build({**document(PRESENT), "options": [*document(PRESENT)["options"], again, thicker]})
    simulation = simulate(both, draws=32)
    assert np.isnan(simulation.comparison.option("Same again").measures.payback)
    chances = {option.name: option for option in simulation.options}
    nothing, saving = chances["Same again"], chances["Thicker jacket"]
    assert (nothing.payback.p50, nothing.never_share, nothing.payback_accepted) == (None, 1.0, 0.0)
    assert (saving.payback.p10, saving.payback.p50) == (0.0, 0.0)


def test_an_input_of_another_dryer_tells_nothing_of_the_spread():
    """Of a wheel's purge, in few draws, between a twin tower there and one that is new."""
    found = simulate(case(PRESENT, NEW, WHEEL), 64, 2)
    others = [r for r in found.measure_next if r.input == "typical purge_recovery"]
    assert WHEEL not in (found.recommended, found.comparison.baseline.name)
    assert [r.spread_cut for r in others] == [0.0]
    assert max(r.spread_cut for r in found.measure_next) > 0.0
