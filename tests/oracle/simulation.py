"""The rules told again, day by day, as plainly as they can be told.

For one van and one day this looks at everything that had happened up to the end of that day and
decides from scratch: no intervals, no windows, nothing carried from one day to the next, and the
terms written out here a second time rather than read from the rulebook. It shares no code with
the rules it is held against; the records themselves are all the two have in common.

Sources of the sums: Dodds v Walker [1981] for months, RTA 1988 ss.47-48 for the test, GSIUR 36
and 36A for gas, 49 CFR 574.5 and ISO 8601 for tyre weeks; the rest is the table of rules.
"""

from __future__ import annotations

import datetime as dt
import itertools
import re
from collections.abc import Callable, Iterable, Iterator
from decimal import Decimal
from typing import Any, NamedTuple

from dateutil.relativedelta import relativedelta

from fleetcare.records.facts import Facts
from fleetcare.records.kinds import Check, Defect, Fit, Reading, SignOff, VanFacts

GOOD, LATE, DOUBT, LACKS = range(4)
ONE_DAY = dt.timedelta(days=1)
Key = tuple[dt.date, str, int]
Said = dict[str, Any]

# --- sums ---------------------------------------------------------------------------------------


def months_on(day: dt.date, months: int) -> dt.date:
    """The corresponding day so many months on, or the last of a month that has no such day."""
    there: dt.date = day + relativedelta(months=months)
    return there


def eve_of(day: dt.date, months: int) -> dt.date:
    """The day before the corresponding day; a day that does not exist ends on the month's last."""
    there = months_on(day, months)
    return there - ONE_DAY if there.day == day.day else there


def window_opens(deadline: dt.date, months: int) -> dt.date:
    """The first day on which a renewal is early and not too early."""
    return months_on(deadline, -months) + ONE_DAY


def latest_deadline_open_on(day: dt.date, months: int) -> dt.date:
    """The latest deadline whose early window holds a day: every day is tried."""
    tried = [day + dt.timedelta(days=n) for n in range(31 * months + 5)]
    return max(d for d in tried if window_opens(d, months) <= day)


def tyre_week(code: str) -> dt.date:
    """The earlier of the Sunday and the Monday a tyre week may begin on."""
    week, year = int(code[:2]), 2000 + int(code[2:])
    found = []
    sunday = dt.date(year, 1, 1)
    while sunday.weekday() != 6:
        sunday += ONE_DAY
    sunday += dt.timedelta(days=7 * (week - 1))
    if sunday.year == year:
        found.append(sunday)
    try:
        found.append(dt.date.fromisocalendar(year, week, 1))
    except ValueError:
        pass
    return min(found)


def earliest(mark: str, what: str) -> dt.date:
    """The earliest day a marking may mean."""
    if what == "tyre" and re.fullmatch(r"\d{4}", mark):
        return tyre_week(mark)
    parts = [int(part) for part in mark.split("-")]
    return dt.date(*(parts + [1, 1])[:3])


UNITS = {
    "mm": Decimal(1), "m": Decimal(1000), "kg": Decimal(1), "t": Decimal(1000),
    "mbar": Decimal(1), "bar": Decimal(1000), "ms": Decimal(1), "s": Decimal(1000),
    "Mohm": Decimal(1), "min": Decimal(1), "ml": Decimal("0.001"), "": Decimal(1),
    "psi": Decimal("68.947572931683"), "l": Decimal(1),
}  # fmt: skip


def figure(text: str) -> Decimal:
    """A typed figure in the one unit it is compared in."""
    feet = re.fullmatch(r"(\d+)ft(?:([\d.]+)in)?", text)
    if feet:
        return (Decimal(feet[1]) * 12 + Decimal(feet[2] or 0)) * Decimal("25.4")
    found = re.fullmatch(r"([\d.]+)([A-Za-z]*)", text)
    assert found, text
    return Decimal(found[1]) * UNITS[found[2]]


LOAD_KG = {
    "84": 500, "91": 615, "94": 670, "100": 800, "109": 1030, "110": 1060, "112": 1120,
    "113": 1150, "116": 1250, "118": 1320, "121": 1450,
}  # fmt: skip


def key_of(record: Any) -> Key:
    """Where a record stands: by its day, then its time of day, then its number."""
    return (record.on, record.at or "", record.number)


def end_of(day: dt.date) -> Key:
    """After everything that happened on a day."""
    return (day + ONE_DAY, "", 0)


def came_first(moved: Key, moment: Key) -> bool:
    """Whether a thing was moved before a moment: with a time on only one of them, it was not."""
    if moved[0] != moment[0]:
        return moved[0] < moment[0]
    return bool(moved[1]) == bool(moment[1]) and moved < moment


def may_have_met(facts: Facts, what: str, place: str | None, part: int, check: Check) -> bool:
    """Whether a component that came on the day of a check, and was written down before it, may have
    been what was looked at: a time stands on only one of the two."""
    return any(
        (fit.what, fit.on, fit.part or fit.number) == (what, check.on, part)
        and place in (None, fit.place)
        and bool(fit.at) != bool(check.at)
        and fit.number < check.number
        for fit in facts.fits
    )


def settled_after(later: Check, earlier: Any) -> bool:
    """Whether a pass comes after a fail: on one day only two times of day can settle that."""
    if later.on != earlier.on:
        return bool(later.on > earlier.on)
    return bool(later.at and earlier.at and later.at > earlier.at)


# --- what was said of the van -------------------------------------------------------------------

FACTS = [name for name in VanFacts._fields if name not in ("number", "van", "on", "places")]


class _Remembered:
    """What was worked out for the van last asked about: saves time, decides nothing."""

    facts: Facts | None = None
    found: dict[Any, Any] = {}


