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
from fleetcare.rules.limits import OF_PART, Broken, Figures, amount, breaks, broken
from fleetcare.rules.reads import not_competent
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
        return (one.check.on, mixed and any(_unsound(terms, one, name) for name in one.readings))

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


def _line(case: Case, taken: list[Taken]) -> Timeline:
    if len(case.terms["limits"]) == 1 and not {"within_days", "rise"} & case.terms.keys():
        return _one_limit(case, taken)
    return sampled(_days(case, taken), lambda day: _step(case, taken, day, _nothing(case, False)))


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
    latest: dict[str, Taken] = {}
    for one in reversed(taken):
        terms = case.terms_of(one.check)
        if one.check.on > day or not (_valid(terms, one) or _bad(terms, one)):
            continue  # a test that was none passes nothing; what it found is bad all the same
        shared, check = case.van.facts.shared, one.check
        lacking = not_competent(shared, case.rule.by, check.inspector, check.by, check.on)
        named = lacking is None and not one.perhaps
        for name in one.readings:
            # Nobody's word is taken for a good reading; a bad one counts whoever read it.
            if name not in latest and (named or _breaks(case.terms_of(one.check), one, name)):
                latest[name] = one
    for name, one in latest.items():
        terms = case.terms_of(one.check)
        doubt = _doubt(terms, one, name) if "needs" in terms else None
        if doubt:
            return Step(day, DOUBT, doubt[0], one.check.number, doubt[1])
        bad = _breaks(terms, one, name)
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


def _valid(terms: Terms, one: Taken) -> bool:
    """Whether the test was done as its standard says, as far as the record tells."""
    return not any(broken(limit, _figures(one)) for limit in terms.get("valid", ()))


def _bad(terms: Terms, one: Taken) -> bool:
    return any(_breaks(terms, one, name) for name in one.readings)


def _figures(one: Taken) -> Figures:
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


def _breaks(terms: Terms, one: Taken, name: str) -> list[Broken]:
    """Each limit that a reading breaks."""
    figure = _figures(one)
    limits = [limit for limit in terms["limits"] if limit.reading == name]
    return [found for limit in limits if (found := broken(limit, figure))]


def _unsound(terms: Terms, one: Taken, name: str) -> bool:
    """Whether a reading is anything but a good one."""
    return bool(_breaks(terms, one, name) or ("needs" in terms and _doubt(terms, one, name)))


def _doubt(terms: Terms, one: Taken, name: str) -> tuple[str, tuple[str, ...]] | None:
    """Why nobody can say what a reading means: what it needs was not said, the test was not one, or
    whoever made it passed what its figures do not."""
    figure, needs = _figures(one), terms.get("needs", ())
    asked = (limit.reading for limit in needs if not limit.if_said)
    unsaid = tuple(name for name in asked if figure(name) is None)
    if unsaid:
        return "not said", unsaid
    unfit = next((found for limit in needs if (found := broken(limit, figure))), None)
    if unfit:
        return "no test", unfit
    bad = _breaks(terms, one, name)
    if bad and terms.get("pass_first") and one.check.outcome == "pass":
        return "against its pass", bad[0]
    return None


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
        figure = _figures(Taken(check, place, None, {}))
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
    lambda rule: Reads(readings=tuple(n for v in _in_use(rule) for n in v.once(_names))),
    starts=("reading",),
    broken=frozenset({"out of limits"}),
    each_handover=True,
    figures=figures,
    asks_back=asks_back,
)
