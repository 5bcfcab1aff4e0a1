"""Everything that stands between a van and yes, on a day: complete at the first asking.

Found by supposing, as the work before a hire is: each record asked for is written into the van and
all is judged again, so that what it wakes is asked for too. What rests on a fact nobody said is
judged once for every way the fact could be; what only some of them ask for hangs on the fact.
"""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Iterator
from typing import Any, NamedTuple

from fleetcare.hire.ask import Ask, Spared, worst_of
from fleetcare.hire.stops import Blocking, by_rule, in_the_way
from fleetcare.hire.supposing import new_part, remedy_for, stating, supposing
from fleetcare.records.kinds import VanFacts
from fleetcare.rules.judge import judge_rules, judge_van, of_party
from fleetcare.rules.outcome import Judgement, Outcome
from fleetcare.rules.party import Party
from fleetcare.rules.remedies import Remedy
from fleetcare.rules.rule import Rule
from fleetcare.things import values_of
from fleetcare.timeline import Step
from fleetcare.van.van import SUPPOSED, Van
from fleetcare.windows import days_before

WORN = "worn"
_WORN_DAYS = 400  # past any yearly service of a part; no rule's figure
HOME, SERVICE = "jurisdiction", "in_service_from"
_PART = "component"
_PLACES = "places of "
SOMEWHERE = "PLACE"  # a place nobody named yet
_ROUNDS = 8
_LAST = SUPPOSED * 2  # a part supposed after all others
_MOST_WAYS = 64  # ways of one rule's facts that are looked at

Said = tuple[str, Any]  # a fact and what it was supposed to be
Given = frozenset[Said]
Same = tuple[str, str, str | None]
# Marks of a component that a rule may rest on; those it can do without are not asked for. Of a day
# of making and a day to replace it by the first left over is asked.
_MARKS = (
    "replace_by", "bikes", "electric_bikes", "cold_pressure", "variety", "speed_symbol",
    "load_index", "rating", "made",
)  # fmt: skip


class Need(NamedTuple):
    """One record that is missing: how its rule stands without it, the marks of a component that
    are read off it, and on what it hangs: one of these ways, or none where it is needed anyway."""

    remedy: Remedy
    code: str
    marks: tuple[str, ...] = ()
    given: tuple[Given, ...] = ()


class Missing(NamedTuple):
    """All that is missing, and what stands in the way that no record puts right."""

    needs: tuple[Need, ...]
    stops: tuple[Blocking, ...]


def missing(judged: Judgement, ask: Ask) -> Missing:
    """What must be written down before the van may go on the day asked about, whoever hires it; a
    hire in the way is none of it.

    A part that nobody wrote down may be new or have been there for long: what only one that has
    been there for over a year asks for, such as its service, hangs on that.
    """
    look = _look(judged, ask, ask.on)
    needs = list(look.needed())
    if look.parts():
        worn = _look(judged, ask, days_before(ask.on, _WORN_DAYS))
        for need in worn.needed():
            if need.remedy.same not in look.found:
                ways = need.given or (frozenset(),)
                needs.append(need._replace(given=tuple(way | {(WORN, True)} for way in ways)))
    return Missing(tuple(needs), tuple(look.stops))


def _look(judged: Judgement, ask: Ask, fitted: dt.date) -> _Look:
    look = _Look(judged, ask, fitted)
    bad = look.filled()
    look.drop_needless()
    for outcome, step in bad:
        look.ways_of(outcome, step, look.van, frozenset())
    return look


