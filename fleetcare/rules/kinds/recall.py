"""Recalls: one timeline a recall. It stops hire at once, or from the day after its last day, until
the dealer's paper says that the work was done."""

from __future__ import annotations

from fleetcare.rules.kinds.case import ALWAYS, GOOD, LACKS, NOT_APPLICABLE, Case, Found, Kind, Reads
from fleetcare.rules.remedies import Remedy
from fleetcare.rules.rule import Rule
from fleetcare.timeline import Step, timeline
from fleetcare.windows import EVER, FOREVER, next_day


def judge(case: Case) -> list[Found]:
    """One timeline a recall; its place is the number of its record."""
    facts = case.van.facts
    found = []
    for recall in facts.recalls:
        done = min((d.on for d in facts.recalls_done if d.recall == recall.number), default=FOREVER)
        steps = [Step(EVER, GOOD, "not applicable")]
        if recall.stop_use or recall.do_by is None:
            steps.append(Step(recall.on, LACKS, "recalled", recall.number))
        else:
            detail = (recall.do_by,)
            steps.append(Step(recall.on, GOOD, "recall open", recall.number, detail))
            over = max(recall.on, next_day(recall.do_by))
            steps.append(Step(over, LACKS, "recall overdue", recall.number, detail))
        steps = [step for step in steps if step.start < max(done, recall.on) or step.start == EVER]
        if done < FOREVER:
            steps.append(Step(max(done, recall.on), GOOD, "not applicable", recall.number))
        found.append(Found(f"#{recall.number}", timeline(steps)))
    return found or [Found(None, NOT_APPLICABLE)]


def remedy(rule: Rule, place: str | None, step: Step) -> Remedy | None:
    """The dealer's paper."""
    return Remedy("recall", str(step.record), place, rule, (step.record,))


KIND = Kind(
    "recall",
    {},
    judge,
    ALWAYS | {"recalled": "failed", "recall open": "in date", "recall overdue": "overdue"},
    lambda rule: Reads(others=("recalls",)),
    remedy=remedy,
    never_waived="a recall closed by the dealer's paper",
)
