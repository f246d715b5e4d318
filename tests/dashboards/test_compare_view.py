"""The Compare view bound to a state: widgets without a browser, the notebook in a kernel, and a visitor in Chromium."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path
from urllib.parse import urljoin

import pytest

from dashboards import charts, tables, where_from
from dashboards.compare import View, in_bold
from dashboards.state import State
from dashboards.where_words import FEEDS
from energy.cli import main
from energy.reports.comparison_json import to_dict
from energy.study.case import load_case
from energy.study.compare import compare

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def comparison():
    return compare(load_case("one-machine"))


# ---------- pure functions ----------


def test_the_stack_of_costs_adds_up_to_what_the_option_costs(comparison):
    sums: dict[str, float] = {}
    *bars, totals = charts.annual_cost(comparison)["data"]
    for trace in bars:
        for label, amount in zip(trace["y"], trace["x"], strict=True):
            name = label.removesuffix(" (does not dry)")
            sums[name] = sums.get(name, 0.0) + amount
    assert sums == pytest.approx({o.name: o.total_cost for o in comparison.options}, rel=1e-12)
    written = {y.removesuffix(" (does not dry)"): text for y, text in zip(totals["y"], totals["text"], strict=True)}
    assert written == {o.name: f" {o.total_cost:,.0f}" for o in comparison.options}


def test_the_heat_flows_balance(comparison):
    resin = 90.0 * 6000.0
    for option in comparison.options:
        link = charts.heat_flow(option, "si", resin)["data"][0]["link"]
        centre = max(link["source"])
        into = sum(v for v, t in zip(link["value"], link["target"], strict=True) if t == centre)
        out = sum(v for v, s in zip(link["value"], link["source"], strict=True) if s == centre)
        assert into == pytest.approx(out, rel=1e-9)


def test_cash_starts_with_the_capital(comparison):
    figure = charts.cumulative_cash(comparison)
    for trace in figure["data"]:
        assert trace["y"][0] == pytest.approx(-comparison.option(trace["name"]).capital)


def test_an_option_that_fails_is_shown_marked_and_not_ranked():
    humid = compare(
        load_case("one-machine").with_({"hoppers[1].resin": "PA66", "hoppers[1].drying_temperature": "80 degC"})
    )
    assert humid.option("Hot air, gas-fired").verdict.overall == "fail"
    figure = charts.annual_cost(humid)
    order = figure["layout"]["yaxis"]["categoryarray"]
    failing = [label for label in order if label.endswith("(does not dry)")]
    assert "Hot air, gas-fired (does not dry)" in failing
    assert order[: len(failing)] == failing  # at the bottom of the chart
    for trace in figure["data"][:-1]:
        shapes = trace["marker"]["pattern"]["shape"]
        assert shapes == ["/" if label in failing else "" for label in trace["y"]]
        assert shapes[0] == ""  # of the legend, which shows plain colours
    assert "Hot air, gas-fired" not in [trace["name"] for trace in charts.cumulative_cash(humid)["data"]]
    row = re.search(r'<tr data-option="Hot air, gas-fired">.*?</tr>', tables.options(humid, "si")).group()
    assert "does not dry" in row
    assert row.count("<td>–</td>") >= 2  # neither net savings nor payback are held out


def test_texts_of_a_case_are_escaped():
    hostile = "<img src=x onerror=alert(1)>"
    case = load_case("one-machine").with_({"options['Desiccant wheel'].name": hostile})
    markup = tables.options(compare(case), "si")
    assert hostile not in markup
    assert "&lt;img" in markup


# ---------- view without a kernel ----------


@pytest.fixture
def view():
    return View(State("one-machine"))


def test_the_page_names_its_field_where_a_price_rise_is_missing(view):
    nominal = {"finance.rate_basis": "nominal", "finance.inflation": "2 %"}
    view.state.set(nominal)
    assert "State it in “Escalation of maintenance, cooling and water” under More on money" in view._answer.value


THROUGHPUT = "hoppers[1].throughput"


def test_typing_a_throughput_changes_the_table(view):
    before = view._table.value
    view._inputs.form.enter(THROUGHPUT, "150")
    assert view._table.value != before
    assert float(view.state.case.model.hoppers[0].throughput) * 3600 == pytest.approx(150)


def test_a_bad_value_is_told_beside_it_and_results_are_greyed(view):
    form = view._inputs.form
    form.enter(THROUGHPUT, "-1")
    assert "more than 0" in form.find(THROUGHPUT)["problem"]
    assert "Throughput" in view._problems.value
    assert all("stale" in box._dom_classes for box in view._results)
    assert view._bar.download.disabled
    form.enter(THROUGHPUT, "90")
    assert form.find(THROUGHPUT)["problem"] == ""
    assert not any("stale" in box._dom_classes for box in view._results)


def test_a_click_on_download_during_a_change_is_answered_after_it(view, monkeypatch):
    sent, switched = [], []
    download, form = view._bar.download, view._inputs.form
    monkeypatch.setattr(download, "send", lambda content, buffers=(): sent.append((content, buffers)))
    download.observe(lambda change: switched.append(change["new"]), "disabled")
    form.enter(THROUGHPUT, "150")
    assert switched == []  # a button that is off for a moment loses the click of that moment
    download._answer(download, "wanted", [])
    ((told, (content,)),) = sent
    assert told["kind"] == "file"
    assert b'throughput = "150 kg/h"' in content
    form.enter(THROUGHPUT, "-1")
    download._answer(download, "wanted", [])
    assert sent[1][0]["kind"] == "problem"
    assert "cannot be used" in sent[1][0]["text"]


def test_units_switch_shows_other_numbers_for_the_same_case(view):
    cost = view.state.comparison.options[0].total_cost
    view._units.value = "us"
    field = view._inputs.form.find(THROUGHPUT)
    assert field["label"] == "Throughput (lb/h)"
    assert float(field["value"]) == pytest.approx(198.4, abs=1e-9)
    assert "Wh/lb" in view._table.value
    assert view.state.comparison.options[0].total_cost == cost


def test_one_price_instead_of_a_tariff(view):
    form = view._inputs.form
    form.enter("tariffs.electricity:tariff", "one price")
    form.enter("tariffs.electricity", "0.30 USD/kWh")
    assert view.state.document["tariffs"]["electricity"] == "0.30 USD/kWh"
    expected = compare(load_case("one-machine").with_(electricity="0.30 USD/kWh"))
    assert view.state.comparison.baseline.total_cost == expected.baseline.total_cost


def test_a_size_is_not_said_to_come_from_hoppers_whose_dryers_have_none_of_it():
    comparison = compare(load_case("demo"))
    names = [o.name for o in comparison.options]
    place = names.index(comparison.baseline.name)
    panels = where_from.panels(comparison, "si")
    desiccant, blower = (
        panels.split(f'id="why-{place}-{column}"')[1].split("</div>")[0] for column in ("desiccant", "blower")
    )
    assert "Throughput of Machine 1" in desiccant
    assert "Machine 3" not in desiccant  # hot air
    assert "Throughput of Machine 3" in blower


def test_a_line_of_the_bill_says_what_it_falls_by():
    comparison = compare(load_case("demo"))
    option = comparison.ranked()[0]
    line = next(line for line in option.savings["electricity"].lines if line.group == "energy")
    told = where_from.line_of_bill("mark", "6,360", line, "USD", option.name)
    (rate,) = line.rates
    assert f"kWh less at {rate:,.6g} USD/kWh." in told
    less = float(re.search(r"([\d,.]+) kWh less", told)[1].replace(",", ""))
    assert less * rate == pytest.approx(line.steady, rel=1e-4)


def test_every_number_explained_has_its_panel_and_texts_are_escaped():
    hostile = "<img src=x onerror=alert(1)>"
    case = load_case("one-machine").with_({"options['Desiccant wheel'].name": hostile})
    found = compare(case)
    panels = where_from.panels(found, "si")
    tables_shown = tables.options(found, "si") + tables.sizes(found, "si")
    wanted = re.findall(r'popovertarget="([^"]+)"', tables_shown)
    assert len(wanted) > 9 * 11  # nine options; some have no payback, gas or desiccant
    assert set(wanted) <= set(re.findall(r'popover id="([^"]+)"', panels))
    assert not re.findall(r"<td>[\d,.]+</td>", tables_shown)  # no number without
    assert hostile not in panels + tables_shown
    saving = tables.saving(found, found.option("New twin tower"))
    assert re.findall(r'popovertarget="([^"]+)"', saving) == re.findall(r'popover id="([^"]+)"', saving)


def test_a_panel_says_what_the_number_was_worked_out_from(comparison):
    panel = where_from.panels(comparison, "si").split('id="why-0-energy"')[1].split("</div>")[0]
    resin = 90.0 * 6000.0  # kg/h times h of the case
    assert "540,000 kg of resin" in panel
    option = comparison.options[0]
    bought = (option.carrier("electricity") + option.carrier("compressed air")) / 3.6e6
    assert f"{bought:,.0f} kWh of electricity" in panel
    assert f"{bought / resin * 1000:.3g} Wh/kg" in panel
    assert "weighed over one shift" in panel
    assert "measured" in panel


def test_a_dew_point_that_was_read_is_said_to_change_no_energy():
    own = {"hopper": "Machine 7", "type": "desiccant-twin-tower", "delivered_dew_point": "-5 degC"}
    place = "options['Present twin tower']"
    for changes in ({f"{place}.delivered_dew_point": "-5 degC"}, {f"{place}.machines": [own]}):
        panels = where_from.panels(compare(load_case("one-machine").with_(changes)), "si")
        energy, new = (panels.split(f'id="why-{i}-energy"')[1].split("</div>")[0] for i in (0, 1))
        assert "counts for what the resin dries to, and changes no energy" in energy
        assert "changes no energy" not in new
        assert "Dew point of the air into the hopper" not in panels  # no column of the tables is worked out from it


def test_gas_is_shown_as_it_is_billed_where_one_reads():
    # 1 MMBtu (IT) is 293.071 kWh (NIST SP 811, appendix B.8).
    found = compare(load_case("one-machine"))
    gas = found.option("Hot air, gas-fired").carrier("gas") / 3.6e6
    si, us = (tables.options(found, system) for system in ("si", "us"))
    assert "Gas<br>MWh/year" in si
    assert f">{gas / 1e3:,.1f}<" in si
    assert "Gas<br>MMBtu/year" in us
    assert f">{gas / 293.071:,.1f}<" in us
    assert f"{gas / 293.071:,.0f} MMBtu" in where_from.panels(found, "us")


def _worked(panels, mark):
    """What a panel says of an option's own figures: the parts and what they add up to."""
    panel = panels.split(f'id="{mark}"')[1].split("</div>")[0]
    found = []
    for line in re.findall(r'<p class="worked">(.*?)</p>', panel):
        parts, _, whole = line.partition(" = ")
        numbers = [float(n.replace(",", "")) for n in re.findall(r" ([\d,]+\.?\d*)(?= \+| kW| kg|$)", parts)]
        found.append((numbers, float(re.match(r"[\d,.]+", whole).group().replace(",", ""))))
    return found


