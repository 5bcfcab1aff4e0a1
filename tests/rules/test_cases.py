"""Every shipped version of every rule is proved by cases a mechanic can read.

A case is a sentence, the commands as they are typed, and how the rule stands on each of a few
days. The files lie in tests/cases, one a rule file of the rulebook.
"""

from __future__ import annotations

import datetime as dt
import tomllib
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from fleetcare.desk import questions, rulebook
from fleetcare.rules.book import Book
from fleetcare.rules.judge import with_party
from fleetcare.rules.party import NO_BIKES, Party, Shown
from tests.typed import typed, typed_all

_FOLDER = Path(__file__).parent.parent / "cases"
_KEYS = {
    "party",
    "licence",
    "abroad",
    "people",
    "children",
    "drivers",
    "sheets",
    "load",
    "rule",
    "version",
    "says",
    "source",
    "van",
    "records",
    "place",
    "stands",
    "stops",
    "last",
    "shows",
}
_OF_PARTY = {"party", "licence", "abroad", "people", "children", "drivers", "sheets", "load"}
_SHOWS = {"last day", "day after", "change-over"}


def _cases() -> list[Any]:
    found = []
    for path in sorted(_FOLDER.glob("*/*.toml")):
        for number, case in enumerate(tomllib.loads(path.read_text("utf-8"))["case"], 1):
            found.append(pytest.param(case, id=f"{path.stem}-{number}-{case['rule']}"))
    return found


CASES = _cases()


@pytest.mark.parametrize("case", CASES)
def test_case(case: dict[str, Any], early: str) -> None:
    """The rule stands on each day as the case says."""
    assert set(case) <= _KEYS
    assert case["source"] and case["says"]
    ready = early
    typed(
        ready, f"van add V01 --jurisdiction gb --in-service-from 2000-01-01 {case.get('van', '')}"
    )
    typed_all(ready, case["records"])

    if _OF_PARTY & set(case):
        for day, standing in case["stands"]:
            assert _for_party(ready, case, day) == [standing], day
        return
    for day, standing in case["stands"]:
        found = [
            w
            for w in questions.why_rule(ready, "V01", case["rule"], day)
            if w.rule == case["rule"] and w.place == case.get("place")
        ]
        assert [w.standing for w in found] == [standing], (day, found)
    for day, stops in case.get("stops", ()):
        assert _stops(ready, case, day) == [stops], day
    if "last" in case:
        on, last = case["last"]
        found = [
            w
            for w in questions.why_rule(ready, "V01", case["rule"], on)
            if w.rule == case["rule"] and w.place == case.get("place")
        ]
        assert [w.last_good_day for w in found] == [last]


def _stops(place: str, case: dict[str, Any], day: dt.date) -> list[bool]:
    """Whether a rule stops a hire of a day."""
    with questions.asking(place) as asked:
        return [
            bool(o.bad_steps(day, day, NO_BIKES))
            for o in asked.judged("V01").outcomes
            if o.rule.name == case["rule"] and o.place == case.get("place")
        ]


def _for_party(place: str, case: dict[str, Any], day: dt.date) -> list[str]:
    """How a rule that is judged only for a party stands on a day."""
    with questions.asking(place) as asked:
        party = Party(
            *case.get("party", ()),
            licence=case.get("licence"),
            abroad=tuple(case.get("abroad", ())),
            people=case.get("people"),
            children=case.get("children"),
            drivers=tuple(Shown(*one) for one in case.get("drivers", ())),
            sheets=tuple((what, on) for what, on in case.get("sheets", ())),
            **{name: Decimal(figure) for name, figure in case.get("load", {}).items()},
        )
        judged = with_party(asked.judged("V01"), party)
        return [
            o.standing(o.at(day))
            for o in judged.outcomes
            if o.rule.name == case["rule"] and o.place == case.get("place")
        ]


@pytest.fixture(scope="module")
def book() -> Book:
    """The program's own rules."""
    return rulebook.in_use(None)


def test_every_version_has_its_cases(book: Book) -> None:
    """Each version has a last good day, the day after, and the change-over to it."""
    shown: dict[tuple[str, str], set[str]] = {}
    for param in CASES:
        case = param.values[0]
        key = (case["rule"], case["version"].isoformat())
        shown.setdefault(key, set()).update(case["shows"])
    # What every country's file shares is written once: the cases of one country prove it for all.
    for (name, began), found in list(shown.items()):
        if name.endswith("-de") and began != "2017-06-01":
            for rule in book.rules.values():
                if rule.name[:-3] == name[:-3] and rule.home.startswith("visiting/"):
                    shown.setdefault((rule.name, began), set()).update(found)
    lacking = [
        f"{rule.name} from {version.from_on}: {', '.join(sorted(missing))}"
        for rule in book.rules.values()
        for version in rule.versions
        if (missing := _SHOWS - shown.get((rule.name, version.from_on.isoformat()), set()))
    ]

    assert lacking == []


def test_no_case_is_of_a_version_that_is_not_there(book: Book) -> None:
    """A case names a rule and a version that the program ships."""
    known = {(r.name, v.from_on) for r in book.rules.values() for v in r.versions}

    assert [
        p.values[0] for p in CASES if (p.values[0]["rule"], p.values[0]["version"]) not in known
    ] == []
