"""What can hurt a book, done to it: commands killed, disks full, octets flipped, hostile files, many
writers, clocks that go wrong. Rows of the table of `python -m tests.bench.trust`."""

from __future__ import annotations

import contextlib
import datetime as dt
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import zlib
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

import tests.desk.test_filling as sheets
import tests.desk.test_scans as scans
from fleetcare import clock, files
from fleetcare.cli.app import main
from fleetcare.desk import filling, trust
from fleetcare.desk.asking import asking
from fleetcare.errors import DatabaseFault, FleetcareError
from fleetcare.store import migrate
from tests.bench.run import Row
from tests.store.test_old_books import SCHEMAS, unpacked
from tests.typed import typed

ROOT = Path(__file__).parent.parent.parent
DAY = "2026-11-23"
SEEN = ("due --json", "hireable V03 --from 2026-12-01 --through 2026-12-05 --json", "why V07 mot")


class Ended(NamedTuple):
    """How a command ended, and what it took: seconds, and MB at most."""

    code: int
    out: str
    seconds: float
    megabytes: int


# The most that a process took is asked of itself: the kernel counts what its parent took as well.
_RUN = """
import os, sys
from fleetcare.cli.app import main
try:
    main(sys.argv[1:])
finally:
    with open(os.environ["TAKEN"], "w") as file:
        file.writelines(line for line in open("/proc/self/status") if line.startswith("VmHWM"))
"""


