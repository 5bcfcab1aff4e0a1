"""What is fitted to a van and taken off it, and what its odometer showed."""

from __future__ import annotations

import datetime as dt
from typing import Any

from fleetcare.desk.session import Writing, recording
from fleetcare.desk.write import hold, put
from fleetcare.errors import Problem, Refused, near
from fleetcare.faults.parts import known_places, occupant, same_part
from fleetcare.records.kinds import Fit, Odometer, TakeOff
from fleetcare.rules.book import Book
from fleetcare.store import facts as stored
from fleetcare.things import ComponentKind
from fleetcare.van.van import Van
from fleetcare.words.days import day_words


def component_kind(book: Book, what: str) -> ComponentKind:
    """A kind of component by its name; Refused with the nearest one."""
    if what not in book.components:
        raise Refused(
            [
                Problem(
                    "",
                    f'there is no kind of component "{what}".{near(what, book.components)}',
                    "what",
                )
            ]
        )
    return book.components[what]


def settled_place(van: Van, kind: ComponentKind, where: str | None) -> str:
    """The place meant: as typed, or the only one there is. Refused where neither is clear."""
    if where is not None:
        return where
    known = known_places(van, kind)
    if len(known) == 1:
        return known[0]
    words = f"say which {kind.title}: {', '.join(known) or 'type a place'}"
    raise Refused([Problem("", words, "place")])


def fit(
    place: str,
    by: str,
    van: str,
    what: str,
    where: str | None,
    on: dt.date | None,
    said: dict[str, Any],
    *,
    part: int | None = None,
    even_so: str | None = None,
    dry_run: bool = False,
) -> list[str]:
    """Fit a component; one that was in the place comes off that day."""
    with recording(place, by, dry_run=dry_run) as book:
        view = Van(book.facts(van))
        kind = component_kind(book.book, what)
        spot = settled_place(view, kind, where)
        record = Fit(0, van, what, spot, on or book.today, **said, even_so=even_so)
        if part is not None:
            record = _again(book, record, part, said)
        hold(book, record)
        old = occupant(view, record)
        if old:
            off = book.add(TakeOff(0, van, what, spot, record.on, record.at))
            book.tell(
                f"#{off.number} took off the {kind.title} (#{old.number}) that was at "
                f"{spot}, {day_words(record.on)}."
            )
        made = book.add(record)
        marked = f", made {made.made}" if made.made else ""
        marked += f", marked {made.replace_by}" if made.replace_by else ""
        book.tell(f"#{made.number} fitted {kind.title} at {spot}, {day_words(made.on)}{marked}.")
        book.tell_asked(van, made.number)
    return book.said


def _again(book: Writing, record: Fit, part: int, said: dict[str, Any]) -> Fit:
    """A component of the book fitted again, as itself, on its own van."""
    found = stored.find_record(book.connection, part)
    if found is None or found[0] != "fit":
        raise Refused([Problem("", f"#{part} is not a component of the book", "part")])
    origin: Fit = found[2]
    marked = any(value is not None for name, value in said.items() if name != "at")
    book.refuse(same_part(record, origin, part, marked=marked))
    return record._replace(part=origin.part or origin.number)


def take_off(
    place: str,
    by: str,
    van: str,
    what: str,
    where: str | None,
    on: dt.date | None,
    at: str | None,
    *,
    dry_run: bool = False,
) -> list[str]:
    """Empty a place."""
    with recording(place, by, dry_run=dry_run) as book:
        view = Van(book.facts(van))
        kind = component_kind(book.book, what)
        spot = settled_place(view, kind, where)
        record = TakeOff(0, van, what, spot, on or book.today, at)
        hold(book, record)
        day, old = record.on, occupant(view, record)
        made = book.add(record)
        number = (old.part or old.number) if old else 0
        book.tell(
            f"#{made.number} took off the {kind.title} (#{number}) at "
            f"{spot}, {day_words(day)}. Fit it again with: fleetcare fit VAN {what} PLACE "
            f"--part {number}"
        )
        book.tell_asked(van, made.number)
    return book.said


def odometer(
    place: str,
    by: str,
    van: str,
    reading: str,
    on: dt.date | None,
    at: str | None,
    *,
    even_so: str | None = None,
    dry_run: bool = False,
) -> list[str]:
    """Write down what the odometer showed."""
    with recording(place, by, dry_run=dry_run) as book:
        made = put(book, Odometer(0, van, on or book.today, reading, at, even_so))
        book.tell(f"#{made.number} odometer {reading}, {day_words(made.on)}.")
    return book.said
