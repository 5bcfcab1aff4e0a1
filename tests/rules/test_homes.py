"""Homes: what binds every van, what binds those of one home, and a van nobody gave a home."""

from __future__ import annotations

import datetime as dt
from typing import Any

from fleetcare.hire.answer import decision
from fleetcare.hire.ask import Ask
from fleetcare.records.facts import Facts
from fleetcare.records.kinds import Defect, Event, Hold, Recall, VanFacts
from fleetcare.rules.book import FIRM, Book
from fleetcare.rules.judge import judge
from fleetcare.rules.outcome import AsOf, Judgement
from fleetcare.rules.read import read_book, try_book
from fleetcare.shipped import rulebook_files

DAY = dt.date(2026, 8, 1)
SOURCE = {"title": "law of an island", "clause": "1", "grade": "law", "seen": "read"}
PAPER = {
    "title": "island paper", "kind": "dated", "checks": ["insurance"], "blocks": "yes",
    "starts": "must exist", "needs_van": False, "by": {"who": "paper"},
    "remedy": {"sort": "check", "what": "insurance"}, "if_out": "Ring us.",
    "version": [{"from": dt.date(2000, 1, 1), "old_checks": "keep", "source": SOURCE}],
}  # fmt: skip
ISLAND = {
    "isle/things.toml": {
        "jurisdiction": {"title": "an island", "reviewed_on": DAY, "caution": "An invented one."}
    },
    # A name that Great Britain has too.
    "isle/road.toml": {"rule": {"insurance": PAPER}},
}


def island(**more: Any) -> Book:
    """The package's rules with a second home, by files alone."""
    return read_book({**rulebook_files(), **ISLAND, **more})._replace(made={})


def judged(book: Book, *stated: VanFacts, **records: Any) -> Judgement:
    """A van of these records under a book."""
    return judge(Facts("V01", list(stated), **records), book, AsOf(1, ""))


def said(home: str | None, on: dt.date | None = None, number: int = 1) -> VanFacts:
    """A van on fleet under a home, without gas, mains or rack."""
    return VanFacts(
        number, "V01", on, jurisdiction=home, in_service_from=dt.date(2020, 1, 1), lpg=False,
        mains=False, rack=False, gas_alarm=False,
    )  # fmt: skip


def test_a_second_home_comes_by_files_alone() -> None:
    """Holds, defects, recalls and what happened stop a van of any home; the laws of another do
    not bind it."""
    book = island()
    van = judged(
        book, said("isle"),
        holds=[Hold(2, "V01", DAY, "x")], defects=[Defect(3, "V01", DAY, "dangerous", "x")],
        recalls=[Recall(4, "V01", "R1", DAY, "x", True)], events=[Event(5, "V01", "knock", DAY)],
    )  # fmt: skip
    bad = {o.rule.name for o in van.outcomes if o.bad_steps(DAY, DAY, Ask(DAY, DAY, DAY).party)}

    assert {"hold", "open-defects", "recall", "event-inspection", "insurance"} <= bad
    assert {o.rule.home for o in van.outcomes} == {"common", "isle"}
    assert book.rule("insurance", "isle") is not book.rule("insurance", "gb")
    assert book.homes.keys() == {"gb", "isle"}


def test_a_van_of_the_first_home_is_judged_as_before() -> None:
    """A second home changes nothing for a van of the first."""
    one, two = judged(read_book(rulebook_files()), said("gb")), judged(island(), said("gb"))

    assert [(o.rule.key, o.place, o.line) for o in one.outcomes] == [
        (o.rule.key, o.place, o.line) for o in two.outcomes
    ]


def test_a_van_that_moves_home_is_under_each_on_its_days() -> None:
    """The rules of a home bind from the day it is stated on."""
    moved = dt.date(2026, 5, 1)
    van = judged(island(), said("gb"), said("isle", moved, 2))
    lines = {o.rule.key: o for o in van.outcomes}
    before, after = moved - dt.timedelta(days=1), moved

    assert lines["gb", "insurance"].at(before).code == "no record"
    assert lines["gb", "insurance"].at(after).code == "not applicable"
    assert lines["isle", "insurance"].at(before).code == "not applicable"
    assert lines["isle", "insurance"].at(after).code == "no record"


def test_nobodys_roads_are_never_a_yes() -> None:
    """On every day without a stated home the answer is cannot say, whatever rules are in use."""
    for book, home in ((island(), None), (island(), "nowhere"), (_empty(), None)):
        van = judged(book, said(home))
        found = decision(van, Ask(DAY, DAY, DAY))

        assert found.hireable in ("no", "cannot say")
        assert ("home", "cannot say") in [(b.rule, b.standing) for b in found.blocking]
        assert van.hireable_days().empty


def _empty() -> Book:
    """A book with no rule at all: nothing in it could stop a van."""
    book = read_book(rulebook_files())
    return book._replace(rules={}, made={})


def test_names_are_told_apart_by_home() -> None:
    """What binds every home shares its name with no rule of one; a firm's change without a home
    touches each of a name, with one only that."""
    clash = {"isle/more.toml": {"rule": {"hold": PAPER}}}
    change = {
        "rule": "insurance", "from": dt.date(2026, 9, 1), "old_checks": "keep", "why": "ours",
    }  # fmt: skip
    _, problems = try_book({**rulebook_files(), **ISLAND, **clash})
    both = island(**{FIRM: {"change": [change]}})
    one = island(**{FIRM: {"change": [{**change, "home": "isle"}]}})
    _, nobodys = try_book({**rulebook_files(), FIRM: {"change": [{**change, "home": "isle"}]}})

    assert [str(p) for p in problems] == ['rule hold: stands under "common" and under isle too']
    assert [len(both.rules[home, "insurance"].versions) for home in ("gb", "isle")] == [2, 2]
    assert [len(one.rules[home, "insurance"].versions) for home in ("gb", "isle")] == [1, 2]
    assert [str(p) for p in nobodys] == [
        'firm: change[1].rule: names "insurance", which is no rule of "isle" here'
    ]
