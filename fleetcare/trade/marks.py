"""Dates marked on a component, as typed: a day, a month, a year, a tyre's week code, illegible.

An imprecise date counts from its earliest day, so a part is never taken for younger than it may
be; a replace-by mark ends on its earliest day for the same reason.
"""

from __future__ import annotations

import datetime as dt
import re
from functools import lru_cache

from fleetcare.trade.tyre_dates import read_tyre_code

ILLEGIBLE = "illegible"


_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")


_MONTH = re.compile(r"\d{4}-\d{2}")


_FOUR = re.compile(r"\d{4}")


@lru_cache(maxsize=16384)
def read_mark(text: str, week_code: bool, seen_on: dt.date) -> dt.date | None:
    """The earliest day a mark can mean; None when it is illegible.

    `week_code` says that four digits are a week code (tyres) and not a year; `seen_on` is the
    day it was read, which settles the century. Raises ValueError with a sentence otherwise.
    """
    if text == ILLEGIBLE:
        return None
    if _DAY.fullmatch(text):
        return dt.date.fromisoformat(text)
    if _MONTH.fullmatch(text):
        return dt.date.fromisoformat(text + "-01")
    if _FOUR.fullmatch(text):
        return read_tyre_code(text, seen_on).from_on if week_code else dt.date(int(text), 1, 1)
    four = "a week code like 2219" if week_code else "a year like 2020"
    raise ValueError(
        f'"{text}" is not a date as marked: type a day like 2020-06-12, a month like 2020-06, '
        f"{four}, or {ILLEGIBLE}"
    )
