"""Public holidays, moved off weekends by a stated rule and not by the country's own."""

from __future__ import annotations

from datetime import date, timedelta
from functools import lru_cache
from typing import Literal, get_args

from energy.errors import UnknownNameError, nearest

HolidayRule = Literal["none", "sunday to monday", "nearest weekday"]
"""What becomes of a holiday on a weekend: nothing; Sunday to Monday, Saturday stays; to Friday or Monday."""

_MOVED: dict[str, dict[int, int]] = {"none": {}, "sunday to monday": {6: 1}, "nearest weekday": {5: -1, 6: 1}}


def check_rule(rule: str) -> None:
    """Refuse what is no holiday rule.

    Raises
    ------
    UnknownNameError
    """
    allowed = get_args(HolidayRule)
    if rule not in allowed:
        raise UnknownNameError(
            f"'{rule}' is not a holiday rule; write one of {', '.join(allowed)}{nearest(rule, allowed)}"
        )


@lru_cache(maxsize=64)
def kept_holidays(
    year: int, country: str, subdivision: str | None, names: tuple[str, ...], rule: HolidayRule
) -> dict[date, str]:
    """Holidays of a year and of those before and after.

    Parameters
    ----------
    year : int
    country, subdivision : str
        Codes of the `holidays` package; its own "observed" days are never taken.
    names : tuple of str
        English names of the holidays to keep; empty for all.
    rule : {"none", "sunday to monday", "nearest weekday"}
        A moved holiday is kept on its new day only; where another holiday stands there, the two fall together.

    Returns
    -------
    dict
        Name by day.

    Raises
    ------
    UnknownNameError
        No such country, subdivision, rule or name of a holiday, or a country without holidays for the year; its `key` names
        which: country, subdivision or holidays.
    """
    check_rule(rule)
    import holidays  # a third of a second

    codes = holidays.list_supported_countries()
    if country not in codes:
        hint = nearest(country, [*codes]) or "; a code has two or three letters, such as US or DEU"
        raise UnknownNameError(f"'{country}' is not a country code whose holidays are known{hint}", "country")
    if subdivision is not None and subdivision not in codes[country]:
        known = codes[country]
        allowed = f"known are {', '.join(known)}" if known else "none are known"
        message = f"'{subdivision}' is not a part of {country}{nearest(subdivision, known)}; {allowed}"
        raise UnknownNameError(message, "subdivision")
    found = holidays.country_holidays(
        country,
        subdiv=subdivision,
        years=(year - 1, year, year + 1),
        expand=False,
        observed=False,
        language="en_US",
    )
    by_day = {day: [n.removesuffix(" (estimated)") for n in text.split("; ")] for day, text in found.items()}
    if not any(day.year == year for day in by_day):
        raise UnknownNameError(f"no public holidays of {country} are known for {year}", "country")
    all_names = sorted({name for listed in by_day.values() for name in listed})
    for name in names:
        if name not in all_names:
            hint = f"{nearest(name, all_names)}; known are {', '.join(all_names)}"
            raise UnknownNameError(f"'{name}' is not a public holiday of {country}{hint}", "holidays")
    kept: dict[date, str] = {}
    for day, listed in by_day.items():
        wanted = [name for name in listed if not names or name in names]
        if wanted:
            moved = day + timedelta(days=_MOVED[rule].get(day.weekday(), 0))
            kept[moved] = "; ".join([*([kept[moved]] if moved in kept else []), *wanted])
    return kept
