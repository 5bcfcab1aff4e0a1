"""Commands as typed, run in this process: what is printed, and the errors as they are."""

from __future__ import annotations

import contextlib
import datetime as dt
import io
import json
import shlex
from pathlib import Path
from typing import Any

import pytest

from fleetcare import clock
from fleetcare.cli.app import cli
from fleetcare.errors import Refused
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


def refused(place: str, line: str, today: dt.date = dt.date(2026, 8, 1)) -> str:
    """What a command is refused with, all faults of it."""
    with pytest.raises(Refused) as fault:
        typed(place, line, today)
    return str(fault.value)


def loaded(
    place: str, folder: Path, record: dict[str, Any], today: dt.date = dt.date(2026, 8, 1)
) -> str:
    """Load one record from a file of facts and return what is printed."""
    file = folder / "facts.jsonl"
    file.write_text(json.dumps(record) + "\n")
    return typed(place, f"load {file}", today)


def not_loaded(place: str, folder: Path, record: dict[str, Any]) -> str:
    """What a file of one fact is refused with, its own name left out."""
    with pytest.raises(Refused) as fault:
        loaded(place, folder, record)
    return str(fault.value).replace(f"{folder}/facts.jsonl:", "")
