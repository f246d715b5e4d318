"""The Capital request view: inputs in words, one assumption at a time, the request made section by section, its files."""

from __future__ import annotations

import html
import re
import tomllib
from io import BytesIO
from urllib.parse import urljoin

import nbformat
import pypdf
import pytest
from keys import walk_to
from nbclient import NotebookClient

from dashboards import request_state
from dashboards.background import Ended, in_place
from dashboards.launch import HERE
from dashboards.request import FORMS, View
from dashboards.request_state import DocumentState, Page, RequestState
from dashboards.simulation_state import SimulationState
from energy import load_case, simulate


@pytest.fixture
def view():
    return View(RequestState("one-machine"))


@pytest.fixture(scope="module")
def found():
    return simulate(load_case("one-machine"), 64)


class Kept:
    """Stands for work that never ends by itself."""

    def __init__(self, work, arguments, on_message):
        self.work, self.arguments, self.tell, self.cancelled = work, arguments, on_message, False

    def cancel(self):
        self.cancelled = True


def followed():
    """A case, its simulation and its request, and every piece of work that they start."""
    jobs = []

    def start(*given):
        jobs.append(Kept(*given))
        return jobs[-1]

    state = RequestState("one-machine")
    simulation = SimulationState(state, start)
    document = DocumentState(state, simulation, start)
    simulation.begin()
    document.begin()
    return state, document, jobs


def _field(view, label):
    return next(field for field in view._inputs() if field.label == label)


def _document(view):
    return tomllib.loads(view.state.toml().decode())


def test_words_go_into_the_case_as_they_are_typed_and_go_when_they_are_taken_out(view):
    _field(view, "Title").control.value = "New dryers for machine 4"
    _field(view, "Risks").control.value = "Late delivery.\n\n  Lower throughput. "
    _field(view, "Schedule").control.value = "Order to delivery: 14\nFitting: 1.5 weeks\nTrial: 2,5"
    _field(view, "Date").control.value = "2026-03-01"
    _field(view, "Years of the study").control.value = "12"
    request = _document(view)["request"]
    assert request["title"] == "New dryers for machine 4"
    assert request["risks"] == ["Late delivery.", "Lower throughput."]
    assert request["schedule"] == [
        {"step": "Order to delivery", "weeks": 14.0},
        {"step": "Fitting", "weeks": 1.5},
        {"step": "Trial", "weeks": 2.5},
    ]
    assert _field(view, "Schedule").control.value == "Order to delivery: 14\nFitting: 1.5\nTrial: 2.5"
    assert str(view.state.case.model.request.date) == "2026-03-01"
    _field(view, "Date").control.value = "28.11.2026"
    assert str(view.state.case.model.request.date) == "2026-11-28"
    assert _field(view, "Date").control.value == "2026-11-28"
    assert view.state.case.model.finance.years == 12
    _field(view, "Title").control.value = ""
    assert "title" not in _document(view)["request"]


@pytest.mark.parametrize(
    ("label", "key"),
    [
        ("Electricity rises by a year", "electricity"),
        ("Gas rises by a year", "gas"),
        ("Maintenance, cooling and water rise by a year", "other"),
    ],
)
def test_every_price_rise_has_a_field(view, label, key):
    _field(view, label).control.value = "3 %"
    assert _document(view)["finance"][f"escalation_{key}"].startswith("3")
    assert getattr(view.state.case.model.finance, f"escalation_{key}") == 0.03


@pytest.mark.parametrize(
    ("label", "typed", "said"),
    [
        ("Date", "next spring", "is not a date, such as"),
        (
            "Schedule",
            "Order to delivery",
            "Line 1, “Order to delivery”: its weeks are missing; write them behind a colon",
        ),
        ("Schedule", "Order: 14\nFitting: soon", "Line 2, “Fitting”: 'soon' is no number of weeks"),
        ("Years of the study", "ten", "whole number"),
        ("Years of the study", "0", "at least 1"),
        ("Discount rate", "minus", "minus"),
        ("Title", "x" * 300, "200"),
    ],
)
def test_what_cannot_be_is_told_beside_its_field(view, label, typed, said):
    view.simulation._take(Ended(problem="no draws"))  # else the files wait for the chances
    field = _field(view, label)
    field.control.value = typed
    assert 'class="problem"' in field._note.value
    assert said in html.unescape(field._note.value)
    told = html.unescape(re.sub("<[^>]*>", "", view._problems.value))
    assert said in told
    assert told.count(f"{label}:") == 1
    assert "request." not in told
    assert all(download.disabled for download in view.downloads)
    assert f"nothing to download until this is put right: {label}." in view._waits.value
    view.state.undo()
    assert view._waits.value == ""
    assert 'class="problem"' not in field._note.value
    assert not any(download.disabled for download in view.downloads)


