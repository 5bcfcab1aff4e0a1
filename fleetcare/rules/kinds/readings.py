"""What a reading says and whether it stands: of what, against which limits, on whose word."""

from __future__ import annotations

import datetime as dt

from fleetcare.records.kinds import Check
from fleetcare.rules.kinds.case import Case
from fleetcare.rules.limits import OF_PART, Broken, Figures, broken
from fleetcare.rules.reads import not_competent
from fleetcare.rules.rule import By, Terms
from fleetcare.van.checks import Taken
from fleetcare.van.places import Stays, key_of, stay_at, stay_on
from fleetcare.van.van import SUPPOSED


def gone(stays: Stays, one: Taken, day: dt.date) -> bool:
    """Whether what a reading was of has left the van by the end of a day: the part that was then in
    the place it names, by a record that surely came after it, and fitted nowhere else since."""
    key = key_of(one.check)
    was = stay_at(stays, one.place, key) if one.place else None
    if was is None or was.part is None:
        return False
    left = next((s for s in stays[one.place or ""] if s.key > was.key and s.part != was.part), None)
    if left is None or left.on > day:
        return False
    if left.on == key[0] and bool(left.key[1]) != bool(key[1]):
        return False
    return not any((now := stay_on(s, day)) and now.part == was.part for s in stays.values())


def standing(case: Case, taken: list[Taken]) -> dict[str, Taken]:
    """Each reading as it stands last. Nobody's word is taken for a good one, and what was read out
    of its limits is cleared by a card where the terms ask for one; a bad one counts whoever read
    it. A test that was none passes nothing; what it found is bad all the same."""
    found: dict[str, Taken] = {}
    for one in taken:
        terms = case.terms_of(one.check)
        if not (_valid(terms, one) or _bad(terms, one)):
            continue
        named = not one.perhaps and _by(case, case.rule.by, one.check)
        clears = not terms.get("cleared_by_card") or _by(case, case.rule.closed_by, one.check)
        for name in one.readings:
            before = found.get(name)
            stops = before is not None and broken_by(case.terms_of(before.check), before, name)
            if broken_by(terms, one, name) or (named and (clears or not stops)):
                found[name] = one
    return found


def _by(case: Case, by: By | None, check: Check) -> bool:
    """Whether a check is by somebody whose word counts; one only supposed is."""
    if by is None or check.number >= SUPPOSED:
        return True
    shared = case.van.facts.shared
    return not_competent(shared, by, check.inspector, check.by, check.on) is None


def _valid(terms: Terms, one: Taken) -> bool:
    """Whether the test was done as its standard says, as far as the record tells."""
    return not any(broken(limit, figures_of(one)) for limit in terms.get("valid", ()))


def _bad(terms: Terms, one: Taken) -> bool:
    return any(broken_by(terms, one, name) for name in one.readings)


def figures_of(one: Taken) -> Figures:
    """What else a check read at the place: of the thing, of the van as a whole, or of the check."""
    listed = one.check.readings

    def figure(name: str) -> str | None:
        if name.startswith(OF_PART):
            marked: str | None = getattr(one.fit, name.removeprefix(OF_PART), None)
            return marked
        here = one.readings.get(name)
        if here is None:
            places = (one.place, None)
            found = (r for r in listed if r.what == name and (r.place or one.check.place) in places)
            here = next(found, None)
        return here.figure if here else None

    return figure


def broken_by(terms: Terms, one: Taken, name: str) -> list[Broken]:
    """Each limit that a reading breaks."""
    figure = figures_of(one)
    limits = [limit for limit in terms["limits"] if limit.reading == name]
    return [found for limit in limits if (found := broken(limit, figure))]


def unsound(terms: Terms, one: Taken, name: str) -> bool:
    """Whether a reading is anything but a good one."""
    return bool(broken_by(terms, one, name) or ("needs" in terms and doubtful(terms, one, name)))


def doubtful(terms: Terms, one: Taken, name: str) -> tuple[str, tuple[str, ...]] | None:
    """Why nobody can say what a reading means: what it needs was not said, the test was not one, or
    whoever made it passed what its figures do not."""
    figure, needs = figures_of(one), terms.get("needs", ())
    asked = (limit.reading for limit in needs if not limit.if_said)
    unsaid = tuple(name for name in asked if figure(name) is None)
    if unsaid:
        return "not said", unsaid
    unfit = next((found for limit in needs if (found := broken(limit, figure))), None)
    if unfit:
        return "no test", unfit
    bad = broken_by(terms, one, name)
    if bad and terms.get("pass_first") and one.check.outcome == "pass":
        return "against its pass", bad[0]
    return None
