"""Answers given: one kept because it counts, and those kept set against what is answered now."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from functools import partial
from typing import Any

from fleetcare.desk.asking import Asked, asking
from fleetcare.desk.calls import Question, asked_hire
from fleetcare.desk.session import recording
from fleetcare.records.kept import Answer
from fleetcare.records.kinds import KIND_OF, Check, Fit, TakeOff
from fleetcare.records.yard import Out
from fleetcare.reports.answered import (
    Answered,
    Said,
    Turn,
    as_record,
    of_release,
    said_again,
    said_at_release,
    words_of,
)
from fleetcare.reports.hire import HireReport, hire_report
from fleetcare.rules.kinds import kind_of
from fleetcare.rules.outcome import Judgement
from fleetcare.store import facts as stored
from fleetcare.store import lookup
from fleetcare.words.marks import said


def keep(place: str, by: str, van: str, question: Question) -> tuple[list[str], HireReport]:
    """Ask whether a van may go out, and keep the answer. Returns what to print and the answer."""
    with recording(place, by) as book:
        judged = book.asked.judged(van)
        ask = asked_hire(judged, question)
        report: HireReport = book.asked.filled(hire_report(judged, ask))
        made = book.add(as_record(report, ask, "hireable", book.asked.as_of))
        book.tell(f"#{made.number} keeps this answer.")
    return book.said, report


def answers(place: str, van: str) -> list[Answered]:
    """Every answer kept of a van, the oldest first, and what changed it since."""
    with asking(place) as asked:
        found: list[Answered] = asked.filled(answers_of(asked, van))
        return found


def answers_of(asked: Asked, van: str) -> list[Answered]:
    """The same in a book that is open; names are not filled in yet."""
    then = _Then(asked, van)
    rows: list[Answered] = []
    for kept, at, by in lookup.written(asked.connection, Answer, van):
        rows.append(then.answered(kept, at, by, said_again))
    for out, at, by in lookup.written(asked.connection, Out, van):
        kept = then.released(out)
        if kept is not None:
            rows.append(then.answered(kept, at, by, partial(said_at_release, out=out)))
    return sorted(rows)


# What stands from its day on and says nothing of the days before it.
_OF_THEIR_DAY = frozenset(KIND_OF[record] for record in (Check, Fit, TakeOff))
Again = Callable[[Judgement, Answer], Said]


class _Then:
    """One van as it was judged at earlier sizes of the book, each worked out once."""

    def __init__(self, asked: Asked, van: str) -> None:
        self._asked = asked
        self._van = van
        self._now = asked.judged(van)
        self._judged: dict[int, Judgement | None] = {}
        self._touching = lookup.touching(asked.connection, van)
        rules = asked.book.rules.values()
        self._looked_back_on = {
            what for rule in rules if kind_of(rule).reaches_back for what in rule.checks
        }

    def _at(self, size: int) -> Judgement | None:
        """The van by the records and rules the book held at a size."""
        if size not in self._judged:
            then = self._asked.at(size)
            facts = stored.facts_of(self._asked.connection, self._van, size) if then else None
            self._judged[size] = then.judge(facts) if then and facts else None
        return self._judged[size]

    def released(self, out: Out) -> Answer | None:
        """The answer a release was given on; None where its booking is known no more."""
        judged = self._at(out.known_at)
        trips = judged.known.trips if judged else []
        trip = next((t for t in trips if t.hire.number == out.hire), None)
        return of_release(out, trip.planned) if trip else None

    def answered(self, kept: Answer, at: str, by: str, again: Again) -> Answered:
        """A kept answer beside what the same question is answered now."""
        current = again(self._now, kept)
        row = Answered(kept.number, at, said(by), kept, current, ())
        return row._replace(since=self._turns(row, again)) if current != row.said else row

    def _only_later(self, what: tuple[str, Any], day: dt.date) -> bool:
        """Whether a record says nothing of a day or one before it: done later, and read by no rule
        that looks back."""
        kind, record = what
        later = kind in _OF_THEIR_DAY and record.on > day
        return later and record.what not in self._looked_back_on

    def _turns(self, row: Answered, again: Again) -> tuple[Turn, ...]:
        """The records since an answer after each of which it would have been another."""
        last, found = row.said, []
        for number, what in self._touching:
            if number <= row.answer.known_at or self._only_later(what, row.answer.through_on):
                continue
            judged = self._at(number)
            if judged is None:
                continue
            said_then = again(judged, row.answer)
            if said_then != last:
                found.append(Turn(number, words_of(*what), said_then))
                last = said_then
        return tuple(found)
