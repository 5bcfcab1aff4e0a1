"""What heads the due report because of where a van is: left without release, still out, laid up,
and hires that something has stopped since last week."""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Container, Iterator, Mapping
from typing import NamedTuple

from fleetcare.rules.outcome import Judgement
from fleetcare.van.trips import Trip, clashing, laid_up
from fleetcare.words.days import day_words
from fleetcare.words.marks import said

Items = frozenset[tuple[str, str | None]]
Changed = Mapping[Items, list[Trip]]


class Head(NamedTuple):
    """A line of the yard's own: its group, what it is called, and the sentence."""

    group: str
    rule: str
    title: str
    standing: str
    reason: str
    last: dt.date | None
    spoils: str | None
    if_out: str | None


def heads(judged: Judgement, on: dt.date) -> Iterator[Head]:
    """Hires that left without release and are not back, and those still out past their last day."""
    for trip in judged.known.trips:
        if trip.out is None or trip.out.on > on or (trip.back and trip.back.on <= on):
            continue
        if trip.out.unreleased:
            against = ", ".join(trip.out.blocking or ()) or "nothing was found against it"
            yield Head(
                "unreleased", "release", "left without release", "failed",
                f"{trip.hire.ref} since {day_words(trip.out.on)}: {said(trip.out.unreleased)} "
                f"(#{trip.out.number}); against it stood: {against}",
                None, None,
                f"out as {trip.hire.ref} until {day_words(trip.planned.through_on)}. Ring the "
                "hirer: say what was not in order, what not to use, and where to stop.",
            )  # fmt: skip
        if trip.still_out(on):
            yield _late(judged, trip, on)


def _late(judged: Judgement, trip: Trip, on: dt.date) -> Head:
    later = [h for h in judged.hires if h.from_on >= on and h.number != trip.hire.number]
    following = min(later, key=lambda h: (h.from_on, h.number), default=None)
    spoils = f"{following.ref} from {day_words(following.from_on)}" if following else None
    return Head(
        "late", "hire", f"still out as {trip.hire.ref}", "failed",
        f"due back {day_words(trip.planned.through_on)}, no return recorded "
        f"(#{trip.hire.number})",
        trip.planned.through_on, spoils,
        f"{trip.hire.ref} was due back {day_words(trip.planned.through_on)}. Ring the hirer: is "
        "all well, where is the van, and when does it come back?",
    )  # fmt: skip


def wanted_back(judged: Judgement, on: dt.date) -> tuple[bool, dt.date | None]:
    """Whether a van is laid up on a day, and the day it is wanted back if somebody said."""
    facts = judged.known.facts
    if not facts.lay_ups or on not in laid_up(facts):
        return False, None
    last = laid_up(facts).last_good(on)
    back = [u.back_on for u in facts.lay_ups if u.back_on and last and u.back_on > last]
    return True, min(back, default=None)


def clashes(
    judged: Judgement, on: dt.date, stopped: Container[tuple[str, str | None]]
) -> Iterator[Head]:
    """Bookings still to come that another one stands in the way of."""
    turnaround = judged.book.turnaround_days
    ahead = [hire for hire in judged.hires if hire.through_on >= on]
    for one, two in itertools.combinations(sorted(ahead, key=lambda h: (h.from_on, h.number)), 2):
        if clashing(one, two.from_on, two.through_on, turnaround):
            yield Head(
                "changed" if ("hire", one.ref) in stopped else "spoils", "hire",
                f"{two.ref} clashes with {one.ref}", "failed",
                f"{one.ref} is through {day_words(one.through_on)} (#{one.number}); move or change "
                "one of them with: fleetcare hire change REF",
                None, f"{two.ref} from {day_words(two.from_on)}", None,
            )  # fmt: skip
