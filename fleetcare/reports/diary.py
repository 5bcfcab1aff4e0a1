"""The bookings as a list, and the fleet day by day: who is out, what lapses, when a van may go."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from typing import Any, NamedTuple

from fleetcare.hire.answer import decision
from fleetcare.hire.ask import Ask, party_of
from fleetcare.records.kinds import Hire
from fleetcare.reports.hire import party_words
from fleetcare.reports.hires_out import called, end_words
from fleetcare.rules.outcome import Judgement, Outcome
from fleetcare.rules.party import NO_BIKES
from fleetcare.van.trips import Trip, changed, changes_of, ended, in_workshop
from fleetcare.windows import eve, nights_after
from fleetcare.words.reasons import titled

_OVER = ("back", "presumed back")


class Booking(NamedTuple):
    """One booking, and how it stands: moved and cancelled ones too, for somebody may ask after
    them. `answer` is given while it is to go out or is out: yes, if done, no."""

    ref: str
    van: str
    plate: str | None
    start: dt.date
    through: dt.date
    party: str
    stands: str
    answer: str | None
    away: str = ""  # out, as written down; presumed, where nobody wrote it


def bookings(judged: Judgement, on: dt.date, first: dt.date, last: dt.date) -> Iterator[Booking]:
    """The bookings of a van that touch some days."""
    touches = _touching(first, last)
    yield from _standing(judged, on, touches)
    yield from (_booking(judged, *left, None) for left in _left(judged) if touches(left[0]))


def _touching(first: dt.date, last: dt.date) -> Callable[[Hire], bool]:
    return lambda hire: hire.from_on <= last and hire.through_on >= first


def booking(judged: Judgement, on: dt.date, ref: str) -> Booking | None:
    """The booking of a van under a reference: of those that were moved or cancelled the last."""

    def ours(hire: Hire) -> bool:
        return hire.ref == ref

    left = [_booking(judged, *one, None) for one in _left(judged) if ours(one[0])]
    return next(_standing(judged, on, ours), left[-1] if left else None)


def _standing(judged: Judgement, on: dt.date, wanted: Callable[[Hire], bool]) -> Iterator[Booking]:
    """Those that were neither moved nor cancelled: over, out or to come on a day."""
    for trip in judged.known.trips:
        if wanted(trip.hire):
            made = _booking(judged, trip.planned, called(trip, on), _answered(judged, trip, on))
            yield made._replace(away=_away(trip, on))


def _booking(judged: Judgement, hire: Hire, stands: str, found: str | None) -> Booking:
    plate = judged.plate_on(hire.from_on)
    hours = [f"collected {hire.collect_at}"] if hire.collect_at else []
    hours += [f"back {hire.return_at}"] if hire.return_at else []
    party = ", ".join(words for words in (party_words(hire), *hours) if words)
    return Booking(hire.ref, judged.van, plate, hire.from_on, hire.through_on, party, stands, found)


def _away(trip: Trip, on: dt.date) -> str:
    """Whether a van is away with a hire on a day, by what was written down, or only presumed."""
    if trip.back and trip.back.on <= on:
        return ""
    if trip.out and trip.out.on <= on:
        return "out"
    return "presumed" if trip.hire.from_on <= on <= trip.hire.through_on else ""


def _answered(judged: Judgement, trip: Trip, on: dt.date) -> str | None:
    """May it go, or stay out, as it is booked and the records stand? None once it is over."""
    if called(trip, on) in _OVER:
        return None
    hire = trip.planned
    ask = Ask(
        max(hire.from_on, on) if trip.out else hire.from_on, max(hire.through_on, on), on,
        party_of(judged.known, hire), hire.ref,
    )  # fmt: skip
    found = decision(judged, ask, dated=False)
    if trip.out or hire.from_on <= on:  # nothing is done first any more
        return found.hireable
    return found.bookable


def _left(judged: Judgement) -> Iterator[tuple[Hire, str]]:
    """The bookings that stand no more, with what became of them."""
    facts = judged.known.facts
    stand = {trip.hire.number for trip in judged.known.trips}
    changes = changes_of(facts)
    for hire in facts.hires:
        ours = changes.get(hire.number, [])
        end = None if hire.number in stand else ended(facts, hire, ours)
        if end:
            yield changed(hire, ours), end_words(end)


class Row(NamedTuple):
    """One van along the days: a mark for each, and in words what they stand for."""

    van: str
    plate: str | None
    marks: str
    hires: tuple[Booking, ...]
    lapses: tuple[tuple[dt.date, str], ...]


def days_from(on: dt.date, many: int) -> list[dt.date]:
    """So many days from one on."""
    return [nights_after(on, n) for n in range(many)]


# What a day is marked with; the first that holds.
MARKS = {
    "#": "out, or booked", "w": "in the workshop", "x": "may not go",
    "!": "the last day of something", ".": "free",
}  # fmt: skip


def diary_row(judged: Judgement, first: dt.date, days: int, on: dt.date) -> Row:
    """A van from a first day on, as its bookings stand on a day: bookings before holds, holds
    before what stops it, then what lapses."""
    last = nights_after(first, days - 1)
    hires = tuple(sorted(_standing(judged, on, _touching(first, last)), key=lambda one: one.start))
    lapses = _lapses(judged, first, last)
    fit = judged.hireable_days()
    busy = in_workshop(judged.known.facts)
    marks = []
    for day in days_from(first, days):
        if any(trip.hire.from_on <= day <= trip.hire.through_on for trip in judged.known.trips):
            marks.append("#")
        elif day in busy:
            marks.append("w")
        elif not fit.covers(day, day):
            marks.append("x")
        else:
            marks.append("!" if any(day == one for one, _ in lapses) else ".")
    return Row(judged.van, judged.plate_on(first), "".join(marks), hires, lapses)


def _lapses(judged: Judgement, on: dt.date, last: dt.date) -> tuple[tuple[dt.date, str], ...]:
    """The last day on which each rule does not stop the van, where it stops it the day after."""
    found = []
    for outcome in judged.outcomes:
        if outcome.blocks(outcome.at(on), NO_BIKES) or _held(outcome):
            continue
        steps = (step for step in outcome.timeline.steps if step.start > on)
        stops = next((step.start for step in steps if outcome.blocks(step, NO_BIKES)), None)
        if stops is not None and eve(stops) <= last:
            found.append((eve(stops), titled(outcome)))
    return tuple(sorted(found))


def _held(outcome: Outcome) -> bool:
    """Whether it is a hold: its days are marked, and nothing ends on the eve of them."""
    return "holds" in outcome.kind.reads(outcome.rule).others


def booking_json(one: Booking) -> dict[str, Any]:
    """The keys programs rely on."""
    return {
        "ref": one.ref, "van": one.van, "from": one.start, "through": one.through,
        "party": one.party, "stands": one.stands, "answer": one.answer,
    }  # fmt: skip


def row_json(row: Row, on: dt.date) -> dict[str, Any]:
    """The same for a row of the diary: a day each, with its mark in a word."""
    return {
        "van": row.van,
        "days": [
            {"on": day, "is": MARKS[mark]}
            for day, mark in zip(days_from(on, len(row.marks)), row.marks, strict=True)
        ],
        "hires": [booking_json(one) for one in row.hires],
        "lapses": [{"on": day, "rule": words} for day, words in row.lapses],
    }