def test_parts_in_a_panel_add_up_to_what_the_table_shows():
    found = compare(load_case("demo"))
    panels = where_from.panels(found, "si")
    place, row = next((i, o) for i, o in enumerate(found.options) if o.name == "Twin towers, new")
    shown = {
        "electricity": row.carrier("electricity") / 3.6e6,
        "peak": row.peak / 1e3,
        "regeneration": row.sizing["regeneration_heater"] / 1e3,
        "blower": row.sizing["blower"] / 1e3,
        "desiccant": row.sizing["desiccant"],
    }
    for column, wanted in shown.items():
        for parts, whole in _worked(panels, f"why-{place}-{column}"):
            assert len(parts) > 2
            assert sum(parts) == pytest.approx(whole, rel=0.02)  # each is rounded
            assert whole == pytest.approx(wanted, rel=0.01)
    assert f'id="why-{place}-gas"' not in panels
    assert f'id="why-{place}-compressed-air"' not in panels


def test_lines_of_capital_are_told_with_their_count_and_payback_with_the_year_it_falls_in():
    found = compare(load_case("demo"))
    panels = where_from.panels(found, "si")
    place, option = next((i, o) for i, o in enumerate(found.options) if o.name == "Central wheel, variable speed")
    capital = panels.split(f'id="why-{place}-capital"')[1].split("</div>")[0]
    lines = re.findall(r"<li>[^<]*?: (?:(\d+) × )?(\d+) USD", capital)
    assert sum(int(count or 1) * int(amount) for count, amount in lines) == pytest.approx(option.capital)
    payback = panels.split(f'id="why-{place}-payback"')[1].split("</div>")[0]
    year = math.ceil(option.measures.payback) - 1  # the overhaul of year 6 comes at its end
    before, after = (option.measures.cash_flow[: n + 1].sum() for n in (year, year + 1))
    assert before < 0.0 <= after
    assert (
        f"Added up: −{-before:,.0f} at the end of year {year}, {after:,.0f} at the end of year {year + 1} USD"
        in payback
    )
    told = next(o for o in to_dict(found)["options"] if o["name"] == option.name)
    assert f"no overhaul in it: {told['capital_over_saving_years']:.1f} years" in payback


