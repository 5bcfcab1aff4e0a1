"""What an underwriter reads first: how many vans, how many may go, which may not and why, and how
it is known."""

from __future__ import annotations

import datetime as dt
from typing import Any

from fleetcare.hire.ask import Ask
from fleetcare.hire.stops import by_rule, in_the_way
from fleetcare.reports.hire import stop_line
from fleetcare.rules.outcome import Judgement
from fleetcare.rules.party import NO_BIKES

_KEPT = (
    "Each fact is a numbered record with its day, who wrote it and when; none is ever changed or "
    "removed, and a correction stands beside what it corrects. The tally below is the root of a "
    "hash tree over all of them (RFC 9162): a record altered later, or taken out, gives another. "
    "Scans of papers are kept by their SHA-256. A van may go while every rule that stops hire "
    "holds; the sheets behind give each rule, its source and the record it rests on."
)
_MOST = 6


def summary(vans: int, kept_back: list[tuple[str, str]]) -> list[tuple[str, Any]]:
    """Counts that agree, each van that may not go with its reasons, and how it is kept."""
    return [
        ("Vans on fleet", vans),
        ("May go out that day", vans - len(kept_back)),
        ("May not, or nobody can say", len(kept_back)),
        *kept_back,
        ("How it is kept", _KEPT),
    ]


def why_not(judged: Judgement, on: dt.date) -> str:
    """Each thing that keeps a van from going out on a day, with its reason, a line each; that it is
    out already is none."""
    ask = Ask(on, on, on)
    stops = [stop for stop in in_the_way(judged, ask) if stop.rule != "hire"]
    stops += [by_rule(o, step) for o in judged.outcomes if o.blocks(step := o.at(on), NO_BIKES)]
    lines = [stop_line(judged, ask, stop) for stop in stops]
    found = [f"{line.title}: {line.standing}, {line.reason}" for line in lines[:_MOST]]
    more = [f"and {len(lines) - _MOST} more"] if len(lines) > _MOST else []
    return "\n".join([*found, *more])
