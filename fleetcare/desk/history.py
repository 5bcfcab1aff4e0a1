"""A van on a day gone by: what was in force, and what is known otherwise now."""

from __future__ import annotations

import datetime as dt
from typing import NamedTuple

from fleetcare.desk.asking import Asked, KnownAt, asking
from fleetcare.desk.session import written_since
from fleetcare.reports.history import History, history
from fleetcare.store import facts as stored


class Known(NamedTuple):
    """A van as it was known at a size of the book, and what was written down of it since."""

    history: History
    at: str  # the moment the last record of that size was written down, in UTC
    cautions: tuple[str, ...]
    between: list[str]
    before: int | None  # the size before the last record of the van that was known
    after: int | None  # the size with the first that was not


def on_day(place: str, van: str, on: dt.date, known_at: KnownAt | None = None) -> History:
    """What was in force for a van on a day, by what was known then or is known now."""
    with asking(place, known_at) as asked:
        return _on_day(asked, van, on)


def _on_day(asked: Asked, van: str, on: dt.date) -> History:
    then = asked.judged(van)
    now = asked.latest().judged(van) if asked.known is not None else then
    begins = stored.recorded_at(asked.connection, 1)[:10]
    found: History = asked.filled(history(then, now, on, begins))
    return found


def as_known(place: str, van: str, on: dt.date, known_at: KnownAt | None = None) -> Known:
    """The same, with every record of the van that came between then and now."""
    with asking(place, known_at) as asked:
        found, connection = _on_day(asked, van, on), asked.connection
        size, now = found.known_at, found.known_now
        latest = asked.latest()
        between = written_since(latest, latest.judged(van), size, now, whole=True)
        known = stored.written_since(connection, van, 0, size)
        later = stored.written_since(connection, van, size, now)
        return Known(
            found, stored.recorded_at(connection, size), asked.cautions, between,
            known[-1][0] - 1 if known[1:] else None, later[0][0] if later else None,
        )  # fmt: skip
