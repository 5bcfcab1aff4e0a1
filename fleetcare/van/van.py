"""One van's facts arranged: what was said and fitted when, its checks sorted, its trips.

Worked out once a van and read by every rule. It knows no rule, so it serves whichever book judges.
"""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from functools import cached_property
from typing import Any, NamedTuple

from fleetcare.records.facts import Facts, adding
from fleetcare.records.kinds import Check, Fit, Hire, TakeOff, VanFacts
from fleetcare.records.yard import Back, Out
from fleetcare.van.checks import Taken, by_kind, failed, taken
from fleetcare.van.odometer import Rises, most_a_hire_day, rising, shown
from fleetcare.van.places import Key, Stays, arranged, part_at
from fleetcare.van.said import FitOut, fit_outs
from fleetcare.van.trips import Handed, Trip, handed_of, held_days, trips_of
from fleetcare.windows import EVER, FOREVER, Windows, after_days, next_day

# A record that is only supposed has a number from here on; whoever would do it is competent.
SUPPOSED = 1 << 60


class Has(NamedTuple):
    """Of what there is any record: vans alike in it can differ only where records are read."""

    checks: frozenset[str]  # kinds of check
    components: frozenset[str]
    readings: frozenset[str]
    events: frozenset[str]
    papers: frozenset[str]  # kinds of paper that name several vans, this one among them
    others: tuple[bool, ...]  # of each of OTHERS


OTHERS = ("trips", "lay_ups", "defects", "holds", "recalls", "scans", "odometers", "visits")