def remembered(facts: Facts, what: Any, work_out: Callable[[], Any]) -> Any:
    """The same answer to the same question about the same van."""
    if _Remembered.facts is not facts:
        _Remembered.facts, _Remembered.found = facts, {}
    if what not in _Remembered.found:
        _Remembered.found[what] = work_out()
    return _Remembered.found[what]


def said_by(facts: Facts, day: dt.date) -> Said:
    """What had been stated of the van by the end of a day; each statement adds to the last."""
    said: Said = remembered(facts, ("said", day), lambda: _said_by(facts, day))
    return said


def _said_by(facts: Facts, day: dt.date) -> Said:
    said: Said = dict.fromkeys(FACTS)
    said["places"] = {}
    begin = dt.date.min
    for row in sorted(facts.stated, key=lambda row: (row.on or begin, row.number)):
        if (row.on or begin) > day:
            continue
        for name in FACTS:
            if getattr(row, name) is not None:
                said[name] = getattr(row, name)
        if row.places is not None:
            stated: dict[str, list[str]] = {}
            for word in row.places:
                kind, _, place = word.partition(":")
                stated.setdefault(kind, []).extend([place] if place else [])
            said["places"] = {**said["places"], **stated}
    return said


UNSAID: dict[str, tuple[Any, ...]] = {
    "lpg": (True, False), "mains": (True, False), "gas_alarm": (True, False),
    "axles": ("single", "dual-rear", "tag"), "spare": ("wheel", "kit", "none"),
    "test_class": ("motor-caravan", "living-van", "over-8-seats"),
    "max_mass": ("3500kg", "3501kg"), "height": ("3000mm", "3001mm", "9000mm"),
    "notice_height": ("1mm", "3100mm", "9000mm"), "front_axle_mass": ("0kg", "99999kg"),
    "rear_axle_mass": ("0kg", "99999kg"), "tag_axle_mass": ("0kg", "99999kg"),
}  # fmt: skip


def service_on(facts: Facts, day: dt.date) -> bool:
    """Whether the van was on fleet: come in, and not gone out since."""
    said = said_by(facts, day)
    came, went = said["in_service_from"], said["out_of_service_from"]
    if came is None or came > day:
        return False
    return went is None or went > day or came >= went


# --- what is fitted -----------------------------------------------------------------------------


class Component(NamedTuple):
    """A thing in a place: `part` is the thing itself, `stay` the fit that put it there."""

    part: int
    stay: int
    since: Key
    fit: Fit


Places = dict[tuple[str, str], Component]


def fitted(facts: Facts, before: Key) -> Places:
    """What was in every place just before a moment."""
    there: Places = remembered(facts, before, lambda: _fitted(facts, before))
    return there


def _fitted(facts: Facts, before: Key) -> Places:
    first = {fit.number: fit for fit in facts.fits}
    there: dict[tuple[str, str], Component] = {}
    moves: list[Any] = [*facts.fits, *facts.take_offs]
    for row in sorted(moves, key=key_of):
        if not came_first(key_of(row), before):  # of one day, one without a time may stand before
            continue
        if not isinstance(row, Fit):
            there.pop((row.what, row.place), None)
            continue
        part = row.part if row.part is not None else row.number
        there = {at: thing for at, thing in there.items() if thing.part != part}
        marked = first.get(part, row)
        there[row.what, row.place] = Component(part, row.number, key_of(row), marked)
    return there


def at_place(facts: Facts, what: str, place: str, before: Key) -> Component | None:
    """What was in one place just before a moment."""
    return fitted(facts, before).get((what, place))


TYRE_PLACES = {
    "single": ["front-left", "front-right", "rear-left", "rear-right"],
    "dual-rear": ["front-left", "front-right", "rear-left-outer", "rear-left-inner",
                  "rear-right-inner", "rear-right-outer"],
    "tag": ["front-left", "front-right", "rear-left", "rear-right", "tag-left", "tag-right"],
}  # fmt: skip
FIXED = {
    "smoke-alarm": "living-area", "co-alarm": "living-area", "gas-alarm": "living-area",
    "extinguisher": "door", "fire-blanket": "kitchen", "first-aid-kit": "cab",
    "regulator": "locker", "rcd": "consumer-unit", "hook-up-lead": "locker",
}  # fmt: skip
NEEDS = {
    "gas-alarm": "gas_alarm", "gas-hose": "lpg", "appliance": "lpg", "regulator": "lpg",
    "rcd": "mains", "hook-up-lead": "mains",
}  # fmt: skip


def must_be_filled(what: str, said: Said) -> list[str] | None:
    """The places that must hold one of these; None where nobody said which."""
    if what in NEEDS and not said[NEEDS[what]]:
        return []
    if what == "tyre":
        return TYRE_PLACES[said["axles"]] + (["spare"] if said["spare"] == "wheel" else [])
    if what in FIXED:
        return [FIXED[what]]
    return said["places"].get(what)  # type: ignore[no-any-return]


# --- who did it ---------------------------------------------------------------------------------


def competent(
    facts: Facts, inspector: int | None, scope: str, day: dt.date, register: bool = False
) -> bool:
    """Whether somebody was competent on a day, with a register number where the law asks."""
    return any(
        c.scope == scope
        and c.from_on <= day
        and (c.through_on is None or day <= c.through_on)
        and (c.register_no is not None or not register)
        for c in facts.shared.competences.get(inspector or -1, ())
    )


def may_sign(facts: Facts, who: str, scope: str, record: Check | SignOff) -> bool:
    """Whether the person named on a record is one whose signature counts for a rule."""
    if who == "registered":
        return competent(facts, record.inspector, scope, record.on, register=True)
    if who == "competent":
        return competent(facts, record.inspector, scope, record.on)
    return record.by is not None or record.inspector is not None


