"""The Bill view bound to a state: widgets without a browser, the notebook in a kernel, and a visitor in Chromium."""

from __future__ import annotations

from pathlib import Path
from urllib.parse import urljoin

import pytest
from keys import walk_to

from dashboards.bill import View
from dashboards.bill_state import State
from dashboards.upload import LIMIT, Upload
from energy.study.compare import CAUTIONS

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def view():
    view = View(State("one-machine"))
    view._tariff.value = "time-of-use-electricity"
    return view


def entry(view, key):
    return next(e for e in view._entries if e.key == key)


def test_choosing_a_tariff_shows_its_own_inputs_and_bill(view):
    view._tariff.value = "block-gas"
    assert "12,529.75" in view._answer.value
    assert [e.key for e in view._entries][:2] == ["energy", "daily_peak"]
    assert view._map.layout.display == "none"  # one price at all hours
    assert "8.526 USD/MMBtu" in view._map_words.value  # by hand: 7.20 + 53.06 kg x 0.025 USD/kg
    view._tariff.value = "flat-water"
    assert view._entries[0].key == "volume"


def test_a_bad_value_is_told_beside_it(view):
    view._tariff.value = "flat-electricity"
    entry(view, "energy").control.value = "<b>much"
    note = entry(view, "energy")._note.value
    assert "is not an energy" in note
    assert "<b>much" not in note
    assert view._answer.value == ""
    entry(view, "energy").control.value = "100000"
    assert "14,840.00" in view._answer.value


def test_a_printed_amount_that_is_apart_is_named_on_top(view):
    entry(view, "printed Facility demand charge").control.value = "960"
    assert "More than 1 % apart: Facility demand charge." in view._answer.value
    assert "means 160 kW instead of 150" in view._reconciled.value


def test_the_year_is_shown_by_line_or_by_month(view):
    assert "Share" in view._year_table.value
    view._shown.value = 7
    assert "Quantity" in view._year_table.value
    entry(view, "constant").control.value = ""
    assert "Give a constant load" in view._year_table.value


def test_a_swap_is_shown_line_by_line_with_its_payback(view):
    card = view._swap
    card._option.value = "New twin tower"
    card.button.click()
    assert "comes off the bill" in card._said.value
    assert 'id="swap"' in card._lines.value
    assert "Flat electricity (invented)" in card._others.value
    assert "Working out" not in card._said.value
    view._tariff.value = "flat-electricity"
    assert card._lines.value == ""


def test_it_is_said_that_the_typed_bill_is_not_kept_and_a_slip_stands_beside_its_field(view):
    hints = [box.children[1].value for box in view.page.children[0].children if len(getattr(box, "children", ())) == 2]
    assert any("it is gone when you leave or reload this page" in hint for hint in hints)
    view._tariff.value = "flat-electricity"
    entry(view, "energy").control.value = "21.000"
    beside = entry(view, "energy").box.children[1].value
    assert "21.000 is read as 21 kWh; for thousands write 21000." in beside


def test_the_swap_begins_with_the_option_that_the_case_asks_for():
    demo = View(State())
    asked = demo.state.case.model.request.recommended
    assert demo._swap._option.value == (asked or "Central wheel, variable speed")
    demo.state.behind.set({"request.recommended": "Wheels, variable speed"})
    demo._swap._option.value = None
    demo.state.behind.set({"options[2].name": "Beds"})
    assert demo._swap._option.value == "Wheels, variable speed"


def test_the_plant_of_the_case_is_offered_where_there_is_one(view):
    assert view._plant.layout.display == "none"  # one machine, no plant
    demo = View(State())
    assert demo._plant.layout.display == "none"  # taken already
    demo._drop.click()
    assert demo._plant.layout.display is None
    demo._plant.click()
    demo._tariff.value = "time-of-use-electricity"
    assert "A year&#x27;s bill of the case&#x27;s plant, 2026: 334,7" in demo._year_title.value
    assert (demo._plant.layout.display, demo._constant.layout.display) == ("none", "none")
    demo._drop.click()
    assert "a constant load" in demo._year_title.value


