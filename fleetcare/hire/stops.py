"""What stands in the way of a hire: a rule, no home said, not on fleet, another hire, a country
nobody knows. The gate "no home, no yes" stands here and in no rule, so that it binds under
every rulebook ever adopted."""

from __future__ import annotations

import datetime as dt
from typing import NamedTuple

from fleetcare.hire.ask import Ask, Spared, party_of
from fleetcare.records.kinds import Hire
from fleetcare.rules.outcome import Judgement, Outcome
from fleetcare.timeline import Step
from fleetcare.van.trips import Trip, clashing
from fleetcare.windows import Windows, eve


class Blocking(NamedTuple):
    """One thing in the way. `rule` names the rule, or "home", "service", "hire", "abroad"."""

    rule: str
    place: str | None
    standing: str
    last_good_day: dt.date | None = None
    outcome: Outcome | None = None  # of a rule
    step: Step | None = None
    trip: Trip | None = None  # of another hire
    late: bool = False  # that is past its last day and not back


def by_rule(outcome: Outcome, step: Step) -> Blocking:
    """A rule that stops the hire, by its worst step."""
    last = outcome.last_good_before(step)
    return Blocking(outcome.rule.name, outcome.place, outcome.standing(step), last, outcome, step)


def in_the_way(judged: Judgement, ask: Ask) -> list[Blocking]:
    """What no work on the van can put right."""
    return [
        *_homeless(judged, ask),
        *_off_fleet(judged, ask),
        *_other_hires(judged, ask),
        *_unknown_countries(judged, ask),
    ]


def _homeless(judged: Judgement, ask: Ask) -> list[Blocking]:
    """Days on which nobody said whose rules the van is under, or the book has none of that name."""
    days = judged.homeless & Windows.through(ask.start, ask.through)
    return [] if days.empty else [Blocking("home", judged.home, "cannot say")]


def _off_fleet(judged: Judgement, ask: Ask) -> list[Blocking]:
    """Days of the hire on which the van is not on fleet, or nobody said that it is."""
    if judged.service is None:
        return [Blocking("service", None, "cannot say")]
    if judged.service.covers(ask.start, ask.through):
        return []
    return [Blocking("service", None, "failed", judged.service.last_good(ask.start))]


def _other_hires(judged: Judgement, ask: Ask) -> list[Blocking]:
    return [
        Blocking("hire", trip.hire.ref, "failed", eve(trip.hire.from_on), trip=trip)
        for trip in judged.known.trips
        if trip.hire.ref != ask.ref and clashes(judged, trip.hire, ask)
    ]


def clashes(judged: Judgement, hire: Hire, ask: Ask) -> bool:
    """Whether a hire and the one asked about clash."""
    return clashing(hire, ask.start, ask.through, judged.book.turnaround_days)


def not_back(judged: Judgement, ask: Ask) -> list[Trip]:
    """The other hires past their last day that nobody wrote down as back."""
    trips = judged.known.trips
    return [trip for trip in trips if trip.still_out(ask.on) and trip.hire.ref != ask.ref]


def by_late(trip: Trip) -> Blocking:
    """A hire that should be back and is not."""
    return Blocking("hire", trip.hire.ref, "failed", trip=trip, late=True)


def _unknown_countries(judged: Judgement, ask: Ask) -> list[Blocking]:
    """Countries of which the book holds no rules: nobody can say whether the van may go there."""
    return [
        Blocking("abroad", country, "cannot say")
        for country in ask.party.abroad
        if judged.book.visiting(country) is None
    ]


def spoiled(judged: Judgement, outcome: Outcome, on: dt.date) -> Hire | None:
    """The next hire, not yet collected, that an outcome spoils if nothing is done."""
    for hire in sorted(judged.hires, key=lambda h: (h.from_on, h.number)):
        if hire.from_on <= on:
            continue
        spared = Spared(judged, hire.ref)
        party = party_of(judged.known, hire)
        if spared.bad_steps(outcome, hire.from_on, hire.through_on, party):
            return hire
    return None