def test_the_site_has_a_field(view):
    _field(view, "Name of the site and case").control.value = "Works at the river"
    assert _document(view)["case"]["name"] == "Works at the river"
    assert "Works at the river" in view._head.value
    _field(view, "Name of the site and case").control.value = ""
    assert view.state.problems
    assert 'class="problem"' in _field(view, "Name of the site and case")._note.value


def test_the_sheet_is_shown_once_there_is_a_word_on_it_and_the_progress_says_what_is_written(view, found):
    assert view._paper_box.layout.display == "none"
    view.document.working = True
    assert "Writing the request: 0 sections" in view._progress.value
    view.document._take(Page(place=1, markup="<p>one</p>"))
    assert view._paper_box.layout.display is None
    view.simulation._take(found)
    assert "again, with its chances: 1 section so far" in view._progress.value
    view.document._take(Ended())
    assert "Writing" not in view._progress.value


def test_a_discount_rate_below_zero_is_allowed_and_said(view):
    field = _field(view, "Discount rate")
    assert "below zero" not in field._note.value
    field.control.value = "-5"
    assert view.state.problems == ()
    assert "below zero" in field._note.value
    field.control.value = "5"
    assert "below zero" not in field._note.value


def test_an_option_is_asked_for_by_name(view):
    name = view.state.case.model.options[-1].name
    choice = _field(view, "Option asked for")
    choice.control.value = name
    assert view.state.case.model.request.recommended == name
    told = view._answer.value
    assert told.index(f"Asked for is {name}: ") < told.index("Lowest life-cycle cost")
    choice.control.value = ""
    assert view.state.case.model.request.recommended == ""
    assert "Asked for" not in view._answer.value


def test_a_quote_is_changed_line_by_line():
    view = View(RequestState("demo"))
    before = _document(view)["options"][5]
    assert before["name"] == "Central wheel, variable speed"
    hopper = _field(view, "Central wheel, variable speed: Hopper with heater, 4 × each")
    assert (hopper.control.value, hopper.control.description[-5:]) == ("9500", "(USD)")
    assert "109,000 USD in all" in view._capital_sums["Central wheel, variable speed"].value
    hopper.control.value = "10000"
    after = _document(view)["options"][5]
    assert [line["item"] for line in after["capital"]] == [line["item"] for line in before["capital"]]
    assert after["capital"][1] == {"item": "Hopper with heater", "amount": "10000 USD", "count": 4}
    assert after["capital"][0] == before["capital"][0]
    assert "111,000 USD in all" in view._capital_sums["Central wheel, variable speed"].value
    hopper.control.value = "dear"
    assert 'class="problem"' in hopper._note.value
    assert "Hopper with heater" in view._problems.value
    view.state.undo()
    view.state.set({"options['Vacuum'].capital": "100000 USD"})  # one sum is one field
    _field(view, "Vacuum").control.value = "90000"
    assert _document(view)["options"][8]["capital"] == "90000 USD"


def test_texts_written_for_another_option_are_told_until_read_again():
    view = View(RequestState("demo"))
    state, old = view.state, "Central wheel, variable speed"
    assert state.asked_for == old  # of itself, the best that dries
    assert view._old.value == ""
    _field(view, "Option asked for").control.value = "Rotating beds"
    assert f"Written for {old}: Title, Why now, Risks" in view._old.value
    assert "Asked for now is Rotating beds: read them again." in view._old.value
    beside = view._old_texts["request.downtime"]
    assert f"Written for {old}: read it again." in beside._said.value
    assert beside.box.layout.display is None
    _field(view, "Title").control.value = "Rotating beds for four machines"
    assert "request.title" not in state.of_another()
    beside.button.click()
    assert beside.box.layout.display == "none"
    assert "Downtime" not in view._old.value
    state.undo()  # to have said so is a change like any other
    assert "Downtime" in view._old.value
    state.undo()  # the old title is back, and still that of the other option
    assert state.of_another()["request.title"] == old
    state.undo()
    assert state.asked_for == old
    assert state.of_another() == {}