def counts(facts: Facts, rule: Recurring, check: Check) -> bool:
    """Whether a check is a pass that counts for a rule."""
    if failed(check) or not (check.outcome == "pass" or (check.outcome == "seen" and rule.stamps)):
        return False
    if check.outcome == "seen":
        return True
    if rule.who == "certificate":
        return check.certificate is not None
    if rule.who == "registered" and check.certificate is None:
        return False
    return may_sign(facts, rule.who, rule.scope, check)


def results(check: Check) -> list[Reading]:
    """What the check says of single appliances."""
    return [r for r in check.readings if r.what == "result"]


def failed(check: Check) -> bool:
    """A fail by its own word, or by an appliance found unsafe or left untested."""
    return check.outcome == "fail" or any(
        r.figure in ("unsafe", "not-tested") for r in results(check)
    )


# --- recurring ----------------------------------------------------------------------------------


class Recurring(NamedTuple):
    """The terms of a rule that comes round again."""

    checks: tuple[str, ...]
    months: int
    who: str
    scope: str = ""
    eve: bool = False
    early: int = 0
    early_from: dt.date = dt.date.min
    trusts_print: bool = False
    stop: int | None = None
    starts: str = "must exist"
    stamps: bool = False
    items_close: bool = True
    over: str | None = None
    varieties: tuple[str, ...] = ()
    closer: str = ""  # what a card has to be for that closes a fail


POWDERS = ("powder", "foam", "water", "wet-chemical")
RECURRING: dict[str, Recurring] = {
    "roadworthiness-test": Recurring(
        ("roadworthiness",), 12, "certificate", eve=True, early=1, trusts_print=True,
        starts="registration", items_close=False),
    "gas-safety-check": Recurring(
        ("gas-safety",), 12, "registered", "lpg-leisure-vehicle", early=2,
        early_from=dt.date(2018, 4, 6)),
    "electrical-inspection": Recurring(
        ("electrical",), 12, "competent", "electrical", starts="certificate", closer="electrical"),
    "habitation-service": Recurring(
        ("habitation",), 12, "named", stop=13, starts="registration", stamps=True),
    "chassis-service": Recurring(
        ("chassis",), 12, "named", stop=13, starts="registration", stamps=True, closer="vehicle"),
    "water-disinfection": Recurring(
        ("water",), 12, "named", stop=13, starts="registration", stamps=True),
    "brake-fluid": Recurring(
        ("brake-fluid",), 24, "named", stop=27, starts="registration", stamps=True),
    "extinguisher-service": Recurring(
        ("extinguisher-basic", "extinguisher-extended", "extinguisher-overhaul"), 12,
        "competent", "extinguisher", stop=13, starts="marking", over="extinguisher",
        varieties=(*POWDERS, "co2")),
    "extinguisher-extended-service": Recurring(
        ("extinguisher-extended", "extinguisher-overhaul"), 60, "competent", "extinguisher",
        stop=61, starts="marking", over="extinguisher", varieties=POWDERS),
    "extinguisher-overhaul-due": Recurring(
        ("extinguisher-overhaul",), 120, "competent", "extinguisher", stop=121, starts="marking",
        over="extinguisher", varieties=("co2",)),
}  # fmt: skip
VARIETIES = (*POWDERS, "co2", "sealed")


class Paper(NamedTuple):
    """A pass: the day from which it covers, its last day, and its stop day."""

    on: dt.date
    last: dt.date
    stop: dt.date


def papers(rule: Recurring, passes: list[Check], start: dt.date | None, months: int) -> list[Paper]:
    """How long each pass counts, the earlier ones having set the deadline it may renew."""
    found: list[Paper] = []
    extra = (rule.stop or rule.months) - rule.months
    for check in sorted(passes, key=key_of):
        ends = [paper.last for paper in found]
        deadline = max([*ends, *([start] if start else [])], default=None)
        early = rule.early
        restart = eve_of(check.on, months) if rule.eve else months_on(check.on, months)
        most = restart
        if early:
            most = max(most, months_on(latest_deadline_open_on(check.on, early), months))
        own, stop = restart, months_on(check.on, months + extra)
        if deadline and early and window_opens(deadline, early) <= check.on <= deadline:
            own = months_on(deadline, months)
        last = own
        if check.last_day:
            known = deadline is not None and not rule.trusts_print
            last = min(check.last_day, own if known else most)
            if last < own:
                stop = months_on(last, extra)
        found.append(Paper(check.on, last, stop))
    return found


def standing(rule: Recurring, held: list[Paper], day: dt.date) -> int:
    """A paper takes nothing from another: the best that any of them says."""
    verdict = LACKS
    for paper in held:
        if paper.on <= day <= paper.last:
            return GOOD
        if rule.stop and paper.on <= day <= paper.stop:
            verdict = LATE
    return verdict


def from_start(
    rule: Recurring, first: dt.date | None, day: dt.date, first_months: int
) -> tuple[dt.date | None, int]:
    """What holds without any record: the last day it gives, and the verdict of a day."""
    if first is None:
        return None, LACKS
    last = eve_of(first, first_months) if rule.eve else months_on(first, first_months)
    if day <= last:
        return last, GOOD
    if rule.stop and day <= months_on(first, rule.stop):
        return last, LATE
    return last, LACKS


def signed_off(
    facts: Facts, defect: Defect, day: dt.date, who: str = "named", scope: str = ""
) -> bool:
    """Whether a defect was signed off by the end of a day, by somebody whose signature counts."""
    return any(
        s.defect == defect.number
        and s.on <= day
        and not (s.on == defect.on and s.at and defect.at and s.at < defect.at)
        and may_sign(facts, who, scope, s)
        for s in facts.sign_offs
    )


