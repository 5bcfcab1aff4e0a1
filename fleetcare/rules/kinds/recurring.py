"""Recurring: a check is good for so many months, then it is due again.

The rule is the worst of two timelines: its papers and its open fails. A fail stops hire from its
moment and takes nothing from an older paper. Early renewal keeps the anniversary: a check done
within the early window counts as done on the deadline it renews. A check before that window
restarts the clock, which is the stricter reading of GSIUR 36A(1) ("within the period of 2 months
ending with the deadline date") and of RTA 1988 s.48(2), which gives one month.

What a paper prints is kept; what counts is the earlier of that and the most the rule could give a
check of that day, so a slip of the pen never lengthens a term.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable
from functools import partial
from typing import Any, NamedTuple

from fleetcare.records.kinds import Check, Fit
from fleetcare.rules.kinds.case import (
    ALWAYS,
    DOUBT,
    GOOD,
    LACKS,
    LATE,
    NOT_APPLICABLE,
    Case,
    Found,
    Kind,
    Reads,
    Term,
    by_stay,
    doubted,
    filled_places,
    part_holds,
)
from fleetcare.rules.kinds.fails import fails
from fleetcare.rules.reads import checks_for
from fleetcare.rules.rule import Rule, Terms
from fleetcare.things import all_hold
from fleetcare.timeline import Step, Timeline, make_line, make_step, worst
from fleetcare.trade.marks import read_mark
from fleetcare.van.checks import looked_at
from fleetcare.van.places import Stay, in_place_by, key_of, perhaps_at
from fleetcare.van.van import Van
from fleetcare.windows import (
    EVER,
    FOREVER,
    add_months,
    early_from,
    eve_of_months,
    latest_deadline,
    month_end,
    next_day,
)

_ENDS = {"eve": eve_of_months, "anniversary": add_months, "month-end": month_end}


class Due(NamedTuple):
    """A last good day and the last hireable one."""

    last: dt.date
    stop: dt.date


class Paper(NamedTuple):
    """A check that counts: the day it counts as done on, its last day, its stop day."""

    check: Check
    counts_on: dt.date
    last: dt.date
    stop: dt.date


def judge(case: Case) -> list[Found]:
    """One timeline for the van, or one a place where the rule looks at a component."""
    if case.rule.over:
        return _over_components(case)
    counted = case.rule.starts == "registration"
    due = first_due(case, case.fit_out.facts.first_registered_on if counted else None)
    found = papers(case, case.passes, due)
    line = make_line((tuple(_standing(due, found)),))
    failing = not case.van.failing.isdisjoint(case.rule.checks)
    each = case.terms.get("each")
    if not failing and not each:
        return [Found(None, line)]
    lines = [line]
    if each and found:
        lines += _each(case, found, each)
    if failing:  # named first: a fail says more than that no paper stands
        lines = [*fails(case, case.passes, checks_for(case.van, case.rule)), *lines]
    return [Found(None, worst(lines) if len(lines) > 1 else lines[0])]


def first_due(case: Case, base: dt.date | None) -> Due | None:
    """When the first check is due, counted from `base`; None where a record must exist."""
    rule, terms = case.rule, case.terms
    if rule.starts == "must exist" or base is None:
        return None
    if rule.start_fact and case.fit_out.get(rule.start_fact) is None:
        return None
    months = terms.get("first_months", terms["months"])
    shorter = terms.get("first_shorter")
    if shorter and any(all_hold(ways, case.fit_out.get) for ways in shorter):
        months = terms["first_shorter_months"]
    end = _ENDS[terms["ends"]]
    last = end(base, months)
    grace = terms.get("stop_months")
    return Due(last, end(base, months + grace - terms["months"]) if grace else last)


make_paper: Callable[[tuple[Any, ...]], Paper] = partial(tuple.__new__, Paper)


class _Cycle(NamedTuple):
    """A version's terms made ready to be applied to thousands of checks."""

    months: int
    end: Callable[[dt.date, int], dt.date]
    renews: Callable[[dt.date, int], dt.date]
    early: int
    stop_months: int | None
    trust_print: bool


