"""Facts and a rulebook make one Judgement. Pure: no database, clock, terminal or network.

A rule is judged once for each version and spliced where the next begins; once for each stretch
of days over which the van's stated facts are the same; and where a fact it rests on was not
stated, once for each value the fact could have: doubt only where those verdicts differ.
"""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Callable
from functools import lru_cache
from operator import attrgetter
from typing import Any, NamedTuple

from fleetcare.records.facts import Facts
from fleetcare.rules.book import Book
from fleetcare.rules.kinds import KINDS
from fleetcare.rules.kinds.case import NOT_APPLICABLE, Case, make_case
from fleetcare.rules.outcome import AsOf, Judgement, Outcome, make_outcome, service_days
from fleetcare.rules.party import Party
from fleetcare.rules.rule import Rule, Terms
from fleetcare.things import values_of
from fleetcare.timeline import Step, Timeline, Verdict, make_line, make_step, splice, undecided
from fleetcare.van.said import FitOut, all_hold, required_places
from fleetcare.van.van import View
from fleetcare.windows import EVER

_NOBODY = Step(EVER, Verdict.GOOD, "not applicable")
Lines = dict[str | None, Timeline]


def judge(facts: Facts, book: Book, as_of: AsOf) -> Judgement:
    """Every rule of the van's jurisdiction, judged on the facts as given."""
    view = View(facts, book)
    outcomes: list[Outcome] = []
    for duty in _duties(view):
        if duty.outcome is not None:
            outcomes.append(duty.outcome)
        elif duty.versions:
            outcomes += _plain(view, duty)
        else:
            outcomes += judge_rule(view, duty.rule)
    return Judgement(view, tuple(outcomes), service_days(view), as_of)


class _Duty(NamedTuple):
    """One rule as it concerns a fit-out, worked out once for all vans fitted out alike."""

    rule: Rule
    outcome: Outcome | None = None  # it does not apply: the same for every such van
    versions: tuple[_InForce, ...] = ()  # every fact said: judged straight away
    places: tuple[str, ...] = ()
    unsaid: tuple[str, ...] = ()
    week_code: bool = False
    names: frozenset[str] | None = None  # the readings it looks at, where it looks at nothing else


class _InForce(NamedTuple):
    """A version with the terms each record is judged by while it is in force."""

    start: dt.date
    terms: Terms
    terms_of: Callable[[Any], Terms]


def _duties(view: View) -> list[_Duty]:
    """The rules of a van's jurisdiction sorted by what its facts make of them."""
    memo, fit_outs = view.book.memo, view.fit_outs
    if len(fit_outs) > 1:
        rules = view.book.of(fit_outs[-1][1].facts.jurisdiction)
        return [_Duty(rule) for rule in rules if not _of_a_party(rule)]
    scope = ("duties", fit_outs[0][1].scope())
    if scope not in memo:
        fit_out = fit_outs[0][1]
        rules = view.book.of(fit_out.facts.jurisdiction)
        memo[scope] = [_duty(view.book, rule, fit_out) for rule in rules if not _of_a_party(rule)]
    found: list[_Duty] = memo[scope]
    return found


def _of_a_party(rule: Rule) -> bool:
    """Whether a rule is judged only for the party that asks."""
    return _of_bikes(rule) or rule.kind == "licence"


def _of_bikes(rule: Rule) -> bool:
    return rule.blocks == "when bikes go" and rule.kind == "rated"


def _duty(book: Book, rule: Rule, fit_out: FitOut) -> _Duty:
    unsaid_facts = any(fit_out.get(name) is None for name in rule.rests_on)
    if unsaid_facts or any(version.repealed for version in rule.versions):
        return _Duty(rule)
    if all_hold(rule.when, fit_out) is False:
        return _Duty(rule, Outcome(rule, None, NOT_APPLICABLE))
    versions = tuple(
        _InForce(version.from_on, version.terms, terms_for(rule, place))
        for place, version in enumerate(rule.versions)
    )
    names = None
    if rule.kind == "measured":
        names = frozenset(lim.reading for v in rule.versions for lim in v.terms["limits"])
    return _Duty(rule, None, versions, *_places(book, rule, fit_out), names)


