"""The work that would save a hire: what must be recorded, and the first and last day for each.

Found by judging the same van supposing each remedy, never by a sum of its own. A record may wake
other rules (a new extinguisher asks for its own service), so after each supposed record every rule
that reads such records is judged anew, whether it asked for something or not.
"""

from __future__ import annotations

import datetime as dt
import itertools
from typing import Any, NamedTuple

from fleetcare.hire.ask import Ask, Spared, worst_of
from fleetcare.hire.days import free_days
from fleetcare.hire.supposing import remedy_for, said_ways, supposing, touches
from fleetcare.rules.judge import judge_rules, reading_any
from fleetcare.rules.outcome import Judgement, Outcome
from fleetcare.rules.remedies import Remedy
from fleetcare.timeline import Step
from fleetcare.van.van import Van

_MOST_WAYS = 256  # statements tried before a van is called past saving by one record
_ROUNDS = 4

Same = tuple[str, str, str | None]  # what makes two remedies one record
Keys = frozenset[tuple[str, str]]  # of rules
Days = dict[Same, dt.date]


class ToDo(NamedTuple):
    """One record that must be made first, and the first and last day it can be; `after`: those of
    the plan, by their place in it, that it must not come before."""

    remedy: Remedy
    do_from: dt.date
    do_by: dt.date
    after: tuple[int, ...] = ()


def plan(
    judged: Judgement, ask: Ask, bad: list[tuple[Outcome, Step]], *, dated: bool = True
) -> tuple[ToDo, ...] | None:
    """Every record to make first, each with its first and last day; None when no work can do it.
    Not `dated`, each with the first and last day on which the van is free for it, which says as
    well whether there is a way and takes a tenth of the time."""
    work = _Work(judged, ask)
    for _ in range(_ROUNDS):
        if not work.add(bad) or not work.state_facts():
            return None
        left = work.left_at(work.lasts)
        if not left:
            if not dated:
                return work.free()
            work.drop_needless()
            return work.dated()
        known = {(o.rule.key, o.place) for o, _ in bad}
        bad = [pair for pair in left if (pair[0].rule.key, pair[0].place) not in known]
        if not bad:
            return None
    return None


