"""Days as the trade writes them."""

from __future__ import annotations

import datetime as dt

from fleetcare.windows import EVER, FOREVER


def day_words(day: dt.date) -> str:
    """A day as the trade writes it: Tue 1 Sep 2026."""
    if day == FOREVER:
        return "no end known"
    return f"{day:%a} {day.day} {day:%b %Y}" if day != EVER else "always"