def ran(place: str, line: str) -> Ended:
    """One command as a process of its own."""
    words = [sys.executable, "-c", _RUN, "--db", place, "--as", "Bench", *line.split()]
    with tempfile.TemporaryDirectory() as here, tempfile.TemporaryFile() as out:
        taken = Path(here) / "taken"
        own = {"FLEETCARE_TODAY": DAY, "PYTHONPATH": str(ROOT), "TAKEN": str(taken)}
        begun = time.perf_counter()
        child = subprocess.Popen(words, stdout=out, stderr=subprocess.STDOUT, env=os.environ | own)
        code = child.wait()
        seconds = time.perf_counter() - begun
        out.seek(0)
        said = out.read().decode("utf-8", "replace")
        most = taken.read_text().split() if taken.exists() else ["", "0"]
    return Ended(code, said, seconds, int(most[1]) // 1024)


def forked(place: str, line: str, *, kill_after: float | None = None) -> Ended:
    """One command as a child of this process, which has read all it needs: killed after some
    seconds, it is killed in its work and not while it begins. Syncs the disk as any command does."""
    with tempfile.TemporaryFile() as out:
        begun = time.perf_counter()
        child = os.fork()
        if not child:
            os.dup2(out.fileno(), 1)
            os.dup2(out.fileno(), 2)
            os.environ["FLEETCARE_TODAY"] = DAY
            ended = 1
            try:
                main(["--db", place, "--as", "Bench", *line.split()])
            except SystemExit as left:
                ended = int(left.code or 0)
            finally:  # whatever happened, the child ends here and does no more of its parent's work
                sys.stdout.flush()
                os._exit(ended)
        if kill_after is not None:
            time.sleep(kill_after)
            os.kill(child, signal.SIGKILL)
        _, status = os.waitpid(child, 0)
        seconds = time.perf_counter() - begun
        out.seek(0)
        return Ended(
            os.waitstatus_to_exitcode(status), out.read().decode("utf-8", "replace"), seconds, 0
        )


# Commands that write into the book, each typed on the sample; what comes before the last line of one
# is written first.
WRITERS = {
    "record": "record V03 damp --by C. --pass",
    "record, with readings": "record V03 tyres --by C. --reading tread:front-left=5mm",
    "record, with a paper": "record V03 chassis --pass --by C. --paper {here}/a.pdf",
    "van change": "van change V03 --height 2900mm --on 2026-11-20",
    "fit": "fit V03 tyre rear-left --made 2024 --load-index 112 --speed-symbol Q --on 2026-11-20",
    "defect report": "defect report V03 --grade minor worn",
    "hire add": "hire add V03 --from 2027-05-01 --through 2027-05-05 --ref H-KILLED",
    "correct": "correct 762 --words worn slip",
    "withdraw": "withdraw 762 slip",
    "erase": "withdraw 762 slip\nerase --record 762 no",
    "load": "load {here}/facts.jsonl",
}
MAKERS = ("init", "backup", "restore", "dump", "load", "export insurers", "attach")


def killed(folder: Path, book: str, rounds: int) -> Iterator[Row]:
    """Each command that makes a file, killed anywhere in its run: its name is not there, or is that
    of a whole file; the same command then does its work, and nothing is left."""
    _sources(folder, book)
    chance = random.Random(11)
    for name in MAKERS:
        found: Counter[str] = Counter()
        with _desk(folder, book) as here:
            forked(*_line(name, here, folder))
            with _desk(folder, book) as again:
                whole = forked(*_line(name, again, folder)).seconds
        for _ in range(rounds):
            with _desk(folder, book) as here:
                _killed_once(name, here, folder, chance.uniform(0.0, 1.0) * whole, found)
        yield f"{name} killed", _counted(found), ""
    yield from _writes_killed(folder, book, rounds, chance)


def _writes_killed(folder: Path, book: str, rounds: int, chance: random.Random) -> Iterator[Row]:
    """Each command that writes, killed anywhere: its records are all there or none is, and all are
    where it had said so."""
    for name, line in WRITERS.items():
        found: Counter[str] = Counter()
        *first, last = line.splitlines()
        with _desk(folder, book) as here:
            own = str(here / "own.db")
            for each in first:
                forked(own, each)
            before = trust.status(own).records
            ended = forked(own, last.format(here=here))
            adds = trust.status(own).records - before
        if ended.code != 0 or not adds:
            raise RuntimeError(f"{name} was not written: {ended.out}")
        for _ in range(rounds):
            with _desk(folder, book) as here:
                own = str(here / "own.db")
                for each in first:
                    typed(own, each, dt.date.fromisoformat(DAY))
                after = chance.uniform(0.0, 1.0) * ended.seconds
                said = forked(own, last.format(here=here), kill_after=after).out
                checked = trust.verify(own)
                found["killed"] += 1
                found["written"] += checked.head.size == before + adds
                found["in part"] += checked.head.size not in (before, before + adds)
                found["said and lost"] += "#" in said and checked.head.size == before
                found["damaged"] += bool(checked.faults)
        yield f"{name} killed", _counted(found), ""


FACTS = '{"kind": "odometer", "van": "V03", "on": "2026-11-20", "shown": "99000km"}\n'


def _sources(folder: Path, book: str) -> None:
    """A dump and a copy of the book, to be loaded and brought back."""
    if not (folder / "whole.jsonl").exists():
        typed(book, f"dump -o {folder}/whole.jsonl")
        typed(book, f"backup -o {folder}/whole.db")


@contextlib.contextmanager
def _desk(folder: Path, book: str) -> Iterator[Path]:
    with tempfile.TemporaryDirectory(dir=folder) as made:
        here = Path(made)
        shutil.copy(book, here / "own.db")
        (here / "a.pdf").write_bytes(scans.PDF + bytes(2_000_000))
        (here / "facts.jsonl").write_text(FACTS)
        yield here


def _line(name: str, here: Path, folder: Path) -> tuple[str, str]:
    """The book and the line of a command that makes a file in a folder."""
    own, made = str(here / "own.db"), str(here / "made")
    lines = {
        "init": (made, "init"),
        "backup": (own, f"backup -o {made}"),
        "restore": (own, f"restore {folder}/whole.db --into {made}"),
        "dump": (own, f"dump -o {made}"),
        "load": (made, f"load {folder}/whole.jsonl"),
        "export insurers": (own, f"export insurers -o {made}"),
        "attach": (own, f"attach 650 {here}/a.pdf"),
    }
    return lines[name]


def _killed_once(name: str, here: Path, folder: Path, after: float, found: Counter[str]) -> None:
    place, line = _line(name, here, folder)
    forked(place, line, kill_after=after)
    found["killed"] += 1
    found["had its name"] += (here / "made").exists()
    for part in here.rglob(".fleetcare-*"):
        os.utime(part, (time.time() - 100,) * 2)
        found["left a part"] += 1
    found["could not be done again"] += forked(place, line).code not in (0, 4)
    books = [here / "own.db", *([here / "made"] if name in ("init", "load", "restore") else [])]
    found["damaged"] += sum(bool(trust.verify(str(one)).faults) for one in books)
    for one in (here, here / "own.db.papers"):
        files.tidy(one)
    found["left for good"] += len(list(here.rglob(".fleetcare-*")))


def _counted(found: Counter[str]) -> str:
    return ", ".join(f"{name} {many:,}" for name, many in found.items())


@contextlib.contextmanager
def disk(folder: Path, kilobytes: int) -> Iterator[Path]:
    """A disk of so many kilobytes, in memory; needs root."""
    folder.mkdir(exist_ok=True)
    words = ["mount", "-t", "tmpfs", "-o", f"size={kilobytes}k", "tmpfs", str(folder)]
    subprocess.run(words, check=True)
    try:
        yield folder
    finally:
        subprocess.run(["umount", str(folder)], check=True)


def full(folder: Path, book: str) -> list[Row]:
    """Disks of every size from nothing to enough, for what makes a file and for a write."""
    _sources(folder, book)
    dump, found = folder / "whole.jsonl", Counter[str]()
    for kilobytes in range(16, 1800, 64):
        with disk(folder / "disk", kilobytes) as small:
            for place, line in (
                (f"{small}/x", "init"), (book, f"backup -o {small}/x"), (f"{small}/x", f"load {dump}"),
                (book, f"dump -o {small}/x"), (book, f"export insurers -o {small}/x"),
            ):  # fmt: skip
                ended = ran(place, line)
                found["tried"] += 1
                found["refused"] += ended.code in (4, 5)
                found["done"] += ended.code == 0
                found["otherwise"] += ended.code not in (0, 4, 5)
                found["blamed another disk"] += ended.code != 0 and str(small) not in ended.out
                found["left something"] += ended.code != 0 and any(small.iterdir())
                for one in small.iterdir():
                    shutil.rmtree(one) if one.is_dir() else one.unlink()
    return [("disks full", _counted(found), "")]


def flipped(folder: Path, book: str, times: int) -> list[Row]:
    """Bits of the file flipped at random: each answer after it is the right one, refused, or the
    book says that it was touched."""
    right = [typed(book, line, dt.date.fromisoformat(DAY)) for line in SEEN]
    plain, chance = Path(book).read_bytes(), random.Random(5)
    found: Counter[str] = Counter()
    place = str(folder / "flipped.db")
    for _ in range(times):
        data = bytearray(plain)
        data[chance.randrange(len(data))] ^= 1 << chance.randrange(8)
        for end in ("", "-wal", "-shm"):
            Path(place + end).unlink(missing_ok=True)
        Path(place).write_bytes(data)
        for line, answer in zip(SEEN, right, strict=True):
            try:
                said = typed(place, line, dt.date.fromisoformat(DAY))
            except FleetcareError:
                found["refused"] += 1
                continue
            if said == answer:
                found["right"] += 1
                continue
            try:
                caught = bool(trust.verify(place).faults)
            except DatabaseFault:
                caught = True
            found["another, and verify names it" if caught else "WRONG UNNOTICED"] += 1
    return [(f"{times:,} bits flipped, {len(SEEN)} answers each", _counted(found), "")]


def hostile(folder: Path, book: str) -> list[Row]:
    """Files made to hurt, each as a process of its own: how it ended, and what it took."""
    made = _hostile(folder)
    rows = []
    for name, (line, file) in made.items():
        ended = ran(book, line.format(file=file))
        took = f"exit {ended.code}, {ended.seconds:.1f} s, {ended.megabytes} MB"
        octets = f"{os.path.getsize(file):,} octets: " if os.path.isfile(file) else ""
        rows.append((f"hostile: {name}", octets + took, "300 MB"))
    return rows


def _hostile(folder: Path) -> dict[str, tuple[str, str]]:
    kilo = b" " * 1_000_000
    packer = zlib.compressobj(9)
    four = b"".join(packer.compress(kilo) for _ in range(4000)) + packer.flush()
    _, blank = filling.blank(None, "checks")
    texts: dict[str, Callable[[Path], object]] = {
        "stream.pdf": lambda p: p.write_bytes(
            scans._pdf(scans.PAGE, scans._stream(four, b"/Filter/FlateDecode"))
        ),
        "dots.png": lambda p: p.write_bytes(
            b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR" + (65535).to_bytes(4, "big") * 2 + bytes(20)
        ),
        "styles.xlsx": lambda p: sheets._zip(p, {"xl/styles.xml": sheets._styles(blank)}, blank),
        "names.xlsx": lambda p: sheets._zip(p, {"xl/x.rels": b"<a/>" * 900_000}, blank),
        "many.toml": lambda p: p.write_text("".join(f"k{n} = 1\n" for n in range(70_000))),
        "deep.toml": lambda p: p.write_text("a = " + "[" * 400_000),
        "long.jsonl": lambda p: p.write_text("x" * 300_000_000),
        "faults.jsonl": lambda p: p.write_text('{"kind":"no"}\n' * 200_000),
    }
    for name, write in texts.items():
        write(folder / name)
    return {
        "4 GB in a PDF of 4 MB": ("attach 650 {file}", f"{folder}/stream.pdf"),
        "a picture of 65,535 by 65,535": ("attach 650 {file}", f"{folder}/dots.png"),
        "800,000 styles": ("sheet read {file}", f"{folder}/styles.xlsx"),
        "900,000 tags": ("sheet read {file}", f"{folder}/names.xlsx"),
        "70,000 keys": ("rules check {file}", f"{folder}/many.toml"),
        "400,000 deep": ("rules check {file}", f"{folder}/deep.toml"),
        "a line of 300 MB": ("load {file}", f"{folder}/long.jsonl"),
        "200,000 faults": ("load {file}", f"{folder}/faults.jsonl"),
        "zeros without end, as a sheet": ("sheet read {file}", "/dev/zero"),
        "zeros without end, as rules": ("rules check {file}", "/dev/zero"),
    }


def writers(place: str, engine: str, many: int, each: int) -> list[Row]:
    """So many processes writing at once, all of the same van: every record is there, numbers have no
    gap, and no two bookings of the same days are taken."""
    migrate.upgrade(place)
    ran(place, "init")
    ran(place, "van add V01 --jurisdiction gb --in-service-from 2020-01-01")
    before = trust.status(place).records
    children = []
    for child in range(many):
        lines = [
            f"hire add V01 --from 2027-{1 + turn % 12:02}-10 --through 2027-{1 + turn % 12:02}-12 "
            f"--ref H{child}-{turn} --even-so tried"
            for turn in range(each)
        ]
        code = "import subprocess, sys\nfor line in sys.argv[2:]:\n    subprocess.run([sys.executable, '-m', 'fleetcare', '--db', sys.argv[1], '--as', 'W', *line.split()], capture_output=True)\n"
        environment = os.environ | {"FLEETCARE_TODAY": DAY, "PYTHONPATH": str(ROOT)}
        children.append(
            subprocess.Popen([sys.executable, "-c", code, place, *lines], env=environment)
        )
    begun = time.perf_counter()
    for one in children:
        one.wait()
    taken = time.perf_counter() - begun
    after = trust.status(place).records
    with asking(place) as asked:
        booked = len(asked.facts("V01").hires)
    sound = "sound" if not trust.verify(place).faults else "NOT SOUND"
    words = (
        f"{many * each:,} bookings of {min(12, each)} stretches tried by {many}: {booked} taken, "
        f"{after - before:,} records, {sound}, {taken:.0f} s"
    )
    return [(f"writers at once, {engine}", words, "")]


def old_books(folder: Path) -> list[Row]:
    """A book of every schema there was, brought up."""
    rows = []
    for schema in SCHEMAS:
        place = unpacked(schema, folder)
        begun = time.perf_counter()
        migrate.upgrade(place)
        taken, found = time.perf_counter() - begun, trust.verify(place)
        sound = "sound" if not found.faults else "NOT SOUND"
        rows.append(
            (
                f"book of schema {schema} brought up",
                f"{found.head.size} records, {sound}, {taken:.1f} s",
                "",
            )
        )
    return rows


def clocks(folder: Path) -> list[Row]:
    """Records written through a day of 25 hours and one of 23, by a clock that goes back a month and
    one that was a year ahead: their moments only rise, and the year ahead is named."""
    place, found = str(folder / "clocks.db"), Counter[str]()
    typed(place, "init", dt.date(2026, 10, 1))
    moments = [
        *(dt.datetime(2026, 10, 25, hour, 30, tzinfo=dt.UTC) for hour in range(24)),
        *(dt.datetime(2026, 3, 29, hour, 30, tzinfo=dt.UTC) for hour in range(24)),
        dt.datetime(2026, 9, 25, 12, tzinfo=dt.UTC),
        dt.datetime(2027, 11, 25, 12, tzinfo=dt.UTC),
        dt.datetime(2026, 11, 25, 12, tzinfo=dt.UTC),
    ]
    from fleetcare.desk import vans

    for number, moment in enumerate(moments):
        with clock.standing_at(moment):
            vans.van_add(place, "Bench", f"C{number}", vans.Said({"jurisdiction": "gb"}, [], {}))
        found["written"] += 1
    checked = trust.verify(place)
    found["faults"] += len(checked.faults)
    found["cautions of a clock"] += len(checked.cautions)
    return [("clocks back, ahead, and put forward", _counted(found), "")]