class _Work:
    """The remedies found so far, the days each can be done, and what they touch."""

    def __init__(self, judged: Judgement, ask: Ask) -> None:
        self.judged, self.ask, self.book = judged, ask, judged.book
        self.spared = Spared(judged, ask.ref)
        self.base: Van = judged.known  # with the statement, once there is one
        # By whether the van must be there.
        self._free = [free_days(judged, ask.on, ask.start, needs) for needs in (False, True)]
        self.remedies: dict[Same, Remedy] = {}
        self.days: dict[Same, list[dt.date]] = {}
        self.touched: dict[Same, Keys] = {}
        self.said: tuple[str, ...] = ()  # facts that must be said
        self.asked: set[tuple[str, str]] = set()  # rules that something was asked for

    @property
    def lasts(self) -> Days:
        """Every remedy on its last day."""
        return {same: days[-1] for same, days in self.days.items()}

    def add(self, bad: list[tuple[Outcome, Step]]) -> bool:
        """Take in what would put bad steps right; False when nothing or no free day would."""
        for outcome, step in bad:
            remedy = remedy_for(outcome, step)
            if remedy is None:
                return False
            self.asked.add(outcome.rule.key)
            if remedy.sort == "say":
                self.said = tuple(dict.fromkeys((*self.said, *remedy.detail)))
                remedy = remedy._replace(what="", place=None)
            known = self.remedies.setdefault(remedy.same, remedy)
            if remedy.variety and not known.variety:  # one record must do for both
                self.remedies[remedy.same] = known._replace(variety=remedy.variety)
        for same, remedy in self.remedies.items():
            if same not in self.days:
                self.days[same] = self._free[remedy.needs_van]
                has = touches(self.judged.known, self.book, remedy)
                keys = reading_any(self.judged.known, self.book, self.ask.party, has)
                self.touched[same] = keys | {remedy.rule.key}
        return all(self.days.values())

    def state_facts(self) -> bool:
        """Say what nobody said in the way that serves; False when no way does."""
        if not self.said:
            return True
        van, known = self.judged.known, self.judged
        everything = reading_any(van, self.book, self.ask.party, None)
        rest = {key for key in everything if self._rests_on_said(key)} | self.asked
        ways = said_ways(known.van, self.book, van.fit_outs[-1][1], self.said)
        for said in itertools.islice(ways, _MOST_WAYS):
            self.base = van.with_(said)
            done = self._done(self.lasts)
            if not self._bad(done, frozenset(rest)):
                return True
        return False

    def _rests_on_said(self, key: tuple[str, str]) -> bool:
        rule = self.book.rules[key]
        return not {*rule.names, f"places of {rule.over}"}.isdisjoint(self.said)

    def _done(self, days: Days) -> Van:
        """The van with every remedy of `days` recorded on its day, first things first."""
        van = self.base
        ordered = sorted(days.items(), key=lambda item: (item[1], item[0][0] != "component"))
        for serial, (same, day) in enumerate(ordered, 1):
            van = supposing(van, self.book, self.remedies[same], day, serial)
        return van

    def _bad(self, done: Van, keys: Keys) -> list[tuple[Outcome, Step]]:
        found = judge_rules(done, self.book, self.ask.party, keys)
        return list(worst_of(self.spared, found, self.ask))

    def left_at(self, days: Days) -> list[tuple[Outcome, Step]]:
        """What still stops the hire when all is done on those days."""
        keys = frozenset().union(*self.touched.values()) | self.asked
        return self._bad(self._done(days), frozenset(keys))

    def drop_needless(self) -> None:
        """Leave out what the others do as well: an extended service is a basic one too."""
        for same, remedy in list(self.remedies.items()):
            others = [s for s in self.remedies if s != same]
            shares = any(self.touched[same] & self.touched[s] for s in others)
            if remedy.sort == "say" or not shares:
                continue
            days = {s: self.days[s][-1] for s in others}
            if not self._bad(self._done(days), self.touched[same] | self.asked):
                for held in (self.remedies, self.days, self.touched):
                    held.pop(same)

    def _near(self, same: Same) -> list[Same]:
        """The other remedies that touch a rule this one touches."""
        return [s for s in self.remedies if s != same and self.touched[s] & self.touched[same]]

    def _good(self, days: Days, keys: Keys) -> bool:
        return not self._bad(self._done(days), keys)

    def free(self) -> tuple[ToDo, ...]:
        """Each remedy with the days on which the van is free for it."""
        return tuple(
            ToDo(self._telling(r), self.days[s][0], self.days[s][-1])
            for s, r in self.remedies.items()
        )

    def _telling(self, remedy: Remedy) -> Remedy:
        """A remedy with all that must be said, where that is what it asks for."""
        if remedy.sort != "say":
            return remedy
        return remedy._replace(detail=self.said, what=" ".join(self.said))

    def dated(self) -> tuple[ToDo, ...]:
        """For each remedy the first and last day that save the hire, and what must come before."""
        firsts: Days = {}
        before: dict[Same, list[Same]] = {}
        for same, remedy in self.remedies.items():
            days = self.days[same]
            firsts[same], before[same] = days[0], []
            if remedy.sort != "say":
                firsts[same], before[same] = self._first(same)
        for same, earlier in before.items():
            least = max([firsts[same], *(firsts[s] for s in earlier)])
            firsts[same] = next(day for day in self.days[same] if day >= least)
        self._hold_together(firsts)
        places = {same: place for place, same in enumerate(self.remedies)}
        found = []
        for same, remedy in self.remedies.items():
            remedy = self._telling(remedy)
            after = tuple(sorted(places[s] for s in before[same]))
            last = min([self.days[same][-1], *self._ends(same, before)])
            found.append(ToDo(remedy, firsts[same], last, after))
        return tuple(found)

    def _ends(self, same: Same, before: dict[Same, list[Same]]) -> list[dt.date]:
        """The last days of what must not come before a remedy."""
        return [self.days[later][-1] for later, earlier in before.items() if same in earlier]

    def _first(self, same: Same) -> tuple[dt.date, list[Same]]:
        """The first day of a remedy, and what it must not come before. All others are done on
        their last day; or, where one is the test of another, those no later than it."""
        alone = self._earliest(same, [])
        near = [s for s in self._near(same) if self.remedies[s].sort != "say"]
        if not near or alone == self.days[same][0]:
            return alone, []
        together = self._earliest(same, near)
        if together >= alone:
            return alone, []
        earlier = []
        for other in near:
            days = self._with(same, together, [s for s in near if s != other])
            if not self._good(days, self.touched[same]):
                earlier.append(other)
        if earlier and not self._good(self._with(same, together, earlier), self.touched[same]):
            earlier = near
        return together, earlier

    def _with(self, same: Same, day: dt.date, along: list[Same]) -> Days:
        """All on their last day, but one on `day` and some along with it, or as near before it."""
        days = self.lasts | {same: day}
        for other in along:
            days[other] = max((d for d in self.days[other] if d <= day), default=days[other])
        return days

    def _earliest(self, same: Same, along: list[Same]) -> dt.date:
        """The first of the days to the last on which a remedy saves the hire. The later it is done
        the longer it counts, so the days are searched by halves; not where the book knows of
        something later than the first of them."""
        days, keys = self.days[same], self.touched[same]

        def saves(day: dt.date) -> bool:
            return self._good(self._with(same, day, along), keys)

        if saves(days[0]) and not self._known_after(days[0]):
            return days[0]
        if self._known_after(days[0]):
            bad = next((i for i in range(len(days) - 1, -1, -1) if not saves(days[i])), -1)
            return days[min(bad + 1, len(days) - 1)]
        low, high = 0, len(days) - 1  # days[high] saves, days[low] does not
        guess = self._guess(same, days, keys)
        near = [guess, guess - 1, guess + 1]
        while high - low > 1:
            middle = near.pop(0) if near else (low + high) // 2
            if low < middle < high:
                low, high = (low, middle) if saves(days[middle]) else (middle, high)
        return days[high]

    def _guess(self, same: Same, days: list[dt.date], keys: Keys) -> int:
        """About where the first day lies: as long before the last as what it then leaves over."""
        found = judge_rules(self._done(self.lasts), self.book, self.ask.party, keys)
        ends = [o.last_good(self.ask.start) for o in found]
        over = min((end - self.ask.through).days for end in ends if end and end >= self.ask.through)
        wanted = days[-1].toordinal() - over
        return next((i for i, day in enumerate(days) if day.toordinal() >= wanted), 0)

    def _known_after(self, day: dt.date) -> bool:
        """Whether something of the van is known from after a day: its order then matters."""
        facts = self.judged.known.facts
        kinds: tuple[list[Any], ...] = (
            facts.checks, facts.fits, facts.take_offs, facts.events, facts.outs,
        )  # fmt: skip
        return any(record.on > day for listed in kinds for record in listed)

    def _hold_together(self, firsts: Days) -> None:
        """All on their first day must save the hire too; what does not is done on its last."""
        for _ in self.remedies:
            bad = {outcome.rule.key for outcome, _ in self.left_at(firsts)}
            if not bad:
                return
            for same in firsts:
                if self.touched[same] & bad and firsts[same] != self.days[same][-1]:
                    firsts[same] = self.days[same][-1]
                    break
            else:
                return
