"""Books made up at random: small pools of days, so that records meet on one day or just miss."""

from __future__ import annotations

import datetime as dt
from typing import Any, NamedTuple

from dateutil.relativedelta import relativedelta
from hypothesis import strategies as st

from fleetcare.records.facts import Facts, Known, Shared
from fleetcare.records.kinds import (
    FIELD_OF,
    Check,
    Competence,
    Defect,
    Fit,
    FleetPaper,
    Hold,
    Inspector,
    Lift,
    Reading,
    Recheck,
    SignOff,
    TakeOff,
    VanFacts,
)

VAN = "V01"
REGISTERED = dt.date(2017, 5, 1)
STARTS = [
    dt.date(2018, 2, 10), dt.date(2019, 1, 31), dt.date(2020, 2, 29), dt.date(2019, 2, 28),
    dt.date(2021, 3, 1), dt.date(2017, 3, 20), dt.date(2020, 4, 16), dt.date(2018, 4, 5),
    dt.date(2019, 8, 31), dt.date(2020, 12, 31), dt.date(2018, 4, 30), dt.date(2022, 9, 26),
    dt.date(2026, 11, 18),
]  # fmt: skip
GAPS = [
    0, 0, 0, 1, 1, 2, 3, 7, 27, 28, 29, 30, 31, 32, 58, 59, 60, 61, 62, 180, 270, 300, 303, 304,
    305, 306, 307, 330, 333, 334, 335, 336, 337, 360, 362, 363, 364, 365, 366, 367, 390, 394, 395,
    396, 397, 425, 731,
]  # fmt: skip

# People: 2 is on the gas register, 4 was until the end of 2019 and again from 2021, 6 is on no
# register, 8 services extinguishers until 2020-06-30, 14 is an electrician until mid 2021.
PEOPLE = {
    2: (Competence(3, 2, "lpg-leisure-vehicle", dt.date(2015, 1, 1), dt.date(2030, 12, 31), "1"),),
    4: (
        Competence(5, 4, "lpg-leisure-vehicle", dt.date(2015, 1, 1), dt.date(2019, 2, 28), "2"),
        Competence(7, 4, "lpg-leisure-vehicle", dt.date(2020, 3, 1), None, "2"),
        Competence(8, 4, "extinguisher", dt.date(2015, 1, 1), dt.date(2020, 2, 29)),
    ),
    6: (
        Competence(9, 6, "lpg-leisure-vehicle", dt.date(2015, 1, 1), None, None),
        Competence(10, 6, "extinguisher", dt.date(2015, 1, 1), None),
    ),
    14: (Competence(15, 14, "electrical", dt.date(2012, 1, 1), dt.date(2021, 6, 30)),),
}
SHARED = Shared(
    inspectors={n: Inspector(n, f"person {n}") for n in (2, 4, 6, 12, 14)}, competences=PEOPLE
)


class Draft(NamedTuple):
    """A record to be, its number not yet given; `refs` names other drafts by their place."""

    make: type
    fields: dict[str, Any]
    refs: dict[str, int]


def of_van(**said: Any) -> VanFacts:
    """A van of which everything is said that rules ask for, but for what the test says."""
    plain: dict[str, Any] = {
        "plate": "QI24 QIQ", "jurisdiction": "gb", "first_registered_on": REGISTERED,
        "in_service_from": dt.date(2017, 5, 10), "lpg": False, "mains": False, "rack": False,
        "gas_alarm": False, "height": "2900mm", "axles": "single", "spare": "kit",
        "test_class": "motor-caravan", "max_mass": "3500kg", "front_axle_mass": "1800kg",
        "rear_axle_mass": "2000kg", "tag_axle_mass": "1000kg",
    }  # fmt: skip
    return VanFacts(1, VAN, **{**plain, **said})


