"""What is said of a forecast, of distance and of wear: what was read, and until when it is sure."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

from fleetcare.rules.outcome import Judgement, Outcome
from fleetcare.timeline import Step
from fleetcare.trade.measures import read_measure
from fleetcare.windows import FOREVER
from fleetcare.words.days import day_words

_KM_A_MILE = read_measure("1mi", "distance").value


def _figure(km: Decimal, typed: str) -> str:
    """A figure in the unit the odometer was read in, the other one never mixed in."""
    miles = typed.strip().lower().endswith("mi")
    value = km / _KM_A_MILE if miles else km
    return f"{round(value):,} {'mi' if miles else 'km'}"


def _due(step: Step) -> str:
    _, limit, typed, read_on, _, _ = step.detail
    done = f"done as #{step.record}, due" if step.record else "first due"
    return f"{done} at {_figure(limit, typed)}; read {typed} {day_words(read_on)}"


def _in_date(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    last, _, _, _, usual_on, told = step.detail
    words = _due(step)
    if last == FOREVER:
        return f"{words}; nothing moves the van"
    sure = f"sure to {day_words(last)}"
    if not told:
        return f"{words}; {sure}: the readings are too few to tell more"
    return f"{words}, about {day_words(usual_on)} as it is driven, {sure}" if usual_on else words


def _wanted(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    last, *_ = step.detail
    how = f"read it and write it down: fleetcare odometer {judgement.van} READING"
    return f"{_due(step)}; from the day after {day_words(last)} it may be past that: {how}"


def _worn(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    last, figure, read_on, many, against = step.detail
    words = f"read {figure} {day_words(read_on)} (#{step.record}), {many} readings"
    if last == FOREVER:
        words += "; nothing read of it rises that way"
    else:
        words += f"; sure to {day_words(last)}"
    if not against:
        return words
    return f"{words}. It reads {against} than the others lead to expect: read it again"


def _may_be_worn(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    limit = outcome.rule.version_at(step.start).terms["limits"][0]
    bound = f"under {limit.at_least}" if limit.at_least else f"over {limit.at_most}"
    words = _worn(judgement, outcome, step)
    return f"{words}; from the day after it may be {bound}: read it again"


DRIVEN: dict[tuple[str, str], Callable[[Judgement, Outcome, Step], str]] = {
    ("distance", "in date"): _in_date,
    ("distance", "may be late"): _wanted,
    ("distance", "not read"): _wanted,
    ("distance", "late"): lambda j, o, s: _due(s),
    ("distance", "overdue"): lambda j, o, s: _due(s),
    ("distance", "too long ago"): lambda j, o, s: (
        f"done as #{s.record}, to {day_words(s.detail[0])} at the latest"
    ),
    ("distance", "no reading"): lambda j, o, s: (
        f"the odometer was never read: write it down with: fleetcare odometer {j.van} READING"
    ),
    ("distance", "odometer not said"): lambda j, o, s: (
        f"what the odometer showed at #{s.record} is not known: correct it with --odometer"
    ),
    ("wear", "in date"): _worn,
    ("wear", "against its trend"): _worn,
    ("wear", "may be worn"): _may_be_worn,
    ("wear", "too few readings"): lambda j, o, s: (
        f"read {s.detail[0]} (#{s.record}); {s.detail[1]} of three readings: too few to tell how "
        "it goes"
    ),
}
