"""Rows of a sheet somebody filled → records, or every fault with its cell, value and what to do."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any, NamedTuple

from fleetcare.errors import Problem, near
from fleetcare.intake.columns import DIMENSIONS, Column, Table
from fleetcare.intake.lines import MOST_COUNT, Line
from fleetcare.intake.workbook import Bad, Cell, Rows
from fleetcare.records.fields import Field, Is, fields_of
from fleetcare.records.kinds import Reading
from fleetcare.trade.measures import read_measure

EXAMPLE = "(example)"  # a row that begins with it shows how to fill, and is never read


class Headings(NamedTuple):
    """How the headings of a firm's own sheet are to be read."""

    headings: Mapping[str, Column]  # their heading → our column
    day_formats: tuple[str, ...] = ()  # of dates written as text; YYYY-MM-DD where none is said
    fixed: Mapping[str, str] = {}  # fields that are the same for every row
    ignored: frozenset[str] = frozenset()  # headings that are not to be read
    units: Mapping[str, str] = {}  # of bare figures, by their heading
    ours: bool = False  # the headings are our own, and say their unit
    heading_row: int | None = None  # where it is not the first row that holds anything
    values: Mapping[str, Mapping[str, str]] = {}  # what a value means, by heading in small letters
    several: bool = False  # the sheet feeds other kinds as well
    further: bool = False  # and was told of before: what no heading of it is was said there


def own(table: Table) -> Headings:
    """The headings of our own blank sheet."""
    return Headings({column.heading: column for column in table.columns}, ours=True)


def lines_of(rows: Rows, table: Table, mapping: Headings) -> tuple[list[Line], list[Problem]]:
    """Every row that can be read, and every fault of those that can't."""
    headed = _headed(rows, mapping.heading_row)
    if isinstance(headed, Problem):
        return [], [headed]
    rows = headed
    columns, faults = _columns(rows, table, mapping)
    meant = {c.letters: mapping.values.get(str(c.value).lower(), {}) for c in rows.headings}
    found: list[Line] = []
    for row in rows.rows:
        if str(row[0].value).startswith(EXAMPLE) or _of_another(row, columns, table, mapping):
            continue
        if mapping.ours and _only_asks(row, columns, table):
            continue
        row = [_meaning(cell, meant) for cell in row]
        line = _line(rows.sheet, row, columns, table, mapping)
        if isinstance(line, Line):
            found.append(line)
        else:
            faults += line
    return found, faults


def waiting(rows: Rows, table: Table) -> int:
    """How many rows of a sheet of ours only say what is asked for, and are not filled in yet."""
    columns, _ = _columns(rows, table, own(table))
    return sum(_only_asks(row, columns, table) for row in rows.rows)


def _only_asks(row: list[Cell], columns: Mapping[str, Column | None], table: Table) -> bool:
    found = [columns.get(cell.letters) for cell in row]
    return bool(table.asked) and all(one and one.field in table.asked for one in found)


def _headed(rows: Rows, number: int | None) -> Rows | Problem:
    """The sheet from the row of its headings on."""
    if number is None:
        return rows
    filled = [rows.headings, *rows.rows]
    for place, row in enumerate(filled):
        if row and row[0].row == str(number):
            return rows._replace(headings=row, rows=filled[place + 1 :])
    return Problem(f"{rows.sheet}!{number}", "holds nothing, and the mapping says it has headings")


def _of_another(
    row: list[Cell], columns: Mapping[str, Column | None], table: Table, mapping: Headings
) -> bool:
    """Whether a row of a sheet that feeds several kinds has nothing of this one but its van."""
    if not mapping.several or table.kind == "van":
        return False
    ours = (columns.get(cell.letters) for cell in row)
    return all(column is None or column.field == "van" for column in ours)


def _meaning(cell: Cell, meant: Mapping[str, Mapping[str, str]]) -> Cell:
    """A cell with its value as the mapping says it is meant."""
    words = meant.get(cell.letters, {})
    found = words.get(str(cell.value).strip().casefold())
    return cell if found is None else cell._replace(value=found)