def test_what_a_life_cycle_cost_is_made_of_adds_up_with_and_without_tax():
    taxed = {"finance.tax": {"rate": "25 %", "depreciation": "straight-line", "life": 7}}
    for changes in ({}, {**taxed, "options['Desiccant wheel'].incentive": "3000 USD"}):
        found = compare(load_case("one-machine").with_(changes))
        panels = where_from.panels(found, "si")
        for place, option in enumerate(found.options):
            panel = panels.split(f'id="why-{place}-life-cycle-cost"')[1].split("</div>")[0]
            line = re.search(r"In present value: (.*?) = ([\d,]+) USD", panel)
            parts = re.findall(r"(−?) ?(?:capital|running|replacements|incentive|value left) ([\d,]+)", line[1])
            added = sum((-1 if sign else 1) * int(amount.replace(",", "")) for sign, amount in parts)
            assert len(parts) > 1
            assert added == int(line[2].replace(",", "")) == round(option.life_cycle_cost)


def test_a_panel_names_every_input_of_the_duty_that_moves_its_number():
    case, name = load_case("one-machine"), "Desiccant wheel"
    columns = {"electricity": None, "peak": None, **{column: of[0] for column, of in where_from.SIZES.items()}}

    def numbers(changes):
        option = compare(case.with_(changes)).option(name)
        own = {"electricity": option.carrier("electricity"), "peak": option.peak}
        return {column: own.get(column, option.sizing.get(size)) for column, size in columns.items()}

    before, moved = numbers({}), 0
    for path, value in {
        "hoppers['Machine 7'].throughput": "95 kg/h",
        "hoppers['Machine 7'].drying_temperature": "118 degC",
        "hoppers['Machine 7'].residence_time": "5 h",
        "site.hall_temperature": "27 degC",
        f"options['{name}'].inputs.regeneration_temperature": "210 degC",
        f"options['{name}'].built_for": "120 kg/h",
        f"options['{name}'].hopper_volume": "1 m3",
    }.items():
        after = numbers({path: value})
        for column in columns:
            if abs(after[column] - before[column]) > 1e-3 * abs(before[column]):
                pattern = FEEDS[column].replace("OPTION", re.escape(f"options['{name}']"))
                assert re.match(pattern, path), (column, path)
                moved += 1
    assert moved > 20