def test_a_kept_case_knows_for_which_option_its_texts_were_opened():
    state, other = RequestState("demo"), RequestState("demo")
    state.set({"request.recommended": "Rotating beds", "request.title": "Rotating beds"})
    other.take_up(state.kept())
    assert other.asked_for == "Rotating beds"
    assert "request.why_now" in other.of_another()
    assert "request.title" not in other.of_another()


def test_a_change_of_figures_that_turns_the_choice_is_told_too():
    state = RequestState("demo")
    state.set({"options['Central wheel, variable speed'].capital": "400000 USD"})
    assert state.asked_for != "Central wheel, variable speed"
    assert "request.why_now" in state.of_another()


def test_an_assumption_takes_range_basis_and_note(view):
    editor = view.assumption
    editor.chooser.value = "hoppers['Machine 7'].throughput"
    editor.parts["value"].value = "70"
    editor.parts["low"].value = "65"
    editor.parts["high"].value = "75 kg/h"
    editor.basis.value = "measured"
    editor.note.value = "weighed for an hour"
    assert _document(view)["hoppers"][0]["throughput"] == {
        "value": "70 kg/h",
        "low": "65 kg/h",
        "high": "75 kg/h",
        "basis": "measured",
        "note": "weighed for an hour",
    }
    editor.parts["low"].value = "80"
    assert 'class="problem"' in editor._problem._note.value
    view.state.undo()
    for key in ("low", "high"):
        editor.parts[key].value = ""
    editor.basis.value, editor.note.value = "", ""
    assert _document(view)["hoppers"][0]["throughput"] == {"value": "70 kg/h"}


def test_the_assumptions_are_searched_by_words_in_any_order(view):
    editor = view.assumption
    every = len(editor.chooser.options)
    editor.chooser.value = "hoppers['Machine 7'].throughput"
    editor.search.value = "beds LEAK"
    assert list(editor.chooser.options) == [
        ("Throughput: Machine 7", "hoppers['Machine 7'].throughput"),  # what is chosen stays
        ("Hall air leaking in: Rotating beds", "options['Rotating beds'].inputs.leak_share"),
    ]
    assert "1 of " in editor._found._note.value
    assert editor.parts["value"].value == "90 kg/h"
    editor.chooser.value = "options['Rotating beds'].inputs.leak_share"
    assert editor.parts["value"].value == "1"
    view.refresh()
    assert len(editor.chooser.options) == 1  # a change of the case keeps the search
    editor.search.value = "no such thing"
    assert [path for _, path in editor.chooser.options] == ["options['Rotating beds'].inputs.leak_share"]
    editor.search.value = ""
    assert len(editor.chooser.options) == every


def test_every_assumption_can_be_shown(view):
    """A value that is shown and not touched changes nothing."""
    before = view.state.document
    for _, path in view.assumption.chooser.options:
        view.assumption.chooser.value = path
    assert view.state.document == before


def test_hostile_texts_are_text(view):
    hostile = "<img src=x onerror=alert(1)>"
    _field(view, "Title").control.value = hostile
    _field(view, "Why now").control.value = hostile
    _field(view, "Date").control.value = hostile
    shown = view._problems.value + "".join(field._note.value for field in view._inputs())
    assert "<img" not in shown
    view.state.undo()
    pages = []
    request_state.sections(view.state.comparison, None, False, pages.append)
    text = "".join(page.markup for page in pages)
    assert "<img src=x" not in text
    assert "&lt;img src=x" in text


# ---------- the request as it is made ----------


def test_sections_are_numbered_and_the_short_form_has_fewer():
    comparison = RequestState("one-machine").comparison
    whole, short = [], []
    request_state.sections(comparison, None, False, whole.append)
    request_state.sections(comparison, None, True, short.append)
    assert [page.place for page in whole] == list(range(1, len(whole) + 1))
    assert "1 Decision</h2>" in whole[0].markup
    assert "Sensitivity" in "".join(page.markup for page in whole)
    assert 1 < len(short) < len(whole)


