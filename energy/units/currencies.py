"""What a currency is written with: its smallest amount, the minor unit by ISO 4217 (2015; from memory), and its sign."""

from __future__ import annotations

import re
from decimal import Decimal

_WHOLE = [
    "BIF",
    "CLP",
    "DJF",
    "GNF",
    "ISK",
    "JPY",
    "KMF",
    "KRW",
    "PYG",
    "RWF",
    "UGX",
    "UYI",
    "VND",
    "VUV",
    "XAF",
    "XOF",
    "XPF",
]
_THOUSANDTHS = ["BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"]
_PLACES = dict.fromkeys(_WHOLE, 0) | dict.fromkeys(_THOUSANDTHS, 3)


def decimals(currency: str) -> int:
    """Decimals that amounts of a currency are written with: 2, none for the yen, 3 for the dinar of Kuwait."""
    return _PLACES.get(currency, 2)


def least(currency: str) -> float:
    """The smallest amount of a currency, a cent of most. [money]"""
    return float(10.0 ** -decimals(currency))


_SIGNS = {
    **dict.fromkeys(("USD", "CAD", "AUD", "MXN", "NZD", "SGD"), ("$",)),
    **dict.fromkeys(("DKK", "NOK", "SEK", "ISK"), ("kr",)),
    **dict.fromkeys(("JPY", "CNY"), ("¥",)),
    "BGN": ("лв",),
    "BRL": ("R$",),
    "CHF": ("SFr", "Fr"),
    "CZK": ("Kč", "Kc"),
    "EUR": ("€",),
    "GBP": ("£",),
    "HUF": ("Ft",),
    "ILS": ("₪",),
    "INR": ("₹", "Rs"),
    "KRW": ("₩",),
    "KZT": ("₸",),
    "NGN": ("₦",),
    "PHP": ("₱",),
    "PLN": ("zł", "zl"),
    "RON": ("lei",),
    "THB": ("฿",),
    "TRY": ("₺",),
    "UAH": ("₴",),
    "VND": ("₫",),
}
"""What may stand beside an amount of a currency in place of its code, capital or small; from memory."""
_OF_SEVERAL = ("$", "kr", "¥", "fr", "rs", "lei")
"""Signs that other currencies have, too, so that they name none."""
_CODES = {sign.lower(): code for code, signs in _SIGNS.items() for sign in signs if sign.lower() not in _OF_SEVERAL}


def without_sign(text: str, currency: str) -> str:
    """An amount as it was typed, without the sign of its currency before or behind it."""
    text = text.strip()
    for sign in _SIGNS.get(currency, ()):
        if text.lower().endswith(sign.lower()):
            return text[: -len(sign)].strip()
        if text.lower().startswith(sign.lower()):
            return text[len(sign) :].strip()
    return text


def code_of(text: str) -> str:
    """The code of a currency that is written by its sign, or by its code in small letters; empty where that names none."""
    code = text.strip().upper()
    return _CODES.get(text.strip().lower(), code if code in _SIGNS or code in _PLACES else "")


def sign_in(text: str) -> str:
    """The sign beside the number of an amount or price that names one currency; empty where there is none."""
    words = re.findall(r"[^\s\d.,/'+−-]+", text.partition("/")[0])
    return next((word for word in words if word.lower() in _CODES), "")


_MINOR = ("p", "pence", "penny", "c", "ct", "cts", "cent", "cents", "¢", "öre", "øre", "rp", "rp.")
"""What a hundredth of a currency is written with beside a price; from memory."""
_BRITISH = ("p", "pence", "penny")
_WRITTEN = re.compile(r"([^\d\s.,+−-]{0,4})\s*([-+−]?\d[\d.,]*)\s*([^\d\s/,]{0,6})\s*((?:/|\bper\b).*)?", re.IGNORECASE)


def with_code(text: str, currency: str | None) -> str:
    """An amount or price with its sign before the number, or in cents or pence, as it is to be written: £0.214/kWh as 0.214 GBP/kWh.

    Parameters
    ----------
    text : str
    currency : str or None
        Code of the currency in use; where there is none, a sign has to name one by itself.

    Returns
    -------
    str
        Empty where the text is none of these, or of another currency.
    """
    match = _WRITTEN.fullmatch(text.strip())
    if match is None:
        return ""
    sign, number, behind, rest = (match[i] or "" for i in range(1, 5))
    if bool(sign) == bool(behind):
        return ""
    number = re.sub(r",(?=\d{1,2}$)", ".", number.replace("−", "-")).replace(",", "")
    if number.count(".") > 1:
        return ""
    if sign:
        known = [*(each.lower() for each in _SIGNS.get(currency or "", ())), (currency or "").lower()]
        code = currency if currency and sign.lower() in known else code_of(sign)
    else:
        british = behind.lower() in _BRITISH
        code = (currency or "") if behind.lower() in _MINOR and (currency == "GBP" or not british) else ""
        if not code or decimals(code) != 2:
            return ""
        number = format(Decimal(number) / 100, "f")
    if not code or (currency and code != currency):
        return ""
    return f"{number} {code}{rest if rest.startswith('/') or not rest else f' {rest}'}"
