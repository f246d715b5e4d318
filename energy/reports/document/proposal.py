"""What a request asks for: which option, and why."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass

from energy.errors import CaseError, Problem
from energy.reports import amounts, answer, drying_words
from energy.reports.doubts import called, like_for_like
from energy.study.case import Case
from energy.study.compare import Comparison, OptionResult
from energy.study.request_section import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """What is asked for, if anything."""

    comparison: Comparison
    option: OptionResult | None
    """None: nothing is asked for."""
    why: str
    """Why this option, or why none."""

    @property
    def case(self) -> Case:
        return self.comparison.case

    @property
    def request(self) -> Request:
        return self.case.model.request

    @property
    def currency(self) -> str:
        return self.case.currency

    @property
    def base(self) -> OptionResult:
        return self.comparison.baseline

    @property
    def reserve(self) -> float:
        """Contingency. [money]"""
        return 0.0 if self.option is None else float(self.request.contingency) * self.option.capital

    def holds_out(self, option: OptionResult) -> bool:
        """Is money told of an option? Of none that fails or is unlikely to dry."""
        return option.verdict.word in ("pass", "caution") or option is self.base

    def asked(self, amount: float) -> str:
        """A sum that is to be approved: whole money, never rounded to three digits."""
        return amounts.whole_money(amount, self.currency)

    def money(self, amount: float) -> str:
        """To three digits, for prose; a true minus sign, as everywhere in the document."""
        return amounts.money(amount, self.currency).replace("-", "−")


def proposal(comparison: Comparison) -> Proposal:
    """The option that the case names, or the one of lowest life-cycle cost among the surest.

    Raises
    ------
    CaseError
        The case names one that fails to dry, is not expected to, or has no capital.
    """
    wanted, case = comparison.case.model.request.recommended, comparison.case
    ranked = comparison.ranked()
    if wanted:
        option = comparison.option(wanted)
        if option.verdict.overall == "fail":
            message = f"'{wanted}' does not dry {drying_words.resin_name(comparison)}; name an option that does"
            raise CaseError([Problem("request.recommended", message)], file=case.file)
        if option.verdict.word == "unlikely" and option is not comparison.baseline:
            message = (
                f"'{wanted}' is not expected to dry {drying_words.resin_name(comparison)}; name an option that is, or give it the time, "
                "temperature or air that would, or the resin the diffusivity that a drying trial showed"
            )
            raise CaseError([Problem("request.recommended", message)], file=case.file)
        if not option.priced:
            message = f"'{wanted}' has no capital yet; give it, 0 where it costs nothing"
            raise CaseError([Problem("request.recommended", message)], file=case.file)
        best = ranked[0]
        why = "The requester recommends it."
        if option is not best:
            dearer = option.life_cycle_cost - best.life_cycle_cost
            why += (
                f" On life-cycle cost among the surest to dry, {best.name} comes first; it costs "
                f"{amounts.money(abs(dearer), case.currency)} {'less' if dearer >= 0.0 else 'more'} over "
                f"{case.model.finance.years} years.{like_for_like(comparison)}"
            )
        return Proposal(comparison=comparison, option=None if option is comparison.baseline else option, why=why)
    if not ranked:
        why = f"None of the options dries {drying_words.resin_name(comparison)} to its target; no money is asked for."
    elif ranked[0].verdict.word == "unlikely":
        why = " ".join(answer.sentences(comparison))
    elif ranked[0] is comparison.baseline:
        why = answer.sentences(comparison)[0]
    else:
        best = ranked[0]
        sure = best.verdict.overall == "pass"
        among = "that pass every check of drying" if sure else "that may dry every hopper, none of them for sure"
        less_sure = ""
        if not sure and (cheaper := answer.cheaper_behind(comparison)):
            among = "whose predicted moisture passes at every hopper, none of them without a caution"
            other = min(cheaper, key=lambda o: o.life_cycle_cost)
            less = amounts.money(best.life_cycle_cost - other.life_cycle_cost, case.currency)
            less_sure = f" {called(other)} costs {less} less over {case.model.finance.years} years, but less is sure of its drying."
        return Proposal(
            comparison=comparison,
            option=best,
            why=f"It has the lowest life-cycle cost of the options {among}.{less_sure}{like_for_like(comparison)}",
        )
    return Proposal(comparison=comparison, option=None, why=why)


def case_hash(case: Case) -> str:
    """SHA-256 of the case and its tariffs: the same figures have the same mark."""
    said = {"case": dict(case.document), "tariffs": {k: t.model_dump(mode="json") for k, t in case.tariffs.items()}}
    text = json.dumps(said, sort_keys=True, default=str, ensure_ascii=False)
    return hashlib.sha256(text.encode("utf-8", "replace")).hexdigest()