class Maker:
    """Collects drafts, then numbers them in a random order in which no record names a later one."""

    def __init__(self, draw: st.DrawFn, days: list[dt.date]) -> None:
        self.draw = draw
        self.days = days
        self.drafts: list[Draft] = []

    def day(self) -> dt.date:
        """One of the few days of this book."""
        return self.draw(st.sampled_from(self.days))

    def time(self) -> str | None:
        """A time of day, or none."""
        return self.draw(st.sampled_from([None, None, None, "09:00", "12:30", "17:00"]))

    def pick(self, *options: Any) -> Any:
        """One of these."""
        return self.draw(st.sampled_from(options))

    def some(self, most: int, least: int = 0) -> range:
        """A few of something."""
        return range(self.draw(st.integers(least, most)))

    def passed_before(self, what: str, on: dt.date) -> bool:
        """Whether a check of this kind was passed on that day already: one a day is enough."""
        return any(
            d.fields.get("what") == what and d.fields["on"] == on and d.fields["outcome"] == "pass"
            for d in self.drafts
            if d.make is Check
        )

    def add(self, make: type, refs: dict[str, int] | None = None, **fields: Any) -> int:
        """One more draft; returns its place."""
        self.drafts.append(Draft(make, fields, refs or {}))
        return len(self.drafts) - 1

    def check(self, what: str, outcome: str | None = "pass", **fields: Any) -> int:
        """A check on one of the days, timed or not."""
        given = {"on": self.day(), "at": self.time(), **fields}
        return self.add(Check, what=what, outcome=outcome, **given)

    def facts(self, stated: list[VanFacts], shared: Shared = SHARED) -> Facts:
        """The van's facts, some records corrected and some withdrawn on the way."""
        order = self.draw(st.permutations(range(len(self.drafts))))
        number: dict[int, int] = {}
        left = list(order)
        while left:
            ready = next(p for p in left if all(r in number for r in self.drafts[p].refs.values()))
            left.remove(ready)
            number[ready] = 100 + len(number)
        rows: dict[str, Any] = {name: [] for name in FIELD_OF.values()}
        withdrawn, stands_for = set(), {}
        for place, draft in enumerate(self.drafts):
            refs = {name: number[other] for name, other in draft.refs.items()}
            row = draft.make(number=number[place], van=VAN, **draft.fields, **refs)
            kind = rows[FIELD_OF[draft.make]]
            fate = self.draw(st.sampled_from(["stands"] * 6 + ["corrected", "doubled"]))
            if fate == "corrected" and "on" in draft.fields:
                newer = 500 + place
                kind.append(row._replace(on=row.on + relativedelta(months=-7)))
                kind.append(row._replace(number=newer))
                withdrawn.add(row.number)
                stands_for[newer] = row.number
            else:
                kind.append(row)
            if fate == "doubled" and draft.make in (Check, Fit, Hold):
                kind.append(row._replace(number=700 + place))
                withdrawn.add(700 + place)
        known = Known(frozenset(withdrawn), stands_for)
        rows["stated"] = [*stated, *rows["stated"]]
        standing: dict[str, Any] = {
            name: known.standing(sorted(found, key=lambda row: row.number))
            for name, found in rows.items()
        }
        return Facts(VAN, shared=shared, **standing)


@st.composite
def pools(draw: st.DrawFn) -> list[dt.date]:
    """A few days, each a telling step after the one before."""
    day = draw(st.sampled_from(STARTS))
    days = [day]
    for gap in draw(st.lists(st.sampled_from(GAPS), min_size=2, max_size=6)):
        day += dt.timedelta(days=gap)
        days.append(day)
    return days


def printed(make: Maker, on: dt.date, *months: int) -> dt.date | None:
    """A last day as printed, or none."""
    months_on = make.pick(None, None, *months)
    if months_on is None:
        return None
    last: dt.date = on + relativedelta(months=months_on, days=make.pick(-1, 0, -5, -20))
    return last


