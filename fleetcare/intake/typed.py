"""Single words as people type them, for every rim: a day, countries, the mass of a bike.

Each raises ValueError, as a sentence for the person who typed it.
"""

from __future__ import annotations

import datetime as dt
import re
from decimal import Decimal

_ISO = re.compile(r"\d{4}-\d{2}-\d{2}")
_COUNTRY = re.compile(r"[A-Za-z]{2}")
_KG = re.compile(r"\d{1,3}(\.\d{1,3})?")
_FIRST_YEAR, _LAST_YEAR = 1900, 2199
LICENCES = ("B", "C1", "B-pre-1997", "D1", "visitor")


def day(text: str) -> dt.date:
    """A day typed as YYYY-MM-DD and in no other way."""
    try:
        if not _ISO.fullmatch(text):
            raise ValueError
        found = dt.date.fromisoformat(text)
    except ValueError:
        raise ValueError(f'"{text}" is not a day: type it like 2026-03-02') from None
    if not _FIRST_YEAR <= found.year <= _LAST_YEAR:
        raise ValueError(f'"{text}" lies too far off: from {_FIRST_YEAR} to {_LAST_YEAR}')
    return found


def countries(text: str) -> tuple[str, ...]:
    """Countries by their two letters with commas between, in capitals, each once."""
    words = [word.strip() for word in text.split(",")]
    for word in words:
        if not _COUNTRY.fullmatch(word):
            raise ValueError(f'"{word}" is not a country: type its two letters, like DE')
    return tuple(dict.fromkeys(word.upper() for word in words))


def kg(text: str) -> str:
    """The mass of a bike in kg, without its unit."""
    found = text.removesuffix("kg")
    if not _KG.fullmatch(found) or Decimal(found) == 0:
        raise ValueError(f'"{text}" is not a mass in kg: type it like 24')
    return found
