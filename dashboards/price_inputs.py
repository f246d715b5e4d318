"""Prices of the Compare view: a tariff by name, or one price."""

from __future__ import annotations

from functools import lru_cache

from dashboards import lists
from dashboards.currency import change_currency, other_currency
from dashboards.entries import field, fields
from dashboards.form import Part
from dashboards.own_files import give, priced_by, tariff_file, with_tariff
from dashboards.panel import Panel
from dashboards.taken import of_tariff
from dashboards.uploaded import told
from energy.errors import EnergyError
from energy.reports.print_signs import pretty
from energy.reports.tables import describe
from energy.sources import load
from energy.study.form import entries
from energy.study.paths import written
from energy.study.price_sections import Tariffs
from energy.study.references import is_price
from energy.study.schema import CaseInfo
from energy.tariffs import demo_tariffs, load_tariff
from energy.tariffs.determinants import is_apparent
from energy.units import SI

ONE_PRICE = "one price"
_MAIN = ("electricity", "gas")
_ALL = (*_MAIN, "cooling", "water", "electricity_demand")


class PriceInputs:
    """Parts of the panel for what energy and water cost."""

    def __init__(self, panel: Panel) -> None:
        self._panel, self.state = panel, panel.state
        self._one_price: set[str] = set()
        self._wrong_currency = ""

    def parts(self) -> list[Part]:
        """The two main tariffs, the rest folded."""
        main = [part for commodity in _MAIN for part in self._price(commodity)]
        under = ["case.currency", *(f"tariffs.{key}" for key in Tariffs.model_fields if key not in _MAIN)]
        return [*main, self._panel.fold("more-prices", "Own tariff, more on prices", self._more, under=under)]

    def _more(self) -> list[Part]:
        model = self.state.case.model
        currency = field(self.state, "case.currency", entries(CaseInfo)["currency"], act=self._change_currency)
        hint = "Such as EUR. Nothing is converted: every amount keeps its number and is marked as still to be put in."
        return [
            currency | {"problem": self._wrong_currency or currency["problem"], "hint": hint},
            self._panel.file(
                "own-tariff",
                "Add a tariff file",
                self._take,
                accept=".toml,.json",
                hint="A tariff file (TOML) or a rate record (JSON): it becomes part of the case in the place of the tariff of its "
                "kind. On Bill it can be laid beside last month's bill first.",
            ),
            *(self._price("cooling") if model.cooling is None else ()),
            *self._price("water"),
            *fields(self.state, "tariffs", Tariffs, compared=model.tariffs, stored=load("plant"), but=_ALL),
        ]

    def _price(self, commodity: str) -> list[Part]:
        """A tariff by name, or one price."""
        kind = "price per volume" if commodity == "water" else "price per energy"
        state, path = self.state, f"tariffs.{commodity}"
        entry = entries(Tariffs)[commodity]
        given = written(state.document, path)
        text = given if isinstance(given, str) else ""
        rows = [row for row in lists.rows(state.document, "own_tariffs") if row.get("commodity") == commodity]
        own = [name for row in rows if isinstance(name := row.get("name"), str)]
        one = (commodity in self._one_price or is_price(text)) and text not in own
        known = [*own, *_tariffs(commodity, state.case.currency)]
        named = list(dict.fromkeys([*known, *([text] if text and not one else [])]))
        unit = state.unit(kind)
        choice = field(
            state, path, entry, act=lambda name: self._choose_price(commodity, name), hint=self._charges(commodity)
        )
        none = [] if entry.needed else [("none", "")]
        options = [*none, *((name, name) for name in named), (ONE_PRICE, ONE_PRICE)]
        choice |= {"as": "choice", "options": options, "value": ONE_PRICE if one else text, "id": f"{path}:tariff"}
        if not one:
            return [choice]
        typed = field(
            state,
            path,
            entry,
            label=f"{entry.label}, one price ({pretty(unit)})",
            act=lambda price: self._enter_price(commodity, price, kind),
            hint="" if is_price(text) else f"Type a price, such as 0.12 {unit}; until then the tariff before counts.",
        )
        priced = [choice | {"problem": ""}, typed | {"value": text if is_price(text) else ""}]
        return [*priced, self._demand()] if commodity == "electricity" and is_price(text) else priced

    def _demand(self) -> Part:
        """What is paid per kW or kVA beside one price of electricity."""
        state, path, kind = self.state, "tariffs.electricity_demand", "price per power"
        given = str(written(state.document, path) or "")
        unit = state.unit(kind).replace("kW", "kVA" if is_apparent(SI(0.0, given)) else "kW")
        part = field(
            state,
            path,
            entries(Tariffs)["electricity_demand"],
            label=f"Demand charge ({pretty(unit)})",
            act=lambda price: state.set({path: state.with_unit(price, kind, unit) if price else None}),
            hint=f"For the highest 15 minutes of each month, such as 13 {pretty(unit)}; a price per kVA needs the power factor that is billed; "
            "empty: none.",
        )
        return part | {"value": given}

    def _change_currency(self, typed: str) -> None:
        self._wrong_currency = ""
        try:
            change_currency(self.state, typed)
        except EnergyError as error:
            self._wrong_currency = str(error)
        self._panel.refresh()

    def _take(self, name: str, data: bytes) -> str:
        try:
            document, tariff, ignored = tariff_file(name, data)
            if refused := other_currency(tariff, self.state.case.currency):
                return refused
            before = self.state.comparison
            give(self.state, with_tariff(self.state.document, tariff, document))
        except EnergyError as error:
            return told(error, name)
        left = f" Not taken over from the rate record: {'; '.join(ignored)}." if ignored else ""
        said = of_tariff(before, self.state.comparison, tariff.commodity)
        self.state.notice = (
            f"{tariff.name} is now the case's tariff for {tariff.commodity}, in every view. {said}{left}"
        )
        return ""

    def _choose_price(self, commodity: str, name: str) -> None:
        self._one_price.discard(commodity)
        if name == ONE_PRICE:
            self._one_price.add(commodity)
            self._panel.refresh()
        elif name == written(self.state.document, f"tariffs.{commodity}"):
            self._panel.refresh()
        else:
            self.state.set(priced_by(commodity, name or None))

    def _enter_price(self, commodity: str, price: str, kind: str) -> None:
        if price:
            self.state.set({f"tariffs.{commodity}": self.state.with_unit(price, kind)})

    def _charges(self, commodity: str) -> str:
        """What the chosen tariff charges."""
        tariff, path = self.state.case.tariffs.get(commodity), f"tariffs.{commodity}"
        given = written(self.state.document, path)
        if (
            tariff is None
            or not isinstance(given, str)
            or (is_price(given) and tariff.name != given)
            or self.state.problem_at(path)
        ):
            return ""
        return describe(tariff) + ("; invented" if tariff.invented else "")


@lru_cache(maxsize=16)
def _tariffs(commodity: str, currency: str) -> tuple[str, ...]:
    """Names of the demo tariffs for a commodity in a currency."""
    tariffs = {name: load_tariff(name) for name in demo_tariffs()}
    return tuple(name for name, t in tariffs.items() if (t.commodity, t.currency) == (commodity, currency))
