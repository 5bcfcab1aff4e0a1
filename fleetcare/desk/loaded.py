"""What a loaded record is held to beyond one that was corrected: what the command that types it
asks for, and what stands in the same file."""

from __future__ import annotations

from typing import Any

from fleetcare.desk.fitted import part_faults
from fleetcare.desk.session import Writing
from fleetcare.errors import Problem
from fleetcare.intake import words
from fleetcare.records.facts import Facts
from fleetcare.records.kinds import (
    Check,
    Defect,
    Fit,
    FleetPaper,
    Hire,
    Inspector,
    Repair,
    SignOff,
    VanFacts,
)
from fleetcare.records.yard import Gone
from fleetcare.store import facts as stored

_MARKS = Fit._fields[Fit._fields.index("made") : Fit._fields.index("even_so")]


class InFile:
    """The records of one file so far, as far as the next are held against them."""

    def __init__(self) -> None:
        self._checks: dict[int, Check] = {}
        self._refs: dict[str, str] = {}
        self._names: set[str] = set()
        self._certificates: dict[tuple[str, str], str] = {}
        self._vans: set[str] = set()

    def taken(self, made: Any) -> None:
        """A record was taken in."""
        if isinstance(made, Check):
            self._checks[made.number] = made
            if made.certificate:
                self._certificates[made.what, made.certificate] = made.van
        elif isinstance(made, Hire):
            self._refs[made.ref] = made.van
        elif isinstance(made, Inspector):
            self._names.add(made.name)
        elif isinstance(made, VanFacts):
            self._vans.add(made.van)

    def faults(self, book: Writing, facts: Facts | None, record: Any) -> list[Problem]:
        """What is wrong with a record whose van is known so far by `facts`."""
        if isinstance(record, VanFacts):
            return _statement(book, facts, record)
        if isinstance(record, Fit) and record.part and facts:
            return _part(facts, record)
        if isinstance(record, Check):
            return self._check(book, record)
        if isinstance(record, Defect) and record.check:
            return self._of_check(record)
        if isinstance(record, Hire):
            return self._hire(book, record)
        if isinstance(record, FleetPaper):
            return self._paper(book, record)
        if isinstance(record, Inspector):
            return self._inspector(book, record)
        if isinstance(record, Repair) and record.temporary:
            how = "is written at the roadside: fleetcare defect repair --temporary"
            return [Problem("temporary", how)]
        if isinstance(record, SignOff) and not (record.by or record.inspector):
            return [Problem("by", "say who signs it off: by, or inspector")]
        if isinstance(record, Gone) and facts and facts.gone:
            return [Problem("", f"{record.van} is gone from {facts.gone[0].on} already")]
        return []

    def _check(self, book: Writing, record: Check) -> list[Problem]:
        kind = book.book.checks.get(record.what)
        found = words.reading_faults(record, kind, book.book) if kind else []
        holder = self._certificates.get((record.what, record.certificate or ""), record.van)
        if holder != record.van and not record.even_so:
            how = f'"{record.certificate}" is the certificate of {holder} in this file too'
            found.append(Problem("certificate", f'{how}: if it is true, add the key "even_so"'))
        return found

    def _of_check(self, record: Defect) -> list[Problem]:
        """What a check found is written with the check: said later it could close an old fail."""
        check = self._checks.get(record.check or 0)
        if check is None:
            return [Problem("check", "must be a check of this file: a defect is loaded with it")]
        if check.on != record.on:
            return [Problem("on", f"{record.on} is not the day of the check ({check.on})")]
        return []

    def _hire(self, book: Writing, record: Hire) -> list[Problem]:
        known = {**stored.hire_refs(book.connection), **self._refs}
        if known.get(record.ref) == record.van:  # of another van it is refused already, or below
            return [Problem("ref", f'"{record.ref}" is a hire of {record.van} already')]
        if record.ref in self._refs:
            return [Problem("ref", f'"{record.ref}" is a hire of {self._refs[record.ref]} already')]
        return []

    def _paper(self, book: Writing, record: FleetPaper) -> list[Problem]:
        kind = book.book.checks.get(record.what)
        found = []
        if not (kind and kind.paper):
            found.append(Problem("what", f'"{record.what}" is no paper that covers days'))
        if not record.vans:
            found.append(Problem("vans", "say which vans it names"))
        known = {*self._vans, *stored.vans_of(book.connection)}
        found += [
            Problem("vans", f'"{van}" is not in the fleet')
            for van in record.vans
            if van not in known
        ]
        return found

    def _inspector(self, book: Writing, record: Inspector) -> list[Problem]:
        shared = stored.shared_of(book.connection, stored.known_of(book.connection))
        names = stored.words_of(book.connection, [i.name for i in shared.inspectors.values()])
        if record.name in self._names or record.name in names.values():
            return [Problem("name", f'"{record.name}" is in the book already')]
        return []


def _statement(book: Writing, facts: Facts | None, record: VanFacts) -> list[Problem]:
    found = words.statement_faults(record, book.book)
    if not any(value is not None for value in record[3:]):
        found.append(Problem("", "states nothing: leave the line out, or say what is so"))
    elif not (facts and facts.stated) and record.jurisdiction is None:
        found.append(Problem("jurisdiction", "say whose rules the new van is under, like gb"))
    return found


def _part(facts: Facts, record: Fit) -> list[Problem]:
    """A component fitted again is named by its first record, and keeps its own marks."""
    origin = next((fit for fit in facts.fits if fit.number == record.part), None)
    if origin is None:
        return [Problem("part", "is no component of this van")]
    if origin.part:
        return [Problem("part", f"was fitted again itself: name its first record, #{origin.part}")]
    marked = any(getattr(record, name) is not None for name in _MARKS)
    return part_faults(record, origin, origin.number, marked=marked)