def _columns(
    rows: Rows, table: Table, mapping: Headings
) -> tuple[dict[str, Column | None], list[Problem]]:
    """Our column for each letter with a heading, None where it is not to be read; faults for
    headings nobody knows, twice, or missing. A bare figure's unit is what our own heading says, or
    the mapping of theirs."""
    known = {heading.lower(): column for heading, column in mapping.headings.items()}
    units = {heading.lower(): unit for heading, unit in mapping.units.items()}
    ignored = {heading.lower() for heading in mapping.ignored}
    found: dict[str, Column | None] = {}
    taken: set[str] = set()
    faults = []
    for cell in rows.headings:
        word = str(cell.value)
        column = known.get(word.lower())
        found[cell.letters] = None
        where = f'{rows.sheet}!{cell.at} "{word}"'
        if column is None and word.lower() not in ignored and not mapping.further:
            names = ", ".join(mapping.headings)
            hint = near(word, mapping.headings)
            faults.append(Problem(where, f"is no column here.{hint} The columns are: {names}"))
        elif column is not None and column.field in taken:
            faults.append(Problem(where, "stands twice: keep one of them"))
        elif column is not None:
            taken.add(column.field)
            bare = column.unit if mapping.ours else units.get(word.lower(), "")
            found[cell.letters] = column._replace(bare=bare)
    have = taken | set(mapping.fixed)
    for column in table.columns:
        if column.needed and column.field not in have:
            faults.append(Problem(rows.sheet, f'has no column "{column.heading}": add it'))
    return found, faults


def _line(
    sheet: str,
    row: list[Cell],
    columns: Mapping[str, Column | None],
    table: Table,
    mapping: Headings,
) -> Line | list[Problem]:
    record: Any = table.record
    fields = {field.name: field for field in fields_of(record)}
    values: dict[str, Any] = {"number": 0}
    cells: dict[str, str] = {}
    faults: list[Problem] = []
    stands = row[0].row
    given = [(c, columns.get(c.letters)) for c in row]
    no_heading = "stands under no heading: put one above it, or empty it"
    for c in row:
        if c.letters not in columns:
            faults.append(Problem(f'{sheet}!{c.at} "{c.value}"', no_heading))
    listed = [(c, column) for c, column in given if column is not None]
    listed += [
        (Cell(f"{name} of the mapping", value), _plain_column(name))
        for name, value in mapping.fixed.items()
    ]
    for cell, column in listed:
        name = column.field.partition(":")[0]
        where = f'{sheet}!{cell.at} "{cell.value}"'
        cells[name] = where
        cells[column.field] = where
        if isinstance(cell.value, Bad):
            faults.append(Problem(f"{sheet}!{cell.at}", cell.value.why))
            continue
        value = _read(column, fields.get(name), cell.value, mapping.day_formats)
        if isinstance(value, Problem):
            faults.append(value._replace(where=where))
        elif name == "places":
            values["places"] = (*values.get("places", ()), *value)
        else:
            values[name] = value
    have = {
        column.field for column in columns.values() if column
    }  # what has no column at all is told once
    for column in table.columns:
        if column.needed and column.field in have - set(values) and not faults:
            faults.append(Problem(f"{sheet}!{stands}", f"says no {column.heading}: fill it in"))
    if faults or any(column.needed and column.field not in values for column in table.columns):
        return faults
    where = f"{sheet}!{stands}"
    return Line(where, table.kind, record(**values), None, {}, cells)


def _plain_column(field: str) -> Column:
    return Column(field, field)


def _no(words: str) -> Problem:
    """What is wrong with a value; where it stands is put to it by whoever knows."""
    return Problem("", words)


