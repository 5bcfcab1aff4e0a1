"""Holds: a van taken off hire by a person, until its last day or until somebody lifts it."""

from __future__ import annotations

from fleetcare.rules.kinds.case import ALWAYS, GOOD, LACKS, NOT_APPLICABLE, Case, Found, Kind, Reads
from fleetcare.rules.remedies import no_remedy
from fleetcare.timeline import Step, timeline
from fleetcare.van.trips import held_days
from fleetcare.windows import EVER, FOREVER


def judge(case: Case) -> list[Found]:
    """One timeline a hold; its place is the number of its record."""
    if not case.van.facts.holds:
        return _NONE
    found = []
    for hold in case.van.facts.holds:
        from_on, until = held_days(case.van.facts, hold)
        steps = [Step(EVER, GOOD, "not applicable")]
        if until > from_on:
            steps.append(Step(from_on, LACKS, "held", hold.number))
            if until < FOREVER:
                steps.append(Step(until, GOOD, "not applicable", hold.number))
        found.append(Found(f"#{hold.number}", timeline(steps)))
    return found


_NONE = [Found(None, NOT_APPLICABLE)]


KIND = Kind(
    "hold",
    {},
    judge,
    ALWAYS | {"held": "failed"},
    lambda rule: Reads(others=("holds",)),
    remedy=no_remedy,
    never_waived="a hold lifted",
)
