"""Open fails: from a fail until a full pass comes, or its items are signed off one by one."""

from __future__ import annotations

import datetime as dt

from fleetcare.records.kinds import Check, SignOff
from fleetcare.rules.kinds.case import GOOD, LACKS, Case
from fleetcare.rules.view import View, stands_after
from fleetcare.timeline import Step, Timeline, sampled
from fleetcare.windows import FOREVER


def fails(case: Case, passes: list[Check], listed: list[Check]) -> list[Timeline]:
    """At most one timeline: the days on which a fail of `listed` stands open.

    A fail counts whoever made it; only what closes it must be by somebody competent.
    """
    spans = []
    for check in listed:
        if View.failed(check):
            until = _closed_on(case, passes, check)
            if until > check.on:
                spans.append((check.on, until, check.number))
    if not spans:
        return []

    def look(day: dt.date) -> Step:
        for start, until, number in spans:
            if start <= day < until:
                return Step(day, LACKS, "failed", number)
        return Step(day, GOOD, "in date")

    days = [day for start, until, _ in spans for day in (start, until) if day < FOREVER]
    return [sampled(days, look)]


def _closed_on(case: Case, passes: list[Check], fail: Check) -> dt.date:
    passed = next((p.on for p in passes if stands_after(p, fail)), FOREVER)
    if not case.rule.items_close:
        return passed
    items = [d.number for d in case.view.facts.defects if d.check == fail.number]
    if not items:
        return passed
    signed = [_signed_on(case, item) for item in items]
    return min(passed, max(signed))


def _signed_on(case: Case, defect: int) -> dt.date:
    """The first day somebody competent for the rule signed an item off; FOREVER when nobody did."""
    days = [s.on for s in case.view.facts.sign_offs if s.defect == defect and _may_sign(case, s)]
    return min(days, default=FOREVER)


def _may_sign(case: Case, signed: SignOff) -> bool:
    by = case.rule.by
    return case.view.not_competent(by, signed.inspector, signed.by, signed.on) is None and bool(
        signed.inspector or signed.by
    )
