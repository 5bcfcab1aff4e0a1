"""Open fails: from a fail until a full pass comes, or its items are signed off one by one."""

from __future__ import annotations

import datetime as dt

from fleetcare.records.kinds import Check, SignOff
from fleetcare.rules.kinds.case import GOOD, LACKS, Case
from fleetcare.rules.reads import not_competent
from fleetcare.timeline import Step, Timeline, sampled
from fleetcare.van.checks import failed, stands_after
from fleetcare.van.places import filled_at, key_of
from fleetcare.van.van import SUPPOSED, Van
from fleetcare.windows import FOREVER


def fails(case: Case, passes: list[Check], listed: list[Check]) -> list[Timeline]:
    """At most one timeline: the days on which a fail of `listed` stands open.

    A fail counts whoever made it; only what closes it must be by somebody competent.
    """
    spans = []
    for check in listed:
        if failed(check):
            until = _closed_on(case, passes, check)
            if until > check.on:
                spans.append((check.on, until, check.number))
    if not spans:
        return []

    def look(day: dt.date) -> Step:
        for start, until, number in spans:
            if start <= day < until:
                return Step(day, LACKS, "failed", number)
        return Step(day, GOOD, "not applicable")

    days = [day for start, until, _ in spans for day in (start, until) if day < FOREVER]
    return [sampled(days, look)]


def _closed_on(case: Case, passes: list[Check], fail: Check) -> dt.date:
    """The day a fail is closed: by the first full pass after it, or by the last of its items."""
    closing = (p for p in passes if stands_after(p, fail) and _full(case, p))
    passed = next((p.on for p in closing if _may_close(case, p)), FOREVER)
    if not case.rule.items_close:
        return passed
    # An advisory is no item: it stopped nothing, and signing it off mends nothing.
    items = [
        d.number for d in case.van.facts.defects if d.check == fail.number and d.grade != "advisory"
    ]
    if not items:
        return passed
    return min(passed, max(_signed_on(case, item, fail) for item in items))


def _full(case: Case, check: Check) -> bool:
    """Whether a pass looked at everything: a stamp did not, and one that names appliances must
    name every one then fitted, sound or sealed off."""
    if check.outcome != "pass":
        return False
    each = case.terms.get("each")
    results = {r.place: r.figure for r in check.readings if r.what == "result"}
    if not each or not results:
        return True
    fitted = filled_at(case.van.stays(each), key_of(check))
    return all(results.get(place) in ("pass", "isolated") for place in fitted)


def _signed_on(case: Case, defect: int, fail: Check) -> dt.date:
    """The first day somebody competent for the rule signed an item off; FOREVER when nobody did."""
    days = [
        s.on
        for s in case.van.facts.sign_offs
        if s.defect == defect
        and releases(s, fail.on, fail.at)
        and _may_close(case, s)
        and not under_temporary(case.van, s)
    ]
    return min(days, default=FOREVER)


def releases(signed: SignOff, found_on: dt.date, found_at: str | None) -> bool:
    """Whether a signature stands after what was found: never before it, by day or by the clock."""
    if signed.on != found_on:
        return signed.on > found_on
    return not (signed.at and found_at and signed.at < found_at)


def under_temporary(van: Van, signed: SignOff) -> bool:
    """Whether the last repair before a signature was a temporary one: it then releases the item
    to the end of that hire and not for good. Of one day the repair is taken to come first. With
    none before it, a temporary one that came after shows that nothing was mended for good."""
    repairs = [r for r in van.facts.repairs if r.defect == signed.defect]
    before = [r for r in repairs if r.on <= signed.on]
    if not before:
        return any(r.temporary for r in repairs)
    return bool(max(before, key=lambda r: (r.on, r.number)).temporary)


def _may_close(case: Case, made: Check | SignOff) -> bool:
    """Whether a pass or a signature is by somebody whose word closes a fail of the rule."""
    if made.number >= SUPPOSED:
        return True
    by = case.rule.closed_by or case.rule.by
    if isinstance(made, Check) and case.rule.closed_by is None:
        return True  # that it counts was looked at where the passes were sorted
    lacking = not_competent(case.van.facts.shared, by, made.inspector, made.by, made.on)
    return lacking is None and bool(made.inspector or made.by)
