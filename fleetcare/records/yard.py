"""The records of the yard: a booking changed, a van released and back, sheets, what happened to it,
recalls, laid up, gone."""

from __future__ import annotations

from typing import NamedTuple

from fleetcare.records.fields import (
    Clock,
    Count,
    Day,
    Distance,
    Flag,
    Mass,
    Names,
    Number,
    Person,
    Said,
    Van,
    Volume,
    Word,
)


class HireChange(NamedTuple):
    """A booking changed, moved to another van, or cancelled. A field left empty stays as it was."""

    number: Number
    van: Van
    hire: Number
    on: Day
    words: Said | None = None
    from_on: Day | None = None
    through_on: Day | None = None
    bikes: Count | None = None
    electric_bikes: Count | None = None
    bike_kg: Names | None = None
    licence: Word | None = None
    licence_seen_on: Day | None = None
    abroad: Names | None = None
    moved_to: Word | None = None  # fleet number; the booking stands there from now on
    cancelled: Flag | None = None
    people: Count | None = None
    children: Count | None = None
    luggage: Mass | None = None
    water: Volume | None = None
    fuel: Volume | None = None
    collect_at: Clock | None = None
    return_at: Clock | None = None
    firm: Flag | None = None  # pencilled no more


SHOWN = ("photocard", "online", "paper")  # ways to show a driving licence
ON_SCREEN, NOT_SIGNED = "on the screen", "would not sign"
HOW_SIGNED = ("on the paper", ON_SCREEN, NOT_SIGNED)  # ways a hirer signs a sheet, or does not


class Driver(NamedTuple):
    """A driver's licence as it was shown for a hire; no name and no number is kept of it."""

    number: Number
    van: Van
    hire: Number
    driver: Count  # the first, the second
    licence: Word  # class
    shown: Word  # how
    on: Day
    last_day: Day  # to which that class stands on it


class Waiver(NamedTuple):
    """A named person lets one hire go without one item of practice, as it stood then.

    `code` and `record` tell how it stood: what happens afterwards is not waived by it.
    """

    number: Number
    van: Van
    hire: Number
    rule: Word
    code: Word
    on: Day
    by: Person
    words: Said
    place: Word | None = None
    record: Number | None = None


class Out(NamedTuple):
    """The release: a van handed over, and the judgement it went out on.

    `unreleased` says why it left although it was not to.
    """

    number: Number
    van: Van
    hire: Number
    on: Day
    by: Person
    hireable: Word
    known_at: Count
    rulebook: Word
    at: Clock | None = None
    odometer: Distance | None = None
    blocking: Names | None = None  # what stood against it, "rule:place"
    waived: Names | None = None
    unreleased: Said | None = None
    even_so: Said | None = None


class Back(NamedTuple):
    """A van come back from a hire."""

    number: Number
    van: Van
    hire: Number
    on: Day
    at: Clock | None = None
    by: Person | None = None
    odometer: Distance | None = None
    even_so: Said | None = None
    where: Said | None = None  # left there; in the yard if not said


class Sheet(NamedTuple):
    """A handover or return sheet, filled and signed; `lines` as "line:place=answer"."""

    number: Number
    van: Van
    hire: Number
    what: Word
    on: Day
    by: Person
    lines: Names
    at: Clock | None = None


class Event(NamedTuple):
    """Something that happened to a van and asks for a check."""

    number: Number
    van: Van
    what: Word
    on: Day
    at: Clock | None = None
    by: Person | None = None
    hire: Number | None = None
    words: Said | None = None
    where: Said | None = None  # where the van is from then on
    told: Said | None = None  # what the hirer was told
    came: Said | None = None  # who came out to it


class Visit(NamedTuple):
    """A van booked in with a workshop, both days included; it goes on no hire on these days."""

    number: Number
    van: Van
    from_on: Day
    through_on: Day
    where: Said
    jobs: Names | None = None  # names of rules
    words: Said | None = None
    parts: Said | None = None  # on order for it
    parts_due_on: Day | None = None  # the day they come
    even_so: Said | None = None


class Expectation(NamedTuple):
    """A day on which something is said to fall due, its paper not seen: it is evidence of nothing,
    and a reason to look for the paper."""

    number: Number
    van: Van
    what: Word  # kind of check
    due_on: Day
    place: Word | None = None


class Recall(NamedTuple):
    """A maker's recall: it stops the van at once, or from the day after `do_by`."""

    number: Number
    van: Van
    maker_number: Word
    on: Day
    words: Said
    stop_use: Flag | None = None
    do_by: Day | None = None


class RecallDone(NamedTuple):
    """A recall closed by the dealer's paper."""

    number: Number
    van: Van
    recall: Number
    on: Day
    by: Person
    certificate: Word


class LayUp(NamedTuple):
    """A van off the road from a day on; one of the same first day puts the day back right."""

    number: Number
    van: Van
    from_on: Day
    words: Said
    back_on: Day | None = None


class Gone(NamedTuple):
    """A van that left the fleet for good."""

    number: Number
    van: Van
    on: Day
    words: Said
