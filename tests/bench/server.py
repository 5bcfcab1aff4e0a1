"""What is done to a book on a server: erasing under readers, a table changed behind our back, a long
export while others write, papers, many writers. Rows of `python -m tests.bench.trust`."""

from __future__ import annotations

import contextlib
import datetime as dt
import os
import shlex
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import sqlalchemy as sa

import tests.desk.test_scans as scans
from fleetcare.desk import load, trust
from fleetcare.records.kinds import Check
from fleetcare.store import migrate, tables
from fleetcare.store.engine import reading
from tests import served
from tests.bench import hurt
from tests.bench.fleet import ready
from tests.bench.run import Row
from tests.typed import typed

DAY = dt.date.fromisoformat(hurt.DAY)


def rows(folder: Path, book: str) -> Iterator[list[Row]]:
    """Everything done to the sample's book, and to one of 500 vans, on a server of our own."""
    os.environ["FLEETCARE_PAPERS"] = str(folder / "server-papers")
    dump, large = folder / "whole.jsonl", folder / "large.jsonl"
    if not dump.exists():
        typed(book, f"dump -o {dump}")
    large.unlink(missing_ok=True)
    load.dump(ready(folder, 500), str(large))
    with served.server() as uri:
        place = _made(uri, "sample", dump)
        yield erasing(place)
        yield papers(place, folder)
        yield tampering(uri, dump)
        yield exporting(_made(uri, "large", large), folder)
        yield hurt.writers(_made(uri, "writers", None), "PostgreSQL", 4, 12)
    del os.environ["FLEETCARE_PAPERS"]


def _made(uri: str, name: str, dump: Path | None) -> str:
    served.told(uri, f'CREATE DATABASE "{name}" TEMPLATE template0 LOCALE "C" ENCODING "UTF8"')
    place = served.named(uri, name)
    if dump is not None:
        migrate.upgrade(place)
        load.load(place, "Bench", str(dump))
    return place


@contextlib.contextmanager
def _reader(place: str, table: str | None) -> Iterator[None]:
    """Somebody who reads on, from before: of the names, or who has only begun; or nobody."""
    if table is None:
        yield
        return
    with reading(place) as connection:
        connection.execute(sa.text(f"SELECT count(*) FROM {table}"))
        yield


def erasing(place: str) -> list[Row]:
    """Words erased while nobody reads, while a reader has begun, and while one reads the names: how
    long it took, how long another question waited meanwhile, and where on the disk they are still."""
    data = Path(str(served.told(place, "SHOW data_directory")))
    found = []
    for number, (who, table) in enumerate(
        (("nobody reads", None), ("a reader has begun", "ledger_head"), ("names are read", "said"))
    ):
        words = f"Zzyzx {number} was here"
        made = typed(place, f'defect report V01 --grade minor "{words}"', DAY).split()[0][1:]
        with _reader(place, table):
            typed(place, f'correct {made} --words "worn" "a name stood in it"', DAY)
            begun = time.perf_counter()
            erase = _typed_beside(place, f'erase --record {made} "no"')
            asked = _asked_until(place, erase) if table else erase.wait() * 0.0
            took = time.perf_counter() - begun
        held = _where(place, data, words)
        typed(place, "status --tidy", DAY)
        found.append(
            (
                f"erased while {who}",
                f"{took:.1f} s, a question meanwhile ≤ {asked:.1f} s; the words are in {held}; "
                f"after status --tidy in {_where(place, data, words)}",
                "",
            )
        )
    return found


def _typed_beside(place: str, line: str) -> subprocess.Popen[bytes]:
    words = [sys.executable, "-m", "fleetcare", "--db", place, "--as", "Bench", *shlex.split(line)]
    own = {"FLEETCARE_TODAY": hurt.DAY, "PYTHONPATH": str(hurt.ROOT)}
    return subprocess.Popen(words, stdout=subprocess.DEVNULL, env=os.environ | own)


def _asked_until(place: str, other: subprocess.Popen[bytes]) -> float:
    """The longest that one question took until another command was done."""
    longest = 0.0
    while other.poll() is None:
        begun = time.perf_counter()
        typed(place, "why V01 habitation", DAY)
        longest = max(longest, time.perf_counter() - begun)
    return longest


def _where(place: str, data: Path, words: str) -> str:
    """The folders of a server's data in which words stand as they were typed."""
    served.told(place, "CHECKPOINT")
    holding = {
        path.relative_to(data).parts[0]
        for path in data.rglob("*")
        if path.is_file() and words.encode() in path.read_bytes()
    }
    return " and ".join(sorted(holding)) or "nothing"