def test_a_change_makes_the_request_anew_and_keeps_the_old_one_in_sight():
    state, document, jobs = followed()
    writing = jobs[-1]
    for place in (1, 2, 3):
        writing.tell(Page(place=place, markup=f"old {place}"))
    writing.tell(Ended())
    assert not document.working
    state.set({"request.title": "Another"})
    assert jobs[-1].work is request_state.sections
    assert jobs[-1].arguments[0] is state.comparison
    assert (document.fresh, len(document.pages)) == (0, 3)
    writing.tell(Page(place=1, markup="too late"))
    assert document.pages[1] == "old 1"
    jobs[-1].tell(Page(place=1, markup="new 1"))
    assert (document.fresh, document.pages[1], document.pages[2]) == (1, "new 1", "old 2")
    jobs[-1].tell(Ended())
    assert document.pages == {1: "new 1"}


def test_it_is_written_again_when_its_chances_are_known(found):
    _, document, jobs = followed()
    drawing, writing = jobs[0], jobs[-1]
    writing.tell(Ended())
    assert writing.arguments[1] is None
    drawing.tell(found)
    drawing.tell(Ended())
    assert jobs[-1] is not writing
    assert jobs[-1].arguments[1] is found
    jobs[-1].tell(Ended())
    assert not document.working


def test_a_case_with_problems_is_not_written():
    state, document, jobs = followed()
    state.set({"finance.rate": "much"})
    assert "once the case is complete" in document.problem
    assert jobs[-1].cancelled
    state.undo()
    assert document.problem == ""
    assert document.working


def test_no_file_is_made_while_its_chances_may_still_come(found):
    state, document, jobs = followed()
    drawing, made, refused = jobs[0], [], []
    document.file(".html", made.append, refused.append)
    assert "wait for the chances" in refused[0]
    assert all(job.work is not request_state.file for job in jobs)
    drawing.tell(found)  # coarse draws; finer ones follow
    assert document.waits
    drawing.tell(Ended())
    assert document.waits == ""
    document.file(".html", made.append, refused.append)
    assert jobs[-1].work is request_state.file
    assert jobs[-1].arguments[1] is found
    state.set({"finance.rate": "9 %"})  # the chances are of another case now
    assert document.waits


def test_files_without_chances_where_none_can_be_drawn():
    _, document, jobs = followed()
    jobs[0].tell(Ended(problem="No draws."))
    assert document.waits == ""
    document.file(".html", print, print)
    assert jobs[-1].work is request_state.file
    assert jobs[-1].arguments[1] is None


def test_the_buttons_wait_for_the_chances_and_say_so(view, found):
    assert all(download.disabled for download in view.downloads)
    assert "wait for the chances" in view._waits.value
    view.simulation._take(found)
    view.simulation._take(Ended())
    assert not any(download.disabled for download in view.downloads)
    assert view._waits.value == ""


@pytest.mark.parametrize("ending", [form[0] for form in FORMS])
def test_every_form_is_made(ending):
    state = RequestState("one-machine")
    made, refused = [], []
    simulation = SimulationState(state, in_place)
    document = DocumentState(state, simulation, in_place)
    simulation.run((16,), 0.0)
    document.file(ending, made.append, refused.append)
    assert refused == []
    assert made[0][:4] == {".pdf": b"%PDF", ".xlsx": b"PK\x03\x04", ".html": b"<!DO"}[ending]
    assert document.name(ending) == f"case-request{ending}"


def test_what_goes_wrong_with_a_file_is_told_beside_its_button(view, monkeypatch):
    sent = []
    view.simulation._take(Ended(problem="no draws"))
    monkeypatch.setattr(view.document, "_start", in_place)
    monkeypatch.setattr(request_state, "file", _fails)
    monkeypatch.setattr(view.downloads[0], "send", lambda content, buffers=None: sent.append(content))
    view.downloads[0]._answer(None, "wanted", None)
    assert sent == [{"kind": "problem", "text": "This could not be worked out: an error in the program."}]


def _fails(*_):
    raise ZeroDivisionError


