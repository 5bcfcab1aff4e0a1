"""What a field of a record is, and everything that follows from it.

A record is spelled once, as a NamedTuple whose fields are annotated with the names below. Its
table, the bytes of its leaf, its keys in JSON and the options of `correct` come from `fields_of`.
"""

from __future__ import annotations

import datetime as dt
import enum
import types
import typing
import unicodedata
from collections.abc import Hashable
from functools import cache
from typing import Annotated, Any, NamedTuple


@enum.unique
class Is(enum.Enum):
    """What kind of value a field holds."""

    NUMBER = "number of a record"
    VAN = "fleet number of a van"
    DAY = "day"
    CLOCK = "time of day, HH:MM"
    WORD = "plain word, nobody's name"
    COUNT = "whole number"
    FLAG = "yes or no"
    MEASURE = "figure with its unit, digits as typed"
    NAMES = "list of plain words"
    PERSON = "somebody's name, kept as a commitment"
    SAID = "free text, kept as a commitment"
    PART = "rows that belong to the record"


Number = Annotated[int, Is.NUMBER]
Van = Annotated[str, Is.VAN]
Day = Annotated[dt.date, Is.DAY]
Clock = Annotated[str, Is.CLOCK]
Word = Annotated[str, Is.WORD]
Count = Annotated[int, Is.COUNT]
Flag = Annotated[bool, Is.FLAG]
Names = Annotated[tuple[str, ...], Is.NAMES]
Person = Annotated[str, Is.PERSON]
Said = Annotated[str, Is.SAID]
Length = Annotated[str, Is.MEASURE, "length"]
Mass = Annotated[str, Is.MEASURE, "mass"]
Pressure = Annotated[str, Is.MEASURE, "pressure"]
Distance = Annotated[str, Is.MEASURE, "distance"]
Volume = Annotated[str, Is.MEASURE, "volume"]

SECRET = frozenset({Is.PERSON, Is.SAID})


# Overrides and isolates of the direction of writing: what is read is not what is kept.
_TURNED = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def unseen(text: str) -> str | None:
    """Why a text can't be seen: a control character in it, or nothing to see; None when it can."""
    kinds = {unicodedata.category(c) for c in text}
    if kinds & {"Cc", "Zl", "Zp", "Cs"}:
        return "has a line break or a control character: type it on one line"
    if _TURNED & set(text):
        return "has a character that turns the writing round: type it without"
    if not kinds - {"Zs", "Cf", "Mn"}:
        return "is blank: type it, or leave the option out"
    return None


# The most characters of a word, a name and free words: common practice, no source. A word may be a
# digest; a reference is not.
LONGEST = {Is.WORD: 64, Is.PERSON: 80, Is.SAID: 2000}
_REFERENCES = frozenset({"ref", "certificate", "maker_number", "electrical_certificate"})
_LONGEST_REFERENCE = 40


def too_long(field: Field, text: str) -> str | None:
    """Why a text is too long for a field; None when it is not."""
    reference = field.name in _REFERENCES
    most = _LONGEST_REFERENCE if reference else LONGEST.get(field.holds)
    if most is None or len(text) <= most:
        return None
    return f"has {len(text)} characters: {most} are the most"


def spoken(field: str) -> str:
    """A field as a person names it: from_on is "from", last_day is "last-day"."""
    if field == "variety":
        return "type"
    plain = field if field == "on" else field.removesuffix("_on")
    return plain.replace("_", "-")


class Field(NamedTuple):
    """One field of a record: its name, what it is, whether it may be left unsaid."""

    name: str
    holds: Is
    optional: bool
    dimension: str | None = None  # of a measure
    part: type | None = None  # the rows of a PART


def _field(name: str, hint: Any) -> Field:
    optional = typing.get_origin(hint) in (typing.Union, types.UnionType)
    if optional:
        hint = next(arg for arg in typing.get_args(hint) if arg is not type(None))
    if typing.get_origin(hint) is tuple:
        return Field(name, Is.PART, optional, part=typing.get_args(hint)[0])
    holds, *more = hint.__metadata__
    return Field(name, holds, optional, more[0] if more else None)


def fields_of(record: Any) -> tuple[Field, ...]:
    """The fields of a record class, in declared order.

    Raises AttributeError for a field that says not what it is: a record class is then wrong.
    """
    return _fields_of(record)


@cache
def _fields_of(record: Hashable) -> tuple[Field, ...]:
    spelled: Any = record
    hints = typing.get_type_hints(spelled, include_extras=True)
    return tuple(_field(name, hints[name]) for name in spelled._fields)
