"""A book file damaged where no record is read from: the check of the book still says so."""

from __future__ import annotations

import shutil
import sqlite3
from pathlib import Path

import pytest

from fleetcare.desk import trust
from fleetcare.errors import Refused

LEAF = 10  # the first octet of a page that holds the entries of an index (SQLite file format, 1.6)


def _entry_of(file: Path, index: str) -> int:
    """Where the last octet of the first entry of an index stands in its file: part of the number
    of the row it points to."""
    with sqlite3.connect(file) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        ((size,),) = connection.execute("PRAGMA page_size").fetchall()
        query = "SELECT rootpage FROM sqlite_master WHERE type = 'index' AND name = ?"
        ((page,),) = connection.execute(query, (index,)).fetchall()
    connection.close()
    data = file.read_bytes()
    start = (page - 1) * size
    assert data[start] == LEAF
    cell = start + int.from_bytes(data[start + 8 : start + 10], "big")
    assert data[cell] < 0x80  # its length in one octet
    return cell + data[cell]


def test_a_damaged_page_of_an_index_is_told(good: str, tmp_path: Path) -> None:
    """One bit of the index of certificates: every record is as it was, and a certificate given
    twice would be found no more. The engine's own look at the file says so."""
    copy = tmp_path / "copy.db"
    assert trust.verify(good).faults == []
    place = _entry_of(Path(good), "ix_checks_certificate")
    shutil.copy(good, copy)
    data = bytearray(copy.read_bytes())
    data[place] ^= 1
    copy.write_bytes(data)
    found = trust.verify(str(copy))

    (fault,) = found.faults
    assert fault.startswith("the database file is damaged: row ")
    assert fault.endswith(" missing from index ix_checks_certificate")
    assert found.held == []
    with pytest.raises(Refused) as refused:
        trust.back_up(str(copy), str(tmp_path / "backup.db"))
    assert str(refused.value) == f"{copy}: {fault}"
    assert not (tmp_path / "backup.db").exists()
