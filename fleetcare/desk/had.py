"""Who had a van, for a charge notice."""

from __future__ import annotations

import datetime as dt

from fleetcare.desk.asking import asking
from fleetcare.reports.had import Had, had


def who_had(place: str, van: str, day: dt.date, at: str | None) -> list[Had]:
    """The bookings that had a van at a moment, or may have."""
    with asking(place) as asked:
        found: list[Had] = asked.filled(had(asked.judged(van), day, at))
        return found
