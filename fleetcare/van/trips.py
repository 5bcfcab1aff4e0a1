"""What takes a van away: its bookings and what became of each, lay-ups and holds.

A booking is a plan. Going out and coming back are facts, and where they were recorded the days
are theirs: a van back early is free, one that is late still stands in the way.
"""

from __future__ import annotations

import datetime as dt
from typing import NamedTuple

from fleetcare.records.facts import Facts
from fleetcare.records.kinds import Hire, Hold
from fleetcare.records.yard import Back, Driver, HireChange, Out, Sheet, Visit
from fleetcare.windows import FOREVER, Windows, next_day

_CHANGED = (
    "from_on",
    "through_on",
    "bikes",
    "electric_bikes",
    "bike_kg",
    "licence",
    "licence_seen_on",
    "abroad",
    "people",
    "children",
    "luggage",
    "water",
    "fuel",
    "collect_at",
    "return_at",
)


class Trip(NamedTuple):
    """A booking as it stands; its days are those it was out where that was recorded."""

    hire: Hire
    planned: Hire  # as booked and changed, whatever became of it
    out: Out | None = None
    back: Back | None = None

    def still_out(self, on: dt.date) -> bool:
        """Sent out, past its last day, and nobody wrote down that it came back."""
        if self.out is None or self.planned.through_on >= on:
            return False
        return self.back is None or self.back.on > on

    def out_on(self, on: dt.date) -> bool:
        """Whether the van is away with it at the end of a day, by record or presumed by plan."""
        if self.back is not None and on >= self.back.on:
            return False
        return self.hire.from_on <= on and (on <= self.hire.through_on or self.still_out(on))

    @property
    def called(self) -> str:
        """How a report speaks of it while its days last: out, or only presumed out."""
        return f"out as {self.hire.ref}" if self.out else f"presumed out as {self.hire.ref}"


class Handed(NamedTuple):
    """What was recorded at the handover of one hire: the licence of each driver as it was last
    shown, the sheets kept, the van's leaving."""

    drivers: tuple[Driver, ...] = ()
    sheets: tuple[Sheet, ...] = ()
    out: Out | None = None


NOTHING = Handed()


# What stands among the lines of a sheet beside the answers: how long it took, what it rests on, the
# digest of the picture that the hirer signed with.
TOOK, RESTS_ON, SIGNED_WITH = BESIDE = ("took=", "rests-on=", "glass=")


def answers_of(sheet: Sheet) -> tuple[str, ...]:
    """The answers of a sheet, without what was written beside them."""
    return tuple(word for word in sheet.lines if not word.startswith(BESIDE))


def signed_by_hirer(sheet: Sheet) -> bool:
    """Whether the hirer signed it, on the screen it was filled on."""
    return any(word.startswith(SIGNED_WITH) for word in sheet.lines)


def sheet_stands(facts: Facts, sheet: Sheet) -> bool:
    """Whether all that a sheet rests on stands: the check that its lines are, the sheet by which
    the yard prepared the van. One of them taken back, nobody looked at what it says."""
    for word in sheet.lines:
        if not word.startswith(RESTS_ON):
            continue
        number = int(word.removeprefix(RESTS_ON))
        below = next((one for one in facts.sheets if one.number == number), None)
        if below is None and not any(check.number == number for check in facts.checks):
            return False
        if below is not None and not sheet_stands(facts, below):
            return False
    return True


def handed_of(facts: Facts) -> dict[int, Handed]:
    """What was recorded at each handover, by the number of its hire."""
    shown: dict[int, dict[int, Driver]] = {}
    for driver in sorted(facts.drivers, key=lambda one: (one.on, one.number)):
        shown.setdefault(driver.hire, {})[driver.driver] = driver
    kept: dict[int, list[Sheet]] = {}
    for sheet in facts.sheets:
        if sheet_stands(facts, sheet):
            kept.setdefault(sheet.hire, []).append(sheet)
    outs = {out.hire: out for out in reversed(facts.outs)}  # the first stands
    return {
        hire: Handed(
            tuple(last for _, last in sorted(shown.get(hire, {}).items())),
            tuple(kept.get(hire, ())),
            outs.get(hire),
        )
        for hire in shown.keys() | kept.keys() | outs.keys()
    }


class End(NamedTuple):
    """What became of a booking that stands no more."""

    how: str  # cancelled, moved, lapsed
    on: dt.date
    to: str | None = None  # the van it moved to, the hour at which it lapsed


def ended(facts: Facts, hire: Hire, changes: list[HireChange]) -> End | None:
    """What became of a booking, its van never having gone out on it; None where it stands."""
    for change in changes:
        if change.cancelled or change.moved_to:
            return End("moved" if change.moved_to else "cancelled", change.on, change.moved_to)
    if hire.pencilled_on is None or any(change.firm for change in changes):
        return None
    until = (hire.pencilled_on, hire.pencilled_at or "23:59")
    lapsed = facts.asked_at is not None and until < facts.asked_at
    return End("lapsed", *until) if lapsed else None


