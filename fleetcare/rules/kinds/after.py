"""After: something that happened asks for a check, and until it is recorded the rule is not met.

What happens is an event written down, a component fitted or taken off (`fitted`: any; `changed`:
only where one was before), days stood idle, or the handover before. A check stands after an event
by the order of the day (`in_place_by`); on one day with a time on only one of the two the event
came last: doubt never hires a van out.

Events before the day the book first took the rule in ask for nothing: nobody was asked then.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import NamedTuple

from fleetcare.records.kinds import Check, Fit, TakeOff
from fleetcare.rules.kinds.case import GOOD, LACKS, NOT_APPLICABLE, Case, Found, Kind, Term, tidy
from fleetcare.rules.kinds.fails import fails
from fleetcare.timeline import Step, Timeline, sampled, worst
from fleetcare.van.places import Key, in_place_by, key_of
from fleetcare.van.trips import laid_up
from fleetcare.windows import EVER, FOREVER, after_days


class Asks(NamedTuple):
    """One thing that asks for a check: when, its record, and a word for it."""

    key: Key
    record: int
    what: str


def judge(case: Case) -> list[Found]:
    """One timeline for the van; where a new component is what is asked for, at its place."""
    if not _untouched(case):
        return _judged(case)
    memo, key = case.view.book.memo, ("untouched", id(case.terms))
    if key not in memo:  # alike for every van nothing has happened to
        memo[key] = _judged(case)
    found: list[Found] = memo[key]
    return found


def _untouched(case: Case) -> bool:
    """Whether nothing is recorded of a van that this rule could look at."""
    facts, view, terms = case.view.facts, case.view, case.terms
    if facts.events or facts.outs or facts.backs or facts.lay_ups or view.any_fail:
        return False
    if not view.checks.keys().isdisjoint(case.rule.checks):
        return False
    parts = (*terms.get("fitted", ()), *terms.get("changed", ()), terms.get("by_fit", ""))
    return not any(view.stays(what) for what in parts)


def _judged(case: Case) -> list[Found]:
    terms, view = case.terms, case.view
    lines: list[Timeline] = []
    if "within_days" in terms:
        lines.append(_fresh(case, terms["within_days"]))
    if "idle_days" in terms:
        lines.append(_idle(case, terms["idle"], terms["idle_days"]))
    asked = sorted(_asks(case))
    place = _place(case)
    if asked:
        lines.append(_asked(asked, _answers(case)))
    passes = view.passes(case.rule)
    if view.any_fail:
        lines = [*fails(case, passes, view.checks_for(case.rule)), *lines]
    if not lines:
        return _NONE
    return [Found(place, worst(lines) if len(lines) > 1 else lines[0])]


_NONE = [Found(None, NOT_APPLICABLE)]


def _place(case: Case) -> str | None:
    """Where a new component is to be fitted, if that is what is asked for."""
    what = case.terms.get("by_fit")
    return next(iter(case.view.stays(what)), None) if what else None


def _asks(case: Case) -> Iterator[Asks]:
    """Everything since the rule was taken in that asks for a check."""
    adopted = case.view.book.adopted.get(case.rule.name, EVER)
    events, spared = case.terms.get("events", ()), case.terms.get("except_places", ())
    fitted, changed = case.terms.get("fitted", ()), case.terms.get("changed", ())
    facts = case.view.facts
    for event in facts.events:
        if event.what in events and event.on >= adopted:
            yield Asks(key_of(event), event.number, event.what)
    moves: list[Fit | TakeOff] = [*facts.fits, *facts.take_offs] if fitted or changed else []
    for move in moves:
        named = move.what in fitted or (move.what in changed and _held_before(case, move))
        if named and move.on >= adopted and move.place not in spared:
            yield Asks(key_of(move), move.number, move.what)


def _held_before(case: Case, move: Fit | TakeOff) -> bool:
    """Whether its place held a component before: what is fitted first tells how the van came."""
    first = case.view.stays(move.what).get(move.place, [])
    return bool(first) and first[0].key < key_of(move)


def _answers(case: Case) -> list[tuple[Key, int]]:
    """The records that satisfy what was asked, in order."""
    what = case.terms.get("by_fit")
    made: list[Check | Fit] = list(case.view.passes(case.rule))
    # One that was in the book before is not a new one: the used one put back replaces nothing.
    made += [fit for fit in case.view.facts.fits if fit.what == what and fit.part is None]
    return sorted((key_of(record), record.number) for record in made)


def _asked(asked: list[Asks], answers: list[tuple[Key, int]]) -> Timeline:
    """Not met from an event until a check that stands after it; each event needs one."""

    def look(day: dt.date) -> Step:
        so_far = [one for one in asked if one.key[0] <= day]
        done = [answer for answer in answers if answer[0][0] <= day]
        left = [one for one in so_far if not any(in_place_by(one.key, key) for key, _ in done)]
        if left:  # the one written down last: whoever answered for another knew nothing of it
            last = max(left, key=lambda one: one.record)
            return Step(day, LACKS, "not done", last.record, (last.what, last.key[0]))
        if not so_far:
            return Step(day, GOOD, "not applicable")
        last = so_far[-1]
        number = next(number for key, number in done if in_place_by(last.key, key))
        return Step(day, GOOD, "done", number, (last.what, last.key[0]))

    return sampled([one.key[0] for one in asked] + [key[0] for key, _ in answers], look)


def _fresh(case: Case, within: int) -> Timeline:
    """A check is good for its day and so many after it, and not past the next handover."""
    steps = [Step(EVER, LACKS, "not done")]
    for check in case.view.passes(case.rule):
        stale = min(after_days(check.on, within), case.view.used_on(check) or FOREVER)
        steps.append(Step(check.on, GOOD, "done", check.number))
        steps.append(Step(stale, LACKS, "not done", check.number))
    return tidy(steps)  # a newer check overtakes what an older one left


def _idle(case: Case, how: str, most: int) -> Timeline:
    """Idle for more than so many days: from then on a check is asked for.

    A check while it stands starts the days anew. Nothing is asked for what was idle before the
    rule was taken in: the days count from there.
    """
    adopted = case.view.book.adopted.get(case.rule.name, EVER)
    spans = [(max(a, adopted), b) for a, b in _idle_spans(case, how) if max(a, adopted) < b]
    checks = [c for c in case.view.passes(case.rule) if c.on >= adopted]
    days = [check.on for check in checks]
    for start, until in spans:
        days += _over_from(start, until, checks, most)

    def look(day: dt.date) -> Step:
        return _idle_step(spans, checks, most, day)

    return sampled([day for day in days if EVER < day < FOREVER], look)


Spans = list[tuple[dt.date, dt.date]]


def _idle_spans(case: Case, how: str) -> Spans:
    """The days, half open, from each last day of use on, on which the van stood."""
    if how == "laid up":
        return list(laid_up(case.view.facts).spans)
    trips = (trip for trip in case.view.trips if trip.out)
    used = sorted((t.hire.from_on, t.hire.through_on if t.back else FOREVER) for t in trips)
    spans, since = [], EVER
    for out, back in used:
        spans.append((since, out))
        since = back
    return [*spans, (since, FOREVER)]


def _over_from(start: dt.date, until: dt.date, checks: list[Check], most: int) -> list[dt.date]:
    """The days in one stretch on which it has stood too long, from its start or from a check."""
    since = [start, *(c.on for c in checks if start <= c.on < until)]
    return [day for one in since if (day := after_days(one, most)) < until]


def _idle_step(spans: Spans, checks: list[Check], most: int, day: dt.date) -> Step:
    """How a day stands: the last stretch that had stood too long by then, and no check since."""
    last_check = max((c.on for c in checks if c.on <= day), default=EVER)
    for start, until in reversed(spans):
        if start > day:
            continue
        since = max(start, last_check)
        over = after_days(since, most)
        if over <= day and over < until and since < until:
            return Step(day, LACKS, "stood", None, (since, most))
    number = next((c.number for c in reversed(checks) if c.on == last_check), None)
    return Step(day, GOOD, "done" if number else "not applicable", number)


KIND = Kind(
    "after",
    {
        "events": Term("texts", "same"),
        "fitted": Term("texts", "same"),
        "changed": Term("texts", "same"),
        "except_places": Term("texts", "same"),
        "by_fit": Term("component", "same"),
        "idle": Term("word", "same", words=("laid up", "not out")),
        "idle_days": Term("count", "less"),
        "within_days": Term("count", "less"),
    },
    judge,
    starts=("event",),
)
