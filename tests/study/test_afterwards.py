"""The check afterwards: the line through the periods before, its error, and what the request rests on."""

from __future__ import annotations

import inspect
import json
import math
import re
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from dashboards import request
from energy.cli import main
from energy.errors import CaseError
from energy.reports import afterwards as told
from energy.reports import amounts
from energy.reports.document import success
from energy.reports.document.proposal import proposal
from energy.study.afterwards import DAY, METER, adjusted, carriers_metered, periods
from energy.study.case import load_case
from energy.study.compare import compare
from energy.study.energy_alone import air_worth, worth

WEEK = 7.0 * DAY
KWH = 3.6e6


def weeks(rng, count, base, slope, noise, low=12e3, high=19e3):
    """Lengths, resin and energy of weeks about a line; base in W, slope in J/kg, noise in J."""
    resin = rng.uniform(low, high, count)
    return np.full(count, WEEK), resin, base * WEEK + slope * resin + noise * rng.standard_normal(count)


@pytest.mark.published(
    "NumPy, numpy.polyfit", where="line and covariance of eight weeks of one length", quoted="computed"
)
def test_line_and_its_error_are_those_of_a_general_fit():
    rng = np.random.default_rng(5)
    before = weeks(rng, 8, 2e3, 430e3, 2e7)
    after = weeks(rng, 12, 1e3, 300e3, 0.0)
    found = adjusted(before, after)
    (slope, base), covariance = np.polyfit(before[1], before[2], 1, cov=True)
    assert (found.base * WEEK, found.slope) == pytest.approx((base, slope), rel=1e-9)
    assert found.expected == pytest.approx(12 * base + slope * after[1].sum(), rel=1e-9)
    sums = np.array([after[1].sum(), 12.0])
    rest = before[2] - base - slope * before[1]
    variance = sums @ covariance @ sums + 12 * (rest @ rest) / 6
    assert found.of_line == pytest.approx(stats.t.ppf(0.975, 6) * np.sqrt(variance), rel=1e-3)
    assert found.scatter == pytest.approx(np.sqrt(rest @ rest / 6) / before[2].mean(), rel=1e-9)
    assert found.doubt == pytest.approx(np.hypot(found.of_line, METER * np.hypot(found.expected, found.metered)))


def test_the_true_saving_lies_within_in_95_of_100():
    rng = np.random.default_rng(6)
    inside = 0
    for _ in range(400):
        before = weeks(rng, 8, 2e3, 430e3, 2e8)
        after = weeks(rng, 30, 1e3, 300e3, 2e8)
        found = adjusted(before, after)
        true = 30 * 1e3 * WEEK + 130e3 * after[1].sum()
        inside += abs(found.saved - true) <= found.of_line
    assert 0.92 <= inside / 400 <= 0.99


def test_throughput_that_hardly_varied_tells_no_base_load_apart():
    rng = np.random.default_rng(7)
    steady = weeks(rng, 6, 2e3, 430e3, 1e8, low=15e3, high=15.5e3)
    found = adjusted(steady, weeks(rng, 4, 1e3, 300e3, 0.0))
    assert found.base == 0.0
    assert found.slope == pytest.approx(steady[2].sum() / steady[1].sum(), rel=1e-2)
    # Nor does a line that would have the machines give energy back with no resin.
    falling = weeks(rng, 8, -2e3, 430e3, 1e7)
    assert adjusted(falling, steady).base == 0.0


# ---------- beside the request ----------

HEAD = "when;days;resin (kg);electricity (kWh)\n"


@pytest.fixture(scope="module")
def demo():
    return compare(load_case("demo"))


def table(demo, share, count=52):
    """Weeks on the forecast of the demo, with that share of the saving of energy."""
    p = proposal(demo)
    before, after = (o.carrier("electricity") / KWH for o in (p.base, p.option))
    resin = 880e3
    rng = np.random.default_rng(8)
    rows = []
    for when, weeks_, of in (("before", 8, before), ("after", count, before - share * (before - after))):
        for _ in range(weeks_):
            kilograms = rng.uniform(14e3, 19e3)
            rows.append(f"{when};7;{kilograms:.0f};{of / resin * kilograms * rng.normal(1.0, 0.004):.1f}")
    return HEAD + "\n".join(rows) + "\n"


