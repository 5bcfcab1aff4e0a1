"""A plan keeps its word: whoever does its items on any days it allows, in the order it asks, and
writes them down as a yard does, has a van that may go."""

from __future__ import annotations

import datetime as dt
import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from fleetcare.desk.asking import Asked, asking
from fleetcare.hire.answer import Decision, decision
from fleetcare.hire.ask import Ask
from fleetcare.hire.days import free_days
from fleetcare.hire.supposing import supposing
from fleetcare.records.facts import Facts, Shared, adding
from fleetcare.records.kinds import Check, Competence, Fit, Inspector, SignOff
from fleetcare.rules.judge import judge
from fleetcare.rules.outcome import Judgement
from fleetcare.rules.party import Party
from fleetcare.van.van import SUPPOSED

LONG_AGO = dt.date(1990, 1, 1)
EXPERT = 900_001  # has every card there is
ON = dt.date(2026, 11, 23)
HORIZONS = (20, 150, 400)


def _by_an_expert(asked: Asked, facts: Facts) -> Facts:
    """The same book with somebody in it who may do everything."""
    scopes = {s for rule in asked.book.rules.values() for s in rule.by.scopes if s}
    cards = tuple(
        Competence(EXPERT + n, EXPERT, scope, LONG_AGO, None, "1")
        for n, scope in enumerate(sorted(scopes), 1)
    )
    shared = facts.shared
    people = {**shared.inspectors, EXPERT: Inspector(EXPERT, "x")}
    known = Shared(people, {**shared.competences, EXPERT: cards}, shared.papers)
    return facts._replace(shared=known)


def _written(judged: Judgement, facts: Facts, found: Decision, days: list[dt.date]) -> Facts:
    """The items of a plan written down on days, in its own order on each, without times, as the
    records of a person with a card and a certificate."""
    book, number = judged.book, 1_000_000
    order = sorted(range(len(days)), key=lambda n: (days[n], *_rank(found, n)))
    for place in order:
        remedy = found.to_do[place].remedy
        before = facts
        made = supposing(judged.known, book, remedy, days[place], 1).facts
        for field in ("fits", "checks", "sign_offs", "rechecks", "recalls_done", "scans"):
            for record in getattr(made, field):
                if record.number >= SUPPOSED:
                    number += 1
                    before = adding(before, _real(record, number))
        facts = before
    return facts


def _rank(found: Decision, place: int) -> tuple[bool, int]:
    return bool(found.to_do[place].after), place


def _real(record: Any, number: int) -> Any:
    if isinstance(record, Check):
        certificate = f"C{number}"
        return record._replace(number=number, at=None, inspector=EXPERT, certificate=certificate)
    if isinstance(record, Fit):
        return record._replace(number=number, at=None)
    if isinstance(record, SignOff):
        return record._replace(number=number, by=None, inspector=EXPERT)
    return record._replace(number=number)


def _schedules(
    judged: Judgement, found: Decision, ask: Ask, rng: random.Random
) -> Iterator[list[dt.date]]:
    """All on their first day, all on their last, and some at random that the plan allows."""
    yield [todo.do_from for todo in found.to_do]
    yield [todo.do_by for todo in found.to_do]
    free = [
        [d for d in free_days(judged, ask.on, ask.start, t.remedy.needs_van)
         if t.do_from <= d <= t.do_by]
        for t in found.to_do
    ]  # fmt: skip
    for _ in range(4):
        days = [rng.choice(listed) for listed in free]
        for place, todo in enumerate(found.to_do):
            least = max((days[n] for n in todo.after), default=days[place])
            if days[place] < least:
                days[place] = next((d for d in free[place] if d >= least), days[place])
        in_order = all(days[n] <= days[p] for p, t in enumerate(found.to_do) for n in t.after)
        if in_order:
            yield days


def test_whatever_a_plan_allows_makes_the_van_go(sample_file: Path) -> None:
    """Over the sample, for hires near and far: every schedule a plan allows, written down for
    real, leaves nothing that stops the hire."""
    rng = random.Random(3)
    broken, plans, tried, ordered = [], 0, 0, 0
    with asking(str(sample_file)) as asked:
        for judged in asked.fleet():
            facts = _by_an_expert(asked, judged.known.facts)
            for far in HORIZONS:
                start = ON + dt.timedelta(days=far)
                last = start + dt.timedelta(days=rng.randrange(3, 40))
                ask = Ask(start, last, ON, Party(licence="C1"))
                found = decision(judged, ask)
                said = any(todo.remedy.sort == "say" for todo in found.to_do)
                if found.bookable != "if done" or said or found.late:
                    continue
                plans += 1
                ordered += any(todo.after for todo in found.to_do)
                for days in _schedules(judged, found, ask, rng):
                    tried += 1
                    then = judge(_written(judged, facts, found, days), asked.book, asked.as_of)
                    stops = [b.rule for b in decision(then, ask).blocking]
                    if stops:
                        broken.append((judged.van, far, [str(d) for d in days], stops))

    assert broken == []
    assert plans > 10
    assert tried > 60
    assert ordered > 0
