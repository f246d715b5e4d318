"""Does it dry? Each check a number against a limit, before any cost is ranked."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from energy.study.drying_checks import DryingChecks
from energy.study.finding import GRADES, Finding, Grade
from energy.study.practice import practice_kept
from energy.study.practice_words import not_of_practice
from energy.study.predicted_moisture import Dried, Moisture, moistures_of, residence_time


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """All checks of an option, or of its dryer at one hopper; the worst decides."""

    findings: tuple[Finding, ...]
    moisture: Moisture
    """Of several hoppers, that of the worst."""
    practice_kept: bool = False
    """Is the resin dried as its practice has it? Asked where diffusion data do not speak for it only; of several hoppers, that of the worst."""
    not_of_practice: tuple[str, ...] = ()
    """What is not as practice has it, in clauses with what to set, where nothing else speaks for it; of several hoppers, of the worst."""
    hoppers: tuple[Verdict, ...] = ()
    """Of each hopper, where there are several."""

    @property
    def overall(self) -> Grade:
        return GRADES[max(GRADES.index(f.verdict) for f in self.findings)]

    @property
    def word(self) -> str:
        """The verdict in a word: ``unlikely`` is a caution that neither diffusion data nor practice speaks for."""
        if self.hoppers:
            unlikely = any(verdict.word == "unlikely" for verdict in self.hoppers)
            return "unlikely" if unlikely and self.overall == "caution" else self.overall
        known = self.moisture.predicted is not None and self.moisture.expected
        dries = known or self.practice_kept or self.grade_of("predicted moisture") == "pass"
        return self.overall if dries or self.overall != "caution" else "unlikely"

    @property
    def disputed(self) -> bool:
        """Does the best estimate miss the target although the resin is dried as its practice has it?"""
        if self.hoppers:
            return any(verdict.disputed for verdict in self.hoppers)
        return self.practice_kept and not self.moisture.expected

    @property
    def by_practice(self) -> bool:
        """Does nothing but practice speak for it: diffusion data miss the target, or there are none?"""
        if self.hoppers:
            return self.word == "caution" and any(verdict.by_practice for verdict in self.hoppers)
        return self.practice_kept and self.overall == "caution" and (self.disputed or self.unknown)

    @property
    def unknown(self) -> bool:
        """Are there no diffusion data to tell?"""
        if self.hoppers:
            return any(verdict.unknown for verdict in self.hoppers)
        return self.moisture.predicted is None and self.grade_of("predicted moisture") == "caution"

    def grade_of(self, check: str) -> Grade:
        """Verdict of one check, at the worst hopper; a check that was not made passes."""
        return GRADES[max((GRADES.index(f.verdict) for f in self.findings if f.check == check), default=0)]

    def reasons(self) -> list[str]:
        """Sentences of the findings that do not pass, worst first: those that decide, then those that fail, then cautions."""
        shaky = [f for f in self.findings if f.verdict != "pass"]
        deciding = self._deciding()
        return [_told(f) for f in sorted(shaky, key=lambda f: (f not in deciding, -GRADES.index(f.verdict)))]

    def against(self) -> list[str]:
        """Sentences of the findings for which it is not expected to dry: what fails, else where the target is missed."""
        return [_told(f) for f in self._deciding()]

    def _deciding(self) -> list[Finding]:
        if self.overall == "fail":
            return [f for f in self.findings if f.verdict == "fail"]
        if self.word != "unlikely":
            return []
        names = dict.fromkeys(f.hopper for f in self.findings)
        missed = {name for name, one in zip(names, self.hoppers or (self,), strict=True) if one.word == "unlikely"}
        return [f for f in self.findings if f.hopper in missed and f.check == "predicted moisture"]

    @property
    def severity(self) -> tuple[int, int, bool, float]:
        """For comparing verdicts: the greater, the worse."""
        m = self.moisture
        excess = (math.inf if self.unknown else 0.0) if m.predicted is None else m.predicted / m.target
        moisture = GRADES.index(self.grade_of("predicted moisture"))
        return GRADES.index(self.overall), moisture, self.word == "unlikely", excess


def _told(finding: Finding) -> str:
    return f"{finding.hopper}: {finding.text}" if finding.hopper else finding.text


def joined(verdicts: Mapping[str, Verdict]) -> Verdict:
    """The verdict of an option from those of its hoppers by name."""
    if len(verdicts) == 1:
        return next(iter(verdicts.values()))
    worst = max(verdicts.values(), key=lambda verdict: verdict.severity)
    return Verdict(
        findings=tuple(replace(f, hopper=name) for name, verdict in verdicts.items() for f in verdict.findings),
        moisture=worst.moisture,
        practice_kept=worst.practice_kept,
        not_of_practice=worst.not_of_practice,
        hoppers=tuple(verdicts.values()),
    )


def judge(hoppers: Sequence[Dried], system: str) -> list[Verdict]:
    """All checks of each hopper and its dryer.

    Parameters
    ----------
    hoppers : sequence of Dried
    system : {"si", "us"}
        Units of the sentences.
    """
    return [_judged(one, moisture, system) for one, moisture in zip(hoppers, moistures_of(hoppers), strict=True)]


def _judged(one: Dried, moisture: Moisture, system: str) -> Verdict:
    spoken_for = moisture.predicted is not None and moisture.expected
    kept = False
    missed: tuple[str, ...] = ()
    if not spoken_for:
        asked = (one.duty, one.operation, residence_time(one.duty, one.operation), one.target)
        kept = bool(practice_kept(*asked))
        missed = () if kept else not_of_practice(*asked, system, one.hopper_volume is not None)
    checks = DryingChecks(
        system, one.duty, one.operation, one.inputs, moisture, kept, missed, one.timed_at, one.hopper_volume
    )
    found = [
        checks.throughput(),
        checks.temperature(),
        checks.air(),
        checks.residence(),
        checks.dew_point(),
        checks.desiccant(),
        checks.floor(),
        checks.predicted(),
        checks.yellowing(),
        checks.caking(),
        checks.hydrolysis(),
    ]
    return Verdict(
        findings=tuple(f for f in found if f is not None),
        moisture=moisture,
        practice_kept=kept,
        not_of_practice=missed,
    )
