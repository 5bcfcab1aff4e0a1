"""Reading the kinds of thing a rulebook names: facts, components, readings, checks, events, and the
lines of the yard's sheets."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

from fleetcare.records.kinds import VanFacts
from fleetcare.rules import strict
from fleetcare.rules.read_rule import read_by
from fleetcare.rules.rule import By, Topic
from fleetcare.rules.strict import Faults, Key
from fleetcare.rules.terms import conditions
from fleetcare.things import CheckKind, ComponentKind, EventKind, FactKind, LineKind, ReadingKind


def _usual(raw: Any) -> tuple[str, str]:
    """The least and the most that is usual, each with its unit."""
    bounds = strict.texts(raw)
    if len(bounds) != 2:
        raise ValueError("must be two figures, the least and the most")
    return bounds[0], bounds[1]


_HOLDS = ("yes-no", "word", "day", "count", "mass", "length", "pressure", "distance", "position")


def _fact(faults: Faults, where: str, name: str, raw: Any) -> FactKind:
    holds = _HOLDS if name in VanFacts._fields else ("yes-no",)
    found = faults.table(
        where,
        raw,
        {
            "title": Key(strict.text, True, name),
            "holds": Key(strict.one_of(holds), True, "yes-no"),
            "values": Key(strict.texts, default=()),
            "usual": Key(_usual),
        },
    )
    return FactKind(name, **found)


def _component(faults: Faults, where: str, name: str, raw: Any) -> ComponentKind:
    def by_fact(value: Any) -> dict[str, dict[str, tuple[str, ...]]]:
        if not isinstance(value, dict) or not all(isinstance(v, dict) for v in value.values()):
            raise ValueError("must be a table of facts, each a table of values and places")
        return {
            fact: {word: strict.texts(places) for word, places in words.items()}
            for fact, words in value.items()
        }

    return ComponentKind(
        name,
        **faults.table(
            where,
            raw,
            {
                "title": Key(strict.text, True, name),
                "fixed": Key(strict.texts, default=()),
                "by_fact": Key(by_fact, default={}),
                "stated": Key(strict.flag, default=False),
                "when": Key(conditions, default=()),
                "other_places": Key(strict.flag, default=True),
                "week_code": Key(strict.flag, default=False),
                "was": Key(strict.texts, default=()),
                "bikes": Key(strict.flag, default=False),
                "varieties": Key(strict.texts, default=()),
                "said_with": Key(strict.text),
            },
        ),
    )


def _reading(faults: Faults, where: str, name: str, raw: Any) -> ReadingKind:
    return ReadingKind(
        name,
        **faults.table(
            where,
            raw,
            {
                "title": Key(strict.text, True, name),
                "dimension": Key(strict.text),
                "bare": Key(strict.flag, default=False),
                "words": Key(strict.texts, default=()),
                "usual": Key(_usual),
            },
        ),
    )


def _check(faults: Faults, where: str, name: str, raw: Any) -> CheckKind:
    return CheckKind(
        name,
        **faults.table(
            where,
            raw,
            {
                "title": Key(strict.text, True, name),
                "aliases": Key(strict.texts, default=()),
                "was": Key(strict.texts, default=()),
                "walkaround": Key(strict.flag, default=False),
                "weighbridge": Key(strict.flag, default=False),
                "readings": Key(strict.texts, default=()),
                "of": Key(strict.text),
                "paper": Key(strict.flag, default=False),
                "results": Key(strict.text),
                "print_limit_months": Key(strict.months),
                "keep_further": Key(strict.count, default=0),
                "keep_gone_years": Key(strict.count, default=0),
                "keep_source": Key(strict.text, default=""),
            },
        ),
    )


def _event(faults: Faults, where: str, name: str, raw: Any) -> EventKind:
    keys = {
        "title": Key(strict.text, True, name),
        "tell": Key(strict.text, default=""),
        "steps": Key(strict.texts, default=()),
        "aboard": Key(strict.flag, default=False),
        "on_swap": Key(strict.flag, default=False),
        "brings_home": Key(strict.flag, default=False),
        "was": Key(strict.texts, default=()),
    }
    return EventKind(name, **faults.table(where, raw, keys))


def _topic(faults: Faults, where: str, name: str, raw: Any) -> Topic:
    keys = {
        "title": Key(strict.text, True, name),
        "since": Key(strict.day, True, dt.date.max),
        "closed_by": Key(read_by, True, By()),
        "words": Key(strict.texts, default=()),
        "lines": Key(strict.texts, default=()),
    }
    return Topic(name, **faults.table(where, raw, keys))


SHEETS = ("prepared", "handover", "return")
ASKS = (
    "look", "reading", "event", "check", "nil", "odometer", "words", "shown", "licence", "eighths",
    "signature",
)  # fmt: skip


def _sheets(raw: Any) -> tuple[str, ...]:
    words = strict.texts(raw)
    for word in words:
        strict.one_of(SHEETS)(word)
    return words


def _line(faults: Faults, where: str, name: str, raw: Any) -> LineKind:
    return LineKind(
        name,
        **faults.table(
            where,
            raw,
            {
                "title": Key(strict.text, True, name),
                "sheets": Key(_sheets, True, ()),
                "asks": Key(strict.one_of(ASKS), True, "look"),
                "why": Key(strict.text, True, ""),
                "rules": Key(strict.texts, default=()),
                "feeds": Key(strict.text, default=""),
                "source": Key(strict.text, True, ""),
                "reading": Key(strict.text),
                "over": Key(strict.text),
                "event": Key(strict.text),
                "check": Key(strict.text),
                "when": Key(conditions, default=()),
                "bikes": Key(strict.flag),
                "beside": Key(strict.text),
                "caution": Key(strict.text, default=""),
                "morning": Key(strict.text, default=""),
                "danger": Key(strict.flag, default=False),
                "was": Key(strict.texts, default=()),
            },
        ),
    )


def known_lines(faults: Faults, things: dict[str, dict[str, Any]]) -> None:
    """What a line of a sheet, and a topic, names must be there."""
    for topic in things["topic"].values():
        for line in topic.lines:
            if line not in things["line"]:
                faults.add(f"topic.{topic.name}", f'names "{line}", which is no line here')
    for line in things["line"].values():
        for section, named in (
            ("reading", line.reading),
            ("component", line.over),
            ("event", line.event),
            ("check", line.check),
        ):
            if named and named not in things[section]:
                faults.add(f"line.{line.name}", f'names "{named}", which is no {section} here')
        for asked in ("reading", "event", "check"):
            if (line.asks == asked) is not bool(getattr(line, asked)):
                faults.add(f"line.{line.name}", f"names its {asked} just where it asks for one")
        if not (line.rules or line.feeds):
            faults.add(f"line.{line.name}", "says neither which rules nor what else it feeds")


ReadThing = Callable[[Faults, str, str, Any], Any]
READ: dict[str, ReadThing] = {
    "fact": _fact,
    "component": _component,
    "reading": _reading,
    "check": _check,
    "event": _event,
    "line": _line,
    "topic": _topic,
}