# ---------- notebook ----------


def test_the_notebook_runs_and_shows_the_view():
    import nbclient
    import nbformat

    notebook = nbformat.read(ROOT / "dashboards/compare.ipynb", as_version=4)
    client = nbclient.NotebookClient(
        notebook, timeout=120, kernel_name="python3", resources={"metadata": {"path": ROOT}}
    )
    client.execute()
    shown = [output for cell in notebook.cells for output in cell.get("outputs", [])]
    assert [output.output_type for output in shown] == ["display_data"]
    assert "application/vnd.jupyter.widget-view+json" in shown[0]["data"]


# ---------- visitor ----------


def _numbers(page):
    """Running cost of each option as the table prints it."""
    rows = page.locator("#options tbody tr")
    return {
        rows.nth(i).get_attribute("data-option"): rows.nth(i).locator("td").nth(1).inner_text()
        for i in range(rows.count())
    }


def _printed_by_the_command(capsys, path):
    assert main(["compare", str(path), "--json"]) == 0
    options = json.loads(capsys.readouterr().out)["options"]
    return {o["name"]: f"{o['annual_cost']['total']:,.0f}" for o in options}


@pytest.mark.browser
def test_a_visitor_changes_the_case_and_takes_it_home(browser_page, server, tmp_path, capsys):
    page = browser_page
    page.goto(urljoin(server.url, "compare"))
    page.locator("#answer").wait_for(timeout=60_000)
    assert _numbers(page) == _printed_by_the_command(capsys, "demo")
    assert not page.locator("h2", has_text="Scenarios").is_visible()  # the demo has none

    before = _numbers(page)
    throughput = page.get_by_label("Throughput (kg/h)")
    throughput.fill("100")
    throughput.press("Enter")
    page.locator(
        f"#options tr[data-option='Wheels, variable speed'] td:nth-of-type(2):not(:text-is('{before['Wheels, variable speed']}'))"
    ).wait_for()
    page.get_by_label("Electricity", exact=True).select_option("one price")
    price = page.get_by_label("Electricity, one price")
    price.fill("0.21 USD/kWh")
    between = _numbers(page)
    price.press("Enter")
    page.locator(
        f"#options tr[data-option='Wheels, variable speed'] td:nth-of-type(2):not(:text-is('{between['Wheels, variable speed']}'))"
    ).wait_for()

    with page.expect_download() as waiting:
        page.get_by_role("button", name="Download the case").click()
    target = tmp_path / "case.toml"
    waiting.value.save_as(target)
    assert 'throughput = "100 kg/h"' in target.read_text()
    assert _numbers(page) == _printed_by_the_command(capsys, target)

    page.get_by_role("button", name="US", exact=True).click()
    page.get_by_label("Throughput (lb/h)").wait_for()
    assert float(page.get_by_label("Throughput (lb/h)").input_value()) == pytest.approx(220.5, abs=1e-9)
    assert _numbers(page) == _printed_by_the_command(capsys, target)


