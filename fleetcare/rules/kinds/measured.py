"""Measured: the latest reading of a thing against limits.

A reading belongs to the thing measured, not to the place: a new tyre has none. Most measured
rules are judged from readings only and do not apply without one. A rule may ask for a reading
of this handover (`within_days`): one that is older, or from before the van last went out, is then
stale, which stops nothing by itself, while one that breaks the limit stands until the thing is
read again or replaced.
"""

from __future__ import annotations

import datetime as dt

from fleetcare.records.kinds import Check
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
    filled_places,
)
from fleetcare.rules.kinds.readings import (
    broken_by,
    doubtful,
    figures_of,
    gone,
    standing,
    unsound,
)
from fleetcare.rules.limits import Broken, amount, breaks, broken
from fleetcare.rules.rule import Rule, Terms
from fleetcare.timeline import Step, Timeline, always, sampled, timeline
from fleetcare.van.checks import Taken
from fleetcare.van.places import Stay, key_of, stay_on
from fleetcare.windows import EVER, FOREVER


def judge(case: Case) -> list[Found]:
    """One timeline a place read, or a place of the component looked at."""
    taken = _bad_last(case, case.van.taken(case.rule.over, _read(case)))
    if not taken:
        return _unread(case)
    if case.rule.over:
        found = [
            Found(place, _part_line(case, stays, taken, wanted))
            for place, wanted, stays in filled_places(case)
        ]
    else:
        places = dict.fromkeys(t.place for t in taken)
        found = [
            Found(place, _line(case, [t for t in taken if t.place == place])) for place in places
        ]
    return found or [Found(None, NOT_APPLICABLE)]


def _bad_last(case: Case, taken: list[Taken]) -> list[Taken]:
    """The readings in order; where of one place and day some have a time and some have none, nobody
    knows which came last, and one out of its limits stands last."""
    times: dict[tuple[dt.date, str | None], set[bool]] = {}
    for one in taken:
        times.setdefault((one.check.on, one.place), set()).add(bool(one.check.at))
    if not any(len(said) > 1 for said in times.values()):
        return taken

    def key(one: Taken) -> tuple[dt.date, bool]:
        mixed = len(times[one.check.on, one.place]) > 1
        terms = case.terms_of(one.check)
        return (one.check.on, mixed and any(unsound(terms, one, name) for name in one.readings))

    return sorted(taken, key=key)


def _read(case: Case) -> tuple[str, ...]:
    """The readings looked at: what any version limits, for a record is judged by its day's."""
    if len(case.rule.versions) == 1:
        return case.terms.once(_names)
    names = [name for terms in _in_use(case.rule) for name in terms.once(_names)]
    return tuple(dict.fromkeys(names))


def _names(terms: Terms) -> tuple[str, ...]:
    """The readings a version limits."""
    return tuple(dict.fromkeys(limit.reading for limit in terms["limits"]))


_UNREAD = always(LACKS, "not read")


def _unread(case: Case) -> list[Found]:
    """No reading at all: it does not apply, or is to be read at each handover."""
    if not case.rule.over:
        return [Found(None, NOT_APPLICABLE)]
    demanded = case.terms.get("within_days") is not None
    found = [Found(place, _UNREAD) for place in case.places] if demanded else []
    return found or [Found(None, NOT_APPLICABLE)]


def _part_line(case: Case, stays: list[Stay], taken: list[Taken], wanted: bool) -> Timeline:
    nothing = _nothing(case, wanted)
    parts = {stay.part for stay in stays}
    ours = [t for t in taken if t.part in parts and t.part is not None]
    if not ours and nothing.verdict is GOOD:
        return NOT_APPLICABLE
    if not ours and all(stay.fit for stay in stays):
        return always(nothing.verdict, nothing.code)
    days = [stay.on for stay in stays] + _days(case, ours)

    def look(day: dt.date) -> Step:
        stay = stay_on(stays, day)
        if stay is None or stay.part is None:
            return nothing._replace(start=day)
        return _step(case, [t for t in ours if t.part == stay.part], day, nothing)

    return sampled(days, look)


# With one of these a reading does not simply stand from its day to the next.
_HANGS_ON_OTHERS = {"within_days", "rise", "cleared_by_card", "gone_with"}


def _line(case: Case, taken: list[Taken]) -> Timeline:
    if len(case.terms["limits"]) == 1 and not _HANGS_ON_OTHERS & case.terms.keys():
        return _one_limit(case, taken)
    stays = case.van.stays(case.terms.get("gone_with", ""))
    days = [stay.on for held in stays.values() for stay in held] + _days(case, taken)

    def look(day: dt.date) -> Step:
        here = [one for one in taken if not gone(stays, one, day)] if stays else taken
        return _step(case, here, day, _nothing(case, False))

    return sampled(days, look)


def _one_limit(case: Case, taken: list[Taken]) -> Timeline:
    """The usual rule of one limit: each reading that counts stands from its day to the next."""
    steps = [NOT_APPLICABLE.steps[0]]
    for one in taken:
        step = _step(case, [one], one.check.on, steps[0])
        if step.record is not None:
            steps.append(step)
    return timeline(steps)


def _nothing(case: Case, wanted: bool) -> Step:
    """How a day stands with no reading at all."""
    if case.terms.get("within_days") is not None and wanted:
        return Step(EVER, LACKS, "not read")
    return Step(EVER, GOOD, "not applicable")


