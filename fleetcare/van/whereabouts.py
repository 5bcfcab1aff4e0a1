"""Where a van is on a day: with a hire, in a workshop, where it was left, or in the yard."""

from __future__ import annotations

import datetime as dt
from collections.abc import Container
from typing import NamedTuple

from fleetcare.records.yard import Back, Event, Out
from fleetcare.van.trips import away_with, held_days
from fleetcare.van.van import Van


class Where(NamedTuple):
    """Where a van is: `sort` is hire, workshop, left or yard; `record` says so, if one does."""

    sort: str
    place: str = ""  # as somebody said it; of a van on a hire where it was last heard of
    record: int | None = None
    through: dt.date | None = None
    ref: str = ""  # of the hire


def where(van: Van, on: dt.date, brought: Container[str]) -> Where:
    """Where a van is at the end of a day. What was said last counts: a van left somewhere stays
    there until it goes on a hire, comes back, something is said to have happened elsewhere, or it
    was `brought` home, by an event of these names."""
    trip = away_with(van.trips, on)
    last = _last_said(van, on, brought)
    place = getattr(last, "where", None)
    if trip:
        heard = place if last and last.on >= trip.hire.from_on else None
        number = last.number if last and heard else trip.hire.number
        return Where("hire", heard or "", number, trip.planned.through_on, trip.hire.ref)
    for visit in van.facts.visits:
        if visit.from_on <= on <= visit.through_on:
            return Where("workshop", visit.where, visit.number, visit.through_on)
    for hold in van.facts.holds:
        from_on, until = held_days(van.facts, hold)
        if hold.workshop and from_on <= on < until:
            return Where("workshop", hold.words, hold.number, hold.through_on)
    return Where("left", place, last.number) if last and place else Where("yard")


def _last_said(van: Van, on: dt.date, brought: Container[str]) -> Out | Back | Event | None:
    """The last record up to a day that says where the van is."""
    facts = van.facts
    events = (one for one in facts.events if one.where or one.what in brought)
    said: list[Out | Back | Event] = [*facts.outs, *facts.backs, *events]
    known = [one for one in said if one.on <= on]
    return max(known, key=lambda one: (one.on, one.number), default=None)
