"""The book carried elsewhere: a whole dump out and in, and facts other programs write to us."""

from __future__ import annotations

import itertools
import tempfile
from collections import Counter
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from fleetcare.desk.checks import further_defects, open_defects
from fleetcare.desk.held import faults
from fleetcare.desk.loaded import InFile
from fleetcare.desk.session import Writing, recording
from fleetcare.errors import Problem, Refused
from fleetcare.intake import words
from fleetcare.intake.lines import Line, read_lines
from fleetcare.intake.slips import ANYWAY
from fleetcare.records.facts import FIELD_OF, Facts, adding
from fleetcare.records.kinds import (
    FLEET_KINDS,
    KIND_OF,
    Check,
    Defect,
    Hire,
    Inspector,
    SignOff,
)
from fleetcare.store import dump as stored_dump
from fleetcare.store import facts as stored
from fleetcare.store import ledger, migrate, papers, undump
from fleetcare.store.engine import reading, shown, writing


def dump(place: str, target: str) -> list[str]:
    """Write the whole book to a new file as JSON Lines."""
    with reading(place) as connection:
        head = ledger.head_of(connection)
        folder = papers.folder_of(place) if papers.asked_for(connection) else Path()
        stored_dump.write(connection, folder, target)
    return [f'Wrote "{target}": {head.size:,} records, tally {head.short}.']


def load(place: str, by: str, name: str, *, dry_run: bool = False) -> list[str]:
    """Take a file in: a whole dump into an empty book, or facts into the book there is."""
    try:
        with Path(name).open(encoding="utf-8", newline="\n") as file:
            first = file.readline(undump.MOST_HEAD)
            head = undump.head_of(first, name)
            if head:
                return _whole(place, file, name, head, dry_run=dry_run)
            return _facts(place, by, itertools.chain([first], file), name, dry_run=dry_run)
    except OSError as fault:
        raise Refused([Problem(name, f"cannot be read: {fault.strerror}")]) from None
    except UnicodeDecodeError:
        raise Refused([Problem(name, "is not UTF-8 text")]) from None


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
    return [f'Loaded into "{shown(place)}": {said}.']


def _facts(place: str, by: str, lines: Iterable[str], name: str, *, dry_run: bool) -> list[str]:
    """Facts without stamps, all or nothing, held to what typed ones are held to."""
    read, problems = read_lines(lines, name)
    with recording(place, by, dry_run=dry_run) as book:
        taking = _Taking(book)
        if any(line.kind in FLEET_KINDS for line in read):
            book.watch_fleet()
        for line in read:
            problems += taking.take(line)
        book.refuse(sorted(problems, key=_line_of))
        if not taking.records:
            raise Refused([Problem(name, "holds no record: nothing was loaded")])
        made = [book.add(record) for record in taking.records]
        counted = Counter(KIND_OF[type(record)] for record in made)
        listed = ", ".join(f"{many} × {kind}" for kind, many in counted.items())
        book.tell(f"Loaded from #{made[0].number} to #{made[-1].number}: {listed}.")
        for check, found in taking.untold():
            open_defects(book, book.after(check.van), check, found)
    return book.said


