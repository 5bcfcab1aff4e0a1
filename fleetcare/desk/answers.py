"""Answers given: one kept because it counts, and those kept set against what is answered now."""

from __future__ import annotations

import datetime as dt

from fleetcare.desk.ask import asked_hire
from fleetcare.desk.asked import Asked, asking
from fleetcare.desk.session import recording
from fleetcare.records.kept import Answer
from fleetcare.records.yard import Out
from fleetcare.reports.answered import (
    Answered,
    Said,
    Turn,
    as_record,
    ask_of,
    of_release,
    said_in,
    words_of,
)
from fleetcare.reports.hire import HireReport, hire_report
from fleetcare.rules.explain import said
from fleetcare.rules.kinds.case import Party
from fleetcare.rules.outcome import Judgement
from fleetcare.store import facts as stored
from fleetcare.store import lookup


def keep(
    place: str,
    by: str,
    van: str,
    start: dt.date | None,
    through: dt.date | None,
    party: Party,
    on: dt.date | None,
    ref: str | None,
) -> tuple[list[str], HireReport]:
    """Ask whether a van may go out, and keep the answer. Returns what to print and the answer."""
    with recording(place, by) as book:
        judged = book.asked.judged(van)
        ask = asked_hire(judged, start, through, party, on, ref)
        report: HireReport = book.asked.filled(hire_report(judged, ask))
        made = book.add(as_record(report, ask, "hireable", book.asked.as_of))
        book.tell(f"#{made.number} keeps this answer.")
    return book.said, report


def answers(place: str, van: str) -> list[Answered]:
    """Every answer kept of a van, the oldest first, and what changed it since."""
    with asking(place) as asked:
        now = asked.judged(van)
        then = _Then(asked, van)
        rows: list[Answered] = []
        for record, at, by in [
            *lookup.written(asked.connection, Answer, van),
            *lookup.written(asked.connection, Out, van),
        ]:
            kept = record if isinstance(record, Answer) else _released(then, record)
            if kept is not None:
                rows.append(_answered(asked, then, now, kept, at, said(by)))
        found: list[Answered] = asked.filled(sorted(rows))
        return found


def _answered(
    asked: Asked, then: _Then, now: Judgement, kept: Answer, at: str, by: str
) -> Answered:
    current = said_in(hire_report(now, ask_of(kept)))
    since = then.turns(kept, current) if kept.known_at < asked.as_of.known_at else ()
    return Answered(kept.number, at, by, kept, current, since)


def _released(then: _Then, out: Out) -> Answer | None:
    """The answer a release was given on; None where its booking is known no more."""
    judged = then.judged(out.known_at)
    trip = judged and next((t for t in judged.view.trips if t.hire.number == out.hire), None)
    if judged is None or trip is None:
        return None
    kept = of_release(out, trip.planned, "")
    return kept._replace(bookable=said_in(hire_report(judged, ask_of(kept))).bookable)


class _Then:
    """One van as it was judged at earlier sizes of the book, each worked out once."""

    def __init__(self, asked: Asked, van: str) -> None:
        self._asked = asked
        self._van = van
        self._judged: dict[int, Judgement | None] = {}
        self._touching = lookup.touching(asked.connection, van)

    def judged(self, size: int) -> Judgement | None:
        """The van by the records and rules the book held at a size."""
        if size not in self._judged:
            then = self._asked.at(size)
            facts = stored.facts_of(self._asked.connection, self._van, size) if then else None
            self._judged[size] = then.judge(facts) if then and facts else None
        return self._judged[size]

    def _said(self, size: int, kept: Answer) -> Said | None:
        judged = self.judged(size)
        return said_in(hire_report(judged, ask_of(kept))) if judged else None

    def turns(self, kept: Answer, current: Said) -> tuple[Turn, ...]:
        """The records since an answer after each of which it would have been another."""
        last = self._said(kept.known_at, kept)
        if last == current:
            return ()
        found = []
        for number, what in self._touching:
            if number <= kept.known_at:
                continue
            said = self._said(number, kept)
            if said is not None and said != last:
                found.append(Turn(number, words_of(*what), said))
                last = said
        return tuple(found)
