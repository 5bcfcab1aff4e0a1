"""The workshop's own list: of each van its visits to come, and what one visit could do."""

from __future__ import annotations

import datetime as dt
from typing import Any, NamedTuple

from fleetcare.reports.due import due_items
from fleetcare.reports.due_item import DueItem
from fleetcare.rules.outcome import Judgement
from fleetcare.words.marks import said


class VisitRow(NamedTuple):
    """A visit to a workshop that is to come, or not over."""

    record: int
    start: dt.date
    through: dt.date
    where: str
    jobs: tuple[str, ...]  # titles
    parts: str
    parts_due_on: dt.date | None


class Workshop(NamedTuple):
    """One van: its visits, and the work on it that falls due and is in none of them."""

    van: str
    plate: str | None
    visits: tuple[VisitRow, ...]
    due: tuple[DueItem, ...]
    together: tuple[dt.date, dt.date] | None  # the days on which one visit does all of it


def workshop(judged: Judgement, on: dt.date) -> Workshop:
    """A van's visits, and the work that the van must be there for."""
    rows = []
    for visit in sorted(judged.known.facts.visits, key=lambda one: (one.from_on, one.number)):
        if visit.through_on >= on:
            jobs = tuple(_title(judged, name) for name in visit.jobs or ())
            rows.append(
                VisitRow(
                    visit.number, visit.from_on, visit.through_on, said(visit.where), jobs,
                    said(visit.parts) if visit.parts else "", visit.parts_due_on,
                )
            )  # fmt: skip
    due = tuple(
        item for item in due_items(judged, on, None) if item.do_from and _here(judged, item)
    )
    left = tuple(item for item in due if item.booked_in is None)
    return Workshop(judged.van, judged.plate_on(on), tuple(rows), due, together(left))


def _here(judged: Judgement, item: DueItem) -> bool:
    """Whether the van must be there for the work."""
    rule = judged.rule(item.rule)
    return rule is not None and rule.needs_van


def _title(judged: Judgement, name: str) -> str:
    rule = judged.rule(name)
    return rule.title if rule else name


def together(due: tuple[DueItem, ...]) -> tuple[dt.date, dt.date] | None:
    """The days on which one visit does all that is due and loses the least: from the latest first
    day on, where no last day lies before it, through the first last day. None for a single job,
    or where no last day is known."""
    lasts = [day for item in due if (day := item.do_by or item.last_good_day)]
    if len({item.rule for item in due}) < 2 or not lasts:
        return None
    first = min(max(item.do_from for item in due if item.do_from), min(lasts))
    return first, min(lasts)


def as_json(row: Workshop) -> dict[str, Any]:
    """The keys programs rely on."""
    return {
        "van": row.van,
        "visits": [
            {
                "record": one.record, "from": one.start, "through": one.through,
                "where": one.where, "for": list(one.jobs), "parts": one.parts or None,
                "parts_due": one.parts_due_on,
            }
            for one in row.visits
        ],
        "due": [
            {
                "rule": item.rule, "place": item.place, "do_from": item.do_from,
                "do_by": item.do_by, "booked_in": item.booked_in,
            }
            for item in row.due
        ],
        "together": list(row.together) if row.together else None,
    }  # fmt: skip