class Van:
    """Facts arranged; nothing in it changes once worked out."""

    def __init__(self, facts: Facts) -> None:
        self.facts = facts
        self.fit_outs: list[tuple[dt.date, FitOut]] = fit_outs(facts.stated)
        self.checks: dict[str, list[Check]] = by_kind(facts.checks)
        self.places: dict[str, Stays] = arranged(facts.fits, facts.take_offs)
        self._read = [check for check in facts.checks if check.readings]
        self._taken: dict[tuple[str | None, tuple[str, ...]], list[Taken]] = {}
        self.failing = frozenset(check.what for check in facts.checks if failed(check))

    def with_(self, record: Any) -> Van:
        """The same van with one more record; only what the record touches is arranged anew."""
        made = Van.__new__(Van)
        made.facts = facts = adding(self.facts, record)
        made.fit_outs, made.checks, made.places = self.fit_outs, self.checks, self.places
        made._read, made._taken, made.failing = self._read, {}, self.failing
        if isinstance(record, VanFacts):
            made.fit_outs = fit_outs(facts.stated)
        elif isinstance(record, Check):
            listed = [*self.checks.get(record.what, ()), record]
            made.checks = self.checks | by_kind(listed)
            made._read = [*self._read, record] if record.readings else self._read
            made.failing = self.failing | {record.what} if failed(record) else self.failing
        elif isinstance(record, (Fit, TakeOff)):
            fits = [fit for fit in facts.fits if fit.what == record.what]
            off = [one for one in facts.take_offs if one.what == record.what]
            made.places = self.places | arranged(fits, off)
        return made

    @cached_property
    def has(self) -> Has:
        """Of what there is any record."""
        facts = self.facts
        papers = facts.shared.papers_of.get(facts.van, ())
        return Has(
            frozenset(self.checks),
            frozenset(self.places),
            frozenset([r.what for check in self._read for r in check.readings]),
            frozenset([event.what for event in facts.events]),
            frozenset([paper.what for paper in papers]),
            (
                bool(facts.outs or facts.backs),
                bool(facts.lay_ups),
                bool(facts.defects),
                bool(facts.holds),
                bool(facts.recalls),
                bool(facts.scans),
                next(shown(facts), None) is not None,
                bool(facts.visits),
            ),
        )

    @cached_property
    def earliest(self) -> dt.date:
        """The first day a check, a component or the registration is known of."""
        facts = self.facts
        days = [listed[0].on for listed in self.checks.values()]  # each in order of day
        days += [fit.on for fit in facts.fits]
        days += [s.first_registered_on for s in facts.stated if s.first_registered_on]
        return min(days, default=EVER)

    @cached_property
    def rises(self) -> Rises:
        """What the odometer showed, as one line."""
        return rising(self.facts)

    @cached_property
    def trips(self) -> list[Trip]:
        """The bookings that stand, with what became of each."""
        return trips_of(self.facts)

    @cached_property
    def driven_a_hire_day(self) -> Decimal | None:
        """The most it was driven a day on a hire, in km; None where fewer than three tell."""
        return most_a_hire_day(self.trips)

    @cached_property
    def handed(self) -> dict[int, Handed]:
        """What was recorded at each handover, by the number of its hire."""
        return handed_of(self.facts)

    @cached_property
    def hires(self) -> list[Hire]:
        """The bookings that stand, with the days they turned out to have."""
        return [trip.hire for trip in self.trips]

    def trip(self, ref: str | None) -> Trip | None:
        """The booking of a reference, as it stands last; None where there is none."""
        return next((trip for trip in reversed(self.trips) if trip.hire.ref == ref), None)

    @cached_property
    def kept_away(self) -> Windows:
        """The days on which a hold keeps the van from the workshop too."""
        facts = self.facts
        return Windows(held_days(facts, hold) for hold in facts.holds if not hold.workshop)

    @cached_property
    def elsewhere(self) -> Windows:
        """The days on which the van is not there to be worked on: hired out, or kept away."""
        hired = Windows((hire.from_on, next_day(hire.through_on)) for hire in self.hires)
        return hired | self.kept_away

    def used_on(self, check: Check) -> dt.date | None:
        """The first day on which a check of one handover serves no other; None when there is none.

        A van handed over, or come back, after the check has used it up. With a time on only one of
        check and handover the handover came after; a hire only presumed out uses it up when its
        days are over.
        """
        days = [out.on for out in self.facts.outs if _after(out, check, doubt=True)]
        days += [back.on for back in self.facts.backs if _after(back, check, doubt=False)]
        presumed = (t.hire.through_on for t in self.trips if t.out is None and t.back is None)
        days += [next_day(last) for last in presumed if last >= check.on]
        return min(days, default=None)

    def stale_from(self, check: Check, within: int) -> dt.date:
        """The first day on which a check asked for at each handover serves no more: older than so
        many days, or used up. One that served a handover stands until the van is back from it."""
        fresh, used = after_days(check.on, within), self.used_on(check) or FOREVER
        outs = [o for o in self.facts.outs if o.on < fresh and _after(o, check, doubt=True)]
        if not outs:
            return min(fresh, used)
        first = min(outs, key=lambda out: (out.on, out.number))
        came = (b for b in self.facts.backs if b.on <= first.on)
        if any(_after(back, check, doubt=True) for back in came):
            return min(fresh, used)  # it may have been used up before that handover
        trip = next((t for t in self.trips if t.hire.number == first.hire), None)
        if trip is None:
            return min(fresh, used)
        # On the day it is due back the next hire asks anew, whether it is back or not.
        return max(trip.back.on if trip.back else trip.planned.through_on, min(fresh, used))

    def stays(self, what: str) -> Stays:
        """What was in each place ever filled with a kind of component, in order."""
        return self.places.get(what, {})

    def part_at(self, what: str, place: str | None, key: Key) -> int | None:
        """The component in a place at a moment; with no place named, the only one there is."""
        return part_at(self.stays(what), place, key)

    def taken(self, over: str | None, names: tuple[str, ...]) -> list[Taken]:
        """Readings of any of `names`, check by check and place by place, in order."""
        asked = (over, names)
        if asked not in self._taken:
            stays = self.stays(over) if over else None
            self._taken[asked] = taken(self._read, names, stays) if self._read else []
        return self._taken[asked]

    def check_numbered(self, number: int | None) -> Check | None:
        """A check by its number."""
        return next((c for c in self.facts.checks if c.number == number), None) if number else None


def _after(handed: Out | Back, check: Check, *, doubt: bool) -> bool:
    """Whether a van was handed over after a check; `doubt` where only one of them has a time."""
    if handed.on != check.on:
        return handed.on > check.on
    if handed.at and check.at:
        return handed.at > check.at
    if (handed.at or check.at) and doubt:
        return True
    return handed.number > check.number
