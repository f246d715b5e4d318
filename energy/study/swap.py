"""One option of a case in place of its present dryers, billed on any tariff: the bill line by line, and the payback."""

from __future__ import annotations

from dataclasses import dataclass, replace
from types import MappingProxyType

from energy.errors import CaseError, EnergyError, Problem, UnknownNameError, nearest
from energy.study import meter
from energy.study.case import Case
from energy.study.compare import OptionResult, compare
from energy.study.references import own_tariffs
from energy.tariffs import Saving, Tariff, demo_tariffs, load_tariff


@dataclass(frozen=True, slots=True, kw_only=True)
class Swap:
    """What one tariff makes of an option in place of the present dryers."""

    tariff: Tariff
    baseline: OptionResult
    option: OptionResult
    saving: Saving | None
    """Of the tariff's own meter; None where neither the option nor the present dryers use it."""
    moved_to: str = ""
    """The zone of the plant's readings, where the hours of an invented tariff of another zone are taken on its clock."""
    factor: float = 1.0
    """What the case multiplies the whole bill by. [-]"""


def swap(case: Case, option: str, tariff: Tariff) -> Swap:
    """Bill an option and the present dryers with a tariff in place of the case's own.

    Parameters
    ----------
    case : Case
    option : str
        Name of an option that is not the baseline.
    tariff : Tariff
        Takes the place of the case's tariff of its commodity, electricity or gas.

    Returns
    -------
    Swap

    Raises
    ------
    UnknownNameError
        No such option.
    EnergyError
        A tariff of another commodity or currency, or one that cannot bill the load.
    """
    names = [o.name for o in case.model.options if not o.baseline]
    if option not in names:
        raise UnknownNameError(f"'{option}' is not an option to swap to{nearest(option, names)}; {', '.join(names)}")
    if tariff.commodity not in ("electricity", "gas"):
        raise EnergyError(f"'{tariff.name}' prices {tariff.commodity}; a swap is billed on electricity or gas")
    if tariff.currency != case.currency:
        raise EnergyError(f"'{tariff.name}' counts in {tariff.currency}, the case in {case.currency}")
    of_two = case.model.model_copy(
        update={"options": tuple(o for o in case.model.options if o.baseline or o.name == option)}
    )
    zone = None if case.readings is None or tariff.commodity != "electricity" else case.readings.zone
    here = tariff.on_clock(zone, instead=tariff.invented)
    moved = zone if here is not tariff and tariff.price_calendar.time_zone is not None else None
    tariff = here
    priced = MappingProxyType({**case.tariffs, tariff.commodity: tariff})
    try:
        compared = compare(replace(case, model=of_two, tariffs=priced))
    except meter.BillError as error:
        raise CaseError([Problem(error.place, str(error))], file=case.file) from error
    result = compared.option(option)
    saving = result.savings.get(tariff.commodity)
    factor = float(meter.price_factor(case, tariff.commodity))
    return Swap(
        tariff=tariff, baseline=compared.baseline, option=result, saving=saving, moved_to=moved or "", factor=factor
    )


def on_other_tariffs(case: Case, option: str) -> tuple[Swap | str, ...]:
    """The same swap on each tariff of the case's own and each demo tariff of electricity, and on those of gas where gas is burnt.

    Parameters
    ----------
    case : Case
    option : str

    Returns
    -------
    tuple of Swap or str
        A sentence in place of a swap where a tariff cannot bill it, and one for all that count in another currency.
    """
    found: list[Swap | str] = []
    own, _ = own_tariffs(case.model)
    strange = set()
    for tariff in (*own.values(), *map(load_tariff, demo_tariffs())):
        if tariff.commodity not in ("electricity", "gas"):
            continue
        if tariff.currency != case.currency:
            strange.add(tariff.currency)
            continue
        try:
            made = swap(case, option, tariff)
        except UnknownNameError:
            raise
        except EnergyError as error:
            found.append(str(error))
            continue
        if made.saving is not None:
            found.append(made)
    if strange:
        found.append(f"Tariffs in {' and '.join(sorted(strange))} are left out: the case counts in {case.currency}.")
    return tuple(found)
