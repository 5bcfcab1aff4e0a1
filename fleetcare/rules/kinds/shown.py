"""Shown: the licence of whoever will drive, seen for this hire.

Judged only for a party and asked at each handover; what was seen longer ago than its days is asked
again. That a licence was seen says nothing of what it covers: that is the kind `licence`.
"""

from __future__ import annotations

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
from fleetcare.timeline import Step, always, timeline, worst
from fleetcare.windows import EVER, after_days

_NOT_SEEN = always(LACKS, "not seen")


def judge(case: Case) -> list[Found]:
    """One timeline: from the day every driver's was seen, for as many days as that serves."""
    lines = [
        timeline(
            [
                Step(EVER, LACKS, "not seen"),
                Step(one.on, GOOD, "seen", None, (one.on,)),
                Step(after_days(one.on, case.terms["within_days"]), LACKS, "not seen"),
            ]
        )
        for one in case.party.drivers
    ]
    return [Found(None, worst(lines) if lines else _NOT_SEEN)]


KIND = Kind(
    "shown",
    {"within_days": Term("count", "less", required=True)},
    judge,
    ALWAYS | {"seen": "in date", "not seen": "no record"},
    lambda rule: Reads(party=("drivers",)),
    remedy=no_remedy,
    of_party=lambda rule: True,
    each_handover=True,
)
