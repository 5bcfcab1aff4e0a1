"""What stands between each van and yes."""

from __future__ import annotations

import datetime as dt

from fleetcare import clock
from fleetcare.desk.asking import asking
from fleetcare.desk.filling import asked_for
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
    """What is missing as a workbook: a row an item, filled in the yard and read back."""
    return asked_for(place, sheet_rows(found))
