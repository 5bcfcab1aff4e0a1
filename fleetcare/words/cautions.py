"""What somebody must hear although it stops nothing: the clerk of a van, and a hirer who has it."""

from __future__ import annotations

from fleetcare.rules.outcome import Judgement, Outcome
from fleetcare.rules.rule import Rule
from fleetcare.timeline import Step, Verdict
from fleetcare.words.reasons import reason, titled


def tell_hirer(outcome: Outcome, step: Step) -> str:
    """What to tell whoever has the van: what the rule says, where it is broken; where nobody knows,
    to look, for nothing is known to be wrong."""
    if step.verdict is not Verdict.DOUBT:
        return outcome.rule.if_out
    return f"Not known: {titled(outcome)}. Ask them to look, and to tell us what it says."


_CAUTIONED = {
    "ageing": "ageing",
    "noted": "noted",
    "to recheck": "to recheck",
    "late": "overdue",
    "done standing": "done once",
    "recheck late": "overdue",
    "may be late": "may be overdue",
    "against its trend": "against its trend",
    "recall open": "to be done",
    "paper awaited": "awaited",
}


def caution_of(judgement: Judgement, outcome: Outcome, step: Step) -> str | None:
    """What a hirer's clerk must hear although the step stops nothing; None when nothing."""
    state = _CAUTIONED.get(step.code)
    if outcome.rule.blocks == "no" and step.verdict > Verdict.GOOD:
        state = outcome.standing(step)
    if state:
        return f"{titled(outcome)}: {state}, {reason(judgement, outcome, step)}"
    if step.code in outcome.kind.shown:
        return f"{titled(outcome)}: {reason(judgement, outcome, step)}. {outcome.rule.caution}"
    return None


def ageing_at(rule: Rule, places: list[str]) -> str:
    """The same of a rule that ages at several places."""
    return f"{rule.title} {', '.join(places)}: ageing. {rule.caution}"