def read(tmp_path, text):
    from energy.tariffs.readers import read_metered_periods

    file = tmp_path / "weeks.csv"
    file.write_text(text)
    return periods(read_metered_periods(file), str(file))


@pytest.mark.parametrize(("share", "word"), [(1.3, "passed"), (1.0, "not decided"), (0.6, "failed")])
def test_a_year_of_weeks_passes_fails_or_leaves_it_open(demo, tmp_path, share, word):
    rows = read(tmp_path, table(demo, share))
    found = told.check(demo, rows)
    assert found.word == word
    p = proposal(demo)
    assert found.needed == pytest.approx(success.needed(p, p.option).share * (p.base.total_cost - p.option.total_cost))
    # By hand: the 880,464 kg of the case's year at the ratios that the weeks were made of, times 0.115 USD/kWh of the flat tariff.
    kwh = (p.base.carrier("electricity") - p.option.carrier("electricity")) / KWH
    assert found.money["electricity"] == pytest.approx(share * kwh / 880e3 * 880_464 * 0.115, rel=0.02)
    assert set(found.forecast) == {"electricity", "water", "maintenance"}
    # What the bill of the request falls by beside its kWh: its peaks, at 13 USD/kW a month.
    fall = p.base.annual_cost["electricity"] - p.option.annual_cost["electricity"]
    assert found.forecast["electricity"] == pytest.approx(fall - 0.115 * kwh, rel=1e-6)
    kilowatts = (p.base.year.most(("electricity",)) - p.option.year.most(("electricity",))).sum() / 1e3
    assert found.forecast["electricity"] == pytest.approx(13.0 * kilowatts, rel=1e-3)
    said = told.sentences(found, demo.case.currency)
    assert said[0].startswith({"passed": "Passed", "failed": "Failed", "not decided": "Not decided"}[word])


def test_weeks_may_stand_in_the_case_and_few_of_them_are_told(demo, tmp_path):
    rows = [row.split(";") for row in table(demo, 1.2, count=20).splitlines()[1:]]
    kept = [{"when": w, "days": float(d), "resin": f"{kg} kg", "electricity": f"{e} kWh"} for w, d, kg, e in rows]
    case = demo.case.with_({"request.verification.metered": kept})
    comparison = compare(case)
    assert [o.total_cost for o in comparison.options] == [o.total_cost for o in demo.options]
    lines = told.sentences(told.check(comparison), case.currency)
    assert any("140 days are taken as a year's mean" in line for line in lines)
    beyond = [dict(row, resin="9000 kg") if row["when"] == "after" else row for row in kept]
    found = told.check(compare(case.with_({"request.verification.metered": beyond})))
    assert "the line is carried beyond" in found.beyond[0]
    assert "the saving is that of another duty" in found.beyond[1]


def test_a_slip_of_ten_in_a_week_is_named(demo, tmp_path):
    lines = table(demo, 1.2).splitlines()
    assert told.check(demo, read(tmp_path, "\n".join(lines) + "\n")).beyond == ()
    when, days, kilograms, energy = lines[3].split(";")
    lines[3] = ";".join((when, days, kilograms, str(10 * float(energy))))
    said = told.sentences(told.check(demo, read(tmp_path, "\n".join(lines) + "\n")), "USD")
    assert (
        said[2] == "Check period 3 of those before: its electricity of a kilogram is more than 3 times off the others'."
    )


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (HEAD + "before;7;15000;2000\n" * 3, "3 periods are metered before; 4 or more are needed"),
        (HEAD + "before;7;15000;2000\n" * 4, "no period is metered after"),
        ("when;days;resin (kg)\n" + "before;7;15000\n" * 4 + "after;7;15000\n", "no energy is metered"),
        (HEAD + "during;7;15000;2000\n", "line 2: has neither before nor after"),
        (HEAD + "before;7;;2000\n", "line 2: has no resin"),
        ("days;resin (kg)\n7;15000\n", "one column must be called when"),
        ("when;days;weight\nbefore;7;15000\n", "no column is called resin"),
        (HEAD + "before;0;15000;2000\n", "days"),
    ],
)
def test_what_is_wrong_is_told(demo, tmp_path, text, said):
    with pytest.raises(CaseError, match=said):
        told.check(demo, read(tmp_path, text))


