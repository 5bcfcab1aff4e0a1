"""What a kind is given and gives back. A kind never sees the book, the judge or versions."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from functools import partial
from typing import Any, NamedTuple

from fleetcare.records.kinds import Fit
from fleetcare.rules.party import Party
from fleetcare.rules.rule import (
    Rule,
    Terms,
)
from fleetcare.things import (
    Condition,
    holds,
)
from fleetcare.timeline import Step, Timeline, Verdict, always, make_line
from fleetcare.van.places import Stay
from fleetcare.van.said import (
    FitOut,
)
from fleetcare.van.van import View
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
    view: View
    places: tuple[str, ...] = ()
    unsaid_places: tuple[str, ...] = ()
    week_code: bool = False
    party: Party | None = None


make_case: Callable[[tuple[Any, ...]], Case] = partial(tuple.__new__, Case)


class Found(NamedTuple):
    """What a kind found at one place (None: the whole van)."""

    place: str | None
    timeline: Timeline


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


class Kind(NamedTuple):
    """A kind of rule: its name, the terms a version of it may state, and how it is judged."""

    name: str
    terms: Mapping[str, Term]
    judge: Judge
    starts: tuple[str, ...] = ("must exist",)


def filled_places(case: Case) -> list[tuple[str, bool, list[Stay]]]:
    """Each place of the rule's kind of component: name, whether it must be filled, stays."""
    stays, places = case.view.stays(case.rule.over or ""), case.places
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
    return tidy(steps)


def tidy(steps: list[Step]) -> Timeline:
    """Steps in order made into a timeline; a step overtaken on its own day is dropped."""
    kept: list[Step] = []
    for step in steps:
        while kept and kept[-1].start >= step.start:
            kept.pop()
        if kept and kept[-1][1:] == step[1:]:
            continue
        kept.append(step)
    return Timeline(tuple(kept))


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
    return tidy(
        [
            s if s.verdict is GOOD else Step(s.start, DOUBT, "not said", s.record, detail)
            for s in line.steps
        ]
    )
