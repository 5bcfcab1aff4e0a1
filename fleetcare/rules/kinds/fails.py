"""Open fails: from a fail until a full pass comes, or its items are signed off one by one."""

from __future__ import annotations

import datetime as dt

from fleetcare.records.kinds import Check, SignOff
from fleetcare.rules.kinds.case import GOOD, LACKS, Case
from fleetcare.rules.reads import not_competent
from fleetcare.timeline import Step, Timeline, sampled
from fleetcare.van.checks import failed, stands_after
from fleetcare.van.places import key_of
from fleetcare.van.van import Van
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
    passed = next((p.on for p in passes if stands_after(p, fail) and _full(case, p)), FOREVER)
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
    fitted = [
        place
        for place in case.van.stays(each)
        if case.van.part_at(each, place, key_of(check)) is not None
    ]
    return all(results.get(place) in ("pass", "isolated") for place in fitted)


def _signed_on(case: Case, defect: int, fail: Check) -> dt.date:
    """The first day somebody competent for the rule signed an item off; FOREVER when nobody did."""
    days = [
        s.on
        for s in case.van.facts.sign_offs
        if s.defect == defect
        and releases(s, fail.on, fail.at)
        and _may_sign(case, s)
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
    to the end of that hire and not for good. Of one day the repair is taken to come first."""
    repairs = [r for r in van.facts.repairs if r.defect == signed.defect and r.on <= signed.on]
    last = max(repairs, key=lambda r: (r.on, r.number), default=None)
    return bool(last and last.temporary)


def _may_sign(case: Case, signed: SignOff) -> bool:
    by = case.rule.by
    shared = case.van.facts.shared
    lacking = not_competent(shared, by, signed.inspector, signed.by, signed.on)
    return lacking is None and bool(signed.inspector or signed.by)
