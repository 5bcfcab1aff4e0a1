"""The yard's rules told again day by day, as plainly as they can be, and held against the product.

No interval, window or timeline is used here: for one day everything up to its end is looked at
from scratch. The terms are written out a second time. Sources: GSIUR 1998 reg 6(6) for what a test
must follow; HSG274 Part 2 for seven idle days; 24-hour walkarounds of the operators' guide.
"""

from __future__ import annotations

import datetime as dt
import itertools
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetcare import shipped
from fleetcare.records.facts import Facts, Shared
from fleetcare.records.kept import Scan
from fleetcare.records.kinds import (
    Check,
    Competence,
    Fit,
    Hire,
    Inspector,
    Reading,
    TakeOff,
    VanFacts,
)
from fleetcare.records.yard import Back, Event, LayUp, Out, Recall, RecallDone
from fleetcare.rules.judge import judge, with_party
from fleetcare.rules.outcome import AsOf
from fleetcare.rules.party import Party
from fleetcare.rules.read import read_book
from fleetcare.timeline import Verdict
from fleetcare.van.trips import clashing

START = dt.date(2026, 6, 1)
TAKEN_IN = dt.date(2026, 6, 6)  # what happened before this day asks for nothing
ONE_DAY = dt.timedelta(days=1)
RULES = read_book(shipped.rulebook_files())
BOOK = RULES._replace(adopted=dict.fromkeys(RULES.rules, TAKEN_IN), made={})
VAN = VanFacts(
    1, "V01", jurisdiction="gb", lpg=True, axles="single", in_service_from=dt.date(2020, 1, 1),
    places=("gas-hose:locker", "appliance:hob"),
)  # fmt: skip
SHARED = Shared(
    {2: Inspector(2, "n")},
    {2: (Competence(3, 2, "lpg-leisure-vehicle", START, None, "r"),)},
)

days = st.integers(0, 50).map(lambda n: START + n * ONE_DAY)
times = st.sampled_from((None, "08:00", "12:00", "17:00"))


class Said:
    """What the product says of a rule of a van, day by day; judged once."""

    def __init__(self, facts: Facts, rule: str, party: Party | None = None) -> None:
        judged = judge(facts, BOOK, AsOf(0, ""))
        if party:
            judged = with_party(judged, party)
        self._lines = [o.timeline for o in judged.outcomes if o.rule.name == rule]

    def lacks(self, day: dt.date) -> bool:
        """Whether the rule is not met at the end of a day."""
        return any(line.at(day).verdict >= Verdict.DOUBT for line in self._lines)


def _comes_after(later: Any, earlier: Any) -> bool:
    """By the day, then by the clock, then by what was written down first; with a time on only one
    of them it did not."""
    if later.on != earlier.on:
        return bool(later.on > earlier.on)
    if bool(later.at) != bool(earlier.at):
        return False
    return bool((later.at or "", later.number) > (earlier.at or "", earlier.number))


# --- after an event --------------------------------------------------------------------------------


@given(
    st.lists(st.tuples(st.sampled_from(("knock", "flood", "wheel-off")), days, times), max_size=4),
    st.lists(st.tuples(st.sampled_from(("inspection", "wheel-nuts")), days, times), max_size=4),
    st.data(),
)
def test_each_event_waits_for_a_check_that_stands_after_it(events, checks, data) -> None:
    """A knock or flood waits for an inspection, a wheel off for its nuts, each for itself."""
    numbers = iter(data.draw(st.permutations(range(10, 10 + len(events) + len(checks)))))
    happened = [Event(next(numbers), "V01", what, on, at) for what, on, at in events]
    done = [Check(next(numbers), "V01", what, on, at, "pass", by="n") for what, on, at in checks]
    facts = Facts("V01", [VAN], checks=done, events=happened)
    for rule, kinds, check in (
        ("event-inspection", ("knock", "flood"), "inspection"),
        ("wheel-nuts", ("wheel-off",), "wheel-nuts"),
    ):
        said = Said(facts, rule)
        for n in range(-2, 55):
            day = START + n * ONE_DAY
            told = any(
                e.what in kinds
                and TAKEN_IN <= e.on <= day
                and not any(c.what == check and c.on <= day and _comes_after(c, e) for c in done)
                for e in happened
            )
            assert said.lacks(day) is told, (rule, day)


