"""Commands as typed, run in this process: what is printed, and the errors as they are."""

from __future__ import annotations

import contextlib
import datetime as dt
import io
import shlex

from fleetcare import clock
from fleetcare.cli.app import cli
from fleetcare.store.engine import unsynced

NOON = dt.time(12)


def typed(place: str, line: str, today: dt.date = dt.date(2026, 11, 23)) -> str:
    """Run one command on a book on a day and return what it prints."""
    out = io.StringIO()
    moment = dt.datetime.combine(today, NOON, dt.UTC)
    with clock.standing_at(moment), contextlib.redirect_stdout(out), unsynced():
        cli.main(
            args=["--db", place, "--as", "Test", *shlex.split(line)],
            prog_name="fleetcare",
            standalone_mode=False,
        )
    return out.getvalue()


def typed_all(place: str, lines: str | list[str], today: dt.date = dt.date(2026, 11, 23)) -> str:
    """Run commands one after another, one a line; return what the last one prints."""
    listed = lines.strip().splitlines() if isinstance(lines, str) else lines
    shown = ""
    for line in listed:
        if line.strip():
            shown = typed(place, line.strip(), today)
    return shown
