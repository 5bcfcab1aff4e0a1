"""The product's verdicts against a simulation, day by day, that shares no code with them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from typing import Any, NamedTuple

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import HealthCheck, Phase, find, given, settings
from hypothesis import strategies as st

from fleetcare import shipped
from fleetcare.records.facts import Facts
from fleetcare.records.kinds import Check, Defect, Fit, Reading, Recheck, SignOff, VanFacts
from fleetcare.rules.book import Book
from fleetcare.rules.judge import judge
from fleetcare.rules.outcome import AsOf, Judgement
from fleetcare.rules.read import read_book
from fleetcare.rules.rule import Terms
from tests.oracle import books, simulation
from tests.oracle.simulation import GOOD, LACKS, LATE

BOOK = read_book(shipped.rulebook_files())
BOOK = BOOK._replace(  # what asks for a check after an event was taken in after all of these books
    adopted=dict.fromkeys(BOOK.rules, dt.date(2100, 1, 1)), made={}
)
AS_OF = AsOf(1, "as shipped")
ONE_DAY = dt.timedelta(days=1)
NOT_SIMULATED = {
    "rack-inspection", "rack-rating",
    # Of kinds that are simulated by other rules; told by their cases in tests/cases.
    "lpg-tank-age", "refillable-bottle-age", "breathing", "flue", "co-alarm-mark", "sealant",
    "tyre-pressure",
}  # fmt: skip
# What happens in the yard, and what a party brings, is held against plain tellings of its own.
TOLD_ELSEWHERE = {
    rule.name
    for rule in BOOK.rules.values()
    if rule.kind
    in (
        "after",
        "recall",
        "licence",
        "season",
        "paper",
        "shown",
        "sheet",
        "people",
        "laden",
        "distance",
        "wear",
    )
} | {rule.name for rule in BOOK.rules.values() if rule.home.startswith("visiting/")}
MONTHS = (0, 1, 6, 10, 11, 12, 13, 14, 24, 27, 36, 60, 84, 120)


class Difference(NamedTuple):
    """A day on which the two do not say the same."""

    rule: str
    place: str | None
    day: dt.date
    expected: Any
    got: Any


def judged(facts: Facts, book: Book = BOOK) -> Judgement:
    """What the product says of a van."""
    return judge(facts, book, AS_OF)


def event_days(facts: Facts) -> set[dt.date]:
    """Every day written on any record."""
    found: set[dt.date] = set()
    for field in Facts._fields:
        rows = getattr(facts, field)
        for row in rows if isinstance(rows, list) else ():
            found.update(value for value in row if isinstance(value, dt.date))
    for paper in facts.shared.papers:
        found.update((paper.from_on, paper.last_day))
    return found


def telling_days(
    facts: Facts, said: Judgement, rules: Iterable[str], close: bool = False
) -> list[dt.date]:
    """The days on which something changes, may change or did change, and their neighbours.

    Close: only the days written on a record and those on which the product changes its mind.
    """
    events = event_days(facts)
    first, last = min(events) - ONE_DAY, max(events) + relativedelta(months=14 if close else 30)
    found = {e + relativedelta(months=m) for e in events for m in ((0,) if close else MONTHS)}
    for outcome in said.outcomes:
        if outcome.rule.name in rules:
            found.update(s.start for s in outcome.timeline.steps if first <= s.start <= last)
    near = {d + n * ONE_DAY for d in found for n in (-1, 0, 1) if first <= d <= last}
    return sorted(near)


def compared(
    facts: Facts, rules: tuple[str, ...], book: Book = BOOK, hire: bool = False,
    service: bool = False, close: bool = False,
) -> Iterator[Difference]:  # fmt: skip
    """Every day on which a verdict, or the whole, is not the one the simulation gives."""
    said = judged(facts, book)
    lines = {(o.rule.name, o.place): o.timeline for o in said.outcomes if o.rule.name in rules}
    hires = said.hireable_days()
    for day in telling_days(facts, said, rules, close):
        ours = simulation.day_of(facts, day, rules)
        for name, place in {**lines, **ours}:
            line = lines.get((name, place))
            got = int(line.at(day).verdict) if line else GOOD
            expected = ours.get((name, place), GOOD)
            if got != expected:
                yield Difference(name, place, day, expected, got)
        if hire and (day in hires) != simulation.hireable(facts, day, ours):
            yield Difference("hireable", None, day, day not in hires, day in hires)
        on_fleet = said.service is not None and day in said.service
        if service and on_fleet != simulation.service_on(facts, day):
            yield Difference("service", None, day, not on_fleet, on_fleet)


def without(facts: Facts) -> Iterator[Facts]:
    """The same van with one record fewer, each in turn."""
    for field in Facts._fields:
        rows = getattr(facts, field)
        for place in range(len(rows)) if isinstance(rows, list) else ():
            if field != "stated" or place:
                fewer: dict[str, Any] = {field: [*rows[:place], *rows[place + 1 :]]}
                yield facts._replace(**fewer)


def smallest(
    facts: Facts, found: Difference, rules: tuple[str, ...], more: dict[str, Any]
) -> tuple[Facts, Difference]:
    """The fewest records of a van on which the same rule still differs."""
    for fewer in without(facts):
        still = next((d for d in compared(fewer, rules, **more) if d.rule == found.rule), None)
        if still:
            return smallest(fewer, still, rules, more)
    return facts, found


def agrees(facts: Facts, rules: tuple[str, ...], **more: Any) -> None:
    """No day differs; the first that does is shown, on as few records as show it."""
    found = next(compared(facts, rules, **more), None)
    if found:
        few, shown = smallest(facts, found, rules, more)
        listed = [value for value in few if isinstance(value, list)]
        rows = [row for rows in listed for row in rows]
        told = [
            (type(row).__name__, {k: v for k, v in row._asdict().items() if v is not None})
            for row in rows
        ]
        pytest.fail("\n".join(str(line) for line in (shown, *told)), pytrace=False)


TESTS = ("roadworthiness-test", "living-van-test", "open-defects")
GAS = ("gas-safety-check", "open-defects", "appliance-fitted")
SERVICES = (
    "habitation-service", "chassis-service", "water-disinfection", "brake-fluid",
    "electrical-inspection", "open-defects",
)  # fmt: skip
AGES = (
    "smoke-alarm-age", "co-alarm-age", "gas-alarm-age", "gas-hose-age", "gas-hose-mark", "regulator-age",
    "fire-blanket", "first-aid-kit", "rcd-fitted", "hook-up-lead", "appliance-fitted",
)  # fmt: skip
TYRES = (
    "tyre-age", "spare-age", "tyre-ban", "tyre-ban-minibus", "tyre-load", "tyre-tread",
    "spare-tread", "tread-to-go-out",
)  # fmt: skip
FIRE = (
    "extinguisher-service", "extinguisher-extended-service", "extinguisher-overhaul-due",
    "extinguisher-age", "sealed-extinguisher", "extinguisher-gauge", "open-defects",
)  # fmt: skip
YARD = (
    "open-defects", "hold", "insurance", "vehicle-tax", "damp", "rcd-test",
    "insulation-resistance", "gas-tightness", "height-notice", "fire-blanket-state",
    "first-aid-kit-state", "fire-blanket", "first-aid-kit",
)  # fmt: skip

# What is found is made small by `agrees`, which knows what a record is and is quicker.
SMALL = settings(
    deadline=None,
    derandomize=True,
    max_examples=100,
    database=None,
    phases=[Phase.generate],
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)


def test_every_rule_is_simulated() -> None:
    """The simulation has an opinion on every shipped rule but those of the bike rack, some of kinds
    that it tells by other rules, and those of the yard, which tests/oracle/test_yard.py tells."""
    assert set(simulation.RULES) | NOT_SIMULATED | TOLD_ELSEWHERE == {
        name for _, name in BOOK.rules
    }
    assert not set(simulation.RULES) & TOLD_ELSEWHERE


@SMALL
@given(books.test_books())
def test_roadworthiness(facts: Facts) -> None:
    """Tests passed, failed, early, late and printed short or long stand alike on every day."""
    agrees(facts, TESTS)


@SMALL
@given(books.gas_books())
def test_gas(facts: Facts) -> None:
    """Gas checks, lapsed cards, results and partial sign-offs stand alike on every day."""
    agrees(facts, GAS)


@SMALL
@given(books.gas_books(mixed=True))
def test_gas_by_appliance(facts: Facts) -> None:
    """Appliances that come late or are checked apart stand alike, each by its own checks."""
    agrees(facts, GAS)


@SMALL
@given(books.service_books())
def test_services(facts: Facts) -> None:
    """Services with stop days and electrical inspections stand alike on every day."""
    agrees(facts, SERVICES)


@SMALL
@given(books.aged_books())
def test_ages(facts: Facts) -> None:
    """Things fitted, swapped and put back under any marking stand alike on every day."""
    agrees(facts, AGES)


@SMALL
@given(books.tyre_books())
def test_tyres(facts: Facts) -> None:
    """Age, load and tread of tyres that come and go stand alike on every day."""
    agrees(facts, TYRES)


@SMALL
@given(books.fire_books())
def test_extinguishers(facts: Facts) -> None:
    """Extinguishers of every sort, serviced by the competent and others, stand alike."""
    agrees(facts, FIRE)


@SMALL
@given(books.yard_books())
def test_yard(facts: Facts) -> None:
    """Defects, holds, papers, readings and the height notice stand alike on every day."""
    agrees(facts, YARD, service=True)


@settings(SMALL, max_examples=40)
@given(books.whole_books())
def test_whole_van(facts: Facts) -> None:
    """A whole van, every rule of it, and whether it may go out, are told alike."""
    agrees(facts, simulation.RULES, hire=True, close=True)


WRONG_TERMS: list[tuple[str, dict[str, Any], st.SearchStrategy[Facts], tuple[str, ...]]] = [
    ("habitation-service", {"months": 13}, books.service_books(), SERVICES),
    ("habitation-service", {"stop_months": 14}, books.service_books(), SERVICES),
    ("electrical-inspection", {"months": 13}, books.service_books(), SERVICES),
    ("roadworthiness-test", {"months": 13}, books.test_books(), TESTS),
    ("roadworthiness-test", {"ends": "anniversary"}, books.test_books(), TESTS),
    ("roadworthiness-test", {"early_months": 2}, books.test_books(), TESTS),
    ("gas-safety-check", {"early_months": 3}, books.gas_books(), GAS),
    ("gas-hose-age", {"months": 61}, books.aged_books(), AGES),
    ("tyre-age", {"months": 85}, books.tyre_books(), TYRES),
    ("extinguisher-service", {"months": 13}, books.fire_books(), FIRE),
    ("open-defects", {"recheck_days": 29}, books.yard_books(), YARD),
    ("open-defects", {"late_days": 29}, books.yard_books(), YARD),
]


@pytest.mark.parametrize(("name", "terms", "made_up", "rules"), WRONG_TERMS)
def test_a_wrong_term_is_found(
    name: str,
    terms: dict[str, Any],
    made_up: st.SearchStrategy[Facts],
    rules: tuple[str, ...],
) -> None:
    """A rule whose last version is wrong by one month or one day is told apart from the right."""
    rule = next(rule for rule in BOOK.rules.values() if rule.name == name)
    assert set(terms) <= set(rule.versions[-1].terms)
    *older, last = rule.versions
    wrong_rule = rule._replace(
        versions=(*older, last._replace(terms=Terms({**last.terms, **terms})))
    )
    wrong = BOOK._replace(
        digest=f"wrong {terms}", rules={**BOOK.rules, rule.key: wrong_rule}, made={}
    )

    def differs(facts: Facts) -> bool:
        return any(d.rule == name for d in compared(facts, (name,), book=wrong))

    few = settings(SMALL, max_examples=200)
    find(made_up, differs, settings=few)


# --- one case each, written out -------------------------------------------------------------------

ON = dt.date


def one_case(
    rule: str, place: str | None, expected: dict[dt.date, int], said: dict[str, Any], **rows: Any
) -> None:
    """One van, some days, and what simulation and product must both say on them."""
    stated = [books.of_van(**said), *rows.pop("stated", [])]
    facts = Facts(books.VAN, stated=stated, shared=books.SHARED, **rows)
    ours = {day: simulation.verdict(rule, facts, place, day) for day in expected}
    assert ours == expected
    line = next(
        o.timeline for o in judged(facts).outcomes if (o.rule.name, o.place) == (rule, place)
    )
    assert {day: int(line.at(day).verdict) for day in expected} == expected


def gas(number: int, on: dt.date, outcome: str = "pass", **results: str) -> Check:
    """A gas check by somebody on the register."""
    readings = tuple(Reading("result", place, word) for place, word in results.items())
    return Check(
        number, books.VAN, "gas-safety", on, outcome=outcome, inspector=2, by="n",
        certificate=f"G{number}", readings=readings,
    )  # fmt: skip


def done(number: int, what: str, on: dt.date, outcome: str | None = "pass", **more: Any) -> Check:
    """A check by somebody named."""
    return Check(number, books.VAN, what, on, outcome=outcome, **{"by": "n", **more})


def put(number: int, what: str, place: str, on: dt.date, **more: Any) -> Fit:
    """A component put into a place."""
    return Fit(number, books.VAN, what, place, on, **more)


HOB_AND_HEATER = [
    put(5, "appliance", "hob", ON(2019, 1, 1)),
    put(6, "appliance", "heater", ON(2019, 1, 1)),
]
WITH_GAS = {"lpg": True, "places": ("appliance:hob", "appliance:heater", "gas-hose:")}


def test_a_pass_of_some_appliances_closes_no_fail() -> None:
    """An unsafe hob is not made safe by a check that passes the heater and names no hob."""
    checks = [
        gas(9, ON(2020, 1, 1)),
        gas(10, ON(2020, 2, 1), "fail", hob="unsafe", heater="pass"),
        gas(11, ON(2020, 3, 1), heater="pass"),
    ]
    one_case(
        "gas-safety-check", None, {ON(2020, 1, 31): GOOD, ON(2020, 3, 1): LACKS},
        WITH_GAS, fits=HOB_AND_HEATER, checks=checks,
    )  # fmt: skip


def test_an_advisory_is_no_item_of_a_fail() -> None:
    """Signing off the isolated heater does not close the fail of the unsafe hob."""
    one_case(
        "gas-safety-check", None, {ON(2020, 2, 5): LACKS}, WITH_GAS, fits=HOB_AND_HEATER,
        checks=[gas(9, ON(2020, 1, 1)),
                gas(10, ON(2020, 2, 1), "fail", hob="unsafe", heater="isolated")],
        defects=[Defect(11, books.VAN, ON(2020, 2, 1), "advisory", "heater isolated", check=10)],
        sign_offs=[SignOff(12, books.VAN, 11, ON(2020, 2, 5), inspector=2, by="n")],
    )  # fmt: skip


def test_an_open_advisory_keeps_no_fail_open() -> None:
    """A fail is closed once its items are signed off, whatever was only advised beside them."""
    one_case(
        "gas-safety-check", None, {ON(2020, 2, 4): LACKS, ON(2020, 2, 5): GOOD}, WITH_GAS,
        checks=[gas(9, ON(2020, 1, 1)), gas(10, ON(2020, 2, 1), "fail")],
        defects=[
            Defect(11, books.VAN, ON(2020, 2, 1), "major", "w", check=10),
            Defect(13, books.VAN, ON(2020, 2, 1), "advisory", "w", check=10,
                   recheck_by=ON(2021, 1, 1)),
        ],
        sign_offs=[SignOff(12, books.VAN, 11, ON(2020, 2, 5), inspector=2, by="n")],
    )  # fmt: skip


def test_a_check_of_one_appliance_renews_no_other() -> None:
    """A heater whose own check ran out starts its twelve months anew on the day it is checked."""
    checks = [
        gas(9, ON(2019, 6, 1)), gas(10, ON(2020, 3, 10), hob="pass"), gas(11, ON(2021, 2, 1)),
    ]  # fmt: skip
    one_case(
        "gas-safety-check", None,
        {ON(2020, 6, 1): GOOD, ON(2020, 6, 2): LACKS, ON(2021, 2, 1): GOOD,
         ON(2022, 2, 1): GOOD, ON(2022, 2, 2): LACKS},
        WITH_GAS, fits=HOB_AND_HEATER, checks=checks,
    )  # fmt: skip


def test_an_item_is_signed_off_by_the_registered() -> None:
    """An item of a failed gas check is not closed by somebody without a register number."""
    one_case(
        "gas-safety-check", None, {ON(2020, 2, 5): LACKS}, WITH_GAS,
        checks=[gas(9, ON(2020, 1, 1)), gas(10, ON(2020, 2, 1), "fail")],
        defects=[Defect(11, books.VAN, ON(2020, 2, 1), "major", "w", check=10)],
        sign_offs=[SignOff(12, books.VAN, 11, ON(2020, 2, 5), inspector=6, by="n")],
    )  # fmt: skip


def test_a_stamp_closes_no_fail() -> None:
    """A stamp seen in the service book is nobody's pass, and a fail stays open past it."""
    one_case(
        "habitation-service", None, {ON(2020, 3, 1): LACKS, ON(2020, 4, 1): LACKS}, {},
        checks=[done(10, "habitation", ON(2020, 1, 1)),
                done(11, "habitation", ON(2020, 3, 1), "fail"),
                done(12, "habitation", ON(2020, 4, 1), "seen", by=None)],
    )  # fmt: skip