def test_cautions_stand_on_the_view(view):
    last = view.page.children[1].children[-2].value
    for caution in CAUTIONS:
        assert caution.replace("'", "&#x27;") in last


# ---------- uploads ----------


def test_an_upload_is_measured_again_where_it_arrives():
    taken = []
    button = Upload(lambda name, data: taken.append((name, data)) or "")
    button._arrived(None, {"name": "big.toml"}, [b"x" * (LIMIT + 1)])
    assert taken == []
    assert button.problem == "big.toml has 10.0 MB; at most 10 MB are taken."
    button._arrived(None, {"name": "..\\..\\folder/small.toml"}, [memoryview(b"x")])
    assert taken == [("small.toml", b"x")]
    assert button.problem == ""


@pytest.mark.parametrize("content", ["wanted", {}, {"name": 1}, None])
def test_a_message_that_is_no_file_is_passed_over(content):
    button = Upload(lambda name, data: pytest.fail("taken"))
    button._arrived(None, content, [b"x"])
    button._arrived(None, {"name": "a.toml"}, [])
    assert button.problem == ""


def test_an_error_in_the_program_is_kept_inside(caplog):
    def fail(name, data):
        raise KeyError("/secret/path")

    button = Upload(fail)
    button._arrived(None, {"name": "a.toml"}, [b"x"])
    assert "secret" not in button.problem
    assert "/secret/path" in caplog.text


# ---------- notebook ----------


def test_the_notebook_runs_and_shows_the_view():
    import nbclient
    import nbformat

    notebook = nbformat.read(ROOT / "dashboards/bill.ipynb", as_version=4)
    client = nbclient.NotebookClient(
        notebook, timeout=120, kernel_name="python3", resources={"metadata": {"path": ROOT}}
    )
    client.execute()
    shown = [output for cell in notebook.cells for output in cell.get("outputs", [])]
    assert [output.output_type for output in shown] == ["display_data"]


# ---------- visitor ----------


def type_in(page, label, text):
    field = page.get_by_label(label, exact=True)
    field.fill(text)
    field.press("Enter")


def upload(page, button, file):
    with page.expect_file_chooser() as waiting:
        page.get_by_role("button", name=button).click()
    waiting.value.set_files(file)


@pytest.mark.browser
def test_a_visitor_reconciles_a_bill_with_a_tariff_of_their_own(browser_page, server, tmp_path):
    page = browser_page
    page.goto(urljoin(server.url, "compare"))
    page.get_by_role("link", name="Bill").click()
    page.locator("#answer").wait_for(timeout=60_000)
    assert page.title() == "The bill, line by line"
    assert page.locator("nav [aria-current]").inner_text() == "Bill"
    assert (
        "14,840.00 USD by this tariff, as worked out by hand in its file: an example."
        in page.locator("#answer").inner_text()
    )
    page.get_by_label("Tariff", exact=True).select_option(label="time of use electricity")
    page.locator("#answer:has-text('7,121.98 USD')").wait_for()
    page.locator(".plot-view [data-drawn] .heatmaplayer").first.wait_for(state="attached")
    page.get_by_role("button", name="Work out the swap").click()
    page.locator("#swap").wait_for()
    assert "Demand charge: summer on-peak" in page.locator("#swap").inner_text()

    type_in(page, "Total (USD)", "seven")
    page.locator("#reconciled tfoot", has_text="not an amount of money").wait_for()
    type_in(page, "Highest demand (kW)", "149")
    page.get_by_text("The periods below have at most 150 kW").first.wait_for()
    own = tmp_path / "own.toml"
    text = (ROOT / "tariffs_demo/flat-electricity.toml").read_text(encoding="utf-8").split("[worked]")[0]
    own.write_text(text.replace('name = "', 'name = "<b>Own</b> '), encoding="utf-8")
    upload(page, "Upload a tariff", own)
    page.get_by_role("heading", name="<b>Own</b> Flat electricity").wait_for()
    assert page.get_by_label("Highest demand (kW)", exact=True).input_value() == "149"  # what was typed in stays
    type_in(page, "Energy (kWh)", "100000")
    page.locator("#reconciled:has-text('11,500.00')").wait_for()  # answered, so that no answer comes while one types
    type_in(page, "Highest demand (kW)", "250")
    page.locator("#reconciled:has-text('250 kW')").wait_for()
    type_in(page, "Demand charge (USD)", "3380")
    type_in(page, "Total (USD)", "14970")
    page.locator("#answer:has-text('More than 1 % apart: Demand charge')").wait_for()
    row = page.locator("#reconciled tr[data-off]")
    assert "260 kW instead of 250" in row.first.inner_text()

    page.get_by_role("button", name="Use this tariff in the case").click()
    page.get_by_text("is now the case's tariff for electricity").wait_for()
    page.locator(".case-bar [data-kept]:not([data-kept='0'])").wait_for(state="attached")
    page.get_by_role("link", name="Compare").click()
    page.locator("#answer").wait_for(timeout=60_000)
    chosen = page.locator(".panel select option:checked").filter(has_text="<b>Own</b>")
    chosen.first.wait_for(state="attached")


