"""Cells of a workbook or CSV from anybody, read without trusting a byte of it.

A workbook is a zip of XML: what it unpacks to, how many parts, how far its cells lie and what is in
it are looked at before it is opened, and openpyxl parses through defusedxml.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

from fleetcare.errors import Problem

MOST_ROWS, MOST_COLUMNS = 20_000, 100
MOST_OCTETS = 50 * 2**20  # of the file unpacked; ten thousand rows are about 5 MB
MOST_PARTS = 200
MOST_CSV = 10 * 2**20
MOST_LINE = 100_000
MOST_CELLS = 2_500_000  # spanned by all sheets together
MOST_TAGS = 100_000  # of what is no sheet: styles, names; one of ours has a few hundred
_CELL = re.compile(rb"""<(?:\w+:)?c\b[^>]*?\br\s*=\s*["']([A-Z]{1,8})(\d{1,9})["']""")
_ROW = re.compile(rb"<(?:\w+:)?row\b")
_OLE = b"\xd0\xcf\x11\xe0"


class Cell(NamedTuple):
    """One cell: where it is, and its value as text, whole number, figure, day, yes or no."""

    at: str  # like B3
    value: Any

    @property
    def letters(self) -> str:
        """The letters of its column."""
        return self.at.rstrip("0123456789")

    @property
    def row(self) -> str:
        """The number of its row."""
        return self.at.removeprefix(self.letters)


class Rows(NamedTuple):
    """One sheet: its name, its headings with their columns, and its filled rows."""

    sheet: str
    headings: list[Cell]
    rows: list[list[Cell]]


def read_file(name: str) -> list[Rows] | list[Problem]:
    """Every sheet of a file, or what is wrong with the file."""
    path = Path(name)
    try:
        with path.open("rb") as file:
            data = file.read(MOST_OCTETS + 1)
    except OSError as fault:
        return [Problem(name, f"cannot be read: {fault.strerror}")]
    return read_named(name, data)


def read_named(name: str, data: bytes) -> list[Rows] | list[Problem]:
    """The same of a file's bytes: what it is called tells a CSV, and which of ours that is."""
    if len(data) > MOST_OCTETS:
        return [Problem(name, f"is larger than {MOST_OCTETS // 2**20} MB: no sheet of ours is")]
    if Path(name).suffix.lower() == ".csv":
        return _csv(name, data)
    return read_bytes(name, data)


def read_bytes(name: str, data: bytes) -> list[Rows] | list[Problem]:
    """Every sheet of a workbook's bytes, or what is wrong with it."""
    wrong = _unsafe(data)
    if wrong:
        return [Problem(name, wrong)]
    return _sheets(name, data)


def _csv(name: str, data: bytes) -> list[Rows] | list[Problem]:
    """A CSV: the separator is that of its first line, quotes are `"` and must close."""
    if len(data) > MOST_CSV:
        return [Problem(name, f"is larger than {MOST_CSV // 2**20} MB: no sheet of ours is")]
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return [Problem(name, "is not UTF-8 text: save it as CSV UTF-8")]
    if "\x00" in text or max(map(len, text.splitlines()), default=0) > MOST_LINE:
        return [Problem(name, "is no CSV: a line is far too long, or holds bytes that are no text")]
    first = text.partition("\n")[0]
    mark = max(",;\t", key=first.count)
    cells: list[list[Cell]] = []
    try:
        for r, row in enumerate(
            csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=True), 1
        ):
            if r > MOST_ROWS + 1 or len(row) > MOST_COLUMNS:
                return [Problem(name, _too_far())]
            cells.append(
                [Cell(f"{_letters(c)}{r}", value.strip() or None) for c, value in enumerate(row, 1)]
            )
    except csv.Error as fault:
        words = (
            f"is no CSV from row {len(cells) + 1} on ({fault}): a quote is not closed, or doubled"
        )
        return [Problem(name, words)]
    return [_rows(Path(name).stem, cells)]


def _too_far() -> str:
    return (
        f"has cells beyond row {MOST_ROWS + 1:,} or column {MOST_COLUMNS}: delete the rows and "
        "columns that are not used"
    )


