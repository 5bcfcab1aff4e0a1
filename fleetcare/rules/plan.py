"""A book and what was said of a van → its duties, compiled once for all vans that are alike.

Alike are vans with the same values of every fact that any rule's conditions, places or rests-on
name: the facts are read off the book (`Book.scope`), never typed. A duty is one rule as it concerns
such a van. Of what records it is judged its kind declares (`Reads`); vans of which there is none of
it share one outcome, kept with the duty.
"""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Callable, Iterable
from typing import Any, NamedTuple

from fleetcare.rules.book import Book, Key
from fleetcare.rules.kinds import kind_of
from fleetcare.rules.kinds.case import NOT_APPLICABLE, Found, Reads, make_case
from fleetcare.rules.outcome import Outcome, make_outcome
from fleetcare.rules.party import NO_BIKES, Party
from fleetcare.rules.reads import NOTHING, counted
from fleetcare.rules.rule import Rule, Terms
from fleetcare.rules.spliced import by_place, terms_for, undecided_by_place
from fleetcare.things import all_hold, required_places, values_of
from fleetcare.van.said import FitOut
from fleetcare.van.van import OTHERS, Has, Van
from fleetcare.windows import EVER

Picker = Callable[[Book, str | None], list[Rule]]  # the rules to plan for a home

_MOST = 5_000  # kept of anything before all is forgotten and worked out again


class InForce(NamedTuple):
    """A version with the terms each record is judged by while it is in force."""

    start: dt.date
    terms: Terms | None  # None: repealed
    terms_of: Callable[[Any], Terms]


class Duty:
    """One rule as it concerns vans that are alike."""

    def __init__(self, book: Book, rule: Rule, fit_out: FitOut) -> None:
        self.rule, self.kind = rule, kind_of(rule)
        self.reads: Reads = self.kind.reads(rule)
        self.applies = all_hold(rule.when, fit_out.get) is not False and not any(
            all_hold(way, fit_out.get) for way in rule.unless
        )
        self.versions = tuple(
            InForce(v.from_on, None if v.repealed else v.terms, terms_for(rule, place))
            for place, v in enumerate(rule.versions)
        )
        self.adopted = book.adopted.get(rule.key, EVER)
        self.topics = book.topics
        self.readers = _readers(book, fit_out.home)
        self.places: tuple[str, ...] = ()
        self.unsaid_places: tuple[str, ...] = ()
        self.week_code = False
        if rule.over is not None:
            component = book.components[rule.over]
            places, unsaid = required_places(component, fit_out.get, fit_out.places)
            self.places, self.unsaid_places = tuple(filter(rule.looks_at, places)), tuple(unsaid)
            self.week_code = component.week_code
        self.unsaid = tuple(name for name in rule.rests_on if fit_out.get(name) is None)
        self.options = _options(book, rule, fit_out, self.unsaid) if self.unsaid else ()
        self._shared: dict[Any, tuple[Outcome, ...]] = {}

    def shared(self, van: Van, fit_out: FitOut, party: Party) -> tuple[Outcome, ...]:
        """The outcomes of every van of which there is no record of what the rule reads."""
        reads = self.reads
        key: tuple[Any, ...] = tuple([fit_out.get(name) for name in reads.facts])
        if reads.party:
            key += tuple([getattr(party, name) for name in reads.party])
        found = self._shared.get(key)
        if found is None:
            if len(self._shared) > _MOST:
                self._shared.clear()
            lines = self.lines(van, fit_out, party, [], EVER)
            found = tuple(Outcome(self.rule, place, line) for place, line in lines)
            self._shared[key] = found
        return found

    def outcomes(self, van: Van, fit_out: FitOut, party: Party) -> tuple[Outcome, ...]:
        """The rule judged for one van, place by place."""
        rule = self.rule
        passes, others = counted(van, rule) if rule.checks else NOTHING
        lines = self.lines(van, fit_out, party, passes, van.earliest)
        return tuple([make_outcome((rule, place, line, others)) for place, line in lines])

    def lines(
        self, van: Van, fit_out: FitOut, party: Party, passes: list[Any], earliest: dt.date
    ) -> list[Found]:
        """The rule under what was said; a fact not stated is given each value it could have.

        `earliest`: nothing is known of the van from before that day.
        """
        if self.options:
            return undecided_by_place(
                self.unsaid,
                {
                    values: duty.lines(van, supposed(fit_out), party, passes, earliest)
                    for values, supposed, duty in self.options
                },
            )
        if not self.applies:
            return [Found(None, NOT_APPLICABLE)]
        versions = self.versions
        if len(versions) > 1 and not self.kind.reaches_back and earliest >= versions[-1].start:
            # Nothing is known from before the newest version: what it says of those days is what
            # any version would say of days without a record.
            versions = versions[-1:]
        parts: list[tuple[dt.date, list[Found]]] = []
        for start, terms, terms_of in versions:
            found: list[Found] = []
            if terms is not None:
                found = self.kind.judge(
                    make_case(
                        (
                            self.rule, terms, terms_of, fit_out, van, passes, self.places,
                            self.unsaid_places, self.week_code, self.adopted, self.readers, party,
                            self.topics,
                        )
                    )
                )  # fmt: skip
            parts.append((start, found))
        return by_place(parts)

    def touched_by(self, has: Has) -> bool:
        """Whether there is a record of what the rule reads."""
        reads = self.reads
        return (
            not has.checks.isdisjoint(reads.checks)
            or not has.components.isdisjoint(reads.components)
            or not has.readings.isdisjoint(reads.readings)
            or not has.events.isdisjoint(reads.events)
            or not has.papers.isdisjoint(reads.papers)
            or any(has.others[OTHERS.index(name)] for name in reads.others)
        )