def full_pass(facts: Facts, check: Check) -> bool:
    """Whether a pass speaks for everything: for every appliance then fitted, if it names any."""
    named = {r.place for r in results(check)}
    there = {place for what, place in fitted(facts, key_of(check)) if what == "appliance"}
    return check.outcome == "pass" and (not named or there <= named)


def fail_open(
    facts: Facts, rule: Recurring, fail: Check, passes: list[Check], day: dt.date
) -> bool:
    """Whether a fail still stands at the end of a day."""
    who, scope = ("competent", rule.closer) if rule.closer else (rule.who, rule.scope)
    for p in passes:
        if settled_after(p, fail) and full_pass(facts, p):
            if not rule.closer or may_sign(facts, who, scope, p):
                return False
    items = [
        d for d in facts.defects
        if d.check == fail.number and d.grade != "advisory" and d.on <= day
    ]  # fmt: skip
    closed = [signed_off(facts, d, day, who, scope) for d in items]
    return not (rule.items_close and items and all(closed))


def heavy_living_van(said: Said) -> bool:
    """A living van of which no section read says which test it needs, or from when."""
    return said["test_class"] == "living-van" and figure(said["max_mass"]) > 3500


def living_van_test(facts: Facts, said: Said, day: dt.date) -> int:
    """A certificate of any class by the days printed on it; a failed test until one is passed."""
    if not heavy_living_van(said):
        return GOOD
    rule = RECURRING["roadworthiness-test"]
    tests = [c for c in facts.checks if c.what == "roadworthiness" and c.on <= day]
    passes = [c for c in tests if counts(facts, rule, c)]
    if any(fail_open(facts, rule, c, passes, day) for c in tests if failed(c)):
        return LACKS
    return GOOD if any(p.last_day and p.on <= day <= p.last_day for p in passes) else LACKS


def recurring(name: str, facts: Facts, said: Said, place: str | None, day: dt.date) -> int:
    """A rule that comes round: the worst of its papers and its open fails."""
    rule = RECURRING[name]
    months = rule.months
    if name == "electrical-inspection":
        if not said["mains"]:
            return GOOD
        months = 12 if day >= dt.date(2008, 7, 1) else 36
    if name == "gas-safety-check":
        if not said["lpg"]:
            return GOOD
        # "Is or was completed": since that day older checks count as made on their deadline too.
        rule = rule if day >= rule.early_from else rule._replace(early=0)
    checks = [c for c in facts.checks if c.what in rule.checks and c.on <= day]
    first: dt.date | None = None
    first_months = months
    unknown = False
    if rule.over:
        here = at_place(facts, rule.over, place or "", end_of(day))
        if here is None or here.fit.variety not in rule.varieties:
            return GOOD
        checks = [
            c for c in checks
            if ((it := at_place(facts, rule.over, c.place or "", key_of(c)))
                and it.part == here.part)
            or (failed(c) and may_have_met(facts, rule.over, c.place, here.part, c))
        ]  # fmt: skip
        mark = here.fit.commissioned or here.fit.made
        unknown = mark is None or mark == "illegible"
        first = None if unknown or mark is None else earliest(mark, rule.over)
    elif rule.starts == "registration" or said["electrical_certificate"] is not None:
        if rule.starts != "must exist":
            first = said["first_registered_on"]
            unknown = first is None
    if name == "roadworthiness-test":
        if said["max_mass"] is not None and heavy_living_van(said):
            return GOOD
        first_months = 12 if said["test_class"] == "over-8-seats" else 36
    passes = [c for c in checks if counts(facts, rule, c)]
    if any(fail_open(facts, rule, c, passes, day) for c in checks if failed(c)):
        return LACKS
    start, without = from_start(rule, first, day, first_months)
    verdict = min(without, standing(rule, papers(rule, passes, start, months), day))
    if unknown and verdict != GOOD and not (rule.over and passes):
        return DOUBT
    if name != "gas-safety-check" or verdict != GOOD:
        return verdict
    for (what, where), thing in fitted(facts, end_of(day)).items():
        if what == "appliance":
            mine = [p for p in passes if came_first(thing.since, key_of(p)) and covers(p, where)]
            its_own = papers(rule, mine, None, months)
            if not EACH_ITS_OWN_CLOCK:
                every = zip(
                    sorted(passes, key=key_of), papers(rule, passes, None, months), strict=True
                )
                its_own = [paper for check, paper in every if check in mine]
            verdict = max(verdict, standing(rule, its_own, day))
    return verdict


# The check is an appliance's, so the twelve months are; a check of one renews nothing of another.
EACH_ITS_OWN_CLOCK = True


def covers(check: Check, appliance: str) -> bool:
    """Whether a pass speaks for one appliance: a pass without results speaks for all."""
    named = results(check)
    return not named or any(
        r.place == appliance and r.figure in ("pass", "isolated") for r in named
    )


# --- papers that say their own days, defects, holds ---------------------------------------------


def dated(facts: Facts, what: str, day: dt.date) -> int:
    """Insurance and tax: in force on the days printed, and on no other."""
    for check in facts.checks:
        if check.what == what and check.from_on and check.last_day:
            if check.from_on <= day <= check.last_day:
                return GOOD
    for paper in facts.shared.papers:
        if paper.what == what and facts.van in paper.vans:
            if paper.from_on <= day <= paper.last_day:
                return GOOD
    return LACKS


