"""Dated: good on the days the paper says, from its first day to its last. No sums at all."""

from __future__ import annotations

from fleetcare.rules.kinds.case import GOOD, LACKS, Case, Found, Kind, tidy
from fleetcare.timeline import Step
from fleetcare.windows import EVER, next_day


def judge(case: Case) -> list[Found]:
    """One timeline for the van, from its own papers and those that name several vans."""
    rule, view = case.rule, case.view
    spans = [
        (check.from_on, check.last_day, check.number)
        for check in view.passes(rule)
        if check.from_on and check.last_day
    ]
    spans += [
        (paper.from_on, paper.last_day, paper.number)
        for paper in view.facts.shared.papers
        if paper.what in rule.checks and view.facts.van in paper.vans
    ]
    steps, until = [Step(EVER, LACKS, "no record")], EVER
    for start, last, number in sorted(spans):
        if last <= until:
            continue
        steps.append(
            Step(
                max(start, next_day(until)) if until > EVER else start,
                GOOD,
                "in date",
                number,
                (last, start),
            )
        )
        steps.append(Step(next_day(last), LACKS, "overdue", number, (last,)))
        until = last
    return [Found(None, tidy(steps))]


KIND = Kind("dated", {}, judge)
