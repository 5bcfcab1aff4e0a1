"""The bookings, and the fleet along the days."""

from __future__ import annotations

import datetime as dt
from typing import NamedTuple

from fleetcare import clock
from fleetcare.desk.asking import asking
from fleetcare.errors import Problem, Refused, needs
from fleetcare.render import diary as render
from fleetcare.reports.diary import Booking, Row, bookings, diary_row
from fleetcare.reports.diary import booking as booking_of
from fleetcare.reports.fleet import is_gone
from fleetcare.store import facts as stored
from fleetcare.windows import FOREVER, nights_after


class Diary(NamedTuple):
    """The fleet along some weeks from a day on."""

    on: dt.date
    known_at: int
    rows: list[Row]


def listed(
    place: str, on: dt.date | None, first: dt.date | None, last: dt.date | None
) -> list[Booking]:
    """The bookings that touch some days, in the order they go out: from today on where no first
    day is said. Refused where the last is before the first."""
    day = on or clock.today()
    first = first or day
    if last is not None and last < first:
        raise Refused([Problem("--through", f"{last} is before {first}")])
    with asking(place) as asked:
        found = [
            one for judged in asked.fleet() for one in bookings(judged, day, first, last or FOREVER)
        ]
        found.sort(key=lambda one: (one.start, one.van, one.ref))
        filled: list[Booking] = asked.filled(found)
        return filled


def booking(place: str, ref: str) -> tuple[Booking, int]:
    """One booking where it stands, and the size of the book that says so: of those that were moved
    or cancelled the last. Refused where there is none."""
    with asking(place) as asked:
        van = stored.hire_refs(asked.connection).get(ref)
        judged = asked.judged(van) if van else None
        found = booking_of(judged, clock.today(), ref) if judged else None
        if found is None:
            raise Refused([Problem("", f'there is no hire "{ref}"')])
        filled: Booking = asked.filled(found)
        return filled, asked.as_of.known_at


def diary(place: str, on: dt.date | None, weeks: int, first: dt.date | None = None) -> Diary:
    """Every van along so many weeks, as it stands on a day: from the Monday of its week on, or of
    the week of another first day."""
    day = on or clock.today()
    first = first or day
    monday = nights_after(first, -first.weekday())
    with asking(place) as asked:
        rows = [
            diary_row(judged, monday, weeks * 7, day)
            for judged in asked.fleet()
            if not is_gone(judged, day)
        ]
        found = Diary(monday, asked.as_of.known_at, rows)
        filled: Diary = asked.filled(found)
        return filled


def paper(found: Diary) -> bytes:
    """The diary as a PDF, A4 across."""
    with needs("typst", "pdf"):
        from fleetcare.render import typeset

    return typeset.pdf("diary.typ", render.paper(found.on, found.rows, found.known_at), {})
