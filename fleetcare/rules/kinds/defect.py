"""Defects: one timeline a defect. Dangerous and major stop hire until signed off. A minor one is
late when its recheck-by day passes, and stops hire when the rule's days of grace are over too; an
advisory is a caution however long it waits, where the rule says so.

A repair is not a release: only a sign-off by a named person ends a defect. A defect found by a
check is also closed by the next pass of that kind that counts. A temporary repair lasts to the end
of the hire the van was out on and spares that hire alone, and so does a signature under it; a
dangerous defect asks for both.
"""

from __future__ import annotations

import datetime as dt

from fleetcare.records.facts import Shared
from fleetcare.records.kinds import SERIOUS, Defect, Repair, SignOff
from fleetcare.rules.kinds.case import (
    ALWAYS,
    GOOD,
    LACKS,
    LATE,
    NOT_APPLICABLE,
    Case,
    Found,
    Kind,
    Reads,
    Term,
)
from fleetcare.rules.kinds.fails import releases, under_temporary
from fleetcare.rules.reads import not_competent, passed_after
from fleetcare.rules.remedies import Remedy
from fleetcare.rules.rule import Rule, Topic
from fleetcare.timeline import Step, Timeline, timeline
from fleetcare.van.checks import failed
from fleetcare.van.van import SUPPOSED
from fleetcare.windows import EVER, FOREVER, add_months, after_days, next_day


def judge(case: Case) -> list[Found]:
    """One timeline a defect; its place is the number of its record."""
    found = [Found(f"#{d.number}", _line(case, d)) for d in case.van.facts.defects]
    return found or [Found(None, NOT_APPLICABLE)]


def _line(case: Case, defect: Defect) -> Timeline:
    number, closed = defect.number, closed_on(case, defect)
    steps = [Step(EVER, GOOD, "not applicable")]
    if defect.grade in SERIOUS:
        steps.append(Step(defect.on, LACKS, "failed", number, (defect.grade,)))
    else:
        for start, last in waits(case, defect):
            wait = (defect.grade, last)
            if start <= last:
                steps.append(Step(start, GOOD, "to recheck", number, wait))
            if last < FOREVER:
                steps += _overdue(case, defect, start, last)
        steps = list(timeline(steps).steps)
    for first, after, repair in _mended(case, defect):
        resumes = next(s for s in reversed(steps) if s.start <= after)
        steps = [s for s in steps if s.start < first or s.start > after]
        mended = Step(first, LACKS, "mended for this hire", number, (defect.grade, *repair))
        steps = sorted([*steps, mended, resumes._replace(start=after)], key=lambda s: s.start)
    if closed < FOREVER:
        closed = max(closed, defect.on)
        steps = [s for s in steps if s.start < closed]
        steps.append(Step(closed, GOOD, "not applicable", number))
    return timeline(steps)


def _overdue(case: Case, defect: Defect, start: dt.date, last: dt.date) -> list[Step]:
    """From the day after its recheck day: late, and once it has been late too long, in the way."""
    terms, over = case.terms_of(defect), max(start, next_day(last))
    wait = (defect.grade, last)
    late = Step(over, LATE, "recheck late", defect.number, wait)
    if defect.grade == "advisory" and terms.get("advisories_wait"):
        return [late]
    stops = max(start, after_days(last, terms.get("late_days", 0)))
    overdue = Step(stops, LACKS, "recheck overdue", defect.number, wait)
    return [late, overdue] if stops > over else [overdue]


def _mended(case: Case, defect: Defect) -> list[tuple[dt.date, dt.date, tuple[int, int]]]:
    """Each stretch, half open, over which a temporary repair holds: to the last day planned of
    that hire, with the numbers of repair and hire. It spares that hire and stops every other."""
    found = []
    for repair in case.van.facts.repairs:
        if repair.defect != defect.number or not repair.temporary:
            continue
        trip = next((t for t in case.van.trips if t.out and t.out_on(repair.on)), None)
        first = repair.on
        if defect.grade == "dangerous":
            first = min((s.on for s in _signed(case, defect, repair)), default=FOREVER)
        if trip and first <= trip.planned.through_on:
            numbers = (repair.number, trip.hire.number)
            found.append((first, next_day(trip.planned.through_on), numbers))
    return found


