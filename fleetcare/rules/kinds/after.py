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

from fleetcare.records.kinds import Check, Fit, TakeOff
from fleetcare.rules.kinds.again import Asks, again, figures
from fleetcare.rules.kinds.case import (
    ALWAYS,
    GOOD,
    LACKS,
    NOT_APPLICABLE,
    Case,
    Found,
    Kind,
    Reads,
    Term,
)
from fleetcare.rules.kinds.fails import fails
from fleetcare.rules.reads import checks_for
from fleetcare.rules.rule import Rule
from fleetcare.timeline import Step, Timeline, sampled, worst
from fleetcare.van.places import Key, in_place_by, key_of
from fleetcare.van.trips import laid_up
from fleetcare.windows import EVER, FOREVER, after_days


def judge(case: Case) -> list[Found]:
    """One timeline for the van; where a new component is what is asked for, at its place."""
    terms = case.terms
    lines: list[Timeline] = []
    if "within_days" in terms:
        lines.append(_fresh(case, terms["within_days"]))
    if "idle_days" in terms:
        lines.append(_idle(case, terms["idle"], terms["idle_days"]))
    asked = sorted(_asks(case))
    place = _place(case)
    if "follows" in terms:
        lines.append(again(case, asked))
    elif asked:
        lines.append(_asked(asked, _answers(case)))
    if not case.van.failing.isdisjoint(case.rule.checks):
        lines = [*fails(case, case.passes, checks_for(case.van, case.rule)), *lines]
    if not lines:
        return _NONE
    return [Found(place, worst(lines) if len(lines) > 1 else lines[0])]


_NONE = [Found(None, NOT_APPLICABLE)]


def _place(case: Case) -> str | None:
    """Where a new component is to be fitted, if that is what is asked for."""
    what = case.terms.get("by_fit")
    return next(iter(case.van.stays(what)), None) if what else None


def _asks(case: Case) -> Iterator[Asks]:
    """Everything since the rule was taken in that asks for a check."""
    adopted = case.adopted
    events, spared = case.terms.get("events", ()), case.terms.get("except_places", ())
    fitted, changed = case.terms.get("fitted", ()), case.terms.get("changed", ())
    facts = case.van.facts
    for event in facts.events if events else ():
        if event.what in events and event.on >= adopted:
            yield Asks(key_of(event), event.number, event.what)
    moves: list[Fit | TakeOff] = [*facts.fits, *facts.take_offs] if fitted or changed else []
    for move in moves:
        named = move.what in fitted or (move.what in changed and _held_before(case, move))
        if named and move.on >= adopted and move.place not in spared:
            yield Asks(key_of(move), move.number, move.what)


def _held_before(case: Case, move: Fit | TakeOff) -> bool:
    """Whether its place held a component before: what is fitted first tells how the van came."""
    first = case.van.stays(move.what).get(move.place, [])
    return bool(first) and first[0].key < key_of(move)


def _answers(case: Case) -> list[tuple[Key, int]]:
    """The records that satisfy what was asked, in order."""
    what = case.terms.get("by_fit")
    made: list[Check | Fit] = list(case.passes)
    # One that was in the book before is not a new one: the used one put back replaces nothing.
    if what:
        made += [fit for fit in case.van.facts.fits if fit.what == what and fit.part is None]
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
    """A check is good for its day and so many after it, and not past the next handover but one."""
    spans = [(c.on, case.van.stale_from(c, within), c.number) for c in case.passes]

    def look(day: dt.date) -> Step:
        done = [number for on, stale, number in spans if on <= day < stale]
        if done:
            return Step(day, GOOD, "done", done[-1])
        past = [number for on, _, number in spans if on <= day]
        return Step(day, LACKS, "not done", past[-1] if past else None)

    return sampled([day for on, stale, _ in spans for day in (on, stale) if day < FOREVER], look)


def _idle(case: Case, how: str, most: int) -> Timeline:
    """Idle for more than so many days: from then on a check is asked for.

    A check while it stands starts the days anew. Nothing is asked for what was idle before the
    rule was taken in: the days count from there.
    """
    adopted = case.adopted
    spans = [(max(a, adopted), b) for a, b in _idle_spans(case, how)]
    # A check can only shorten a stretch: one that is too short from its start asks for nothing.
    spans = [(start, until) for start, until in spans if after_days(start, most) < until]
    checks = [c for c in case.passes if c.on >= adopted]
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
        return list(laid_up(case.van.facts).spans)
    trips = (trip for trip in case.van.trips if trip.out)
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


def reads(rule: Rule) -> Reads:
    """What may ask for it, and what answers."""
    in_use = [version.terms for version in rule.versions if not version.repealed]
    parts = [n for t in in_use for key in ("fitted", "changed") for n in t.get(key, ())]
    parts += [t["by_fit"] for t in in_use if "by_fit" in t]
    idle = {t["idle"] for t in in_use if "idle" in t}
    first = [t["follows"] for t in in_use if "follows" in t]
    return Reads(
        checks=(*rule.checks, *first),
        components=tuple(parts),
        events=tuple(event for t in in_use for event in t.get("events", ())),
        others=(*(("lay_ups",) if "laid up" in idle else ()), "trips"),
    )


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
        "follows": Term("component", "same"),  # the kind of check that it does once more
        "settled": Term("limits", "limits"),
        "driven_km": Term("count", "more"),
    },
    judge,
    ALWAYS
    | {
        "done": "in date",
        "done standing": "in date",
        "not done": "no record",
        "not said": "cannot say",
        "stood": "no record",
        "failed": "failed",
    },
    reads,
    starts=("event",),
    broken=frozenset({"failed"}),
    each_handover=True,
    by_event=True,
    figures=figures,
)