def test_a_carrier_that_the_dryers_take_must_be_metered(demo, tmp_path):
    text = "when;days;resin (kg);gas (kWh)\n" + "before;7;15000;2000\n" * 4 + "after;7;15000;1500\n"
    with pytest.raises(CaseError, match="gives no electricity, which the dryers take"):
        told.check(demo, read(tmp_path, text))
    rows = read(tmp_path, HEAD + "before;7;15000;2000\n" * 4 + "after;7;15000;1500\n")
    assert carriers_metered(rows)["electricity"].saved / KWH == pytest.approx(500.0)


def test_command_line(demo, tmp_path, capsys):
    file = tmp_path / "weeks.csv"
    file.write_text(table(demo, 1.3).replace(".", ","))  # a spreadsheet with decimal commas
    assert main(["verify", "demo", "--metered", str(file)]) == 0
    assert "Passed: the meters show " in capsys.readouterr().out
    assert main(["verify", "demo", "--metered", str(file), "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert said["result"] == "passed"
    assert said["carriers"]["electricity"]["saved_kwh"] > 0
    assert main(["verify", "demo"]) == 2
    assert "--metered weeks.csv, with the columns when, days, resin (kg)" in capsys.readouterr().err


def test_the_file_with_too_few_weeks_is_named(tmp_path, capsys):
    file = tmp_path / "weeks.csv"
    file.write_text(HEAD + "before;7;15000;2000\nafter;7;15000;1500\n")
    assert main(["verify", "demo", "--metered", str(file)]) == 2
    assert capsys.readouterr().err.startswith(f"{file}: request.verification.metered: 1 period is metered before;")


def test_weeks_before_that_cannot_be_those_of_the_request_decide_nothing(demo, tmp_path):
    lines = [line.split(";") for line in table(demo, 1.3).splitlines()]
    slipped = [[*row[:3], str(10 * float(row[3]))] if row[0] == "before" else row for row in lines]
    found = told.check(demo, read(tmp_path, "\n".join(map(";".join, slipped)) + "\n"))
    assert found.total - found.doubt > found.needed
    assert found.word == "not decided"
    said = told.sentences(found, "USD")
    assert said[0].startswith(
        "Not decided by these meters, since the figures cannot be right as they are (see the check below): the met"
    )
    # 133,000 kWh a year for 880 t of resin are 151 Wh/kg; ten times that was typed.
    assert said[1].startswith("Check the periods before: they take 1,510 Wh/kg of electricity, the present dryers of")
    assert "of the request 151 Wh/kg. A slip of ten" in said[1]


def test_why_the_meters_do_not_decide_is_told(demo, tmp_path):
    found = told.check(demo, read(tmp_path, table(demo, 1.3)))
    assert found.word == "passed"
    near = replace(found, needed=found.total + 0.5 * found.doubt)
    assert told.sentences(near, "USD")[0].startswith(
        "Not decided by these meters, since what was needed lies within what the saving may be off: "
    )
    by_base = replace(found, if_base=found.needed - 2.0 * found.doubt)
    assert told.sentences(by_base, "USD")[0].startswith(
        "Not decided by these meters, since it depends on the base load, which the periods before do not tell: "
    )
    assert told.sentences(found, "USD")[0].startswith("Passed: ")


def test_what_a_pass_takes_is_told_where_it_is_not_decided(demo, tmp_path):
    found = told.check(demo, read(tmp_path, table(demo, 1.3)))
    assert not any("It is passed where" in line for line in told.sentences(found, "USD"))
    near = replace(found, needed=found.total + 0.5 * found.doubt)
    assert near.word == "not decided"
    (said,) = [line for line in told.sentences(near, "USD") if line.startswith("It is passed where the meters show ")]
    least = float(
        re.match(r"It is passed where the meters show ([\d,]+) USD a year or more: ", said)[1].replace(",", "")
    )
    # Moved to just above or below it, the meters decide.
    for share, word in ((1.006, "passed"), (0.994, "not decided")):
        moved = share * least / near.read
        shown = replace(near, money={name: moved * amount for name, amount in near.money.items()})
        assert shown.word == word
    assert (
        f"the {amounts.money(near.asked, 'USD')} needed and, on top, the {amounts.money(near.doubt, 'USD')} that"
        in said
    )
    by_base = replace(found, if_base=found.needed - 2.0 * found.doubt)
    assert any("a year or more, whatever the base load was: " in line for line in told.sentences(by_base, "USD"))
    failed = replace(found, needed=found.total + 2.0 * found.doubt)
    assert failed.word == "failed"
    assert not any("It is passed where" in line for line in told.sentences(failed, "USD"))


def test_where_the_whole_forecast_is_needed_that_is_why_the_forecast_itself_is_not_decided(demo, tmp_path):
    # The demo's money is back after five years and more: two are met by no share of the forecast, so that all of it is needed.
    short = compare(demo.case.with_({"finance.maximum_payback": "2 year"}))
    found = told.check(short, read(tmp_path, table(demo, 1.0)))
    assert found.word == "not decided"
    assert found.needed == pytest.approx(found.expected)
    said = told.sentences(found, "USD")[1]
    assert said.startswith("What is needed is the whole forecast")
    assert "“Counts as a success” on the request page (request.verification.success)" in said
    far = found.expected + 3.0 * found.doubt
    for other in (replace(found, needed=0.9 * found.expected), replace(found, expected=far, needed=far)):
        assert not any(line.startswith("What is needed is the whole") for line in told.sentences(other, "USD"))
    assert "Counts as a success" in inspect.getsource(request)


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"request.recommended": "Present dryers"}, "it recommends “Present dryers”, the dryers that are there"),
        # At such a discount rate no saving is worth its capital.
        (
            {"request.recommended": None, "finance.rate": "150 %"},
            "Keep the present dryers: over 10 years it costs least",
        ),
    ],
)
def test_a_request_that_asks_for_nothing_says_why(tmp_path, demo, changes, why):
    comparison = compare(demo.case.with_(changes))
    with pytest.raises(CaseError, match=f"asks for nothing, so that there is nothing to check: {why}") as refused:
        told.check(comparison, read(tmp_path, table(demo, 1.3)))
    assert not str(refused.value).endswith("..")