@given(
    st.lists(st.tuples(days, times), max_size=3),
    st.lists(
        st.tuples(
            st.sampled_from(("wheel-nuts", "wheel-nuts-again")),
            days,
            times,
            st.sampled_from((None, None, "29min", "30min")),
            st.sampled_from((None, "1000km", "1039km", "1040km")),
        ),
        max_size=4,
    ),
    st.data(),
)
def test_nuts_are_set_and_set_again(events, checks, data) -> None:
    """After each wheel off a first setting, and after that a second that says half an hour, or 40 km
    more than the first; one that says neither leaves it open."""
    numbers = iter(data.draw(st.permutations(range(10, 10 + len(events) + len(checks)))))
    happened = [Event(next(numbers), "V01", "wheel-off", on, at) for on, at in events]
    done = [
        Check(next(numbers), "V01", what, on, at, "pass", by="n", odometer=shown,
              readings=(Reading("nuts-stood", None, stood),)
              if stood and what == "wheel-nuts-again" else ())
        for what, on, at, stood, shown in checks
    ]  # fmt: skip
    said = Said(Facts("V01", [VAN], checks=done, events=happened), "wheel-nuts-again")

    def answers(event: Event, day: dt.date) -> set[bool | None]:
        found: set[bool | None] = set()
        for first, second in itertools.permutations(done, 2):
            if (first.what, second.what) != ("wheel-nuts", "wheel-nuts-again") or second.on > day:
                continue
            if _comes_after(first, event) and _comes_after(second, first):
                both = first.odometer and second.odometer
                km = int(second.odometer[:-2]) - int(first.odometer[:-2]) if both else 0
                stood = int(second.readings[0].figure[:-3]) if second.readings else 0
                if stood and first.on == second.on and first.at and second.at:
                    hours = int(second.at[:2]) - int(first.at[:2])  # every time here is on the hour
                    stood = min(stood, hours * 60) or -1
                found.add(True if stood >= 30 or km >= 40 else False if both or stood else None)
        return found

    for n in range(-2, 55):
        day = START + n * ONE_DAY
        ways = [answers(e, day) for e in happened if TAKEN_IN <= e.on <= day]
        open_ = any(True not in way for way in ways)
        assert said.lacks(day) is open_, day


@given(
    st.lists(st.tuples(days, times, st.booleans()), max_size=4),
    st.lists(st.tuples(st.sampled_from(("tightness", "gas-safety")), days, times), max_size=3),
)
def test_a_hose_fitted_waits_for_its_test(moves, checks) -> None:
    """Every hose fitted or taken off since the rule was taken in, whichever test comes after."""
    moved: list[Any] = [
        (Fit if fitted else TakeOff)(10 + n, "V01", "gas-hose", "locker", on, at)
        for n, (on, at, fitted) in enumerate(moves)
    ]
    done = [
        Check(20 + n, "V01", what, on, at, "pass", inspector=2, certificate="c")
        for n, (what, on, at) in enumerate(checks)
    ]
    facts = Facts(
        "V01",
        [VAN],
        fits=[m for m in moved if isinstance(m, Fit)],
        take_offs=[m for m in moved if isinstance(m, TakeOff)],
        checks=done,
        shared=SHARED,
    )
    said = Said(facts, "gas-hose-tested")
    for n in range(-2, 55):
        day = START + n * ONE_DAY
        told = any(
            TAKEN_IN <= m.on <= day and not any(c.on <= day and _comes_after(c, m) for c in done)
            for m in moved
        )
        assert said.lacks(day) is told, day


# --- idle days and walkarounds ---------------------------------------------------------------------


def _trips(drawn: list[tuple[int, int, bool]]) -> tuple[list[Hire], list[Out], list[Back]]:
    """Hires one after another: days idle before, days out, back at all."""
    hires, outs, backs = [], [], []
    day = START
    for n, (idle, length, back) in enumerate(drawn):
        out = day + idle * ONE_DAY
        home = out + length * ONE_DAY
        hires.append(Hire(100 + n, "V01", f"H{n}", out, home))
        outs.append(Out(200 + n, "V01", 100 + n, out, "n", "yes", 0, "d"))
        if not back:
            break
        backs.append(Back(300 + n, "V01", 100 + n, home))
        day = home
    return hires, outs, backs