@pytest.mark.browser
@pytest.mark.thorough
def test_a_bad_value_is_told_beside_the_input(browser_page, server):
    page = browser_page
    page.goto(urljoin(server.url, "compare"))
    page.locator("#answer").wait_for(timeout=60_000)
    throughput = page.get_by_label("Throughput (kg/h)")
    throughput.fill("0")
    throughput.press("Enter")
    page.get_by_role("alert").filter(has_text="must be more than 0").wait_for()
    assert page.locator(".stale").count() > 0
    throughput.fill("60")
    throughput.press("Enter")
    page.locator(".stale").first.wait_for(state="detached")


@pytest.mark.browser
@pytest.mark.thorough
def test_a_narrow_page_shows_the_answer_first(open_page, server):
    page = open_page(viewport={"width": 820, "height": 1180})
    page.goto(urljoin(server.url, "compare"))
    page.locator("#answer").wait_for(timeout=60_000)
    assert page.locator("#answer").bounding_box()["y"] < page.get_by_label("Throughput (kg/h)").bounding_box()["y"]
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


@pytest.mark.browser
@pytest.mark.thorough
def test_every_column_of_the_options_is_in_sight_on_a_laptop(open_page, server):
    page = open_page(viewport={"width": 1280, "height": 800})
    page.goto(urljoin(server.url, "compare"))
    page.locator("#answer").wait_for(timeout=60_000)
    table = page.locator(".scroll").filter(has_text="Life-cycle").first
    for width in (1280, 1366, 1440):
        page.set_viewport_size({"width": width, "height": 800})
        page.wait_for_timeout(300)
        assert table.evaluate("box => box.scrollWidth <= box.clientWidth")


@pytest.mark.browser
@pytest.mark.thorough
def test_a_legend_stands_where_it_stood_after_the_tablet_was_turned_and_turned_back(browser_page, server):
    page = browser_page
    page.goto(urljoin(server.url, "compare"))
    chart = page.locator(".plot-view [data-drawn]").first
    chart.locator(".legend").wait_for(timeout=120_000)

    def bottom() -> float:
        legend, figure = chart.locator(".legend").bounding_box(), chart.bounding_box()
        return legend["y"] + legend["height"] - figure["y"]

    stood = bottom()
    for width, moved in ((390, True), (1440, False)):
        drawn = int(chart.get_attribute("data-drawn"))
        page.set_viewport_size({"width": width, "height": 900})
        page.locator(f".plot-view [data-drawn='{drawn + 1}']").first.wait_for()
        assert (abs(bottom() - stood) > 1.0) == moved