@pytest.mark.parametrize("grade", ["dangerous", "major", "minor"])
def test_a_defect_found_at_a_pass_is_signed_off(grade: str) -> None:
    """A defect found at a service that passed outlives the next one until it is signed off."""
    one_case(
        "open-defects", "#11", {ON(2021, 3, 1): LACKS, ON(2021, 3, 2): GOOD}, {},
        checks=[done(10, "habitation", ON(2020, 1, 1)), done(12, "habitation", ON(2020, 6, 1))],
        defects=[Defect(11, books.VAN, ON(2020, 1, 1), grade, "w", check=10)],
        sign_offs=[SignOff(13, books.VAN, 11, ON(2021, 3, 2), by="n")],
    )  # fmt: skip


def test_a_late_recheck_leaves_the_days_before_it() -> None:
    """A minor defect is late for 28 days after its recheck day and then stops hire, until it is
    looked at again."""
    one_case(
        "open-defects", "#11",
        {ON(2020, 1, 29): GOOD, ON(2020, 1, 30): LATE, ON(2020, 2, 26): LATE,
         ON(2020, 2, 27): LACKS, ON(2020, 3, 9): LACKS, ON(2020, 3, 10): GOOD,
         ON(2020, 4, 1): GOOD, ON(2020, 4, 2): LATE, ON(2020, 4, 29): LATE,
         ON(2020, 4, 30): LACKS},
        {},
        defects=[Defect(11, books.VAN, ON(2020, 1, 1), "minor", "w")],
        rechecks=[Recheck(12, books.VAN, 11, ON(2020, 3, 10), ON(2020, 4, 1), "n")],
    )  # fmt: skip