@given(
    st.lists(st.tuples(st.integers(0, 20), st.integers(0, 12), st.booleans()), max_size=3),
    st.lists(days, max_size=3),
)
def test_idle_days_are_counted_one_by_one(drawn, flushed) -> None:
    """Counted from the day the rule was taken in, the last return or the last flush; more than
    seven and it is owed until somebody flushes."""
    hires, outs, backs = _trips(drawn)
    checks = [
        Check(400 + n, "V01", "flush", on, outcome="pass", by="n") for n, on in enumerate(flushed)
    ]
    facts = Facts("V01", [VAN], checks=checks, hires=hires, outs=outs, backs=backs)
    said = Said(facts, "water-flush")
    back_on = {back.hire: back.on for back in backs}
    idle, owed = 0, False
    for n in range(110):
        day = START + n * ONE_DAY
        away = any(o.on <= day < back_on.get(o.hire, dt.date.max) for o in outs)
        home_today = day in back_on.values()
        if day <= TAKEN_IN or away or home_today:
            idle = 0
        else:
            idle += 1
        if day >= TAKEN_IN and idle > 7:
            owed = True
        if day in flushed and day >= TAKEN_IN:
            idle, owed = 0, False
        assert said.lacks(day) is owed, day


@given(st.lists(days, min_size=1, max_size=2), st.integers(0, 60), st.lists(days, max_size=3))
def test_a_lay_up_owes_an_inspection_after_four_weeks(starts, length, inspected) -> None:
    """Told day by day: more than 28 days laid up without one, and it is owed until one is done."""
    start = max(min(starts), TAKEN_IN)
    back = start + (length + 1) * ONE_DAY
    checks = [
        Check(400 + n, "V01", "first-use", on, outcome="pass", by="n")
        for n, on in enumerate(inspected)
    ]
    facts = Facts("V01", [VAN], checks=checks, lay_ups=[LayUp(5, "V01", start, "w", back)])
    said = Said(facts, "first-use")
    stood, owed = 0, False
    for n in range(130):
        day = START + n * ONE_DAY
        if start < day < back:
            stood += 1
            owed = owed or stood > 28
        if day in inspected:
            stood, owed = 0, False
        assert said.lacks(day) is owed, day


@given(
    st.lists(st.tuples(days, times), max_size=3),
    st.lists(st.tuples(st.integers(0, 4), st.integers(0, 3), times, times), max_size=3),
)
def test_a_walkaround_serves_one_handover(walked, drawn) -> None:
    """Its day and the next, unless the van was handed over, or came back, after it; and all of the
    hire that it served."""
    checks = [
        Check(10 + n + 490 * (n % 2), "V01", "walkaround", on, at, by="n")
        for n, (on, at) in enumerate(walked)
    ]
    hires, outs, backs, day = [], [], [], START
    for n, (idle, length, out_at, back_at) in enumerate(drawn):
        out = day + idle * ONE_DAY
        day = out + length * ONE_DAY
        hires.append(Hire(100 + n, "V01", f"H{n}", out, day))
        outs.append(Out(200 + n, "V01", 100 + n, out, "n", "yes", 0, "d", out_at))
        backs.append(Back(300 + n, "V01", 100 + n, day, back_at))
    facts = Facts("V01", [VAN], checks=checks, hires=hires, outs=outs, backs=backs)

    said = Said(facts, "walkaround")

    def apart(handed: Any, check: Check) -> bool:
        """Of one day, with a time on only one of the two: nobody knows which came first."""
        return handed.on == check.on and bool(handed.at) != bool(check.at)

    def used_by(handed: Any, check: Check) -> bool:
        if handed.on != check.on:
            return bool(handed.on > check.on)
        if handed.at and check.at:
            return bool(handed.at > check.at)
        later = handed.number > check.number
        return bool(later or (apart(handed, check) and isinstance(handed, Out)))

    def used(check: Check, day: dt.date) -> bool:
        return any(h.on <= day and used_by(h, check) for h in (*outs, *backs))

    def stands(check: Check, day: dt.date) -> bool:
        """While the van is out that was handed over by it: the first handover since, of its day or
        the next, with no return that may have come between."""
        gone = [o for o in outs if o.on <= check.on + ONE_DAY and used_by(o, check)]
        if not gone:
            return False
        first = min(gone, key=lambda o: (o.on, o.number))
        if any(b.on <= first.on and (used_by(b, check) or apart(b, check)) for b in backs):
            return False
        last = next(b.on for b in backs if b.hire == first.hire)
        return check.on <= day < last

    for n in range(55):
        day = START + n * ONE_DAY
        told = not any(
            stands(check, day) or (check.on <= day <= check.on + ONE_DAY and not used(check, day))
            for check in checks
        )
        assert said.lacks(day) is told, day