def _read(column: Column, field: Field | None, value: Any, day_formats: tuple[str, ...]) -> Any:
    """A cell's value for its field, or what is wrong with it."""
    if column.field.startswith("places:"):
        return _places(column.field.partition(":")[2], value)
    if field is None:
        return _no("names a field that is not there")
    if field.holds is Is.DAY:
        return _day(value, day_formats)
    reader = _READ.get(field.holds)
    if reader:
        return reader(column, value)
    if isinstance(value, (dt.date, dt.datetime)):
        return _no("is a date, and a word is asked for here")
    if isinstance(value, bool):
        return _no("is true or false, and a word is asked for here")
    if isinstance(value, (int, float)) and column.field == "made":
        return _no("is a number, which has lost its zeros: format the cell as text, like 0524")
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return str(value)


def _day(value: Any, formats: tuple[str, ...]) -> Any:
    if isinstance(value, dt.datetime):
        return _no("has a time of day: put the day alone")
    if isinstance(value, dt.date):
        return value if 1900 <= value.year <= 2199 else _no("lies too far off")
    days = {day for one in formats or ("%Y-%m-%d",) if (day := _as_day(value, one))}
    if len(days) > 1:
        listed = " or ".join(map(str, sorted(days)))
        return _no(f"may be {listed} by the mapping's date formats: put it as a date")
    if not days:
        how = "in the mapping's date format" if formats else "as a date, or like 2026-03-02"
        return _no(f"is not a day: put it {how}")
    read = days.pop()
    return read if 1900 <= read.year <= 2199 else _no("lies too far off")


def _as_day(value: Any, form: str) -> dt.date | None:
    try:
        if isinstance(value, str):
            return dt.datetime.strptime(value, form).date()  # noqa: DTZ007 (a day)
    except ValueError:
        pass
    return None


def _count(column: Column, value: Any) -> Any:
    if isinstance(value, str) and re.fullmatch("[0-9]{1,4}", value):
        value = int(value)
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    whole = type(value) is int and 0 <= value <= MOST_COUNT
    return value if whole else _no(f"is not a whole number from 0 to {MOST_COUNT}")


def _flag(column: Column, value: Any) -> Any:
    if isinstance(value, bool):
        return value
    word = str(value).strip().lower()
    return {"yes": True, "no": False}.get(word, _no("is neither yes nor no"))


def _measure(column: Column, value: Any) -> Any:
    """A figure with its unit. A bare number takes the column's, where it can be one of it: 4.5
    taken for psi is a flat tyre."""
    if isinstance(value, (bool, dt.date, dt.datetime)):
        return _no("is not a figure")
    if isinstance(value, (int, float)):
        text = f"{Decimal(str(value)).normalize():f}"
    else:
        text = str(value).replace(" ", "")
        if not re.fullmatch(r"[0-9]+(\.[0-9]+)?", text):
            return text
    if not column.bare:
        return _no("has no unit: type it like 3500kg, or name the unit in the mapping")
    dimension = DIMENSIONS[column.unit]
    figures = (f"{text}{column.bare}", *(f"{figure}{column.unit}" for figure in column.span))
    value, least, most = (read_measure(figure, dimension).value for figure in figures)
    if not least <= value <= most:
        span = f"{column.span[0]} to {column.span[1]} {column.unit}"
        return _no(f"is not within {span}: if it is so, or in another unit, type it with its unit")
    return f"{text}{column.bare}"


def _readings(column: Column, value: Any) -> Any:
    found = []
    for word in str(value).split(";"):
        name, equals, figure = word.strip().partition("=")
        what, colon, place = name.partition(":")
        if not equals or not what or not figure or (colon and not place):
            return _no("is not readings: put them like tread:front-left=5.2mm; damp:rooflight=12")
        found.append(Reading(what.strip(), place.strip() or None, figure.strip()))
    return tuple(found)


def _places(kind: str, value: Any) -> Any:
    words = [word.strip() for word in str(value).split(",") if word.strip()]
    if [word.lower() for word in words] == ["none"]:
        return (f"{kind}:",)
    return tuple(f"{kind}:{word}" for word in words)


_READ: dict[Is, Callable[[Column, Any], Any]] = {
    Is.COUNT: _count,
    Is.FLAG: _flag,
    Is.MEASURE: _measure,
    Is.PART: _readings,
}
