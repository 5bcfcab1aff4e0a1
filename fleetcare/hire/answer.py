"""Two questions about a hire: is the van hireable as the records stand, and can it be booked.

Hireable: every blocking rule holds from collection to return, the van is on fleet, and no other
hire or hold stands in the way; one sent out and not written down as back does. Bookable adds the
work: "if done" when all that is missing can be recorded on a free working day before collection,
found by judging the same facts supposing it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import NamedTuple

from fleetcare.hire.ask import Ask, Spared, worst_of
from fleetcare.hire.stops import (
    Blocking,
    by_late,
    by_rule,
    clashes,
    in_the_way,
    not_back,
)
from fleetcare.hire.todo import (
    ToDo,
    plan,
)
from fleetcare.records.kinds import Hire
from fleetcare.rules.judge import judge_rules, with_party
from fleetcare.rules.kinds import kind_of
from fleetcare.rules.outcome import Judgement, Outcome
from fleetcare.rules.party import NO_BIKES, Party
from fleetcare.rules.rule import (
    Rule,
)
from fleetcare.timeline import Step, Verdict
from fleetcare.van.trips import (
    Trip,
)
from fleetcare.van.van import SUPPOSED
from fleetcare.windows import FOREVER, Windows, after_days, days_before


class Decision(NamedTuple):
    """Whether a van may go and whether it can be booked, and what either hangs on."""

    hireable: str  # yes, no, cannot say
    bookable: str  # yes, if done, no
    to_do: tuple[ToDo, ...]
    blocking: tuple[Blocking, ...]
    could: tuple[tuple[dt.date, dt.date], ...] = ()
    late: tuple[Trip, ...] = ()  # sent out, and to be back first
    licence: Rule | None = None  # the hirer's class of licence must be seen first


class Answer(NamedTuple):
    """What the clerk is told, before it is put in words."""

    decision: Decision
    hireable_through: dt.date | None
    at_handover: tuple[Outcome, ...]
    noted: tuple[tuple[Outcome, Step], ...]  # what touches the hire's days and may need a caution


def answer(judgement: Judgement, ask: Ask, *, dated: bool = True) -> Answer:
    """Judge a hire on the records as they stand, look for the work that would save it, and gather
    what else there is to tell; `dated` as `todo.plan` says."""
    judged = _driven(with_party(judgement, ask.party), ask)
    spared = Spared(judged, ask.ref)
    return Answer(
        _decided(judged, ask, spared, dated=dated),
        _through(judged, ask),
        tuple(o for o in judged.outcomes if _lacks_at_handover(o, ask, spared)),
        tuple(_noted(judged, ask)),
    )


def decision(judgement: Judgement, ask: Ask, *, dated: bool = True) -> Decision:
    """The decision alone: all that it takes to choose among vans."""
    judged = _driven(with_party(judgement, ask.party), ask)
    return _decided(judged, ask, Spared(judged, ask.ref), dated=dated)


def _decided(judged: Judgement, ask: Ask, spared: Spared, *, dated: bool) -> Decision:
    bad = list(worst_of(spared, judged.outcomes, ask))
    late = not_back(judged, ask)
    others = in_the_way(judged, ask)
    late_ones = [by_late(trip) for trip in late if not clashes(judged, trip.hire, ask)]
    to_do: tuple[ToDo, ...] | None = ()
    unseen = next((o.rule for o, step in bad if step.code in o.kind.to_show), None)
    if bad and not others:
        to_do = _planned(judged, ask, bad, unseen, dated=dated)
    bookable = _bookable(ask, others, late_ones, to_do, unseen)
    return Decision(
        _hireable([step.verdict for _, step in bad], [*others, *late_ones]),
        bookable,
        to_do or (),
        (*others, *late_ones, *(by_rule(outcome, step) for outcome, step in bad)),
        _could(judged, ask) if bookable == "no" else (),
        tuple(late) if bookable == "if done" else (),
        unseen if bookable == "if done" else None,
    )


def _driven(judged: Judgement, ask: Ask) -> Judgement:
    """The same with the rules that are forecast by use judged as if the hire were booked: it is
    what drives the van past a distance. One that is booked for these days stands among them."""
    keys = frozenset(o.rule.key for o in judged.outcomes if _by_use(o))
    trip = judged.known.trip(ask.ref)
    booked = trip.hire if trip else None
    if not keys or (booked and booked.from_on <= ask.start and ask.through <= booked.through_on):
        return judged
    hire = Hire(SUPPOSED, judged.van, "", ask.start, ask.through)
    anew = judge_rules(judged.known.with_(hire), judged.book, ask.party, keys)
    kept = [outcome for outcome in judged.outcomes if outcome.rule.key not in keys]
    return judged._replace(outcomes=(*kept, *anew))


def _by_use(outcome: Outcome) -> bool:
    """Whether an outcome rests on how far the van is driven."""
    return outcome.kind.by_use and outcome.line.steps[-1].code != "not applicable"


def _hireable(verdicts: list[Verdict], in_the_way: list[Blocking]) -> str:
    """The worst counts: no beats cannot say beats yes."""
    lacks = Verdict.LACKS in verdicts or any(b.standing != "cannot say" for b in in_the_way)
    if lacks:
        return "no"
    return "cannot say" if in_the_way or Verdict.DOUBT in verdicts else "yes"


def _bookable(
    ask: Ask,
    in_the_way: list[Blocking],
    late: list[Blocking],
    to_do: tuple[ToDo, ...] | None,
    unseen: Rule | None,
) -> str:
    if in_the_way or to_do is None or (late and ask.start <= ask.on):
        return "no"
    return "if done" if to_do or late or unseen else "yes"


def _planned(
    judged: Judgement,
    ask: Ask,
    bad: list[tuple[Outcome, Step]],
    unseen: Rule | None,
    *,
    dated: bool,
) -> tuple[ToDo, ...] | None:
    """The work that saves the hire, supposing the hirer shows a licence that covers the van."""
    if unseen is None:
        return plan(judged, ask, bad, dated=dated)
    ask = ask._replace(party=kind_of(unseen).showing(unseen, ask.start, ask.party))
    rest = [(o, s) for o, s in bad if o.rule is not unseen]
    kept = tuple(o for o in judged.outcomes if o.rule is not unseen)
    return plan(judged._replace(outcomes=kept), ask, rest, dated=dated) if rest else ()


def _lacks_at_handover(outcome: Outcome, ask: Ask, spared: Spared) -> bool:
    step = handover_step(outcome, ask)
    return step is not None and not spared.holds(outcome, step)


def handover_step(outcome: Outcome, ask: Ask) -> Step | None:
    """How an item to be recorded at handover stands, where it is not recorded; None where it is, or
    where it stops the hire by itself."""
    if outcome.rule.blocks != "at handover":
        return None
    step = outcome.at(ask.start)
    worst = outcome.timeline.worst_over(ask.start, ask.through)
    stale = step if outcome.kind.each_handover else worst
    if stale.code == "unsaid":  # named where it blocks; a place that may not be is not asked for
        return None
    lacking = stale.verdict is not Verdict.GOOD and not outcome.blocks(stale, ask.party)
    return stale if lacking else None


def _noted(judged: Judgement, ask: Ask) -> Iterator[tuple[Outcome, Step]]:
    """Every step that touches the days of the hire."""
    for outcome in judged.outcomes:
        if ask.through < outcome.rule.since:
            continue
        steps = outcome.line.steps
        for place, step in enumerate(steps):
            ended = place + 1 < len(steps) and steps[place + 1].start <= ask.start
            if step.start <= ask.through and not ended:
                yield outcome, step


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
            runs = [
                piece for run in runs for piece in _around(run, hire, judged.book.turnaround_days)
            ]
    return tuple(runs)


def _around(
    run: tuple[dt.date, dt.date], hire: Hire, turnaround: int
) -> list[tuple[dt.date, dt.date]]:
    """What is left of a stretch beside a hire, the firm's turnaround kept on either side."""
    start, through = run
    first, last = hire.from_on, hire.through_on
    if turnaround:
        first, last = days_before(first, turnaround), after_days(last, turnaround)
    if last < start or through < first:
        return [run]
    before = [(start, first)] if start < first else []
    return before + ([(last, through)] if last < through else [])