def open_defect(facts: Facts, defect: Defect, day: dt.date) -> int:
    """A defect: two grades stop hire until signed off. A minor one is late from its recheck day on
    and stops hire when four more weeks are over; an advisory is never more than late."""
    if defect.on > day or signed_off(facts, defect, day):
        return GOOD
    found_by = next((c for c in facts.checks if c.number == defect.check), None)
    if found_by:
        rule = next(r for r in RECURRING.values() if found_by.what in r.checks)
        later = [
            c for c in facts.checks
            if c.what == found_by.what and c.on <= day and counts(facts, rule, c)
            and c.outcome == "pass"
        ]  # fmt: skip
        if defect.grade == "advisory":
            if any(settled_after(c, found_by) for c in later):
                return GOOD
        elif failed(found_by) and any(
            settled_after(c, found_by) and full_pass(facts, c) for c in later
        ):
            return GOOD
    if defect.grade in ("dangerous", "major"):
        return LACKS
    until = defect.recheck_by or defect.on + dt.timedelta(days=28)
    looked = [r for r in facts.rechecks if r.defect == defect.number and r.on <= day]
    if looked:
        until = max(looked, key=lambda r: (r.on, r.number)).next_on
    if day <= until:
        return GOOD
    late = defect.grade == "advisory" or day <= until + 28 * ONE_DAY
    return LATE if late else LACKS


def held(facts: Facts, number: int, day: dt.date) -> int:
    """A hold: from its first day, through its last if it has one, until it is lifted."""
    hold = next(h for h in facts.holds if h.number == number)
    if day < hold.from_on or (hold.through_on and day > hold.through_on):
        return GOOD
    lifted = any(lift.hold == number and lift.on <= day for lift in facts.lifts)
    return GOOD if lifted else LACKS


# --- ageing -------------------------------------------------------------------------------------


class Aged(NamedTuple):
    """The terms of a rule about the age of a thing."""

    what: str
    months: int | None = None
    mark_wins: bool = False
    spare: bool | None = None  # of tyres: the spare alone, or all but the spare


AGED: dict[str, Aged] = {
    "tyre-age": Aged("tyre", 84, spare=False),
    "spare-age": Aged("tyre", 84, spare=True),
    "tyre-ban": Aged("tyre", 120, spare=False),
    "tyre-ban-minibus": Aged("tyre", 120, spare=False),
    "gas-hose-age": Aged("gas-hose", 60),
    "gas-hose-mark": Aged("gas-hose"),
    "regulator-age": Aged("regulator", 120),
    "smoke-alarm-age": Aged("smoke-alarm", 84, mark_wins=True),
    "co-alarm-age": Aged("co-alarm", 60, mark_wins=True),
    "gas-alarm-age": Aged("gas-alarm", 60, mark_wins=True),
    "extinguisher-age": Aged("extinguisher", 240),
    "sealed-extinguisher": Aged("extinguisher"),
    "fire-blanket": Aged("fire-blanket"),
    "first-aid-kit": Aged("first-aid-kit"),
    "rcd-fitted": Aged("rcd"),
    "hook-up-lead": Aged("hook-up-lead"),
    "appliance-fitted": Aged("appliance"),
}


def unfilled(what: str, said: Said, place: str | None) -> int:
    """The verdict of a place with nothing in it."""
    wanted = must_be_filled(what, said)
    if wanted is None:
        return DOUBT if place is None else GOOD
    return LACKS if place in wanted else GOOD


def banned(name: str, said: Said, place: str | None) -> bool:
    """Whether a rule of the ten-year ban looks at a van and a place; every other rule does."""
    if name == "tyre-ban":
        return heavy_living_van(said) and (place or "front").startswith("front")
    if name == "tyre-ban-minibus":
        twin = (place or "").endswith(("inner", "outer"))
        return said["test_class"] == "over-8-seats" and not twin
    return True


def aged(name: str, facts: Facts, said: Said, place: str | None, day: dt.date) -> int:
    """A thing younger than its age and not past its mark."""
    rule = AGED[name]
    if rule.spare is not None and place and rule.spare != (place == "spare"):
        return GOOD
    if not banned(name, said, place):
        return GOOD
    here = at_place(facts, rule.what, place or "", end_of(day))
    if here is None:
        if name in ("sealed-extinguisher", "gas-hose-mark"):
            return GOOD
        return unfilled(rule.what, said, place)
    fit = here.fit
    steel = rule.what == "gas-hose" and fit.variety == "stainless"
    if steel != (name == "gas-hose-mark"):
        return GOOD
    if steel and fit.replace_by is None:
        return DOUBT
    if name == "extinguisher-age" and fit.variety == "sealed":
        return GOOD
    if name == "sealed-extinguisher":
        if fit.variety != "sealed":
            return GOOD
        if fit.replace_by is None:
            return DOUBT
    if fit.replace_by == "illegible":
        return DOUBT
    if fit.replace_by and day > earliest(fit.replace_by, ""):
        past_mark = True
    else:
        past_mark = False
    if rule.months is None or (rule.mark_wins and fit.replace_by):
        return LACKS if past_mark else GOOD
    made = fit.made
    if rule.what == "extinguisher":
        made = fit.commissioned or fit.made
    if made is None or made == "illegible":
        return DOUBT
    over_age = day > eve_of(earliest(made, rule.what), rule.months)
    return LACKS if past_mark or over_age else GOOD


# --- measured -----------------------------------------------------------------------------------


def read_of(
    facts: Facts, what: str, place: str, readings: tuple[str, ...], day: dt.date
) -> list[tuple[Check, dict[str, str], bool]]:
    """The checks that read the thing now in a place, wherever it was when they read it; and whether
    they surely did."""
    here = at_place(facts, what, place, end_of(day))
    found = []
    for check in sorted(facts.checks, key=key_of):
        if check.on > day or here is None:
            continue
        read = [r for r in check.readings if r.what in readings]
        sure = {
            r.what: r.figure for r in read
            if (it := at_place(facts, what, r.place or check.place or place, key_of(check)))
            and it.part == here.part
        }  # fmt: skip
        perhaps = {
            r.what: r.figure for r in read
            if may_have_met(facts, what, r.place or check.place, here.part, check)
        }  # fmt: skip
        if sure:
            found.append((check, sure, True))
        elif perhaps:
            found.append((check, perhaps, False))
    return found


