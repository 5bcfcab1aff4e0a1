"""The diary for the screen, no wider than a sheet, and for a sheet across."""

from __future__ import annotations

import datetime as dt
from typing import Any

from fleetcare.render.text import day, table
from fleetcare.render.which import named, wrapped
from fleetcare.reports.diary import MARKS, Booking, Row, days_from


def bookings(found: list[Booking]) -> str:
    """The bookings, a line each."""
    if not found:
        return "No booking touches these days."
    rows = [
        (
            one.ref,
            one.van,
            day(one.start),
            day(one.through),
            one.answer or "",
            one.stands,
            one.party,
        )
        for one in found
    ]
    headings = ("hire", "van", "from", "through", "may it", "how it stands", "who goes")
    return "\n".join(table(headings, rows))


def diary(on: dt.date, rows: list[Row], known_at: int) -> str:
    """A row a van, a mark a day, a gap a week; below it what the marks stand for."""
    weeks = len(rows[0].marks) // 7 if rows else 0
    mondays = days_from(on, weeks * 7)[::7]
    wide = max([3, *(len(row.van) for row in rows)])
    head = " ".join(f"{one.day} {one:%b}".ljust(7) for one in mondays)
    lines = [f"{' ' * wide}  {head}".rstrip()]
    for row in rows:
        marks = " ".join(row.marks[7 * n : 7 * n + 7] for n in range(weeks))
        lines.append(f"{row.van.ljust(wide)}  {marks}")
    lines.append("; ".join(f"{mark} {words}" for mark, words in MARKS.items()))
    lines += [
        line for row in rows for line in wrapped(f"{row.van}: {_told(row)}", "") if _told(row)
    ]
    lines.append(f"As of {known_at:,} records.")
    return "\n".join(lines)


def _told(row: Row) -> str:
    """The bookings of a van and what lapses, in order."""
    hires = [(one.start, f"{one.ref} {_days(one)}{_no(one)}") for one in row.hires]
    lapses = [(on, f"last day {day(on)} of {words}") for on, words in row.lapses]
    return "; ".join(words for _, words in sorted([*hires, *lapses]))


def _days(one: Booking) -> str:
    return f"{day(one.start)} to {day(one.through)}"


def _no(one: Booking) -> str:
    return "" if one.answer in (None, "yes") else f" ({one.answer})"


def paper(on: dt.date, rows: list[Row], known_at: int) -> dict[str, Any]:
    """What the sheet is set from: plain text, for templates of ours."""
    days = days_from(on, len(rows[0].marks) if rows else 0)
    return {
        "title": f"The fleet from {day(on)}",
        "weeks": [f"{one.day} {one:%b}" for one in days[::7]],
        "days": [{"day": str(one.day), "weekend": one.weekday() > 4} for one in days],
        "rows": [
            {"van": named(row.van, row.plate), "marks": list(row.marks), "told": _told(row)}
            for row in rows
        ],
        "marks": [{"mark": mark, "words": words} for mark, words in MARKS.items()],
        "foot": f"As of {known_at:,} records. A yes is given by the book, not by this sheet.",
    }