def _cycle(terms: Terms) -> _Cycle:
    ends = terms["ends"]
    return _Cycle(
        terms["months"],
        _ENDS[ends],
        month_end if ends == "month-end" else add_months,
        terms.get("early_months", 0),
        terms.get("stop_months"),
        bool(terms.get("trust_print")),
    )


def papers(case: Case, passes: Iterable[Check], due: Due | None) -> list[Paper]:
    """Each pass with what it counts to, in order; each renews what the ones before it left."""
    found: list[Paper] = []
    deadline, renewed = due.last if due else None, None
    terms, cycle = case.terms, case.terms.once(_cycle)
    for check in passes:
        own = case.terms_of(check)
        if own is not terms:
            terms, cycle = own, own.once(_cycle)
        paper = _paper(cycle, check, deadline, renewed)
        found.append(paper)
        _, counts_on, last, _ = paper
        renewed = counts_on if counts_on is not check.on else None
        if deadline is None or last > deadline:
            deadline = last
    return found


def _paper(cycle: _Cycle, check: Check, deadline: dt.date | None, renewed: dt.date | None) -> Paper:
    months, end, renews, early, stop_months, trust_print = cycle
    on = counts_on = check.on
    if early:
        if deadline is not None and on <= deadline and early_from(deadline, early) <= on:
            counts_on = deadline
        elif renewed is not None and on <= renewed and early_from(renewed, early) <= on:
            counts_on = renewed
    last = end(on, months) if counts_on is on else renews(counts_on, months)
    printed = check.last_day
    if printed is None:
        stop = end(counts_on, stop_months) if stop_months else last
        return make_paper((check, counts_on, last, stop))
    most = last
    if early and (deadline is None or trust_print):
        most = max(last, renews(latest_deadline(on, early), months))
    last = min(printed, most)
    stop = add_months(last, stop_months - months) if stop_months else last
    return Paper(check, counts_on, last, stop)


def _standing(due: Due | None, found: list[Paper]) -> list[Step]:
    """Steps from the start, then from each paper that lasts longer than what stood before."""
    if due is None:
        return _extended([_NO_RECORD], None, found)
    return _extended([Step(EVER, GOOD, "not yet due", None, (due.last,))], due, found)


_NO_RECORD = Step(EVER, LACKS, "no record")


def _extended(steps: list[Step], stands: Due | Paper | None, found: Iterable[Paper]) -> list[Step]:
    """Steps for each paper that lasts longer than what stands; what stands ends where it does
    unless the next paper came in time."""
    for paper in found:
        check, counts_on, last, _ = paper
        on = check.on
        if last < on or (stands is not None and last <= stands.last):
            continue
        if stands is not None and stands.last < on:
            _expire(steps, stands, on)
        if steps[-1][0] == on:
            steps.pop()
        steps.append(make_step((on, GOOD, "in date", check.number, (last, counts_on))))
        stands = paper
    if stands is not None and stands.last < FOREVER:
        _expire(steps, stands, FOREVER)
    return steps


def _expire(steps: list[Step], ends: Due | Paper, before: dt.date) -> None:
    """Late from the day after the last good day, lacking from the day after the stop day: as far
    as that is before something else begins."""
    last, stop = ends.last, ends.stop
    number, code = (None, "no record") if isinstance(ends, Due) else (ends.check.number, "overdue")
    over = next_day(last)
    if over >= before:
        return
    if stop > last:
        steps.append(make_step((over, LATE, "late", number, (last, stop))))
        over = next_day(stop)
    if over < before:
        steps.append(make_step((over, LACKS, code, number, (last,))))


def _each(case: Case, found: list[Paper], each: str) -> list[Timeline]:
    """Each component of a kind needs a check of its own: one fitted since is untested."""
    by_place = case.van.stays(each)
    first = found[0].check.on
    plain = not any(r.what == "result" for paper in found for r in paper.check.readings)
    if plain and all(stay.on < first for stays in by_place.values() for stay in stays):
        return []
    lines = []
    for place, stays in by_place.items():

        def steps_of(fit: Fit, start: dt.date, place: str = place) -> list[Step]:
            # Each runs by its own clock: a check of one appliance renews no other.
            there = [p.check for p in found if in_place_by(key_of(fit), key_of(p.check))]
            covering = [check for check in there if looked_at(check, place)]
            steps = [Step(start, LACKS, "untested", fit.number, (place,))]
            return _extended(steps, None, papers(case, covering, None))

        lines.append(by_stay(stays, False, steps_of))
    return lines


