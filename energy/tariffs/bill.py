"""A tariff applied to a load: the bill, line by line."""

from __future__ import annotations

from dataclasses import dataclass, replace

from energy.tariffs.charges import MONEY, Amount, Line
from energy.tariffs.load import Load
from energy.tariffs.tariff import Tariff


@dataclass(frozen=True, slots=True, kw_only=True)
class Bill:
    """A year's bill of one meter."""

    tariff: str
    commodity: str
    currency: str
    lines: tuple[Line, ...]

    @property
    def total(self) -> Amount:
        """Sum of the lines. [money]"""
        return sum((line.amount for line in self.lines), start=0.0)

    def by_label(self) -> dict[str, Amount]:
        """Sum of the lines of each label, in the order of the bill. [money]"""
        sums: dict[str, Amount] = {}
        for line in self.lines:
            sums[line.line] = sums.get(line.line, 0.0) + line.amount
        return sums

    def of_month(self, month: int) -> Bill:
        """The lines of one month, 1 to 12."""
        return replace(self, lines=tuple(line for line in self.lines if line.month == month))


def bill(tariff: Tariff, load: Load) -> Bill:
    """Apply every charge of a tariff, in its order, to a load.

    Parameters
    ----------
    tariff : Tariff
        The tariff.
    load : Load
        Monthly quantities, draws on leading axes. [J], [W], [m3]

    Returns
    -------
    Bill
        Its amounts have the leading axes of the load. [money]

    Raises
    ------
    EnergyError
        A charge counts a quantity which the load does not have.

    Notes
    -----
    What a saving is worth is the difference of two bills, never an average price.
    """
    lines: list[Line] = []
    for charge in tariff.charges:
        for line in charge.lines(load, lines):
            lines.append(line._replace(unit=tariff.currency) if line.unit == MONEY else line)
    return Bill(tariff=tariff.name, commodity=tariff.commodity, currency=tariff.currency, lines=tuple(lines))
