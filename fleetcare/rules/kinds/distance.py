"""Distance: a check is good for so many miles or kilometres, and for so many months where both are
said, whichever comes first.

Behind us the odometer is known from every record that says it, and between two of them it is taken
to have risen evenly. Ahead it is forecast (`trade/forecast.py`): the rule stays met as long as the
van can't have been driven so far, by the fastest it ever was and by the hires booked. From then on
nobody can say until somebody reads it, and a record that says how far it went moves that day.
"""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from typing import NamedTuple

from fleetcare.records.kinds import Check
from fleetcare.rules.kinds.case import (
    ALWAYS,
    DOUBT,
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
from fleetcare.rules.kinds.driven import Driven, driven
from fleetcare.rules.kinds.fails import fails
from fleetcare.rules.reads import checks_for
from fleetcare.rules.remedies import Remedy, named_remedy
from fleetcare.rules.rule import Rule, Terms
from fleetcare.timeline import Step, Timeline, always, timeline, worst
from fleetcare.trade.measures import read_measure
from fleetcare.van.van import SUPPOSED
from fleetcare.windows import EVER, FOREVER, add_months, next_day


def judge(case: Case) -> list[Found]:
    """One timeline for the van: of the distance, of the months, of open fails."""
    every = _every(case)
    if every is None:
        return [Found(None, NOT_APPLICABLE)]
    known = driven(case)
    lines = [_by_distance(case, every, known)]
    if "months" in case.terms:
        lines.append(_by_months(case))
    if not case.van.failing.isdisjoint(case.rule.checks):
        lines = [*fails(case, case.passes, checks_for(case.van, case.rule)), *lines]
    return [Found(None, worst(lines))]


def _every(case: Case) -> Decimal | None:
    """How far a check is good for, in km: as the version says, or as said of the van; None where
    nobody said it of this one."""
    said = case.terms.get("distance") or case.fit_out.get(case.terms.get("by_fact", ""))
    return read_measure(said, "distance").value if said else None


def _by_distance(case: Case, every: Decimal, known: Driven | None) -> Timeline:
    """From each check on, until it is used up or the next one is made."""
    if known is None:
        return always(DOUBT, "no reading")
    grace = case.terms.get("grace_distance")
    spare = read_measure(grace, "distance").value if grace else Decimal(0)
    steps = [_NO_RECORD]
    if case.rule.starts == "registration" and case.fit_out.facts.first_registered_on:
        turned = [Step(EVER, DOUBT, "odometer not said")]
        steps = turned if known.turned else _good_for(every, spare, known, None, EVER)
    for check in case.passes:
        at = _odometer_at(check, known)
        if check.number >= SUPPOSED:
            steps += _supposed(every, known, check)
        elif at is None:
            steps.append(Step(check.on, DOUBT, "odometer not said", check.number))
        else:
            steps += _good_for(at + every, spare, known, check.number, check.on)
    return timeline(steps)


def _supposed(every: Decimal, known: Driven, check: Check) -> list[Step]:
    """What work to come is good for, its odometer read with it."""
    last = known.sure_after(check.on, every)
    steps = [Step(check.on, GOOD, "in date", check.number, (last,))]
    ends = [] if last == FOREVER else [Step(next_day(last), DOUBT, "not read", check.number)]
    return [*steps, *ends]


_NO_RECORD = Step(EVER, LACKS, "no record")


def _odometer_at(check: Check, known: Driven) -> Decimal | None:
    """What the odometer showed at a check, in km; where it does not say, what was read before it.
    None where nobody knows, and of a check made before the instrument was changed or misread."""
    if check.odometer and not (known.turned and check.on < known.readings[0].on):
        return read_measure(check.odometer, "distance").value
    return known.at(check.on)


class _Ends(NamedTuple):
    """The last day on which a distance is not reached, and whether a reading says so."""

    last: dt.date
    known: bool


def _good_for(
    limit: Decimal, spare: Decimal, known: Driven, number: int | None, start: dt.date
) -> list[Step]:
    """The steps from a day on of what is good to a figure on the odometer."""
    due = _ends(limit, known)
    stop = _ends(limit + spare, known) if spare else due
    detail = (due.last, limit, *known.told(limit))
    steps = [Step(start, GOOD, "in date", number, detail)] if due.last >= start else []
    for end, last in ((due, stop.last), (stop, FOREVER)):
        begins = max(next_day(end.last), start) if end.last < FOREVER else FOREVER
        if begins > last or begins == FOREVER:
            continue
        verdict, code = (LATE, "late") if end is due and spare else (LACKS, "overdue")
        if not end.known:
            verdict, code = (LATE, "may be late") if end is due and spare else (DOUBT, "not read")
        steps.append(Step(begins, verdict, code, number, detail))
    return steps


def _ends(limit: Decimal, known: Driven) -> _Ends:
    """The last day before a figure is reached."""
    reached = known.reached(limit)
    if reached is not None:
        return _Ends(reached, known=True)
    return _Ends(known.sure_to(limit), known=False)


def _by_months(case: Case) -> Timeline:
    """The other end of whichever comes first."""
    steps = [Step(EVER, GOOD, "not applicable")]
    for check in case.passes:
        last = add_months(check.on, case.terms["months"])
        steps.append(Step(check.on, GOOD, "not applicable"))
        steps.append(Step(next_day(last), LACKS, "too long ago", check.number, (last,)))
    return timeline(steps)


def reads(rule: Rule) -> Reads:
    """Its checks, every odometer, the hires, and the distance said of the van."""
    terms: list[Terms] = [version.terms for version in rule.versions if not version.repealed]
    named = dict.fromkeys(t["by_fact"] for t in terms if "by_fact" in t)
    base = ("first_registered_on",) if rule.starts == "registration" else ()
    return Reads(rule.checks, others=("odometers", "trips"), facts=(*named, *base))


def remedy(rule: Rule, place: str | None, step: Step) -> Remedy | None:
    """A reading where there is none at all; else the work itself, for a reading may not help."""
    if step.code == "no reading":
        return Remedy("odometer", "", None, rule)
    return named_remedy(rule, place, step)


KIND = Kind(
    "distance",
    {
        "distance": Term("distance", "less"),
        "by_fact": Term("component", "same"),
        "grace_distance": Term("distance", "less", grace=True),
        "months": Term("months", "less"),
        "hire_day_distance": Term("distance", "more"),
        "most_a_day": Term("distance", "more", required=True),
    },
    judge,
    ALWAYS
    | {
        "in date": "in date",
        "late": "overdue",
        "may be late": "overdue",
        "overdue": "overdue",
        "too long ago": "overdue",
        "no record": "no record",
        "failed": "failed",
        "not read": "cannot say",
        "no reading": "cannot say",
        "odometer not said": "cannot say",
    },
    reads,
    starts=("must exist", "registration"),
    remedy=remedy,
    broken=frozenset({"failed"}),
    by_use=True,
)
