"""Section on the decision: what is asked for, what it is worth, does it dry, the main risk."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from energy.reports.document import after, chance, dryness, parts, success, worth
from energy.reports.document.proposal import Proposal
from energy.reports.document.records import Block, Figures, Paragraph
from energy.reports.document.words import NOT_STATED, bought, kwh, payback_of, percent, saving_of, tonnes
from energy.reports.doubts import (
    air_taken_for,
    as_metered,
    capital_of_baseline,
    grown_along,
    not_the_same_job,
    plant_below_its_dryers,
    present_fails,
    price_doubted,
    prices_left_level,
    put_off,
    quoted_for_another,
    read_at_the_present,
    taken_for_all,
    upkeep_missing,
)
from energy.reports.emissions import emits_more, of_what
from energy.reports.paid_back import paid_back
from energy.reports.paid_later import paid_then, saved_before_paid
from energy.reports.resins import called as resin_called
from energy.reports.rows import in_a_row, joined
from energy.reports.sizes_kept import kept_as_before
from energy.study.compare import OptionResult
from energy.study.life_cycle import before_or_after_tax


def decision(p: Proposal, odds: chance.Odds | None) -> Iterator[Block]:
    option, request = p.option, p.request
    if option is None:
        yield Paragraph(text=f"No capital is asked for. {p.why}", style="lead", short=True)
        yield Paragraph(topic="Why now.", text=f"{request.why_now or NOT_STATED}", short=True)
        return
    m, given = option.measures, p.case.model.finance
    assert m is not None
    saving, total = saving_of(p, option), option.capital + p.reserve
    reserve = f", of which {p.asked(p.reserve)} is contingency," if p.reserve else ""
    yield Paragraph(
        text=f"Approval is asked for {p.asked(total)}{reserve} {_aim(p.base, option)}. {p.why}",
        style="lead",
        short=True,
    )
    if answered := parts.answer_to_limit(p, option):
        style: Literal["normal", "warning"] = "normal" if parts.limit_met(p, option) else "warning"
        yield Paragraph(topic="Longest payback accepted.", text=answered, style=style, short=True)
    within = f"; {said}" if odds is not None and (said := odds.payback()) else ""
    saved = bought(p.base) - bought(option)
    less, how = p.base.emissions - option.emissions, of_what(p.case)
    npv_word = f"over {given.years} years at {percent(given.rate)} {given.rate_basis}, {before_or_after_tax(p.case)}"
    npv_word += f"; {parts.basis_of_worth(p, option)}"
    if p.reserve:
        spent = worth.npv_of(p.comparison, worth.flow_of(p.comparison, option, reserve=p.reserve))
        npv_word += f"; {p.money(spent)} with the contingency spent"
    if odds is not None:
        npv_word += f"; above zero in {odds.draws(odds.option.npv_positive)}"
    reserved = f"without contingency; {p.asked(total)} with it" if p.reserve else "no contingency stated"
    yield Figures(
        items=(
            (
                "Capital",
                p.asked(option.capital),
                f"{spent_when}; {reserved}" if (spent_when := paid_then(p.comparison, option.capital)) else reserved,
            ),
            (
                "Net saving a year" if saving >= 0.0 else "Extra cost a year",
                p.money(abs(saving)),
                f"energy and upkeep at today's prices, before tax; today they are {p.money(p.base.total_cost)}",
            ),
            (
                "Simple payback",
                payback_of(option, parts.digits(p, option)),
                f"{parts.basis_of_simple(p, option)}{within}",
            ),
            ("Net present value", p.money(m.npv), npv_word),
            (
                "Energy",
                f"{kwh(abs(saved))} a year",
                f"{percent(abs(saved) / bought(p.base))} {'less' if saved >= 0 else 'more'}",
            ),
            ("CO₂", f"{tonnes(abs(less))} a year", f"{'less' if less >= 0 else 'more'}{f'; {how}' if how else ''}"),
        ),
        short=True,
    )
    if counted := parts.counted_out(p, option):
        said = f"{counted} {parts.otherwise(p, option)}".strip()
        yield Paragraph(topic="Simple payback, overhauls counted:", text=said)
    yield parts.made_of(p, option)
    yield parts.made_of_in_words(p, option)
    yield Paragraph(topic="Why now.", text=f"{request.why_now or NOT_STATED}", short=True)
    yield Paragraph(topic="Does it dry?", text=f"{_dries(p, option)}{f' {odds.dries()}' if odds else ''}", short=True)
    if said := emits_more(p.comparison, option):
        yield Paragraph(topic="CO₂.", text=said, short=True)
    # What is assumed of retrofits is no matter of a request for anything else.
    if metered := as_metered(p.comparison)[: None if option.option.retrofit else 1]:
        yield Paragraph(text=f"{' '.join(metered)}{_by_model_alone(p, option)}", style="warning", short=True)
    doubts = (
        kept_as_before,
        price_doubted,
        plant_below_its_dryers,
        present_fails,
        not_the_same_job,
        capital_of_baseline,
        quoted_for_another,
        grown_along,
        air_taken_for,
        read_at_the_present,
        taken_for_all,
        upkeep_missing,
        prices_left_level,
        saved_before_paid,
        put_off,
    )
    for doubt in (said for of in doubts for said in of(p.comparison)):
        yield Paragraph(text=doubt, style="warning", short=True)
    if (warning := dryness.wetter(p, option)) is not None:
        yield warning
    proof = ""
    if success.out_of_reach(p, option, after.error_of_meters(p, option)):
        proof = " Meters will not prove the saving forecast: agree now who bears that doubt (section on verification)."
    yield Paragraph(topic="Main risk.", text=f"{_main_risk(p, option)}{proof}", short=True)
    if odds is None:
        yield Paragraph(
            text="Without simulated chances as it stands here; what moves the result, one input at a time, stands in the "
            "section on sensitivity of the full document.",
            style="note",
            short=True,
        )


def _aim(present: OptionResult, option: OptionResult) -> str:
    """What the money is for: other dryers, or the present ones with something changed."""
    if option.option.retrofit:
        return f"to change “{present.name}” as in “{option.name}”"
    return f"to replace “{present.name}” by “{option.name}”"


def _by_model_alone(p: Proposal, option: OptionResult) -> str:
    found = worth.by_model_alone(p.comparison, option)
    if found is None:
        return ""
    told = paid_back(found, "payback", unit=" years", never="")
    back = f"the payback {told}" if told else "there is no payback"
    what = "are saved in a year" if found.saving >= 0.0 else "more are spent in a year"
    return f" By the model alone {p.money(abs(found.saving))} {what}, the net present value is {p.money(found.npv)} and {back}."


def _dries(p: Proposal, option: OptionResult) -> str:
    word = option.verdict.word
    if word == "pass":
        return f"Yes: “{option.name}” passes every check at every hopper."
    shaky = list(dict.fromkeys(f.hopper or f.check for f in option.verdict.findings if f.verdict != "pass"))
    if option.verdict.by_practice:
        spoken = [s for s in option.served if s.verdict.by_practice]
        but = []
        for word, at in (
            (
                "the best estimate of the moisture left is still above the limit",
                [s for s in spoken if s.verdict.disputed],
            ),
            ("there are no diffusion data to check it by", [s for s in spoken if s.verdict.unknown]),
        ):
            named = in_a_row([f"{s.hopper.name} ({resin_called(s.hopper, s.duty.resin)})" for s in at])
            but += [f"{word}{f' at {named}' if len(option.served) > 1 else ''}"] * bool(at)
        first = "By practice yes, by the diffusion data no" if option.verdict.disputed else "By practice alone"
        where = f" at {in_a_row([s.hopper.name for s in spoken])}" if len(option.served) > 1 else ""
        return (
            f"{first}: temperature, time and air are those the resin is dried with in practice{where}, and {joined(but)} (section on options of the "
            "full document). Settle it by a drying trial or the producer's written guarantee before the order."
        )
    return (
        f"Expected, with caution: not every check passes "
        f"({', '.join(shaky)}; reasons in the section on options of the full document). Settle it by a drying trial or the "
        "producer's written guarantee before the order."
    )


def _main_risk(p: Proposal, option: OptionResult) -> str:
    if p.request.risks:
        named = p.request.risks[0].rstrip()
        return named if named.endswith((".", "!", "?")) else f"{named}."
    if option.verdict.overall != "pass":
        return "The resin may not reach its moisture target: not every check of drying passes."
    even = worth.break_evens(p.comparison, option)
    if even.savings < 1.0:
        return f"The saving may be smaller than worked out; down to {percent(even.savings)} of it the money is still earned back."
    if even.extra >= 1.0:
        return f"The extra running cost may be higher than worked out; up to {percent(even.extra)} of it the money is still earned back."
    if even.extra < 1.0:
        return "It costs more to run than what stands there now, and what it spares besides does not earn the capital back at the discount rate."
    return "The saving worked out does not earn the capital back at the discount rate."
