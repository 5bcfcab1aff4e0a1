"""The characters of every stored field changed one at a time, rows taken out, swapped and put in: the
check of the book says so, and names the record."""

from __future__ import annotations

import datetime as dt
import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa
from sqlalchemy.exc import DBAPIError

from fleetcare.records.kinds import Adoption
from fleetcare.store import ledger, tables
from fleetcare.store.engine import engine_for
from fleetcare.store.erase import uses_of
from tests.desk.test_sheets import fill
from tests.typed import typed, typed_all
from tests.vans import WAIVES

DAY = dt.date(2026, 8, 1)
LATER = dt.date(2034, 6, 1)  # when no duty asks for a name any more


@pytest.fixture(scope="module")
def small(ready_template: bytes, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book of few records: people, a van, a check with readings, words, a correction, an answer."""
    file = tmp_path_factory.mktemp("small") / "book.db"
    file.write_bytes(ready_template)
    typed_all(
        str(file),
        [
            'inspector add "A. Fitter" --scope gas-hose --register-no 12 --from 2015-01-01',
            "van add V01 --jurisdiction gb --lpg --max-mass 3500kg --in-service-from 2024-01-01 --gas-hose-at locker",
            "fit V01 tyre front-left --made 0524 --on 2024-05-01",
            "fit V01 tyre front-right --made 0524 --on 2024-05-01",
            "record V01 tyres --pass --by Bo --on 2026-07-01 --reading tread:front-left=5.2mm "
            "--reading tread:front-right=5mm",
            'defect report V01 --grade minor "blind sticks" --on 2026-07-01',
            'correct 8 --words "blind torn" "misread"',
            "hire add V01 --from 2026-09-01 --through 2026-09-02 --ref H1 --bikes 1 --even-so known",
        ],
        DAY,
    )
    return file


@pytest.fixture(scope="module")
def wide(good_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book with a record of every kind there is."""
    folder = tmp_path_factory.mktemp("wide")
    file = Path(shutil.copy(good_file, folder / "book.db"))
    (folder / "a.pdf").write_bytes(b"%PDF-1.7")
    (folder / "firm.toml").write_text(WAIVES)
    typed_all(
        str(file),
        [
            "record fleet insurance --from 2028-04-01 --last-day 2029-03-31",
            f"attach 21 {folder}/a.pdf",
            f"attach 30 {folder}/a.pdf",
            "hire add V01 --from 2026-08-01 --through 2026-08-03 --ref H1 --even-so known",
            "hire change H1 --through 2026-08-04",
            f"rules adopt {folder}/firm.toml",
            "event V01 scrape",
            'hire waive H1 scrape "looked over" --by "C. Jones"',
            f"handover V01 H1 --sheet {folder}/h.txt",
        ],
        DAY,
    )
    filled = fill((folder / "h.txt").read_text("utf-8"), odometer="1000mi")
    (folder / "h.txt").write_text(filled, "utf-8")
    typed_all(
        str(file),
        [
            f"handover V01 H1 --from-file {folder}/h.txt --by W",
            "hire out H1 --by W --odometer 1000mi",
            "hire back H1 --odometer 1100mi",
            "odometer V01 1101mi",
            'defect report V01 --grade minor "blind sticks"',
            "defect recheck 47 --by W --next 2026-08-20",
            "defect repair 47 --by W",
            "defect sign-off 47 --by Lead",
            'hold V01 --from 2026-08-20 "screen"',
            'hold lift 51 --by Lead "fitted"',
            'recall V01 R-1 --stop-use "belt"',
            "recall done 53 --by Dealer --certificate D1",
            'van lay-up V01 --from 2026-09-01 "winter"',
            "take-off V01 fire-blanket kitchen",
            'withdraw 22 "another van"',
            'work book V01 --from 2026-08-24 --where "Fell Motors" --for chassis',
            "expect V01 habitation --due 2027-02-22",
            'van gone V01 --on 2026-12-01 "sold"',
            'inspector add "B. Smith" --theirs',
        ],
        DAY,
    )
    typed(str(file), 'erase --name "E. Tester" "left the firm"', LATER)
    return file


@pytest.fixture
def wide_book(wide: Path, tmp_path: Path) -> Iterator[sa.Connection]:
    """That book without its guards."""
    yield from _opened(wide, tmp_path)


@pytest.fixture
def open_book(small: Path, tmp_path: Path) -> Iterator[sa.Connection]:
    """The book without its guards, open to somebody who holds the file."""
    yield from _opened(small, tmp_path)


def _opened(file: Path, folder: Path) -> Iterator[sa.Connection]:
    place = shutil.copy(file, folder / "book.db")
    engine = engine_for(str(place))
    with engine.connect() as connection:
        connection.connection.dbapi_connection.execute("PRAGMA foreign_keys = OFF")  # type: ignore[union-attr]
        triggers = "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        for (name,) in connection.exec_driver_sql(triggers).all():
            connection.exec_driver_sql(f'DROP TRIGGER "{name}"')
        connection.commit()
        yield connection
        connection.rollback()
    engine.dispose()


EVERY = int(os.environ.get("FLEETCARE_FLIPS_EVERY", "9"))  # 1 in the bench: each character


def _flipped(value: Any) -> list[Any]:
    """A value with every ninth of its characters changed in turn, the first among them."""
    if isinstance(value, int):
        return [value ^ (1 << bit) for bit in range(max(value.bit_length(), 1))]
    return [
        value[:place] + chr(ord(value[place]) ^ 1) + value[place + 1 :]
        for place in range(0, len(value), EVERY)
    ]


def _found(connection: sa.Connection) -> list[str]:
    return list(ledger.faults(connection))


def _cells(connection: sa.Connection) -> Iterator[tuple[str, dict[str, Any], str]]:
    for name, table in tables.metadata.tables.items():
        columns = [c.name for c in table.c]
        for row in connection.exec_driver_sql(f'SELECT * FROM "{name}"').all():
            cells = dict(zip(columns, row, strict=True))
            for column in columns:
                if cells[column] is not None:
                    yield name, cells, column


def _named_by(connection: sa.Connection, table: str, cells: dict[str, Any]) -> list[str]:
    """What a fault must name for a row of a table: its record, or the head."""
    if table == "ledger_head":
        return ["head"]
    if table == "said":
        return [f"#{use.number}" for use in uses_of(connection, [cells["commitment"]])]
    if table == "rulebook":
        adoption = tables.TABLES[Adoption].c
        query = sa.select(adoption.number).where(adoption.digest == cells["digest"])
        return [f"#{number} (adoption)" for number in connection.execute(query).scalars()]
    return [f"#{cells['number']}"]


def _where(cells: dict[str, Any]) -> tuple[str, list[Any]]:
    kept = {name: value for name, value in cells.items() if value is not None}
    return " AND ".join(f'"{name}" = ?' for name in kept), list(kept.values())


def test_the_characters_of_every_field_are_held(open_book: sa.Connection) -> None:
    """One change at a time; what the tables' own checks refuse is refused, the rest is named."""
    assert _found(open_book) == []
    tried = refused = 0
    for table, cells, column in list(_cells(open_book)):
        named = _named_by(open_book, table, cells)
        value = cells[column]
        changes = _flipped(value)
        if table == "rulebook" and column == "text":
            changes = changes[:: len(changes) // 40]  # a quarter of a million characters
        where, keys = _where(cells)
        for change in changes:
            tried += 1
            try:
                done = open_book.exec_driver_sql(
                    f'UPDATE "{table}" SET "{column}" = ? WHERE {where}', (change, *keys)
                )
            except DBAPIError:
                refused += 1
                open_book.rollback()
                continue
            assert done.rowcount == 1
            found = _found(open_book)
            assert any(name in one for name in named for one in found), (
                table, column, value, change, found,
            )  # fmt: skip
            open_book.rollback()

    print(f"{tried:,} changes tried, {refused:,} refused by the tables, the rest named")
    assert tried > 3000 / EVERY
    assert refused < tried / 10
    assert _found(open_book) == []


MOST_ROWS = 4  # of a table, the first and the last of them among these


@pytest.mark.parametrize("table", sorted(set(tables.metadata.tables) - {"ledger_head"}))
def test_a_row_taken_out_or_put_in_is_found(wide_book: sa.Connection, table: str) -> None:
    """Of every table there is: a row gone, and a row doubled under another number."""
    assert _found(wide_book) == []
    rows = wide_book.exec_driver_sql(f'SELECT * FROM "{table}"').all()
    columns = [c.name for c in tables.metadata.tables[table].c]
    tried = dict.fromkeys([*rows[: MOST_ROWS - 1], *rows[-1:]])
    gone = doubles = 0
    for row in tried:
        cells = dict(zip(columns, row, strict=True))
        named = _named_by(wide_book, table, cells)
        where, keys = _where(cells)
        done = wide_book.exec_driver_sql(f'DELETE FROM "{table}" WHERE {where}', tuple(keys))
        assert done.rowcount == 1
        found = _found(wide_book)
        assert any(name in one for name in named for one in found) or (
            table == "said" and any('row of "' in one for one in found)
        ), (cells, found)
        gone += 1
        wide_book.rollback()
        if "number" in cells:
            marks = ", ".join("?" for _ in row)
            doubled = tuple((cells | {"number": 999}).values())
            wide_book.exec_driver_sql(f'INSERT INTO "{table}" VALUES ({marks})', doubled)
            assert _found(wide_book), cells
            doubles += 1
            wide_book.rollback()

    assert gone == min(len(rows), MOST_ROWS)
    assert gone > 0
    assert doubles == (0 if table in ("said", "rulebook") else gone)


def test_two_records_swapped_are_both_named(open_book: sa.Connection) -> None:
    """The two tyres change numbers, in the ledger and in their table."""
    for name in ("record", "fits"):
        for old, new in ((5, -1), (6, 5), (-1, 6)):
            open_book.exec_driver_sql(f"UPDATE {name} SET number = {new} WHERE number = {old}")
    found = " ".join(_found(open_book))

    assert "#5" in found
    assert "#6" in found


def test_a_name_emptied_without_an_erasure_is_told(open_book: sa.Connection) -> None:
    """What looks erased and was not by the program is counted against the erasures."""
    open_book.exec_driver_sql("UPDATE said SET salt = NULL, text = NULL WHERE text = 'Bo'")

    assert _found(open_book) == ["1 names or words are empty, and erasures tell of 0"]
