"""The smallest amount that a currency is written in: its minor unit, by ISO 4217 (2015; from memory)."""

from __future__ import annotations

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
    **dict.fromkeys(("USD", "CAD", "AUD", "MXN", "NZD", "SGD"), "$"),
    "EUR": "€",
    "GBP": "£",
    "JPY": "¥",
    "CNY": "¥",
    "INR": "₹",
    "KRW": "₩",
    "PLN": "zł",
}


def sign_of(currency: str) -> str:
    """The sign that is written behind an amount of a currency; its code where it has none of its own here."""
    return _SIGNS.get(currency, currency)
