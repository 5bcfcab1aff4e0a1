"""Two questions about a hire: is the van hireable as the records stand, and can it be booked.

Hireable: every blocking rule holds from collection to return, the van is on fleet, and no other
hire or hold stands in the way; one sent out and not written down as back does. Bookable adds the
work: "if done" when all that is missing can be recorded on a free working day before collection,
found by judging the same facts supposing it.
"""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Iterator
from decimal import Decimal
from typing import NamedTuple

from fleetcare.records.kinds import Hire
from fleetcare.rules.explain import caution_of, day_words, reason
from fleetcare.rules.judge import with_party
from fleetcare.rules.kinds.case import NO_BIKES, Party
from fleetcare.rules.outcome import STANDING, Judgement, Outcome
from fleetcare.rules.rule import Rule
from fleetcare.rules.trips import Trip, clashing
from fleetcare.rules.work import Ask, Spared, ToDo, bad_steps_of, plan
from fleetcare.timeline import Step, Verdict
from fleetcare.trade.measures import read_measure
from fleetcare.windows import EVER, FOREVER, Windows, after_days, days_before, eve


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
    late: tuple[Trip, ...] = ()  # sent out, and to be back first
    licence: Rule | None = None  # the hirer's class of licence must be seen first


def answer(judgement: Judgement, ask: Ask) -> Answer:
    """Judge a hire on the records as they stand, and look for the work that would save it."""
    judged = with_party(judgement, ask.party)
    spared = Spared(judged.view, ask.ref)
    bad = list(bad_steps_of(judged, ask))
    ruled = [_blocking(judged, outcome, step, ask.start) for outcome, step in bad]
    late = [t for t in judged.view.trips if t.still_out(ask.on) and t.hire.ref != ask.ref]
    in_the_way = [*_service(judged, ask), *_hires(judged, ask), *_unknown_countries(judged, ask)]
    late_ones = [_late(trip) for trip in late if not _clashes(judged, trip.hire, ask)]
    to_do: tuple[ToDo, ...] | None = ()
    unseen = next((o.rule for o, step in bad if step.code == "licence not said"), None)
    if bad and not in_the_way:
        to_do = _planned(judged, ask, bad, unseen)
    bookable = _bookable(ask, in_the_way, late_ones, to_do, unseen)
    return Answer(
        _hireable([step.verdict for _, step in bad], [*in_the_way, *late_ones]),
        _through(judged, ask),
        bookable,
        to_do or (),
        tuple(o for o in judged.outcomes if _lacks_at_handover(o, ask, spared)),
        (*in_the_way, *late_ones, *ruled),
        tuple(dict.fromkeys(_cautions(judged, ask))),
        _could(judged, ask) if bookable == "no" else (),
        tuple(late) if bookable == "if done" else (),
        unseen if bookable == "if done" else None,
    )


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
    judged: Judgement, ask: Ask, bad: list[tuple[Outcome, Step]], unseen: Rule | None
) -> tuple[ToDo, ...] | None:
    """The work that saves the hire, supposing the hirer shows a licence that covers the van."""
    if unseen is None:
        return plan(judged, ask, bad)
    classes = unseen.version_at(ask.start).terms["licences"]
    shown = max(classes, key=lambda name: read_measure(classes[name], "mass").value)
    ask = ask._replace(party=ask.party._replace(licence=shown))
    rest = [(o, s) for o, s in bad if o.rule is not unseen]
    kept = tuple(o for o in judged.outcomes if o.rule is not unseen)
    return plan(judged._replace(outcomes=kept), ask, rest) if rest else ()


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
            trip.hire.ref,
            "failed",
            eve(trip.hire.from_on),
            f"{'out' if trip.out else 'booked'} {day_words(trip.hire.from_on)} to "
            f"{day_words(trip.hire.through_on)} as {trip.hire.ref} (#{trip.hire.number})",
            "the firm's own book",
        )
        for trip in judged.view.trips
        if trip.hire.ref != ask.ref and _clashes(judged, trip.hire, ask)
    ]


