"""Papers awaited: a record written down before its paper came. One timeline a record; it stops hire
from the day after the paper should have come, until a scan of it is kept."""

from __future__ import annotations

import datetime as dt

from fleetcare.records.facts import numbers_of
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
from fleetcare.rules.remedies import Remedy
from fleetcare.rules.rule import Rule
from fleetcare.timeline import Step, timeline
from fleetcare.windows import EVER, after_days, eve


def judge(case: Case) -> list[Found]:
    """One timeline a record whose paper is awaited; its place is the number of the record.

    A record taken back awaits nothing.
    """
    facts = case.van.facts
    if not facts.scans:
        return [Found(None, NOT_APPLICABLE)]
    came: dict[int, dt.date] = {}
    for scan in facts.scans:
        if scan.digest is not None:
            came[scan.record] = min(scan.on, came.get(scan.record, scan.on))
    stand = numbers_of(facts)
    found = []
    for scan in facts.scans:
        if scan.digest is None and scan.record in stand:
            over = after_days(scan.on, case.terms["days"])
            last = eve(over)
            steps = [
                Step(EVER, GOOD, "not applicable"),
                Step(scan.on, GOOD, "paper awaited", scan.number, (scan.record, last)),
                Step(over, LACKS, "paper overdue", scan.number, (scan.record, last)),
            ]
            if scan.record in came:
                kept = max(came[scan.record], scan.on)
                steps = [step for step in steps if step.start < kept]
                steps.append(Step(kept, GOOD, "not applicable"))
            found.append(Found(f"#{scan.record}", timeline(steps)))
    return found or [Found(None, NOT_APPLICABLE)]


def remedy(rule: Rule, place: str | None, step: Step) -> Remedy | None:
    """A scan of the paper of the record it is awaited for."""
    return Remedy("paper", str(step.detail[0]), place, rule, (step.detail[0],))


KIND = Kind(
    "paper",
    {"days": Term("count", "less", required=True)},
    judge,
    ALWAYS | {"paper awaited": "in date", "paper overdue": "overdue"},
    lambda rule: Reads(others=("scans",)),
    remedy=remedy,
    never_waived="a paper awaited comes in",
)