def test_the_notebook_runs_and_shows_the_view():
    notebook = nbformat.read(HERE / "capital-request.ipynb", as_version=4)
    NotebookClient(notebook, timeout=180, kernel_name="python3").execute()
    data = notebook.cells[-1].outputs[-1]["data"]
    assert "application/vnd.jupyter.widget-view+json" in data


# ---------- in the browser ----------


@pytest.mark.browser
def test_an_energy_manager_writes_a_request_and_takes_it_home(browser_page, server, faults):
    page = browser_page
    page.goto(urljoin(server.url, "capital-request"))
    page.locator("#answer").wait_for(timeout=60_000)
    page.get_by_role("heading", name="1 Decision").wait_for(timeout=120_000)
    title = page.get_by_label("Title", exact=True)
    title.fill("Dryers <b>for</b> four machines")
    title.press("Enter")
    page.get_by_label("Discount rate (%/year)").fill("11")
    page.get_by_label("Discount rate (%/year)").press("Enter")
    page.get_by_text("11 % real").first.wait_for(timeout=60_000)
    page.get_by_label("Search the assumptions").fill("beds leak")
    page.get_by_text(re.compile(r"^1 of \d+ in the list\.$")).wait_for()
    assert page.get_by_label("Assumption", exact=True).locator("option").count() == 2  # with the one that is chosen
    with page.expect_download(timeout=120_000) as made:  # the button waits for the chances
        page.get_by_role("button", name="Download the PDF").click(timeout=120_000)
    page.get_by_role("navigation", name="Sections").get_by_role("link", name="15 Assumptions").click()
    assert 0.0 < page.locator("#s15").bounding_box()["y"] < page.viewport_size["height"]
    text = pypdf.PdfReader(BytesIO(made.value.path().read_bytes())).pages[0].extract_text()
    assert "Dryers <b>for</b> four machines" in " ".join(text.split())
    assert "11 %" in text


@pytest.mark.thorough
@pytest.mark.browser
def test_a_request_is_changed_and_taken_home_by_keyboard_alone(browser_page, server):
    page = browser_page
    page.goto(urljoin(server.url, "capital-request"))
    page.get_by_role("heading", name="1 Decision").wait_for(timeout=120_000)
    asked = walk_to(page, "Option asked for")
    page.keyboard.press("Home")  # the best that dries
    page.keyboard.press("ArrowDown")
    paper = page.locator(".paper")
    paper.get_by_text("by “Twin towers, new”").first.wait_for(timeout=120_000)
    assert asked.evaluate("node => node === document.activeElement")  # a new document takes no focus away
    walk_to(page, "Title")
    page.keyboard.press("Control+A")
    page.keyboard.type("Towers for four machines")
    page.keyboard.press("Enter")
    share = walk_to(page, "Contingency over the capital (%)")
    page.keyboard.press("Control+A")
    page.keyboard.type("10")
    page.keyboard.press("Enter")
    # 76,800 USD for four towers and a tenth on top.
    decision = "Approval is asked for 84,480 USD, of which 7,680 USD is contingency"
    paper.get_by_text(decision).first.wait_for(timeout=120_000)
    assert share.evaluate("node => node === document.activeElement")
    page.locator("button:enabled", has_text="Download the PDF").wait_for(timeout=240_000)  # the chances have come
    walk_to(page, "Download the PDF")
    with page.expect_download(timeout=120_000) as made:
        page.keyboard.press("Enter")
    text = pypdf.PdfReader(BytesIO(made.value.path().read_bytes())).pages[0].extract_text()
    said = " ".join(text.split())
    assert "Towers for four machines" in said
    assert decision in said
    assert page.locator(".problem", has_text="Written for").first.inner_text().count("Title") == 0  # it was read again


def test_paper_goes_with_the_units_until_another_is_chosen(view):
    assert view.document.paper == "a4"
    view._units.value = "us"
    assert view.document.paper == "letter"
    view._paper.value = "a4"
    view._units.value = "si"
    view._units.value = "us"
    assert view.document.paper == "letter"  # A4 is what goes with SI, so that it was no choice against it
    view._units.value = "si"
    view._paper.value = "letter"
    view._units.value = "us"
    assert view.document.paper == "letter"
