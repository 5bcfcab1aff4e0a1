"""What an underwriter reads first: how many vans, how many may go, which may not and why, and how
it is known."""

from __future__ import annotations

import datetime as dt
from typing import Any

from fleetcare.rules.outcome import Judgement
from fleetcare.rules.party import NO_BIKES
from fleetcare.words.reasons import reason, titled

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
    """Each thing that keeps a van from going out on a day, with its reason, a line each."""
    found = [
        f"{titled(o)}: {o.standing(step)}, {reason(judged, o, step)}"
        for o in judged.outcomes
        if o.blocks(step := o.at(on), NO_BIKES)
    ]
    if judged.service is None or on not in judged.service:
        found.insert(0, "not on fleet that day")
    more = [f"and {len(found) - _MOST} more"] if len(found) > _MOST else []
    return "\n".join([*found[:_MOST], *more])
