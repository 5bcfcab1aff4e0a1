"""What stops each hire that is out or still to come: compared before and after something changed,
so that whoever made the change hears at once which hires it touches."""

from __future__ import annotations

import datetime as dt
from typing import NamedTuple

from fleetcare.hire.ask import Ask, bad_steps_of, party_of
from fleetcare.records.kinds import Hire
from fleetcare.rules.judge import with_party
from fleetcare.rules.outcome import Judgement, Outcome
from fleetcare.van.trips import (
    Trip,
    clashing,
)

Item = tuple[str, str | None]  # a rule and a place


class Stopped(NamedTuple):
    """One hire and the items that stop it."""

    trip: Trip
    items: frozenset[Item]


def stopped_hires(judged: Judgement, on: dt.date) -> dict[int, Stopped]:
    """Every hire that is out on a day or still to come, by its number, with what stops it."""
    found = {}
    for trip in judged.known.trips:
        over = trip.back is not None and trip.back.on <= on
        if not over and (trip.hire.through_on >= on or trip.still_out(on)):
            found[trip.hire.number] = Stopped(trip, _items(judged, trip.hire, on))
    return found


def _items(judged: Judgement, hire: Hire, on: dt.date) -> frozenset[Item]:
    start, through = max(hire.from_on, on), max(hire.through_on, on)
    ask = Ask(start, through, on, party_of(judged.known, hire), hire.ref)
    bad = {_item(o) for o, _ in bad_steps_of(with_party(judged, ask.party), ask)}
    if judged.service is None or not judged.service.covers(start, through):
        bad.add(("service", None))
    bad |= {("hire", other.ref) for other in _in_its_way(judged, hire, on)}
    return frozenset(bad)


def _in_its_way(judged: Judgement, hire: Hire, on: dt.date) -> list[Hire]:
    """The hires that stand in the way of one: that clash with it, or should be back and are not."""
    turnaround = judged.book.turnaround_days
    return [
        trip.hire
        for trip in judged.known.trips
        if trip.hire.number != hire.number
        and (
            clashing(trip.hire, hire.from_on, hire.through_on, turnaround)
            or (trip.still_out(on) and hire.from_on <= on)
        )
    ]


def _item(outcome: Outcome) -> Item:
    return outcome.rule.name, outcome.place


def newly_stopped(
    before: dict[int, Stopped], after: dict[int, Stopped]
) -> dict[frozenset[Item], list[Trip]]:
    """The hires that something stops which did not before, by what does."""
    found: dict[frozenset[Item], list[Trip]] = {}
    for number, now in after.items():
        then = before.get(number)
        fresh = now.items - then.items if then else frozenset()
        if fresh:
            found.setdefault(fresh, []).append(now.trip)
    return found