def test_an_advisory_is_a_caution_however_long() -> None:
    """An advisory nobody looked at again is late and never stops hire."""
    one_case(
        "open-defects", "#11",
        {ON(2020, 1, 29): GOOD, ON(2020, 1, 30): LATE, ON(2030, 1, 1): LATE}, {},
        defects=[Defect(11, books.VAN, ON(2020, 1, 1), "advisory", "w")],
    )  # fmt: skip


def test_a_signature_before_the_fault_releases_nothing() -> None:
    """What was found at 14:00 was not signed off at 10:00 of that day."""
    one_case(
        "open-defects", "#11", {ON(2020, 2, 1): LACKS, ON(2020, 2, 2): LACKS}, {},
        defects=[Defect(11, books.VAN, ON(2020, 2, 1), "dangerous", "w", at="14:00")],
        sign_offs=[SignOff(12, books.VAN, 11, ON(2020, 2, 1), at="10:00", by="n")],
    )  # fmt: skip


def test_a_good_reading_is_somebody_s() -> None:
    """A tread read too low stays so past a good reading that names nobody."""
    tyre = put(5, "tyre", "front-left", ON(2019, 1, 1), made="2218", cold_pressure="40psi")
    low, good = (Reading("tread", "front-left", depth) for depth in ("1.5mm", "5mm"))
    one_case(
        "tyre-tread", "front-left", {ON(2020, 1, 1): LACKS, ON(2020, 2, 1): LACKS}, {},
        fits=[tyre],
        checks=[done(10, "tyres", ON(2020, 1, 1), None, readings=(low,)),
                done(11, "tyres", ON(2020, 2, 1), None, by=None, readings=(good,))],
    )  # fmt: skip