@st.composite
def test_books(draw: st.DrawFn) -> Facts:
    """Tests passed and failed, advisories and items, with classes said, unsaid and said later."""
    make = Maker(draw, draw(pools()))
    for _ in make.some(5, 1):
        on, at = make.day(), make.time()
        if make.pick(True, True, False) and not make.passed_before("roadworthiness", on):
            print_at = make.pick(0, 0, 12, 13, 14, 5)
            last = printed(make, on, print_at) if print_at else None
            one = make.check("roadworthiness", on=on, at=at, last_day=last,
                             certificate=make.pick("T1", "T2", "T3", None))  # fmt: skip
            if make.pick(True, False):
                make.add(Defect, {"check": one}, on=on, at=at, grade="advisory", words="w",
                         recheck_by=on + relativedelta(months=make.pick(1, 12)))  # fmt: skip
        else:
            one = make.check("roadworthiness", "fail", on=on, at=at)
            for _ in make.some(2):
                item = make.add(Defect, {"check": one}, on=on, at=at, words="w",
                                grade=make.pick("dangerous", "major", "minor"))  # fmt: skip
                if make.pick(True, False):
                    make.add(SignOff, {"defect": item}, on=max(on, make.day()), by="n")
    stated = [of_van(
        test_class=make.pick("motor-caravan", "motor-caravan", "living-van", "over-8-seats", None),
        max_mass=make.pick("3500kg", "3501kg", "3.6t", None),
        first_registered_on=make.pick(
            REGISTERED, make.days[0] - relativedelta(months=36),
            make.days[0] - relativedelta(months=12, days=-20), None),
    )]  # fmt: skip
    if make.pick(True, False):
        stated.append(VanFacts(90, VAN, on=make.day(), test_class="living-van"))
        stated.append(VanFacts(91, VAN, on=make.day(), max_mass=make.pick("3500kg", "4t")))
    return make.facts(stated)


@st.composite
def gas_books(draw: st.DrawFn, mixed: bool = False) -> Facts:
    """Gas checks by people on and off the register, results, fails closed whole and in part.

    Mixed: appliances come late and checks name only some, so that each has a clock of its own.
    """
    make = Maker(draw, draw(pools()))
    fits = []
    for place in ("hob", "heater")[: make.pick(0, 1, 2, 2)]:
        fits.append(make.add(Fit, what="appliance", place=place, on=make.days[0],
                             at=make.pick(None, "08:00")))  # fmt: skip
    if mixed and make.pick(True, False, False):
        make.add(Fit, what="appliance", place="hob", on=make.day(), at=make.time())
    if make.pick(True, False, False):
        make.add(TakeOff, what="appliance", place="heater", on=make.day(), at=make.time())
    for _ in make.some(5, 1):
        on, at = make.day(), make.time()
        person = {
            "inspector": make.pick(2, 2, 2, 4, 6, 12, None),
            "by": "n",
            "certificate": make.pick("G1", "G2", None) if make.pick(True, False) else "G",
        }
        last = printed(make, on, 6, 12, 14, 24)
        named = make.pick(0, 0, 1, 2)
        readings: tuple[Reading, ...] = ()
        fails = make.pick(False, False, True) or make.passed_before("gas-safety", on)
        if named:
            places = ("hob", "heater")[: 1 if named == 1 and mixed else 2]
            words = ("pass", "pass", "pass", "isolated", "unsafe", "not-tested")
            readings = tuple(Reading("result", place, make.pick(*words)) for place in places)
        one = make.check("gas-safety", "fail" if fails else "pass", on=on, at=at, last_day=last,
                         readings=readings, **person)  # fmt: skip
        if fails or any(r.figure in ("unsafe", "not-tested") for r in readings):
            for _ in make.some(2):
                item = make.add(Defect, {"check": one}, on=on, at=at, words="w",
                                grade=make.pick("dangerous", "major", "minor"))  # fmt: skip
                for _ in make.some(2):
                    make.add(SignOff, {"defect": item}, on=max(on, make.day()), by="n",
                             inspector=make.pick(2, 2, 4, None))  # fmt: skip
    stated = [of_van(lpg=make.pick(True, True, True, None), places=("appliance:hob", "gas-hose:"))]
    if make.pick(True, False, False):
        stated.append(VanFacts(90, VAN, on=make.day(), lpg=make.pick(True, False)))
    return make.facts(stated)