def _parts(van: Van, over: str, listed: list[Check]) -> dict[int, int | None]:
    """The component each check was done to; where there only ever was one, that one."""
    stays = van.stays(over)
    if len(stays) == 1:
        ((place, held),) = stays.items()
        if len(held) == 1 and all(c.place in (None, place) for c in listed):
            key, part = held[0].key, held[0].part
            return {c.number: part if in_place_by(key, key_of(c)) else None for c in listed}
    return {c.number: van.part_at(over, c.place, key_of(c)) for c in listed}


def _over_components(case: Case) -> list[Found]:
    rule, van, passes = case.rule, case.van, case.passes
    demanded = rule.starts != "marking"  # else the rule of its age says an empty place is empty
    listed = checks_for(van, rule)
    failing = not van.failing.isdisjoint(rule.checks)
    part_of = _parts(van, rule.over or "", listed)

    def steps_of(fit: Fit, start: dt.date) -> list[Step]:
        part = fit.part or fit.number
        applies = part_holds(case.terms_of(fit).get("only", ()), fit)
        if applies is False:
            return [Step(start, GOOD, "not applicable", fit.number)]
        base = None
        mark = fit.commissioned or fit.made
        if not demanded and mark:
            base = read_mark(mark, case.week_code, fit.on)
        due = first_due(case, base)
        ours = [c for c in passes if part_of[c.number] == part]
        steps = _standing(due, papers(case, ours, due))
        if due is None and not demanded:
            steps[0] = Step(EVER, DOUBT, "not said", fit.number, ("made",))
        line = make_line((tuple(steps),))
        if failing:
            broken = [
                c
                for c in listed
                if part_of[c.number] == part
                or part in perhaps_at(van.stays(rule.over or ""), c.place, key_of(c))
            ]
            line = worst([*fails(case, ours, broken), line])
        if applies is None:
            line = doubted(line, ("variety",))
        first = line.at(start)
        return [Step(start, *first[1:]), *(s for s in line.steps if s[0] > start)]

    def place_of(stays: list[Stay], wanted: bool) -> Timeline:
        return by_stay(stays, wanted and demanded, steps_of)

    found = [Found(name, place_of(stays, wanted)) for name, wanted, stays in filled_places(case)]
    return found or [Found(None, NOT_APPLICABLE)]


def _base(rule: Rule) -> tuple[str, ...]:
    """The facts that say when the first check is due, where it counts from registration."""
    if rule.starts != "registration":
        return ()
    ways = [ways for v in rule.versions for ways in v.terms.get("first_shorter", ())]
    return ("first_registered_on", *(c.name for way in ways for c in way))


def reads(rule: Rule) -> Reads:
    """Its checks; the component it looks at, or each of those a check must name."""
    over = (rule.over,) if rule.over else ()
    facts = dict.fromkeys((*_base(rule), *((rule.start_fact,) if rule.start_fact else ())))
    return Reads(rule.checks, over, facts=tuple(facts))


KIND = Kind(
    "recurring",
    {
        "months": Term("months", "less", required=True),
        "ends": Term("word", "same", required=True, words=("eve", "anniversary", "month-end")),
        "early_months": Term("months", "less", grace=True),
        "stop_months": Term("months", "less", grace=True),
        "first_months": Term("months", "less", grace=True),
        "first_shorter_months": Term("months", "less"),
        "first_shorter": Term("ways", "same"),
        "trust_print": Term("flag", "off"),
        "each": Term("component", "same"),
        "only": Term("conditions", "same"),
    },
    judge,
    ALWAYS
    | {
        "in date": "in date",
        "not yet due": "in date",
        "late": "overdue",
        "overdue": "overdue",
        "no record": "no record",
        "untested": "no record",
        "failed": "failed",
        "not said": "cannot say",
    },
    reads,
    starts=("must exist", "registration", "marking"),
    broken=frozenset({"failed"}),
    rests_on=_base,
    renews=True,
)
