"""A copy is whole, checked and never over anything; the drill brings the same answers back."""

from __future__ import annotations

import datetime as dt
import os
import shutil
import sqlite3
from pathlib import Path

import pytest

from fleetcare import clock
from fleetcare.desk import questions, trust
from fleetcare.errors import Refused
from fleetcare.store import backup
from tests.typed import typed

ON = dt.date(2026, 8, 1)


def test_the_drill(good: str, tmp_path: Path) -> None:
    """Copied, checked, brought back: the same tally, the same due, and a book to write in."""
    copy, new = str(tmp_path / "copy.db"), str(tmp_path / "new.db")
    before = trust.status(good)
    trust.back_up(good, copy)
    trust.check_copy(copy)
    trust.restore(copy, new)

    assert trust.status(new) == before._replace(database=new)
    assert questions.due(new, ON, 60) == questions.due(good, ON, 60)
    assert trust.verify(new).faults == []
    assert oct(os.stat(copy).st_mode & 0o777) == "0o600"
    assert sorted(p.name for p in tmp_path.iterdir() if p.name.startswith("copy")) == [
        "copy.db",
        "copy.db.manifest.json",
    ]
    typed(new, "odometer V01 100mi", ON)


def test_an_old_copy_is_spoken_of(good: str, tmp_path: Path) -> None:
    """Never copied, copied, copied a week and a minute ago, and a note that says nothing."""
    taken = dt.datetime(2026, 8, 1, 9, 0, tzinfo=dt.UTC)
    wanted = 'take one with "fleetcare backup -o FILE" and keep it on another machine'
    never = trust.copy_wanted(good, trust.status(good))
    with clock.standing_at(taken):
        trust.back_up(good, str(tmp_path / "copy.db"))
    made = trust.status(good)
    with clock.standing_at(taken + dt.timedelta(days=7)):
        week = trust.copy_wanted(good, made)
    with clock.standing_at(taken + dt.timedelta(days=7, minutes=1)):
        older = trust.copy_wanted(good, made)
    Path(f"{good}.last-copy.json").write_text('{"at": "yesterday"}')

    assert made.last_backup_at == "2026-08-01T09:00:00+00:00"
    assert never == [f"no copy of this book is known of: {wanted}"]
    assert week == []
    assert older == [f"the last copy is more than 7 days old: {wanted}"]
    assert trust.status(good).last_backup_at is None


def test_what_a_writer_has_not_yet_folded_in_is_copied(good: str, tmp_path: Path) -> None:
    """Records still in the log while somebody has the book open are in the copy."""
    holder = sqlite3.connect(good)
    holder.execute("BEGIN")
    holder.execute("SELECT count(*) FROM record").fetchone()
    typed(good, "odometer V01 100mi", ON)
    made = backup.back_up(good, str(tmp_path / "copy.db"))
    holder.close()

    assert made["records"] == trust.status(good).records


def test_nothing_is_written_over(good: str, tmp_path: Path) -> None:
    """A copy, a manifest or a book that is there is left alone."""
    copy = str(tmp_path / "copy.db")
    trust.back_up(good, copy)
    before = Path(copy).read_bytes()
    for work in (
        lambda: trust.back_up(good, copy),
        lambda: trust.restore(copy, copy),
        lambda: trust.restore(copy, good),
    ):
        with pytest.raises(Refused, match=r"is there already: name another file$"):
            work()

    assert Path(copy).read_bytes() == before


def test_a_copy_that_was_touched_is_refused(good: str, tmp_path: Path) -> None:
    """One byte other, a manifest missing, or one made up to fit a touched book."""
    copy = tmp_path / "copy.db"
    trust.back_up(good, str(copy))
    data = bytearray(copy.read_bytes())
    data[-1] ^= 1
    other = tmp_path / "other.db"
    other.write_bytes(data)
    with pytest.raises(Refused, match=r"other\.db\.manifest\.json: cannot be read: No such file"):
        trust.check_copy(str(other))
    backup.manifest_of(other).write_text(backup.manifest_of(copy).read_text())
    with pytest.raises(Refused, match=r"is not the file its manifest was written for"):
        trust.check_copy(str(other))
    with pytest.raises(Refused):
        trust.restore(str(other), str(tmp_path / "new.db"))

    assert not (tmp_path / "new.db").exists()


