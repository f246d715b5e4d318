"""One case behind a view: opened, changed, undone, kept by the browser; no widget in here."""

from __future__ import annotations

import hashlib
import json
import logging
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

import tomli_w
import traitlets

from dashboards import files_of_a_page, quotes, steps_back
from energy.errors import CaseError, EnergyError, Problem
from energy.study import standing, written_for
from energy.study.case import (
    MAX_BYTES,
    Case,
    build,
    example_text,
    load_case,
    read_document,
    with_good_scenarios,
    write_whole,
)
from energy.study.compare import Comparison, compare
from energy.study.paths import changed
from energy.study.references import files_named
from energy.study.taken_along import taken_along
from energy.study.written_over import written_over

_log = logging.getLogger(__name__)
UNDO = 50
"""Changes that can be taken back."""


class CaseState(traitlets.HasTraits):
    """One case, its last good comparison, and what is wrong with it now.

    Every setting goes the same way: into the document, through the same checks as a case file, to a new comparison. What
    does not pass leaves the last good comparison in place and is listed in ``problems``.
    """

    system = traitlets.Enum(("si", "us"), default_value="si")
    """Units shown; no value changes with it."""
    problems = traitlets.Tuple()
    """energy.errors.Problem, in the order of the case."""
    revision = traitlets.Int(0)
    """Counts the comparisons, good or not."""
    working = traitlets.Bool(False)
    """Is a comparison being worked out?"""
    notice = traitlets.Unicode()
    """What the visitor should know of the case on screen: taken up again, saved, opened."""

    def __init__(self, case: str | None = None) -> None:
        """Open a case file, or the demo case where none is named."""
        super().__init__()
        self.folder: Path | None = None
        self.file = "case.toml"
        self.comparison: Comparison = None  # type: ignore[assignment]  # set by the line below, before anybody looks
        self.document: dict[str, Any] = {}
        self.opened: dict[str, Any] = {}
        """The document as it was opened."""
        self._history: list[dict[str, Any]] = []
        self._leap: dict[str, Any] | None = None
        self._on_disk: bytes | None = None
        self._text = ""
        """As the case was opened or saved, with its comments; empty where only its values are known."""
        self._own_files: frozenset[str] = frozenset()
        self.open(case)
        self._own_files = frozenset(files_named(self.opened).values())
        self.served = self.base
        """Mark of the case that every view of this server opens with."""
        self._served_place = (self.folder, self.file)

    @property
    def stale(self) -> bool:
        """Does the comparison belong to an older state of the document?"""
        return bool(self.problems)

    @property
    def case(self) -> Case:
        """The case of the last good comparison."""
        return self.comparison.case

    @property
    def base(self) -> str:
        """A mark of the case as opened, by which its changes are kept apart from those of others."""
        return hashlib.sha256(json.dumps(self.opened, sort_keys=True, default=str).encode()).hexdigest()[:16]

    @property
    def changed(self) -> bool:
        """Has anything been changed since the case was opened or saved?"""
        return self.document != self.opened

    @property
    def undoable(self) -> int:
        """How many changes can be taken back."""
        return len(self._history)

    @property
    def undo_takes_all(self) -> bool:
        """Does Undo go back to the case as opened at once, since the browser had no room for the steps between?"""
        return bool(self._history) and self._history[-1] is self._leap

    # --- opening

    def open(self, case: str | None) -> None:
        """Load a case file, or the demo case; a file that cannot be used is told and the demo shown instead."""
        problems: tuple[Problem, ...] = ()
        try:
            loaded = load_case(case or "demo")
            comparison = compare(loaded)
        except EnergyError as error:
            problems = _problems(error)
            loaded = build(read_document(example_text("demo"), "demo"))
            comparison = compare(loaded)
        self._on_disk = _bytes(loaded)
        self._begin(loaded, comparison, problems)
        self._text = _text(self._on_disk or b"")

    def open_text(self, name: str, content: bytes) -> str:
        """Open a case that the visitor brings; what is wrong with it, or an empty text. The case on screen stays then."""
        try:
            if len(content) > MAX_BYTES:
                return f"{name} has more than {MAX_BYTES} bytes; a case file is a few kilobytes."
            loaded = with_good_scenarios(self._build(read_document(content.decode("utf-8-sig"), name), file=name))
            comparison = compare(loaded)
        except UnicodeDecodeError:
            return f"{name} is not UTF-8 text; a case file is a text file in TOML."
        except EnergyError as error:
            return str(error)
        self._on_disk = None
        self._begin(loaded, comparison, file=name)
        self._text = _text(content)
        self.notice = f"{name} was opened."
        return ""

    def _begin(
        self, loaded: Case, comparison: Comparison, problems: tuple[Problem, ...] = (), *, file: str = ""
    ) -> None:
        """Put a case on the table; `file` names that of one which a visitor brought, before the browser is told of it."""
        self.comparison, self.folder = comparison, loaded.folder
        self.file = Path(loaded.file).name if loaded.folder else file or "case.toml"
        self.document = {}  # choosing the units below is no edit
        self.system = loaded.model.case.units
        self.document = dict(loaded.document)
        self.opened, self._text = self.document, ""
        self._history, self._leap, self.notice = [], None, ""
        self._opened()
        self.problems = problems
        self.revision += 1
        self._compared()

    def _opened(self) -> None:
        """What a view does when another case is on the table."""

    def _compared(self) -> None:
        """What a view does after a good comparison."""

    # --- changing

    @traitlets.observe("system")
    def _units_of_the_case(self, change: dict[str, Any]) -> None:
        """The units shown are the case's own: they are saved with it and its sentences are written in them."""
        if self.document and self.document.get("case", {}).get("units", "si") != change["new"]:
            self.set({"case.units": change["new"]})

    def set(self, changes: Mapping[str, Any]) -> None:
        """Put values into the document and compare again; a capital keeps its throughput, a present dryer its size."""
        after, told = self._after(changes)
        self._put(after)
        self.notice = told or self.notice

    def foresee(self, changes: Mapping[str, Any]) -> None:
        """Compare what values about to be set would give, so that the engine knows it by then; nothing shown changes."""
        with suppress(EnergyError):
            compare(self._build(self._after(changes)[0], folder=self.folder, file=self.file))

    def _after(self, changes: Mapping[str, Any]) -> tuple[dict[str, Any], str]:
        """The document with values put into it and all that goes along, and what is to be told of that."""
        changes = self._with_what_hangs_on(changes)
        after = changed(self.document, changes)
        if quoted := quotes.kept_with(self.document, changes, after, self.case):
            after = changed(after, quoted)
        sizes, told = standing.kept_with(self.document, after, self.case)
        return changed(after, sizes) if sizes else after, told

    def _with_what_hangs_on(self, changes: Mapping[str, Any]) -> Mapping[str, Any]:
        """The changes and what a view changes along with them."""
        return changes

    def undo(self) -> None:
        """Take back the last change."""
        if self._history:
            self.document = self._history.pop()
            self.notice = ""
            self._recompute()

    def reset(self) -> None:
        """Go back to the case as it was opened or saved; that can be undone like any change."""
        self.notice = ""
        self._exchange(self.opened)

    def put(self, document: dict[str, Any]) -> None:
        """Take another document as it is, as one change."""
        self._put(document)

    def _put(self, document: dict[str, Any]) -> None:
        before, asked = self.document, written_for.asked_for(self.comparison)
        self._exchange(written_for.kept_up(before, document))
        if not self.problems:
            now = written_for.asked_for(self.comparison)
            after = written_for.left_behind(before, self.document, asked, now)
            if after != self.document:
                self.document = after
                self._recompute()

    def _exchange(self, document: dict[str, Any]) -> None:
        if document == self.document:
            return
        self.notice = ""  # of what was done before
        self._history.append(self.document)
        del self._history[:-UNDO]
        self.document = document
        self._recompute()

    def _recompute(self) -> None:
        self.working = True
        try:
            self._compare()
        finally:
            self.working = False

    def _compare(self) -> None:
        try:
            comparison = compare(self._build(self.document, folder=self.folder, file=self.file))
        except EnergyError as error:
            self.problems = _problems(error)
        except Exception:  # the border to the visitor: told in words, the traceback goes to the log
            _log.exception("comparison failed")
            self.problems = (
                Problem("", "This could not be computed: an error in the program. The last result is shown."),
            )
        else:
            self.comparison, self.problems = comparison, ()
            self.system = comparison.case.model.case.units  # a change taken back may have been that of the units
            self._checked()
        self.revision += 1
        if not self.problems:
            self._compared()

    def _build(self, document: Mapping[str, Any], *, folder: Path | None = None, file: str) -> Case:
        """A case of what came from a page, which may have no file read here but those that the case as served names."""
        if strange := files_of_a_page.strange(document, self._own_files):
            raise CaseError(strange, file=file)
        return build(document, folder=folder, file=file)

    def _checked(self) -> None:
        """What a view puts right before a good comparison is shown, such as the option chosen."""

    # --- keeping

    def kept(self) -> str:
        """What the browser keeps of the case, as JSON text: enough to go on after a reload, in another view or another day."""
        if not self.changed and self.base == self.served:
            return json.dumps({"base": self.base, "name": self.case.name, "changed": False})
        name = str(self.document.get("case", {}).get("name", self.case.name))
        file = "" if self.base == self.served else self.file
        document = self._to_keep(self.document)
        texts = {"text": tomli_w.dumps(document), "opened": tomli_w.dumps(self.opened) if file else ""}
        back = steps_back.kept([self._to_keep(step) for step in self._history], document)
        leap = len(back) == len(self._history) and self._leap is not None and self._history[:1] == [self._leap]
        return json.dumps(
            {
                "base": self.base,
                "name": name,
                "file": file,
                "changed": self.changed,
                **texts,
                "back": back,
                "leap": leap,
            }
        )

    def _to_keep(self, document: dict[str, Any]) -> dict[str, Any]:
        """What other views get of a document."""
        return document

    def _shown_again(self, entry: Mapping[str, Any]) -> str:
        """What this view goes on with, of what was kept."""
        return str(entry["text"])

    def take_up(self, kept: str, *, elsewhere: bool = False) -> None:
        """Go on with what the browser has kept, of the last time or of another window; what cannot be read is told and left."""
        try:
            entry = json.loads(kept)
            document = read_document(self._shown_again(entry), "the kept case")
            last = read_document(str(entry["text"]), "the kept case")
            steps = steps_back.taken_up([str(text) for text in entry.get("back", ())][-UNDO:], last)
            if entry["base"] != self.base:
                opened = self._build(read_document(str(entry["opened"]), "the kept case"), file=str(entry["file"]))
                self._on_disk = None
                self._begin(opened, compare(opened), file=Path(str(entry["file"])).name)
        except (EnergyError, ValueError, LookupError, TypeError):
            self.notice = "What this browser had kept of an earlier visit cannot be used; the case as opened is shown."
            return
        if document == self.document:
            return
        self._history = steps or [self.document]  # before it is compared, and kept again
        self._leap = self._history[0] if not steps or entry.get("leap") else None
        self.document = document
        self._recompute()
        if self.problems:
            self._show_last_good()
        takes = "the last of them back"
        if self.undo_takes_all:
            takes = "all of them back at once, since there was no room to keep the steps"
        elif self._history == [self.opened]:
            takes = "them back"
        shown = (
            "The changes of the other window are shown here"
            if elsewhere
            else "Your changes of the last time are shown again"
        )
        self.notice = (
            f"{shown}; they are kept in this browser only, until you save or download the case. Undo takes {takes}."
        )

    def _show_last_good(self) -> None:
        """The result of the last step before that can be worked out, beside what is wrong now."""
        for step in reversed(self._history):
            with suppress(EnergyError):
                self.comparison = compare(self._build(step, folder=self.folder, file=self.file))
                self._checked()
                self.revision += 1
                return

    def save(self) -> None:
        """Write the case of the last good comparison into the file that was opened.

        Raises
        ------
        EnergyError
            There is no such file, or somebody else has changed it since it was opened.
        """
        if self.folder is None or self._on_disk is None:
            raise EnergyError("This case was not opened from a file here; download it instead.")
        if _bytes(self.case) != self._on_disk:
            raise EnergyError(f"{self.file} has changed on disk since it was opened; download the case instead.")
        content = self.toml()
        write_whole(self.folder / self.file, content, overwrite=True)
        self._on_disk, self._text = content, _text(content)
        at_home = self.base == self.served
        self.opened = dict(self.case.document)
        if at_home:
            self.served = self.base
        self.notice = f"Saved to {self.file}."
        self.revision += 1

    @property
    def saveable(self) -> bool:
        """Was the case opened from a file on this computer?"""
        return self.folder is not None and self._on_disk is not None

    def toml(self) -> bytes:
        """The case of the last good comparison as a file, with the comments it was opened with."""
        return written_over(self._text, self.case.document).encode()

    def to_take_home(self) -> bytes:
        """The same with the tariffs in it that it names as files; files that it still needs are told.

        Raises
        ------
        EnergyError
            A tariff file that cannot be read any more, or says something else now.
        """
        document, took, left = taken_along(self.case)
        if took or left:
            self.notice = files_of_a_page.taken_or_left(took, left)
        return written_over(self._text, document).encode()


def _text(content: bytes) -> str:
    """Text of a case file that was read."""
    return content.decode("utf-8-sig", "replace")


def _bytes(case: Case) -> bytes | None:
    """Of the file that a case came from, where there is one."""
    if case.folder is None:
        return None
    try:
        return (case.folder / Path(case.file).name).read_bytes()
    except OSError:
        return None


def _problems(error: EnergyError) -> tuple[Problem, ...]:
    if isinstance(error, CaseError):
        return error.problems
    return (Problem("", str(error)),)