def _days(case: Case, taken: list[Taken]) -> list[dt.date]:
    days = [t.check.on for t in taken]
    within = case.terms.get("within_days")
    if within is not None:
        days += [case.van.stale_from(t.check, within) for t in taken]
    return [day for day in days if day < FOREVER]


def _step(case: Case, taken: list[Taken], day: dt.date, nothing: Step) -> Step:
    """The latest of each reading on or before a day, judged; each stands until it is read again."""
    latest = standing(case, [one for one in taken if one.check.on <= day])
    for name, one in latest.items():
        terms = case.terms_of(one.check)
        doubt = doubtful(terms, one, name) if "needs" in terms else None
        if doubt:
            return Step(day, DOUBT, doubt[0], one.check.number, doubt[1])
        bad = broken_by(terms, one, name)
        if bad:
            code = "read again" if terms.get("again") else "out of limits"
            return Step(day, LACKS, code, one.check.number, bad[0])
    if not latest:
        return nothing._replace(start=day)
    newest = max(latest.values(), key=lambda one: key_of(one.check))
    terms = case.terms_of(newest.check)
    within = terms.get("within_days")
    if within is not None and day >= case.van.stale_from(newest.check, within):
        return Step(day, LACKS, "not read", newest.check.number)
    noted = _both(_risen(terms, taken, newest), _noted(terms, newest))
    return Step(day, GOOD, "noted" if noted else "in date", newest.check.number, noted)


Noted = tuple[str, str, str] | tuple[()]  # reading, figure, what to do about it


def _both(risen: Noted, noted: Noted) -> Noted:
    if risen and noted:
        return (*risen[:2], f"{risen[2]}; {noted[2]}")
    return risen or noted


def _noted(terms: Terms, one: Taken) -> Noted:
    """The last band whose figure is passed."""
    found: Noted = ()
    for band in terms.get("bands", ()):
        reading = one.readings.get(band.reading)
        if reading and breaks(band, reading.figure):
            found = (band.reading, reading.figure, band.caution)
    return found


def _risen(terms: Terms, taken: list[Taken], newest: Taken) -> Noted:
    """A figure that has risen since it was read before at the place, by how much."""
    if "rise" not in terms:
        return ()
    for limit in terms["limits"]:
        now = newest.readings.get(limit.reading)
        read = [t for t in taken if t.place == newest.place and limit.reading in t.readings]
        earlier = [t for t in read if key_of(t.check) < key_of(newest.check)]
        if now is None or not earlier:
            continue
        was = earlier[-1].readings[limit.reading].figure
        risen = amount(now.figure, limit.dimension) - amount(was, limit.dimension)
        if risen >= amount(terms["rise"], limit.dimension):
            words = f"up by {risen.normalize():f} from {was}: look for the way in, read it again"
            return (limit.reading, now.figure, words)
    return ()


def _in_use(rule: Rule) -> list[Terms]:
    return [version.terms for version in rule.versions if not version.repealed]


def figures(rule: Rule, day: dt.date) -> dict[str, str]:
    """Figures within every limit of a day."""
    terms = rule.version_at(day).terms
    return {
        limit.reading: limit.equals or limit.at_least or "0"
        for limit in (*terms["limits"], *terms.get("needs", ()))
        if limit.when is None and limit.differs is None and limit.near is None
    }


def asks_back(rule: Rule, check: Check) -> list[Broken]:
    """Figures of a check that are probably a slip: they contradict its pass, or are read where
    nothing is asked for and would be too much."""
    terms = rule.version_at(check.on).terms
    limits = list(terms.get("asked_back", ()))
    if terms.get("pass_first") and check.outcome == "pass":
        limits += terms["limits"]
    names = {limit.reading for limit in limits}
    found = []
    for place in dict.fromkeys(r.place or check.place for r in check.readings if r.what in names):
        figure = figures_of(Taken(check, place, None, {}))
        found += [one for limit in limits if (one := broken(limit, figure))]
    return found


KIND = Kind(
    "measured",
    {
        "limits": Term("limits", "limits", required=True),
        "bands": Term("limits", "free"),
        "valid": Term("limits", "free"),
        "needs": Term("limits", "same"),
        "pass_first": Term("flag", "free"),
        "asked_back": Term("limits", "free"),
        "within_days": Term("count", "less"),
        "again": Term("flag", "off"),  # what is out of its limits is put right and read again
        "rise": Term("figure", "free"),
        # What was read out of its limits is cleared by whom the rule's "closed_by" names alone.
        "cleared_by_card": Term("flag", "on"),
        "gone_with": Term("component", "same"),  # read of a part: it leaves the van with it
    },
    judge,
    ALWAYS
    | {
        "in date": "in date",
        "noted": "in date",
        "not read": "no record",
        "out of limits": "failed",
        "read again": "failed",
        "not said": "cannot say",
        "no test": "cannot say",
        "against its pass": "cannot say",
    },
    lambda rule: Reads(
        readings=tuple(n for v in _in_use(rule) for n in v.once(_names)),
        components=tuple({v["gone_with"]: None for v in _in_use(rule) if "gone_with" in v}),
    ),
    starts=("reading",),
    broken=frozenset({"out of limits"}),
    each_handover=True,
    figures=figures,
    asks_back=asks_back,
)