def test_an_unsound_book_is_not_copied(good: str, tmp_path: Path) -> None:
    """The refusal names the record, and no half of a copy is left."""
    connection = sqlite3.connect(good)
    connection.execute("DROP TRIGGER checks_no_update")
    connection.execute("UPDATE checks SET certificate = 'G9' WHERE number = 21")
    connection.commit()
    connection.close()
    with pytest.raises(Refused, match=r"#21 \(check\): its fields are not those"):
        trust.back_up(good, str(tmp_path / "copy.db"))

    assert {p.name.partition(".db")[0] for p in tmp_path.iterdir()} == {"fleet"}


def test_a_postgresql_book_is_the_servers_to_copy(tmp_path: Path) -> None:
    """And that is what the refusal says."""
    with pytest.raises(Refused) as fault:
        trust.back_up("postgresql+psycopg://x/y", str(tmp_path / "c.db"))

    assert str(fault.value) == "--db: is a PostgreSQL book: copy it with the server's own pg_dump"


def test_a_path_where_a_log_was_left_takes_no_book(good: str, tmp_path: Path) -> None:
    """A log of a book that is gone would be read together with the restored one."""
    typed(good, f"backup -o {tmp_path}/copy.db", ON)
    typed(good, f"dump -o {tmp_path}/book.jsonl", ON)
    (tmp_path / "new.db-wal").write_bytes(b"left")
    for line in (f"restore {tmp_path}/copy.db --into {tmp_path}/new.db",):
        with pytest.raises(Refused) as refused:
            typed(good, line, ON)
        assert str(refused.value) == (
            f"{tmp_path}/new.db-wal: was left by a book that is gone: move it away, or name "
            "another path"
        )
    with pytest.raises(Refused, match="was left by a book that is gone"):
        typed(str(tmp_path / "new.db"), f"load {tmp_path}/book.jsonl", ON)
    assert not (tmp_path / "new.db").exists()


def test_the_book_named_is_the_one_copied(good: str, tmp_path: Path) -> None:
    """A "%" or "#" in a name is that sign, and no other file is read or made for it."""
    names = ("fleet%31.db", "a#b.db", "what?.db")
    for name in names:
        book = str(tmp_path / name)
        shutil.copy(good, book)
        typed(book, "odometer V01 5000mi", ON)
        typed(book, f"backup -o '{tmp_path}/copy of {name}'", ON)

        assert backup.check(f"{tmp_path}/copy of {name}")["records"] == 30
    made = {p.name for p in tmp_path.iterdir() if not p.name.endswith(("-shm", "-wal"))}
    assert made == {
        "fleet.db",
        *(
            kept
            for name in names
            for kept in (
                name,
                f"{name}.last-copy.json",
                f"copy of {name}",
                f"copy of {name}.manifest.json",
            )
        ),
    }


def test_a_manifest_in_the_way_stops_the_copy_first(good: str, tmp_path: Path) -> None:
    """No copy is left behind that could not be checked."""
    (tmp_path / "copy.db.manifest.json").touch()
    with pytest.raises(Refused, match="is there already: name another file"):
        typed(good, f"backup -o {tmp_path}/copy.db", ON)

    assert not (tmp_path / "copy.db").exists()


def test_a_copy_is_not_restored_to_a_server(good: str, tmp_path: Path) -> None:
    """Said without the password that stood in the address."""
    typed(good, f"backup -o {tmp_path}/copy.db", ON)
    with pytest.raises(Refused) as refused:
        typed(good, f"restore {tmp_path}/copy.db --into postgresql+psycopg://u:pass@h/d", ON)

    assert str(refused.value) == (
        "--into: is no path: a copy is restored to a new file. Move it on with dump and load"
    )
