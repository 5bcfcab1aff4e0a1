"""What any record is held to, whatever its kind: words that can be seen, figures with their unit,
days that have happened, a first day no later than the last."""

from __future__ import annotations

import datetime as dt
import re
from typing import Any

from fleetcare.errors import Problem
from fleetcare.faults.context import fault
from fleetcare.records.fields import Is, fields_of, too_long, unseen
from fleetcare.trade.measures import read_measure

_TIME = re.compile(r"([01]\d|2[0-3]):[0-5]\d")
_VAN = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,23}")
_PLACE = re.compile(r"[a-z0-9][a-z0-9-]*")
_TEXT = frozenset({Is.WORD, Is.PERSON, Is.SAID, Is.VAN, Is.MEASURE})


def of_any(record: Any, today: dt.date) -> list[Problem]:
    """The faults a record of any kind may have."""
    found = [*seen(record), *_measures(record)]
    for name in ("on", "licence_seen_on"):
        day = getattr(record, name, None)
        if day is not None and not _may_lie_ahead(record):
            found += day_after(day, today, name)
    for field in fields_of(type(record)):
        if field.holds is Is.CLOCK:
            found += time_of_day(getattr(record, field.name), field.name)
    for first, last in (("from_on", "through_on"), ("from_on", "last_day")):
        a, b = getattr(record, first, None), getattr(record, last, None)
        if a and b and b < a:
            found += fault(last, f"{b} is before {a}")
    return found


def _may_lie_ahead(record: Any) -> bool:
    """Whether a record may speak of a day to come: a sale is agreed before it."""
    return type(record).__name__ == "Gone"


def seen(record: Any) -> list[Problem]:
    """Every word of a record can be seen: no blank stands for a name, a number or a reason."""
    found = []
    for field, value in zip(fields_of(type(record)), record, strict=True):
        if field.holds in _TEXT and isinstance(value, str):
            found += visible(field.name, value)
            long = too_long(field, value)
            found += fault(field.name, long) if long else []
    return found


def visible(field: str, text: str) -> list[Problem]:
    """A text has something to see and no line break or control character."""
    message = unseen(text)
    return fault(field, message) if message else []


def _measures(record: Any) -> list[Problem]:
    """Every figure of a record that has a unit is one, and is not negative or absurd."""
    found = []
    for field, value in zip(fields_of(type(record)), record, strict=True):
        if field.holds is Is.MEASURE and value is not None:
            try:
                read_measure(value, field.dimension or "")
            except ValueError as wrong:
                found += fault(field.name, str(wrong))
    return found


def time_of_day(word: str | None, field: str = "at") -> list[Problem]:
    """HH:MM, or nothing."""
    if word is None or _TIME.fullmatch(word):
        return []
    return fault(field, f'"{word}" is not a time of day: type it like 14:30')


def day_after(day: dt.date, today: dt.date, field: str = "on") -> list[Problem]:
    """A day after today is always refused: it has not happened."""
    if day <= today:
        return []
    return fault(field, f"{day} is after today ({today}). Record it on the day it is done")


_STANDS_FOR = {"fleet": "all vans", "any": "the van that goes best"}


def fleet_number(word: str) -> list[Problem]:
    """A fleet number is letters, digits, dots and dashes; some words stand for more than a van."""
    if word in _STANDS_FOR:
        return fault("van", f'"{word}" stands for {_STANDS_FOR[word]}: choose another')
    if _VAN.fullmatch(word):
        return []
    how = "use up to 24 letters, digits, dots and dashes, like V01"
    return fault("van", f'"{word}" is not a fleet number: {how}')


def place_name(word: str) -> list[Problem]:
    """Places are short words in small letters."""
    if _PLACE.fullmatch(word):
        return []
    how = "use small letters, digits and dashes, like rear-left"
    return fault("place", f'"{word}" is not a place: {how}')
