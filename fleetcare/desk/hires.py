"""Bookings: added, changed, moved, cancelled. A clash is refused; one that cannot go, new or as it
is changed, is written down only where somebody says that it stands; a van that is out is
kept no longer than the answer allows."""

from __future__ import annotations

import datetime as dt
from typing import Any, NamedTuple

from fleetcare import clock
from fleetcare.desk.calls import Question
from fleetcare.desk.session import Writing, recording
from fleetcare.desk.which import Call, best
from fleetcare.desk.write import context_of, put
from fleetcare.errors import Declined, Problem, Refused, near
from fleetcare.faults.hires import begins, booking, change_over, clashes, ends
from fleetcare.hire.ask import Ask, party_of, party_said
from fleetcare.hire.which import Wish
from fleetcare.records.kinds import Hire
from fleetcare.records.yard import Driver, HireChange
from fleetcare.render import text
from fleetcare.reports.answered import as_record
from fleetcare.reports.hire import HireReport, hire_report, party_words
from fleetcare.reports.hires_out import end_words
from fleetcare.store import facts as stored
from fleetcare.van.trips import NOTHING, Trip, changed, changes_of, ended, made_firm, trips_of
from fleetcare.words.days import day_words

ANY = "any"
ANY_VAN = Wish()

_SAID = {
    "from_on": "from",
    "through_on": "through",
    "bikes": "bikes",
    "electric_bikes": "e-bikes",
    "bike_kg": "weights of bikes",
    "licence": "licence",
    "abroad": "countries",
    "people": "people",
    "children": "children under 135 cm",
    "luggage": "luggage",
    "water": "fresh water",
    "fuel": "fuel",
    "collect_at": "hour of collection",
    "return_at": "hour of return",
}


class New(NamedTuple):
    """A booking to be added: what the van is to be where any will do, and for how many hours it is
    kept where it is pencilled."""

    hire: Hire
    wish: Wish = ANY_VAN
    pencilled: int | None = None


def hire_add(
    place: str, by: str, new: New, *, dry_run: bool = False
) -> tuple[list[str], HireReport]:
    """Add a booking; of van "any" to the best that can go. Returns what to print, and the answer
    the clerk is to hear.

    What can be done first may be booked: it heads `due`. What can't go whatever is done is Declined
    unless somebody says why it stands all the same (`even_so`), or its days have begun.
    """
    with recording(place, by, dry_run=dry_run) as book:
        hire = new.hire
        if hire.van == ANY:
            hire = hire._replace(van=_best(book, hire, new.wish))
        van = hire.van
        book.facts(van)
        if hire.licence:
            hire = hire._replace(licence_seen_on=book.today)
        if new.pencilled is not None:
            latest = (hire.from_on, hire.collect_at or "23:59")  # nobody collects a pencilled one
            day, hour = min(clock.hour(new.pencilled), latest)
            hire = hire._replace(pencilled_on=day, pencilled_at=hour)
        made: Hire = put(book, hire)
        party = party_words(made)
        book.tell(
            f"#{made.number} {van}: hire {hire.ref} from {begins(made)} through "
            f"{ends(made)}{', ' if party else ''}{party}."
        )
        if made.pencilled_on:
            until = f"{day_words(made.pencilled_on)} {made.pencilled_at}"
            book.tell(
                f"It is pencilled and lapses by itself {until}. Make it firm with: fleetcare hire "
                f"change {hire.ref} --firm"
            )
        report = _answer(book, van, made, "hire add")
        if report.bookable == "no" and hire.from_on >= book.today and not hire.even_so:
            raise Declined(cannot_go(report, hire.ref, '--even-so "why"'))
    return book.said, report


def cannot_go(report: HireReport, ref: str, option: str) -> str:
    """The answer to a booking that cannot go, and how it is written down all the same."""
    why = f"{ref} cannot go as booked, whatever is done first"
    if report.hireable == "cannot say":
        why = f"nobody can say that {ref} may go, and no working day is left before it to find out"
    return (
        f"{text.hire(report)}\nNothing was written: {why}. To write it down all the same, "
        f"add: {option}"
    )


