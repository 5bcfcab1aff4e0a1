"""What is done again once it has settled: wheel nuts are set when the wheel goes on, and set again
when the van has stood or was driven for a while. One record never stands for both.

The second says how long the van stood or what the odometer showed, the first having said it too;
where neither is said nobody can say whether the nuts had settled.
"""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from typing import NamedTuple

from fleetcare.records.kinds import Check
from fleetcare.rules.kinds.case import DOUBT, GOOD, LACKS, NOT_APPLICABLE, Case
from fleetcare.rules.limits import amount
from fleetcare.rules.reads import counted
from fleetcare.rules.rule import Rule, Terms
from fleetcare.timeline import Step, Timeline, sampled
from fleetcare.trade.measures import read_measure
from fleetcare.van.checks import failed
from fleetcare.van.places import Key, in_place_by, key_of
from fleetcare.van.van import SUPPOSED
from fleetcare.windows import FOREVER


class Asks(NamedTuple):
    """One thing that asks for a check: when, its record, and a word for it."""

    key: Key
    record: int
    what: str


class _Met(NamedTuple):
    """How a second record meets a first: whether it does, and whether the van was driven."""

    check: Check
    met: bool | None
    driven: bool


def again(case: Case, asked: list[Asks]) -> Timeline:
    """Not met from an event until a second record that stands after a first, and that after it."""
    first = case.rule._replace(checks=(case.terms["follows"],))
    firsts, seconds = counted(case.van, first).passes, case.passes
    # Found loose, they are set and set again from there.
    for what in (case.terms["follows"], *case.rule.checks):
        loose = [c for c in case.van.checks.get(what, ()) if failed(c) and c.on >= case.adopted]
        asked = [*asked, *(Asks(key_of(c), c.number, what) for c in loose)]
    asked = sorted(asked)
    if not asked:
        return NOT_APPLICABLE

    def look(day: dt.date) -> Step:
        so_far = [one for one in asked if one.key[0] <= day]
        if not so_far:
            return Step(day, GOOD, "not applicable")
        found = [(one, _best(case.terms, one, firsts, seconds, day)) for one in so_far]
        left = [one for one, best in found if best is None or best.met is False]
        if left:
            last = max(left, key=lambda one: one.record)
            return Step(day, LACKS, "not done", last.record, (last.what, last.key[0]))
        one, best = max(found, key=lambda pair: pair[1] is not None and pair[1].met is None)
        assert best is not None
        if best.met is None:
            return Step(day, DOUBT, "not said", best.check.number, (one.what, one.key[0]))
        one, best = found[-1]
        assert best is not None
        code = "done" if best.driven or day >= _back_after(case, best.check) else "done standing"
        return Step(day, GOOD, code, best.check.number, (one.what, one.key[0]))

    days = [one.key[0] for one in asked] + [c.on for c in (*firsts, *seconds)]
    days += [_back_after(case, c) for c in seconds]
    return sampled([day for day in days if day < FOREVER], look)


def _best(
    terms: Terms, asks: Asks, firsts: list[Check], seconds: list[Check], day: dt.date
) -> _Met | None:
    """The best that any second record by a day says; None where there is none after a first."""
    found = [
        _met(terms, first, second)
        for first in firsts
        if first.on <= day and in_place_by(asks.key, key_of(first))
        for second in seconds
        if second.on <= day and in_place_by(key_of(first), key_of(second))
    ]
    rank = {True: 2, None: 1, False: 0}
    return max(found, key=lambda one: (rank[one.met], one.driven), default=None)


def _met(terms: Terms, first: Check, second: Check) -> _Met:
    said = []
    for limit in terms.get("settled", ()):
        typed = [r.figure for r in second.readings if r.what == limit.reading]
        read = [amount(figure, limit.dimension) for figure in typed]
        least = amount(limit.at_least or "0", limit.dimension)
        if read:  # what the clock says goes before what was typed
            said.append(min([*read, *_between(first, second)]) >= least)
    driven = False
    if first.odometer and second.odometer:
        driven = _km(second) - _km(first) >= terms["driven_km"]
        said.append(driven)
    return _Met(second, any(said) if said else None, driven)


def _between(first: Check, second: Check) -> list[Decimal]:
    """The minutes between two records of one day, where both have their time."""
    if first.on != second.on or not (first.at and second.at) or second.number >= SUPPOSED:
        return []
    return [Decimal(_minutes(second.at) - _minutes(first.at))]


def _minutes(at: str) -> int:
    hours, minutes = at.split(":")
    return int(hours) * 60 + int(minutes)


def _km(check: Check) -> Decimal:
    return read_measure(check.odometer or "0km", "distance").value


def _back_after(case: Case, check: Check) -> dt.date:
    """The first day after a check on which the van came back: it was driven since."""
    return min((b.on for b in case.van.facts.backs if b.on > check.on), default=FOREVER)


def figures(rule: Rule, day: dt.date) -> dict[str, str]:
    """What a check supposed for it would read: stood for just long enough."""
    settled = rule.version_at(day).terms.get("settled", ())
    return {limit.reading: limit.at_least for limit in settled if limit.at_least}