class _Changing:
    """One rule for a van of which other facts were said from some day on: stretch by stretch."""

    def __init__(self, rule: Rule, duties: list[Duty | None]) -> None:
        self.rule, self.duties = rule, duties
        one = next(duty for duty in duties if duty)
        self.reads = one.reads
        self.touched_by = one.touched_by
        self._same = all(duty is one for duty in duties)

    def shared(self, van: Van, fit_out: FitOut, party: Party) -> tuple[Outcome, ...]:
        """Where the same is said of all it rests on, one outcome; else none is shared."""
        if self._alike(van) and (duty := self.duties[-1]):
            return duty.shared(van, fit_out, party)
        return self.outcomes(van, fit_out, party)

    def outcomes(self, van: Van, fit_out: FitOut, party: Party) -> tuple[Outcome, ...]:
        """The rule judged once where nothing it reads was said anew, else for each stretch."""
        if self._alike(van) and (duty := self.duties[-1]):
            return duty.outcomes(van, fit_out, party)
        rule = self.rule
        passes, others = counted(van, rule) if rule.checks else NOTHING
        parts = [
            (start, duty.lines(van, said, party, passes, EVER) if duty else [])
            for (start, said), duty in zip(van.fit_outs, self.duties, strict=True)
        ]
        return tuple([Outcome(rule, place, line, others) for place, line in by_place(parts)])

    def _alike(self, van: Van) -> bool:
        if not self._same:
            return False
        last, names = van.fit_outs[-1][1], self.reads.facts
        return all(said.get(n) == last.get(n) for n in names for _, said in van.fit_outs)


class Plan:
    """The duties of vans alike."""

    def __init__(self, duties: Iterable[Duty | _Changing]) -> None:
        self.duties = tuple(duties)
        self._touched: dict[Has, tuple[bool, ...]] = {}

    def judged(self, van: Van, party: Party = NO_BIKES) -> list[Outcome]:
        """Every duty, judged for one van: its own where there are records, else the shared one."""
        has, fit_out = van.has, van.fit_outs[-1][1]
        touched = self._touched.get(has)
        if touched is None:
            if len(self._touched) > _MOST:
                self._touched.clear()
            touched = self._touched[has] = tuple([d.touched_by(has) for d in self.duties])
        found: list[Outcome] = []
        for duty, own in zip(self.duties, touched, strict=True):
            found += (duty.outcomes if own else duty.shared)(van, fit_out, party)
        return found

    def only(self, keys: frozenset[Key], van: Van, party: Party = NO_BIKES) -> list[Outcome]:
        """Some of the duties, judged for one van."""
        fit_out = van.fit_outs[-1][1]
        wanted = (duty for duty in self.duties if duty.rule.key in keys)
        return [outcome for duty in wanted for outcome in duty.outcomes(van, fit_out, party)]


