"""What a booking, a change of one, a release or a return can't be written down with."""

from __future__ import annotations

import datetime as dt
import itertools
import re
from collections.abc import Mapping
from decimal import Decimal

from fleetcare.errors import Problem, not_one_of
from fleetcare.faults.context import Context, fault
from fleetcare.records.facts import Facts
from fleetcare.records.kinds import Hire
from fleetcare.records.workshop import too_many_children
from fleetcare.records.yard import SHOWN, Back, Driver, HireChange, Out
from fleetcare.rules.book import Book
from fleetcare.van.trips import changed, clashing, pressed, trips_of
from fleetcare.words.days import day_words


def hire(within: Context, new: Hire) -> list[Problem]:
    """Its party, days turned round, a known reference, a clash."""
    ours = [change for change in within.facts.hire_changes if change.hire == new.number]
    return booking(within, changed(new, ours), within.others.refs())


def hire_change(within: Context, new: HireChange) -> list[Problem]:
    """The booking as it then stands."""
    of = next((one for one in within.facts.hires if one.number == new.hire), None)
    if of is None or new.cancelled or new.moved_to:
        return []
    ours = [*(c for c in within.facts.hire_changes if c.hire == of.number), new]
    return booking(within, changed(of, ours), {}) + change_over(within, new.through_on, new.words)


def change_over(within: Context, through_on: dt.date | None, words: str | None) -> list[Problem]:
    """A booking changed to a last day that is over, without a word why: likely a slip."""
    found = over(within, through_on) if through_on and not words else []
    return [one._replace(message=f"{one.message}. If it is so, say why in words") for one in found]


def over(within: Context, through_on: dt.date) -> list[Problem]:
    """A booking whose last day is over."""
    if through_on >= within.today:
        return []
    return fault("through_on", f"{through_on} is over: today is {within.today}")


def booking(within: Context, new: Hire, refs: Mapping[str, str]) -> list[Problem]:
    """A booking as it is to stand among the others of its van; `refs` are those taken."""
    rules = within.rules
    found = party(rules, new)
    if new.through_on < new.from_on:
        found += fault("through_on", f"{new.through_on} is before {new.from_on}")
    same_day = new.from_on == new.through_on
    if same_day and new.collect_at and new.return_at and new.return_at <= new.collect_at:
        words = f"{new.return_at} is before it is collected ({new.collect_at})"
        found += fault("return_at", words)
    if new.ref in refs:
        found += fault("ref", f'"{new.ref}" is a hire of {refs[new.ref]} already')
    others = [t.hire for t in within.van.trips if t.hire.number != new.number]
    return [*found, *clashes(rules, new, others)]


def clashes(rules: Book, new: Hire, others: list[Hire]) -> list[Problem]:
    """The other bookings that it clashes with."""
    days = rules.turnaround_days
    apart = (
        f"{days} {'day' if days == 1 else 'days'} must lie between"
        if days
        else "two hires share a changeover day at most"
    )
    hours = rules.turnaround_hours
    found = []
    for other in others:
        booked = (
            f"{new.van} is booked as {other.ref} from {begins(other)} through {ends(other)} "
            f"(#{other.number})"
        )
        if clashing(other, new.from_on, new.through_on, days):
            found += fault("", f"{booked}: {apart}")
        elif pressed(other, new, hours):
            between = f"{hours} {'hour' if hours == 1 else 'hours'} must lie between"
            late = "it is collected before the other is back"
            found += fault("", f"{booked}: {between if hours else late}")
    return found


def begins(hire: Hire) -> str:
    """The day of collection, with its hour where it was said."""
    return f"{day_words(hire.from_on)} {hire.collect_at or ''}".rstrip()


def ends(hire: Hire) -> str:
    """The day of return, with its hour where it was said."""
    return f"{day_words(hire.through_on)} {hire.return_at or ''}".rstrip()


