"""One line of the due report: how a rule stands, when to do the work, what it spoils, and what to
tell whoever has the van."""

from __future__ import annotations

import datetime as dt
from typing import NamedTuple

from fleetcare.hire.days import first_free, last_free
from fleetcare.hire.stops import spoiled
from fleetcare.hire.supposing import remedy_for
from fleetcare.records.kinds import Hire
from fleetcare.rules.outcome import Judgement, Outcome
from fleetcare.rules.rule import Rule
from fleetcare.timeline import Step, Verdict
from fleetcare.van.trips import Trip
from fleetcare.windows import add_months, early_from, next_day
from fleetcare.words.cautions import tell_hirer
from fleetcare.words.days import day_words
from fleetcare.words.reasons import NOTHING, reason

__all__ = ["NOTHING", "DueItem", "made"]


WORKSHOP, PAPERS = "our own workshop", "papers and the office"


class DueItem(NamedTuple):
    """One thing due: what, where, how it stands, when to do it, and what it would spoil."""

    van: str
    plate: str | None
    rule: str
    title: str
    place: str | None
    standing: str
    last_good_day: dt.date | None
    days_over: int
    do_from: dt.date | None
    do_by: dt.date | None
    blocks: str
    reason: str
    source: str
    group: str
    spoils: str | None  # the next hire it would spoil, in words
    if_out: str | None  # what to tell a hirer who has the van now
    booked_in: str | None = None  # the visit to a workshop that does it, in words
    trade: str = PAPERS  # whose work it is: a scope that a card is asked for, or ours
    check: str | None = None  # the kind of check that is its remedy


def made(
    judged: Judgement, outcome: Outcome, step: Step, on: dt.date, named: str, out: Trip | None
) -> DueItem:
    """The line of an outcome that stands at `step`; `out` is the hire it lapses on."""
    rule = outcome.rule
    last = outcome.last_good(on) if step.verdict is Verdict.GOOD else outcome.last_good_before(step)
    hire = spoiled(judged, outcome, on)
    do_from, do_by = _days(judged, outcome, step, on, last, hire)
    if out and do_by:  # nothing is done while it is out: the first day it is free then
        back = next_day(max(out.planned.through_on, on))
        do_from = do_by = min(do_by, first_free(judged, back, next_day(do_by), True) or do_by)
    return DueItem(
        judged.van,
        judged.plate_on(on),
        rule.name,
        rule.title,
        outcome.place,
        named,
        last,
        max((on - last).days, 0) if last and named in ("overdue", "no record") else 0,
        do_from,
        do_by,
        rule.blocks,
        reason(judged, outcome, _telling(outcome, step, on)),
        str(rule.version_at(on).source),
        _group(step, on, last, hire, do_by, out),
        hire_words(hire),
        _tell_hirer(out, outcome, step) if out else None,
        _booked_in(judged, rule.name, on, do_by),
        trade_of(rule),
        rule.remedy.what if rule.remedy.sort == "check" else None,
    )


def trade_of(rule: Rule) -> str:
    """Whose work a rule asks for: the scope of the card that whoever does it must hold, our own
    workshop's where the van is needed, else the office's."""
    if rule.by.scope and rule.by.who in ("competent", "registered"):
        return rule.by.scope
    return WORKSHOP if rule.needs_van else PAPERS


def _booked_in(judged: Judgement, rule: str, on: dt.date, do_by: dt.date | None) -> str | None:
    """The first visit to come, or not over, that a rule's work is booked in with."""
    listed = (v for v in judged.known.facts.visits if rule in (v.jobs or ()) and v.through_on >= on)
    visit = min(listed, key=lambda one: (one.from_on, one.number), default=None)
    if visit is None:
        return None
    late = ", too late" if do_by and visit.from_on > do_by else ""
    return f"booked in {day_words(visit.from_on)} (#{visit.number}){late}"


def _telling(outcome: Outcome, step: Step, on: dt.date) -> Step:
    """The step whose words are shown: what is coming, where nothing applies yet."""
    if step.code != "not applicable":
        return step
    later = (s for s in outcome.timeline.steps if s.start > on and s.verdict > Verdict.GOOD)
    return next(later, step)


def hire_words(hire: Hire | None) -> str | None:
    """A booking in a few words."""
    if hire is None:
        return None
    return f"{hire.ref} from {day_words(hire.from_on)}"


def _tell_hirer(trip: Trip, outcome: Outcome, step: Step) -> str:
    until = f"{trip.called} until {day_words(trip.planned.through_on)}"
    return f"{until}. {tell_hirer(outcome, step)}"


def _group(
    step: Step,
    on: dt.date,
    last: dt.date | None,
    hire: Hire | None,
    do_by: dt.date | None,
    out: Trip | None,
) -> str:
    if out:
        return "out"
    if hire and do_by is None:
        return "spoils"
    if step.verdict > Verdict.GOOD or last is None:
        return "overdue"
    return "week" if last.isocalendar()[:2] == on.isocalendar()[:2] else "coming"


def _days(
    judged: Judgement,
    outcome: Outcome,
    step: Step,
    on: dt.date,
    last: dt.date | None,
    hire: Hire | None,
) -> tuple[dt.date | None, dt.date | None]:
    """The first day that loses no validity, and the last before the next hire it spoils."""
    good, remedy = step.verdict is Verdict.GOOD, remedy_for(outcome, step)
    if remedy is None and not good:
        return None, None
    needs_van = outcome.rule.needs_van if good or remedy is None else remedy.needs_van
    before = hire.from_on if hire else next_day(last) if good and last else None
    do_by = last_free(judged, on, before, needs_van) if before else None
    first = _no_loss_from(outcome, on, last) if good and last else on
    until = before or add_months(first, 2)
    return (first_free(judged, first, until, needs_van) or do_by), do_by


def _no_loss_from(outcome: Outcome, on: dt.date, last: dt.date) -> dt.date:
    """The first day on which a recurring check keeps its anniversary; for the rest, now."""
    if not outcome.kind.renews:
        return on
    early = outcome.rule.version_at(on).terms.get("early_months")
    return max(on, early_from(last, early) if early else last)