def plan_for(book: Book, van: Van, rules_of: Picker) -> Plan:
    """The plan of the rules that `rules_of` picks for a home, for a van as it was said to be."""
    scopes = tuple([_scope(book, fit_out) for _, fit_out in van.fit_outs])
    key = (rules_of, scopes)
    plan: Plan | None = book.made.get(key)
    if plan is None:
        if len(book.made) > _MOST:
            book.made.clear()
        plan = book.made[key] = _compiled(book, van, rules_of)
    return plan


def _compiled(book: Book, van: Van, rules_of: Picker) -> Plan:
    stretches: list[dict[Any, Duty]] = []
    for _, fit_out in van.fit_outs:
        rules = rules_of(book, fit_out.home)
        stretches.append({rule.key: _duty(book, rule, fit_out) for rule in rules})
    if len(stretches) == 1:
        return Plan(stretches[0].values())
    keys = [key for key in book.rules if any(key in stretch for stretch in stretches)]
    return Plan(
        _Changing(book.rules[key], [stretch.get(key) for stretch in stretches]) for key in keys
    )


def _scope(book: Book, fit_out: FitOut) -> tuple[Any, ...]:
    """The values of every fact any rule names; of a day only whether it was said."""
    facts = fit_out.facts
    values = [getattr(facts, name) for name in book.scope]
    own = tuple(fit_out.own.items()) if fit_out.own else ()
    days = tuple([getattr(facts, name) is None for name in book.scope_days])
    return (facts.jurisdiction, *values, days, tuple(fit_out.places.items()), own)


def _duty(book: Book, rule: Rule, fit_out: FitOut) -> Duty:
    """The duty of a rule; one for all vans that are alike in what this rule names."""
    places = fit_out.places.get(rule.over) if rule.over else None
    named = [(n, fit_out.get(n)) for n in rule.names]
    days = [(n, v is None if isinstance(v, dt.date) else v) for n, v in named]
    key = ("duty", rule.key, fit_out.home, tuple(days), places)
    if key not in book.made:
        book.made[key] = Duty(book, rule, fit_out)
    found: Duty = book.made[key]
    return found


def _options(
    book: Book, rule: Rule, fit_out: FitOut, unsaid: tuple[str, ...]
) -> tuple[tuple[tuple[Any, ...], Callable[[FitOut], FitOut], Duty], ...]:
    """The rule for each way the facts nobody stated could be."""
    found = []
    for values in itertools.product(*(values_of(book.facts[name]) for name in unsaid)):

        def supposed(said: FitOut, values: tuple[Any, ...] = values) -> FitOut:
            for name, value in zip(unsaid, values, strict=True):
                said = said.supposing(name, value)
            return said

        found.append((values, supposed, Duty(book, rule, supposed(fit_out))))
    return tuple(found)


def _readers(book: Book, home: str | None) -> dict[str, tuple[Rule, ...]]:
    """For each kind of check the rules whose pass closes what it found: its own, and only where
    there is none those that ask for it after an event, for these may ask for less."""
    key = ("readers", home)
    if key not in book.made:
        fed = book.under(home).fed_by
        own = {k: tuple(r for r in rs if not kind_of(r).by_event) for k, rs in fed.items()}
        book.made[key] = {kind: own[kind] or rules for kind, rules in fed.items()}
    found: dict[str, tuple[Rule, ...]] = book.made[key]
    return found


def rules_of_van(book: Book, home: str | None) -> list[Rule]:
    """The rules judged for every van of a home, whoever asks."""
    return [r for r in book.under(home).rules if not kind_of(r).of_party(r)]


def rules_of_party(book: Book, home: str | None) -> list[Rule]:
    """The rules of a home judged only for the party that asks."""
    return [r for r in book.under(home).rules if kind_of(r).of_party(r)]
