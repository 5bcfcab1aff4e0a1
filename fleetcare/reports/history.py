"""What was in force for a van on a day: every rule, under which terms, on which records; and where
what is known now says otherwise."""

from __future__ import annotations

import datetime as dt
from typing import Any, NamedTuple

from fleetcare.hire.ask import Ask, party_of
from fleetcare.reports.hire import hire_report
from fleetcare.rules.evidence import records_of
from fleetcare.rules.judge import with_party
from fleetcare.rules.outcome import Judgement, Outcome
from fleetcare.timeline import Verdict
from fleetcare.van.trips import Trip
from fleetcare.windows import FOREVER
from fleetcare.words.reasons import reason, titled
from fleetcare.words.terms import terms_words


class InForce(NamedTuple):
    """One rule at one place as it stood on the day."""

    rule: str
    title: str
    place: str | None
    standing: str
    last_good_day: dt.date | None
    records: tuple[int, ...]
    reason: str
    terms: str
    source: str


class Differs(NamedTuple):
    """A rule at a place that stands otherwise by what is known now."""

    then: InForce | None
    now: InForce | None


class History(NamedTuple):
    """A van on a day, as known at a size of the book, and what is known otherwise now."""

    van: str
    plate: str | None
    on: dt.date
    known_at: int
    rulebook: str
    hireable: str
    hire: str | None  # the booking it was away with that day, whose party it is judged for
    rules: tuple[InForce, ...]
    known_now: int
    hireable_now: str
    differs: tuple[Differs, ...]
    begins: str  # the day in UTC on which the book's first record was written down


def history(then: Judgement, now: Judgement, on: dt.date, begins: str) -> History:
    """What was in force on a day by what was known then, set against what is known now."""
    trip = _away(then, on)
    rules, hireable = _in_force(then, on, trip)
    later, hireable_now = _in_force(now, on, _away(now, on))
    was, is_ = ({(row.rule, row.place): row for row in rows} for rows in (rules, later))
    differs = [
        Differs(was.get(key), is_.get(key))
        for key in {**was, **is_}
        if _said(was.get(key)) != _said(is_.get(key))
    ]
    return History(
        then.van, then.plate_on(on), on, then.as_of.known_at, then.as_of.digest, hireable,
        trip.hire.ref if trip else None, tuple(rules), now.as_of.known_at, hireable_now,
        tuple(differs), begins,
    )  # fmt: skip


def _said(row: InForce | None) -> tuple[Any, ...]:
    return (row.standing, row.last_good_day, row.records) if row else ("not applicable", None, ())


def _away(judged: Judgement, on: dt.date) -> Trip | None:
    """The hire whose days hold a day; on a changeover day the one that begins."""
    days = [t for t in judged.known.trips if t.hire.from_on <= on <= t.hire.through_on]
    return max(days, key=lambda trip: trip.hire.from_on, default=None)


def in_force(judged: Judgement, on: dt.date) -> list[InForce]:
    """Every rule that applies to a van on a day, for the hire it is away with if any."""
    return _in_force(judged, on, _away(judged, on))[0]


def _in_force(judged: Judgement, on: dt.date, trip: Trip | None) -> tuple[list[InForce], str]:
    """Every rule that applies on a day, and whether the van was hireable on it."""
    ask = Ask(on, on, on)
    if trip:
        ask = ask._replace(party=party_of(judged.known, trip.hire), ref=trip.hire.ref)
    rows = [
        _row(judged, outcome, on)
        for outcome in with_party(judged, ask.party).outcomes
        if outcome.at(on).code != "not applicable"
    ]
    return rows, hire_report(judged, ask).hireable


def _row(judged: Judgement, outcome: Outcome, on: dt.date) -> InForce:
    rule, step = outcome.rule, outcome.at(on)
    good = step.verdict is Verdict.GOOD
    last = outcome.last_good(on) if good else outcome.last_good_before(step)
    return InForce(
        rule.name, titled(outcome), outcome.place, outcome.standing(step),
        None if last == FOREVER else last, records_of(judged, outcome, on),
        reason(judged, outcome, step), terms_words(rule, on), str(rule.version_at(on).source),
    )  # fmt: skip


def as_json(found: History) -> dict[str, Any]:
    """The keys programs rely on."""
    return {
        "van": found.van,
        "on": found.on,
        "known_at": found.known_at,
        "rulebook": found.rulebook,
        "hireable": found.hireable,
        "hire": found.hire,
        "rules": [_plain(row) for row in found.rules],
        "known_now": found.known_now,
        "hireable_now": found.hireable_now,
        "differs": [
            {
                "then": _plain(one.then) if one.then else None,
                "now": _plain(one.now) if one.now else None,
            }
            for one in found.differs
        ],
        "begins": found.begins,
    }


def _plain(row: InForce) -> dict[str, Any]:
    return row._asdict() | {"records": list(row.records)}