@st.composite
def service_books(draw: st.DrawFn) -> Facts:
    """Services with a stop day, electrical inspections, stamps, fails signed off item by item."""
    make = Maker(draw, draw(pools()))
    stamped = make.pick(True, False)
    for _ in make.some(6, 1):
        what = make.pick("habitation", "habitation", "water", "brake-fluid", "electrical",
                         "electrical", "chassis")  # fmt: skip
        on, at = make.day(), make.time()
        outcome = make.pick("pass", "pass", "seen" if stamped else "fail")
        last = printed(make, on, 6, 12, 13, 24, 36)
        one = make.check(what, outcome, on=on, at=at, last_day=last,
                         by=make.pick("n", "n", None),
                         inspector=make.pick(14, 14, 14, 4, None))  # fmt: skip
        if outcome == "fail":
            for _ in make.some(3):
                item = make.add(Defect, {"check": one}, on=on, at=at, words="w",
                                grade=make.pick("dangerous", "major", "minor"))  # fmt: skip
                for _ in make.some(2):
                    make.add(SignOff, {"defect": item}, on=max(on, make.day()),
                             by=make.pick("n", "n", None),
                             inspector=make.pick(14, 4, None))  # fmt: skip
        elif outcome == "pass" and make.pick(True, False, False):
            make.add(Defect, {"check": one}, on=on, at=at, grade="advisory", words="w",
                     recheck_by=on + relativedelta(months=make.pick(1, 12)))  # fmt: skip
    stated = [of_van(
        mains=make.pick(True, True, None), electrical_certificate=make.pick("E1", None),
        first_registered_on=make.pick(
            REGISTERED, make.days[0], make.days[0] - relativedelta(months=12), None),
    )]  # fmt: skip
    if make.pick(True, False, False):
        stated.append(VanFacts(90, VAN, on=make.day(), mains=make.pick(True, False)))
    return make.facts(stated)


MARKS = ("2014-02-28", "2015-06", "2016-02-29", "2018", "2013-12-31", "2019-03", None, "illegible")
WEEKS = ("2216", "0114", "5312", "0116", "5315", "0117", "3012", "2014-06", None, "illegible")
THINGS = {
    "smoke-alarm": "living-area", "co-alarm": "living-area", "gas-alarm": "living-area",
    "gas-hose": "locker", "regulator": "locker", "fire-blanket": "kitchen",
    "first-aid-kit": "cab", "rcd": "consumer-unit", "hook-up-lead": "locker",
    "appliance": "hob",
}  # fmt: skip