def in_doubt_bad_last(
    taken: list[tuple[Check, dict[str, str], bool]], bad: Callable[[dict[str, str]], bool]
) -> list[tuple[Check, dict[str, str], bool]]:
    """Of one day some with a time and some without: the bad ones are taken to come last."""

    def timed(day: dt.date) -> set[bool]:
        return {bool(check.at) for check, _, _ in taken if check.on == day}

    return sorted(taken, key=lambda t: (t[0].on, len(timed(t[0].on)) > 1 and bad(t[1])))


def named(check: Check) -> bool:
    """Whether a check names anybody."""
    return check.by is not None or check.inspector is not None


def standing_reading(
    taken: list[tuple[Check, dict[str, str], bool]],
    bad: Callable[[dict[str, str]], bool],
    anybody: bool = False,
) -> tuple[Check, bool] | None:
    """The last reading that counts, and whether it is bad; a good one counts if somebody's."""
    last = None
    for check, then, sure in in_doubt_bad_last(taken, bad):
        if bad(then) or ((anybody or named(check)) and sure):
            last = (check, bad(then))
    return last


def tread_under(least: str) -> Callable[[dict[str, str]], bool]:
    """A tread reading below a figure."""
    return lambda then: figure(then["tread"]) < figure(least)


A2 = dt.date(2022, 9, 28)
TOLD_WHOLE = dt.date(2026, 11, 20)  # since then a tightness test says what it was


def rcd_test(facts: Facts, place: str, day: dt.date) -> int:
    """Each reading of the RCD stands until it is read again; what is asked of it is asked by the
    edition of the day it was read."""
    taken = read_of(facts, "rcd", place, RCD, day)
    for one in RCD:

        def bad(check: Check, then: dict[str, str], one: str = one) -> bool:
            with_it = {k: v for k, v in then.items() if k == one}
            if one == "rcd-x1" and then.get("rcd-type") == "bs-4293":
                return figure(then[one]) > 200
            return rcd_bad(with_it, day >= A2 and check.on >= A2)

        ordered = [t for t in taken if one in t[1]]
        days = {c.on for c, _, _ in ordered}
        mixed = {d for d in days if len({bool(c.at) for c, _, _ in taken if c.on == d}) > 1}
        ordered.sort(key=lambda t: (t[0].on, t[0].on in mixed and any_bad(t[0], t[1], day)))
        mine = [bad(c, then) for c, then, sure in ordered if sure or bad(c, then)]
        if mine and mine[-1]:
            return LACKS
    return GOOD


def any_bad(check: Check, then: dict[str, str], day: dt.date) -> bool:
    """Whether anything of a test of the RCD is bad."""
    return rcd_bad(then, day >= A2 and check.on >= A2)


def rcd_bad(then: dict[str, str], since_2022: bool = False) -> bool:
    """An RCD that trips too late, at half its current, on purpose or at too much. Since the second
    amendment of 2022 nobody asks how fast it is at five times its current."""
    at_once = 200 if then.get("rcd-type") == "bs-4293" else 300
    return (
        figure(then.get("rcd-x1", "0ms")) > at_once
        or (not since_2022 and figure(then.get("rcd-x5", "0ms")) > 40)
        or then.get("rcd-half", "no-trip") != "no-trip"
        or then.get("rcd-type") == "s-type"
        or then.get("rcd-rating") in ("100mA", "300mA")
    )


def measured(name: str, facts: Facts, said: Said, place: str | None, day: dt.date) -> int:
    """A rule about what was read last."""
    if name == "damp":
        return of_the_van(facts, day, ("damp",), lambda t: figure(t["damp"]) > 30, place)
    if name == "insulation-resistance":
        return of_the_van(facts, day, ("insulation",), lambda t: figure(t["insulation"]) < 1)
    if name == "gas-tightness":
        return tightness(facts, day)
    if name == "rcd-test":
        return rcd_test(facts, place or "", day)
    if OVER.get(name) == "tyre" and (name == "spare-tread") != (place == "spare"):
        return GOOD
    what, readings, bad, anybody = {
        "tyre-tread": ("tyre", ("tread",), tread_under("1.6mm"), False),
        "spare-tread": ("tyre", ("tread",), tread_under("1.6mm"), False),
        "tread-to-go-out": ("tyre", ("tread",), tread_under("3.0mm"), False),
        "extinguisher-gauge":
            ("extinguisher", ("gauge",), lambda t: t["gauge"] != "green", False),
        "fire-blanket-state":
            ("fire-blanket", ("blanket",), lambda t: t["blanket"] != "sound", False),
        "first-aid-kit-state":
            ("first-aid-kit", ("kit",), lambda t: t["kit"] != "complete", False),
    }[name]  # fmt: skip
    last = standing_reading(
        read_of(facts, what, place or "", readings, day),
        bad,
        anybody,
    )
    if name == "tread-to-go-out":
        if last and last[1]:
            return LACKS
        if last and last[0].on >= day - ONE_DAY:
            return GOOD
        return LACKS if last else unfilled(what, said, place)
    return LACKS if last and last[1] else GOOD


def tightness(facts: Facts, day: dt.date) -> int:
    """What the last test by day and time says; of one day some with a time and some without, one
    that is not good is taken to come last."""
    tests = [
        c for c in facts.checks
        if c.on <= day and any(r.what == TIGHT[1] for r in c.readings) and not no_test(c)
    ]  # fmt: skip
    told = {c.number: tight(c) for c in tests}
    timed = {c.on: {bool(o.at) for o in tests if o.on == c.on} for c in tests}
    tests.sort(key=key_of)
    tests.sort(key=lambda c: (c.on, len(timed[c.on]) > 1 and told[c.number] != GOOD))
    return told[tests[-1].number] if tests else GOOD


