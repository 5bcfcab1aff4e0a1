"""What came of a booking: told from the book itself, whenever it is looked at and however often."""

from __future__ import annotations

from typing import NamedTuple

from fleetcare import clock
from fleetcare.desk.asking import Asked, asking
from fleetcare.desk.echo import told
from fleetcare.desk.session import changed, written_since
from fleetcare.hire.stopped import stopped_hires
from fleetcare.records.kinds import Hire
from fleetcare.reports.due import due_items
from fleetcare.store import facts as stored
from fleetcare.store import lookup
from fleetcare.van.odometer import shown
from fleetcare.van.trips import away_with

# What the book itself puts to a booking, or keeps of it as words.
_NOT_TYPED = ("number", "licence_seen_on", "pencilled_on", "pencilled_at", "even_so")


def told_since(place: str, ref: str, size: int) -> list[str]:
    """What was written down of a booking's van after the book had a size, and what that changed.
    Nothing where there is no such booking, or the book never had that size."""
    with asking(place) as asked:
        van = stored.hire_refs(asked.connection).get(ref)
        before = asked.at(size) if 0 < size <= asked.as_of.known_at else None
        if van is None or before is None or stored.facts_of(asked.connection, van, size) is None:
            return []
        lines: list[str] = asked.filled(_told(asked, before, van, size))
        return lines


def _told(asked: Asked, before: Asked, van: str, size: int) -> list[str]:
    now, then, today = asked.judged(van), before.judged(van), clock.today()
    return [
        *written_since(asked, now, size, asked.as_of.known_at),
        changed(now, then, today),
        *told(stopped_hires(then, today), now, today),
    ]


def written_already(place: str, by: str, hire: Hire) -> bool:
    """Whether the very same booking stands, written down by the same person: it came twice."""
    with asking(place) as asked:
        refs = stored.hire_refs(asked.connection)
        if refs.get(hire.ref) != hire.van or asked.judged(hire.van).known.trip(hire.ref) is None:
            return False
        writers = lookup.writers(asked.connection, hire.van)
        return any(
            _typed(kept) == _typed(hire) and writers[kept.number] == by
            for kept, _, _ in lookup.written(asked.connection, Hire, hire.van)
        )


class AsBooked(NamedTuple):
    """A booking as it is planned now, what to tell its hirer where the van is with them, and what
    the van's odometer showed, as it was typed, where it was read today."""

    hire: Hire
    tell: tuple[str, ...]
    odometer: str | None


def as_booked(place: str, ref: str) -> AsBooked | None:
    """A booking by its reference; None where none stands."""
    with asking(place) as asked:
        van, today = stored.hire_refs(asked.connection).get(ref), clock.today()
        judged = asked.judged(van) if van else None
        trip = judged.known.trip(ref) if judged else None
        if judged is None or trip is None:
            return None
        tell: tuple[str, ...] = ()
        if trip is away_with(judged.known.trips, today):
            listed = (item.if_out for item in due_items(judged, today, None))
            tell = tuple(dict.fromkeys(one for one in listed if one))
        read = max((one for one in shown(judged.known.facts) if one.on == today), default=None)
        found: AsBooked = asked.filled(AsBooked(trip.planned, tell, read and read.typed))
        return found


def _typed(hire: Hire) -> tuple[object, ...]:
    """A booking as somebody typed it."""
    typed = (getattr(hire, name) for name in Hire._fields if name not in _NOT_TYPED)
    return *typed, hire.pencilled_on is not None