@st.composite
def aged_books(draw: st.DrawFn) -> Facts:
    """Things that age: fitted, swapped, taken off and put back, under every sort of marking."""
    make = Maker(draw, draw(pools()))
    chosen = draw(st.lists(st.sampled_from(sorted(THINGS)), min_size=1, max_size=3, unique=True))
    for what in chosen:
        fits: list[int] = []
        for _ in make.some(4, 1):
            place = make.pick(THINGS[what], THINGS[what], THINGS[what], "second")
            if fits and make.pick(True, False, False):
                first = make.pick(*fits)
                on = make.drafts[first].fields["on"] + dt.timedelta(days=make.pick(1, 40, 400))
                make.add(Fit, {"part": first}, what=what, place=place, on=on)
                continue
            steel = what == "gas-hose" and make.pick(None, None, "rubber", "stainless")
            fits.append(make.add(
                Fit, what=what, place=place, on=make.day(), at=make.time(),
                made=make.pick(*MARKS), variety=steel or None, replace_by=make.pick(
                    None, None, None, "2021-03", "2020-02-29", "2022", "illegible")))  # fmt: skip
        for _ in make.some(2):
            make.add(TakeOff, what=what, place=THINGS[what], on=make.day(), at=make.time())
    places = make.pick(None, ("gas-hose:locker", "appliance:hob"), ("gas-hose:", "appliance:"),
                       ("gas-hose:locker", "gas-hose:second"))  # fmt: skip
    stated = [of_van(lpg=make.pick(True, True, None), mains=make.pick(True, None),
                     gas_alarm=make.pick(True, True, None), places=places)]  # fmt: skip
    if make.pick(True, False, False):
        stated.append(VanFacts(90, VAN, on=make.day(), lpg=True, mains=make.pick(True, None),
                               places=("gas-hose:second",)))  # fmt: skip
    return make.facts(stated)


@st.composite
def tyre_books(draw: st.DrawFn) -> Facts:
    """Tyres: ages, loads and treads, two sets swapped with the seasons, axles said or not."""
    make = Maker(draw, draw(pools()))
    axles = make.pick("single", "single", "single", "dual-rear", "tag", None)
    corners = {
        "dual-rear": ("front-left", "rear-left-outer", "rear-left-inner", "rear-right-inner",
                      "rear-right-outer"),
        "tag": ("front-left", "front-right", "tag-left", "tag-right"),
    }.get(axles, ("front-left", "front-right", "rear-left", "spare"))  # fmt: skip
    fits = []
    whole = make.pick(True, False)
    for place in corners if whole else corners[:2]:
        for _ in make.some(2, 1):
            fits.append(
                make.add(
                    Fit,
                    what="tyre",
                    place=place,
                    on=make.day(),
                    at=make.time(),
                    made=make.pick(*WEEKS),
                    tyre_mark=make.pick(None, "r30", "r54"),
                    load_index=make.pick("112", "100/91", "112/110", "91", "109", None),
                    cold_pressure=make.pick("49psi", "50psi", "3.44bar", "3.45bar", None, "4bar"),
                )
            )
    for _ in make.some(3):
        first = make.pick(*fits)
        on = make.drafts[first].fields["on"] + dt.timedelta(days=make.pick(1, 30, 180, 365))
        make.add(Fit, {"part": first}, what="tyre", place=make.pick(*corners), on=on)
    for _ in make.some(1):
        make.add(TakeOff, what="tyre", place=make.pick(*corners), on=make.day(), at=make.time())
    for _ in make.some(5):
        place = make.pick(*corners[:2])
        depth = make.pick("1.5mm", "1.6mm", "2.9mm", "3mm", "5mm", "8mm")
        what = make.pick("tyres", "chassis", "walkaround")
        if make.pick(True, False):
            make.check(what, None, by="n", readings=(Reading("tread", place, depth),))
        else:
            make.check(
                "tyres", None, by="n", place=place, readings=(Reading("tread", None, depth),)
            )
    stated = [of_van(
        axles=axles, spare=make.pick("kit", "wheel", None),
        test_class=make.pick("motor-caravan", "motor-caravan", "living-van", "over-8-seats", None),
        max_mass=make.pick("3500kg", "3501kg", None),
    )]  # fmt: skip
    if make.pick(True, False, False):
        stated.append(VanFacts(90, VAN, on=make.day(), front_axle_mass="1.3t",
                               axles=make.pick("single", None)))  # fmt: skip
    return make.facts(stated)


