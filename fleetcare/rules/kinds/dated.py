"""Dated: good on the days the paper says, from its first day to its last. No sums at all.

A certificate that prints no first day begins on its own; a test that was failed stands until it is
passed.
"""

from __future__ import annotations

from fleetcare.rules.kinds.case import ALWAYS, GOOD, LACKS, Case, Found, Kind, Reads
from fleetcare.rules.kinds.fails import fails
from fleetcare.rules.reads import checks_for
from fleetcare.rules.rule import Rule
from fleetcare.timeline import Step, make_line, make_step, worst
from fleetcare.windows import EVER, FOREVER, next_day


def judge(case: Case) -> list[Found]:
    """One timeline for the van, from its own papers and those that name several vans."""
    rule, facts = case.rule, case.van.facts
    certified = rule.by.who == "certificate"
    spans = [
        (check.from_on or check.on, check.last_day, check.number)
        for check in case.passes
        if check.last_day and (check.from_on or certified)
    ]
    for paper in facts.shared.papers_of.get(facts.van, ()):
        if paper.what in rule.checks:
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
    line = make_line((tuple(steps),))
    if case.van.failing.isdisjoint(rule.checks):
        return [Found(None, line)]
    return [Found(None, worst([*fails(case, case.passes, checks_for(case.van, rule)), line]))]


_NO_RECORD = Step(EVER, LACKS, "no record")


def reads(rule: Rule) -> Reads:
    """Its own papers, and those that name several vans."""
    return Reads(checks=rule.checks, papers=rule.checks)


KIND = Kind(
    "dated",
    {},
    judge,
    ALWAYS
    | {"in date": "in date", "overdue": "overdue", "no record": "no record", "failed": "failed"},
    reads,
    broken=frozenset({"failed"}),
    reaches_back=True,
    printed=True,
)
