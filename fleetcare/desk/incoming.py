"""Records on their way in from a file: what they point to, are held to, and leave behind."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Any, Protocol

from fleetcare.desk.already import Already
from fleetcare.desk.checks import further_defects
from fleetcare.desk.write import names_of, others_of
from fleetcare.errors import Problem
from fleetcare.faults import faults_of
from fleetcare.faults.common import fleet_number
from fleetcare.faults.context import Context, Others
from fleetcare.faults.slips import ANYWAY
from fleetcare.intake.lines import Line
from fleetcare.records.facts import Facts, adding
from fleetcare.records.kinds import (
    FIELD_OF,
    KIND_OF,
    Check,
    Defect,
    Expectation,
    Fit,
    Hire,
    Inspector,
    SignOff,
    VanFacts,
)
from fleetcare.rules.book import Book
from fleetcare.store import facts as stored
from fleetcare.store.engine import Connection

_OF_ALL = "a paper of all vans is not filled in here; type it with:"


class Holds(Protocol):
    """The book that records are held to: its rules, today, how much it holds, a van's facts."""

    connection: Connection
    book: Book
    today: dt.date
    size: int

    def facts(self, van: str) -> Facts:
        """A van's facts; Refused where there is no such van."""


class Incoming:
    """Lines on their way in, each held against the book with the lines before it.

    With `known_already` a line that says what the book holds already adds nothing: a sheet is read
    again whenever something was added to it.
    """

    def __init__(self, book: Holds, *, known_already: bool = False) -> None:
        self._book = book
        self._already = Already(book.connection) if known_already else None
        self._vans = set(stored.vans_of(book.connection))
        self.known = 0
        self._next = book.size
        self.begun: set[str] = set()  # vans that a line adds
        self._ids: dict[str, Any] = {}
        self._facts: dict[str, Facts] = {}
        self._file = _File()
        self._others = _in_file(others_of(book.connection), self._file)
        self._stands_for = stored.known_of(book.connection).stands_for
        self._people: dict[str, list[int]] = {}
        for number, name in names_of(book.connection).items():
            self._people.setdefault(str(name), []).append(number)
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
        if line.cells:
            record = self._as_typed(record)
        if self._already and facts is not None and not found:
            record = self._already.left_of(record, facts)
            if record is None:
                self.known += 1
                return []
            if isinstance(record, Problem):
                return [at_line(line, record)]
        found += self._faults(record, facts)
        if found:
            return [at_line(line, problem) for problem in found]
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

    def _as_typed(self, record: Any) -> Any:
        """A record of a sheet: its kind by any name it has, its place in whatever case, and a paper
        that covers days is in force without a word more, as where they are typed."""
        book = self._book.book
        if not isinstance(record, (Check, Expectation, Fit)):
            return record
        if record.place is not None:
            record = record._replace(place=record.place.casefold())
        if isinstance(record, Fit):
            part = book.find_component(record.what)
            return record._replace(what=part.name) if part else record
        kind = book.find_check(record.what)
        if kind is None or isinstance(record, Expectation):
            return record._replace(what=kind.name) if kind else record
        check = record
        ended = check.outcome.casefold() if check.outcome else ("pass" if kind.paper else None)
        return check._replace(what=kind.name, outcome=ended)

    def _faults(self, record: Any, facts: Facts | None) -> list[Problem]:
        book = self._book
        return faults_of(Context(book.book, book.today, facts or Facts(""), self._others), record)

    def _facts_of(self, line: Line, van: str) -> Facts | Problem:
        """A van's facts with the lines before; those of a van that a line adds begin empty."""
        if van not in self._facts:
            if van in self._vans:
                self._facts[van] = self._book.facts(van)
            elif line.kind == "van":
                wrong = fleet_number(van)
                if wrong:
                    return at_line(line, wrong[0])
                self.begun.add(van)
                self._facts[van] = Facts(van)
            else:
                words_ = f'"{van}" is not in the fleet: add it first'
                if van.casefold() == "fleet" and isinstance(line.record, Check):
                    days = "--from DAY --last-day DAY"
                    words_ = f"{_OF_ALL} fleetcare record fleet {line.record.what} {days}"
                return at_line(line, Problem("", words_, "van"))
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
                found.append(Problem("", said, name))
            else:
                record = record._replace(**{name: number})
        if isinstance(record, (Check, SignOff)) and record.by is not None:
            people = self._people.get(record.by, [])
            if "inspector" in line.refs:
                found.append(Problem("", "say by or inspector, not both", "by"))
            elif len(people) > 1:
                numbers = ", ".join(f"#{number}" for number in people)
                several = f'"{record.by}" is the name of several: {numbers}'
                found.append(Problem("", several, "by"))
            elif people:
                record = record._replace(inspector=people[0], by=None)
        return record, found

    def _number(self, kind: str, word: str, van: str | None) -> int | None:
        """The number a word stands for: of a line before, or of a record of the book."""
        made = self._ids.get(word)
        if made is not None:
            of = KIND_OF[type(made)] == kind and getattr(made, "van", van) == van
            return int(made.number) if of else None
        number = (
            int(word[1:]) if word[:1] == "#" and word[1:].isdecimal() and len(word) < 20 else None
        )
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
                found = further_defects(self._book.book, record, grades, kind)
                if found:
                    yield record, found


