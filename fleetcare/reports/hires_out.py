"""Every booking with what became of it, as rows: released on which judgement, back or still out."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Any

from fleetcare.records.kinds import Hire
from fleetcare.rules.outcome import Judgement
from fleetcare.van.trips import End, Trip
from fleetcare.words.days import day_words
from fleetcare.words.marks import said

HEADINGS = (
    "Van",
    "Reg",
    "Hire",
    "From",
    "Through",
    "How it stands",
    "Out",
    "Released by",
    "Odometer out",
    "Answer at release",
    "Records known",
    "Rules",
    "Stood against it",
    "Waived",
    "Left without release because",
    "Back",
    "Odometer back",
    "Record",
)


def called(trip: Trip, on: dt.date) -> str:
    """How a hire stands on a day, in a few words."""
    if trip.back and trip.back.on <= on:
        return "back"
    if trip.out is None or trip.out.on > on:
        days = trip.hire.from_on <= on <= trip.hire.through_on
        ahead = pencil_words(trip.planned) or "booked"
        return "presumed out" if days else ahead if on < trip.hire.from_on else "presumed back"
    if trip.out.unreleased:
        return "out without release"
    return "still out, past its last day" if trip.still_out(on) else "out"


def pencil_words(hire: Hire) -> str:
    """To when a booking is pencilled; nothing where it is firm."""
    if hire.pencilled_on is None:
        return ""
    return f"pencilled until {day_words(hire.pencilled_on)} {hire.pencilled_at or ''}".rstrip()


def end_words(end: End) -> str:
    """What became of a booking that stands no more."""
    when = day_words(end.on)
    if end.how == "moved":
        return f"moved to {end.to} {when}"
    return f"{end.how} {when} {end.to or ''}".rstrip()


def hire_rows(judged: Judgement, on: dt.date, plate: str | None) -> Iterator[tuple[Any, ...]]:
    """A row a booking that stands."""
    for trip in judged.known.trips:
        out, back, hire = trip.out, trip.back, trip.planned
        yield (
            judged.van, plate, hire.ref, hire.from_on, hire.through_on, called(trip, on),
            *(_released(trip) if out else (None,) * 9),
            back.on if back else None,
            back.odometer if back else None,
            hire.number,
        )  # fmt: skip


def _released(trip: Trip) -> tuple[Any, ...]:
    out = trip.out
    assert out is not None
    return (
        out.on, said(out.by), out.odometer, out.hireable, out.known_at, out.rulebook[:8],
        ", ".join(out.blocking or ()), ", ".join(out.waived or ()), said(out.unreleased),
    )  # fmt: skip
