"""What happens to a van: events that ask for a check, and makers' recalls."""

from __future__ import annotations

import datetime as dt

from fleetcare.desk.hires import find_trip
from fleetcare.desk.session import Writing, recording
from fleetcare.desk.write import hold, put
from fleetcare.errors import Problem, Refused
from fleetcare.records.yard import Event, Recall, RecallDone
from fleetcare.van.trips import Trip, away_with
from fleetcare.words.days import day_words


def event(
    place: str,
    by: str,
    van: str,
    what: str,
    on: dt.date | None,
    at: str | None,
    name: str | None,
    ref: str | None,
    text: str | None,
    *,
    dry_run: bool = False,
) -> list[str]:
    """Write down that something happened to a van."""
    with recording(place, by, dry_run=dry_run) as book:
        day = on or book.today
        record = Event(0, van, what, day, at, name, hire_number(book, van, ref, day), text)
        hold(book, record)
        happen(book, record)
    return book.said


def happen(book: Writing, record: Event) -> Event:
    """Add an event, with what it asks for and what to tell a hirer who has the van."""
    made: Event = book.add(record)
    kind = book.book.events[made.what]
    book.tell(f"#{made.number} {made.van}: {kind.title}, {day_words(made.on)}.")
    book.tell_asked(made.van, made.number)
    trip = out_on(book, made.van, book.today)
    if kind.tell and trip:
        book.tell(f"{made.van} is {trip.called}, tell the hirer: {kind.tell}")
    return made


def out_on(book: Writing, van: str, day: dt.date) -> Trip | None:
    """The booking a van is away with on a day."""
    return away_with(book.van(van).trips, day)


def hire_number(book: Writing, van: str, ref: str | None, day: dt.date) -> int | None:
    """The hire something happened on: as named, or the one the van was out on that day."""
    if ref is None:
        trip = out_on(book, van, day)
        return trip.hire.number if trip else None
    trip = find_trip(book, ref)
    if trip.hire.van != van:
        raise Refused([Problem("--ref", f"{ref} is a hire of {trip.hire.van}, not of {van}")])
    return trip.hire.number


def recall(
    place: str,
    by: str,
    van: str,
    maker_number: str,
    on: dt.date | None,
    stop_use: bool,
    do_by: dt.date | None,
    text: str,
    *,
    dry_run: bool = False,
) -> list[str]:
    """Write down a maker's recall of a van: it stops the van now, or from a day on."""
    with recording(place, by, dry_run=dry_run) as book:
        day = on or book.today
        made = put(book, Recall(0, van, maker_number, day, text, stop_use or None, do_by))
        until = f"to be done by {day_words(do_by)}" if do_by else "not to be used"
        book.tell(
            f'#{made.number} {van}: recall {maker_number}, {until}: "{text}". The dealer\'s paper '
            f"closes it: fleetcare recall done {made.number} --by NAME --certificate NUMBER"
        )
    return book.said


def recall_done(
    place: str,
    by: str,
    number: int,
    on: dt.date | None,
    name: str,
    certificate: str,
    *,
    dry_run: bool = False,
) -> list[str]:
    """A recall closed by the dealer's paper."""
    with recording(place, by, dry_run=dry_run) as book:
        open_one = book.standing(number, Recall)
        day = on or book.today
        made = put(book, RecallDone(0, open_one.van, open_one.number, day, name, certificate))
        book.tell(
            f"#{made.number} {made.van}: recall {open_one.maker_number} done, {day_words(day)}, "
            f"paper {certificate}."
        )
    return book.said