def party(rules: Book, new: Hire) -> list[Problem]:
    """Weights, class of licence and countries of a booking."""
    found = []
    for kg in new.bike_kg or ():
        if not (re.fullmatch(r"\d{1,3}(\.\d{1,3})?", kg) and Decimal(kg) > 0):
            found += fault("bike_kg", f'"{kg}" is not a mass in kg: type it like 24')
    bikes, weighed = new.bikes + new.electric_bikes, len(new.bike_kg or ())
    if weighed > bikes:
        found += fault("bike_kg", f"{weighed} masses for {bikes} bikes")
    if new.people == 0:
        found += fault("people", "nobody rides: say how many, the driver among them")
    too_many = too_many_children(new.people, new.children)
    found += fault("children", too_many) if too_many else []
    found += class_of_licence(rules, new.licence)
    for country in new.abroad or ():
        if not re.fullmatch("[A-Z]{2}", country):
            words = f'"{country}" is not a country: type its two letters, like DE'
            found += fault("abroad", words)
    return found


def class_of_licence(rules: Book, word: str | None) -> list[Problem]:
    """A class of licence that no rule knows."""
    if word is None or word in rules.licences:
        return []
    return fault("licence", not_one_of(word, rules.licences))


def driver(within: Context, new: Driver) -> list[Problem]:
    """Which driver, a class the rules know, and how it was shown."""
    found = class_of_licence(within.rules, new.licence)
    if new.driver < 1:
        found += fault("driver", f"{new.driver} is no driver: count from 1")
    if new.shown not in SHOWN:
        found += fault("shown", not_one_of(new.shown, SHOWN))
    return found


def out(within: Context, new: Out) -> list[Problem]:
    """Not twice, not after its hire or its return, and not while the van is out on another."""
    trip = next((t for t in trips_of(within.facts) if t.hire.number == new.hire), None)
    found = []
    if trip and trip.out:
        found += fault("", f"{trip.hire.ref} is out since {day_words(trip.out.on)} already")
    elif trip and trip.back and (within.before is None or trip.back.on < new.on):
        words = f"{trip.hire.ref} came back {day_words(trip.back.on)} (#{trip.back.number}) already"
        found += fault("", f"{words}: withdraw that record if it is wrong")
    elif trip and new.on > trip.planned.through_on:
        found += fault("on", f"{new.on} is after the last day of {trip.hire.ref}")
    return found or two_out(within.facts, new)


def back(within: Context, new: Back) -> list[Problem]:
    """Not twice, and not before it went out."""
    trip = next((t for t in trips_of(within.facts) if t.hire.number == new.hire), None)
    if trip is None:
        return []
    found = []
    if trip.back:
        found += fault("", f"{trip.hire.ref} came back {day_words(trip.back.on)} already")
    began = trip.out.on if trip.out else trip.planned.from_on
    if new.on < began:
        found += fault("on", f"{new.on} is before it went out ({began})")
    return found or two_out(within.facts, new)


def two_out(facts: Facts, new: Out | Back | None) -> list[Problem]:
    """A van is out on one hire at a time: two whose days out overlap cannot both be so."""
    outs = [*facts.outs, *([new] if isinstance(new, Out) else [])]
    backs = [*facts.backs, *([new] if isinstance(new, Back) else [])]
    back_on = {one.hire: one.on for one in backs}
    refs = {one.number: one.ref for one in facts.hires}
    spans = sorted((one.on, back_on.get(one.hire, dt.date.max), one.hire) for one in outs)
    found = []
    for one, two in itertools.pairwise(spans):
        if two[0] >= one[1]:
            continue
        first = refs.get(one[2], "?")
        if isinstance(new, Out) and two[2] == new.hire and one[1] == dt.date.max:
            how = f"record its return first, with: fleetcare hire back {first} --odometer …"
            found += fault("", f"{new.van} is out as {first}: {how}")
        else:
            later = f"{refs.get(two[2], '?')} went out {day_words(two[0])}, before {first} was back"
            found += fault("", f"{later}: a van is out on one hire at a time")
    return found
