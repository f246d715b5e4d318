"""Money in the Compare view: rate and payback open, further terms and tax folded."""

from __future__ import annotations

from dashboards.entries import field, fields
from dashboards.form import Part
from dashboards.panel import Panel
from energy.study.form import entries
from energy.study.paths import written
from energy.study.price_sections import Finance, Taxes

_OPEN = ("rate", "maximum_payback")
_OF_METHOD = {"straight-line": "life", "own": "table"}
"""What a way to depreciate needs besides its name."""


class MoneyInputs:
    """Parts of the panel for how money is counted."""

    def __init__(self, panel: Panel) -> None:
        self._panel, self.state = panel, panel.state

    def parts(self) -> list[Part]:
        """The two most used, the rest and tax folded."""
        state, found, finance = self.state, entries(Finance), self.state.case.model.finance
        rest = [key for key in Finance.model_fields if key not in (*_OPEN, "tax")]
        return [
            *(field(state, f"finance.{key}", found[key], compared=finance) for key in _OPEN),
            self._panel.fold(
                "more-money",
                "More on money",
                lambda: fields(state, "finance", Finance, compared=finance, but=_OPEN),
                under=[f"finance.{key}" for key in rest],
            ),
            self._tax(),
        ]

    def _tax(self) -> Part:
        """Rate, depreciation and what that needs."""
        state, tax = self.state, written(self.state.document, "finance.tax")
        given = tax if isinstance(tax, dict) else {}
        needed = _OF_METHOD.get(str(given.get("depreciation")))
        return self._panel.section(
            "finance.tax",
            "Tax",
            Taxes,
            state.case.model.finance.tax,
            but=[key for key in _OF_METHOD.values() if key != needed and key not in given],
            acts={"finance.tax.depreciation": self._depreciate},
        )

    def _depreciate(self, method: str) -> None:
        """Choose a way to depreciate; what belonged to the former one goes."""
        gone = {f"finance.tax.{key}": None for name, key in _OF_METHOD.items() if name != method}
        self.state.set({**gone, "finance.tax.depreciation": method or None})
