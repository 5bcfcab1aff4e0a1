"""The product's verdicts against a simulation, day by day, that shares no code with them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from typing import Any, NamedTuple

from dateutil.relativedelta import relativedelta
from hypothesis import given, settings

from fleetcare import shipped
from fleetcare.records.facts import Facts
from fleetcare.rules.book import Book
from fleetcare.rules.judge import judge
from fleetcare.rules.outcome import AsOf, Judgement
from fleetcare.rules.read import read_book
from tests.oracle import books, simulation

BOOK = read_book(shipped.rulebook_files())
AS_OF = AsOf(1, "as shipped")
ONE_DAY = dt.timedelta(days=1)
NOT_SIMULATED = ("rack-inspection", "rack-rating")
TELLING_MONTHS = (0, 1, 6, 10, 11, 12, 13, 14, 24, 27, 36, 60, 84, 120)


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
    found = set()
    for field in Facts._fields:
        rows = getattr(facts, field)
        for row in rows if isinstance(rows, list) else ():
            found.update(value for value in row if isinstance(value, dt.date))
    for paper in facts.shared.papers:
        found.update((paper.from_on, paper.last_day))
    return found


def telling_days(facts: Facts, said: Judgement, rules: Iterable[str]) -> list[dt.date]:
    """The days on which something changes, may change or did change, and their neighbours."""
    events = event_days(facts)
    first, last = min(events) - ONE_DAY, max(events) + relativedelta(months=30)
    found = {e + relativedelta(months=m) for e in events for m in TELLING_MONTHS}
    for outcome in said.outcomes:
        if outcome.rule.name in rules:
            found.update(s.start for s in outcome.timeline.steps if first <= s.start <= last)
    near = {d + n * ONE_DAY for d in found for n in (-1, 0, 1) if first <= d <= last}
    return sorted(near)


def compared(
    facts: Facts, rules: tuple[str, ...], book: Book = BOOK, days: list[dt.date] | None = None,
    hire: bool = False,
) -> Iterator[Difference]:
    """Every day on which a verdict, or the whole, is not the one the simulation gives."""
    said = judged(facts, book)
    lines = {(o.rule.name, o.place): o.timeline for o in said.outcomes
             if o.rule.name in rules}  # fmt: skip
    hires = said.hireable_days()
    for day in telling_days(facts, said, rules) if days is None else days:
        ours = simulation.day_of(facts, day, rules)
        for name, place in {**lines, **ours}:
            line = lines.get((name, place))
            got = int(line.at(day).verdict) if line else simulation.GOOD
            expected = ours.get((name, place), simulation.GOOD)
            if got != expected:
                yield Difference(name, place, day, expected, got)
        if hire:
            expected_hire = simulation.hireable(facts, day)
            if (day in hires) != expected_hire:
                yield Difference("hireable", None, day, expected_hire, day in hires)


def agrees(facts: Facts, rules: tuple[str, ...], **more: Any) -> None:
    """No day differs; the first that does is shown."""
    found = next(compared(facts, rules, **more), None)
    assert found is None, f"{found}\n{facts}"


def of(*names: str) -> tuple[str, ...]:
    """These rules, all of which the simulation knows."""
    assert set(names) <= set(simulation.RULES)
    return names


SMALL = settings(deadline=None, derandomize=True, max_examples=60, print_blob=True)


def test_every_rule_is_simulated() -> None:
    """The simulation has an opinion on every shipped rule but the two about the bike rack."""
    assert set(simulation.RULES) | set(NOT_SIMULATED) == set(BOOK.rules)


@SMALL
@given(books.test_books())
def test_roadworthiness(facts: Facts) -> None:
    """Tests passed, failed, early, late and printed short or long stand alike on every day."""
    agrees(facts, of("roadworthiness-test", "open-defects"))


@SMALL
@given(books.gas_books())
def test_gas(facts: Facts) -> None:
    """Gas checks, lapsed cards, appliances and partial sign-offs stand alike on every day."""
    agrees(facts, of("gas-safety-check", "open-defects", "appliance-fitted"))


@SMALL
@given(books.service_books())
def test_services(facts: Facts) -> None:
    """Services with stop days and electrical inspections stand alike on every day."""
    agrees(facts, of("habitation-service", "chassis-service", "water-disinfection",
                     "brake-fluid", "electrical-inspection", "open-defects"))  # fmt: skip


@SMALL
@given(books.aged_books())
def test_ages(facts: Facts) -> None:
    """Things fitted, swapped and put back under any marking stand alike on every day."""
    agrees(facts, of("smoke-alarm-age", "co-alarm-age", "gas-alarm-age", "gas-hose-age",
                     "regulator-age", "fire-blanket", "first-aid-kit", "rcd-fitted",
                     "hook-up-lead", "appliance-fitted"))  # fmt: skip


@SMALL
@given(books.tyre_books())
def test_tyres(facts: Facts) -> None:
    """Age, load and tread of tyres that come and go stand alike on every day."""
    agrees(facts, of("tyre-age", "tyre-load", "tyre-tread", "tread-to-go-out"))


@SMALL
@given(books.fire_books())
def test_extinguishers(facts: Facts) -> None:
    """Extinguishers of every sort, serviced by the competent and others, stand alike."""
    agrees(facts, of("extinguisher-service", "extinguisher-extended-service",
                     "extinguisher-overhaul-due", "extinguisher-age", "sealed-extinguisher",
                     "extinguisher-gauge", "open-defects"))  # fmt: skip


@SMALL
@given(books.yard_books())
def test_yard(facts: Facts) -> None:
    """Defects, holds, papers, readings and the height notice stand alike on every day."""
    agrees(facts, of("open-defects", "hold", "insurance", "vehicle-tax", "damp", "rcd-test",
                     "insulation-resistance", "gas-tightness", "height-notice",
                     "fire-blanket-state", "first-aid-kit-state", "fire-blanket",
                     "first-aid-kit"))  # fmt: skip


@settings(SMALL, max_examples=25)
@given(books.whole_books())
def test_whole_van(facts: Facts) -> None:
    """A whole van, every rule of it, and whether it may go out, are told alike."""
    agrees(facts, simulation.RULES, hire=True)
