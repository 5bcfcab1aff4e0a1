"""The work that would save a hire: what must be recorded, and the first and last day for it.

Found by judging the same facts supposing each remedy, never by a sum of its own.
"""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Iterable
from typing import NamedTuple

from fleetcare.hire.ask import Ask, bad_steps_of
from fleetcare.hire.days import free_days
from fleetcare.hire.remedy import (
    Remedy,
    remedy_for,
    said_ways,
    supposing,
)
from fleetcare.records.facts import Facts
from fleetcare.records.kinds import VanFacts
from fleetcare.rules.book import Book
from fleetcare.rules.judge import judge, judge_rule, with_party
from fleetcare.rules.outcome import Judgement, Outcome
from fleetcare.timeline import Step
from fleetcare.van.van import View

_MOST_WAYS = 256  # statements tried before a van is called past saving by one record


_ROUNDS = 4


Same = tuple[str, str, str | None]  # what makes two remedies one record


Remedies = dict[Same, Remedy]


class ToDo(NamedTuple):
    """One record that must be made first, and the first and last day it can be."""

    remedy: Remedy
    do_from: dt.date
    do_by: dt.date


def plan(judged: Judgement, ask: Ask, bad: list[tuple[Outcome, Step]]) -> tuple[ToDo, ...] | None:
    """Every record to make first, each with its first and last day; None when no work can do it."""
    view, book = judged.view, judged.view.book
    remedies: Remedies = {}
    rules: dict[Same, list[str]] = {}
    names: list[str] = []
    for _ in range(_ROUNDS):
        for outcome, step in bad:
            remedy = remedy_for(outcome, step)
            if remedy is None:
                return None
            if remedy.sort == "say":
                names += [n for n in remedy.detail if n not in names]
                remedy = remedy._replace(what="")
            remedies.setdefault(remedy.same, remedy)
            rules.setdefault(remedy.same, []).append(outcome.rule.name)
        days = {
            same: free_days(judged, ask.on, ask.start, remedy.needs_van)
            for same, remedy in remedies.items()
        }
        if not all(days.values()):
            return None
        base = _with_statement(view, book, ask, remedies, days, tuple(names))
        if base is None:
            return None
        last = {same: found[-1] for same, found in days.items()}
        left = _left(judged, ask, base, remedies, last)
        if not left:
            needed = _needed(judged, ask, base, remedies, last)
            return _dated(ask, base, view, needed, rules, days, tuple(names))
        known = {(o.rule.name, o.place) for o, _ in bad}
        bad = [pair for pair in left if (pair[0].rule.name, pair[0].place) not in known]
        if not bad:
            return None
    return None


def _left(
    judged: Judgement,
    ask: Ask,
    base: Facts,
    remedies: Remedies,
    on: dict[Same, dt.date],
) -> list[tuple[Outcome, Step]]:
    """What still stops the hire when all of `remedies` are done."""
    done = _all_done(base, judged.view, remedies, on)
    return list(
        bad_steps_of(with_party(judge(done, judged.view.book, judged.as_of), ask.party), ask)
    )


def _needed(
    judged: Judgement,
    ask: Ask,
    base: Facts,
    remedies: Remedies,
    on: dict[Same, dt.date],
) -> Remedies:
    """The remedies without one that the others do as well: an extended service is a basic one."""
    needed = dict(remedies)
    for same, remedy in remedies.items():
        others = {s: r for s, r in needed.items() if s != same}
        if remedy.sort != "say" and others and not _left(judged, ask, base, others, on):
            needed = others
    return needed


def _all_done(
    facts: Facts,
    view: View,
    remedies: Remedies,
    on: dict[Same, dt.date],
) -> Facts:
    for serial, (same, remedy) in enumerate(remedies.items(), 1):
        facts = supposing(facts, view, remedy, on[same], serial)
    return facts


def _with_statement(
    view: View,
    book: Book,
    ask: Ask,
    remedies: Remedies,
    days: dict[Same, list[dt.date]],
    names: tuple[str, ...],
) -> Facts | None:
    """The facts with what nobody said said in the way that serves; None when no way does."""
    if not names:
        return view.facts
    last = {same: found[-1] for same, found in days.items()}
    ways: list[VanFacts] = said_ways(view, view.fit_outs[-1][1], names)
    rules = list(book.rules.values())
    for said in itertools.islice(ways, _MOST_WAYS):
        facts = view.facts._replace(stated=[*view.facts.stated, said])
        done = View(_all_done(facts, view, remedies, last), book)
        outcomes = [
            o
            for rule in rules
            if set(rule.rests_on) & set(names) or rule.over
            for o in judge_rule(done, rule, ask.party)
        ]
        if not any(True for o in outcomes for _ in o.bad_steps(ask.start, ask.through, ask.party)):
            return facts
    return None


def _still_bad(done: View, rules: Iterable[str], ask: Ask) -> bool:
    return any(
        True
        for name in rules
        for o in judge_rule(done, done.book.rules[name], ask.party)
        for _ in o.bad_steps(ask.start, ask.through, ask.party)
    )


def _dated(
    ask: Ask,
    base: Facts,
    view: View,
    remedies: Remedies,
    rules: dict[Same, list[str]],
    days: dict[Same, list[dt.date]],
    names: tuple[str, ...],
) -> tuple[ToDo, ...] | None:
    """For each remedy, all others done, the first and last day on which it saves the hire."""
    found = []
    touched = dict.fromkeys(name for named in rules.values() for name in named)
    for same, remedy in remedies.items():
        if remedy.sort == "say":
            named = remedy._replace(detail=names, what=" ".join(names))
            found.append(ToDo(named, days[same][0], days[same][-1]))
            continue
        others = {s: r for s, r in remedies.items() if s != same}
        lasts = {s: days[s][-1] for s in others}

        def saves(
            day: dt.date,
            remedy: Remedy = remedy,
            others: Remedies = others,
            lasts: dict[Same, dt.date] = lasts,
        ) -> bool:
            # The rest on its last day; or all on one day, where one is the test of another.
            for when in (lasts, dict.fromkeys(others, day)):
                rest = _all_done(base, view, others, when)
                done = View(supposing(rest, view, remedy, day, len(remedies) + 1), view.book)
                if not _still_bad(done, touched, ask):
                    return True
            return False

        first = next((day for day in days[same] if saves(day)), None)
        last = next((day for day in reversed(days[same]) if saves(day)), None)
        if first is None or last is None:
            return None
        found.append(ToDo(remedy, first, last))
    return tuple(found)