def _best(book: Writing, hire: Hire, wish: Wish) -> str:
    """The van that goes best with a booking; Declined where none can."""
    question = Question(hire.from_on, hire.through_on, party_said(hire, NOTHING), book.today)

    def fits(van: str) -> bool:
        others = [trip.hire for trip in trips_of(book.asked.facts(van))]
        return not clashes(book.book, hire._replace(van=van), others)

    found = best(book.asked, Call(question, None, wish), fits)
    if found is None:
        raise Declined(
            "No van can go. Nothing was written. See what stops each with: fleetcare which "
            f"--from {hire.from_on} --through {hire.through_on}"
        )
    return found


def _answer(
    book: Writing, van: str, hire: Hire, asked: str, start: dt.date | None = None
) -> HireReport:
    """What the clerk hears of a booking as it now stands; the answer is kept."""
    judged = book.after(van)
    party = party_of(judged.known, hire)
    ask = Ask(start or hire.from_on, hire.through_on, book.today, party, hire.ref)
    report: HireReport = book.asked.filled(hire_report(judged, ask))
    made = book.add(as_record(report, ask, asked, book.asked.as_of))
    book.tell(f"#{made.number} keeps the answer.")
    return report


class Change(NamedTuple):
    """What a booking changes to: its fields, another van, or the van of another booking."""

    ref: str
    changes: dict[str, Any]
    to_van: str | None = None
    swap: str | None = None
    words: str | None = None
    even_so: bool = False  # it goes, or stays out so long, whatever the answer
    firm: bool = False  # pencilled no more


def hire_change(
    place: str, by: str, said: Change, *, dry_run: bool = False
) -> tuple[list[str], list[HireReport]]:
    """Change a booking, move it to another van, or swap two of them between their vans.

    Returns what to print and an answer for each booking touched. Declined, unless it is so all the
    same (`even_so`): one that is to go out and cannot as it is changed, whatever is done first; a
    van that is out and would be kept longer than the records allow.
    """
    ref, to_van, swap, words = said.ref, said.to_van, said.swap, said.words
    with recording(place, by, dry_run=dry_run) as book:
        trip = find_trip(book, ref, lapsed=said.firm)
        was_pencilled = trip.planned.pencilled_on is not None
        changes = {name: v for name, v in said.changes.items() if getattr(trip.planned, name) != v}
        if changes.get("licence"):
            changes["licence_seen_on"] = book.today
        if {"bikes", "electric_bikes"} & set(changes) and trip.planned.bike_kg:
            changes.setdefault("bike_kg", ())  # the bikes weighed were others
        if swap and to_van:
            raise Refused([Problem("--swap", "says by itself which van: leave --van out")])
        if swap and said.firm:
            raise Refused([Problem("--swap", "swaps them as they stand: make it firm first")])
        if said.firm:
            trip = trip._replace(planned=made_firm(trip.planned))
        if swap:
            reports = _swapped(book, trip, find_trip(book, swap), changes, words)
            return book.said, _held_to(book, reports, said)
        if to_van and to_van != trip.hire.van:
            reports = moved(book, trip, to_van, changes, words)
            return book.said, _held_to(book, reports, said)
        firm = True if said.firm and was_pencilled else None
        return book.said, [_changed_here(book, trip, said, changes, firm)]


