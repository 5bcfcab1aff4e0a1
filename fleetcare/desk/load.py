"""The book carried elsewhere: a whole dump out and in, and facts other programs write to us."""

from __future__ import annotations

import itertools
import tempfile
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import IO

from fleetcare.desk.taking import File, Shown, taken_in, unseen
from fleetcare.errors import Problem, Refused, stays
from fleetcare.intake.lines import MOST_OCTETS, read_lines
from fleetcare.store import dump as stored_dump
from fleetcare.store import ledger, migrate, papers, undump
from fleetcare.store.engine import reading, shown, writing


def dump(place: str, target: str) -> list[str]:
    """Write the whole book to a new file as JSON Lines."""
    with reading(place) as connection:
        head = ledger.head_of(connection)
        folder = papers.folder_of(place) if papers.asked_for(connection) else Path()
        stored_dump.write(connection, folder, target)
    return stays([f'Wrote "{target}": {head.size:,} records, tally {head.short}.'])


def load(
    place: str,
    by: str,
    name: str,
    *,
    dry_run: bool = False,
    shown: Shown = unseen,
) -> list[str]:
    """Take a file in: a whole dump into an empty book, or facts into the book there is."""
    try:
        with _opened(name) as file:
            first = file.readline(undump.MOST_HEAD)
            head = undump.head_of(first, name)
            if head:
                return _whole(place, _lines(file, name, 2), name, head, dry_run=dry_run)
            lines = itertools.chain([first], _lines(file, name, 2))
            return _facts(place, by, lines, name, dry_run=dry_run, shown=shown)
    except OSError as fault:
        raise Refused([Problem(name, f"cannot be read: {fault.strerror}")]) from None
    except UnicodeDecodeError:
        raise Refused([Problem(name, "is not UTF-8 text")]) from None


def _opened(name: str) -> IO[str]:
    """A file to read, or standard input for "-"."""
    if name == "-":
        return open(0, encoding="utf-8", newline="\n", closefd=False)
    return Path(name).open(encoding="utf-8", newline="\n")


def _lines(file: IO[str], name: str, number: int) -> Iterator[str]:
    """The lines of a file from a number on, none read further than a record may be long."""
    while line := file.readline(MOST_OCTETS):
        if len(line) == MOST_OCTETS and not line.endswith("\n"):
            words = f"is longer than {MOST_OCTETS:,} characters: no record is"
            raise Refused([Problem(f"{name}:{number}", words)])
        yield line
        number += 1


def _whole(
    place: str, lines: Iterable[str], name: str, head: undump.Head, *, dry_run: bool
) -> list[str]:
    """A whole dump into a book that is not there yet, or holds nothing."""
    there = "://" in place or Path(place).exists()
    said = f"{head.records:,} records, tally {ledger.short_of(head.root)}"
    if there and migrate.is_made(place):
        with reading(place) as connection:
            undump.refuse_filled(connection)
    if dry_run:
        with tempfile.TemporaryDirectory() as folder:
            undump.load_new(f"{folder}/dry.db", lines, name, head)
        return [f'"{name}" is whole: {said}.', "Dry run: nothing was written."]
    if there:
        migrate.upgrade(place)
        with writing(place) as connection:
            undump.load(connection, lines, name, head, lambda: papers.folder_of(place))
    else:
        undump.load_new(place, lines, name, head)
    return stays([f'Loaded into "{shown(place)}": {said}.'])


def _facts(
    place: str, by: str, lines: Iterable[str], name: str, *, dry_run: bool, shown: Shown
) -> list[str]:
    """Facts without stamps, all or nothing, held to what typed ones are held to."""
    read, problems = read_lines(lines, name)
    if not read and not problems:
        raise Refused([Problem(name, "holds no record: nothing was loaded")])
    try:
        said, _ = taken_in(place, by, File(read, problems), dry_run=dry_run, shown=shown)
    except Refused as fault:
        told = sorted(fault.problems, key=lambda problem: _line_of(problem, name))
        raise Refused(told) from None
    return said


def _line_of(problem: Problem, name: str) -> int:
    """The line a fault stands on; a file's name may hold blanks and colons of its own."""
    line, *_ = problem.where.removeprefix(f"{name}:").split(" ")
    return int(line)