def _listed(facts: Facts | None, kind: str) -> list[Any]:
    fields = {KIND_OF[record]: field for record, field in FIELD_OF.items()}
    return getattr(facts, fields[kind]) if facts and kind in fields else []


def _name_of(record: Any) -> str | None:
    return record.ref if isinstance(record, Hire) else None


class _File:
    """The records of one file so far, as far as the next are held against them."""

    def __init__(self) -> None:
        self.checks: dict[int, Check] = {}
        self.refs: dict[str, str] = {}
        self.names: set[str] = set()
        self.holders: dict[tuple[str, str], list[tuple[str, str]]] = {}
        self.vans: set[str] = set()
        self.plates: list[tuple[str, str]] = []

    def taken(self, made: Any) -> None:
        """A record was taken in."""
        if isinstance(made, Check):
            self.checks[made.number] = made
            if made.certificate:
                known = self.holders.setdefault((made.what, made.certificate), [])
                known.append((made.van, "in this file"))
        elif isinstance(made, Hire):
            self.refs[made.ref] = made.van
        elif isinstance(made, Inspector):
            self.names.add(made.name)
        elif isinstance(made, VanFacts):
            self.vans.add(made.van)
            self.plates += [(made.van, made.plate)] if made.plate else []


def _in_file(others: Others, file: _File) -> Others:
    """What the book knows, and the lines before."""
    return Others(
        holders=lambda what, number: [
            *others.holders(what, number), *file.holders.get((what, number), ()),
        ],
        refs=lambda: {**others.refs(), **file.refs},
        vans=lambda: {*others.vans(), *file.vans},
        plates=lambda: [*others.plates(), *file.plates],
        named=lambda name: name in file.names or others.named(name),
        name_of=others.name_of,
        checks=file.checks,
    )  # fmt: skip


def at_line(line: Line, problem: Problem) -> Problem:
    """A fault at its line and field, or at its cell: each field is a key or a column here."""
    field, rest = {"results": "readings"}.get(problem.field, problem.field), problem.where
    if problem == ANYWAY:
        how = 'fill in "Even so" with why' if line.cells else 'add the key "even_so" with why'
        return Problem(line.where, f"if it is true, {how}")
    if line.cells:
        near = line.cells.get(field, line.where)
        message = problem.message.replace(": --pass or --fail", ", with pass or fail")
        return Problem(near, f"{rest} {message}".strip())
    return Problem(f"{line.where} {f'{field} {rest}'.strip()}".rstrip(), problem.message)
