"""Dated: good on the days the paper says, from its first day to its last. No sums at all."""

from __future__ import annotations

from fleetcare.rules.kinds.case import GOOD, LACKS, Case, Found, Kind
from fleetcare.timeline import Step, make_line, make_step
from fleetcare.windows import EVER, FOREVER, next_day


def judge(case: Case) -> list[Found]:
    """One timeline for the van, from its own papers and those that name several vans."""
    rule, view = case.rule, case.view
    spans = [
        (check.from_on, check.last_day, check.number)
        for check in view.passes(rule)
        if check.from_on and check.last_day
    ]
    for paper in view.facts.shared.papers:
        if paper.what in rule.checks and view.facts.van in paper.vans:
            spans.append((paper.from_on, paper.last_day, paper.number))
    spans.sort()
    steps, until, ended = [_NO_RECORD], EVER, 0
    for start, last, number in spans:
        if last <= until:
            continue
        fresh = next_day(until)
        if until > EVER and start > fresh:
            steps.append(make_step((fresh, LACKS, "overdue", ended, (until,))))
        begins = start if until == EVER or start > fresh else fresh
        steps.append(make_step((begins, GOOD, "in date", number, (last, start))))
        until, ended = last, number
    if EVER < until < FOREVER:
        steps.append(make_step((next_day(until), LACKS, "overdue", ended, (until,))))
    return [Found(None, make_line((tuple(steps),)))]


_NO_RECORD = Step(EVER, LACKS, "no record")


KIND = Kind("dated", {}, judge)
