"""What trust costs and what it stands: `python -m tests.bench.trust [FOLDER] [VANS] [KILLS]`.

Loading a dump against bare `sqlite3` inserts of the same rows into the same tables; checking and
copying a book of a hundred thousand records; kills of a writer and of every command that makes a
file; disks that are full; every character of a small book, and bits of its file; tallies forged;
hostile files; many writers; books of every schema; clocks that go wrong. It takes an hour, and root
for the disks.
"""

from __future__ import annotations

import json
import os
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from fleetcare.cli.demo import run
from fleetcare.desk import load, sample, trust
from fleetcare.store import migrate, tables
from tests.bench import hurt, server
from tests.bench.fleet import ready
from tests.bench.run import Row, timed

ROOT = Path(__file__).parent.parent.parent


def _rows_of(place: str) -> dict[str, list[tuple[object, ...]]]:
    connection = sqlite3.connect(place)
    names = [table.name for table in tables.metadata.sorted_tables if table is not tables.head]
    found = {name: connection.execute(f'SELECT * FROM "{name}"').fetchall() for name in names}
    connection.close()
    return found


def bare_insert(rows: dict[str, list[tuple[object, ...]]], place: str) -> None:
    """The same rows into the same empty tables, in one transaction, by sqlite3 alone."""
    migrate.upgrade(place)
    connection = sqlite3.connect(place)
    for name, listed in rows.items():
        if listed:
            marks = ", ".join("?" for _ in listed[0])
            connection.executemany(f'INSERT INTO "{name}" VALUES ({marks})', listed)
    connection.commit()
    connection.close()


def loading(folder: Path, vans: int) -> list[Row]:
    """A dump written and loaded."""
    place, text = ready(folder, vans), folder / f"dump-{vans}.jsonl"
    text.unlink(missing_ok=True)
    wrote = timed(lambda: load.dump(place, str(text)), 1)
    rows = _rows_of(place)
    turn = iter(range(100))

    def fresh(name: str) -> str:
        return str(folder / f"{name}-{os.getpid()}-{next(turn)}.db")

    bare = timed(lambda: bare_insert(rows, fresh("bare")), 3)
    loaded = timed(lambda: load.load(fresh("loaded"), "bench", str(text)), 3)
    for left in [*folder.glob("bare-*"), *folder.glob("loaded-*")]:
        left.unlink()
    records = len(rows["record"])
    return [
        (f"records of {vans:,} vans", f"{records:,} in {sum(map(len, rows.values())):,} rows", ""),
        ("bare sqlite3 inserts of them", f"{bare:.2f} s", ""),
        ("load of their dump", f"{loaded / bare:.2f} × bare ({loaded:.1f} s)", "3"),
        ("dump", f"{wrote:.1f} s", ""),
    ]


def checking(folder: Path) -> list[Row]:
    """A book of 106,005 records checked, copied, and a copy checked."""
    place = ready(folder, 2_000)
    target = folder / f"copy-{os.getpid()}.db"
    checked = timed(lambda: trust.verify(place), 3)
    size = trust.status(place).records
    copied = timed(lambda: trust.back_up(place, str(target)), 1)
    for left in folder.glob(f"{target.name}*"):
        left.unlink()
    return [
        (f"verify, {size:,} records", f"{checked:.1f} s", "10 s for 100,000"),
        ("backup of it, read through", f"{copied:.1f} s", ""),
        ("status", f"{timed(lambda: trust.status(place), 5) * 1000:.0f} ms", ""),
    ]


def killing(folder: Path, rounds: int) -> list[Row]:
    """So many kills at random moments."""
    place = str(folder / f"killed-{os.getpid()}.db")
    migrate.upgrade(place)
    words = [sys.executable, "-m", "tests.store.killing", place, str(rounds), "11"]
    done = subprocess.run(words, cwd=ROOT, capture_output=True, text=True, check=True)
    found = json.loads(done.stdout)
    return [
        (f"{found.pop('rounds'):,} kills", ", ".join(f"{k} {v:,}" for k, v in found.items()), "")
    ]


def flipping() -> list[Row]:
    """Every character of every stored field of a small book, one at a time."""
    words = [sys.executable, "-m", "pytest", "-q", "-s", "-p", "no:cacheprovider"]
    words += ["tests/store/test_flips.py", "-k", "characters"]
    done = subprocess.run(
        words, cwd=ROOT, capture_output=True, text=True, check=False,
        env=os.environ | {"FLEETCARE_FLIPS_EVERY": "1"},
    )  # fmt: skip
    said = [line for line in done.stdout.splitlines() if "changes tried" in line]
    return [("every character changed", said[0] if said and not done.returncode else "FAILED", "")]


def forged() -> list[Row]:
    """A failed test made a pass, and a tree worked out anew until its tally agrees in 16 bits."""
    words = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider"]
    words += ["tests/store/test_forged.py", "-p", "no:randomly"]
    done = subprocess.run(words, cwd=ROOT, capture_output=True, text=True, check=False)
    passed = done.returncode == 0
    return [("tallies forged", "each is named" if passed else "NOT NAMED", "")]


def hurting(folder: Path, kills: int) -> Iterator[list[Row]]:
    """What is done to the sample's book."""
    book = str(folder / "sample.db")
    sample.build(Path(book), run)
    for row in hurt.killed(folder, book, kills):
        yield [row]
    if os.geteuid() == 0:
        yield hurt.full(folder, book)
    yield hurt.flipped(folder, book, kills)
    yield hurt.hostile(folder, book)
    yield hurt.writers(str(folder / "writers.db"), "SQLite", 4, 12)
    yield from server.rows(folder, book)
    yield hurt.old_books(folder)
    yield hurt.clocks(folder)


def main() -> None:
    """Print the table, row by row as each is there."""
    given = sys.argv[1:] + [""] * 3
    folder = Path(given[0] or tempfile.mkdtemp())
    folder.mkdir(parents=True, exist_ok=True)
    kills = int(given[2] or 300)
    for rows in (
        loading(folder, int(given[1] or 10_000)),
        checking(folder),
        killing(folder, kills),
        flipping(),
        forged(),
    ):
        _print(rows)
    for rows in hurting(folder, kills):
        _print(rows)


def _print(rows: list[Row]) -> None:
    for name, figure, goal in rows:
        print(f"{name:40}  {figure}" + (f"; goal ≤ {goal}" if goal else ""), flush=True)


if __name__ == "__main__":
    main()
