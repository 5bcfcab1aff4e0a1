"""Holds: a van taken off hire by a person, until its last day or until somebody lifts it; and the
days on which it is booked in with a workshop."""

from __future__ import annotations

import datetime as dt

from fleetcare.records.kinds import Hold, Visit
from fleetcare.rules.kinds.case import ALWAYS, GOOD, LACKS, NOT_APPLICABLE, Case, Found, Kind, Reads
from fleetcare.rules.remedies import no_remedy
from fleetcare.timeline import Step, timeline
from fleetcare.van.trips import held_days, visit_days
from fleetcare.windows import EVER, FOREVER


def judge(case: Case) -> list[Found]:
    """One timeline a hold or visit; its place is the number of its record."""
    facts = case.van.facts
    found = [_kept(visit, "in the workshop", visit_days(visit)) for visit in facts.visits]
    found += [_kept(hold, "held", held_days(facts, hold)) for hold in facts.holds]
    return found or _NONE


def _kept(record: Hold | Visit, code: str, days: tuple[dt.date, dt.date]) -> Found:
    """The days of a hold or visit, half open, on which the van goes on no hire."""
    from_on, until = days
    steps = [Step(EVER, GOOD, "not applicable")]
    if until > from_on:
        steps.append(Step(from_on, LACKS, code, record.number))
        if until < FOREVER:
            steps.append(Step(until, GOOD, "not applicable", record.number))
    return Found(f"#{record.number}", timeline(steps))


_NONE = [Found(None, NOT_APPLICABLE)]


KIND = Kind(
    "hold",
    {},
    judge,
    ALWAYS | {"held": "failed", "in the workshop": "failed"},
    lambda rule: Reads(others=("holds", "visits")),
    remedy=no_remedy,
    never_waived="a hold lifted",
)