@pytest.mark.browser
@pytest.mark.thorough
def test_files_that_cannot_be_used_are_told_in_words(browser_page, server, tmp_path):
    page = browser_page
    page.goto(urljoin(server.url, "bill"))
    page.locator("#answer").wait_for(timeout=60_000)
    big, bad = tmp_path / "big.toml", tmp_path / "bad.toml"
    big.write_bytes(b"#" * (40 * 2**20))  # above what one message to the server may hold
    upload(page, "Upload a tariff", big)
    page.get_by_role("alert").filter(has_text="big.toml has 41.9 MB; at most 10 MB are taken.").wait_for()
    bad.write_text('name = "x"\n')
    upload(page, "Upload a tariff", bad)
    page.get_by_role("alert").filter(has_text="bad.toml: commodity: is missing").wait_for()
    assert "14,840.00 USD" in page.locator("#answer").inner_text()


@pytest.mark.thorough
@pytest.mark.browser
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_tablet_shows_the_bill_without_scrolling_sideways(open_page, server, scheme):
    page = open_page(viewport={"width": 820, "height": 1180}, color_scheme=scheme)
    page.goto(urljoin(server.url, "bill"))
    page.locator("#answer").wait_for(timeout=60_000)
    page.locator(".plot-view [data-drawn]").first.wait_for(state="attached")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert page.locator("#answer").bounding_box()["y"] < page.get_by_label("Year", exact=True).bounding_box()["y"]
    charges = page.locator(".scroll:has(#charges)")
    assert charges.evaluate("box => box.scrollWidth <= box.clientWidth")


@pytest.mark.thorough
@pytest.mark.browser
def test_a_bill_is_laid_beside_the_printed_one_and_a_swap_worked_out_by_keyboard_alone(browser_page, server):
    page = browser_page
    page.goto(urljoin(server.url, "bill"))
    page.locator("#answer").wait_for(timeout=60_000)
    walk_to(page, "Tariff")
    page.keyboard.type("flat electricity")
    walk_to(page, "Energy (kWh)")
    page.keyboard.press("Control+A")
    page.keyboard.type("120000")
    page.keyboard.press("Enter")
    page.locator("#answer", has_text="type in the printed amounts").wait_for()  # those of the example have gone
    total = walk_to(page, "Total (USD)")
    for _ in range(100):  # the field is emptied a moment after the answer has come
        if total.input_value() == "":
            break
        page.wait_for_timeout(100)
    page.keyboard.type("17140")  # 90 + 120,000 kWh at 0.115 + 250 kW at 13
    page.keyboard.press("Enter")
    page.locator("#answer", has_text="17,140.00 USD by this tariff, as printed.").wait_for()
    assert total.evaluate("node => node === document.activeElement")  # an answer takes no focus away
    walk_to(page, "Work out the swap")
    page.keyboard.press("Enter")
    page.locator("#swap").wait_for(timeout=60_000)
    assert "Energy charge" in page.locator("#swap").inner_text()