# --- recalls, seasons, turnaround ------------------------------------------------------------------


@given(days, st.one_of(st.none(), days), st.one_of(st.none(), days))
def test_a_recall_stops_the_van_from_its_day_to_the_paper(on, do_by, done_on) -> None:
    """At once where no last day is given, else from the day after it; never after the paper."""
    facts = Facts(
        "V01",
        [VAN],
        recalls=[Recall(5, "V01", "R", on, "w", do_by is None or None, do_by)],
        recalls_done=[RecallDone(6, "V01", 5, done_on, "n", "c")] if done_on else [],
    )
    said = Said(facts, "recall")
    for n in range(55):
        day = START + n * ONE_DAY
        begun = day >= on and (do_by is None or day > do_by)
        closed = done_on is not None and day >= max(done_on, on)
        assert said.lacks(day) is (begun and not closed), day


@given(st.integers(0, 20), st.one_of(st.none(), days), st.booleans())
def test_a_paper_awaited_stops_the_van_after_28_days(began, came_on, withdrawn) -> None:
    """From the 29th day after the record on, never once its scan is kept or the record is gone."""
    on = START + began * ONE_DAY
    facts = Facts(
        "V01",
        [VAN],
        checks=[] if withdrawn else [Check(5, "V01", "chassis", on, outcome="pass", by="c")],
        scans=[Scan(6, "V01", 5, on)]
        + ([Scan(7, "V01", 5, came_on, "d" * 64, "pdf", 9)] if came_on else []),
    )
    said = Said(facts, "paper-awaited")
    for n in range(75):
        day = START + n * ONE_DAY
        over = (day - on).days > 28
        kept = came_on is not None and day >= max(came_on, on)
        assert said.lacks(day) is (over and not kept and not withdrawn), day


@pytest.mark.parametrize(
    ("country", "first", "last"), [("DE", (10, 1), (4, 30)), ("AT", (11, 1), (4, 15))]
)
@given(
    fitted=st.dates(dt.date(2019, 1, 1), dt.date(2024, 12, 31)),
    variety=st.sampled_from((None, "summer", "m+s", "alpine")),
    year=st.integers(2019, 2030),
    read=st.one_of(
        st.none(),
        st.tuples(
            st.dates(dt.date(2025, 1, 1), dt.date(2026, 12, 31)), st.sampled_from((3.9, 4, 8))
        ),
    ),
)
def test_a_season_is_a_matter_of_month_and_day(
    country, first, last, fitted, variety, year, read
) -> None:
    """In the season, from the day it is fitted on, the type must be one the country takes; in Austria
    4 mm of tread must have been read on it too."""
    facts = Facts(
        "V01",
        [VAN],
        fits=[
            Fit(10 + n, "V01", "tyre", place, fitted, variety=variety)
            for n, place in enumerate(("front-left", "front-right", "rear-left", "rear-right"))
        ],
        checks=[
            Check(
                20,
                "V01",
                "tyres",
                read[0],
                by="n",
                readings=tuple(
                    Reading("tread", place, f"{read[1]}mm")
                    for place in ("front-left", "front-right", "rear-left", "rear-right")
                ),
            )
        ]
        if read
        else [],
    )
    said = Said(facts, f"winter-tyres-{country.lower()}", Party(abroad=(country,)))
    good = {"DE": ("alpine",), "AT": ("alpine", "m+s")}[country]
    for n in range(365):
        day = dt.date(year, 1, 1) + n * ONE_DAY
        in_season = (day.month, day.day) >= first or (day.month, day.day) <= last
        worn = country == "AT" and (read is None or read[1] < 4 or read[0] > day)
        told = day < fitted or (in_season and (variety not in good or worn))
        assert said.lacks(day) is told, day


@given(days, st.integers(0, 9), days, st.integers(0, 9), st.integers(1, 4))
def test_turnaround_is_the_distance_between_two_sets_of_days(
    start, length, other, other_length, turnaround
) -> None:
    """Two hires clash when some day of one lies no more than so many days from one of the other."""
    one = [start + n * ONE_DAY for n in range(length + 1)]
    two = [other + n * ONE_DAY for n in range(other_length + 1)]
    near = any(abs((a - b).days) <= turnaround for a in one for b in two)

    assert clashing(Hire(1, "V01", "H", one[0], one[-1]), two[0], two[-1], turnaround) is near