def _changed_here(
    book: Writing, trip: Trip, said: Change, changes: dict[str, Any], firm: bool | None
) -> HireReport:
    """A booking changed on the van it is on, and the answer for it as it then stands."""
    ref = said.ref
    if not changes and not firm:
        raise Refused([Problem("", f"{ref} stands so already: say what changes")])
    if trip.back:
        raise Refused([Problem("", f"{ref} is over: it came back {day_words(trip.back.on)}")])
    change = HireChange(
        0, trip.hire.van, trip.hire.number, book.today, words=said.words, firm=firm, **changes
    )
    new = changed(trip.planned, [change])
    made = put(book, change)
    told = [*(["firm from now on"] if firm else []), _told(trip.planned, changes)]
    book.tell(f"#{made.number} {ref} of {new.van}: {'; '.join(one for one in told if one)}.")
    start = max(new.from_on, book.today) if trip.out else None
    report = _answer(book, new.van, new, "hire change", start)
    longer = trip.out and new.through_on > trip.planned.through_on
    if longer and report.hireable != "yes" and not said.even_so:
        raise Declined(
            f"{text.hire(report)}\nNothing was written: {ref} is out and may not stay out "
            f"so long. If it stays all the same, add: --even-so"
        )
    if not trip.out:
        _held_to(book, [report], said)
    return report


def _held_to(book: Writing, reports: list[HireReport], said: Change) -> list[HireReport]:
    """The answers to bookings that were changed; Declined where one of them can't go whatever is
    done first, its days are to come, and nobody says that it stands all the same."""
    for report in reports:
        if report.bookable == "no" and report.start >= book.today and not said.even_so:
            raise Declined(cannot_go(report, said.ref, "--even-so"))
    return reports


def _told(old: Hire, changes: dict[str, Any]) -> str:
    """Each change with what it was."""
    told = []
    for name, value in changes.items():
        if name in _SAID:
            was = getattr(old, name)
            told.append(f"{_SAID[name]} {_shown(value)}, was {_shown(was)}")
    return "; ".join(told)


def _shown(value: Any) -> str:
    if isinstance(value, dt.date):
        return day_words(value)
    if isinstance(value, tuple):
        return ", ".join(value) or "none"
    return "not said" if value is None else str(value)


def _leave(
    book: Writing, trip: Trip, to_van: str, words: str | None, through: dt.date | None = None
) -> Hire:
    """A booking leaves its van; what is left of it, to another last day where one is said, is to
    stand on another. One that went out is firm."""
    if trip.out and not trip.back:
        raise Refused(
            [
                Problem(
                    "",
                    f"{trip.hire.ref} is out with {trip.hire.van}: record its return first, with: "
                    f"fleetcare hire back {trip.hire.ref} --odometer …",
                )
            ]
        )
    book.add(
        HireChange(0, trip.hire.van, trip.hire.number, book.today, words=words, moved_to=to_van)
    )
    left = trip.planned._replace(through_on=through or trip.planned.through_on)
    if trip.out:
        left = made_firm(left)
    first = max(left.from_on, trip.back.on if trip.back else left.from_on)
    if left.through_on < first:
        raise Refused([Problem("", f"{left.ref} is over: nothing of it is left to move")])
    return left._replace(number=0, van=to_van, from_on=first)


def moved(
    book: Writing, trip: Trip, to_van: str, changes: dict[str, Any], words: str | None
) -> list[HireReport]:
    """A booking moved to another van; Refused where it clashes there."""
    book.facts(trip.hire.van)
    new = _leave(book, trip, to_van, words, changes.get("through_on"))._replace(**changes)
    within = context_of(book, new)
    late = change_over(within, changes.get("through_on"), words)
    book.refuse([*booking(within, new, {}), *late])
    return [_stands(book, new, trip)]


def _stands(book: Writing, new: Hire, was: Trip) -> HireReport:
    """A booking on its new van, with the licences that were shown for it."""
    made: Hire = book.add(new)
    for seen in book.facts(was.hire.van).drivers:
        if seen.hire == was.hire.number:
            copy = book.add(seen._replace(number=0, van=new.van, hire=made.number))
            book.tell(f"#{copy.number} keeps what #{seen.number} saw of driver {seen.driver}.")
    book.tell(
        f"#{made.number} {new.ref} moved from {was.hire.van} to {new.van}, from "
        f"{day_words(new.from_on)} through {day_words(new.through_on)}."
    )
    return _answer(book, new.van, made, "hire change")


