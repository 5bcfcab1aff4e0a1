"""Two questions about a hire: is the van hireable as the records stand, and can it be booked.

Hireable: every blocking rule holds from collection to return, the van is on fleet, and no other
hire or hold stands in the way. Bookable adds the work: "if done" when all that is missing can be
recorded on a free working day before collection, found by judging the same facts supposing it.
"""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Iterator
from typing import NamedTuple

from fleetcare.records.facts import Facts
from fleetcare.records.kinds import Hire, VanFacts
from fleetcare.rules.book import Book
from fleetcare.rules.explain import caution_of, day_words, reason
from fleetcare.rules.judge import judge, judge_rule, with_party
from fleetcare.rules.kinds.case import NO_BIKES, Party
from fleetcare.rules.outcome import STANDING, Judgement, Outcome, clashing
from fleetcare.rules.remedy import Remedy, remedy_for, said_ways, supposing
from fleetcare.rules.view import View
from fleetcare.timeline import Step, Verdict
from fleetcare.windows import EVER, FOREVER, Windows, each_day, eve, next_day

_MOST_WAYS = 256  # statements tried before a van is called past saving by one record
_ROUNDS = 4

Same = tuple[str, str, str | None]  # what makes two remedies one record
Remedies = dict[Same, Remedy]


class Ask(NamedTuple):
    """A hire asked about: its days, its bikes, the first day work can be done, its booking."""

    start: dt.date
    through: dt.date
    on: dt.date
    party: Party = NO_BIKES
    ref: str | None = None


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


class ToDo(NamedTuple):
    """One record that must be made first, and the first and last day it can be."""

    remedy: Remedy
    do_from: dt.date
    do_by: dt.date


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
    bad = list(_bad(judged, ask))
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


def _bad(judged: Judgement, ask: Ask) -> Iterator[tuple[Outcome, Step]]:
    """Each outcome that stops the hire, with its worst step."""
    for outcome in judged.outcomes:
        steps = list(outcome.bad_steps(ask.start, ask.through, ask.party))
        if steps:
            yield outcome, max(steps, key=lambda step: step.verdict)


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
    """The stretches, from the first working day asked about, in which the van could go."""
    days = judged.hireable_days(ask.party) & Windows([(ask.on, FOREVER)])
    taken = Windows(
        (next_day(h.from_on), h.through_on)
        if h.from_on < h.through_on
        else (h.from_on, next_day(h.from_on))
        for h in judged.hires
        if h.ref != ask.ref
    )
    return tuple((days - taken).runs())


# --- the work ------------------------------------------------------------------------------------


def free(judged: Judgement, day: dt.date, needs_van: bool) -> bool:
    """Whether work can be done on a day: the workshop is open and, where the work needs the van,
    no hire touches the day."""
    if not judged.view.book.working(day):
        return False
    return not (needs_van and any(h.from_on <= day <= h.through_on for h in judged.hires))


def free_days(judged: Judgement, first: dt.date, before: dt.date, needs_van: bool) -> list[dt.date]:
    """The days from `first` to the day before `before` on which work can be done."""
    return [day for day in each_day(first, eve(before)) if free(judged, day, needs_van)]


def first_free(
    judged: Judgement, first: dt.date, before: dt.date, needs_van: bool
) -> dt.date | None:
    """The first of those days."""
    days = each_day(first, eve(before))
    return next((day for day in days if free(judged, day, needs_van)), None)


def last_free(
    judged: Judgement, first: dt.date, before: dt.date, needs_van: bool
) -> dt.date | None:
    """The last of those days."""
    day = eve(before)
    while day >= first:
        if free(judged, day, needs_van):
            return day
        day = eve(day)
    return None


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
    return list(_bad(with_party(judge(done, judged.view.book, judged.as_of), ask.party), ask))


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
        rest = _all_done(base, view, others, {s: days[s][-1] for s in others})

        def saves(day: dt.date, remedy: Remedy = remedy, rest: Facts = rest) -> bool:
            done = View(supposing(rest, view, remedy, day, len(remedies) + 1), view.book)
            return not any(
                True
                for name in touched
                for o in judge_rule(done, view.book.rules[name], ask.party)
                for _ in o.bad_steps(ask.start, ask.through, ask.party)
            )

        first = next((day for day in days[same] if saves(day)), None)
        last = next((day for day in reversed(days[same]) if saves(day)), None)
        if first is None or last is None:
            return None
        found.append(ToDo(remedy, first, last))
    return tuple(found)


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
