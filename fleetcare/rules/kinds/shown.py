"""Shown: the licence of whoever will drive, seen for this hire.

Judged only for a party and asked at each handover; what was seen longer ago than its days is asked
again. That a licence was seen says nothing of what it covers: that is the kind `licence`.
"""

from __future__ import annotations

import datetime as dt

from fleetcare.rules.kinds.case import (
    ALWAYS,
    GOOD,
    LACKS,
    Case,
    Found,
    Kind,
    Reads,
    Term,
)
from fleetcare.rules.remedies import no_remedy
from fleetcare.timeline import Step, Timeline, always, timeline, worst
from fleetcare.windows import EVER, FOREVER


def judge(case: Case) -> list[Found]:
    """One timeline: from the day every driver's was seen, for as many days as that serves."""
    lines = [fresh(case, one.on, "seen", "not seen") for one in case.party.drivers]
    return [Found(None, worst(lines) if lines else always(LACKS, "not seen"))]


def fresh(case: Case, on: dt.date, good: str, lacks: str) -> Timeline:
    """What was done on a day for a handover, for as many days as that serves it."""
    steps = [Step(EVER, LACKS, lacks), Step(on, GOOD, good, None, (on,))]
    until = case.party.serves_to(on, case.terms["within_days"])
    if until < FOREVER:
        steps.append(Step(until, LACKS, lacks))
    return timeline(steps)


KIND = Kind(
    "shown",
    {"within_days": Term("count", "less", required=True)},
    judge,
    ALWAYS | {"seen": "in date", "not seen": "no record"},
    lambda rule: Reads(party=("drivers", "out")),
    remedy=no_remedy,
    of_party=lambda rule: True,
    each_handover=True,
)
