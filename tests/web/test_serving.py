"""The server itself: where it listens, what it refuses, and that it answers as two processes."""

from __future__ import annotations

import datetime as dt
import http.cookiejar
import re
import shutil
import socket
import urllib.error
import urllib.parse
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

from fleetcare.desk import gate
from fleetcare.errors import DatabaseFault, UsageFault
from fleetcare.web import serving
from fleetcare.web.serving import Listening
from tests.typed import typed, typed_all
from tests.vans import GOOD
from tests.web.conftest import PASSWORD, words
from tests.web.started import looked_at, rushed, started


@pytest.mark.parametrize(
    ("said", "address", "secure"),
    [
        (Listening(), "http://127.0.0.1:8080/", False),
        (Listening("localhost", 99), "http://localhost:99/", False),
        (Listening("::1"), "http://[::1]:8080/", False),
        (Listening("0.0.0.0", tls_cert="c", tls_key="k", names=("f.example",)),
         "https://f.example:8080/", True),
        (Listening("10.1.2.3", behind_proxy="f.example"), "https://f.example/", True),
    ],
)  # fmt: skip
def test_where_it_is_reached(said: Listening, address: str, secure: bool) -> None:
    """By TLS, ours or a proxy's, everywhere but on this machine."""
    what = serving.served("fleet.db", said)

    assert (serving.address(what, said), what.secure) == (address, secure)
    assert {"localhost", "127.0.0.1", said.host, *said.names} <= set(what.hosts)


@pytest.mark.parametrize("host", ["0.0.0.0", "10.1.2.3", "fleet.example", "::"])
def test_nobody_reads_along(host: str) -> None:
    """Another address without TLS is refused, with what to do."""
    with pytest.raises(UsageFault) as fault:
        serving.served("fleet.db", Listening(host))
    assert str(fault.value) == (
        f"passwords would cross the network in plain text on {host}: add --tls-cert and --tls-key, "
        "or --behind-proxy NAME where a proxy of yours has TLS, or leave --host out"
    )
    with pytest.raises(UsageFault) as fault:
        serving.served("fleet.db", Listening(tls_cert="c"))
    assert str(fault.value) == "--tls-cert and --tls-key go together"


def test_a_port_that_is_taken() -> None:
    """Said before anything is served."""
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        with pytest.raises(DatabaseFault) as fault:
            serving.free_port(Listening(port=port))
    assert str(fault.value) == (
        f"nothing can listen on 127.0.0.1, port {port}: Address already in use. Name another with "
        "--port"
    )


DAY = dt.date(2026, 11, 23)


@pytest.fixture
def running(sample_file: Path, tmp_path: Path) -> Iterator[tuple[str, str]]:
    """A book, and the address at which two processes serve it."""
    place = str(shutil.copy(sample_file, tmp_path / "fleet.db"))
    with started(place, 2, DAY, tmp_path / "log") as port:
        yield place, f"http://127.0.0.1:{port}"


def test_two_processes_know_the_same_people(running: tuple[str, str]) -> None:
    """Somebody comes in by one and is known to the other, writes, and both show it; a new process
    of ours that writes is seen by the next request."""
    place, address = running
    jar = urllib.request.HTTPCookieProcessor(http.cookiejar.CookieJar())
    browser = urllib.request.build_opener(jar)
    link = gate.person_add(place, "W. Lead", ["workshop"])

    def page(path: str, form: dict[str, str] | None = None) -> str:
        data = urllib.parse.urlencode(form).encode() if form else None
        with browser.open(f"{address}{path}", data) as answer:
            return str(answer.read().decode())

    page(f"/link/{link}", {"password": PASSWORD, "again": PASSWORD})
    for _ in range(12):
        assert "Due on Mon 23 Nov 2026: 12 vans" in words(page("/monday"))
    token = re.search(r'name="token" value="([^"]+)"', page("/van/V01/defect"))
    assert token
    form = {"token": token[1], "grade": "dangerous", "words": "weeps", "about": "brakes"}
    assert 'dangerous defect "weeps"' in words(page("/van/V01/defect", form))
    for _ in range(12):
        assert "weeps" in words(page("/van/V01"))
    assert page("/health") == ""
    with pytest.raises(urllib.error.HTTPError) as shut:
        page("/people")
    assert shut.value.code == 403
    shut.value.close()


def test_many_book_at_once_by_four_processes(place: str, tmp_path: Path) -> None:
    """Sixty-four bookings by eight clients at the same moment over HTTP, two of each days of one
    van, on each engine: every days are booked once, as one of the two was told."""
    day = dt.date(2026, 8, 1)
    typed(place, "init", day)
    typed_all(place, GOOD, day)
    gate.person_add(place, "O. Owner", ["owner"])
    with started(place, 4, day, tmp_path / "log") as port:
        rush = rushed(place, port, ["V01"], 64, 8)
    looked_at(place, rush)