def test_a_van_may_come_back_on_fleet() -> None:
    """A van that left and came back was on fleet before and is again, and not between."""
    facts = Facts(
        books.VAN,
        stated=[books.of_van(in_service_from=ON(2018, 1, 1), out_of_service_from=ON(2020, 1, 1)),
                VanFacts(20, books.VAN, on=ON(2021, 1, 1), in_service_from=ON(2021, 1, 5))],
    )  # fmt: skip
    expected = {ON(2019, 12, 31): True, ON(2020, 1, 1): False, ON(2021, 1, 4): False,
                ON(2021, 1, 5): True}  # fmt: skip
    assert {day: simulation.service_on(facts, day) for day in expected} == expected
    service = judged(facts).service
    assert {day: service is not None and day in service for day in expected} == expected


def test_a_test_on_the_last_day_keeps_the_anniversary() -> None:
    """A test passed on the very last day is not late: it ends on that day twelve months on."""
    one_case(
        "roadworthiness-test", None,
        {ON(2020, 4, 30): GOOD, ON(2021, 4, 30): GOOD, ON(2021, 5, 1): LACKS},
        {"first_registered_on": ON(2017, 5, 1)},
        checks=[done(10, "roadworthiness", ON(2020, 4, 30), by=None, certificate="T1")],
    )  # fmt: skip


def test_an_empty_axle_lacks_whatever_its_mass() -> None:
    """No plated mass that could be said makes up for a tyre that is not there."""
    one_case("tyre-load", "front axle", {ON(2020, 1, 1): LACKS}, {"front_axle_mass": None})


def test_an_extinguisher_counts_from_commissioning() -> None:
    """Twenty years run from the day it was commissioned, where that was recorded."""
    thing = put(5, "extinguisher", "door", ON(2001, 2, 1), made="2000", commissioned="2001-01-03",
                variety="powder")  # fmt: skip
    one_case(
        "extinguisher-age", "door", {ON(2021, 1, 2): GOOD, ON(2021, 1, 3): LACKS}, {},
        fits=[thing],
    )  # fmt: skip