@st.composite
def fire_books(draw: st.DrawFn) -> Facts:
    """Extinguishers of every sort, serviced by people competent and not, swapped and put back."""
    make = Maker(draw, draw(pools()))
    fits = []
    for _ in make.some(3, 1):
        made = make.pick("2018-02-10", "2016-03", "2009-02", "1999-04", None, "illegible")
        commissioned = make.pick(None, None, "2018-02-20", "2019-02-28") if made and (
            made != "illegible" and made > "2010") else None  # fmt: skip
        fits.append(make.add(
            Fit, what="extinguisher", place="door", on=make.day(), at=make.time(), made=made,
            commissioned=commissioned, replace_by=make.pick(None, None, None, "2020-03"),
            variety=make.pick("powder", "foam", "co2", "sealed", None)))  # fmt: skip
    if make.pick(True, False, False):
        first = make.pick(*fits)
        on = make.drafts[first].fields["on"] + dt.timedelta(days=make.pick(1, 100, 400))
        make.add(Fit, {"part": first}, what="extinguisher", place="door", on=on)
    for _ in make.some(5):
        what = make.pick("extinguisher-basic", "extinguisher-basic", "extinguisher-extended",
                         "extinguisher-overhaul")  # fmt: skip
        outcome = make.pick("pass", "pass", "pass", "fail")
        one = make.check(what, outcome, place="door", inspector=make.pick(4, 6, 6, 2, None),
                         by=make.pick("n", None))  # fmt: skip
        if outcome == "fail" and make.pick(True, False):
            fields = make.drafts[one].fields
            item = make.add(Defect, {"check": one}, on=fields["on"], at=fields["at"],
                            grade="major", words="w")  # fmt: skip
            make.add(SignOff, {"defect": item}, on=max(fields["on"], make.day()), by="n",
                     inspector=make.pick(4, 6, 2, None))  # fmt: skip
    for _ in make.some(2):
        make.check(
            "walkaround",
            None,
            by="n",
            readings=(Reading("gauge", "door", make.pick("green", "not-green")),),
        )
    return make.facts([of_van()])


