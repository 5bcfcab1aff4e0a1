"""What a tyre may carry and how fast: load indices 0 to 200 and speed symbols, from tables.

Source: UNECE R54 Annex 4 and UNECE R30, the lists of load-capacity indices and of speed symbols.
Neither regulation could be read. The figures come from independent public transcriptions of them,
and `grade` says for each load index how it was seen. The tables are in data/, with their grades.

A load index is never worked out by formula: the usual 45 x 10^(index/80) gives 1464.6 kg at index
121 where the table says 1450, and so would pass an overloaded tyre.
"""

import csv
import re
from collections.abc import Iterator, Mapping
from decimal import Decimal
from functools import cache
from importlib.resources import files
from typing import NamedTuple


class LoadIndex(NamedTuple):
    """The index of a tyre fitted singly, and of one fitted as a twin where the tyre states it."""

    single: int
    dual: int | None


class _Row(NamedTuple):
    kg: Decimal
    status: str


def load_kg(index: int) -> Decimal:
    """Give the mass in kg that one tyre with this load index may carry."""
    return _row(index).kg


def grade(index: int) -> str:
    """Say how this index's row was seen.

    "verified-two-or-more-transcriptions", "verified-one-transcription" or "memory-decade-rule".
    """
    return _row(index).status


def speed_kmh(symbol: str) -> int:
    """Give the speed in km/h of a speed symbol, typed in capitals or not.

    Compare speeds and never letters: H (210) lies between U (200) and V (240).
    """
    symbols = _speeds()
    try:
        return symbols[symbol.strip().upper()]
    except KeyError:
        raise ValueError(
            f'"{symbol}" is not a speed symbol: type the letter that follows the load index on the '
            f"sidewall, one of {', '.join(symbols)}"
        ) from None


def read_load_index(text: str) -> LoadIndex:
    """Read "112", or "112/110" where the second figure holds for twin wheels."""
    found = re.fullmatch(r"([0-9]{1,3})(?:/([0-9]{1,3}))?", text.strip())
    if found is None:
        raise ValueError(
            f'"{text}" is not a load index: type it without the speed symbol, as in "112" or, '
            'with the figure for twin wheels, "112/110"'
        )
    single, dual = int(found[1]), int(found[2]) if found[2] else None
    for index in (single, dual):
        if index is not None:
            _row(index)
    return LoadIndex(single, dual)


def _row(index: int) -> _Row:
    try:
        return _loads()[index]
    except KeyError:
        raise ValueError(
            f'"{index}" is not a load index: the table runs from 0 to 200, '
            "so read the sidewall again"
        ) from None


@cache
def _loads() -> Mapping[int, _Row]:
    return {
        int(row["index"]): _Row(Decimal(row["kg"]), row["status"])
        for row in _rows("load_index.csv")
    }


@cache
def _speeds() -> Mapping[str, int]:
    return {row["symbol"]: int(row["kmh"]) for row in _rows("speed_symbols.csv")}


def _rows(name: str) -> Iterator[dict[str, str]]:
    text = files("fleetcare.trade").joinpath("data", name).read_text(encoding="utf-8")
    return csv.DictReader(line for line in text.splitlines() if not line.startswith("#"))
