"""How each kind of value is kept in a column: plain text and whole numbers on both engines.

SQLite drops the offset of a date with a zone and keeps decimals as floating point, so no type of
SQLAlchemy's own for them is used here. Reading goes through tables kept in memory: a day that was
parsed once is not parsed again.
"""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Callable
from typing import Any

from sqlalchemy import Dialect, Integer, Text
from sqlalchemy.types import TypeDecorator, TypeEngine

from fleetcare.errors import DatabaseFault
from fleetcare.records.fields import Field, Is

_WHICH = "which record it is, says fleetcare verify"


class Damaged(DatabaseFault, ValueError):
    """A value that the program never wrote: `verify` names its record."""


class _Days(dict[Any, Any]):
    """Texts read as days, kept; emptied when it has grown past any fleet's dates."""

    def __missing__(self, text: str) -> dt.date:
        if len(self) > 100_000:
            self.clear()
            self[None] = None
        try:
            self[text] = day = dt.date.fromisoformat(text)
        except ValueError as fault:
            raise Damaged(f"a day of the book cannot be read ({fault}): {_WHICH}") from None
        return day


_DAYS = _Days({None: None})
_NAMES: dict[Any, Any] = {None: None}
_FLAGS: dict[Any, Any] = {None: None, 0: False, 1: True}


class DayText(TypeDecorator[dt.date]):
    """A day as YYYY-MM-DD."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: dt.date | None, dialect: Dialect) -> str | None:
        """The text kept."""
        return None if value is None else value.isoformat()

    def result_processor(self, dialect: Dialect, coltype: object) -> Callable[[Any], Any]:
        """The day, from what was parsed before."""
        return _DAYS.__getitem__


class FlagInt(TypeDecorator[bool]):
    """Yes or no as 1 or 0."""

    impl = Integer
    cache_ok = True

    def process_bind_param(self, value: bool | None, dialect: Dialect) -> int | None:
        """The number kept."""
        return None if value is None else int(value)

    def result_processor(self, dialect: Dialect, coltype: object) -> Callable[[Any], Any]:
        """True or False."""
        return _FLAGS.__getitem__


class NamesText(TypeDecorator[tuple[str, ...]]):
    """A list of plain words as a JSON list."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: tuple[str, ...] | None, dialect: Dialect) -> str | None:
        """The text kept."""
        if value is None:
            return None
        return json.dumps(list(value), ensure_ascii=False, separators=(",", ":"))

    def result_processor(self, dialect: Dialect, coltype: object) -> Callable[[Any], Any]:
        """The words."""

        def read(text: str | None) -> tuple[str, ...] | None:
            if text not in _NAMES:
                if len(_NAMES) > 20_000:
                    _NAMES.clear()
                    _NAMES[None] = None
                try:
                    _NAMES[text] = tuple(json.loads(str(text)))
                except (ValueError, TypeError) as fault:
                    raise Damaged(
                        f"a list of the book cannot be read ({fault}): {_WHICH}"
                    ) from None
            found: tuple[str, ...] | None = _NAMES[text]
            return found

        return read


def text_key() -> TypeEngine[str]:
    """Text that is sorted by code point on both engines."""
    # The plain type carries the collation: the PostgreSQL dialect is not imported for SQLite.
    return Text().with_variant(Text(collation="C"), "postgresql")


def column_type(field: Field) -> TypeEngine[Any]:
    """The column type of a field."""
    kinds: dict[Is, TypeEngine[Any]] = {
        Is.NUMBER: Integer(),
        Is.COUNT: Integer(),
        Is.FLAG: FlagInt(),
        Is.DAY: DayText(),
        Is.NAMES: NamesText(),
        Is.VAN: text_key(),
    }
    return kinds.get(field.holds, Text())
