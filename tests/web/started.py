"""The program serving a book in processes of its own, and many who book at once by it."""

from __future__ import annotations

import contextlib
import datetime as dt
import http.client
import os
import signal
import socket
import subprocess
import sys
import time
import urllib.parse
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import NamedTuple

from fleetcare.desk import diary, gate, trust
from tests.web.conftest import PASSWORD

ROOT = Path(__file__).parent.parent.parent
HERE = "127.0.0.1"
_TRIES = 30  # of one booking, while the book is held by others
_NIGHTS, _EVERY = 3, 5  # of a booking, and from one to the next


def free_port() -> int:
    """A port on which nobody listens."""
    with socket.create_server((HERE, 0)) as one:
        return int(one.getsockname()[1])


@contextlib.contextmanager
def started(place: str, processes: int, today: dt.date, log: Path) -> Iterator[int]:
    """A book served on a day of its own; gives the port. It ends with what asked for it."""
    port = free_port()
    line = ["--db", place, "serve", "--port", str(port), "--processes", str(processes)]
    env = {**os.environ, "FLEETCARE_TODAY": str(today)}
    with log.open("wb") as file:
        process = subprocess.Popen(
            [sys.executable, "-m", "fleetcare", *line], cwd=ROOT, env=env, stdout=file, stderr=file
        )
    try:
        while not _listens(port):
            assert process.poll() is None, log.read_text("utf-8")
            os.sched_yield()
        yield port
    finally:
        process.send_signal(signal.SIGINT)
        process.wait(60)


def _listens(port: int) -> bool:
    with socket.socket() as tried:
        return tried.connect_ex((HERE, port)) == 0


class Rush(NamedTuple):
    """What became of bookings sent at once: the answers to each by its reference, and how long."""

    told: dict[str, list[int]]
    seconds: float

    @property
    def answers(self) -> dict[str, int]:
        """The last answer to each: one that was told to try again did."""
        return {ref: said[-1] for ref, said in self.told.items()}

    @property
    def again(self) -> int:
        """How often somebody was told that the book is held by others: try again."""
        return sum(len(said) - 1 for said in self.told.values())

    @property
    def kept(self) -> set[str]:
        """Those that were told they are booked."""
        return {ref for ref, status in self.answers.items() if status == 303}


def rushed(place: str, port: int, vans: list[str], bookings: int, clients: int) -> Rush:
    """Bookings sent by clients at once, each van's days by two of them under two references."""
    each = bookings // 2 // len(vans)
    first = dt.date(2027, 2, 15)  # after whatever is booked, and not years after
    jobs = [
        (van, first + dt.timedelta(days=_EVERY * number), f"{van}-{number}{who}")
        for number in range(each)
        for van in vans
        for who in "ab"
    ]
    assert len(jobs) == bookings
    cookies = [_came_in(place, f"Clerk {number}") for number in range(clients)]
    waiting = iter(jobs)
    begun = time.perf_counter()
    with ThreadPoolExecutor(clients) as pool:
        found = list(pool.map(lambda cookie: _client(port, cookie, waiting), cookies))
    told = {ref: said for one in found for ref, said in one.items()}
    return Rush(told, time.perf_counter() - begun)


def _came_in(place: str, name: str) -> tuple[str, str]:
    """The cookie of a clerk, and the token of their forms."""
    cookie = gate.come_by_link(place, gate.person_add(place, name, ["clerk"]), PASSWORD, PASSWORD)
    assert cookie
    session = gate.session(place, cookie)
    assert session
    return cookie, session.token


def _client(
    port: int, who: tuple[str, str], waiting: Iterator[tuple[str, dt.date, str]]
) -> dict[str, list[int]]:
    """One client: sends the next booking that nobody has sent, until there is none."""
    cookie, token = who
    head = {"Cookie": f"fleetcare={cookie}", "Content-Type": "application/x-www-form-urlencoded"}
    told: dict[str, list[int]] = {}
    connection = http.client.HTTPConnection(HERE, port, timeout=120)
    for van, day, ref in waiting:
        through = day + dt.timedelta(days=_NIGHTS)
        form = {"token": token, "van": van, "ref": ref, "from_on": str(day),
                "through_on": str(through), "even_so": "known"}  # fmt: skip
        said = told[ref] = []
        while not said or (said[-1] == 503 and len(said) < _TRIES):
            connection.request("POST", "/counter", urllib.parse.urlencode(form), head)
            answer = connection.getresponse()
            answer.read()
            said.append(answer.status)
    connection.close()
    return told


def looked_at(place: str, rush: Rush) -> None:
    """None lost, none doubled, none that was refused, none unanswered; and the book is whole."""
    booked = [one for one in diary.listed(place, None, None, None) if one.ref in rush.answers]
    days = [(one.van, one.start) for one in booked]

    assert set(rush.answers.values()) == {
        303,
        422,
    }  # led to its booking, or told that the days are taken
    assert {one.ref for one in booked} == rush.kept
    assert len(booked) == len(rush.kept) == len(rush.answers) // 2
    assert len(set(days)) == len(days)
    assert trust.verify(place).faults == []
