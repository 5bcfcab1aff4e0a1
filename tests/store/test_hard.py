"""What breaks machines does not break the book: kills, failing calls, full and read-only disks,
two clerks at once, a copy taken in the middle of it."""

from __future__ import annotations

import ctypes
import datetime as dt
import json
import os
import resource
import shutil
import sqlite3
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from fleetcare.desk import hires, trust
from fleetcare.errors import DatabaseFault, Refused
from fleetcare.records.kinds import Hire, VanFacts
from fleetcare.store import backup, migrate
from fleetcare.store import facts as stored
from fleetcare.store.append import Writer
from fleetcare.store.engine import reading, writing
from fleetcare.store.walk import fleet_facts
from tests.store.test_migrating import _rows, _to_0001
from tests.typed import typed

ROOT = Path(__file__).parent.parent.parent
DAY = dt.date(2026, 8, 1)


def test_a_writer_killed_loses_nothing_it_acknowledged(empty_place: str) -> None:
    """25 kills at random moments: no record lost that was acknowledged, no half transaction. The
    bench does it a thousand times."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.store.killing", empty_place, "25", "7"],
        cwd=ROOT, capture_output=True, text=True, check=True,
    )  # fmt: skip
    found = json.loads(done.stdout)

    assert (found["lost"], found["faults"]) == (0, 0)
    assert found["acknowledged"] > 20


class _Failing:
    """A driver of which the n-th call fails; counts them."""

    def __init__(self, nth: int) -> None:
        self.calls = 0
        self.nth = nth

    def tick(self) -> None:
        self.calls += 1
        if self.calls == self.nth:
            raise sqlite3.OperationalError("disk I/O error")

    def connect(self, real: Callable[..., sqlite3.Connection]) -> Callable[..., sqlite3.Connection]:
        failing = self

        class Cursor(sqlite3.Cursor):
            def execute(self, *words: Any) -> Any:
                failing.tick()
                return super().execute(*words)

            def executemany(self, *words: Any) -> Any:
                failing.tick()
                return super().executemany(*words)

        class Connection(sqlite3.Connection):
            def cursor(self, factory: Any = Cursor) -> Any:
                return super().cursor(factory)

            def execute(self, *words: Any) -> Any:
                failing.tick()
                return super().execute(*words)

            def commit(self) -> None:
                failing.tick()
                super().commit()

        return lambda *words, **said: real(*words, **said, factory=Connection)


def _each_call_failing(
    monkeypatch: pytest.MonkeyPatch, work: Callable[[], object], unharmed: Callable[[], None]
) -> int:
    """Do a piece of work with its first call failing, its second, and so on until it succeeds."""
    real = sqlite3.dbapi2.connect
    for nth in range(1, 3000):
        failing = _Failing(nth)
        monkeypatch.setattr(sqlite3.dbapi2, "connect", failing.connect(real))
        try:
            work()
        except DatabaseFault:
            monkeypatch.setattr(sqlite3.dbapi2, "connect", real)
            unharmed()
        else:
            monkeypatch.setattr(sqlite3.dbapi2, "connect", real)
            assert failing.calls < nth, "a call failed and nobody was told"
            return nth - 1
    raise AssertionError("it never succeeded")


@pytest.mark.parametrize(
    ("line", "more"),
    [
        ('record V01 chassis --pass --by "B. Smith"', 1),
        ('correct 22 --certificate G7 "misread"', 2),
        ("hire add V01 --from 2026-09-01 --through 2026-09-02 --ref H1 --even-so known", 2),
    ],
)
def test_any_database_call_may_fail(
    good: str, monkeypatch: pytest.MonkeyPatch, line: str, more: int
) -> None:
    """For every call of one record, one correction, one booking: exit code 5, the book as it was;
    and at last it is written once."""
    before = trust.status(good)

    def unharmed() -> None:
        assert trust.status(good)[:4] == before[:4]

    calls = _each_call_failing(monkeypatch, lambda: typed(good, line, DAY), unharmed)

    assert calls > 30
    assert trust.status(good).records == before.records + more
    assert trust.verify(good).faults == []


def test_any_call_of_a_migration_may_fail(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The old schema with every row stays whole whichever statement fails; then it goes through."""
    place = str(tmp_path / "old.db")
    _to_0001(place)
    before = _rows(place)

    def unharmed() -> None:
        with sqlite3.connect(place) as connection:
            version = connection.execute("SELECT version_num FROM alembic_version").fetchone()
            names = {n for (n,) in connection.execute("SELECT name FROM sqlite_master")}
        connection.close()
        assert version == ("0001",)
        assert "answers" not in names
        assert _rows(place) == before

    calls = _each_call_failing(monkeypatch, lambda: migrate.upgrade(place), unharmed)

    assert calls > 100
    with reading(place):
        pass


