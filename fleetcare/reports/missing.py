"""What is missing before a van may go, as rows: who can do it, what it is, what to type."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Any, NamedTuple

from fleetcare.hire.ask import Ask
from fleetcare.hire.missing import HOME, SERVICE, SOMEWHERE, WORN, Given, Missing, Need, missing
from fleetcare.reports.hire import stop_line
from fleetcare.rules.outcome import Judgement
from fleetcare.rules.remedies import Remedy
from fleetcare.rules.rule import By
from fleetcare.things import values_of
from fleetcare.words.days import day_words
from fleetcare.words.entering import card_command, command_of
from fleetcare.words.reasons import facts_words

# Who can do it, in the order in which a firm comes to it.
GROUPS = {
    "say": "Say what the van is and has",
    "read off": "Read off what is fitted",
    "paper": "Find a paper",
    "engineer": "Find the certificate, or book whoever may give it",
    "workshop": "Find the record, or do it in the workshop",
    "fit": "Fit a new one",
    "sign": "Look at a defect, and sign",
}
_BOOKED = ("skilled", "competent", "registered", "certificate")
_NOT_WRITTEN = ("no record", "not said", "illegible")  # it may be there; nobody typed it


class Item(NamedTuple):
    """One thing to write down; `only_if` says on what it hangs, where on an answer not given."""

    rule: str
    place: str | None
    group: str
    title: str
    command: str
    only_if: str = ""
    sort: str = ""  # of the record: say, check, component and the like
    what: str = ""  # the kind it is of
    expected: str = ""  # to when somebody said that it stands, its paper not seen


class VanMissing(NamedTuple):
    """All that is missing of one van, and what no record puts right."""

    van: str
    plate: str | None
    on: dt.date
    items: tuple[Item, ...]
    stops: tuple[str, ...]
    known_at: int


def van_missing(judged: Judgement, on: dt.date) -> VanMissing:
    """What stands between a van and yes on a day, without looking at hires."""
    ask = Ask(on, on, on)
    found = missing(judged, ask)
    items = [*(_item(judged, need, on) for need in found.needs), *_cards(judged, found)]
    order = list(GROUPS)
    lines = [stop_line(judged, ask, stop) for stop in found.stops]
    return VanMissing(
        judged.van, judged.plate_on(on), on,
        tuple(sorted(items, key=lambda item: order.index(item.group))),
        tuple(f"{line.title}: {line.standing}. {line.reason}" for line in lines),
        judged.as_of.known_at,
    )  # fmt: skip


def _cards(judged: Judgement, found: Missing) -> Iterator[Item]:
    """The cards that nobody in the book holds: without one the check is kept and does not count."""
    held = {c.scope for cards in judged.known.facts.shared.competences.values() for c in cards}
    seen: set[str] = set()
    for need in found.needs:
        by = need.remedy.rule.by if need.remedy.sort == "check" else By()
        if by.who not in ("competent", "registered") or not by.scope or held & set(by.scopes):
            continue
        if by.scope not in seen:
            seen.add(by.scope)
            only_if = _only_if(judged, need)
            title = f"the card of whoever does it, for {by.scope}: without it nothing counts"
            yield Item(need.remedy.rule.name, None, "engineer", title, card_command(by), only_if)


def _item(judged: Judgement, need: Need, on: dt.date) -> Item:
    remedy = need.remedy
    rule = remedy.what if remedy.what in (HOME, SERVICE) else remedy.rule.name
    title, place = _title(judged, remedy), remedy.place
    if place and remedy.sort in ("check", "component"):
        title = f"{title} {place}"
    expected = _expected(judged, need)
    group = "paper" if expected else _group(judged, need)
    return Item(
        rule, place, group, title, command_of(judged, need, on),
        _only_if(judged, need), remedy.sort, remedy.what, expected,
    )  # fmt: skip


def _expected(judged: Judgement, need: Need) -> str:
    """What somebody's own list says of a check that is missing: the last word of it."""
    remedy = need.remedy
    said = [
        one
        for one in judged.known.facts.expectations
        if remedy.sort == "check" and one.what == remedy.what and one.place in (None, remedy.place)
    ]
    if not said:
        return ""
    last = said[-1]
    return f"your list says to {day_words(last.due_on)} (#{last.number}): find its paper"


def _title(judged: Judgement, remedy: Remedy) -> str:
    book = judged.book
    if remedy.sort == "check":
        return book.checks[remedy.what].title
    if remedy.sort == "component":
        return book.components[remedy.what].title
    if remedy.sort == "say":
        fact = book.facts.get(remedy.what)
        one_of = f" ({', '.join(fact.values)})" if fact and fact.values else ""
        return facts_words(judged, (remedy.what,)) + one_of
    if remedy.sort == "odometer":
        return "odometer"
    words = {"recall": "recall", "paper": "the paper of"}.get(remedy.sort, "defect")
    return f"{words} {remedy.place}"


def _group(judged: Judgement, need: Need) -> str:
    remedy = need.remedy
    if remedy.sort == "say":
        return "say"
    if remedy.sort in ("sign-off", "recheck"):
        return "sign"
    if remedy.sort in ("recall", "paper"):
        return "paper"
    if remedy.sort == "odometer":
        return "read off"
    if remedy.sort == "component":
        return "read off" if need.code in _NOT_WRITTEN else "fit"
    if judged.book.checks[remedy.what].paper:
        return "paper"
    return "engineer" if remedy.rule.by.who in _BOOKED else "workshop"


def _only_if(judged: Judgement, need: Need) -> str:
    return " or ".join(dict.fromkeys(_given(judged, way) for way in need.given))


def _given(judged: Judgement, way: Given) -> str:
    """What an item hangs on: "LPG", "test class living-van and maximum mass (MAM)"."""
    return " and ".join(_so(judged, name, value) for name, value in sorted(way, key=str))


def _so(judged: Judgement, name: str, value: Any) -> str:
    book = judged.book
    if name == WORN:
        return "what is fitted has been there for over a year"
    if name.startswith("places of "):
        title = book.components[name.removeprefix("places of ")].title
        return f"there is {'a' if value else 'no'} {title}"
    fact = book.facts[name]
    if fact.holds == "yes-no":
        return f"{'' if value else 'no '}{fact.title}"
    if value in values_of(fact) and fact.holds == "word":
        return f"{fact.title} {value}"
    return f"its {fact.title} asks for it"


def sheet_rows(found: list[VanMissing]) -> dict[str, list[dict[str, str]]]:
    """What is missing as rows of the workbooks to fill, by kind and heading; a place that nobody
    named yet is left open."""
    rows: dict[str, list[dict[str, str]]] = {"vans": [], "components": [], "checks": []}
    for one in found:
        if any(item.sort == "say" for item in one.items):
            rows["vans"].append({"Van": one.van})
        for item in one.items:
            place = item.place if item.place and item.place != SOMEWHERE else ""
            if item.sort == "component":
                rows["components"].append({"Van": one.van, "Component": item.what, "Place": place})
            elif item.sort == "check":
                rows["checks"].append({"Van": one.van, "Check": item.what, "Place": place})
    return {kind: listed for kind, listed in rows.items() if listed}


def as_json(found: VanMissing) -> dict[str, Any]:
    """The keys programs rely on."""
    return {
        "van": found.van,
        "items": [
            {
                "rule": item.rule, "place": item.place, "group": item.group,
                "command": item.command, "if": item.only_if or None,
                "expected": item.expected or None,
            }
            for item in found.items
        ],
        "stops": list(found.stops),
    }  # fmt: skip