def _unsafe(data: bytes) -> str | None:
    """Why a workbook is not opened; None where it may be."""
    if data.startswith(_OLE):
        return "is encrypted, or an old .xls: save it as .xlsx without a password"
    try:
        archive = zipfile.ZipFile(io.BytesIO(data))
        parts = archive.infolist()
    except (zipfile.BadZipFile, ValueError, OSError):
        return "is not a workbook: save it as .xlsx, or as CSV UTF-8"
    names = {part.filename for part in parts}
    if "[Content_Types].xml" not in names or not any("workbook.xml" in name for name in names):
        return "is not a workbook: save it as .xlsx, or as CSV UTF-8"
    if any(part.flag_bits & 1 for part in parts):
        return "is encrypted: save it without a password"
    if len(parts) > MOST_PARTS or sum(part.file_size for part in parts) > MOST_OCTETS:
        return f"unpacks to over {MOST_OCTETS // 2**20} MB or {MOST_PARTS} parts: it is no sheet"
    if any("vbaProject" in name for name in names):
        return "holds macros: save it as .xlsx without them"
    area = 0
    for part in parts:
        if part.filename.startswith("xl/worksheets/") and part.filename.endswith(".xml"):
            reach = _reach(archive, part)
            if isinstance(reach, str):
                return reach
            area += reach
            if area > MOST_CELLS:
                return _too_far()
        elif part.filename.endswith((".xml", ".rels")):
            plain = _unpacked(archive, part)
            if isinstance(plain, str):
                return plain
            most = MOST_CELLS if part.filename.endswith("sharedStrings.xml") else MOST_TAGS
            if plain.count(b"<") > 2 * most:  # each tag is opened and closed
                name = part.filename.rpartition("/")[2]
                return f"has far more in its {name} than a sheet needs: copy its cells to a new one"
    return None


def _unpacked(archive: zipfile.ZipFile, part: zipfile.ZipInfo) -> bytes | str:
    """The bytes of a part, whatever it says of its size; or why it is not read."""
    try:
        with archive.open(part) as file:
            data = file.read(MOST_OCTETS + 1)
    except (zipfile.BadZipFile, OSError, EOFError, NotImplementedError, ValueError):
        return "is damaged: save it again"
    if len(data) > MOST_OCTETS:
        return f"unpacks to over {MOST_OCTETS // 2**20} MB: it is no sheet"
    return data


def _reach(archive: zipfile.ZipFile, part: zipfile.ZipInfo) -> int | str:
    """How many cells a sheet spans, told from its bytes, for an XML reader would fill every row up
    to the last; or why it is not read."""
    data = _unpacked(archive, part)
    if isinstance(data, str):
        return data
    if data.count(b"<") > MOST_CELLS:  # more parts than any sheet of ours
        return _too_far()
    rows, columns = sum(1 for _ in _ROW.finditer(data)), 1
    for found in _CELL.finditer(data):
        letters, row = found[1], int(found[2])
        column = _number(letters) if len(letters) < 4 else MOST_COLUMNS + 1
        if row > MOST_ROWS + 1 or column > MOST_COLUMNS:
            return _too_far()
        rows, columns = max(rows, row), max(columns, column)
    return _too_far() if rows > MOST_ROWS + 1 else rows * columns


def _number(letters: bytes) -> int:
    found = 0
    for letter in letters:
        found = found * 26 + letter - 64
    return found


def _letters(number: int) -> str:
    found = ""
    while number:
        number, rest = divmod(number - 1, 26)
        found = chr(65 + rest) + found
    return found


def _sheets(name: str, data: bytes) -> list[Rows] | list[Problem]:
    import openpyxl

    if not openpyxl.DEFUSEDXML:
        return [Problem(name, "cannot be read safely: install defusedxml")]
    try:
        book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, keep_links=False)
        try:
            found = [_rows(page.title, list(_cells(page))) for page in book.worksheets]
        finally:
            book.close()
    except Exception as fault:  # whatever a broken file makes its reader raise
        why = type(fault).__name__
        return [Problem(name, f"cannot be read as a workbook ({why}): save it again")]
    return found


class Bad(NamedTuple):
    """A cell that holds no value: why, and what to do."""

    why: str


def _cells(page: Any) -> Iterator[list[Cell]]:
    page.reset_dimensions()  # what a file says of its size is not believed
    for row in page.iter_rows(max_row=MOST_ROWS + 1, max_col=MOST_COLUMNS):
        yield [Cell(cell.coordinate, _value(cell)) for cell in row if cell.value is not None]


def _value(cell: Any) -> Any:
    value = cell.value
    if cell.data_type == "f":
        return Bad("holds a formula: put its value there instead")
    if cell.data_type == "e":
        return Bad(f"holds the error {value}: put a value there, or empty it")
    if isinstance(value, dt.datetime):
        return value.date() if value.time() == dt.time() else value
    if isinstance(value, str):
        return value.strip() or None
    return value


def _rows(sheet: str, cells: list[list[Cell]]) -> Rows:
    """The first row that holds anything is the headings; empty rows are left out."""
    filled = [[c for c in row if c.value is not None] for row in cells]
    filled = [row for row in filled if row]
    return Rows(sheet, filled[0] if filled else [], filled[1:])
