"""Cash flow of an option and its life-cycle measures, on arrays whose last axis is the years 0 to n."""

from __future__ import annotations

from energy.finance.at_once import at_once
from energy.finance.cashflow import INVESTMENT, ONE_TIME, CashFlow, cash_flow, residual_value
from energy.finance.conventions import conventions
from energy.finance.factors import (
    capital_recovery_factor,
    current_money,
    discounted,
    nominal_rate,
    real_rate,
    single_present_value,
    uniform_present_value,
)
from energy.finance.measures import (
    airr,
    capital_over_saving,
    discounted_payback,
    equivalent_annual_cost,
    life_cycle_cost,
    nothing_to_pay_back,
    npv,
    payback_note,
    payback_notes,
    simple_payback,
    sir,
)
from energy.finance.rate_of_return import all_rates, irr, irr_note, irr_notes, irr_with_notes
from energy.finance.tax import Tax, depreciation_shares

__all__ = [
    "INVESTMENT",
    "ONE_TIME",
    "CashFlow",
    "Tax",
    "airr",
    "all_rates",
    "at_once",
    "capital_over_saving",
    "capital_recovery_factor",
    "cash_flow",
    "conventions",
    "current_money",
    "depreciation_shares",
    "discounted",
    "discounted_payback",
    "equivalent_annual_cost",
    "irr",
    "irr_note",
    "irr_notes",
    "irr_with_notes",
    "life_cycle_cost",
    "nominal_rate",
    "nothing_to_pay_back",
    "npv",
    "payback_note",
    "payback_notes",
    "real_rate",
    "residual_value",
    "simple_payback",
    "single_present_value",
    "sir",
    "uniform_present_value",
]
