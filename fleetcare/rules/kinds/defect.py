"""Defects: one timeline a defect. Dangerous and major stop hire until signed off; the others when
their recheck-by day passes.

A repair is not a release: only a sign-off by a named person ends a defect. A defect found by a
check is also closed by the next pass of that kind that counts.
"""

from __future__ import annotations

import datetime as dt

from fleetcare.records.kinds import Defect
from fleetcare.rules.kinds.case import (
    GOOD,
    LACKS,
    NOT_APPLICABLE,
    Case,
    Found,
    Kind,
    Term,
    tidy,
)
from fleetcare.rules.kinds.fails import releases
from fleetcare.timeline import Step, Timeline
from fleetcare.windows import EVER, FOREVER, next_day

GRADES = ("dangerous", "major", "minor", "advisory")


def judge(case: Case) -> list[Found]:
    """One timeline a defect; its place is the number of its record."""
    found = [Found(f"#{d.number}", _line(case, d)) for d in case.view.facts.defects]
    return found or [Found(None, NOT_APPLICABLE)]


def _line(case: Case, defect: Defect) -> Timeline:
    number, closed = defect.number, closed_on(case, defect)
    steps = [Step(EVER, GOOD, "not applicable")]
    if defect.grade in ("dangerous", "major"):
        steps.append(Step(defect.on, LACKS, "failed", number, (defect.grade,)))
    else:
        for start, last in waits(case, defect):
            wait = (defect.grade, last)
            if start <= last:
                steps.append(Step(start, GOOD, "to recheck", number, wait))
            if last < FOREVER:
                over = max(start, next_day(last))
                steps.append(Step(over, LACKS, "recheck overdue", number, wait))
        steps = list(tidy(steps).steps)
    if closed < FOREVER:
        closed = max(closed, defect.on)
        steps = [s for s in steps if s.start < closed]
        steps.append(Step(closed, GOOD, "not applicable", number))
    return tidy(steps)


def closed_on(case: Case, defect: Defect) -> dt.date:
    """The day a defect was signed off or overtaken by a pass; FOREVER while it is open.

    The next pass of its kind overtakes an advisory, and the items of a fail. A defect found at a
    check that passed all the same waits for its signature.
    """
    view = case.view
    days = [
        s.on
        for s in view.facts.sign_offs
        if s.defect == defect.number and (s.by or s.inspector) and releases(s, defect.on, defect.at)
    ]
    found_by = view.check_numbered(defect.check)
    if found_by and (defect.grade == "advisory" or view.failed(found_by)):
        passed = view.passed_after(found_by)
        if passed:
            days.append(passed.on)
    return min(days, default=FOREVER)


def waits(case: Case, defect: Defect) -> list[tuple[dt.date, dt.date]]:
    """From each day on, the last day a minor defect may wait: as said or by the rule's days, then
    as moved by each recheck from its own day on, so that a late look wipes nothing out."""
    last = defect.recheck_by
    if last is None:
        last = defect.on + dt.timedelta(days=case.terms_of(defect)["recheck_days"])
    again = [r for r in case.view.facts.rechecks if r.defect == defect.number]
    moved = [(r.on, r.next_on) for r in sorted(again, key=lambda r: (r.on, r.number))]
    return [(defect.on, last), *moved]


KIND = Kind(
    "defect",
    {"recheck_days": Term("count", "less", required=True)},
    judge,
)
