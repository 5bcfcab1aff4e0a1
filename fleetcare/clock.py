"""The only reader of today and now. Everything else is given the day it asks about."""

from __future__ import annotations

import datetime as dt
import os


def today() -> dt.date:
    """The local calendar day.

    FLEETCARE_TODAY (YYYY-MM-DD) stands in for it when a sample or a test needs a fixed day.
    """
    fixed = os.environ.get("FLEETCARE_TODAY")
    return dt.date.fromisoformat(fixed) if fixed else dt.date.today()


def now() -> dt.datetime:
    """This moment, in UTC."""
    return dt.datetime.now(dt.UTC)
