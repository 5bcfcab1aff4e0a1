"""The workshop's list for the screen, no wider than a sheet of paper."""

from __future__ import annotations

import datetime as dt

from fleetcare.render.text import day
from fleetcare.render.which import named, wrapped
from fleetcare.reports.due_item import DueItem
from fleetcare.reports.work import VisitRow, Workshop


def workshops(found: list[Workshop]) -> str:
    """Van by van: booked in when for what; what falls due besides, as one visit where it can be."""
    lines = []
    for row in found:
        lines.append(named(row.van, row.plate))
        lines += [line for visit in row.visits for line in wrapped(_visit(visit), "  ")]
        left = [item for item in row.due if item.booked_in is None]
        if row.together:
            titles = ", ".join(dict.fromkeys(_what(item) for item in left))
            words = f"one visit {_days(row.together)} does {titles}"
            lines += wrapped(words, "  ")
        else:
            lines += [line for item in left for line in wrapped(_alone(item), "  ")]
    return "\n".join(lines or ["No van is booked in, and no work falls due."])


def _visit(visit: VisitRow) -> str:
    words = f"booked in {_days((visit.start, visit.through))}: {visit.where} (#{visit.record})"
    if visit.jobs:
        words += f", for {', '.join(visit.jobs)}"
    if visit.parts:
        words += f"; parts on order: {visit.parts}, {day(visit.parts_due_on) or 'no day said'}"
    return words


def _days(days: tuple[dt.date, dt.date]) -> str:
    first, last = days
    return day(first) if first == last else f"{day(first)} to {day(last)}"


def _what(item: DueItem) -> str:
    return f"{item.title} {item.place}" if item.place else item.title


def _alone(item: DueItem) -> str:
    last = None if item.group == "overdue" else item.last_good_day
    return f"{_what(item)}, by {day(item.do_by or last) or 'now'}"
