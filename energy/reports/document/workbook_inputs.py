"""The sheet Inputs: what a reader may change, each with the name that formulas use."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from energy.reports.document.bills import Meter
from energy.reports.document.book import LABELS, Book, Sheet, room_for, whole
from energy.reports.document.workbook_terms import START, Terms
from energy.reports.print_signs import pretty
from energy.study.compare import Comparison
from energy.study.life_cycle import escalation, in_service_from
from energy.study.meter import price_factor

LABEL, VALUE, UNIT, NAME, LIFE, ITEM, EACH, COUNT, AMOUNT, KEY = range(10)
INCENTIVE, MAINTENANCE, EVERY = UNIT, NAME, NAME
"""Columns, and what stands in the same ones in the tables of options."""
TOGETHER = 12
"""Most options whose table stays on one page."""
SAID = (
    "Yellow with a border: an input, to be changed here. Grey: a value from the engine. Plain: a formula. What is shown is "
    "rounded, what is counted with is not. Years, machines, energy and when money counts are the engine's: to change "
    "them, change the case."
)
NAMES = (
    "The names of an option's cells begin as the last column says: option_2_capital, option_2_incentive, "
    "option_2_maintenance, option_2_life; option_2_capital_1 and option_2_count_1 for the first item bought."
)


def widths_of(comparison: Comparison) -> tuple[float, ...]:
    """Widths of the columns."""
    options = [o.option for o in comparison.options]
    sums = [float(line.amount) * line.count for o in options for line in o.capital]
    places = 0 if whole(float(line.amount) for o in options for line in o.capital) == "whole" else 2
    money = room_for([*sums, *(o.capital for o in comparison.options)], places, 10.5)
    return (32, money, 13, 13.5, 9, 34.5, money, 8.8, money, 10.7)


def inputs_of(b: Book, meters: Sequence[Meter]) -> None:
    """Fill the sheet."""
    sheet = b.sheets["Inputs"]
    sheet.row = 1
    b.text(sheet, LABEL, SAID, "note", across=KEY + 1)
    sheet.row += 1
    sheet.sheet.freeze_panes(1, 1)
    _finance(b, sheet)
    _prices(b, sheet, meters)
    _options(b, sheet)
    _replacements(b, sheet)


def _finance(b: Book, sheet: Sheet) -> None:
    given, how = b.comparison.case.model.finance, Terms(b)
    _heads(b, sheet, "Finance", "Note")
    _given(b, sheet, "discount_rate", f"Discount rate, {given.rate_basis}", given.rate, "a year", "rate")
    for carrier, rise in escalation(b.comparison.case).items():
        words = f"Price rise, {LABELS[carrier].lower()}"
        key = f"escalation_{carrier if carrier in ('electricity', 'gas') else 'other'}"
        _given(
            b, sheet, f"escalation_{carrier}", words, rise, "a year", "rate", f"{given.rate_basis}; {key} in the case"
        )
    share = float(b.comparison.case.model.request.contingency)
    _given(
        b, sheet, "contingency", "Contingency over the capital", share, "", "rate", "asked for, not in the comparison"
    )
    fixed = [("Years of the study", "", float(b.years), "years", "plain")]
    if how.start:
        fixed.append(("Service of what is bought begins after", START, how.start, "years", "years"))
    if how.tax is not None:
        _given(b, sheet, "tax_rate", "Tax rate", float(np.asarray(how.tax.rate)), "", "rate")
        fixed.append(("Share of the cost not deducted by then", "cost_not_deducted", how.not_deducted(), "", "factor"))
        if how.tax.incentive == "income":
            words = "Worth of the year when the incentive is taxed"
            fixed.append((words, "incentive_worth", how.incentive_worth(), "", "factor"))
    for label, name, value, unit, style in fixed:
        b.text(sheet, LABEL, label)
        cell = b.value(sheet, VALUE, value, f"engine {style}")
        b.text(sheet, UNIT, unit, "unit")
        if name:
            b.text(sheet, NAME, name, "name", across=2)
            b.named(name, cell)
        b.text(sheet, ITEM, "of the case", "item", across=KEY - ITEM + 1)
        sheet.row += 1
    b.gap(sheet)


def _prices(b: Book, sheet: Sheet, meters: Sequence[Meter]) -> None:
    if not meters:
        return
    _heads(b, sheet, "Prices", "Clause of the tariff")
    for carrier in dict.fromkeys(meter.carrier for meter in meters):
        factor = float(price_factor(b.comparison.case, carrier))
        note = "what prices may come to over the years of the study"
        _given(b, sheet, f"{carrier}_factor", f"{LABELS[carrier]}: whole bill", factor, "of the tariff", "rate", note)
    for meter in meters:
        for charge in meter.charges:
            unit = f"{b.currency}/{pretty(charge.unit)}" if charge.unit else ""
            style = "price" if charge.unit else "rate"
            _given(b, sheet, charge.key, f"{meter.title}: {charge.label}", charge.price, unit, style, charge.clause)
        if not meter.charges:
            b.text(sheet, LABEL, f"{meter.title}: {meter.note}", across=KEY + 1)
            sheet.row += 1
        for line, clause in meter.lines:
            b.text(sheet, LABEL, f"{meter.title}: {line}")
            b.text(sheet, VALUE, "no price", "check")
            b.text(sheet, ITEM, clause, "item", across=KEY - ITEM + 1)
            sheet.row += 1
    b.gap(sheet)


def _heads(b: Book, sheet: Sheet, title: str, last: str) -> None:
    sheet.starts.append(sheet.row)
    b.text(sheet, LABEL, title, "head")
    b.text(sheet, VALUE, "Value", "head right")
    b.text(sheet, UNIT, "Unit", "head unit")
    b.text(sheet, NAME, "Name in formulas", "head unit", across=2)
    b.text(sheet, ITEM, last, "head unit", across=KEY - ITEM + 1)
    sheet.row += 1


def _given(b: Book, sheet: Sheet, key: str, label: str, value: float, unit: str, style: str, note: str = "") -> None:
    b.text(sheet, LABEL, label)
    b.input(key, VALUE, value, style)
    b.text(sheet, UNIT, unit, "unit")
    b.text(sheet, NAME, key, "name", across=2)
    b.text(sheet, ITEM, note, "item", across=KEY - ITEM + 1)
    sheet.row += 1


def _options(b: Book, sheet: Sheet) -> None:
    options, cur = b.comparison.options, b.currency
    sheet.starts.append(sheet.row)
    heads = {
        LABEL: "Options", VALUE: f"Capital, {cur}", INCENTIVE: f"Incentive, {cur}", MAINTENANCE: f"Maintenance, {cur}/year",
        LIFE: "Life, years", ITEM: "Bought", EACH: f"Each, {cur}", COUNT: "Number", AMOUNT: f"Amount, {cur}",
        KEY: "Names begin",
    }  # fmt: skip
    for column, head in heads.items():
        b.text(
            sheet, column, head, "head" if column == LABEL else "head unit" if column in (ITEM, KEY) else "head right"
        )
    sheet.row += 1
    money = whole(float(line.amount) for o in options for line in o.option.capital)
    other = whole(float(v) for o in options for v in (o.option.incentive, o.option.maintenance))
    for place, option in enumerate(options, start=1):
        key, given, top = f"option_{place}", option.option, sheet.row
        if place > 1 and len(options) > TOGETHER:
            sheet.starts.append(sheet.row)
        b.text(sheet, LABEL, option.name, "strong text")
        b.text(sheet, KEY, key, "name")
        b.input(f"{key}_incentive", INCENTIVE, float(given.incentive), other)
        b.input(f"{key}_maintenance", MAINTENANCE, float(given.maintenance), other)
        b.input(f"{key}_life", LIFE, given.life or 0, "plain")
        amounts = []
        for i, line in enumerate(given.capital, start=1):
            part = "" if line.part in line.item.lower() else f"{line.part}, "
            said = line.item if line.part == "equipment" else f"{line.item} ({part}not in the value left)"
            b.text(sheet, ITEM, said, "item")
            each = b.input(f"{key}_capital_{i}", EACH, float(line.amount), money)
            count = b.input(f"{key}_count_{i}", COUNT, line.count, "plain")
            amount = float(line.amount) * line.count
            amounts.append(b.formula(sheet, AMOUNT, f"{each.ref}*{count.ref}", amount, money))
            sheet.row += 1
        end = max(sheet.row, top + 1)
        total = f"SUM({amounts[0].ref}:{amounts[-1].ref.partition('!')[2]})" if amounts else "0"
        b.named(f"{key}_capital", b.formula(sheet, VALUE, total, option.capital, f"strong {money}", row=top))
        sheet.row = end
    b.text(sheet, LABEL, f"{NAMES} A life of 0 leaves no value at the end.", "note", across=KEY + 1)
    sheet.row += 1
    b.gap(sheet)


def _replacements(b: Book, sheet: Sheet) -> None:
    found = [(p, o) for p, o in enumerate(b.comparison.options, start=1) if o.option.replacements]
    if not found:
        return
    sheet.starts.append(sheet.row)
    b.text(sheet, LABEL, "Replacements and overhauls", "head")
    b.text(sheet, VALUE, f"Each, {b.currency}", "head right")
    b.text(sheet, UNIT, "", "head")
    b.text(sheet, EVERY, "Every, years", "head right")
    b.text(sheet, LIFE, "Next in, years", "head right")
    b.text(sheet, ITEM, "What", "head unit", across=2)
    b.text(sheet, COUNT, "Names, also …_every, …_next", "head unit", across=3)
    sheet.row += 1
    money, how = whole(float(entry.amount) for _, o in found for entry in o.option.replacements), Terms(b)
    for place, option in found:
        for i, entry in enumerate(option.option.replacements, start=1):
            key = f"option_{place}_replacement_{i}"
            b.text(sheet, LABEL, option.name)
            b.input(key, VALUE, float(entry.amount), money)
            every = b.input(f"{key}_every", EVERY, float(entry.every), "plain")
            if entry.next_due is None:  # an interval from the beginning of service
                later = float(in_service_from(option.option, how.start))
                text = f"{every.ref}+{START}" if later else every.ref
                b.named(f"{key}_next", b.formula(sheet, LIFE, text, float(entry.every) + later, "plain"))
            else:
                b.input(f"{key}_next", LIFE, float(entry.next_due), "plain")
            b.text(sheet, ITEM, entry.item, "item", across=2)
            b.text(sheet, COUNT, key, "name", across=3)
            sheet.row += 1
