"""Who had a van at a moment, by its releases and returns: a reference, and nobody's name."""

from __future__ import annotations

import datetime as dt
from typing import NamedTuple

from fleetcare.rules.outcome import Judgement
from fleetcare.van.trips import Trip


class Had(NamedTuple):
    """Who had the van: the booking, its release and return as recorded, and whether that is sure.

    `sure` is "yes", or "perhaps" where a time was not written down or nobody recorded the release.
    """

    ref: str
    out: str
    back: str
    sure: str


def had(judged: Judgement, day: dt.date, at: str | None) -> list[Had]:
    """The bookings that may have had the van; none where it was in the yard."""
    found = [(trip, _within(trip, day, at)) for trip in judged.known.trips]
    return [
        Had(trip.hire.ref, _out(trip), _back(trip), sure) for trip, sure in found if sure != "no"
    ]


def _within(trip: Trip, day: dt.date, at: str | None) -> str:
    """Whether a moment lies between release and return; with a time missing on the day of either,
    perhaps."""
    out, back = trip.out, trip.back
    if out is None:
        return "perhaps" if trip.hire.from_on <= day <= trip.hire.through_on else "no"
    after = _after((day, at), (out.on, out.at))
    late = "yes" if day <= trip.planned.through_on else "perhaps"  # and no return was recorded
    before = _after((back.on, back.at), (day, at)) if back else late
    if "no" in (after, before):
        return "no"
    return "perhaps" if "perhaps" in (after, before) else "yes"


def _after(later: tuple[dt.date, str | None], earlier: tuple[dt.date, str | None]) -> str:
    """Whether one moment is not before another."""
    if later[0] != earlier[0]:
        return "yes" if later[0] > earlier[0] else "no"
    if later[1] is None or earlier[1] is None:
        return "perhaps"
    return "yes" if later[1] >= earlier[1] else "no"


def _out(trip: Trip) -> str:
    if trip.out is None:
        return f"no release was recorded; booked from {trip.planned.from_on}"
    return _moment(trip.out.on, trip.out.at)


def _back(trip: Trip) -> str:
    if trip.back is None:
        return f"no return was recorded; booked through {trip.planned.through_on}"
    return _moment(trip.back.on, trip.back.at)


def _moment(on: dt.date, at: str | None) -> str:
    return f"{on} {at}" if at else f"{on}, no time written down"
