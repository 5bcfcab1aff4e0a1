"""The calendar feed."""

from __future__ import annotations

import datetime as dt

from fleetcare import clock
from fleetcare.desk.asking import asking
from fleetcare.errors import needs
from fleetcare.reports.calendar import Entry, entries
from fleetcare.reports.fleet import is_gone
from fleetcare.store import facts as stored
from fleetcare.store import ledger, lookup


def calendar(place: str, on: dt.date | None) -> bytes:
    """The feed of the whole fleet."""
    with needs("icalendar", "calendar"):
        from fleetcare.render.ics import Stamped, feed

    day = on or clock.today()
    with asking(place) as asked:
        found: list[Entry] = []
        taken = lookup.newest_taken_back(asked.connection)
        for judged in asked.fleet():
            if not is_gone(judged, day):
                found += entries(judged, day, max(taken.get(judged.van, 1), taken.get(None, 1)))
        found = asked.filled(found)
        at = {
            number: dt.datetime.fromisoformat(stored.recorded_at(asked.connection, number))
            for number in {entry.record for entry in found}
        }
        secret = ledger.leaves_of(asked.connection, 1)[0].hex()
        return feed([Stamped(entry, at[entry.record]) for entry in found], asked.book.firm, secret)