def no_test(check: Check) -> bool:
    """Whether what was said of an older test shows that it was none: it was kept, and that is all."""
    read = {r.what: figure(r.figure) for r in check.readings if r.what in TIGHT}
    asked = ((TIGHT[0], 150), (TIGHT[2], 5), (TIGHT[4], Decimal("0.7")))
    old = check.on < TOLD_WHOLE and read[TIGHT[1]] <= 10  # what it found is bad all the same
    return old and any(read.get(name, least) < least for name, least in asked)


def tight(test: Check) -> int:
    """One part in fifteen of its own start may be lost. A test of which too little was said, that
    was none, or that somebody passed all the same, says nothing."""
    read = {r.what: figure(r.figure) for r in test.readings if r.what in TIGHT}
    if test.on < TOLD_WHOLE:
        return LACKS if read[TIGHT[1]] > 10 else GOOD
    start, drop = read.get(TIGHT[0]), read[TIGHT[1]]
    enough = all(read.get(name, Decimal(0)) >= 5 for name in (TIGHT[2], TIGHT[3]))
    enough = enough and read.get(TIGHT[4], Decimal(1)) >= Decimal("0.7")
    if start is None or start < 30 or not enough:
        return DOUBT
    if drop * 15 <= start:
        return GOOD
    return DOUBT if test.outcome == "pass" else LACKS


RCD = ("rcd-type", "rcd-rating", "rcd-x1", "rcd-x5", "rcd-half")
TIGHT = (
    "tightness-start",
    "tightness-drop",
    "tightness-settled",
    "tightness-minutes",
    "tightness-volume",
)


def of_the_van(
    facts: Facts,
    day: dt.date,
    readings: tuple[str, ...],
    bad: Callable[[dict[str, str]], bool],
    place: str | None = None,
) -> int:
    """What was read last of the van itself, or at one place of it."""
    taken = []
    for check in sorted(facts.checks, key=key_of):
        then = {r.what: r.figure for r in check.readings
                if r.what in readings and r.place == place}  # fmt: skip
        if check.on > day or not then:
            continue
        taken.append((check, then, True))
    last = standing_reading(taken, bad, anybody=readings != ("damp",))
    return LACKS if last and last[1] else GOOD


# --- rated --------------------------------------------------------------------------------------

AXLES = {
    "front axle": ("front_axle_mass", "front-"), "rear axle": ("rear_axle_mass", "rear-"),
    "tag axle": ("tag_axle_mass", "tag-"),
}  # fmt: skip


def tyre_load(facts: Facts, said: Said, axle: str | None, day: dt.date) -> int:
    """What the tyres of an axle bear against its plated mass."""
    if axle is None:
        return GOOD
    fact, start = AXLES[axle]
    places = [p for p in TYRE_PLACES[said["axles"]] if p.startswith(start)]
    if not places:
        return GOOD
    there = fitted(facts, end_of(day))
    tyres = [there.get(("tyre", place)) for place in places]
    if None in tyres:
        return LACKS
    borne = Decimal(0)
    for tyre in tyres:
        index = tyre.fit.load_index if tyre else None
        if tyre is None or index is None:
            return DOUBT
        single, _, twin = index.partition("/")
        if len(places) == 2:
            borne += LOAD_KG[single]
        elif twin:
            borne += LOAD_KG[twin]
        elif tyre.fit.tyre_mark == "r30":
            borne += LOAD_KG[single] * Decimal("0.955")
        else:
            return DOUBT
    return GOOD if borne >= figure(said[fact]) else LACKS


def height_notice(said: Said) -> int:
    """Over three metres a notice is needed: not under the height, nor far over it."""
    height, shown = figure(said["height"]), figure(said["notice_height"])
    return GOOD if height <= 3000 or height <= shown <= height + 150 else LACKS


# --- all rules ----------------------------------------------------------------------------------

MEASURED = (
    "tyre-tread", "tread-to-go-out", "spare-tread", "rcd-test", "extinguisher-gauge", "fire-blanket-state",
    "first-aid-kit-state", "damp", "insulation-resistance", "gas-tightness",
)  # fmt: skip
OTHERS = (
    "living-van-test",
    "insurance",
    "vehicle-tax",
    "open-defects",
    "hold",
    "tyre-load",
    "height-notice",
)
RULES = (*RECURRING, *AGED, *MEASURED, *OTHERS)
CAUTIONS = ("damp", "spare-tread", "spare-age")
AT_HANDOVER = ("tread-to-go-out", "first-aid-kit", "first-aid-kit-state")
OVER = {name: rule.what for name, rule in AGED.items()} | {
    "tyre-tread": "tyre", "tread-to-go-out": "tyre", "spare-tread": "tyre", "rcd-test": "rcd",
    "extinguisher-gauge": "extinguisher", "fire-blanket-state": "fire-blanket",
    "first-aid-kit-state": "first-aid-kit", "extinguisher-service": "extinguisher",
    "extinguisher-extended-service": "extinguisher",
    "extinguisher-overhaul-due": "extinguisher",
}  # fmt: skip
BEGAN = dict.fromkeys(RULES, dt.date(2000, 1, 1)) | {
    "electrical-inspection": dt.date(1992, 1, 1), "gas-safety-check": dt.date(1998, 10, 31),
    "gas-tightness": dt.date(2003, 1, 1), "appliance-fitted": dt.date(1998, 10, 31),
    "roadworthiness-test": dt.date(1991, 11, 1), "insurance": dt.date(1989, 5, 15),
    "vehicle-tax": dt.date(1994, 9, 1), "height-notice": dt.date(1997, 10, 1),
    "living-van-test": dt.date(1991, 11, 1), "tyre-ban": dt.date(2021, 2, 1),
    "tyre-ban-minibus": dt.date(2021, 2, 1), "tyre-tread": dt.date(1986, 8, 11), "tyre-load": dt.date(1986, 8, 11),
}  # fmt: skip