def _plain(view: View, duty: _Duty) -> list[Outcome]:
    rule, kind = duty.rule, KINDS[duty.rule.kind].judge
    versions, fit_out = duty.versions, view.fit_outs[0][1]
    start = versions[0].start
    if len(versions) > 1 and rule.kind != "dated" and view.earliest >= versions[-1].start:
        # Nothing is known from before the newest version: what it says of those days is what
        # any version would say of days without a record.
        versions = versions[-1:]
    shared = _shared(view, duty, fit_out)
    if shared is not None:
        return shared
    uncounted = view.counted(rule)[1] if rule.checks else ()
    if len(versions) == 1:
        _, terms, terms_of = versions[0]
        said = (duty.places, duty.unsaid, duty.week_code, None)
        case = make_case((rule, terms, terms_of, fit_out, view, *said))
        return [
            make_outcome((rule, place, _since(start, line), uncounted))
            for place, line in kind(case)
        ]
    parts: list[tuple[dt.date, Lines]] = [(EVER, {})]
    for begins, terms, terms_of in versions:
        case = Case(rule, terms, terms_of, fit_out, view, duty.places, duty.unsaid, duty.week_code)
        parts.append((begins, dict(kind(case))))
    return [Outcome(rule, place, line, uncounted) for place, line in _by_place(parts).items()]


def _shared(view: View, duty: _Duty, fit_out: FitOut) -> list[Outcome] | None:
    """Outcomes that are the same for all vans whose components are marked alike: by age, by load,
    and by readings nobody took. Worked out once a book; None where a van needs its own.

    They name no record, for it would be another van's: each place has held only one component.
    """
    rule, memo = duty.rule, view.book.memo
    if duty.names is not None:
        if not view.read.isdisjoint(duty.names):
            return None
        key: tuple[Any, ...] = (id(duty), tuple(view.stays(rule.over)) if rule.over else ())
    elif rule.kind in ("aged", "rated") and rule.over and len(duty.versions) == 1:
        alike = view.alike(rule.over)
        if alike is None:
            return None
        key = (id(duty), alike, _masses(fit_out.facts) if rule.kind == "rated" else None)
    else:
        return None
    if key not in memo:
        if len(memo) > _MOST:
            memo.clear()
            return None
        version = duty.versions[-1]
        case = Case(
            rule,
            version.terms,
            version.terms_of,
            fit_out,
            view,
            duty.places,
            duty.unsaid,
            duty.week_code,
        )
        start = duty.versions[0].start
        memo[key] = [
            Outcome(rule, place, _nameless(_since(start, line)))
            for place, line in KINDS[rule.kind].judge(case)
        ]
    outcomes: list[Outcome] = memo[key]
    return outcomes


_MOST = 10_000  # sets of marks remembered before all are forgotten and worked out again
_masses = attrgetter("front_axle_mass", "rear_axle_mass", "tag_axle_mass")


def _nameless(line: Timeline) -> Timeline:
    return Timeline(tuple(step._replace(record=None) for step in line.steps))


def with_party(judgement: Judgement, party: Party) -> Judgement:
    """The same judgement with the rules that only this party brings in: by its bikes, its licence
    and the countries it goes to."""
    view = judgement.view
    rules = [
        rule
        for rule in view.book.of(view.fit_outs[-1][1].facts.jurisdiction)
        if rule.kind == "licence" or (party.any_bikes and _of_bikes(rule))
    ]
    for country in party.abroad:
        rules += view.book.visiting(country) or ()
    extra = [outcome for rule in rules for outcome in judge_rule(view, rule, party)]
    return judgement._replace(outcomes=(*judgement.outcomes, *extra))


def judge_rule(view: View, rule: Rule, party: Party | None = None) -> list[Outcome]:
    """One rule for one van: an outcome a place."""
    parts = [(start, _said(view, rule, fit_out, party)) for start, fit_out in view.fit_outs]
    lines = parts[0][1] if len(parts) == 1 else _by_place(parts)
    uncounted = view.counted(rule)[1] if rule.checks else ()
    return [Outcome(rule, place, line, uncounted) for place, line in lines.items()]


def _by_place(parts: list[tuple[dt.date, Lines]]) -> Lines:
    """Each place's line through the stretches; a place one stretch does not know is no concern."""
    if len(parts) == 3 and parts[1][1] == parts[2][1] and not parts[0][1]:
        return {place: _since(parts[1][0], line) for place, line in parts[1][1].items()}
    places = list(dict.fromkeys(place for _, lines in parts for place in lines))
    if len(places) > 1 and None in places:
        emptied = all(lines.get(None, NOT_APPLICABLE) == NOT_APPLICABLE for _, lines in parts)
        places = [place for place in places if place is not None or not emptied]
    return {
        place: splice([(start, lines.get(place, NOT_APPLICABLE)) for start, lines in parts])
        for place in places
    }


