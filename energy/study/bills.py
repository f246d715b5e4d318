"""What the bills of options say beside each other: the year's bill of each meter, and by how much it falls."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from energy import tariffs
from energy.dryers.base import Array
from energy.study import meter, surroundings
from energy.study.case import Case
from energy.study.finding import Finding
from energy.study.plant_clock import of_another_year
from energy.study.year import PRODUCTION, Year
from energy.tariffs import Around, Bill, Load, Saving, Tariff
from energy.tariffs.load import doubtful


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bills:
    """The bills of a case's meters; what is asked for again, as by the next option, is not billed again."""

    case: Case
    present: Year
    """Of the baseline, which the plant's own readings hold."""
    _of_year: dict[tuple[str, int], tuple[Year, Load, Bill]] = field(default_factory=dict)
    _without: dict[str, tuple[Load, Bill]] = field(default_factory=dict)
    _around: dict[str, Around] = field(default_factory=dict)
    _most: dict[tuple[tuple[str, ...], int], tuple[Year, Array, Array]] = field(default_factory=dict)
    _in_hall: dict[int, tuple[Year, surroundings.HallEffect | None]] = field(default_factory=dict)

    def of(self, name: str, tariff: Tariff, carriers: tuple[str, ...], year: Year) -> tuple[Load, Bill]:
        """What a meter sees with a year's dryers, and its bill.

        Raises
        ------
        BillError
            A tariff that cannot bill it.
        """
        key = name, id(year)
        if key not in self._of_year:
            known = self._without[name][0] if name in self._without else None  # the same beside every option
            plant = self.plant(tariff)
            load, without = meter.loads(self.case, tariff, year, self.present, carriers, plant, known)
            self._of_year[key] = year, load, meter.billed(tariff, load)
            if known is None:
                self._without[name] = without, meter.billed(tariff, without)
        return self._of_year[key][1:]

    def of_present(self) -> None:
        """Bill the baseline first: what the meters see without dryers is then known once for all options."""
        for name, tariff, carriers in meter.meters(self.case):
            if tariff is not None and any(carrier in carriers for _, carrier in self.present.energy):
                self.of(name, tariff, carriers, self.present)

    def plant(self, tariff: Tariff) -> Around | None:
        """Interval readings of the plant's electricity, where the case has them."""
        if tariff.commodity != "electricity" or self.case.readings is None:
            return None
        if tariff.name not in self._around:
            self._around[tariff.name] = meter.readings_around(self.case, tariff)
        return self._around[tariff.name]

    def fall(self, carriers: tuple[str, ...], year: Year) -> Array:
        """Fall of the dryers' power from the baseline in each month: of the highest, or of that in production where it changes more. [W]

        A start from cold may set the highest of both while the bill goes by the hours of production.
        """
        (_, *before), (_, *after) = (self._of(carriers, one) for one in (self.present, year))
        highest, working = (a - b for a, b in zip(before, after, strict=True))
        return np.where(np.abs(working) > np.abs(highest), working, highest)

    def _of(self, carriers: tuple[str, ...], year: Year) -> tuple[Year, Array, Array]:
        """The highest power of a year, and the highest in production; as `Year.most`. [W]"""
        key = carriers, id(year)
        if key not in self._most:
            self._most[key] = year, year.most(carriers), year.most(carriers, (PRODUCTION,))
        return self._most[key]

    def hall_effect(self, year: Year) -> surroundings.HallEffect | None:
        """As `surroundings.hall_effect`."""
        if id(year) not in self._in_hall:
            self._in_hall[id(year)] = year, surroundings.hall_effect(self.case, year)
        return self._in_hall[id(year)][1]

    def without(self, name: str, tariff: Tariff, carriers: tuple[str, ...], year: Year) -> Bill:
        """The bill of a meter without any dryers; errors as of `of`."""
        self.of(name, tariff, carriers, year)
        return self._without[name][1]

    def load_without(self, name: str, tariff: Tariff, carriers: tuple[str, ...], year: Year) -> Load:
        """What the meter sees without any dryers; errors as of `of`."""
        self.of(name, tariff, carriers, year)
        return self._without[name][0]


def savings(bills: Bills, year: Year) -> dict[str, Saving]:
    """By meter, the fall of the bill from the baseline to an option."""
    case, present, found = bills.case, bills.present, {}
    for name, tariff, carriers in meter.meters(case):
        if tariff is None or not any(k[1] in carriers for k in (*present.energy, *year.energy)):
            continue
        (before, bill_before), (after, bill_after) = (bills.of(name, tariff, carriers, y) for y in (present, year))
        # Only a charge for demand asks for the fall of power.
        fall = bills.fall(carriers, year) if any(c.GROUP == "demand" for c in tariff.charges) else None
        saving = tariffs.saving(tariff, before, after, power_saved=fall, steady=(bill_before, bill_after))
        factor = meter.price_factor(case, name)
        found[name] = saving if np.all(factor == 1.0) else _times(saving, factor)
    return found


def _times(saving: Saving, factor: Any) -> Saving:
    lines = (
        x._replace(first_year=x.first_year * factor, steady=x.steady * factor, before=x.before * factor)
        for x in saving.lines
    )
    return replace(
        saving,
        lines=tuple(lines),
        demand_possible=saving.demand_possible * factor,
        average_estimate=saving.average_estimate * factor,
    )


def bill_notes(case: Case, of_options: Sequence[Mapping[str, Saving]]) -> list[tuple[Finding, ...]]:
    """What is to be said of the bill under each option: where an average price misleads, where a ratchet delays the saving."""
    of_plant = _plant_notes(case)
    return [(*_saving_notes(saved), *of_plant, *_gas_notes(case, saved)) for saved in of_options]


