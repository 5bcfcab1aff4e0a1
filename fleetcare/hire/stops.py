"""What stands in the way of a hire: rules, not on fleet, another hire, an unknown country."""

from __future__ import annotations

import datetime as dt
from typing import NamedTuple

from fleetcare.hire.ask import Ask, Spared, party_of
from fleetcare.records.kinds import Hire
from fleetcare.rules.outcome import STANDING, Judgement, Outcome
from fleetcare.timeline import Step, Verdict
from fleetcare.van.trips import (
    Trip,
    clashing,
)
from fleetcare.windows import EVER, eve
from fleetcare.words.days import day_words
from fleetcare.words.reasons import reason


class Blocking(NamedTuple):
    """One thing in the way."""

    rule: str
    place: str | None
    standing: str
    last_good_day: dt.date | None
    reason: str
    source: str
    outcome: Outcome | None = None
    step: Step | None = None


def blocked_by_rule(judged: Judgement, outcome: Outcome, step: Step, start: dt.date) -> Blocking:
    """A rule that stops the hire, from its worst step."""
    return Blocking(
        outcome.rule.name,
        outcome.place,
        STANDING[step.code],
        last_good_before(outcome, step),
        reason(judged, outcome, step),
        str(outcome.rule.version_at(max(step.start, start)).source),
        outcome,
        step,
    )


def last_good_before(outcome: Outcome, step: Step) -> dt.date | None:
    """The last good day before a bad step; None when there never was one."""
    before = None
    for other in outcome.timeline.steps:
        if other.start >= step.start:
            break
        if other.verdict is Verdict.GOOD:
            before = None
        elif before is None:
            before = other
    first = before or step
    if first.start == EVER:
        return None
    previous = outcome.timeline.at(eve(first.start))
    if previous.code == "not applicable" or previous.verdict is not Verdict.GOOD:
        return None
    return eve(first.start)


def off_fleet(judged: Judgement, ask: Ask) -> list[Blocking]:
    """Days of the hire on which the van is not on fleet, or nobody said that it is."""
    if judged.service is None:
        return [
            Blocking(
                "service",
                None,
                "cannot say",
                None,
                "nobody said from when the van is on fleet",
                "the firm's own book",
            )
        ]
    if judged.service.covers(ask.start, ask.through):
        return []
    runs = "; ".join(f"{day_words(a)} to {day_words(b)}" for a, b in judged.service.runs())
    return [
        Blocking(
            "service",
            None,
            "failed",
            judged.service.last_good(ask.start),
            f"on fleet {runs or 'never'}",
            "the firm's own book",
        )
    ]


def other_hires(judged: Judgement, ask: Ask) -> list[Blocking]:
    """Other hires of the van on the days asked about."""
    return [
        Blocking(
            "hire",
            trip.hire.ref,
            "failed",
            eve(trip.hire.from_on),
            f"{'out' if trip.out else 'booked'} {day_words(trip.hire.from_on)} to "
            f"{day_words(trip.hire.through_on)} as {trip.hire.ref} (#{trip.hire.number})",
            "the firm's own book",
        )
        for trip in judged.view.trips
        if trip.hire.ref != ask.ref and clashes(judged, trip.hire, ask)
    ]


def clashes(judged: Judgement, hire: Hire, ask: Ask) -> bool:
    """Whether a hire and the one asked about clash."""
    return clashing(hire, ask.start, ask.through, judged.view.book.turnaround_days)


def not_back(trip: Trip) -> Blocking:
    """A hire past its last day that nobody wrote down as back."""
    return Blocking(
        "hire",
        trip.hire.ref,
        "failed",
        None,
        f"still out as {trip.hire.ref}: due back {day_words(trip.planned.through_on)}, no return "
        f"recorded. Record it with: fleetcare hire back {trip.hire.ref} --odometer …",
        "the firm's own book",
    )


def unknown_countries(judged: Judgement, ask: Ask) -> list[Blocking]:
    """Countries of which the book holds no rules: nobody can say whether the van may go there."""
    return [
        Blocking(
            "abroad",
            country,
            "cannot say",
            None,
            f"the rulebook has no file of what binds a visiting van in {country}",
            "the rulebook",
        )
        for country in ask.party.abroad
        if judged.view.book.visiting(country) is None
    ]


def spoiled(judged: Judgement, outcome: Outcome, on: dt.date) -> Hire | None:
    """The next hire, not yet collected, that an outcome spoils if nothing is done."""
    for hire in sorted(judged.hires, key=lambda h: (h.from_on, h.number)):
        if hire.from_on <= on:
            continue
        spared = Spared(judged.view, hire.ref)
        if spared.bad_steps(outcome, hire.from_on, hire.through_on, party_of(hire)):
            return hire
    return None