class _Look:
    """What was found so far, and the van with it written down."""

    def __init__(self, judged: Judgement, ask: Ask, fitted: dt.date) -> None:
        self.judged, self.book, self.ask = judged, judged.book, ask
        self.fitted = fitted  # the day from which what is missing is supposed to be there
        self.spared = Spared(judged, None)
        self.found: dict[Same, tuple[Remedy, str, set[Given]]] = {}
        self.marks: dict[str, set[str]] = {}
        self.options: dict[str, tuple[Any, ...]] = {}
        self.looked: set[tuple[Any, Given]] = set()
        self.stops: list[Blocking] = []
        self.base = self.van = self._housed(judged.known)

    def _housed(self, van: Van) -> Van:
        """The van with a home and a first day on fleet, where nobody said them."""
        for stop in in_the_way(self.judged, self.ask):
            if stop.rule == "home" and stop.place is None and self.book.homes:
                home = next(iter(self.book.homes))
                van = van.with_(stating(van.facts.van, ((HOME, home),)))
                self._say(HOME, None, stop.rule)
            elif stop.rule == "service" and self.judged.service is None:
                van = van.with_(stating(van.facts.van, ((SERVICE, self.ask.on),)))
                self._say(SERVICE, None, stop.rule)
            elif stop.rule in ("home", "service"):
                self.stops.append(stop)
        return van

    def _say(self, name: str, rule: Rule | None, code: str, given: Given = frozenset()) -> None:
        says = Remedy("say", name, None, rule, (name,))  # type: ignore[arg-type]
        self._add(says, code, given)

    def _add(self, remedy: Remedy, code: str, given: Given) -> None:
        known = self.found.setdefault(remedy.same, (remedy, code, set()))
        known[2].add(given)

    def bad_of(self, van: Van, keys: frozenset[Any] | None = None) -> list[tuple[Outcome, Step]]:
        """What stops the van, a licence being shown that covers it."""
        party = Party()
        if keys is None:
            judged = judge_van(van, self.book, self.judged.as_of)
            found = [*judged.outcomes, *of_party(van, self.book, party)]
        else:
            found = judge_rules(van, self.book, party, keys)
        bad = worst_of(self.spared, found, self.ask)
        return [(o, step) for o, step in bad if step.code not in o.kind.to_show]

    def filled(self) -> list[tuple[Outcome, Step]]:
        """Write into the van what is asked for whatever its facts are, and what that asks for in
        turn; give what rests on facts nobody said."""
        van, done = self.base, set[Same]()
        for _ in range(_ROUNDS):
            bad = [(o, _resting(o, step, van)) for o, step in self.bad_of(van)]
            fresh = [pair for pair in bad if pair[1].code != "unsaid"]
            before = van
            for outcome, step in fresh:
                van = self._written(van, outcome, step, frozenset(), done)
            if van is before:
                break
        self.van = van
        for what in self.parts():
            over = frozenset(r.key for r in self.book.rules.values() if r.over == what)
            self._read_marks(van, what, over)
        return [pair for pair in bad if pair[1].code == "unsaid"]

    def _written(
        self, van: Van, outcome: Outcome, step: Step, given: Given, done: set[Same]
    ) -> Van:
        """The van with what puts a bad step right; the same van where nothing new does, all of
        `done` being written into it."""
        remedy = remedy_for(outcome, step)
        if remedy is None:
            stop = by_rule(outcome, step)
            if not given and stop not in self.stops:
                self.stops.append(stop)
            return van
        if remedy.sort == "say":
            self._say(remedy.what, remedy.rule, step.code, given)
            return van
        for one in _each_place(remedy, step):
            self._add(one, step.code, given)
            if one.same not in done:  # put in a second time it would be a change of the first
                done.add(one.same)
                van = self._supposing(van, one, len(self.found))
        return van

    def _supposing(self, van: Van, remedy: Remedy, serial: int) -> Van:
        day = self.fitted if remedy.sort == _PART else self.ask.on
        return supposing(van, self.book, remedy, day, serial)

    def ways_of(self, outcome: Outcome, step: Step, van: Van, given: Given) -> None:
        """What a rule asks for in every way its facts could be."""
        for name in step.detail:
            self._say(name, outcome.rule, step.code, given)
            self.options.setdefault(name, _values(self.judged, name))
        ways = itertools.product(*(self.options[name] for name in step.detail))
        for values in itertools.islice(ways, _MOST_WAYS):
            said = tuple(zip(step.detail, values, strict=True))
            under = given | frozenset(said)
            if (outcome.rule.key, under) not in self.looked:
                self.looked.add((outcome.rule.key, under))
                now = van.with_(_statement(van.facts.van, said))
                self._under(now, outcome.rule, under)

    def _under(self, van: Van, rule: Rule, given: Given) -> None:
        """What is asked for once facts are supposed, and what that asks for in turn: nothing but
        them can be behind it, for what the van lacks anyway is written into it."""
        # A rule may ask for one thing after another at one place: tyres, then what the axle bears.
        asked: set[tuple[Any, str | None, str]] = set()
        done = {same for same, (_, _, ways) in self.found.items() if frozenset() in ways}
        for _ in range(_ROUNDS):
            fresh = [
                (outcome, _resting(outcome, step, van)) for outcome, step in self.bad_of(van)
                if (outcome.rule.key, outcome.place, step.code) not in asked
            ]  # fmt: skip
            for outcome, step in fresh:
                if step.code != "unsaid":
                    asked.add((outcome.rule.key, outcome.place, step.code))
                    van = self._written(van, outcome, step, given, done)
                elif outcome.rule is rule:
                    asked.add((outcome.rule.key, outcome.place, step.code))
                    self.ways_of(outcome, step, van, given)
            if not any((o.rule.key, o.place, s.code) in asked for o, s in fresh):
                break
        if rule.over in self.parts():
            self._read_marks(van, str(rule.over), frozenset({rule.key}))

    def _read_marks(self, van: Van, what: str, keys: frozenset[Any]) -> None:
        """The marks of a kind of component that some rules rest on: those without which one is
        wrong that is not wrong with them. Looked for where it was first found missing."""
        remedy = next(r for r, _, _ in self.found.values() if (r.sort, r.what) == (_PART, what))
        worst = _standing(self.bad_of(van, keys))
        part = new_part(van, self.book, remedy, str(remedy.place), self.fitted, _LAST)
        for mark in _MARKS:
            nothing: dict[str, Any] = {mark: None}
            without = part._replace(**nothing)
            if _standing(self.bad_of(van.with_(without), keys)) <= worst:
                part = without
            else:
                self.marks.setdefault(what, set()).add(mark)

    def parts(self) -> set[str]:
        """The kinds of component that are missing."""
        return {remedy.what for remedy, _, _ in self.found.values() if remedy.sort == _PART}

    def drop_needless(self) -> None:
        """Leave out what the others do as well: an extended service is a basic one too."""
        for same, (remedy, _, _) in list(self.found.items()):
            if remedy.sort != "check":
                continue
            van = self.base
            for serial, (other, (one, _, _)) in enumerate(self.found.items(), 1):
                if other != same and one.sort != "say":
                    van = self._supposing(van, one, serial)
            left = [_resting(outcome, step, van) for outcome, step in self.bad_of(van)]
            if all(step.code == "unsaid" for step in left):
                del self.found[same]
                self.van = van

    def needed(self) -> Iterator[Need]:
        """What is missing, each once, with the ways it hangs on."""
        for remedy, code, givens in self.found.values():
            ways = _fewest(givens, self.options)
            marks = tuple(m for m in reversed(_MARKS) if m in self.marks.get(remedy.what, ()))
            yield Need(
                remedy, code, marks if remedy.sort == _PART else (),
                () if frozenset() in ways else tuple(sorted(ways, key=str)),
            )  # fmt: skip


