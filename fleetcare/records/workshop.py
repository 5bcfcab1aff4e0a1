"""The records of workshop and office: what is said of a van, fitted, checked and found wrong;
bookings, people and the papers of the whole fleet.

`number` is given by the ledger when the record is written; `van` is the fleet number. Text that
names a person or says something in free words holds only a commitment; the words themselves
stand apart, so that they can be emptied and no judgement changes.
"""

from __future__ import annotations

from typing import NamedTuple

from fleetcare.records.fields import (
    Clock,
    Count,
    Day,
    Distance,
    Flag,
    Length,
    Mass,
    Names,
    Number,
    Person,
    Pressure,
    Said,
    Van,
    Volume,
    Word,
)


class VanFacts(NamedTuple):
    """What somebody stated about a van, from a day on; a field left empty states nothing.

    `on` is empty for what was true from the van's beginning.
    """

    number: Number
    van: Van
    on: Day | None = None
    plate: Word | None = None
    vin: Word | None = None
    jurisdiction: Word | None = None
    test_class: Word | None = None
    first_registered_on: Day | None = None
    in_service_from: Day | None = None
    out_of_service_from: Day | None = None
    max_mass: Mass | None = None
    front_axle_mass: Mass | None = None
    rear_axle_mass: Mass | None = None
    tag_axle_mass: Mass | None = None
    running_order_mass: Mass | None = None
    height: Length | None = None
    notice_height: Length | None = None
    wheelbase: Length | None = None
    seats: Count | None = None
    berths: Count | None = None
    axles: Word | None = None
    spare: Word | None = None
    lpg: Flag | None = None
    mains: Flag | None = None
    rack: Flag | None = None
    gas_alarm: Flag | None = None
    electrical_certificate: Word | None = None
    places: Names | None = None  # "gas-hose:locker-1"; "gas-hose:" says there is none
    has: Names | None = None  # facts of the firm's own, "child-seat:yes"
    even_so: Said | None = None
    belted_seats: Count | None = None
    unladen_mass: Mass | None = None
    rear_overhang: Length | None = None
    overall_length: Length | None = None
    front_seats_at: Word | None = None  # "2900mm ahead" of the rear axle, or behind it
    rear_seats_at: Word | None = None
    water_tank_at: Word | None = None
    luggage_at: Word | None = None
    gas_mass: Mass | None = None  # of all its bottles or its tank, full
    service_distance: Distance | None = None  # as its maker's schedule says
    oil_distance: Distance | None = None
    belt_distance: Distance | None = None


class Fit(NamedTuple):
    """A component put into a place. `part` names the first fit of one that was here before."""

    number: Number
    van: Van
    what: Word
    place: Word
    on: Day
    at: Clock | None = None
    part: Number | None = None
    made: Word | None = None  # as marked: a day, month, year, tyre week, or "illegible"
    commissioned: Word | None = None
    replace_by: Word | None = None
    variety: Word | None = None
    load_index: Word | None = None
    speed_symbol: Word | None = None
    tyre_mark: Word | None = None  # r30 or r54: the regulation the tyre is marked to
    cold_pressure: Pressure | None = None
    rating: Mass | None = None
    own_mass: Mass | None = None
    bikes: Count | None = None
    electric_bikes: Count | None = None
    behind_rear_axle: Length | None = None
    even_so: Said | None = None


class TakeOff(NamedTuple):
    """A place emptied."""

    number: Number
    van: Van
    what: Word
    place: Word
    on: Day
    at: Clock | None = None


class Reading(NamedTuple):
    """One measured value of a check, digits and unit as typed, or a word (`isolated`)."""

    what: Word
    place: Word | None
    figure: Word


class Check(NamedTuple):
    """An inspection, test or service done to a van, or a paper that covers days."""

    number: Number
    van: Van
    what: Word
    on: Day
    at: Clock | None = None
    outcome: Word | None = None  # pass, fail, seen (a stamp in the service book), or only readings
    inspector: Number | None = None
    by: Person | None = None
    place: Word | None = None
    certificate: Word | None = None
    from_on: Day | None = None
    last_day: Day | None = None
    odometer: Distance | None = None
    words: Said | None = None
    even_so: Said | None = None
    readings: tuple[Reading, ...] = ()


