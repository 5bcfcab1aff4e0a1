"""Where a van is, in a few words."""

from __future__ import annotations

from fleetcare.van.whereabouts import Where
from fleetcare.words.days import day_words
from fleetcare.words.marks import said


def where_words(where: Where) -> str:
    """Like "in a workshop through Fri 4 Dec 2026: Fell Motors (#812)"."""
    if where.sort == "yard":
        return "in the yard"
    if where.sort == "hire":
        until = f" until {day_words(where.through)}" if where.through else ""
        heard = f", at {said(where.place)} (#{where.record})" if where.place else ""
        return f"out as {where.ref}{until}{heard}"
    if where.sort == "left":
        return f"left at {said(where.place)} (#{where.record})"
    until = f" through {day_words(where.through)}" if where.through else ""
    return f"in a workshop{until}: {said(where.place)} (#{where.record})"
