"""Which hires something has stopped since an earlier day: now and then compared, van by van.

Asked only where something stops a hire now, only of vans that a record since then touches, and
then only of the rules that stop it: a mechanic added must not make the fleet be judged twice.
"""

from __future__ import annotations

import datetime as dt
from typing import Any

from fleetcare.desk.asking import Asked
from fleetcare.hire.stopped import Item, Stopped, newly_stopped, stopped_hires
from fleetcare.records.facts import Facts
from fleetcare.rules.book import Book, Key
from fleetcare.rules.judge import judge_rules
from fleetcare.rules.outcome import Judgement, service_days
from fleetcare.rules.party import NO_BIKES
from fleetcare.rules.renamed import renamed
from fleetcare.store import facts as stored
from fleetcare.store.walk import InHand, InStore, Touched, touched_since
from fleetcare.van.trips import Trip
from fleetcare.van.van import Van

Changed = dict[frozenset[Item], list[Trip]]


class Since:
    """The book as it is asked, how much it knew earlier, and what was touched since."""

    def __init__(self, asked: Asked, size: int, touched: Touched) -> None:
        self.asked, self.size, self.touched = asked, size, touched
        self._books: dict[int, Asked | None] = {}

    def changed_hires(self, judged: Judgement, rows: InHand | InStore, on: dt.date) -> Changed:
        """The hires of a van, out or still to come, that something stops now and did not stop by
        the records and rules of then."""
        if not judged.hires:
            return {}
        newest = self._newest(judged.known.facts)
        if not (newest or self.touched.rules):
            return {}
        now = stopped_hires(judged, on)
        keys = _stopping(judged, now)
        if not keys or not (newest or keys & self._otherwise()):
            return {}
        before = self._stopped_at(rows, self.size, keys, on)
        for number in [n for n, hire in now.items() if n > self.size and hire.items]:
            # Booked since then: what stopped it when it was booked was said then.
            if max(newest, self.touched.rules) < number:
                before[number] = now[number]
            else:
                then = self._stopped_at(rows, number, keys, on)
                before |= {n: hire for n, hire in then.items() if n == number}
        return newly_stopped(before, now)

    def _newest(self, facts: Facts) -> int:
        """The newest record since then that touches a van; 0 for none."""
        newest = max(self.touched.vans.get(facts.van, 0), self.touched.shared)
        if self.touched.inspectors:
            signed: list[Any] = [*facts.checks, *facts.sign_offs]
            cards = (self.touched.inspectors.get(one.inspector or 0, 0) for one in signed)
            newest = max([newest, *cards])
        return newest

    def _at(self, size: int) -> Asked | None:
        if size not in self._books:
            self._books[size] = self.asked.at(size)
        return self._books[size]

    def _otherwise(self) -> frozenset[Key]:
        """The rules that were others then, or rested on other things."""
        then = self._at(self.size)
        return _differing(then.book if then else None, self.asked.book)

    def _stopped_at(
        self, rows: InHand | InStore, size: int, keys: frozenset[Key], on: dt.date
    ) -> dict[int, Stopped]:
        """What stopped a van's hires by the records and rules of a size of the book, as far as some
        rules go."""
        then, facts = self._at(size), rows.facts_at(size)
        if then is None or facts is None:
            return {}
        van = Van(renamed(facts, then.book))
        # By name: a rule may have stood under another home, or borne another name.
        now = [self.asked.book.rules[key] for key in keys if key in self.asked.book.rules]
        names = {name for rule in now for name in (rule.name, *rule.was)}
        known = frozenset(rule.key for rule in then.book.rules.values() if rule.name in names)
        outcomes = tuple(judge_rules(van, then.book, NO_BIKES, known))
        return stopped_hires(Judgement(van, then.book, outcomes, service_days(van), then.as_of), on)


def _stopping(judged: Judgement, now: dict[int, Stopped]) -> frozenset[Key]:
    """The rules by which something stops a hire; what stops one otherwise is looked at always."""
    names = {name for hire in now.values() for name, _ in hire.items}
    rules = [judged.rule(name) for name in names]
    return frozenset(rule.key for rule in rules if rule) | {("", n) for n in names if n in _OTHER}


_OTHER = ("service", "hire", "home")


def _differing(then: Book | None, now: Book) -> frozenset[Key]:
    """The rules that are not the same in two books, or that rest on things that are not."""
    if then is None:
        return frozenset(now.rules)
    key = ("differing", then.digest)
    if key not in now.made:
        same = (then.components, then.facts, then.checks) == (now.components, now.facts, now.checks)
        now.made[key] = frozenset(
            rule.key
            for rule in now.rules.values()
            if not same
            or then.rules.get(rule.key) != rule
            or then.adopted.get(rule.key) != now.adopted.get(rule.key)
        )
    found: frozenset[Key] = now.made[key]
    return found


def since(asked: Asked, moment: dt.datetime) -> Since:
    """What the book knew before a moment, and what was touched after it."""
    upto = asked.as_of.known_at
    size = min(stored.size_before(asked.connection, moment), upto)
    return Since(asked, size, touched_since(asked.connection, size, upto))
