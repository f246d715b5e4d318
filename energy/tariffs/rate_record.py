"""A record of the open utility rate database on its way to a tariff, field by field."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from energy.errors import Problem

_WEEKDAYS = ["mon", "tue", "wed", "thu", "fri"]
_UNLIMITED = 1e30
_LARGEST = 1e300
_DEMAND_UNITS = {"kw": "kW", "kva": "kVA", "hp": "hp"}
_MONTHS = list(range(1, 13))


@dataclass(kw_only=True)
class Reading:
    """A record on its way to a tariff: what was taken, what was wrong, what was not taken and why."""

    record: Mapping[str, Any]
    currency: str
    taken: set[str] = field(default_factory=set)
    reasons: dict[str, str] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    charges: list[dict[str, Any]] = field(default_factory=list)

    def take(self, name: str) -> Any:
        self.taken.add(name)
        return self.record.get(name)

    def take_list(self, name: str) -> list[Any]:
        """A field that holds a list; nothing in it where the record does not have it."""
        given = self.take(name)
        if given is not None and not isinstance(given, list):
            self._wrong(name, "is not a list")
        return given if isinstance(given, list) else []

    def _wrong(self, name: str, message: str) -> None:
        if (problem := Problem(name, message)) not in self.problems:
            self.problems.append(problem)

    def leave(self, name: str, reason: str) -> None:
        if _holds(self.record.get(name)):
            self.reasons[name] = reason
        self.taken.discard(name)

    def ignored(self) -> Iterator[str]:
        for name in sorted(self.record):
            if name not in self.taken and _holds(self.record[name]):
                yield f"{name}: {self.reasons[name]}" if name in self.reasons else name
        yield from sorted(f"{name}: {why}" for name, why in self.reasons.items() if "." in name)

    def tariff(self, time_zone: str | None) -> dict[str, Any]:
        calendar, cells = self._calendar(time_zone)
        self._fixed()
        self._energy(cells)
        self._fuel()
        self._flat_demand()
        self._demand(cells)
        self._reactive()
        self._minimum()
        for name in ("coincidentratestructure", "coincidentrateschedule", "coincidentrateunit"):
            self.leave(name, "demand at the hour of the grid's peak is not known in a plant's load")
        for name in ("demandratchetpercentage", "lookbackMonths", "lookbackPercent", "lookbackRange"):
            if name not in self.taken:
                self.leave(name, "a ratchet without a demand charge")
        made: dict[str, Any] = {
            "name": str(self.take("name") or "rate without a name"),
            "commodity": "electricity",
            "currency": self.currency,
            "source": f"rate record {self.take('label') or 'without a label'}, open utility rate database",
            "charges": self.charges,
        }
        if calendar is not None:
            made["calendar"] = calendar
        window = self.take("demandwindow")
        if _holds(window):
            made["demand_window"] = f"{self.number('demandwindow', window):g} min"
        for ours, theirs in (("valid_from", "startdate"), ("valid_to", "enddate")):
            given = self.take(theirs)
            if _holds(given):
                made[ours] = self._date(theirs, given)
        return made

    def _date(self, name: str, given: Any) -> datetime.date | None:
        try:
            if isinstance(given, int | float):
                return datetime.datetime.fromtimestamp(given, datetime.UTC).date()
            return datetime.date.fromisoformat(str(given)[:10])
        except (ValueError, OverflowError, OSError):
            self.problems.append(Problem(name, f"{_shown(given)} is not a date"))
            return None

    def add(self, kind: str, name: str, label: str, clause: str, **keys: Any) -> None:
        common = {"type": kind, "id": name, "label": label, "clause": clause, "source": "rate record"}
        self.charges.append(common | keys)

    def number(self, name: str, given: Any) -> float:
        if isinstance(given, bool) or not isinstance(given, int | float) or not abs(given) <= _LARGEST:
            self._wrong(name, f"{_shown(given)} is not a number that can be used")
            return 0.0
        return float(given)

    # -- calendar ----------------------------------------------------------------------------------------------

    def _schedule(self, name: str, structure: str) -> list[list[list[int]]] | None:
        """Weekday and weekend periods of a schedule; None where the record has none."""
        found = []
        for day in ("weekday", "weekend"):
            given = self.take(f"{name}{day}schedule")
            if given is None:
                return None
            rows = given if isinstance(given, list) else []
            count = len(self.take_list(structure))
            if len(rows) != 12 or any(not isinstance(row, list) or len(row) != 24 for row in rows):
                self.problems.append(Problem(f"{name}{day}schedule", "is not 12 rows of 24 periods"))
                return None
            if any(type(p) is not int or not 0 <= p < count for row in rows for p in row):
                self.problems.append(
                    Problem(f"{name}{day}schedule", f"names a period that {structure} does not have; it has {count}")
                )
                return None
            found.append(rows)
        return found

    def _calendar(self, time_zone: str | None) -> tuple[dict[str, Any] | None, list[tuple[int, int]]]:
        """The price calendar, and energy and demand period of each of its periods."""
        energy = self._schedule("energy", "energyratestructure")
        demand = self._schedule("demand", "demandratestructure")
        if energy is None and demand is None:
            return None, [(0, 0)]
        flat = [[[0] * 24] * 12] * 2
        rows = [
            [list(zip(e, d, strict=True)) for e, d in zip(a, b, strict=True)]
            for a, b in zip(energy or flat, demand or flat, strict=True)
        ]
        pairs = sorted({pair for day in rows for month in day for pair in month})
        years = [(rows[0][m], rows[1][m]) for m in range(12)]
        alike = [next(n for n in range(12) if years[n] == years[m]) for m in range(12)]
        seasons: dict[str, list[str]] = {}
        windows: list[dict[str, Any]] = []
        for first in sorted(set(alike)):
            months = [m for m in range(12) if alike[m] == first]
            name = f"months {' '.join(str(m + 1) for m in months)}"
            seasons[name] = [
                f"{m + 1}-1 to {m + 1}-{[31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31][m]}" for m in months
            ]
            for days, row in zip((_WEEKDAYS, ["sat", "sun"]), years[first], strict=True):
                windows += [
                    {"period": _period(pair), "seasons": [name], "days": days, "hours": _hours(row, pair)}
                    for pair in pairs
                    if pair in row
                ]
        clock = {} if time_zone is None else {"time_zone": time_zone}
        return {**clock, "seasons": seasons, "windows": windows}, pairs

    # -- charges -----------------------------------------------------------------------------------------------

    def _fixed(self) -> None:
        amount = self.take("fixedchargefirstmeter")
        unit = str(self.take("fixedchargeunits") or "$/month")
        if not _holds(amount):
            amount, unit = self.take("fixedmonthlycharge"), "$/month"
        if _holds(amount):
            keys = self._amount("fixedchargeunits", self.number("fixedchargefirstmeter", amount), unit)
            self.add("fixed", "fixed", "Fixed charge", "fixedchargefirstmeter", **keys)

    def _amount(self, name: str, amount: float, unit: str) -> dict[str, str]:
        text = f"{amount!r} {self.currency}"
        if unit == "$/day":
            return {"per_day": text}
        if unit == "$/year":
            return {"per_month": f"{amount / 12!r} {self.currency}"}
        if unit != "$/month":
            self.problems.append(Problem(name, f"'{unit}' is not $/day, $/month or $/year"))
        return {"per_month": text}

    def _tiers(self, name: str, given: Any) -> list[tuple[float | None, float, str]]:
        """Upper limit, price and unit of the tiers of one period."""
        found: list[tuple[float | None, float, str]] = []
        for tier in given if isinstance(given, list) else []:
            if not isinstance(tier, Mapping):
                self._wrong(name, f"{_shown(tier)} is not a tier")
                continue
            price = self.number(name, tier.get("rate", 0.0)) + self.number(name, tier.get("adj", 0.0))
            limit = _UNLIMITED if tier.get("max") is None else self.number(name, tier["max"])
            top = None if limit >= _UNLIMITED else limit
            found.append((top, price, str(tier.get("unit") or "")))
            if _holds(tier.get("sell")):
                self.reasons[f"{name}.sell"] = "energy sold to the grid"
        if not found:
            self.problems.append(Problem(name, "has no tier"))
            return [(None, 0.0, "")]
        if found[-1][0] is not None:  # the last price goes on beyond a limit that says otherwise
            self.reasons[f"{name}.max"] = "the limit of the last tier"
            found[-1] = (None, *found[-1][1:])
        return found

    def _energy(self, pairs: Sequence[tuple[int, int]]) -> None:
        structure = self.take_list("energyratestructure")
        if not _holds(structure):
            return
        clause = "energyratestructure"
        periods = [self._tiers(f"{clause}.{n}", given) for n, given in enumerate(structure)]
        used = sorted({e for e, _ in pairs})
        if all(len(periods[e]) == 1 and periods[e][0][2] in ("", "kWh") for e in used):
            prices = [
                {
                    "periods": [_period(pair) for pair in pairs if pair[0] == e],
                    "price": f"{periods[e][0][1]!r} {self.currency}/kWh",
                    "name": f"period {e}",
                }
                for e in used
            ]
            if "energyweekdayschedule" in self.record:
                self.add("energy-time-of-use", "energy", "Energy", clause, prices=prices)
            else:
                self.add("energy-flat", "energy", "Energy", clause, price=prices[0]["price"])
            return
        if len(used) > 1:
            self.reasons[f"{clause}.max"] = "taken within each period; the record does not say of which energy"
        for e in used:
            units = {unit or "kWh" for _, _, unit in periods[e]}
            unit = units.pop()
            kinds = {"kWh": ("kWh", "month"), "kWh daily": ("kWh", "day"), "kWh/kW": ("h", "")}
            if units or unit not in kinds:
                self.problems.append(Problem(f"{clause}.{e}", f"unit '{unit}' is not {', '.join(kinds)}, one for all"))
                continue
            limit_unit, per = kinds[unit]
            blocks = [
                {"price": f"{price!r} {self.currency}/kWh"}
                | ({} if top is None else {"up_to": f"{top!r} {limit_unit}"})
                for top, price, _ in periods[e]
            ]
            keys: dict[str, Any] = {"blocks": blocks}
            if len(used) > 1:
                keys["periods"] = [_period(pair) for pair in pairs if pair[0] == e]
            if per:
                self.add("energy-blocks", f"energy-{e}", f"Energy period {e}", clause, **keys, per=per)
            else:
                self.charges.append(
                    {"type": "hours-use-blocks", "id": f"energy-{e}", "label": f"Energy period {e}", "clause": clause}
                    | {"source": "rate record", "demand": "", **keys}
                )

    def _fuel(self) -> None:
        months = self.take_list("fueladjustmentsmonthly")
        for price in sorted({self.number("fueladjustmentsmonthly", p) for p in months} - {0.0}):
            where = [m for m in _MONTHS if m <= len(months) and months[m - 1] == price]
            self.add(
                *("rider-per-energy", f"fuel-{where[0]}", "Fuel adjustment", "fueladjustmentsmonthly"),
                price=f"{price!r} {self.currency}/kWh",
                months=where,
            )

    def _unit(self, name: str) -> str:
        unit = str(self.take(name) or "kW")
        if unit.lower() not in _DEMAND_UNITS:
            self.problems.append(Problem(name, f"'{unit}' cannot be used; kW, kVA and hp can"))
        return _DEMAND_UNITS.get(unit.lower(), "kW")

    def _blocks(self, tiers: Sequence[tuple[float | None, float, str]], unit: str) -> list[dict[str, str]]:
        return [
            {"price": f"{price!r} {self.currency}/{unit}"} | ({} if top is None else {"up_to": f"{top!r} {unit}"})
            for top, price, _ in tiers
        ]

    def _flat_demand(self) -> None:
        structure = self.take_list("flatdemandstructure")
        if not _holds(structure):
            return
        unit, clause = self._unit("flatdemandunit"), "flatdemandstructure"
        months = self.take_list("flatdemandmonths") or [0] * 12
        for period, given in enumerate(structure):
            where = [m for m in _MONTHS if m <= len(months) and months[m - 1] == period]
            if where:
                self.add(
                    *("demand-blocks", f"flat-demand-{period}", f"Demand period {period}", clause),
                    blocks=self._blocks(self._tiers(f"{clause}.{period}", given), unit),
                    months=[] if len(where) == 12 else where,
                    **self._ratchet(),
                )

    def _demand(self, pairs: Sequence[tuple[int, int]]) -> None:
        structure = self.take_list("demandratestructure")
        if not _holds(structure) or "demandweekdayschedule" not in self.record:
            self.leave("demandratestructure", "there is no schedule of its periods")
            self._order()
            return
        unit, clause = self._unit("demandrateunit"), "demandratestructure"
        for period in sorted({d for _, d in pairs}):
            tiers = self._tiers(f"{clause}.{period}", structure[period])
            if all(price == 0.0 for _, price, _ in tiers):
                continue
            self.add(
                *("demand-blocks", f"demand-{period}", f"Time-of-use demand period {period}", clause),
                blocks=self._blocks(tiers, unit),
                periods=[_period(pair) for pair in pairs if pair[1] == period],
                **self._ratchet(),
            )
        self._order()

    def _order(self) -> None:
        """Hours' use behind the demand charges, of which it takes the first."""
        late = [charge for charge in self.charges if charge["type"] == "hours-use-blocks"]
        demands = [charge["id"] for charge in self.charges if charge["type"] == "demand-blocks"]
        if late and not demands:
            self.problems.append(Problem("energyratestructure", "kWh/kW needs a demand charge; the record has none"))
        self.charges = [charge for charge in self.charges if charge not in late]
        self.charges += [charge | {"demand": demands[0]} for charge in late if demands]

    def _ratchet(self) -> dict[str, Any]:
        percents = self.take_list("demandratchetpercentage")
        share, count = self.take("lookbackPercent"), self.take("lookbackRange")
        months = self.take_list("lookbackMonths")
        if _holds(share):
            ratchet: dict[str, Any] = {"share": _share(self.number("lookbackPercent", share))}
            if _holds(count):
                ratchet["months_back"] = int(self.number("lookbackRange", count))
            elif _holds(months):
                ratchet["peaks_of"] = [m for m in _MONTHS if m <= len(months) and months[m - 1]]
            return {"ratchet": ratchet}
        if _holds(percents):
            shares = {self.number("demandratchetpercentage", p) for p in percents} - {0.0}
            if len(shares) > 1:
                self.problems.append(Problem("demandratchetpercentage", "holds more than one share; one can be used"))
            where = [m for m in _MONTHS if m <= len(percents) and percents[m - 1]]
            return {
                "ratchet": {"share": _share(max(shares, default=0.0)), "applies_in": [] if len(where) == 12 else where}
            }
        return {}

    def _reactive(self) -> None:
        price = self.take("demandreactivepowercharge")
        if _holds(price):
            text = f"{self.number('demandreactivepowercharge', price)!r} {self.currency}/kvar"
            clause = "demandreactivepowercharge"
            self.add("reactive-demand", "reactive", "Reactive demand", clause, price=text, free_share="0 %")

    def _minimum(self) -> None:
        amount = self.take("mincharge")
        unit = str(self.take("minchargeunits") or "$/month")
        if not _holds(amount):
            amount, unit = self.take("minmonthlycharge"), "$/month"
        if _holds(amount) and self.charges:
            keys = self._amount("minchargeunits", self.number("mincharge", amount), unit)
            of = [charge["id"] for charge in self.charges]
            self.add("minimum-bill", "minimum", "Minimum bill", "mincharge", of=of, **keys)
        self.leave("annualmincharge", "a minimum of the whole year")


def _shown(given: Any) -> str:
    """What was written, as shown in a sentence."""
    text = repr(given)
    return f"{text[:40]}..." if len(text) > 40 else text


def _period(pair: tuple[int, int]) -> str:
    return f"energy {pair[0]} demand {pair[1]}"


def _hours(row: Sequence[tuple[int, int]], pair: tuple[int, int]) -> list[str]:
    """Spans of the clock in which a pair of periods holds."""
    starts = [h for h in range(24) if row[h] == pair and (h == 0 or row[h - 1] != pair)]
    ends = [h + 1 for h in range(24) if row[h] == pair and (h == 23 or row[h + 1] != pair)]
    return [f"{a:02d}:00-{b:02d}:00" for a, b in zip(starts, ends, strict=True)]


def _share(given: float) -> float:
    """A share, which records write as 0.8 or as 80."""
    return given / 100 if given > 1 else given


def _holds(value: Any) -> bool:
    """Whether a field says anything: not empty, not zero, not a list of nothing."""
    if isinstance(value, list):
        return any(_holds(entry) for entry in value)
    return value not in (None, "", 0, 0.0, False, {})