def slipped(demo, tmp_path, week, *, share=1.3, **factors):
    """The check of a year of weeks in which one of those after has its resin or electricity, days or kWh times a factor."""
    lines = [line.split(";") for line in table(demo, share).splitlines()]
    row = lines[8 + week]  # the head, eight weeks before
    for place, name in enumerate(("days", "resin", "electricity"), start=1):
        row[place] = f"{float(row[place]) * factors.get(name, 1.0):.6g}"
    return told.check(demo, read(tmp_path, "\n".join(map(";".join, lines)) + "\n"))


@pytest.mark.parametrize(
    ("share", "factors", "said"),
    [
        (1.3, {"electricity": 10.0}, ["of electricity, where the request forecasts"]),
        (1.3, {"electricity": 0.1}, ["of electricity, where the request forecasts"]),
        (
            0.6,
            {"resin": 10.0},
            ["dried on the mean of all hours, where", "of electricity, where the request forecasts"],
        ),
        (1.3, {"resin": 0.1}, ["A week that stood still is put together with", "of electricity, where the request"]),
        (1.3, {"days": 10.0}, ["A slip of ten in its resin or its days?"]),
    ],
)
def test_a_slip_of_ten_in_a_week_after_decides_nothing_and_names_the_week(demo, tmp_path, share, factors, said):
    found = slipped(demo, tmp_path, 5, share=share, **factors)
    assert found.word == "not decided"
    lines = told.sentences(found, "USD")
    checks = "check" if len(said) == 1 else "checks"
    assert lines[0].startswith(
        f"Not decided by these meters, since the figures cannot be right as they are (see the {checks} below): "
    )
    assert len(found.far) == len(said)
    for line, words in zip(lines[1:], said, strict=False):
        assert line.startswith("Check period 5 of those after: ")
        assert words in line
    # What is said of the week in these lines is not said of it again.
    assert not [line for line in found.beyond if line.startswith("Check period 5 of those after")]
    assert json.loads(told.to_json(found, "USD"))["result"] == "not decided"


def test_a_week_after_of_half_or_twice_the_throughput_or_energy_still_decides(demo, tmp_path):
    for factors in ({"resin": 0.5, "electricity": 0.5}, {"resin": 2.0, "electricity": 2.0}, {"electricity": 1.6}):
        found = slipped(demo, tmp_path, 5, **factors)
        assert found.far == ()
        assert found.word == "passed"


