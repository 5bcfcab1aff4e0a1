"""The records that prove others: answers given, the papers behind a record, names emptied."""

from __future__ import annotations

from typing import NamedTuple

from fleetcare.records.fields import Count, Day, Mass, Names, Number, Said, Van, Volume, Word


class Answer(NamedTuple):
    """A question that was asked of the book and what it answered; who asked wrote it down.

    `known_at` and `rulebook` say by which records and rules, so that it can be asked again.
    """

    number: Number
    van: Van
    asked: Word  # the command: hireable, hire add, hire change
    on: Day  # the first day work could be done
    from_on: Day
    through_on: Day
    hireable: Word
    bookable: Word
    known_at: Count
    rulebook: Word
    ref: Word | None = None
    bikes: Count = 0
    electric_bikes: Count = 0
    bike_kg: Names | None = None
    licence: Word | None = None
    abroad: Names | None = None
    blocking: Names | None = None  # what stood against it, "rule:place"
    people: Count | None = None
    children: Count | None = None
    luggage: Mass | None = None
    water: Volume | None = None
    fuel: Volume | None = None


class Scan(NamedTuple):
    """The paper behind a record of a van, kept under its SHA-256; without one it is awaited."""

    number: Number
    van: Van
    record: Number
    on: Day
    digest: Word | None = None
    sort: Word | None = None  # pdf, png, jpeg
    octets: Count | None = None


class FleetScan(NamedTuple):
    """The paper behind a record that is of no single van, kept under its SHA-256."""

    number: Number
    record: Number
    on: Day
    digest: Word
    sort: Word
    octets: Count


class Erasure(NamedTuple):
    """Names or words emptied: how many places held them (of a paper done away with none), and why.
    What they were is not kept."""

    number: Number
    on: Day
    emptied: Count
    why: Said