def _standing(bad: list[tuple[Outcome, Step]]) -> frozenset[tuple[Any, ...]]:
    return frozenset((o.rule.key, o.place, step.code) for o, step in bad)


def _resting(outcome: Outcome, step: Step, van: Van) -> Step:
    """How a rule stands, said to be unsaid where it rests on a fact that nobody said: what it asks
    for is then asked by each way that fact could be."""
    said = van.fit_outs[-1][1]
    names = tuple(n for n in outcome.kind.rests_on(outcome.rule) if said.get(n) is None)
    return step._replace(code="unsaid", detail=names) if names else step


def _each_place(remedy: Remedy, step: Step) -> list[Remedy]:
    """A component that is needed in several places, one by one: in those that are empty, if any."""
    if not remedy.places:
        return [remedy]
    empty = step.detail if step.code == "no record" else ()
    return [remedy._replace(place=place, places=()) for place in empty or remedy.places]


def _values(judged: Judgement, name: str) -> tuple[Any, ...]:
    """Every way a fact could be; of a figure the least and the most of any motorhome."""
    if name.startswith(_PLACES):
        return ("", SOMEWHERE)
    fact = judged.book.facts.get(name)
    if fact is None:
        return ()
    return fact.usual or values_of(fact)


def _statement(van: str, said: tuple[Said, ...]) -> VanFacts:
    """Facts said as they were supposed."""
    ways: list[tuple[str, Any]] = []
    for name, value in said:
        if name.startswith(_PLACES):
            ways.append(("places", (f"{name.removeprefix(_PLACES)}:{value}",)))
        elif name not in VanFacts._fields:
            ways.append(("has", (f"{name}:{'yes' if value else 'no'}",)))
        else:
            ways.append((name, value))
    return stating(van, tuple(ways))


def _fewest(givens: set[Given], options: dict[str, tuple[Any, ...]]) -> set[Given]:
    """The same ways with no fact in them that decides nothing: where a record is needed with every
    value of a fact, it does not hang on it."""
    ways = set(givens)
    while True:
        for given in ways:
            for said in given:
                rest = given - {said}
                alike = {rest | {(said[0], value)} for value in options[said[0]]}
                if alike <= ways:
                    ways = {w for w in ways if not rest <= w} | {rest}
                    break
            else:
                continue
            break
        else:
            return {w for w in ways if not any(other < w for other in ways)}