def test_the_figures_of_a_week_after_in_doubt_are_those_of_the_week_and_of_the_request(demo, tmp_path):
    # By hand: 880,464 kg a year over 8,760 h are 100.5 kg/h on the mean of all hours; weeks of 14 to 19 t were made.
    [line, _] = slipped(demo, tmp_path, 5, resin=10.0).far
    assert "where the request counts 101 kg/h" in line
    at = float(line.split("after: ")[1].split(" kg/h")[0].replace(",", ""))
    assert 10 * 14e3 / 168 <= at <= 10 * 19e3 / 168 + 1


def test_energy_is_worth_its_price_and_no_peak(demo):
    base, option = demo.baseline, proposal(demo).option
    for kwh in (-3e5, -10.0, 10.0, 1e4, 1e6):
        assert worth(demo.case, base, option, "electricity", kwh * KWH) == pytest.approx(0.115 * kwh, rel=1e-9)
    assert worth(demo.case, base, option, "electricity", 0.0) == 0.0
    assert worth(demo.case, base, option, "gas", 1e9) == 0.0  # neither burns any


def test_air_at_a_known_cost_is_worth_that():
    known = {"specific_power": None, "control": None, "maintenance": None, "cost": "0.02 USD/m3"}
    made = compare(load_case("one-machine").with_({f"compressed_air.{key}": value for key, value in known.items()}))
    option = made.option("Compressed air")
    all_of_it = option.carrier("compressed air")
    # By hand: 2 US cents for each cubic metre of free air.
    cost = 0.02 * float(option.year.free_air.sum())
    assert air_worth(made.case, made.baseline, option, -0.5 * all_of_it) == pytest.approx(-0.5 * cost)
    assert air_worth(made.case, made.baseline, made.baseline, 1.0) == 0.0


# ---------- periods that cannot be, and the error of those after ----------

PLANT = [("before", 7, kg, kwh) for kg, kwh in ((21500, 2190), (22400, 2255), (19800, 2040), (22800, 2290))]
"""Weeks of a plant, 101 Wh/kg or so."""
THEN = [("after", 7, kg, kwh) for kg, kwh in ((22000, 1985), (20900, 1905), (22700, 2040), (21500, 1950))]


def of_rows(tmp_path, rows):
    return read(tmp_path, HEAD + "".join(";".join(map(str, row)) + "\n" for row in rows))


def test_a_week_below_what_its_resin_takes_up_is_named_and_decides_nothing(demo, tmp_path):
    # By hand: the resin of the demo takes up 44.5 Wh/kg in its warmest month; 700 kWh for 20,900 kg are 33.5 Wh/kg,
    # more than a third of the 90 Wh/kg or so forecast.
    lowest = min(demo.baseline.year.least / demo.baseline.year.resin) / 3600.0
    assert lowest == pytest.approx(44.5, abs=0.05)
    low = [*THEN[:1], ("after", 7, 20900, 700), *THEN[2:]]
    found = told.check(demo, of_rows(tmp_path, [*PLANT, *low]))
    assert found.word == "not decided"
    [line] = [line for line in found.far if line.startswith("Check period 2 of those after: ")]
    assert "33.5 Wh/kg were metered in all, less than the 44.5 Wh/kg that the resin itself takes up" in line
    # The same before; it is not told again as odd.
    found = told.check(demo, of_rows(tmp_path, [PLANT[0], ("before", 7, 22400, 225), *PLANT[2:], *THEN]))
    assert found.word == "not decided"
    assert [line[:31] for line in (*found.far, *found.beyond) if line.startswith("Check period")] == [
        "Check period 2 of those before:"
    ]
    # A week just above it is not named.
    above = [*THEN[:1], ("after", 7, 20900, 950), *THEN[2:]]
    assert told.check(demo, of_rows(tmp_path, [*PLANT, *above])).far == ()


def test_carriers_are_taken_together_against_what_resin_takes_up(demo, tmp_path):
    head = "when;days;resin (kg);electricity (kWh);compressed air (kWh)\n"
    text = head + "before;7;20000;2900;0\n" * 4 + "after;7;20000;700;900\n" * 2  # 35 + 45 Wh/kg
    assert not [line for line in told.check(demo, read(tmp_path, text)).far if "takes up" in line]