def _type_throughput(page, text):
    field = page.get_by_label("Throughput (kg/h)")
    field.fill(text)
    field.press("Enter")


@pytest.mark.browser
def test_work_survives_a_reload_and_is_found_from_the_start_page(browser_page, server, faults, tmp_path):
    page = browser_page
    page.goto(urljoin(server.url, "compare"))
    page.locator("#answer").wait_for(timeout=60_000)
    first = page.locator("#answer").inner_text()
    _type_throughput(page, "50")
    page.wait_for_function("text => document.querySelector('#answer').innerText !== text", arg=first)
    page.wait_for_function("() => JSON.parse(localStorage.getItem('dryer-cases'))?.[0]?.changed")
    changed = page.locator("#answer").inner_text()

    page.reload()
    page.get_by_text("Your changes of the last time").wait_for(timeout=60_000)
    assert page.get_by_label("Throughput (kg/h)").input_value() == "50"
    assert page.locator("#answer").inner_text() == changed

    page.goto(server.url)
    page.get_by_role("link", name="Example moulding plant").click()
    page.get_by_text("Your changes of the last time").wait_for(timeout=60_000)
    page.get_by_role("button", name="Undo").click()
    page.wait_for_function("text => document.querySelector('#answer').innerText === text", arg=first)
    page.wait_for_function("() => JSON.parse(localStorage.getItem('dryer-cases')).length === 0")

    brought = tmp_path / "line <b>3.toml"
    brought.write_text(load_case("one-machine").to_toml(), encoding="utf-8")
    with page.expect_file_chooser() as chooser:
        page.get_by_role("button", name="Open a case file").click()
    chooser.value.set_files(brought)
    page.get_by_text("line <b>3.toml was opened").wait_for(timeout=60_000)
    _type_throughput(page, "75")
    page.wait_for_function("() => JSON.parse(localStorage.getItem('dryer-cases'))?.[0]?.changed")
    page.reload()
    page.get_by_text("Your changes of the last time").wait_for(timeout=60_000)
    assert page.get_by_label("Throughput (kg/h)").input_value() == "75"

    page.goto(server.url)
    assert (
        "(line <b>3.toml). It stands behind every view that is opened in this tab."
        in page.locator("#on-the-table").inner_text()
    )
    assert "line <b>3.toml" in page.locator("#recent li").first.inner_text()


@pytest.mark.browser
@pytest.mark.thorough
def test_a_change_in_another_window_is_told_and_can_be_shown(browser_page, server):
    page = browser_page
    other = page.context.new_page()
    for window in (page, other):
        window.goto(urljoin(server.url, "compare"))
        window.locator("#answer").wait_for(timeout=60_000)
    _type_throughput(other, "50")
    told = page.get_by_text("This case has been changed in another window of this browser.")
    told.wait_for()
    page.get_by_role("button", name="Show it here").click()
    page.get_by_text("The changes of the other window are shown here").wait_for(timeout=60_000)
    assert page.get_by_label("Throughput (kg/h)").input_value() == "50"
    told.wait_for(state="detached")
    other.get_by_role("button", name="Undo").click()
    page.get_by_text("Another window of this browser has taken this case back to how it was opened.").wait_for()
    other.close()


def test_a_name_is_in_bold_where_it_is_no_part_of_a_longer_one():
    names = ["Present", "Present, jackets 50 mm", "Wheel"]
    told = "Nearest is “Present, jackets 50 mm”; Present costs more than Wheel & Present."
    assert in_bold(told, "Present", names) == (
        "Nearest is “Present, jackets 50 mm”; <b>Present</b> costs more than Wheel &amp; Present."
    )
    assert in_bold(told, "Present, jackets 50 mm", names).startswith("Nearest is “<b>Present, jackets 50 mm</b>”;")
    assert in_bold("Keep it.", "Wheel", names) == "Keep it."