def _cli(place: str, line: str, limits: Callable[[], None]) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "fleetcare", "--db", place, "--as", "Ann", *line.split()],
        cwd=ROOT, capture_output=True, text=True, check=False, preexec_fn=limits,
        env=os.environ | {"FLEETCARE_TODAY": "2026-08-01", "PYTHONPATH": str(ROOT)},
    )  # fmt: skip


def test_a_full_disk_is_told_and_nothing_is_lost(good: str) -> None:
    """No file may grow past what is there: exit 5, the book as it was, and it goes on afterwards."""
    before = trust.status(good)
    size = os.stat(good).st_size

    def limits() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))

    done = _cli(good, "odometer V01 5000mi", limits)

    assert (done.returncode, done.stdout) == (5, "")
    assert done.stderr.startswith("Error: ")
    assert "Nothing was written" in done.stderr
    assert os.stat(good).st_size == size
    assert trust.status(good)[:4] == before[:4]
    assert trust.verify(good).faults == []
    assert _cli(good, "odometer V01 5000mi", lambda: None).returncode == 0


def _bound_by_modes() -> None:
    """Root reads and writes whatever the modes say; without these two powers it does not."""
    libc = ctypes.CDLL(None, use_errno=True)
    if os.geteuid() == 0:
        for power in (1, 2):  # CAP_DAC_OVERRIDE, CAP_DAC_READ_SEARCH
            if libc.prctl(24, power, 0, 0, 0):  # PR_CAPBSET_DROP
                os._exit(99)


@pytest.fixture
def locked_away(good: str, tmp_path: Path) -> Iterator[Path]:
    """A book in a folder that may not be written to."""
    folder = tmp_path / "shelf"
    folder.mkdir()
    shutil.copy(good, folder / "fleet.db")
    yield folder / "fleet.db"
    folder.chmod(0o755)


def test_a_book_that_cannot_be_written_to_is_read_and_not_written(locked_away: Path) -> None:
    """Read as it lies it answers as ever; a record is refused with exit 5."""
    plain = _cli(str(locked_away), "due --json", lambda: None)
    for beside in locked_away.parent.glob("fleet.db-*"):
        beside.unlink()
    locked_away.chmod(0o444)
    locked_away.parent.chmod(0o555)
    asked = _cli(str(locked_away), "due --json", _bound_by_modes)
    if asked.returncode == 99:
        pytest.skip("root's powers cannot be dropped here")
    written = _cli(str(locked_away), "odometer V01 5000mi", _bound_by_modes)

    assert (asked.returncode, asked.stdout) == (0, plain.stdout)
    assert (written.returncode, written.stdout) == (5, "")
    assert "cannot be written to. Check who owns the file and its folder." in written.stderr
    assert sorted(p.name for p in locked_away.parent.iterdir()) == ["fleet.db"]


def test_a_log_left_beside_a_book_that_cannot_be_written_to_is_no_answer(
    locked_away: Path,
) -> None:
    """Records may stand in the log alone: nothing is answered without it, exit 5."""
    log = Path(f"{locked_away}-wal")
    log.write_bytes(b"x" * 32)
    locked_away.parent.chmod(0o555)
    asked = _cli(
        str(locked_away), "hireable V01 --from 2026-08-02 --through 2026-08-03", _bound_by_modes
    )
    if asked.returncode == 99:
        pytest.skip("root's powers cannot be dropped here")

    assert (asked.returncode, asked.stdout) == (5, "")
    assert "has a log beside it" in asked.stderr


