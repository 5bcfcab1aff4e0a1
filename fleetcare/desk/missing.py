"""What stands between each van and yes."""

from __future__ import annotations

import datetime as dt

from fleetcare import clock
from fleetcare.desk.asking import asking
from fleetcare.desk.filling import blank_sheet
from fleetcare.desk.rulebook import in_use
from fleetcare.errors import Problem, Refused
from fleetcare.reports.fleet import is_gone
from fleetcare.reports.missing import VanMissing, sheet_rows, van_missing


def missing(place: str, van: str | None, on: dt.date | None) -> list[VanMissing]:
    """What must be written down before a van may go, or each van of the fleet."""
    day = on or clock.today()
    with asking(place) as asked:
        if van is not None:
            vans = [asked.judged(van)]
        else:
            vans = [judged for judged in asked.fleet() if not is_gone(judged, day)]
        found: list[VanMissing] = asked.filled([van_missing(judged, day) for judged in vans])
        return found


def sheet(place: str, found: list[VanMissing]) -> bytes:
    """What is missing as a workbook: a row an item, filled in the yard and read back with `sheet
    read`. Refused where nothing is missing that a sheet has a row for."""
    from fleetcare.render.blank import blank_bytes

    rows = sheet_rows(found)
    if not rows:
        raise Refused([Problem("", "nothing is missing that a sheet has a row for")])
    book = in_use(place)
    return blank_bytes([blank_sheet(book, kind, listed) for kind, listed in rows.items()])