def rests_on(name: str) -> tuple[str, ...]:
    """The facts of the van a rule cannot be judged without."""
    if name == "roadworthiness-test":
        return ("test_class",)
    if name == "living-van-test":
        return ("test_class", "max_mass")
    if name == "tyre-ban":
        return ("test_class", "max_mass", "axles", "spare")
    if name == "tyre-ban-minibus":
        return ("test_class", "axles", "spare")
    if name == "electrical-inspection":
        return ("mains",)
    if name == "gas-safety-check":
        return ("lpg",)
    if name == "height-notice":
        return ("height", "notice_height")
    if name == "tyre-load":
        return ("axles", "front_axle_mass", "rear_axle_mass", "tag_axle_mass")
    what = OVER.get(name)
    if what == "tyre":
        return ("axles", "spare")
    return (NEEDS[what],) if what in NEEDS else ()


def in_the_open(name: str, facts: Facts, said: Said, place: str | None, day: dt.date) -> int:
    """One rule at one place on one day, every fact it rests on being said."""
    if name in RECURRING:
        return recurring(name, facts, said, place, day)
    if name in AGED:
        return aged(name, facts, said, place, day)
    if name in MEASURED:
        return measured(name, facts, said, place, day)
    if name == "living-van-test":
        return living_van_test(facts, said, day)
    if name == "insurance":
        return dated(facts, "insurance", day)
    if name == "vehicle-tax":
        return dated(facts, "tax", day)
    if name == "tyre-load":
        return tyre_load(facts, said, place, day)
    if name == "height-notice":
        return height_notice(said)
    number = int((place or "#-1")[1:])
    if name == "hold":
        return held(facts, number, day) if place else GOOD
    return max(
        (open_defect(facts, d, day) for d in facts.defects if d.number == number), default=GOOD
    )


def with_variety(facts: Facts, variety: str) -> Facts:
    """The same van, every extinguisher whose sort nobody said being of this one."""
    return facts._replace(fits=[
        fit._replace(variety=variety)
        if fit.what == "extinguisher" and fit.variety is None else fit
        for fit in facts.fits
    ])  # fmt: skip


def verdict(name: str, facts: Facts, place: str | None, day: dt.date) -> int:
    """One rule at one place on one day; a fact nobody stated is given each value it could have."""
    if day < BEGAN[name]:
        return GOOD
    said = said_by(facts, day)
    open_facts = [fact for fact in rests_on(name) if said[fact] is None]
    vans = [facts]
    unsaid_sort = any(f.what == "extinguisher" and f.variety is None for f in facts.fits)
    if OVER.get(name) == "extinguisher" and unsaid_sort:
        vans = [with_variety(facts, sort) for sort in VARIETIES]
    found = {
        in_the_open(name, van, {**said, **dict(zip(open_facts, values, strict=True))}, place, day)
        for van in vans
        for values in itertools.product(*(UNSAID[fact] for fact in open_facts))
    }
    return found.pop() if len(found) == 1 else DOUBT


def places_of(name: str, facts: Facts) -> list[str | None]:
    """Every place a rule could be about, on any day."""
    if name == "open-defects":
        return [None, *(f"#{d.number}" for d in facts.defects)]
    if name == "hold":
        return [None, *(f"#{h.number}" for h in facts.holds)]
    if name == "tyre-load":
        return list(AXLES)
    if name == "damp":
        return [None, *sorted({r.place for c in facts.checks for r in c.readings
                               if r.what == "damp" and r.place})]  # fmt: skip
    what = OVER.get(name)
    if what is None:
        return [None]
    found = {fit.place for fit in facts.fits if fit.what == what}
    if what == "tyre":
        found.update(*TYRE_PLACES.values(), ["spare"])
    if what in FIXED:
        found.add(FIXED[what])
    for row in facts.stated:
        found.update(w.partition(":")[2] for w in row.places or () if w.startswith(f"{what}:"))
    return [None, *sorted(found - {""})]


def known_broken(name: str, facts: Facts, place: str | None, day: dt.date) -> bool:
    """Whether an at-handover rule is known to be broken, and not only stale or missing."""
    if name == "tread-to-go-out":
        taken = read_of(facts, "tyre", place or "", ("tread",), day)
        last = standing_reading(taken, tread_under("3.0mm"))
        return bool(last and last[1])
    return name == "first-aid-kit-state" and verdict(name, facts, place, day) == LACKS


def day_of(facts: Facts, day: dt.date, rules: Iterable[str] = RULES) -> dict[Any, int]:
    """Every rule at every place on one day."""
    return {
        (name, place): verdict(name, facts, place, day)
        for name in rules
        for place in places_of(name, facts)
    }


def stops(facts: Facts, day: dt.date, told: dict[Any, int]) -> Iterator[tuple[str, str | None]]:
    """The rules, and where, that stop a hire without bikes on a day of which all is told."""
    for (name, place), worst in told.items():
        if name in AT_HANDOVER:
            if known_broken(name, facts, place, day):
                yield name, place
        elif worst >= DOUBT and name not in CAUTIONS:
            yield name, place


def hireable(facts: Facts, day: dt.date, told: dict[Any, int]) -> bool:
    """Whether the van may go out on a day, no bikes being taken."""
    return service_on(facts, day) and not any(stops(facts, day, told))
