"""Lines put one after another: of a rule's versions, and of the stretches of what was said."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

from fleetcare.rules.kinds.case import NOT_APPLICABLE, Found
from fleetcare.rules.rule import Rule, Terms
from fleetcare.timeline import Timeline, splice, undecided


def by_place(parts: list[tuple[dt.date, list[Found]]]) -> list[Found]:
    """Each place's line through the stretches, the first from EVER; a place that one stretch does
    not know is no concern there."""
    if len(parts) == 1:
        return parts[0][1] or [Found(None, NOT_APPLICABLE)]
    known = [(start, dict(found)) for start, found in parts]
    places = list(dict.fromkeys(place for _, lines in known for place in lines))
    if len(places) > 1 and None in places:
        emptied = all(lines.get(None, NOT_APPLICABLE) == NOT_APPLICABLE for _, lines in known)
        places = [place for place in places if place is not None or not emptied]
    return [
        Found(place, splice([(start, lines.get(place, NOT_APPLICABLE)) for start, lines in known]))
        for place in places
    ]


def undecided_by_place(
    unsaid: tuple[str, ...], options: dict[tuple[Any, ...], list[Found]]
) -> list[Found]:
    """What is left of a rule judged for each way the unsaid facts could be: doubt only where those
    verdicts differ."""
    known = {values: dict(found) for values, found in options.items()}
    found = []
    for place in dict.fromkeys(place for lines in known.values() for place in lines):
        lines = {values: one.get(place, NOT_APPLICABLE) for values, one in known.items()}
        line = undecided(list(lines.values()), _deciding(unsaid, lines))
        found.append(Found(place, line))
    return found


def _deciding(unsaid: tuple[str, ...], lines: dict[tuple[Any, ...], Timeline]) -> tuple[str, ...]:
    """The facts that decide: where changing that one alone changes a verdict."""
    found = []
    for place, name in enumerate(unsaid):
        seen: dict[tuple[Any, ...], set[tuple[Any, ...]]] = {}
        for values, line in lines.items():
            rest = values[:place] + values[place + 1 :]
            seen.setdefault(rest, set()).add(tuple((s.start, s.verdict) for s in line.steps))
        if any(len(verdicts) > 1 for verdicts in seen.values()):
            found.append(name)
    return tuple(found)


def terms_for(rule: Rule, index: int) -> Callable[[Any], Terms]:
    """The terms each record is judged by while a version is in force.

    A record keeps the terms of its own day, unless this version or one since then said that
    every older record is judged anew (`cut`).
    """
    terms = rule.versions[index].terms
    least = max((i for i in range(index + 1) if rule.versions[i].cut or i == 0), default=0)
    if least == index:
        return lambda record: terms

    def terms_of(record: Any) -> Terms:
        own = least
        for i in range(least + 1, index + 1):
            if rule.versions[i].from_on <= record.on:
                own = i
        return rule.versions[own].terms

    return terms_of
