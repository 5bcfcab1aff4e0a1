"""Spreadsheets in: a blank to fill, and what was filled read back, all or nothing."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from fleetcare.desk import papers
from fleetcare.desk.asking import KnownAt
from fleetcare.desk.incoming import Incoming
from fleetcare.desk.rulebook import in_use, tables_in
from fleetcare.desk.taking import File, Shown, taken_in, unseen
from fleetcare.errors import Problem, Refused, near, not_one_of
from fleetcare.files import Given
from fleetcare.intake import workbook
from fleetcare.intake.columns import TABLES, Column, Table, table_of
from fleetcare.intake.filled import EXAMPLE, Headings, lines_of, own, waiting
from fleetcare.intake.lines import Line
from fleetcare.intake.mapping import Mapped, read_mapping
from fleetcare.intake.workbook import Rows
from fleetcare.records.fields import Is, fields_of
from fleetcare.reports.blank import BlankColumn, BlankSheet
from fleetcare.rules.book import Book

_NOTES = (
    "Fill one row for each; the example row is not read. Grey headings must be filled.",
    "Days are dates; a figure without a unit takes the unit of its heading.",
    'Read it with: fleetcare sheet read FILE --dry-run, then without "--dry-run".',
    "Reading it again adds nothing that is in the book already.",
    "A row that only says what is asked for is not read until more of it is filled in.",
)
ALL = "all"
KINDS = (*TABLES, ALL)
_EVIDENCE = "Evidence "
_EXPORT = ("About", "What this is")  # sheet and first cell of the workbook for insurers


class Filled(NamedTuple):
    """What reading a file came to."""

    rows: int
    added: int
    known: int
    said: list[str]
    faults: tuple[Problem, ...] = ()


def blank(place: str | None, kind: str) -> tuple[str, bytes]:
    """The name and the bytes of a workbook to fill: of a kind, or of all in one."""
    from fleetcare.render.blank import blank_bytes

    if kind not in KINDS:
        raise Refused([Problem("", not_one_of(kind, KINDS))])
    book = in_use(place)
    kinds = list(TABLES) if kind == ALL else [kind]
    return f"{kind}.xlsx", blank_bytes([blank_sheet(book, one) for one in kinds])


def asked_for(place: str, rows: Mapping[str, Sequence[Mapping[str, str]]]) -> bytes:
    """A workbook that asks for records: by kind a row each, of which the rest is filled in and read
    back with `sheet read`. Refused where there is nothing to ask for."""
    from fleetcare.render.blank import blank_bytes

    if not any(rows.values()):
        raise Refused([Problem("", "nothing is asked for that a sheet has a row for")])
    book = in_use(place)
    return blank_bytes([blank_sheet(book, kind, listed) for kind, listed in rows.items()])


def blank_sheet(book: Book, kind: str, rows: Sequence[Mapping[str, str]] = ()) -> BlankSheet:
    """One sheet to fill; with rows, each says by heading what is asked for."""
    table = TABLES[kind]
    columns = [_blank_column(book, table, column) for column in table.columns]
    return BlankSheet(table.sheet, columns, _NOTES, rows)


def _blank_column(book: Book, table: Table, column: Column) -> BlankColumn:
    holds = {f.name: f.holds for f in fields_of(table.record)}.get(column.field)
    choices = tuple(w for word in column.choices for w in _words(book, word))
    example = column.example
    if column is table.columns[0]:
        example = f"{EXAMPLE} {column.example}"
    words = [column.note] if column.note else []
    words += [f"one of: {', '.join(choices)}"] if choices else []
    words += [f"figures without a unit are in {column.unit}"] if column.unit else []
    words += ["a date"] if holds is Is.DAY else []
    return BlankColumn(
        column.heading, "; ".join(words), example, choices, column.needed, holds is Is.DAY,
        holds in (Is.WORD, Is.VAN),
    )  # fmt: skip


def _words(book: Book, word: str) -> tuple[str, ...]:
    """A choice, or the list of the rules it names."""
    if not word.startswith("*"):
        return (word,)
    lists = {"*checks": book.checks, "*components": book.components, "*homes": book.homes}
    if word in lists:
        return tuple(lists[word])
    return book.facts[word[1:]].values


def read(
    place: str,
    by: str,
    file: str | Given,
    mapping: str | None = None,
    *,
    dry_run: bool = False,
    shown: Shown = unseen,
) -> Filled:
    """Read what was filled: a file by its name, or one that was sent. Faults are given back, with
    nothing written where there is any."""
    if isinstance(file, Given):
        name, sheets = file.name, workbook.read_named(file.name, file.data)
    else:
        name, sheets = file, workbook.read_file(file)
    faults = [one for one in sheets if isinstance(one, Problem)]
    if faults:
        return Filled(0, 0, 0, [], tuple(faults))
    pages = [one for one in sheets if isinstance(one, Rows)]
    if any(_is_export(page) for page in pages):
        return _compared(place, name, pages)
    lines, problems = _lines(name, pages, mapping)
    rows = len(lines) + len({p.where for p in problems})
    if not lines and not problems:
        problems = [Problem(name, "holds no filled row: nothing was read")]
    try:
        held = File(lines, problems, known_already=True)
        said, taking = taken_in(place, by, held, dry_run=dry_run, shown=shown, told=_known)
    except Refused as fault:
        return Filled(rows, 0, 0, [], fault.problems)
    return Filled(len(lines), len(taking.records), taking.known, [*said, *_waiting(pages, mapping)])


def _waiting(pages: list[Rows], mapping: str | None) -> list[str]:
    """How many rows of ours only say what is asked for."""
    if mapping:
        return []
    many = sum(waiting(page, table) for page in pages if (table := table_of(page.sheet)))
    rows_are = "row is" if many == 1 else "rows are"
    return [f"{many} {rows_are} not filled in yet: nothing was read of them."] if many else []


def _known(taking: Incoming) -> list[str]:
    """How many rows the book held already."""
    if not taking.known:
        return []
    rows_are = "row is" if taking.known == 1 else "rows are"
    return [f"{taking.known} {rows_are} in the book already: nothing was added."]


def _lines(name: str, pages: list[Rows], mapping: str | None) -> tuple[list[Line], list[Problem]]:
    """The rows of every sheet that is one of ours, or is told of in a mapping; vans first."""
    mapped: dict[str, list[Mapped]] = {}
    problems: list[Problem] = []
    if mapping:
        mapped, problems = read_mapping(tables_in(mapping), mapping)
    found: list[tuple[int, Line]] = []
    order = list(TABLES.values())
    read_any = False
    for page in pages:
        chosen = _chosen(page, mapped)
        if not chosen:
            if not mapped and page.rows and (hint := _nearly_ours(page.sheet)):
                problems.append(Problem(name, f'has a sheet "{page.sheet}".{hint} Rename it'))
            continue
        read_any = True
        for table, headings in chosen:
            lines, faults = lines_of(page, table, headings)
            problems += [fault for fault in faults if fault not in problems]
            found += [(order.index(table), line) for line in lines]
    have = {page.sheet.strip().casefold() for page in pages}
    problems += [
        Problem(name, f'has no sheet "{sheet}", which the mapping names')
        for sheet in mapped
        if sheet.strip().casefold() not in have
    ]
    if not read_any and not problems:
        names = ", ".join(page.sheet for page in pages) or "none"
        known = ", ".join(table.sheet for table in order)
        words = f"is none of our blanks: its sheets are {names}; ours are {known}"
        how = f'Draft how it is to be read with: fleetcare sheet draft "{name}" -o ours.toml'
        problems.append(Problem(name, f"{words}. {how}, and read it with --map ours.toml"))
    return [line for _, line in sorted(found, key=lambda one: one[0])], problems


def _nearly_ours(sheet: str) -> str:
    """A hint where a sheet is most likely one of ours by another name: to skip it loses rows."""
    names = [table.sheet for table in TABLES.values()]
    within = next((name for name in names if name.casefold() in sheet.casefold()), None)
    return f' Did you mean "{within}"?' if within else near(sheet, names)


def _chosen(page: Rows, mapped: dict[str, list[Mapped]]) -> list[tuple[Table, Headings]]:
    """How a sheet is read: blanks around its name, and its case, tell no two sheets apart."""
    wanted = page.sheet.strip().casefold()
    if mapped:
        named = (listed for name, listed in mapped.items() if name.strip().casefold() == wanted)
        return [(one.table, one.mapping) for listed in named for one in listed]
    table = table_of(wanted)
    return [(table, own(table))] if table else []


def _is_export(page: Rows) -> bool:
    firsts = [row[0].value for row in _all(page) if row]
    return page.sheet == _EXPORT[0] and _EXPORT[1] in firsts


def _compared(place: str, name: str, pages: list[Rows]) -> Filled:
    """The workbook for insurers read back: it is held against the book, and never taken in."""
    about = next(page for page in pages if _is_export(page))
    cells = {row[0].value: row[1].value for row in _all(about) if len(row) > 1}
    day = cells.get("As of")
    if not isinstance(day, dt.date):
        return Filled(0, 0, 0, [], (Problem(name, "does not say of which day it is"),))
    known_at = None
    if "As known then" in cells:
        size = cells.get("Records in the book")
        if type(size) is not int or size < 1:
            words = "does not say how many records the book held then"
            return Filled(0, 0, 0, [], (Problem(name, words),))
        known_at = KnownAt(size=size)
    vans = tuple(p.sheet.removeprefix(_EVIDENCE) for p in pages if p.sheet.startswith(_EVIDENCE))
    _, data = papers.insurers(place, day, known_at, vans)
    fresh = {p.sheet: p for p in workbook.read_bytes(name, data) if isinstance(p, Rows)}
    faults, rows = [], 0
    for page in pages:
        if _is_export(page):
            continue
        rows += len(page.rows)
        ours = {c.at: c.value for row in _all(fresh.get(page.sheet)) for c in row}
        theirs = {c.at: c.value for row in _all(page) for c in row}
        faults += [
            Problem(f'{page.sheet}!{at} "{theirs.get(at)}"', f'the book says "{ours.get(at)}"')
            for at in dict.fromkeys([*ours, *theirs])
            if ours.get(at) != theirs.get(at)
        ]
    if faults:
        words = "is the workbook for insurers, and is not filled in: use fleetcare sheet blank"
        faults.append(Problem(name, words))
    said = [] if faults else [f"{rows:,} rows of {day} read back: no change."]
    return Filled(rows, 0, 0 if faults else rows, said, tuple(faults))


def _all(page: Rows | None) -> list[list[workbook.Cell]]:
    return [page.headings, *page.rows] if page else []
