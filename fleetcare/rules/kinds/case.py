"""What a kind is given and gives back, and what is known of a kind. A kind never sees the book, the
judge or versions."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from functools import partial
from typing import Any, NamedTuple

from fleetcare.records.kinds import Check, Fit
from fleetcare.rules.party import NO_BIKES, Party
from fleetcare.rules.remedies import Remedy, named_remedy
from fleetcare.rules.rule import Rule, Terms, Topic
from fleetcare.things import Condition, holds
from fleetcare.timeline import Step, Timeline, Verdict, always, make_line, timeline
from fleetcare.van.places import Stay
from fleetcare.van.said import FitOut
from fleetcare.van.van import Van
from fleetcare.windows import EVER

GOOD, LATE, DOUBT, LACKS = Verdict.GOOD, Verdict.LATE, Verdict.DOUBT, Verdict.LACKS

NOT_APPLICABLE: Timeline = always(GOOD, "not applicable")


class Case(NamedTuple):
    """One rule to judge for one van under one set of stated facts and one version's terms.

    `terms_of` gives the terms a record is judged by, which for an old record may be older ones.
    """

    rule: Rule
    terms: Terms
    terms_of: Callable[[Any], Terms]
    fit_out: FitOut
    van: Van
    passes: list[Any]  # the checks that count, in order
    places: tuple[str, ...] = ()
    unsaid_places: tuple[str, ...] = ()
    week_code: bool = False
    adopted: dt.date = EVER  # before it the rule was in nobody's book
    readers: Mapping[str, tuple[Rule, ...]] = {}  # by kind of check, those whose pass closes items
    party: Party = NO_BIKES
    topics: tuple[Topic, ...] = ()  # what a defect may be of


make_case: Callable[[tuple[Any, ...]], Case] = partial(tuple.__new__, Case)


class Found(NamedTuple):
    """What a kind found at one place (None: the whole van)."""

    place: str | None
    line: Timeline


Judge = Callable[[Case], list[Found]]


class Term(NamedTuple):
    """One term a version may state, and which way of changing it is stricter.

    `stricter` is "less", "more", "on" (true is stricter), "off" (false is), "same" (may not be
    changed at all), "limits" (limit by limit) or "free" (neither way is a loosening). A `grace`
    gives something away: to have none at all is the strictest.
    """

    holds: str  # months, count, figure, flag, word, table
    stricter: str
    required: bool = False
    words: tuple[str, ...] = ()
    grace: bool = False


class Reads(NamedTuple):
    """What decides a rule besides its terms: a van of which there is none of it is judged as every
    such van is. What is not named here is not looked at; a test records what is."""

    checks: tuple[str, ...] = ()
    components: tuple[str, ...] = ()
    readings: tuple[str, ...] = ()
    events: tuple[str, ...] = ()
    papers: tuple[str, ...] = ()
    others: tuple[str, ...] = ()  # of van.OTHERS
    facts: tuple[str, ...] = ()  # facts of the van whose values it uses
    party: tuple[str, ...] = ()  # fields of the party


class Kind(NamedTuple):
    """A kind of rule and all that is known of it."""

    name: str
    terms: Mapping[str, Term]
    judge: Judge
    standings: Mapping[str, str]  # every code it gives → what a screen calls it
    reads: Callable[[Rule], Reads]
    starts: tuple[str, ...] = ("must exist",)
    remedy: Callable[[Rule, str | None, Step], Remedy | None] = named_remedy
    broken: frozenset[str] = frozenset()  # codes of what is known to be broken, not just unknown
    of_party: Callable[[Rule], bool] = lambda rule: False  # judged only for whoever asks
    carries: bool = False  # it weighs what a party brings: leaving some of it may put it right
    each_handover: bool = False  # asked anew at each handover: what counts is its first day
    reaches_back: bool = False  # a record of today may say something of days before it
    printed: bool = False  # a check counts on the days printed on it, and on no others
    renews: bool = False  # done before its last day it loses what was left of its days
    by_use: bool = False  # forecast by the days the van is let
    by_event: bool = False  # asks only after something happened, and may ask for less
    rests_on: Callable[[Rule], tuple[str, ...]] = lambda rule: ()  # facts besides its conditions
    # What a check supposed for it would read, by reading: of a day, figures that are in order.
    figures: Callable[[Rule, dt.date], Mapping[str, str]] = lambda rule, day: {}
    # Figures of a check that are probably a slip: reading, figure, what is wrong with it.
    asks_back: Callable[[Rule, Check], list[tuple[str, str, str]]] = lambda rule, check: []
    never_waived: str = ""  # how it is put right instead
    waived_even_so: frozenset[str] = frozenset()  # codes of it that a rule may name all the same
    # Codes by which the party has something to show, and the party supposing that it did.
    to_show: frozenset[str] = frozenset()
    shown: frozenset[str] = frozenset()  # codes by which it did: whoever decides hears the caution
    showing: Callable[[Rule, dt.date, Party], Party] = lambda rule, day, party: party


# What every kind may say of a van: it does not concern it, or rests on what nobody said.
ALWAYS = {"not applicable": "not applicable", "unsaid": "cannot say"}


def filled_places(case: Case) -> list[tuple[str, bool, list[Stay]]]:
    """Each place of the rule's kind of component: name, whether it must be filled, stays."""
    rule, places = case.rule, case.places
    stays = case.van.stays(rule.over or "")
    if rule.only_at or rule.not_at:
        stays = {name: held for name, held in stays.items() if rule.looks_at(name)}
    if len(places) == 1 == len(stays) and places[0] in stays:
        return [(places[0], True, stays[places[0]])]
    found = [(name, True, stays.get(name, [])) for name in places]
    if len(stays) > len(places) or any(name not in places for name in stays):
        found += [(name, False, listed) for name, listed in stays.items() if name not in places]
    return found


_EMPTY = (Step(EVER, GOOD, "not applicable"), Step(EVER, LACKS, "no record"))


def by_stay(
    stays: list[Stay], wanted: bool, steps_of: Callable[[Fit, dt.date], list[Step]]
) -> Timeline:
    """The timeline of a place from what was in it: each component's own steps while it is there.

    An empty place that must be filled is "no record"; one that need not be is not applicable.
    """
    empty = _EMPTY[wanted]
    if len(stays) == 1 and stays[0].fit is not None:
        stay = stays[0]
        return make_line(((empty, *steps_of(stay.fit, stay.key[0])),))  # type: ignore[arg-type]
    steps: list[Step] = []
    if not stays or stays[0].key[0] > EVER:
        steps.append(empty)
    for place, stay in enumerate(stays):
        until = stays[place + 1].key[0] if place + 1 < len(stays) else None
        start = stay.key[0]
        if until == start:
            continue
        if stay.fit is None:
            found = [empty._replace(start=start)]
        else:
            found = [s for s in steps_of(stay.fit, start) if until is None or s.start < until]
        steps.extend(found)
    return timeline(steps)


def part_holds(conditions: tuple[Condition, ...], fit: Fit) -> bool | None:
    """Whether all conditions hold of a component; None when its mark was not typed."""
    answer: bool | None = True
    for condition in conditions:
        one = holds(condition, getattr(fit, condition.name))
        if one is False:
            return False
        if one is None:
            answer = None
    return answer


def doubted(line: Timeline, detail: tuple[Any, ...]) -> Timeline:
    """What is left when a mark nobody typed decides whether the rule applies: doubt, not lacks."""
    return timeline(
        [
            s if s.verdict is GOOD else Step(s.start, DOUBT, "not said", s.record, detail)
            for s in line.steps
        ]
    )
