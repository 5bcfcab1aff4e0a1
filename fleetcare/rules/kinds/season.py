"""Season: on the days of a season every tyre on the road is of a type that the country asks for.

Judged only for a party that goes there. A type nobody said is doubt in the season, and nothing
outside it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from fleetcare.records.kinds import Fit
from fleetcare.rules.kinds.case import (
    ALWAYS,
    DOUBT,
    GOOD,
    LACKS,
    Case,
    Found,
    Kind,
    Reads,
    Term,
    by_stay,
    filled_places,
)
from fleetcare.rules.remedies import Remedy, named_remedy
from fleetcare.rules.rule import Rule
from fleetcare.timeline import Step
from fleetcare.windows import next_day

_LAST_YEAR = 2200  # no hire is typed for a day after it


def judge(case: Case) -> list[Found]:
    """One timeline a place."""
    spared = case.terms.get("except_places", ())

    def steps_of(fit: Fit, start: dt.date) -> list[Step]:
        verdict, code = GOOD, "winter tyre"
        if fit.variety is None:
            verdict, code = DOUBT, "not said"
        elif fit.variety not in case.terms["types"]:
            verdict, code = LACKS, "summer tyre"
        steps = [Step(start, GOOD, "not applicable", fit.number)]
        for first, after in _seasons(case, start.year):
            if after > start:
                detail = ("variety",) if code == "not said" else (fit.variety,)
                steps.append(Step(max(first, start), verdict, code, fit.number, detail))
                steps.append(Step(after, GOOD, "not applicable", fit.number))
        return steps

    return [
        Found(place, by_stay(stays, wanted, steps_of))
        for place, wanted, stays in filled_places(case)
        if place not in spared
    ]


def _seasons(case: Case, year: int) -> Iterator[tuple[dt.date, dt.date]]:
    """Each season from the one that may hold the first day of a year: first day, day after it."""
    first, last = case.terms["first"], case.terms["last"]
    over_new_year = 1 if last < first else 0
    for one in range(year - 1, _LAST_YEAR):
        start = dt.date.fromisoformat(f"{one:04}-{first}")
        yield start, next_day(dt.date.fromisoformat(f"{one + over_new_year:04}-{last}"))


def remedy(rule: Rule, place: str | None, step: Step) -> Remedy | None:
    """A tyre of the first type that is asked for."""
    found = named_remedy(rule, place, step)
    return found._replace(variety=rule.versions[-1].terms["types"][0]) if found else None


KIND = Kind(
    "season",
    {
        "first": Term("month-day", "same", required=True),
        "last": Term("month-day", "same", required=True),
        "types": Term("texts", "same", required=True),
        "except_places": Term("texts", "same"),
    },
    judge,
    ALWAYS
    | {
        "winter tyre": "in date",
        "summer tyre": "failed",
        "no record": "no record",
        "not said": "cannot say",
    },
    lambda rule: Reads(components=(rule.over or "",)),
    starts=("marking",),
    remedy=remedy,
)
