"""What is asked of a hire: its days and party as typed, or as booked."""

from __future__ import annotations

import datetime as dt
from typing import NamedTuple

from fleetcare import clock
from fleetcare.errors import Problem, Refused
from fleetcare.hire.ask import Ask, party_of
from fleetcare.rules.outcome import Judgement
from fleetcare.rules.party import Party
from fleetcare.van.trips import Trip


class Question(NamedTuple):
    """May it go out? From when to when, with whom, work being possible from which day (today if
    not said); or as booked under a reference."""

    start: dt.date | None
    through: dt.date | None
    party: Party
    on: dt.date | None = None
    ref: str | None = None


def asked_hire(judged: Judgement, question: Question) -> Ask:
    """The hire asked about: as typed, and as booked where a booking is named and no more typed."""
    start, through, party, on, ref = question
    if ref is not None:
        hire = booked(judged, ref, "--ref").hire
        start, through = start or hire.from_on, through or hire.through_on
        party = _as_booked(party, party_of(judged.known, hire))
    return plain_ask(Question(start, through, party, on, ref))


def _as_booked(asked: Party, booked_: Party) -> Party:
    """What was asked about, and as booked where nothing was asked."""
    bikes = asked if asked.any_bikes else booked_
    shown = () if asked.licence else booked_.drivers  # what is asked about is answered
    ride = asked if asked.people is not None else booked_
    load = asked if asked.says_load else booked_
    return bikes._replace(
        licence=asked.licence or booked_.licence, abroad=asked.abroad or booked_.abroad,
        people=ride.people, children=ride.children, drivers=shown,
        sheets=booked_.sheets, out=booked_.out, luggage_kg=load.luggage_kg,
        water_l=load.water_l, fuel_l=load.fuel_l,
    )  # fmt: skip


def plain_ask(question: Question) -> Ask:
    """The days and party as typed; Refused where they are not said or the wrong way round."""
    start, through = question.start, question.through
    if start is None or through is None:
        words = "say from when to when: --from D --through D, or --ref"
        raise Refused([Problem("", words)])
    if through < start:
        raise Refused([Problem("--through", f"{through} is before {start}")])
    return Ask(start, through, question.on or clock.today(), question.party, question.ref)


def booked(judged: Judgement, ref: str, where: str) -> Trip:
    """The booking of a van that a reference names; Refused, at `where` it was typed, when there is
    none."""
    found = judged.known.trip(ref)
    if found is None:
        known = ", ".join(hire.ref for hire in judged.hires) or "none"
        raise Refused([Problem(where, f'{judged.van} has no hire "{ref}"; it has: {known}')])
    return found