def papers(place: str, folder: Path) -> list[Row]:
    """A paper attached on a server's book: packed, and changed behind our back."""
    source, pack = folder / "server.pdf", folder / "server-pack.pdf"
    pack.unlink(missing_ok=True)
    source.write_bytes(scans.PDF)
    before = len(trust.verify(place).faults)
    typed(place, f"attach 650 {source}", DAY)
    attached = len(trust.verify(place).faults)
    kept = next(Path(os.environ["FLEETCARE_PAPERS"]).glob("*/*.pdf"))
    kept.write_bytes(scans.PDF[:-1])
    changed = len(trust.verify(place).faults) - attached
    kept.write_bytes(scans.PDF)
    begun = time.perf_counter()
    typed(place, f"pack V03 --from 2026-08-01 --through 2026-11-23 -o {pack}", DAY)
    took = time.perf_counter() - begun
    words = f"{attached - before} faults, {changed} once it was changed; pack of V03 {took:.1f} s"
    return [("a paper attached on PostgreSQL", words, "")]


def tampering(uri: str, dump: Path) -> list[Row]:
    """What the keeper of a server can do to its tables, each to a book of its own: named or not."""
    check = tables.TABLES[Check]
    off, on = "SET session_replication_role = replica", "SET session_replication_role = origin"
    done: dict[str, tuple[str, ...]] = {
        "a fail made a pass": (
            off,
            f"UPDATE \"{check.name}\" SET outcome = 'pass' WHERE outcome = 'fail'",
            on,
        ),
        "a record deleted": (off, f'DELETE FROM "{check.name}" WHERE number = 650', on),
        "a name changed": (off, "UPDATE said SET text = 'X' WHERE text IS NOT NULL", on),
        "a trigger dropped": (_each_trigger(check.name),),
        "the head set back": (off, "UPDATE ledger_head SET size = size - 1", on),
        "a table of rules changed": (off, "UPDATE rulebook SET text = text || ' '", on),
    }
    named = 0
    for number, statements in enumerate(done.values()):
        place = _made(uri, f"tampered{number}", dump)
        served.told(place, *statements)
        named += bool(trust.verify(place).faults)
    return [("tampering on PostgreSQL", f"{named} of {len(done)} ways named by verify", "")]


def _each_trigger(table: str) -> str:
    return f"""
        DO $$ DECLARE name text; BEGIN
        FOR name IN SELECT tgname FROM pg_trigger WHERE tgrelid = '"{table}"'::regclass AND NOT tgisinternal
        LOOP EXECUTE format('DROP TRIGGER %%I ON "{table}"', name); END LOOP; END $$
    """


def exporting(place: str, folder: Path) -> list[Row]:
    """A dump and a workbook of 500 vans made while others write: how many writes were taken
    meanwhile, the longest that one waited, and whether the file is that of the book as it began."""
    made: list[tuple[str, str, Callable[[Path], bool]]] = [
        ("dump", "dump -o {file}", lambda file: _loads(file, folder)),
        ("workbook", "export insurers -o {file}", lambda file: file.stat().st_size > 0),
    ]
    found = []
    for name, line, whole in made:
        file = folder / f"server-{name}"
        file.unlink(missing_ok=True)
        child = _typed_beside(place, line.format(file=file))
        written, longest = 0, 0.0
        while child.poll() is None:
            begun = time.perf_counter()
            typed(place, f'defect report V00001 --grade minor "the {written}th"', DAY)
            longest = max(longest, time.perf_counter() - begun)
            written += 1
        sound = "whole" if child.returncode == 0 and whole(file) else "NOT WHOLE"
        words = f"{sound}; {written} writes taken meanwhile, the longest {longest:.2f} s"
        found.append((f"a {name} of 500 vans on PostgreSQL", words, ""))
    return found


def _loads(file: Path, folder: Path) -> bool:
    target = folder / "server-loaded.db"
    target.unlink(missing_ok=True)
    load.load(str(target), "Bench", str(file))
    return not trust.verify(str(target)).faults


def main() -> None:
    """Print these rows alone: `python -m tests.bench.server FOLDER`, with `sample.db` made there."""
    folder = Path(sys.argv[1])
    for each in rows(folder, str(folder / "sample.db")):
        for name, figure, _ in each:
            print(f"{name:40}  {figure}", flush=True)


if __name__ == "__main__":
    main()
