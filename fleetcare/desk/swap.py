"""A hirer out on the road changes vans: what is left of the hire goes on with another, and the one
left behind goes nowhere until it was inspected."""

from __future__ import annotations

import datetime as dt
from typing import NamedTuple

from fleetcare.desk.events import happen
from fleetcare.desk.hires import cannot_go, find_trip, moved
from fleetcare.desk.session import recording
from fleetcare.desk.yard import Handing, come_back
from fleetcare.errors import Declined, Problem, Refused
from fleetcare.records.yard import Event
from fleetcare.render import text
from fleetcare.words.days import day_words


class Left(NamedTuple):
    """The van left behind: where and why, who says so, what it showed, what the hirer was told."""

    where: str
    words: str
    by: str
    odometer: str
    on: dt.date | None = None
    at: str | None = None
    told: str | None = None
    came: str | None = None
    even_so: str | None = None
    through: dt.date | None = None  # their new last day, where they are late


def on_the_road(
    place: str, by: str, ref: str, to_van: str, left: Left, *, dry_run: bool = False
) -> list[str]:
    """Write down in one go that a van was left on the road, what happened to it, and that its hire
    goes on with another, which must pass its own release.

    Refused unless the hire is out; Declined where the other van may not go and nobody says that it
    goes all the same (`even_so`).
    """
    with recording(place, by, dry_run=dry_run) as book:
        trip = find_trip(book, ref)
        van = trip.hire.van
        if trip.out is None or trip.back or van == to_van:
            how = f"fleetcare hire change {ref} --van VAN"
            raise Refused([Problem("", f"{ref} is not out with another van. Move it with: {how}")])
        handing = Handing(
            ref, left.by, left.odometer, left.on, left.at, None, left.even_so, left.where
        )
        back = come_back(book, trip, handing)
        kind = next((one for one in book.book.events.values() if one.on_swap), None)
        if kind is None:
            raise Refused([Problem("", "the rules in use know no event for a van left behind")])
        happen(
            book,
            Event(
                0, van, kind.name, back.on, left.at, left.by, trip.hire.number, left.words,
                left.where, left.told, left.came,
            ),
        )  # fmt: skip
        standing = book.after(van).known.trip(ref) or trip
        later = {"through_on": left.through} if left.through else {}
        if not later and trip.planned.through_on < back.on:
            words = f"{ref} was due back {day_words(trip.planned.through_on)}"
            raise Refused([Problem("--through", f"{words}: say their new last day with it")])
        (report,) = moved(book, standing, to_van, later, left.words)
        if report.bookable == "no" and not left.even_so:
            raise Declined(cannot_go(report, ref, '--even-so "why"'))
        book.tell(text.hire(report))
        book.tell(
            f"Sheets: fleetcare return {van} {ref} --by NAME; fleetcare handover {to_van} {ref} "
            f"--by NAME. Release {to_van} with: fleetcare hire out {ref} --by NAME --odometer "
            "READING"
        )
    return book.said
