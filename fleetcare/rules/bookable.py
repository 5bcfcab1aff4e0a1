"""Two questions about a hire: is the van hireable as the records stand, and can it be booked.

Hireable: every blocking rule holds from collection to return, the van is on fleet, and no other
hire or hold stands in the way. Bookable adds the work: "if done" when all that is missing can be
recorded on a free working day before collection, found by judging the same facts supposing it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import NamedTuple

from fleetcare.records.kinds import Hire
from fleetcare.rules.explain import caution_of, day_words, reason
from fleetcare.rules.judge import with_party
from fleetcare.rules.kinds.case import NO_BIKES, Party
from fleetcare.rules.outcome import STANDING, Judgement, Outcome, clashing
from fleetcare.rules.work import Ask, ToDo, bad_steps_of, plan
from fleetcare.timeline import Step, Verdict
from fleetcare.windows import EVER, FOREVER, Windows, eve


class Blocking(NamedTuple):
    """One thing in the way."""

    rule: str
    place: str | None
    standing: str
    last_good_day: dt.date | None
    reason: str
    source: str
    outcome: Outcome | None = None
    step: Step | None = None


class Answer(NamedTuple):
    """What the clerk is told."""

    hireable: str  # yes, no, cannot say
    hireable_through: dt.date | None
    bookable: str  # yes, if done, no
    to_do: tuple[ToDo, ...]
    at_handover: tuple[Outcome, ...]
    blocking: tuple[Blocking, ...]
    cautions: tuple[str, ...]
    could: tuple[tuple[dt.date, dt.date], ...] = ()


def answer(judgement: Judgement, ask: Ask) -> Answer:
    """Judge a hire on the records as they stand, and look for the work that would save it."""
    judged = with_party(judgement, ask.party)
    bad = list(bad_steps_of(judged, ask))
    ruled = [_blocking(judged, outcome, step, ask.start) for outcome, step in bad]
    in_the_way = [*_service(judged, ask), *_hires(judged, ask)]
    verdict = max((step.verdict for _, step in bad), default=Verdict.GOOD)
    hireable = (
        "no"
        if in_the_way or verdict is Verdict.LACKS
        else ("cannot say" if verdict is Verdict.DOUBT else "yes")
    )
    if any(b.standing == "cannot say" for b in in_the_way) and verdict is not Verdict.LACKS:
        hireable = "cannot say" if len(in_the_way) == 1 else "no"
    to_do: tuple[ToDo, ...] | None = ()
    if bad and not in_the_way:
        to_do = plan(judged, ask, bad)
    bookable = "no" if in_the_way or to_do is None else "if done" if to_do else "yes"
    return Answer(
        hireable,
        _through(judged, ask),
        bookable,
        to_do or (),
        tuple(o for o in judged.outcomes if _at_handover(o, ask)),
        (*in_the_way, *ruled),
        tuple(dict.fromkeys(_cautions(judged, ask))),
        _could(judged, ask) if bookable == "no" else (),
    )


def _blocking(judged: Judgement, outcome: Outcome, step: Step, start: dt.date) -> Blocking:
    return Blocking(
        outcome.rule.name,
        outcome.place,
        STANDING[step.code],
        last_good_before(outcome, step),
        reason(judged, outcome, step),
        str(outcome.rule.version_at(max(step.start, start)).source),
        outcome,
        step,
    )


def last_good_before(outcome: Outcome, step: Step) -> dt.date | None:
    """The last good day before a bad step; None when there never was one."""
    before = None
    for other in outcome.timeline.steps:
        if other.start >= step.start:
            break
        if other.verdict is Verdict.GOOD:
            before = None
        elif before is None:
            before = other
    first = before or step
    if first.start == EVER:
        return None
    previous = outcome.timeline.at(eve(first.start))
    if previous.code == "not applicable" or previous.verdict is not Verdict.GOOD:
        return None
    return eve(first.start)


def _service(judged: Judgement, ask: Ask) -> list[Blocking]:
    if judged.service is None:
        return [
            Blocking(
                "service",
                None,
                "cannot say",
                None,
                "nobody said from when the van is on fleet",
                "the firm's own book",
            )
        ]
    if judged.service.covers(ask.start, ask.through):
        return []
    runs = "; ".join(f"{day_words(a)} to {day_words(b)}" for a, b in judged.service.runs())
    return [
        Blocking(
            "service",
            None,
            "failed",
            judged.service.last_good(ask.start),
            f"on fleet {runs or 'never'}",
            "the firm's own book",
        )
    ]


def _hires(judged: Judgement, ask: Ask) -> list[Blocking]:
    return [
        Blocking(
            "hire",
            hire.ref,
            "failed",
            eve(hire.from_on),
            f"booked {day_words(hire.from_on)} to {day_words(hire.through_on)} "
            f"as {hire.ref} (#{hire.number})",
            "the firm's own book",
        )
        for hire in judged.hires
        if hire.ref != ask.ref and clashing(hire, ask.start, ask.through)
    ]


def _at_handover(outcome: Outcome, ask: Ask) -> bool:
    if outcome.rule.blocks != "at handover":
        return False
    step = outcome.timeline.at(ask.start)
    worst = outcome.timeline.worst_over(ask.start, ask.through)
    stale = step if outcome.rule.kind == "measured" else worst
    if stale.code == "unsaid":  # named where it blocks; a place that may not be is not asked for
        return False
    return stale.verdict is not Verdict.GOOD and not outcome.blocks(stale, ask.party)


def _cautions(judged: Judgement, ask: Ask) -> Iterator[str]:
    for outcome in judged.outcomes:
        for step in outcome.timeline.steps:
            until = ask.through
            if step.start > until:
                break
            if outcome.timeline.at(max(step.start, ask.start)) is step:
                words = caution_of(judged, outcome, step, ask.party)
                if words:
                    yield words


def _through(judged: Judgement, ask: Ask) -> dt.date | None:
    """The last day to which the van stays hireable from collection on; None when not then."""
    last = judged.hireable_days(ask.party).last_good(ask.start)
    return None if last in (None, FOREVER) else last


def hireable_through(judged: Judgement, day: dt.date, party: Party = NO_BIKES) -> dt.date | None:
    """The last day of the hireable stretch that holds `day`; FOREVER when nothing ends it."""
    return judged.hireable_days(party).last_good(day)


def _could(judged: Judgement, ask: Ask) -> tuple[tuple[dt.date, dt.date], ...]:
    """The stretches, from the first working day asked about, in which the van could go: up to the
    collection day of the next hire, and on from its return day."""
    days = judged.hireable_days(ask.party) & Windows([(ask.on, FOREVER)])
    runs = days.runs()
    for hire in judged.hires:
        if hire.ref != ask.ref:
            runs = [piece for run in runs for piece in _around(run, hire)]
    return tuple(runs)


def _around(run: tuple[dt.date, dt.date], hire: Hire) -> list[tuple[dt.date, dt.date]]:
    start, through = run
    if hire.through_on < start or through < hire.from_on:
        return [run]
    before = [(start, hire.from_on)] if start < hire.from_on else []
    return before + ([(hire.through_on, through)] if hire.through_on < through else [])


def spoiled(judged: Judgement, outcome: Outcome, on: dt.date) -> Hire | None:
    """The next hire, not yet collected, that an outcome spoils if nothing is done."""
    for hire in sorted(judged.hires, key=lambda h: (h.from_on, h.number)):
        if hire.from_on > on and any(
            outcome.bad_steps(hire.from_on, hire.through_on, party_of(hire))
        ):
            return hire
    return None


def party_of(hire: Hire) -> Party:
    """The bikes of a booking."""
    return Party(hire.bikes, hire.electric_bikes, hire.bike_kg or ())
