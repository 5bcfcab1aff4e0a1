"""Aged: a component is good until it is too old, or until the day marked on it.

"Younger than five years" made in June 2020 ends on 31 May 2025: the eve of the fifth birthday of
the earliest day the mark can mean. Where the maker marks a last day, the terms say whether that
mark wins or the earlier of mark and age does. With no life and no mark the rule asks only that
the place is filled.
"""

from __future__ import annotations

import datetime as dt
from functools import partial

from fleetcare.records.kinds import Fit
from fleetcare.rules.kinds.case import (
    ALWAYS,
    DOUBT,
    GOOD,
    LACKS,
    NOT_APPLICABLE,
    Case,
    Found,
    Kind,
    Reads,
    Term,
    by_stay,
    filled_places,
    part_holds,
)
from fleetcare.rules.rule import Terms
from fleetcare.things import holds
from fleetcare.timeline import Step, always
from fleetcare.trade.marks import read_mark
from fleetcare.windows import EVER, FOREVER, eve_of_months, next_day


def judge(case: Case) -> list[Found]:
    """One timeline a place."""
    demanded = not case.terms.get("needs_mark")
    steps_of = partial(_component, case)
    found = [
        Found(place, by_stay(stays, wanted and demanded, steps_of))
        for place, wanted, stays in filled_places(case)
    ]
    if case.unsaid_places and demanded:
        found.append(Found(None, always(DOUBT, "unsaid", None, case.unsaid_places)))
    return found or [Found(None, NOT_APPLICABLE)]


def _component(case: Case, fit: Fit, start: dt.date) -> list[Step]:
    terms = case.terms_of(fit)
    applies = part_holds(terms.get("only", ()), fit)
    if applies is False:
        return [Step(start, GOOD, "not applicable", fit.number)]
    does = part_holds(terms.get("does", ()), fit)
    if does is False or ("unfit" in terms and part_holds(terms["unfit"], fit)):
        return [Step(start, LACKS, "unfit", fit.number, (fit.variety,))]
    steps = _until_too_old(case, fit, start)
    if applies is None:  # a mark nobody typed decides whether the rule applies at all
        return [s if s.verdict is GOOD else _unsaid(s) for s in steps]
    if does is None:  # or whether one of this sort does
        return [_unsaid(s) if s.verdict is GOOD else s for s in steps]
    return steps


def _unsaid(step: Step) -> Step:
    return step._replace(verdict=DOUBT, code="not said", detail=("variety",))


def _until_too_old(case: Case, fit: Fit, start: dt.date) -> list[Step]:
    terms = case.terms_of(fit)
    last, why = _last_day(case, fit, terms.get("months"))
    if last is None:
        return [Step(start, DOUBT, why, fit.number, ("made",))]
    steps = []
    warned = _warned_from(case, fit)
    if start <= last:
        if start < warned:
            steps.append(Step(start, GOOD, "in date", fit.number))
        if warned <= last and warned < FOREVER:
            steps.append(Step(max(start, warned), GOOD, "ageing", fit.number))
        start = next_day(last)
    if last < FOREVER:
        steps.append(Step(start, LACKS, why, fit.number))
    return steps


def _last_day(case: Case, fit: Fit, months: int | None) -> tuple[dt.date | None, str]:
    """The last good day of a component and the code for what ends it; None with why not known."""
    terms = case.terms_of(fit)
    if "shorter_months" in terms and _reached(terms, fit):
        months = terms["shorter_months"]
    if months is None and "does" in terms:
        return FOREVER, "in date"  # of what sort it is, whatever day is marked on it
    marked = read_mark(fit.replace_by, False, fit.on) if fit.replace_by else None
    if fit.replace_by and marked is None:
        return None, "illegible"
    if marked and (terms.get("mark_wins") or months is None):
        return marked, "past its mark"
    if months is None:
        return (None, "not said") if terms.get("needs_mark") else (FOREVER, "in date")
    mark = fit.commissioned or fit.made  # only extinguishers have a day of commissioning
    made = read_mark(mark, case.week_code, fit.on) if mark else None
    if made is None:
        return None, "illegible" if mark else "not said"
    old = eve_of_months(made, months)
    if marked and marked < old:
        return marked, "past its mark"
    return old, "over age"


def _reached(terms: Terms, fit: Fit) -> bool:
    """Whether the shorter terms are for a component; where that is not known, they are."""
    return False not in [holds(c, getattr(fit, c.name)) for c in terms["shorter"]]


def _warned_from(case: Case, fit: Fit) -> dt.date:
    terms = case.terms_of(fit)
    months: int | None = terms.get("warn_months")
    if "shorter_warn_months" in terms and _reached(terms, fit):
        months = terms["shorter_warn_months"]
    if months is None or not fit.made:
        return FOREVER
    made = read_mark(fit.made, case.week_code, fit.on)
    return next_day(eve_of_months(made, months)) if made else EVER


KIND = Kind(
    "aged",
    {
        "months": Term("months", "less"),
        "warn_months": Term("months", "free"),
        "shorter_months": Term("months", "less"),
        "shorter_warn_months": Term("months", "free"),
        "shorter": Term("conditions", "same"),
        "mark_wins": Term("flag", "off"),
        "needs_mark": Term("flag", "on"),
        "only": Term("conditions", "same"),
        "unfit": Term("conditions", "same"),  # one of this sort does not do, however new
        "does": Term("conditions", "same"),  # only one of this sort does; not said: nobody can say
    },
    judge,
    ALWAYS
    | {
        "in date": "in date",
        "ageing": "in date",
        "over age": "overdue",
        "past its mark": "overdue",
        "unfit": "failed",
        "no record": "no record",
        "not said": "cannot say",
        "illegible": "cannot say",
    },
    lambda rule: Reads(components=(rule.over or "",)),
    starts=("marking",),
)
