"""What the pages cost: `python -m tests.bench.web [FOLDER]`.

A server of its own with fifty vans is asked over HTTP; each page against one that says nothing (its
health is not it: that opens the book), the stylesheet. Then thirty clients at once with a writer
beside them. What it took is printed, never asserted. Last, a thousand bookings by sixteen clients
at once, on SQLite and on PostgreSQL with four processes each: that none is doubled and none lost
is asserted.
"""

from __future__ import annotations

import http.client
import statistics
import subprocess
import sys
import tempfile
import threading
import time
import urllib.parse
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from fleetcare.desk import gate, load
from fleetcare.store import migrate
from tests import served
from tests.bench.fleet import TODAY, ready
from tests.bench.run import Row
from tests.typed import typed
from tests.web.started import looked_at, rushed, started

PORT, TIMES, CLIENTS = 8177, 21, 30
BOOKINGS, BOOKERS, PROCESSES = 1000, 16, 4
_WORDS = "purple gate lantern"
# Each page with its goal, in milliseconds beyond the stylesheet.
PAGES = {
    "a van's page": ("/van/V00007", "4 ms"),
    "the counter over fifty vans": (
        "/counter?from_on=2027-02-01&through_on=2027-02-08&people=2", "60 ms"),
    "Monday of fifty vans": ("/monday", "120 ms"),
    "the fleet": ("/vans", ""),
}  # fmt: skip


@contextmanager
def _served(place: str) -> Iterator[str]:
    """A server on a book; gives the cookie of an owner."""
    line = ["--db", place, "serve", "--port", str(PORT)]
    with subprocess.Popen(
        [sys.executable, "-m", "fleetcare", *line], stdout=subprocess.PIPE
    ) as one:
        try:
            name = "Bench"
            if name in [person.name for person in gate.people(place)]:
                link = gate.person_link(place, name)
            else:
                link = gate.person_add(place, name, gate.ROLES)
            cookie = gate.come_by_link(place, link, _WORDS, _WORDS)
            while _asked("/health", "")[1] != 200:
                pass
            yield f"fleetcare={cookie}"
        finally:
            one.terminate()


def _asked(path: str, cookie: str) -> tuple[float, int]:
    """How long a page took, in seconds, and its status; 0 where nobody listens yet."""
    connection = http.client.HTTPConnection("127.0.0.1", PORT, timeout=60)
    start = time.perf_counter()
    try:
        connection.request("GET", path, headers={"Cookie": cookie})
        answer = connection.getresponse()
        answer.read()
        return time.perf_counter() - start, answer.status
    except ConnectionError:
        return 0.0, 0
    finally:
        connection.close()


def _median(path: str, cookie: str) -> float:
    taken = [_asked(path, cookie) for _ in range(TIMES)]
    assert {status for _, status in taken} == {200}, path
    return statistics.median(one for one, _ in taken)


def pages(cookie: str) -> list[Row]:
    """Each page alone."""
    plain = _median("/style.css", cookie)
    rows = [("the stylesheet", f"{plain * 1000:.1f} ms", "")]
    for name, (path, goal) in PAGES.items():
        took = _median(path, cookie)
        figure = f"{(took - plain) * 1000:.0f} ms more ({took / plain:.0f} × it)"
        rows.append((name, figure, goal))
    return rows


def crowd(place: str, cookie: str) -> list[Row]:
    """Thirty clients at once, a van's page each time, while somebody writes."""
    ended, taken = threading.Event(), []

    def write() -> None:
        miles = 100_000
        while not ended.is_set():
            miles += 1
            typed(place, f'odometer V00003 {miles}mi --even-so "bench"', TODAY)

    def ask() -> None:
        for _ in range(10):
            taken.append(_asked("/van/V00007", cookie))

    writer = threading.Thread(target=write)
    clients = [threading.Thread(target=ask) for _ in range(CLIENTS)]
    writer.start()
    for one in clients:
        one.start()
    for one in clients:
        one.join()
    ended.set()
    writer.join()
    times = sorted(one for one, status in taken if status == 200)
    middle, worst = statistics.median(times), times[int(len(times) * 0.99) - 1]
    figure = f"{worst / middle:.1f} × its median of {middle * 1000:.0f} ms, {len(times)} answers"
    return [(f"99 of 100 under {CLIENTS} clients and a writer", figure, "5 ×")]


def bookings(folder: Path) -> list[Row]:
    """A thousand bookings of ten vans by sixteen clients at once, two of each days."""
    book = ready(folder, 10)
    vans = [f"V{number:05}" for number in range(10)]
    found, work = [], Path(tempfile.mkdtemp(dir=folder))
    load.dump(book, str(work / "book.jsonl"))
    with served.server() as uri:
        served.told(uri, 'CREATE DATABASE rush TEMPLATE template0 LOCALE "C" ENCODING "UTF8"')
        for engine, place in (
            ("SQLite", str(work / "rush.db")), ("PostgreSQL", served.named(uri, "rush")),
        ):  # fmt: skip
            migrate.upgrade(place)
            load.load(place, "Bench", str(work / "book.jsonl"))
            gate.person_add(place, "O. Owner", ["owner"])
            with started(place, PROCESSES, TODAY, work / "log") as port:
                rush = rushed(place, port, vans, BOOKINGS, BOOKERS)
            looked_at(place, rush)
            figure = f"{BOOKINGS / rush.seconds:.0f} a second, {len(rush.kept)} kept, each once; "
            figure += f"told to try again {rush.again} times"
            found.append((f"{BOOKINGS} bookings by {BOOKERS} at once, {engine}", figure, ""))
    return found


def main() -> None:
    """Print the table."""
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else tempfile.mkdtemp())
    folder.mkdir(parents=True, exist_ok=True)
    place = urllib.parse.unquote(ready(folder, 50))
    with _served(place) as cookie:
        rows = [*pages(cookie), *crowd(place, cookie)]
    rows += bookings(folder)
    width = max(len(name) for name, _, _ in rows)
    for name, figure, goal in rows:
        print(f"{name:{width}}  {figure}" + (f"; goal ≤ {goal}" if goal else ""))


if __name__ == "__main__":
    main()