def _saving_notes(saved: Mapping[str, Saving]) -> list[Finding]:
    found = []
    saving = saved.get("electricity")
    if saving is not None and bool(saving.average_misleads):
        error = 100.0 * float(saving.average_error)
        found.append(_note("average price", error if np.isfinite(error) else None, average_price_words(saving)))
    if saving is not None and abs(float(saving.first_year) - float(saving.steady)) > 1.0:
        found.append(
            _note(
                "first year",
                None,
                f"In the first year the electricity bill falls by {_money(saving.first_year, saving.currency)} only, since a "
                f"ratchet still bills the old peaks; by {_money(saving.steady, saving.currency)} in every later year.",
            )
        )
    return found


def _plant_notes(case: Case) -> list[Finding]:
    """What hangs on the load of the plant, the same under all options."""
    found = []
    tariff = case.tariffs.get("electricity")
    factor = case.model.tariffs.power_factor
    if tariff is not None and factor is not None and (said := doubtful(float(factor))):
        found.append(_note("power factor", None, f"{said} It stands in tariffs.power_factor."))
    if tariff is not None and case.readings is not None:
        if said := of_another_year(case.readings, case.model.case.year):
            found.append(_note("plant readings", None, said))
        found += [_note("plant readings", None, remark) for remark in tariffs.fitted(case.readings, tariff)[1]]
    if tariff is not None and case.model.plant_load is None and (kinds := _depends_on_plant(tariff)):
        found.append(
            _note(
                "plant load",
                None,
                f"The electricity tariff has {' and '.join(kinds)}, which depend on the whole plant's load; without a "
                "[plant_load] in the case the dryers are billed as if they stood alone.",
            )
        )
    return found


def _gas_notes(case: Case, saved: Mapping[str, Saving]) -> list[Finding]:
    if case.model.tariffs.plant_gas is not None:
        return []
    building = case.model.building
    if (gas := saved.get("gas")) is not None:
        return _gas_alone(case.tariffs["gas"], gas)
    if building is not None and building.heating_carrier == "gas" and "gas" in case.tariffs:
        return _hall_alone(case.tariffs["gas"])
    return []


def _hall_alone(tariff: Tariff) -> list[Finding]:
    """What hangs on gas that the plant burns elsewhere, where the dryers burn none and the hall does."""
    if not (kinds := _depends_on_plant(tariff)):
        return []
    text = (
        f"The gas tariff has {' and '.join(kinds)}, which depend on the whole plant's gas; without tariffs.plant_gas the heating of the hall "
        "is billed as if nothing else burned gas."
    )
    return [_note("plant gas", None, text)]


def _gas_alone(tariff: Tariff, saving: Saving) -> list[Finding]:
    """What hangs on gas that the plant burns elsewhere, where the case does not say how much."""
    found = []
    if kinds := _depends_on_plant(tariff):
        text = (
            f"The gas tariff has {' and '.join(kinds)}, which depend on the whole plant's gas; without tariffs.plant_gas the dryers are "
            "billed as if they alone burned gas."
        )
        found.append(_note("plant gas", None, text))
    fixed, others = (
        sum(float(line.before) for line in saving.lines if (line.group == "fixed") == one) for one in (True, False)
    )
    if fixed > 0.5 and others == 0.0:
        text = (
            f"The present dryers burn no gas. Its fixed charges of {_money(fixed, saving.currency)} a year count as paid anyway, for gas used "
            "elsewhere in the plant: where there is none yet, they and a connection are new."
        )
        found.append(_note("fixed charges of gas", None, text))
    return found


def average_price_words(saving: Saving) -> str:
    """What the average price of the bill would have said of a saving, beside what the bill says."""
    error = 100.0 * float(saving.average_error)
    if not np.isfinite(saving.average_estimate):
        return f"Nothing was used before: there is no average price; the bill rises by {_money(-saving.steady, saving.currency)}."
    by_average, by_bill = (_money(abs(x), saving.currency) for x in (saving.average_estimate, saving.steady))
    if bool(saving.average_wrong_way):
        return (
            f"By the average price of the bill, times the kWh {'saved' if saving.average_estimate > 0 else 'added'}, the bill would "
            f"{'fall' if saving.average_estimate > 0 else 'rise'} by {by_average} a year; it {'falls' if saving.steady > 0 else 'rises'} by {by_bill}."
        )
    text = (
        f"kWh {'saved' if saving.steady > 0 else 'added'} times the average price of the bill would say "
        f"{by_average} a year; the bill {'falls' if saving.steady > 0 else 'rises'} by {by_bill}"
    )
    if not np.isfinite(error):
        return f"{text}."
    if not bool(saving.average_misleads):
        return f"{text}: the average is within 10 % here."
    return f"{text}: the average is {abs(error):.0f} % too {'high' if error > 0 else 'low'}."


def rows_by_load(tariff: Tariff) -> bool:
    """Does it hang on the load which lines its bill has, as with blocks?"""
    return bool(_depends_on_plant(tariff))


def _depends_on_plant(tariff: Tariff) -> list[str]:
    types = {charge.type for charge in tariff.charges}
    kinds = {
        "energy blocks": "energy-blocks" in types,
        "blocks by hours of use": "hours-use-blocks" in types,
        "blocks by volume": "volume-blocks" in types,
        "demand blocks": "demand-blocks" in types,
        "a minimum bill": "minimum-bill" in types,
    }
    return [name for name, there in kinds.items() if there]


def _note(check: str, value: float | None, text: str) -> Finding:
    unit = "%" if value is not None else ""
    return Finding(check=check, value=value, limit=None, unit=unit, verdict="caution", text=text)


def _money(amount: Any, currency: str) -> str:
    return f"{float(amount):,.0f} {currency}"