def _signed(case: Case, defect: Defect, repair: Repair) -> list[SignOff]:
    """The signatures that stand after a repair and release what was found."""
    return [
        s
        for s in case.van.facts.sign_offs
        if s.defect == defect.number
        and lacking(case.topics, case.van.facts.shared, defect, s) is None
        and (s.on, s.number) > (repair.on, repair.number)
        and releases(s, defect.on, defect.at)
    ]


def topic_of(topics: tuple[Topic, ...], defect: Defect) -> Topic | None:
    """What a defect is of, where that asks for a card of whoever signs it off; an advisory is
    anybody's to close."""
    if defect.grade == "advisory":
        return None
    return next((topic for topic in topics if topic.of(defect.about, defect.on)), None)


def lacking(
    topics: tuple[Topic, ...], shared: Shared, defect: Defect, signed: SignOff
) -> str | None:
    """Why a signature does not release a defect; None when it does."""
    topic = topic_of(topics, defect)
    if topic is None:
        return None if signed.by or signed.inspector else "nobody is named"
    if signed.number >= SUPPOSED:
        return None
    return not_competent(shared, topic.closed_by, signed.inspector, signed.by, signed.on)


def closed_on(case: Case, defect: Defect) -> dt.date:
    """The day a defect was signed off or overtaken by a pass; FOREVER while it is open.

    The next pass of its kind overtakes an advisory, and the items of a fail. A defect found at a
    check that passed all the same waits for its signature.
    """
    van = case.van
    days = [
        s.on
        for s in van.facts.sign_offs
        if s.defect == defect.number
        and lacking(case.topics, van.facts.shared, defect, s) is None
        and releases(s, defect.on, defect.at)
        and not under_temporary(case.van, s)
    ]
    found_by = van.check_numbered(defect.check)
    if found_by and (defect.grade == "advisory" or failed(found_by)):
        topic = topic_of(case.topics, defect)
        by = topic.closed_by if topic else None
        passed = passed_after(van, case.readers.get(found_by.what, ()), found_by, defect.on, by)
        if passed:
            days.append(passed.on)
    return min(days, default=FOREVER)


def waits(case: Case, defect: Defect) -> list[tuple[dt.date, dt.date]]:
    """From each day on, the last day a minor defect may wait: as said or by the rule's days, then
    as moved by each recheck from its own day on, so that a late look wipes nothing out."""
    last = defect.recheck_by
    if last is None:
        last = defect.on + dt.timedelta(days=case.terms_of(defect)["recheck_days"])
    again = [r for r in case.van.facts.rechecks if r.defect == defect.number]
    moved = [(r.on, r.next_on) for r in sorted(again, key=lambda r: (r.on, r.number))]
    return [(defect.on, last), *moved]


def repeats(defects: list[Defect], found: Defect) -> list[Defect]:
    """The defects of the same sort found on the van within the year before one."""
    since = add_months(found.on, -12)
    return [
        d
        for d in defects
        if found.about
        and d.about == found.about
        and d.number < found.number
        and since <= d.on <= found.on
    ]


def remedy(rule: Rule, place: str | None, step: Step) -> Remedy | None:
    """A signature under the defect; of one that only waited too long, another look. Rules without
    days of grace asked for a signature, and still do."""
    if step.code == "recheck overdue" and "late_days" in rule.versions[-1].terms:
        return Remedy("recheck", str(step.record), place, rule, (step.record,))
    return Remedy("sign-off", str(step.record), place, rule, (step.record,))


KIND = Kind(
    "defect",
    {
        "recheck_days": Term("count", "less", required=True),
        "late_days": Term("count", "less", grace=True),
        "advisories_wait": Term("flag", "off"),
    },
    judge,
    ALWAYS
    | {
        "failed": "failed",
        "to recheck": "in date",
        "recheck late": "overdue",
        "recheck overdue": "overdue",
        "mended for this hire": "failed",
    },
    lambda rule: Reads(others=("defects",)),
    remedy=remedy,
    broken=frozenset({"failed"}),
    never_waived="a defect is signed off",
    waived_even_so=frozenset({"recheck overdue"}),
)
