"""Season: on the days of a season every tyre on the road is of a type that the country asks for,
and has the tread it asks for where it says how much.

Judged only for a party that goes there. A type nobody said, or a tread nobody read, is doubt in the
season, and nothing outside it.
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
from fleetcare.rules.limits import amount
from fleetcare.rules.remedies import Remedy, named_remedy
from fleetcare.rules.rule import Rule
from fleetcare.timeline import Step
from fleetcare.windows import EVER, next_day

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
        worn = _treads(case, fit) if verdict is GOOD and "least_tread" in case.terms else None
        for first, after in _seasons(case, start.year):
            if after > start:
                begins = max(first, start)
                detail = ("variety",) if code == "not said" else (fit.variety,)
                whole = [Step(begins, verdict, code, fit.number, detail)]
                steps += _worn(worn, begins, after) if worn else whole
                steps.append(Step(after, GOOD, "not applicable", fit.number))
        return steps

    return [
        Found(place, by_stay(stays, wanted, steps_of))
        for place, wanted, stays in filled_places(case)
        if place not in spared
    ]


def _treads(case: Case, fit: Fit) -> list[Step]:
    """From each reading of a tyre on: whether its tread will do; before the first, doubt. A bad
    reading counts whoever took it, a good one only if it was surely of this tyre and somebody's."""
    least = amount(case.terms["least_tread"], "length")
    steps = [Step(EVER, DOUBT, "not said", fit.number, ("tread",))]
    for one in case.van.taken(case.rule.over, ("tread",)):
        if one.part != (fit.part or fit.number):
            continue
        figure, check = one.readings["tread"].figure, one.check
        low = amount(figure, "length") < least
        if low or ((check.by or check.inspector) and not one.perhaps):
            verdict, code = (LACKS, "tread too low") if low else (GOOD, "winter tyre")
            detail = (figure, case.terms["least_tread"]) if low else (fit.variety,)
            steps.append(Step(check.on, verdict, code, check.number, detail))
    return steps


def _worn(steps: list[Step], first: dt.date, after: dt.date) -> list[Step]:
    """The steps of a tyre's tread on the days of one season."""
    stands = [step for step in steps if step.start <= first][-1]
    later = [step for step in steps if first < step.start < after]
    return [stands._replace(start=first), *later]


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
        "least_tread": Term("measure", "more"),
    },
    judge,
    ALWAYS
    | {
        "winter tyre": "in date",
        "summer tyre": "failed",
        "tread too low": "failed",
        "no record": "no record",
        "not said": "cannot say",
    },
    lambda rule: Reads(
        components=(rule.over or "",),
        readings=("tread",) if any("least_tread" in v.terms for v in rule.versions) else (),
    ),
    starts=("marking",),
    remedy=remedy,
)