@st.composite
def yard_books(draw: st.DrawFn) -> Facts:
    """Defects, holds, papers, readings of the van itself, service days and the height notice."""
    make = Maker(draw, draw(pools()))
    for _ in make.some(3):
        defect = make.add(
            Defect, on=make.day(), at=make.time(), words="w",
            grade=make.pick("dangerous", "major", "minor", "minor", "advisory"),
            recheck_by=make.pick(None, None, make.days[-1]))  # fmt: skip
        on = make.drafts[defect].fields["on"]
        until = make.drafts[defect].fields["recheck_by"] or on + dt.timedelta(days=28)
        looked = on
        for _ in make.some(2):
            looked = max(looked, min(until, make.day()))
            until = looked + dt.timedelta(days=make.pick(0, 1, 28, 60))
            make.add(Recheck, {"defect": defect}, on=looked, by="n", next_on=until)
        for _ in make.some(1):
            make.add(SignOff, {"defect": defect}, on=max(on, make.day()), by=make.pick("n", None),
                     inspector=make.pick(None, 12))  # fmt: skip
    for _ in make.some(2):
        start = make.day()
        hold = make.add(Hold, from_on=start, words="w",
                        through_on=make.pick(None, start, max(start, make.days[-1])))  # fmt: skip
        for _ in make.some(2):
            make.add(Lift, {"hold": hold}, on=make.day(), by="n")
    for _ in make.some(4):
        start = make.day()
        make.add(Check, what=make.pick("insurance", "tax"), outcome="pass", on=make.day(),
                 from_on=make.pick(start, start, None),
                 last_day=start + dt.timedelta(days=make.pick(0, 30, 364, 365)))  # fmt: skip
    for _ in make.some(3):
        make.check("damp", None, by="n", readings=tuple(
            Reading("damp", place, make.pick("30", "30.1", "12", "15"))
            for place in make.pick(("roof",), ("roof", "floor"))))  # fmt: skip
    make.add(Fit, what="rcd", place="consumer-unit", on=make.days[0])
    for _ in make.some(3):
        make.check(
            "rcd",
            None,
            place="consumer-unit",
            readings=make.pick(
                (Reading("rcd-x1", None, "300ms"),),
                (Reading("rcd-x1", None, "301ms"),),
                (Reading("rcd-x5", None, "41ms"), Reading("rcd-x1", None, "100ms")),
                (Reading("rcd-type", None, "s-type"), Reading("rcd-x1", None, "450ms")),
                (Reading("rcd-type", None, "bs-4293"), Reading("rcd-x1", None, "250ms")),
                (Reading("rcd-half", None, "trip"),),
                (Reading("rcd-rating", None, "100mA"), Reading("rcd-x1", None, "100ms")),
                (Reading("rcd-rating", None, "30mA"), Reading("rcd-type", None, "general")),
                (Reading("rcd-half", None, "no-trip"),),
            ),
        )
    for _ in make.some(2):
        make.check("electrical", by="n", readings=(
            Reading("insulation", None, make.pick("1.0Mohm", "0.99Mohm")),))  # fmt: skip
    for _ in make.some(2):
        said = (
            Reading("tightness-start", None, make.pick("150mbar", "30mbar", "29mbar", "75mbar")),
            Reading("tightness-drop", None, make.pick("10mbar", "10.1mbar", "2mbar", "5mbar")),
            Reading("tightness-settled", None, make.pick("5min", "4min", "5min")),
            Reading("tightness-minutes", None, make.pick("5min", "5min", "4min")),
            Reading("tightness-volume", None, make.pick("700ml", "700ml", "0.5l")),
        )
        told = tuple(r for r in said if r.what.endswith("drop") or make.pick(True, True, False))
        make.check("tightness", make.pick(None, None, "pass"), readings=told)
    for _ in make.some(3):
        thing, place, word = make.pick(
            ("fire-blanket", "kitchen", "blanket"), ("first-aid-kit", "cab", "kit")
        )
        make.add(Fit, what=thing, place=place, on=make.day(), at=make.time())
        good = {"blanket": "sound", "kit": "complete"}[word]
        make.check("walkaround", None, by="n",
                   readings=(Reading(word, place, make.pick(good, "used")),))  # fmt: skip
    leaves = make.pick(None, make.days[-1])
    stated = [of_van(
        in_service_from=make.pick(REGISTERED, make.days[0], None), lpg=True, mains=True,
        places=("gas-hose:", "appliance:"), out_of_service_from=leaves,
        height=make.pick("2900mm", "3000mm", "3050mm", None),
        notice_height=make.pick("10ft", "10ft1in", "10ft5in", "10ft6in", None))]  # fmt: skip
    for number in make.some(3):
        stated.append(VanFacts(
            80 + number, VAN, on=make.day(), height=make.pick(None, "3.05m", "2900mm"),
            notice_height=make.pick(None, "3050mm", "3201mm")))  # fmt: skip
    if leaves and make.pick(True, False):
        stated.append(VanFacts(90, VAN, on=make.days[0],
                               out_of_service_from=leaves + dt.timedelta(days=30)))  # fmt: skip
    papers = tuple(
        FleetPaper(20 + n, make.pick("insurance", "tax"), make.day(), start,
                   start + dt.timedelta(days=364), make.pick((VAN, "V02"), ("V02",)))
        for n in make.some(2) if (start := make.day())
    )  # fmt: skip
    return make.facts(stated, Shared(SHARED.inspectors, SHARED.competences, papers))


