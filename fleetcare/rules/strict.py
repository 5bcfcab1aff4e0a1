"""Reading tables strictly: every key known, every value of its sort, every fault kept.

A fault is a `Problem` whose place is file and key; reading goes on, so that all faults of all
files are reported at once.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from decimal import Decimal, InvalidOperation
from typing import Any, NamedTuple

from fleetcare.errors import Problem
from fleetcare.trade.measures import read_measure

# A value reader takes the value and returns it read; it raises ValueError with what is wrong.
Read = Callable[[Any], Any]


class Key(NamedTuple):
    """One key a table may have."""

    read: Read
    required: bool = False
    default: Any = None


class Faults:
    """Gathers problems while tables are read."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []

    def add(self, where: str, message: str) -> None:
        """Keep one fault."""
        self.problems.append(Problem(where, message))

    def value(self, where: str, raw: Any, read: Read, default: Any = None) -> Any:
        """A value read, or the default with the fault kept."""
        try:
            return read(raw)
        except ValueError as fault:
            self.add(where, str(fault))
            return default

    def table(self, where: str, raw: Any, keys: Mapping[str, Key]) -> dict[str, Any]:
        """A table read key by key; what is unknown, missing or of the wrong sort is a fault."""
        if not isinstance(raw, dict):
            self.add(where, f"must be a table, not {shown(raw)}")
            raw = {}
        for name in raw:
            if name not in keys:
                allowed = ", ".join(sorted(keys))
                self.add(f"{where}.{name}", f"is not a key here; the keys are: {allowed}")
        found = {}
        for name, key in keys.items():
            if name in raw:
                found[name] = self.value(f"{where}.{name}", raw[name], key.read, key.default)
            else:
                found[name] = key.default
                if key.required:
                    self.add(f"{where}.{name}", "is missing")
        return found


def shown(value: Any) -> str:
    """A value as it may be quoted in a message."""
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, bool):
        return "true" if value else "false"
    return f'"{value}"' if isinstance(value, str) else repr(value)


def text(raw: Any) -> str:
    """A text that is not empty."""
    if not isinstance(raw, str) or not raw.strip():
        raise ValueError(f"must be a text, not {shown(raw)}")
    return raw


def maybe_text(raw: Any) -> str:
    """A text, empty allowed."""
    if not isinstance(raw, str):
        raise ValueError(f"must be a text, not {shown(raw)}")
    return raw


def texts(raw: Any) -> tuple[str, ...]:
    """A list of texts."""
    if not isinstance(raw, list) or not all(isinstance(item, str) for item in raw):
        raise ValueError(f"must be a list of texts, not {shown(raw)}")
    return tuple(raw)


def flag(raw: Any) -> bool:
    """true or false."""
    if not isinstance(raw, bool):
        raise ValueError(f"must be true or false, not {shown(raw)}")
    return raw


_MOST = 36_500  # a century of days, and more of anything than a van has


def count(raw: Any) -> int:
    """A whole number, zero or more."""
    if isinstance(raw, bool) or not isinstance(raw, int) or raw < 0:
        raise ValueError(f"must be a whole number, not {shown(raw)}")
    if raw > _MOST:
        raise ValueError(f"must be {_MOST} at most, not {raw}")
    return raw


def months(raw: Any) -> int:
    """A whole number of months, one or more."""
    if isinstance(raw, bool) or not isinstance(raw, int) or raw < 1:
        raise ValueError(f"must be a whole number of months, not {shown(raw)}")
    return raw


def day(raw: Any) -> dt.date:
    """A date, typed as a date and not as a text."""
    if not isinstance(raw, dt.date) or isinstance(raw, dt.datetime):
        raise ValueError(f"must be a date like 2026-01-31 without quotes, not {shown(raw)}")
    return raw


def figure(raw: Any) -> str:
    """A decimal figure typed as a text, so that its digits stay as typed."""
    try:
        if not isinstance(raw, str) or not Decimal(raw).is_finite():
            raise InvalidOperation
    except InvalidOperation:
        raise ValueError(f'must be a figure in quotes like "0.955", not {shown(raw)}') from None
    return raw


def measure(dimension: str) -> Read:
    """A figure with its unit."""

    def read(raw: Any) -> str:
        read_measure(text(raw), dimension)
        return str(raw)

    return read


def one_of(words: tuple[str, ...]) -> Read:
    """One of a few words."""

    def read(raw: Any) -> str:
        if raw not in words:
            raise ValueError(f"must be one of {', '.join(words)}, not {shown(raw)}")
        return str(raw)

    return read