GRADES = ("dangerous", "major", "minor", "advisory")  # of defects, as testers use them
SERIOUS = GRADES[:2]  # what stops hire until somebody signs it off


class Defect(NamedTuple):
    """Something found wrong; `check` is the record that found it."""

    number: Number
    van: Van
    on: Day
    grade: Word
    words: Said
    at: Clock | None = None
    by: Person | None = None
    check: Number | None = None
    recheck_by: Day | None = None
    about: Word | None = None  # what it is of, to find those that come again
    hire: Number | None = None
    odometer: Distance | None = None


class Repair(NamedTuple):
    """A defect rectified. It is not released until somebody signs it off.

    A temporary one lasts to the end of the hire the van was out on.
    """

    number: Number
    van: Van
    defect: Number
    on: Day
    by: Person
    words: Said | None = None
    temporary: Flag | None = None


class SignOff(NamedTuple):
    """A named person says a defect is rectified, or that no fault was found."""

    number: Number
    van: Van
    defect: Number
    on: Day
    at: Clock | None = None
    inspector: Number | None = None
    by: Person | None = None
    words: Said | None = None


class Recheck(NamedTuple):
    """A defect looked at again: it may wait until `next_on`."""

    number: Number
    van: Van
    defect: Number
    on: Day
    next_on: Day
    by: Person
    words: Said | None = None


class Hold(NamedTuple):
    """A van taken off hire by a person. In a workshop hold work can be done in it."""

    number: Number
    van: Van
    from_on: Day
    words: Said
    through_on: Day | None = None
    workshop: Flag | None = None


class Lift(NamedTuple):
    """A hold lifted."""

    number: Number
    van: Van
    hold: Number
    on: Day
    by: Person
    words: Said | None = None


class Hire(NamedTuple):
    """A booking, from collection to return, both days included."""

    number: Number
    van: Van
    ref: Word
    from_on: Day
    through_on: Day
    bikes: Count = 0
    electric_bikes: Count = 0
    bike_kg: Names | None = None  # of the bikes that were weighed
    licence: Word | None = None  # class alone; the licence itself is never kept
    licence_seen_on: Day | None = None
    abroad: Names | None = None  # countries, like DE
    people: Count | None = None
    children: Count | None = None  # of the people, those under 135 cm
    even_so: Said | None = None
    luggage: Mass | None = None
    water: Volume | None = None
    fuel: Volume | None = None
    collect_at: Clock | None = None
    return_at: Clock | None = None
    pencilled_on: Day | None = None  # it lapses by itself then, at the hour, unless it is made firm
    pencilled_at: Clock | None = None


PENCILLED_HOURS = 48  # a booking is kept for so long where nobody says for how long


def too_many_children(people: int | None, children: int | None) -> str | None:
    """Why so many children can't ride with so many people; None where they can."""
    if children and children > (people or 0):
        return f"{children} of {people or 0} people"
    return None


class Odometer(NamedTuple):
    """What the odometer showed."""

    number: Number
    van: Van
    on: Day
    shown: Distance
    at: Clock | None = None
    even_so: Said | None = None


class FleetPaper(NamedTuple):
    """A paper that names several vans at once."""

    number: Number
    what: Word
    on: Day
    from_on: Day
    last_day: Day
    vans: Names
    certificate: Word | None = None


class Inspector(NamedTuple):
    """A person who checks vans."""

    number: Number
    name: Person


class Attribution(NamedTuple):
    """Records that bear a name alone are those of an inspector of the book."""

    number: Number
    inspector: Number
    records: Names  # their numbers, as words


class Competence(NamedTuple):
    """What an inspector is competent for, and from when to when."""

    number: Number
    inspector: Number
    scope: Word
    from_on: Day
    through_on: Day | None = None
    register_no: Said | None = None


class Withdrawal(NamedTuple):
    """A record taken back, or corrected when `replaced_by` names what stands in its stead."""

    number: Number
    record: Number
    why: Said
    van: Van | None = None
    replaced_by: Number | None = None


class Adoption(NamedTuple):
    """From this record on the book is judged by the rules whose text has this digest."""

    number: Number
    digest: Word
    origin: Word
    on: Day | None = None