def _said(view: View, rule: Rule, fit_out: FitOut, party: Party | None) -> Lines:
    """The rule under stated facts; a fact not stated is given each value it could have."""
    unsaid = [name for name in rule.rests_on if fit_out.get(name) is None]
    if not unsaid:
        return _versions(view, rule, fit_out, party)
    options: dict[tuple[Any, ...], Lines] = {}
    for values in itertools.product(*(values_of(view.book.facts[name]) for name in unsaid)):
        supposed = fit_out
        for name, value in zip(unsaid, values, strict=True):
            supposed = supposed.supposing(name, value)
        options[values] = _versions(view, rule, supposed, party)
    places = list(dict.fromkeys(place for lines in options.values() for place in lines))
    found = {}
    for place in places:
        lines = {values: one.get(place, NOT_APPLICABLE) for values, one in options.items()}
        found[place] = undecided(list(lines.values()), _deciding(unsaid, lines))
    return found


def _deciding(unsaid: list[str], lines: dict[tuple[Any, ...], Timeline]) -> tuple[str, ...]:
    """The facts that decide: where changing that one alone changes a verdict."""
    found = []
    for place, name in enumerate(unsaid):
        seen: dict[tuple[Any, ...], set[tuple[Any, ...]]] = {}
        for values, line in lines.items():
            rest = values[:place] + values[place + 1 :]
            seen.setdefault(rest, set()).add(tuple((s.start, s.verdict) for s in line.steps))
        if any(len(verdicts) > 1 for verdicts in seen.values()):
            found.append(name)
    return tuple(found)


def _versions(view: View, rule: Rule, fit_out: FitOut, party: Party | None) -> Lines:
    """The rule version by version, spliced at each `from`; before the first it obliges nobody."""
    if all_hold(rule.when, fit_out) is False:
        return {None: NOT_APPLICABLE}
    places, unsaid, week_code = _places(view.book, rule, fit_out)
    kind = KINDS[rule.kind]
    parts: list[tuple[dt.date, Lines]] = []
    for place, version in enumerate(rule.versions):
        if version.repealed:
            parts.append((version.from_on, {}))
            continue
        case = Case(
            rule,
            version.terms,
            terms_for(rule, place),
            fit_out,
            view,
            places,
            unsaid,
            week_code,
            party,
        )
        parts.append((version.from_on, {f.place: f.timeline for f in kind.judge(case)}))
    if len(parts) == 1:
        start, lines = parts[0]
        return {place: _since(start, line) for place, line in lines.items()}
    return _by_place([(EVER, {}), *parts])


def _places(
    book: Book, rule: Rule, fit_out: FitOut
) -> tuple[tuple[str, ...], tuple[str, ...], bool]:
    """The places a rule must find filled, the facts unsaid that would name more, and whether
    four digits are a week code there."""
    if rule.over is None:
        return (), (), False
    component = book.components[rule.over]
    places, unsaid = required_places(component, fit_out)
    return tuple(places), tuple(unsaid), component.week_code


def terms_for(rule: Rule, index: int) -> Callable[[Any], Terms]:
    """The terms each record is judged by while a version is in force.

    A record keeps the terms of its own day, unless this version or one since then said that
    every older record is judged anew (`cut`).
    """
    terms = rule.versions[index].terms
    least = max((i for i in range(index + 1) if rule.versions[i].cut or i == 0), default=0)
    if least == index:
        return lambda record: terms

    def terms_of(record: Any) -> Terms:
        own = least
        for i in range(least + 1, index + 1):
            if rule.versions[i].from_on <= record.on:
                own = i
        return rule.versions[own].terms

    return terms_of


def _since(start: dt.date, line: Timeline) -> Timeline:
    """A timeline that counts from a day on; before it nobody is obliged."""
    steps = line.steps
    first = steps[0]
    if len(steps) == 1:
        if first[2] == "not applicable":
            return line
        return _since_one(start, first)
    second = steps[1][0]
    if second >= start and first[2] == "not applicable":
        return line
    if second > start:
        begun = make_step((start, first[1], first[2], first[3], first[4]))
        return make_line(((_NOBODY, begun, *steps[1:]),))
    later = [step for step in steps if step[0] > start]
    return Timeline((_NOBODY, Step(start, *line.at(start)[1:]), *later))


@lru_cache(maxsize=1024)
def _since_one(start: dt.date, step: Step) -> Timeline:
    return Timeline((_NOBODY, Step(start, *step[1:])))