def sound(make: Maker, start: dt.date) -> list[VanFacts]:
    """A van that may go out from a day on: every paper, part and check it needs."""
    before = start - dt.timedelta(days=5)
    for what in ("insurance", "tax"):
        make.add(Check, what=what, outcome="pass", on=before, from_on=before,
                 last_day=start + dt.timedelta(days=500))  # fmt: skip
    make.check("roadworthiness", on=before, certificate="T")
    make.check("gas-safety", on=before, at="12:00", inspector=2, by="n", certificate="G")
    for what in ("electrical", "habitation", "chassis", "water", "brake-fluid"):
        make.check(what, on=before, by="n", inspector=14)
    made = f"{start.year - 1}-06"
    for what, place in THINGS.items():
        if what != "gas-alarm":
            make.add(Fit, what=what, place=place, on=before, at="08:00", made=made)
    for place in ("front-left", "front-right", "rear-left", "rear-right"):
        make.add(Fit, what="tyre", place=place, on=before, made=f"22{start.year % 100 - 1:02}",
                 load_index="112", cold_pressure="55psi")  # fmt: skip
    make.add(Fit, what="extinguisher", place="door", on=before, made=made, variety="powder")
    make.check("extinguisher-basic", on=before, at="12:00", place="door", inspector=6, by="n")
    return [of_van(
        lpg=True, mains=True, places=("gas-hose:locker", "appliance:hob"),
        first_registered_on=start - relativedelta(months=40),
        in_service_from=start - relativedelta(months=39))]  # fmt: skip


@st.composite
def whole_books(draw: st.DrawFn) -> Facts:
    """A van that may go out, and then a few things that happen to it."""
    days = draw(pools())
    make = Maker(draw, days)
    stated = sound(make, days[0])
    for _ in make.some(6, 1):
        what = make.pick("fail", "pass", "fit", "off", "defect", "hold", "tread", "said", "items")
        on, at = make.day(), make.time()
        kind = make.pick("roadworthiness", "gas-safety", "habitation", "electrical", "water")
        person = {
            "inspector": make.pick(2, 2, 4, 6, 14, 14),
            "by": "n",
            "certificate": make.pick("N", "N", None),
        }
        if what == "fail":
            make.check(kind, "fail", on=on, at=at, **person)
        elif what == "items":
            one = make.check(kind, "fail", on=on, at=at, **person)
            for _ in make.some(2, 1):
                item = make.add(Defect, {"check": one}, on=on, at=at, grade="major", words="w")
                if make.pick(True, True, False):
                    make.add(SignOff, {"defect": item}, on=max(on, make.day()),
                             inspector=make.pick(2, 2, 4), by="n")  # fmt: skip
        elif what == "pass":
            make.check(kind, on=on, at=at, last_day=printed(make, on, 6, 12), **person)
        elif what == "fit":
            thing = make.pick("gas-hose", "gas-alarm", "smoke-alarm", "fire-blanket")
            make.add(Fit, what=thing, place=THINGS[thing], on=on, at=at, made=make.pick(
                "2015", "2019-03", "2016-02-29", "illegible"))  # fmt: skip
        elif what == "off":
            thing = make.pick("gas-hose", "appliance", "co-alarm", "first-aid-kit")
            make.add(TakeOff, what=thing, place=THINGS[thing], on=on, at=at)
        elif what == "defect":
            defect = make.add(Defect, on=on, at=at, words="w",
                              grade=make.pick("dangerous", "minor"))  # fmt: skip
            if make.pick(True, False):
                make.add(SignOff, {"defect": defect}, on=max(on, make.day()), by="n")
        elif what == "hold":
            make.add(Hold, from_on=on, words="w", through_on=make.pick(None, on, max(on, days[-1])))
        elif what == "tread":
            make.check("tyres", None, on=on, at=at, by="n", readings=(
                Reading("tread", "front-left", make.pick("1.5mm", "2.9mm", "6mm")),))  # fmt: skip
        else:
            said = make.pick({"lpg": False}, {"height": "3050mm", "notice_height": "10ft1in"},
                             {"gas_alarm": True}, {"rear_axle_mass": "2300kg"},
                             {"height": "3050mm"}, {"axles": "tag"})  # fmt: skip
            stated.append(VanFacts(80 + len(stated), VAN, on=on, **said))
    return make.facts(stated)