def test_a_copy_taken_while_records_are_written_has_every_acknowledged_one(
    empty_place: str, tmp_path: Path
) -> None:
    """Everything acknowledged before the copy began is in it, and it is sound."""
    acknowledged: list[int] = []
    begun = threading.Event()

    def work() -> None:
        for turn in range(60):
            with writing(empty_place) as connection:
                writer = Writer(connection, "Ann")
                made = writer.append(VanFacts(0, f"V{turn}"))
                writer.flush()
            acknowledged.append(made.number)
            if turn == 10:
                begun.set()

    thread = threading.Thread(target=work)
    thread.start()
    begun.wait()
    held = len(acknowledged)
    made = backup.back_up(empty_place, str(tmp_path / "copy.db"))
    thread.join()

    assert 11 <= held <= made["records"] <= 60
    assert backup.check(str(tmp_path / "copy.db")) == made


def test_two_clerks_book_the_same_days_and_one_is_refused(place: str) -> None:
    """Eight at once, on either engine: one booking stands, by the one rule under the one lock."""
    typed(place, "init", DAY)
    typed(place, "van add V01 --jurisdiction gb --in-service-from 2024-01-01", DAY)
    stood, refused = [], []

    def book(number: int) -> None:
        hire = Hire(
            0,
            "V01",
            f"H{number}",
            dt.date(2099, 9, 1),
            dt.date(2099, 9, 5 + number),
            even_so="known",
        )
        try:
            hires.hire_add(place, "Ann", hires.New(hire))
            stood.append(number)
        except Refused as fault:
            refused.append(str(fault))

    threads = [threading.Thread(target=book, args=(n,)) for n in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert len(stood) == 1
    assert len(refused) == 7
    assert all("two hires share a changeover day at most" in one for one in refused)
    with reading(place) as connection:
        facts = stored.facts_of(connection, "V01")
    assert facts is not None
    assert [hire.ref for hire in facts.hires] == [f"H{stood[0]}"]


def test_a_fleet_read_sees_one_moment_whatever_is_written_meanwhile(place: str) -> None:
    """A report that reads van by van is of one book: what is written while it reads is not in it."""
    with writing(place) as connection:
        writer = Writer(connection, "Ann")
        for number in range(30):
            writer.append(VanFacts(0, f"V{number:02}"))
        writer.flush()
    with reading(place) as connection:
        vans = fleet_facts(connection)
        first = next(vans).van
        with writing(place) as other:
            writer = Writer(other, "Ann")
            writer.append(VanFacts(0, "V99"))
            writer.append(VanFacts(0, "V15", plate="QI24 QIQ"))
            writer.flush()
        rest = list(vans)
        size = stored.size_of(connection)

    assert [first, *(facts.van for facts in rest)] == [f"V{number:02}" for number in range(30)]
    assert all(len(facts.stated) == 1 for facts in rest)
    assert size == 30


@pytest.mark.parametrize(
    "harm", ["missing", "empty", "text", "other program's", "older", "newer", "cut in half"]
)
def test_a_book_that_is_none_never_answers_yes(good: str, tmp_path: Path, harm: str) -> None:
    """Exit 5, a sentence on stderr and nothing at all on stdout."""
    bad = tmp_path / "bad.db"
    if harm != "missing":
        shutil.copy(good, bad)
    if harm == "empty":
        bad.write_bytes(b"")
    elif harm == "text":
        bad.write_text("van,plate\nV01,QI24 QIQ\n" * 90)
    elif harm == "cut in half":
        bad.write_bytes(bad.read_bytes()[: bad.stat().st_size // 2])
    elif harm == "other program's":
        with sqlite3.connect(bad) as connection:
            connection.execute("PRAGMA application_id = 7")
        connection.close()
    elif harm in ("older", "newer"):
        with sqlite3.connect(bad) as connection:
            version = "0001" if harm == "older" else "9999"
            connection.execute("UPDATE alembic_version SET version_num = ?", (version,))
        connection.close()
    done = _cli(
        str(bad), "hireable V01 --from 2026-08-02 --through 2026-08-03 --json", lambda: None
    )

    assert (done.returncode, done.stdout) == (5, "")
    assert done.stderr.startswith("Error: ")


def test_text_sorts_by_code_point_whatever_the_server_is_set_to(place: str) -> None:
    """A server that sorts as an English reader does would put Ä01 before B01, and v01 beside V01."""
    names = ["v01", "V01", "Ä01", "B01", "V10", "V9", "A-1", "A1"]
    with writing(place) as connection:
        writer = Writer(connection, "Ann")
        for name in names:
            writer.append(VanFacts(0, name))
        writer.flush()
    with reading(place) as connection:
        assert stored.vans_of(connection) == sorted(names)
        assert [facts.van for facts in fleet_facts(connection)] == sorted(names)
        if os.environ.get("FLEETCARE_TEST_POSTGRES") and "://" in place:
            by_reader = [
                row[0]
                for row in connection.exec_driver_sql(
                    "SELECT name FROM (VALUES ('v01'), ('V01'), ('Ä01'), ('B01')) AS t(name)"
                    " ORDER BY name"
                )
            ]
            assert by_reader != sorted(by_reader)


@pytest.mark.parametrize(
    ("statement", "says"),
    [
        ("UPDATE rulebook SET text = replace(text, '\"months\": 12', '\"months\": 120')",
         "were changed behind the program's back"),
        ("DELETE FROM rulebook", "is damaged: something is missing that every book has"),
        ("DELETE FROM adoptions", "is damaged: something is missing that every book has"),
        ("DELETE FROM ledger_head", "is damaged: something is missing that every book has"),
        ("UPDATE checks SET \"on\" = '2026-99-99'", "a day of the book cannot be read"),
        ("UPDATE vans SET places = 'x'", "a list of the book cannot be read"),
    ],
)  # fmt: skip
def test_a_book_that_somebody_changed_is_damaged_and_no_bug(
    good: str, statement: str, says: str
) -> None:
    """Exit 5 and what to do, never an answer, never a crash: to ask and to write."""
    with sqlite3.connect(good) as connection:
        for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'"):
            connection.execute(f'DROP TRIGGER "{name}"')
        connection.execute(statement)
    connection.close()
    for line in (
        "hireable V01 --from 2026-08-20 --through 2026-08-22", "due", "odometer V01 5000mi",
    ):  # fmt: skip
        done = _cli(good, line, lambda: None)
        assert (done.returncode, done.stdout) == (5, ""), line
        assert says in done.stderr
    assert _cli(good, "verify", lambda: None).returncode in (3, 5)


@pytest.mark.parametrize(
    ("address", "says"),
    [
        ("sqlite:///fleet.db", '"sqlite" is no database of ours: use a plain path'),
        ("postgresql+foo://h/d", '"postgresql+foo" is no database of ours'),
        ("postgresql+asyncpg://h/d", '"postgresql+asyncpg" is no database of ours'),
        ("postgresql+psycopg://u:p@h:port/d", "the database address cannot be read"),
        ("mysql://h/d", '"mysql" is no database of ours'),
    ],
)
def test_an_address_is_a_path_or_one_driver(good: str, address: str, says: str) -> None:
    """Anything else is exit 5 with what to give instead."""
    done = _cli(address, "due", lambda: None)

    assert (done.returncode, done.stdout) == (5, "")
    assert says in done.stderr


def test_a_paper_that_was_damaged_is_put_right_by_keeping_it_again(
    good: str, tmp_path: Path
) -> None:
    """The right file takes the place of the one that is not what its name says."""
    (tmp_path / "a.pdf").write_bytes(b"%PDF-1.7 right")
    typed(good, f"attach 21 {tmp_path}/a.pdf", DAY)
    (kept,) = [p for p in Path(f"{good}.papers").rglob("*") if p.is_file()]
    kept.write_bytes(b"%PDF-1.7 wrong")
    assert trust.verify(good).faults
    typed(good, f"attach 21 {tmp_path}/a.pdf", DAY)

    assert trust.verify(good).faults == []
    assert kept.stat().st_mode & 0o777 == Path(good).stat().st_mode & 0o777
