"""What happens to a van: events that ask for a check, and makers' recalls."""

from __future__ import annotations

import datetime as dt

from fleetcare.desk.hires import find_trip
from fleetcare.desk.session import Writing, recording
from fleetcare.desk.write import put
from fleetcare.errors import Problem, Refused
from fleetcare.records.yard import Event, Recall, RecallDone
from fleetcare.rules.book import hyphened
from fleetcare.van.trips import Trip, away_with
from fleetcare.words.days import day_words


def event(
    place: str, by: str, happened: Event, ref: str | None, *, dry_run: bool = False
) -> list[str]:
    """Write down that something happened to a van, on the hire named or the one it was out on."""
    with recording(place, by, dry_run=dry_run) as book:
        hire = hire_number(book, happened.van, ref, happened.on)
        what = hyphened(happened.what)
        named = what if what in book.book.events else happened.what
        record = happened._replace(hire=hire, what=named)
        happen(book, record)
    return book.said


def happen(book: Writing, record: Event) -> Event:
    """Hold an event and add it, with what it asks for and what to tell a hirer who has the van."""
    made: Event = put(book, record)
    kind = book.book.events[made.what]
    book.tell(f"#{made.number} {made.van}: {kind.title}, {day_words(made.on)}{_at(record)}.")
    for number, step in enumerate(kind.steps, 1):
        book.tell(f"  {number}. {step}.")
    book.tell_asked(made.van, made.number)
    trip = out_on(book, made.van, book.today)
    if kind.tell and trip:
        book.tell(f"{made.van} is {trip.called}, tell the hirer: {kind.tell}")
    return made


def _at(event: Event) -> str:
    """The hour and the place of an event, where they were said."""
    hour = f" {event.at}" if event.at else ""
    return f'{hour}, at "{event.where}"' if event.where else hour


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


def recall(place: str, by: str, new: Recall, *, dry_run: bool = False) -> list[str]:
    """Write down a maker's recall of a van: it stops the van now, or from a day on."""
    with recording(place, by, dry_run=dry_run) as book:
        made = put(book, new)
        until = f"to be done by {day_words(new.do_by)}" if new.do_by else "not to be used"
        book.tell(
            f'#{made.number} {new.van}: recall {new.maker_number}, {until}: "{new.words}". The '
            f"dealer's paper closes it: fleetcare recall done {made.number} --by NAME "
            "--certificate NUMBER"
        )
    return book.said


def recall_done(place: str, by: str, done: RecallDone, *, dry_run: bool = False) -> list[str]:
    """A recall closed by the dealer's paper."""
    with recording(place, by, dry_run=dry_run) as book:
        open_one = book.standing(done.recall, Recall)
        made = put(book, done._replace(van=open_one.van, recall=open_one.number))
        book.tell(
            f"#{made.number} {made.van}: recall {open_one.maker_number} done, "
            f"{day_words(made.on)}, paper {made.certificate}."
        )
    return book.said