def _swapped(
    book: Writing, one: Trip, two: Trip, changes: dict[str, Any], words: str | None
) -> list[HireReport]:
    """Two bookings change places: each is held against what is left on the other's van."""
    pair = (one, two)
    if one.hire.van == two.hire.van or changes:
        raise Refused([Problem("--swap", "swaps two bookings of two vans, and changes no more")])
    others = {
        trip.hire.van: [
            h for h in book.van(trip.hire.van).hires if h.ref not in (one.hire.ref, two.hire.ref)
        ]
        for trip in pair
    }
    new = [_leave(book, trip, other.hire.van, words) for trip, other in ((one, two), (two, one))]
    book.refuse([p for hire in new for p in clashes(book.book, hire, others[hire.van])])
    return [_stands(book, hire, trip) for hire, trip in zip(new, pair, strict=True)]


def hire_cancel(place: str, by: str, ref: str, why: str, *, dry_run: bool = False) -> list[str]:
    """Cancel a booking; a hirer who never came is one cancelled afterwards."""
    with recording(place, by, dry_run=dry_run) as book:
        trip = find_trip(book, ref)
        hire = trip.hire
        if trip.out:
            raise Refused(
                [
                    Problem(
                        "",
                        f"{ref} went out {day_words(trip.out.on)}: what happened is not "
                        "cancelled. Record its return, or withdraw the release if it is wrong",
                    )
                ]
            )
        made = book.add(HireChange(0, hire.van, hire.number, book.today, words=why, cancelled=True))
        book.tell(
            f"#{made.number} cancelled {ref} of {hire.van}, {day_words(hire.from_on)} to "
            f'{day_words(hire.through_on)}: "{why}".'
        )
    return book.said


class Seen(NamedTuple):
    """A driver's licence as it was seen: its class, how, its last day, whose, when."""

    licence: str
    shown: str
    until: dt.date
    driver: int = 1
    on: dt.date | None = None


def licence_seen(place: str, by: str, ref: str, seen: Seen, *, dry_run: bool = False) -> list[str]:
    """Write down that a driver's licence was seen for a hire."""
    with recording(place, by, dry_run=dry_run) as book:
        add_driver(book, find_trip(book, ref).planned, seen)
    return book.said


def add_driver(book: Writing, hire: Hire, seen: Seen) -> None:
    """Hold what was seen of a licence, keep it and tell it."""
    book.facts(hire.van)
    on = seen.on or book.today
    new = Driver(0, hire.van, hire.number, seen.driver, seen.licence, seen.shown, on, seen.until)
    made: Driver = put(book, new)
    book.tell(
        f"#{made.number} {hire.ref}: licence of driver {made.driver} seen ({made.shown}) "
        f"{day_words(on)}: {made.licence}, to {day_words(made.last_day)}."
    )


def find_trip(book: Writing, ref: str, *, lapsed: bool = False) -> Trip:
    """The booking a reference means, whatever van it is on; Refused when none stands. `lapsed`:
    one that was pencilled and lapsed is found too."""
    refs = stored.hire_refs(book.connection)
    if ref not in refs:
        hint = near(ref, refs)
        how = "Bookings stand with their van: fleetcare van show VAN"
        raise Refused([Problem("", f'there is no hire "{ref}".{hint} {how}')])
    van = refs[ref]
    found = book.van(van).trip(ref)
    if found is not None:
        return found
    facts = book.facts(van)
    hire = [one for one in facts.hires if one.ref == ref][-1]
    ours = changes_of(facts).get(hire.number, [])
    end = ended(facts, hire, ours)
    if end is None or end.how != "lapsed":
        raise Refused([Problem("", f"{ref} of {van} was cancelled")])
    if lapsed:
        was = changed(hire, ours)
        return Trip(was, was)
    how = f"Book it again, if the van is free, with: fleetcare hire change {ref} --firm"
    raise Refused([Problem("", f"{ref} of {van} {end_words(end)}. {how}")])