def test_the_scatter_of_the_weeks_after_is_in_the_error(demo, tmp_path):
    wild = [("after", 7, kg, kwh) for kg, kwh in ((22000, 2400), (20900, 1095), (22700, 2900), (21500, 1300))]
    rows = of_rows(tmp_path, [*PLANT, *wild])
    found = carriers_metered(rows)["electricity"]
    # By hand: 7,695 kWh for 87,100 kg; with weeks of one length their weighted mean is sum(kg kWh)/sum(kg^2).
    kg, kwh = np.array([row[2:] for row in wild], float).T
    mean = (kg @ kwh) / (kg @ kg)
    deviation = np.sqrt(((kwh - mean * kg) ** 2).sum() / 3)
    half = stats.t.ppf(0.975, 3) * deviation * np.sqrt(4)  # the sum of four weeks
    assert half == pytest.approx(5_200, rel=0.05)
    assert half <= found.doubt / KWH <= 1.01 * half
    checked = told.check(demo, rows)
    assert checked.word == "not decided"
    [line] = [line for line in told.sentences(checked, "USD") if line.startswith("Electricity")]
    share = float(line.split("of those after ")[1].split(" %")[0]) / 100
    assert share == pytest.approx(deviation / kwh.mean(), rel=0.01)


def test_the_scatter_after_is_that_of_before_where_it_is_less_or_cannot_be_seen(demo, tmp_path):
    text = [*PLANT[:2], ("before", 7, 19800, 2300), PLANT[3]]
    smooth = [("after", 7, kg, 0.09 * kg) for kg in (22000, 20900, 22700)]
    assert carriers_metered(of_rows(tmp_path, [*text, *smooth]))["electricity"].of_after == 0.0
    single = of_rows(tmp_path, [*PLANT, THEN[0]])
    found = carriers_metered(single)["electricity"]
    assert (found.of_after, found.scatter_after) == (0.0, None)
    assert not [line for line in told.sentences(told.check(demo, single), "USD") if "of those after" in line]


def test_the_true_saving_lies_within_where_the_weeks_after_scatter_more():
    rng = np.random.default_rng(9)
    inside = 0
    for _ in range(400):
        before, after = weeks(rng, 12, 0.0, 430e3, 5e7), weeks(rng, 6, 0.0, 300e3, 1e9)
        found = adjusted(before, after)
        inside += abs(found.saved - 130e3 * after[1].sum()) <= math.hypot(found.of_line, found.of_after)
    assert 0.92 <= inside / 400 <= 0.99


def test_weeks_exactly_on_the_forecast_make_the_forecast_where_the_plant_is_shut_for_six(demo, tmp_path):
    shut, open_ = (
        compare(demo.case.with_({"calendar.shutdown_weeks": closed})) for closed in ([10, 11, 32, 33, 51, 52], [])
    )
    p = proposal(shut)
    year = float(p.base.year.resin.sum())
    running = float(open_.baseline.year.resin.sum())  # in 365 days
    assert 0.86 < year / running < 0.91
    per_kg = {
        "before": p.base.carrier("electricity") / KWH / year,
        "after": p.option.carrier("electricity") / KWH / year,
    }
    # Weeks as the plant runs outside its shutdowns.
    kilograms = [factor * running / 365 * 7 for factor in (0.99, 1.01, 1.02, 0.98)]
    rows = [(when, 7, round(kg, 1), round(of * kg, 3)) for when, of in per_kg.items() for kg in kilograms]
    found = told.check(shut, of_rows(tmp_path, rows))
    assert found.total == pytest.approx(found.expected, rel=2e-4)
    [line] = [line for line in told.sentences(found, "USD") if line.startswith("Carried to a year")]
    assert line.startswith("Carried to a year by resin: ")
    # At half the duty the saving is that of another duty, over 365 days: half of that by its kilowatt-hours.
    half = [(when, 7, kg / 2, kwh / 2) if when == "after" else (when, 7, kg, kwh) for when, _, kg, kwh in rows]
    other = told.check(shut, of_rows(tmp_path, half))
    by_hand = 0.115 * sum(kg for *_, kg, _ in half[4:]) * (per_kg["before"] - per_kg["after"]) * 365 / 28
    assert other.money["electricity"] == pytest.approx(by_hand, rel=1e-3)
    assert any(
        line.startswith("Carried to a year by days: 365 of them are 13 times") for line in told.sentences(other, "USD")
    )
