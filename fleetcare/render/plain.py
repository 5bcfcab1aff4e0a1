"""JSON and CSV: the same rows for programs and spreadsheets."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
from collections.abc import Iterable, Mapping
from typing import Any


def _plain(value: Any) -> Any:
    if isinstance(value, dt.date):
        return value.isoformat()
    raise TypeError(f"{value!r} has no JSON form")


def as_json(value: Any) -> str:
    """JSON, two spaces deep, dates as YYYY-MM-DD, keys in the order given."""
    return json.dumps(value, default=_plain, ensure_ascii=False, indent=2)


# A cell that begins with one of these is run as a formula by spreadsheets (CWE-1236).
_LIVE = ("=", "+", "-", "@", "\t", "\r")


def _cell(value: Any) -> str:
    if value is None:
        return ""
    text = value.isoformat() if isinstance(value, dt.date) else str(value)
    return f"'{text}" if isinstance(value, str) and text.startswith(_LIVE) else text


def as_csv(rows: Iterable[Mapping[str, Any]], headings: Iterable[str]) -> str:
    """RFC 4180 with a byte-order mark, so that spreadsheets read the names right; text that a
    spreadsheet would run is marked with an apostrophe."""
    names = list(headings)
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(names)
    writer.writerows([_cell(row.get(name)) for name in names] for row in rows)
    return "﻿" + out.getvalue()
