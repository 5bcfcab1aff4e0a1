"""Wear: a figure that goes one way, like tread by distance or damp by time, and how soon it may
pass a limit by what was read of it before.

Three readings at least, far enough apart, tell a rate; until then it is said that they are too few.
From them on the rule holds as long as the figure can't have passed its limit by the fastest that
was seen and a margin (`trade/forecast.py`); from then on nobody can say until it is read again. A
reading that goes against the others is told: the gauge, the place or the thing is another.
"""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from math import floor
from typing import NamedTuple

from fleetcare.rules.kinds.case import (
    ALWAYS,
    DOUBT,
    GOOD,
    NOT_APPLICABLE,
    Case,
    Found,
    Kind,
    Reads,
    Term,
    filled_places,
)
from fleetcare.rules.kinds.driven import Driven, driven, sure_day
from fleetcare.rules.limits import Limit, amount
from fleetcare.rules.rule import Rule
from fleetcare.timeline import Step, Timeline, timeline
from fleetcare.trade.forecast import Point, Trend, enough, rate
from fleetcare.trade.measures import read_measure
from fleetcare.van.checks import Taken
from fleetcare.windows import EVER, FOREVER, next_day, nights_after


class Worn(NamedTuple):
    """One reading as it counts: its day, how far the thing was used by then, how worn it was."""

    on: dt.date
    used: float  # days, or km
    worn: float  # rises with wear, whichever way the figure goes
    figure: str
    record: int


def judge(case: Case) -> list[Found]:
    """One timeline a place that was read; of a component, of what is fitted there now."""
    taken = case.van.taken(case.rule.over, (_limit(case).reading,))
    taken = [one for one in taken if not one.perhaps]
    if not taken:
        return [Found(None, NOT_APPLICABLE)]
    known = driven(case) if _by_distance(case) else None
    if case.rule.over is None:
        places = dict.fromkeys(one.place for one in taken)
        return [Found(p, _line(case, [t for t in taken if t.place == p], known)) for p in places]
    found = []
    for place, _, stays in filled_places(case):
        part = stays[-1].part if stays else None
        ours = [one for one in taken if one.part == part and part is not None]
        if ours:
            found.append(Found(place, _line(case, ours, known)))
    return found or [Found(None, NOT_APPLICABLE)]


def _by_distance(case: Case) -> bool:
    return "most_a_day" in case.terms


def _line(case: Case, taken: list[Taken], known: Driven | None) -> Timeline:
    """From the last reading on: in date as long as it is sure, then nobody can say."""
    read = _readings(case, taken, known)
    steps = [Step(EVER, GOOD, "not applicable")]
    if not read:
        return timeline(steps)
    last = read[-1]
    points = [(one.used, one.worn) for one in read]
    if not enough(points):
        steps.append(Step(last.on, GOOD, "too few readings", last.record, (last.figure, len(read))))
        return timeline(steps)
    sure = _sure_to(case, points, last, known)
    against = _against(case, points)
    detail = (sure, last.figure, last.on, len(read), against)
    code = "against its trend" if against else "in date"
    if sure >= last.on:
        steps.append(Step(last.on, GOOD, code, last.record, detail))
    if sure < FOREVER:
        begins = max(next_day(sure), last.on)
        steps.append(Step(begins, DOUBT, "may be worn", last.record, detail))
    return timeline(steps)


def _readings(case: Case, taken: list[Taken], known: Driven | None) -> list[Worn]:
    """One reading a day, the most worn; of those by distance the ones whose distance is known."""
    limit = _limit(case)
    found: dict[dt.date, Worn] = {}
    for one in taken:
        check, figure = one.check, one.readings[limit.reading].figure
        used = float(check.on.toordinal())
        if _by_distance(case):
            at = _km(check.odometer, check.on, known)
            if at is None:
                continue
            used = float(at)
        worn = _as_worn(limit, figure)
        new = Worn(check.on, used, worn, figure, check.number)
        before = found.get(check.on)
        found[check.on] = new if before is None or new.worn >= before.worn else before
    return [found[day] for day in sorted(found)]


def _km(odometer: str | None, on: dt.date, known: Driven | None) -> Decimal | None:
    """How far the van had gone at a reading; None where nobody knows."""
    if known is None or known.turned:
        return None
    return read_measure(odometer, "distance").value if odometer else known.at(on)


def _limit(case: Case) -> Limit:
    """The one limit of a version: no less, or no more than a figure."""
    found: Limit = case.terms["limits"][0]
    return found


def _as_worn(limit: Limit, figure: str) -> float:
    """A figure as wear counts: it rises with wear, whichever way the figure goes."""
    value = float(amount(figure, limit.dimension))
    return -value if limit.at_least else value


def _sure_to(case: Case, points: list[Point], last: Worn, known: Driven | None) -> dt.date:
    """The last day on which the limit can't be passed yet. A component does not mend: a reading of
    it that shows less wear is a gauge held otherwise, and the most worn that was read counts."""
    limit = _limit(case)
    end = _as_worn(limit, str(limit.at_least or limit.at_most))
    more = end - (max(worn for _, worn in points) if case.rule.over else last.worn)
    if more <= 0:
        return nights_after(last.on, -1)
    soonest = Trend(points).soonest(more)
    if soonest is None:
        return FOREVER
    if known is not None:
        return known.sure_after(last.on, Decimal(floor(soonest)))
    return sure_day(last.on, soonest)


def _against(case: Case, points: list[Point]) -> str:
    """How the last reading goes against the others: "better" or "worse" than their rate gives, by
    more than the version allows; nothing where it does not, or they are too few to tell."""
    earlier = points[:-1]
    if not enough(earlier):
        return ""
    usual, (used, worn) = rate(earlier), earlier[-1]
    further = points[-1][0] - used
    jump = float(case.terms["jump"])
    if points[-1][1] < worn + min(usual.low, 0.0) * further - jump:
        return "better"
    return "worse" if points[-1][1] > worn + max(usual.high, 0.0) * further + jump else ""


def _reads(rule: Rule) -> Reads:
    terms = [version.terms for version in rule.versions if not version.repealed]
    by_distance = any("most_a_day" in one for one in terms)
    return Reads(
        readings=tuple(dict.fromkeys(one["limits"][0].reading for one in terms)),
        others=("odometers", "trips") if by_distance else (),
    )


KIND = Kind(
    "wear",
    {
        "limits": Term("limits", "limits", required=True),
        "jump": Term("figure", "free", required=True),  # in the unit of the limit, mm for a length
        "hire_day_distance": Term("distance", "more"),
        "most_a_day": Term("distance", "more"),  # said where it wears by distance
    },
    judge,
    ALWAYS
    | {
        "in date": "in date",
        "too few readings": "in date",
        "against its trend": "in date",
        "may be worn": "cannot say",
    },
    _reads,
    starts=("reading",),
    by_use=True,
)