class _Taking:
    """Lines on their way in, each held against the book with the lines before it."""

    def __init__(self, book: Writing) -> None:
        self._book = book
        self._next = book.writer.size
        self._ids: dict[str, Any] = {}
        self._facts: dict[str, Facts] = {}
        self._file = InFile()
        self._stands_for = stored.known_of(book.connection).stands_for
        shared = stored.shared_of(book.connection, stored.known_of(book.connection))
        names = stored.words_of(book.connection, [i.name for i in shared.inspectors.values()])
        self._people: dict[str, list[int]] = {}
        for number, inspector in shared.inspectors.items():
            self._people.setdefault(str(names.get(inspector.name)), []).append(number)
        self.records: list[Any] = []

    def take(self, line: Line) -> list[Problem]:
        """Take a line in, or say all that is wrong with it."""
        facts: Facts | None = None
        if "van" in line.record._fields:
            own = self._facts_of(line, line.record.van)
            if isinstance(own, Problem):
                return [own]
            facts = own
        record, found = self._resolved(line)
        found += self._faults(record, facts)
        if found:
            return [_at(line.where, problem) for problem in found]
        self._next += 1
        made = record._replace(number=self._next)
        self.records.append(made)
        if line.id:
            self._ids[line.id] = made
        if isinstance(made, Inspector):
            self._people.setdefault(made.name, []).append(made.number)
        self._file.taken(made)
        if facts is not None:
            self._facts[made.van] = adding(facts, made)
        return []

    def _faults(self, record: Any, facts: Facts | None) -> list[Problem]:
        try:
            found = faults(self._book, facts, record, 0)
        except Refused as fault:
            found = list(fault.problems)
        return found + self._file.faults(self._book, facts, record)

    def _facts_of(self, line: Line, van: str) -> Facts | Problem:
        """A van's facts with the lines before; those of a van that a line adds begin empty."""
        if van not in self._facts:
            if van in stored.vans_of(self._book.connection):
                self._facts[van] = self._book.facts(van)
            elif line.kind == "van":
                wrong = words.fleet_number(van)
                if wrong:
                    return Problem(f"{line.where} van", wrong[0].message)
                self._book.begins(van)
                self._facts[van] = Facts(van)
            else:
                return Problem(f"{line.where} van", f'"{van}" is not in the fleet: add it first')
        return self._facts[van]

    def _resolved(self, line: Line) -> tuple[Any, list[Problem]]:
        """The record with the numbers of what it points to; a name of the book in `by` is its
        inspector, as when it is typed."""
        record = line.record
        found = []
        for name, word in line.refs.items():
            kind = {"part": "fit"}.get(name, name)
            number = self._number(kind, word, getattr(record, "van", None))
            if number is None:
                said = f'"{word}" is no {kind} of an earlier line, nor of the book'
                found.append(Problem(name, said))
            else:
                record = record._replace(**{name: number})
        if isinstance(record, (Check, SignOff)) and record.by is not None:
            people = self._people.get(record.by, [])
            if "inspector" in line.refs:
                found.append(Problem("by", "say by or inspector, not both"))
            elif len(people) > 1:
                numbers = ", ".join(f"#{number}" for number in people)
                found.append(Problem("by", f'"{record.by}" is the name of several: {numbers}'))
            elif people:
                record = record._replace(inspector=people[0], by=None)
        return record, found

    def _number(self, kind: str, word: str, van: str | None) -> int | None:
        """The number a word stands for: of a line before, or of a record of the book."""
        made = self._ids.get(word)
        if made is not None:
            of = KIND_OF[type(made)] == kind and getattr(made, "van", van) == van
            return int(made.number) if of else None
        number = int(word[1:]) if word[:1] == "#" and word[1:].isdigit() else None
        if kind == "inspector":
            people = self._people.get(word, [])
            known = number in {n for listed in self._people.values() for n in listed}
            return number if known else people[0] if len(people) == 1 else None
        root = self._stands_for.get(number, number) if number else None
        listed = [
            r
            for r in _listed(self._facts.get(str(van)), kind)
            if root == r.number or word == _name_of(r)
        ]
        return int(listed[-1].number) if listed else None

    def untold(self) -> Iterator[tuple[Check, list[tuple[str, str]]]]:
        """What checks found that no line tells: an isolated appliance, a fail no rule reads."""
        told: dict[int, set[str]] = {}
        for record in self.records:
            if isinstance(record, Defect) and record.check:
                told.setdefault(record.check, set()).add(record.grade)
        for record in self.records:
            if isinstance(record, Check):
                kind = self._book.book.checks[record.what]
                grades = told.get(record.number, set())
                found = further_defects(self._book, record, grades, kind)
                if found:
                    yield record, found


def _listed(facts: Facts | None, kind: str) -> list[Any]:
    fields = {KIND_OF[record]: field for record, field in FIELD_OF.items()}
    return getattr(facts, fields[kind]) if facts and kind in fields else []


def _name_of(record: Any) -> str | None:
    return record.ref if isinstance(record, Hire) else None


def _line_of(problem: Problem) -> int:
    return int(problem.where.partition(" ")[0].rpartition(":")[2])


def _at(where: str, problem: Problem) -> Problem:
    """A fault at its line and field: what is an option when typed is a key here."""
    option, _, rest = problem.where.removeprefix("--").partition(" ")
    field = f"{option.replace('-', '_')} {rest}".strip()
    if problem.message == ANYWAY:
        return Problem(where, 'if it is true, add the key "even_so" with why')
    return Problem(f"{where} {field}".rstrip(), problem.message)