def _clashes(judged: Judgement, hire: Hire, ask: Ask) -> bool:
    return clashing(hire, ask.start, ask.through, judged.view.book.turnaround_days)


def _late(trip: Trip) -> Blocking:
    """A hire past its last day that nobody wrote down as back."""
    return Blocking(
        "hire",
        trip.hire.ref,
        "failed",
        None,
        f"still out as {trip.hire.ref}: due back {day_words(trip.planned.through_on)}, no return "
        f"recorded. Record it with: fleetcare hire back {trip.hire.ref} --odometer …",
        "the firm's own book",
    )


def _unknown_countries(judged: Judgement, ask: Ask) -> list[Blocking]:
    """Countries of which the book holds no rules: nobody can say whether the van may go there."""
    return [
        Blocking(
            "abroad",
            country,
            "cannot say",
            None,
            f"the rulebook has no file of what binds a visiting van in {country}",
            "the rulebook",
        )
        for country in ask.party.abroad
        if judged.view.book.visiting(country) is None
    ]


def _lacks_at_handover(outcome: Outcome, ask: Ask, spared: Spared) -> bool:
    step = handover_step(outcome, ask)
    return step is not None and not spared.holds(outcome, step)


def handover_step(outcome: Outcome, ask: Ask) -> Step | None:
    """How an item to be recorded at handover stands, where it is not recorded; None where it is, or
    where it stops the hire by itself."""
    if outcome.rule.blocks != "at handover":
        return None
    step = outcome.timeline.at(ask.start)
    worst = outcome.timeline.worst_over(ask.start, ask.through)
    stale = step if outcome.rule.kind in ("measured", "after") else worst
    if stale.code == "unsaid":  # named where it blocks; a place that may not be is not asked for
        return None
    lacking = stale.verdict is not Verdict.GOOD and not outcome.blocks(stale, ask.party)
    return stale if lacking else None


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
            runs = [
                piece
                for run in runs
                for piece in _around(run, hire, judged.view.book.turnaround_days)
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


def spoiled(judged: Judgement, outcome: Outcome, on: dt.date) -> Hire | None:
    """The next hire, not yet collected, that an outcome spoils if nothing is done."""
    for hire in sorted(judged.hires, key=lambda h: (h.from_on, h.number)):
        if hire.from_on <= on:
            continue
        spared = Spared(judged.view, hire.ref)
        if spared.bad_steps(outcome, hire.from_on, hire.through_on, party_of(hire)):
            return hire
    return None


def would_go(judged: Judgement, ask: Ask) -> list[Party]:
    """The largest parties, out of the bikes asked for, that the rack bears; none where it bears
    none. The heaviest of those weighed are taken to stay."""
    weighed = sorted(ask.party.weighed_kg, key=Decimal, reverse=True)
    found: list[Party] = []
    for bikes, electric in itertools.product(
        range(min(ask.party.bikes, _MOST_BIKES), -1, -1),
        range(min(ask.party.electric_bikes, _MOST_BIKES), -1, -1),
    ):
        kept = tuple(weighed[: bikes + electric])
        party = ask.party._replace(bikes=bikes, electric_bikes=electric, weighed_kg=kept)
        beaten = any(p.bikes >= bikes and p.electric_bikes >= electric for p in found)
        if party.any_bikes and not beaten and not _rack_stops(judged, ask._replace(party=party)):
            found.append(party)
    return found


_MOST_BIKES = 8  # no rack bears more


def _rack_stops(judged: Judgement, ask: Ask) -> bool:
    return any(
        outcome.rule.blocks == "when bikes go"
        and any(True for _ in outcome.bad_steps(ask.start, ask.through, ask.party))
        for outcome in with_party(judged, ask.party).outcomes
    )


def party_of(hire: Hire) -> Party:
    """What a booking says of its hirer: bikes, class of licence, countries."""
    return Party(
        hire.bikes, hire.electric_bikes, hire.bike_kg or (), hire.licence, hire.abroad or ()
    )