def changes_of(facts: Facts) -> dict[int, list[HireChange]]:
    """The changes of each booking, in the order they were written down."""
    found: dict[int, list[HireChange]] = {}
    for change in facts.hire_changes:
        found.setdefault(change.hire, []).append(change)
    return found


def trips_of(facts: Facts) -> list[Trip]:
    """Every booking that stands, in the order they were written down."""
    if not (facts.hire_changes or facts.outs or facts.backs or facts.asked_at):
        return [Trip(hire, hire) for hire in facts.hires]
    outs = {out.hire: out for out in facts.outs}
    backs = {back.hire: back for back in facts.backs}
    changes = changes_of(facts)
    found = []
    for hire in facts.hires:
        planned, out, back = hire, outs.get(hire.number), backs.get(hire.number)
        ours = changes.get(hire.number, [])
        if out is None and ended(facts, hire, ours):
            continue
        if ours:
            planned = changed(hire, ours)
        first, last = planned.from_on, planned.through_on
        if out:
            first, last = out.on, max(out.on, last)
        if back:
            last = max(back.on, first)
        days = planned
        if (first, last) != (planned.from_on, planned.through_on):
            days = planned._replace(from_on=first, through_on=last)
        found.append(Trip(days, planned, out, back))
    return found


def changed(hire: Hire, changes: list[HireChange]) -> Hire:
    """A booking after its changes, in the order they were written down."""
    for change in changes:
        said = {name: value for name in _CHANGED if (value := getattr(change, name)) is not None}
        hire = hire._replace(**said)
        if change.firm:
            hire = made_firm(hire)
    return hire


def made_firm(hire: Hire) -> Hire:
    """A booking that is pencilled no more."""
    return hire._replace(pencilled_on=None, pencilled_at=None)


def pressed(one: Hire, two: Hire, hours: int) -> bool:
    """Whether one hire comes back on the day another is collected, and later, or with fewer hours
    between than the firm's. Of hours nobody said nothing is known."""
    return any(
        first.through_on == then.from_on
        and first.return_at is not None
        and then.collect_at is not None
        and _minutes(then.collect_at) - _minutes(first.return_at) < hours * 60
        for first, then in ((one, two), (two, one))
    )


def _minutes(clock: str) -> int:
    hours, minutes = clock.split(":")
    return int(hours) * 60 + int(minutes)


def clashing(hire: Hire, start: dt.date, through: dt.date, turnaround: int = 0) -> bool:
    """Whether two hires share more than one changeover day, or leave fewer than the firm's days
    between them."""
    if turnaround:
        between = max((start - hire.through_on).days, (hire.from_on - through).days) - 1
        return between < turnaround
    first, last = max(hire.from_on, start), min(hire.through_on, through)
    if first != last:
        return first < last
    if start == through == hire.from_on == hire.through_on:
        return True  # out and back on one day: there is nothing to change over
    return start != hire.through_on and through != hire.from_on


def laid_up(facts: Facts) -> Windows:
    """The days a van is off the road; the last word on a lay-up of one first day counts."""
    last = {lay_up.from_on: lay_up for lay_up in facts.lay_ups}
    return Windows((one.from_on, one.back_on or FOREVER) for one in last.values())


def visit_days(visit: Visit) -> tuple[dt.date, dt.date]:
    """The days of a visit, half open."""
    return visit.from_on, next_day(visit.through_on)


def in_workshop(facts: Facts) -> Windows:
    """The days on which a van is in a workshop: booked in there, or held for it."""
    held = [held_days(facts, hold) for hold in facts.holds if hold.workshop]
    return Windows([*held, *(visit_days(visit) for visit in facts.visits)])


def held_days(facts: Facts, hold: Hold) -> tuple[dt.date, dt.date]:
    """The days of a hold, half open: to its last day, or to the day somebody lifts it."""
    until = next_day(hold.through_on) if hold.through_on else FOREVER
    return hold.from_on, min(
        [until, *(lift.on for lift in facts.lifts if lift.hold == hold.number)]
    )


def away_with(trips: list[Trip], on: dt.date) -> Trip | None:
    """The booking a van is away with at the end of a day: sent out, or presumed out by its plan.

    On a day a van came back it is in the yard until the next hire is written down as out, and on
    the first day of a booking until that is.
    """
    out = [trip for trip in trips if trip.out_on(on)]
    came_back = any(trip.back and trip.back.on == on for trip in trips)
    known = (t for t in out if t.out or not (came_back or t.hire.from_on == on))
    return min(known, key=lambda trip: trip.out is None, default=None)
