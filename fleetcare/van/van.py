"""One van's facts arranged for the rules: what was in each place when, which checks count,
which readings were taken of what. Worked out once a van, then read by every rule."""

from __future__ import annotations

import datetime as dt
from functools import cached_property
from typing import Any

from fleetcare.records.facts import Facts
from fleetcare.records.kinds import Check, Competence, Fit, Hire, Reading, TakeOff
from fleetcare.records.yard import Back, Out, Waiver
from fleetcare.rules.book import Book
from fleetcare.rules.rule import (
    By,
    Rule,
)
from fleetcare.van.checks import Taken, stands_after
from fleetcare.van.places import Key, Stay, in_place_by, key_of
from fleetcare.van.said import (
    FitOut,
    fit_outs,
)
from fleetcare.van.trips import (
    Trip,
    held_days,
    trips_of,
)
from fleetcare.windows import EVER, FOREVER, Windows, next_day

_MARKS = Fit._fields.index("place")  # from here on a fit tells what it is, not which record


# A record that is only supposed has a number from here on; whoever would do it is competent.
SUPPOSED = 1 << 60


class View:
    """Facts arranged; nothing in it changes once worked out."""

    def __init__(self, facts: Facts, book: Book) -> None:
        self.facts = facts
        self.book = book
        self.fit_outs: list[tuple[dt.date, FitOut]] = fit_outs(facts.stated)
        self.checks: dict[str, list[Check]] = {}
        for check in facts.checks:
            self.checks.setdefault(check.what, []).append(check)
        for listed in self.checks.values():
            if len(listed) > 1:
                listed.sort(key=key_of)
        self._stays: dict[str, dict[str, list[Stay]]] = self._arrange()
        self._alike: dict[str, tuple[Any, ...] | None] = {}
        self._taken: dict[tuple[str | None, tuple[str, ...]], list[Taken]] = {}
        self._with_readings = [c for c in facts.checks if c.readings]
        self.any_fail = any(
            c.outcome == "fail" or (c.readings and self.failed(c)) for c in facts.checks
        )
        self.read = frozenset(r.what for c in self._with_readings for r in c.readings)
        self._counted: dict[str, tuple[list[Check], tuple[tuple[int, str], ...]]] = {}

    @cached_property
    def earliest(self) -> dt.date:
        """The first day a check, a component or the registration is known of."""
        facts = self.facts
        days = [listed[0].on for listed in self.checks.values()]  # each in order of day
        days += [fit.on for fit in facts.fits]
        days += [s.first_registered_on for s in facts.stated if s.first_registered_on]
        return min(days, default=EVER)

    @cached_property
    def trips(self) -> list[Trip]:
        """The bookings that stand, with what became of each."""
        return trips_of(self.facts)

    @cached_property
    def hires(self) -> list[Hire]:
        """The bookings that stand, with the days they turned out to have."""
        return [trip.hire for trip in self.trips]

    def trip(self, ref: str | None) -> Trip | None:
        """The booking of a reference, as it stands last; None where there is none."""
        return next((trip for trip in reversed(self.trips) if trip.hire.ref == ref), None)

    def waivers(self, ref: str | None) -> list[Waiver]:
        """What was waived for a hire, as far as its rule may be waived at all."""
        trip = self.trip(ref) if self.facts.waivers else None
        if trip is None:
            return []
        rules = self.book.rules
        ours = (w for w in self.facts.waivers if w.hire == trip.hire.number)
        return [w for w in ours if w.rule in rules and rules[w.rule].waivable]

    @cached_property
    def kept_away(self) -> Windows:
        """The days on which a hold keeps the van from the workshop too."""
        facts = self.facts
        return Windows(held_days(facts, hold) for hold in facts.holds if not hold.workshop)

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

    def _arrange(self) -> dict[str, dict[str, list[Stay]]]:
        found: dict[str, dict[str, list[Stay]]] = {}
        first: dict[int, Fit] = {fit.number: fit for fit in self.facts.fits if not fit.part}
        moves: list[Fit | TakeOff] = [*self.facts.fits, *self.facts.take_offs]
        if len(moves) > 1:
            moves.sort(key=key_of)
        for move in moves:
            stays = found.setdefault(move.what, {}).setdefault(move.place, [])
            if isinstance(move, TakeOff):
                stays.append(Stay(key_of(move), None))
                continue
            origin = first.get(move.part) if move.part else None
            if origin:
                self._leave(found[move.what], move, origin)
                move = origin._replace(
                    number=move.number, place=move.place, on=move.on, at=move.at, part=move.part
                )
            stays.append(Stay(key_of(move), move))
        return found

    @staticmethod
    def _leave(places: dict[str, list[Stay]], move: Fit, origin: Fit) -> None:
        """A component fitted elsewhere is no longer where it was."""
        for place, stays in places.items():
            if place != move.place and stays and stays[-1].part == origin.number:
                stays.append(Stay(key_of(move), None))

    def stays(self, what: str) -> dict[str, list[Stay]]:
        """What was in each place ever filled with a kind of component, in order."""
        return self._stays.get(what, {})

    def alike(self, what: str) -> tuple[Any, ...] | None:
        """What distinguishes the components of a kind, where each place has held just one; None
        where anything was ever changed. Vans with the same answer stand alike by age and load."""
        if what not in self._alike:
            found = self._stays.get(what, {}).values()
            plain = all(len(stays) == 1 and stays[0].fit for stays in found)
            marks = tuple(stays[0].fit[_MARKS:] for stays in found if stays[0].fit)
            self._alike[what] = marks if plain else None
        return self._alike[what]

    def part_at(self, what: str, place: str | None, key: Key) -> int | None:
        """The component in a place at a moment; with no place named, the only one there is."""
        places = self.stays(what)
        if place is None:
            if len(places) != 1:
                return None
            place = next(iter(places))
        found = None
        for stay in places.get(place, ()):
            if not in_place_by(stay.key, key):
                break
            found = stay.part
        return found

    def taken(self, over: str | None, names: tuple[str, ...]) -> list[Taken]:
        """Readings of any of `names`, check by check and place by place, in order."""
        asked = (over, names)
        if asked not in self._taken:
            self._taken[asked] = self._gather(over, names) if self._with_readings else []
        return self._taken[asked]

    def _gather(self, over: str | None, names: tuple[str, ...]) -> list[Taken]:
        found = []
        for check in sorted(self._with_readings, key=key_of):
            by_place: dict[str | None, dict[str, Reading]] = {}
            for reading in check.readings:
                if reading.what in names:
                    place = reading.place or check.place
                    by_place.setdefault(place, {})[reading.what] = reading
            for place, readings in by_place.items():
                part = self.part_at(over, place, key_of(check)) if over else None
                if over and place is None and len(self.stays(over)) == 1:
                    place = next(iter(self.stays(over)))
                found.append(Taken(check, place, part, readings))
        return found

    def competent(self, inspector: int | None, by: By, day: dt.date) -> str | None:
        """Why an inspector's competence does not stand on a day; None when it does."""
        if inspector is None:
            return "no inspector of the book is named"
        if inspector not in self.facts.shared.inspectors:
            return "the checker was taken out of the book"
        held = self._cards(inspector, by)
        if any(c.from_on <= day <= (c.through_on or FOREVER) for c in held):
            return None
        if held:
            return f'the checker\'s card for "{held[-1].scope}" was not in force that day'
        return f'the checker has no competence "{by.scope}"'

    def _cards(self, inspector: int | None, by: By) -> list[Competence]:
        held = self.facts.shared.competences.get(inspector or 0, ())
        return [c for c in held if c.scope in by.scopes]

    def _registered(self, inspector: int | None, by: By, day: dt.date) -> bool:
        return any(
            c.register_no and c.from_on <= day <= (c.through_on or FOREVER)
            for c in self._cards(inspector, by)
        )

    def not_counted(self, rule: Rule, check: Check) -> str | None:
        """Why a check does not count for a rule; None when it does."""
        by = rule.by
        who = by.who
        if who == "certificate" and check.certificate and check.outcome == "pass":
            return None
        if who == "named" and check.outcome == "pass" and (check.inspector or check.by):
            return None
        if check.number >= SUPPOSED:
            return None
        if check.outcome == "seen":
            return None if rule.stamps else "a stamp seen does not count here"
        lacking = self.not_competent(by, check.inspector, check.by, check.on)
        asks_number = who == "certificate" or (who == "registered" and by.certificate)
        if lacking is None and asks_number and not check.certificate:
            return "no certificate number"
        return lacking

    def not_competent(
        self, by: By, inspector: int | None, name: str | None, on: dt.date
    ) -> str | None:
        """Why somebody's word does not count where `by` is asked for; None when it does."""
        if by.who in ("nobody", "paper", "certificate"):
            return None
        if by.who in ("named", "skilled"):
            if not (inspector or name):
                return "nobody is named"
            # A skilled person's name is enough, unless the book holds a card of theirs.
            if by.who == "named" or not self._cards(inspector, by):
                return None
        lacking = self.competent(inspector, by, on)
        registered = by.who != "registered" or self._registered(inspector, by, on)
        return lacking if registered or lacking else "no register number"

    def passes(self, rule: Rule) -> list[Check]:
        """The passes of a rule that count, in order."""
        return self.counted(rule)[0]

    def counted(self, rule: Rule) -> tuple[list[Check], tuple[tuple[int, str], ...]]:
        """The passes of a rule that count, and those that do not with why; asked once a rule."""
        found = self._counted.get(rule.name)
        if found is None:
            passes, others = [], []
            for check in self.checks_for(rule):
                if check.outcome not in ("pass", "seen") and not (
                    rule.recorded and check.outcome is None
                ):
                    continue
                why = self.not_counted(rule, check)
                if why is not None:
                    others.append((check.number, why))
                elif not check.readings or not self.failed(check):
                    passes.append(check)
            found = self._counted[rule.name] = passes, tuple(others)
        return found

    def checks_for(self, rule: Rule) -> list[Check]:
        """Every check of the kinds that feed a rule, in order."""
        if len(rule.checks) == 1:
            return self.checks.get(rule.checks[0], [])
        found = [check for what in rule.checks for check in self.checks.get(what, ())]
        return sorted(found, key=key_of) if len(found) > 1 else found

    @staticmethod
    def failed(check: Check) -> bool:
        """A fail, or a pass in which an appliance was found unsafe or left untested."""
        return check.outcome == "fail" or any(
            r.what == "result" and r.figure in ("unsafe", "not-tested") for r in check.readings
        )

    def passed_after(self, found_by: Check, found_on: dt.date) -> Check | None:
        """The first pass of the same kind that counts and stands after a check, and after what it
        is said to have found: one before that never saw it."""
        later = (
            c
            for c in self.checks.get(found_by.what, ())
            if stands_after(c, found_by) and (c.on > found_on or found_on <= found_by.on)
        )
        fed = self.book.fed_by.get(found_by.what, ())
        # A rule that only asks for it after an event may ask for less than the check's own rule.
        own = [rule for rule in fed if rule.kind != "after"] or fed
        for check in later:
            if check.outcome == "pass" and not self.failed(check):
                for rule in own:
                    if self.not_counted(rule, check) is None:
                        return check
        return None

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
