"""Builds the sample: an invented firm's three years, typed line by line as its people typed them.

Each line of `sample_db/fleet.txt` is a day and time, who was writing, and a command as it is
typed. Clock and salts are set, so the same text always makes the same book.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import io
import shlex
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

from fleetcare import chance, clock, shipped
from fleetcare.errors import Problem, Refused
from fleetcare.store.engine import unsynced

SEED = "sample"


class Typed(NamedTuple):
    """One line of the sample."""

    line: int
    at: dt.datetime
    by: str
    words: list[str]


def sample_lines() -> list[Typed]:
    """The sample's lines in order; Refused for a line that cannot be read or goes back in time."""
    path = shipped.folder("sample_db") / "fleet.txt"
    found: list[Typed] = []
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        if not line.strip() or line.startswith("#"):
            continue
        parts = [part.strip() for part in line.split("|", 2)]
        if len(parts) != 3:
            raise Refused([Problem(f"{path.name}:{number}", "is not `day time | who | command`")])
        at = dt.datetime.strptime(parts[0], "%Y-%m-%d %H:%M").replace(tzinfo=dt.UTC)
        if found and at < found[-1].at:
            raise Refused([Problem(f"{path.name}:{number}", f"{at} goes back in time")])
        found.append(Typed(number, at, parts[1], shlex.split(parts[2])))
    return found


def today() -> dt.date:
    """The sample's own today: the day of its last line."""
    return sample_lines()[-1].at.date()


def build(place: Path, run: Callable[[list[str]], None]) -> None:
    """Type every line of the sample into a new book at `place`.

    `run` is the command line itself, so that the sample is made by what people use.
    """
    folder = shipped.folder("sample_db")
    with chance.seeded(SEED), unsynced(), _said_nothing():
        for typed in sample_lines():
            with clock.standing_at(typed.at):
                try:
                    words = [word.replace("{sample}", str(folder)) for word in typed.words]
                    run(["--db", str(place), "--as", typed.by, *words])
                except Refused as fault:
                    raise Refused(
                        [Problem(f"fleet.txt:{typed.line}", str(p)) for p in fault.problems]
                    ) from None


@contextlib.contextmanager
def _said_nothing() -> Iterator[None]:
    with contextlib.redirect_stdout(io.StringIO()):
        yield
