"""A van on a day gone by: what was in force, and what is known otherwise now."""

from __future__ import annotations

import datetime as dt

from fleetcare.desk.asking import KnownAt, asking
from fleetcare.reports.history import History, history
from fleetcare.store import facts as stored


def on_day(place: str, van: str, on: dt.date, known_at: KnownAt | None = None) -> History:
    """What was in force for a van on a day, by what was known then or is known now."""
    with asking(place, known_at) as asked:
        then = asked.judged(van)
        now = asked.latest().judged(van) if asked.known is not None else then
        begins = stored.recorded_at(asked.connection, 1)[:10]
        found: History = asked.filled(history(then, now, on, begins))
        return found
