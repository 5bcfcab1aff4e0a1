"""The pages as a browser without JavaScript gets them, on a copy of the sample or an empty book."""

from __future__ import annotations

import datetime as dt
import html
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from fleetcare import clock, secret
from fleetcare.desk import gate, sample
from fleetcare.web.app import made
from fleetcare.web.settings import Served

HOST = "testserver"
OUR_SCRIPT = '<script src="/walk.js" type="module"></script>'  # of the yard's pages
PASSWORD = "purple gate lantern"


@pytest.fixture(autouse=True)
def _quick_passwords(monkeypatch: pytest.MonkeyPatch) -> None:
    """Argon2id at its least: what it costs is asked in one test of its own."""
    import argon2

    secret._hasher.cache_clear()
    secret._nobody.cache_clear()
    quick = argon2.PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
    monkeypatch.setattr(secret, "_hasher", lambda: quick)


class Browser:
    """Somebody signed in: pages as text, forms sent with what stands in them."""

    def __init__(self, place: str, *roles: str, name: str = "", **served: Any) -> None:
        self.place = place
        self.name = name or f"{' '.join(roles).title()} Person"
        app = made(Served(place, (HOST,), **served))
        self.client = TestClient(app, follow_redirects=False, base_url=f"http://{HOST}")
        if not gate.people(place):  # there is always an owner before anybody comes
            gate.person_add(place, "First Owner", ["owner"])
        if roles:
            link = gate.person_add(place, self.name, roles)
            sent = self.client.post(f"/link/{link}", data={"password": PASSWORD, "again": PASSWORD})
            assert sent.status_code == 303, sent.text

    @property
    def token(self) -> str:
        """The token of this session's forms."""
        found = re.search(r'name="token" value="([^"]+)"', self.client.get("/vans").text)
        assert found
        return found[1]

    def get(self, path: str) -> Any:
        return self.client.get(path)

    def text(self, path: str) -> str:
        """What a page says."""
        return words(self.client.get(path).text)

    def send(self, path: str, **fields: str) -> Any:
        """Send a form."""
        return self.client.post(path, data={"token": self.token, **fields})


def words(page: str) -> str:
    """The words of a page, without its marks and its head."""
    body = page.partition("<main")[2].partition("</main>")[0].partition(">")[2]
    body = re.sub(r'<p class="note">[^<]*Today is [^<]*</p>', "", body)
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", body)).split())


def faults_of(page: str) -> list[str]:
    """The faults that a page lists."""
    listed = page.partition('aria-label="What is wrong"')[2].partition("</section>")[0]
    return [
        html.unescape(re.sub(r"<[^>]+>", "", one)) for one in re.findall(r"<li>.*?</li>", listed)
    ]


Opened = Callable[..., Browser]


@pytest.fixture
def sample_day() -> Iterator[dt.date]:
    """The sample's own today, its clock standing at half past nine."""
    day = sample.today()
    with clock.standing_at(dt.datetime.combine(day, dt.time(9, 30), dt.UTC)):
        yield day


@pytest.fixture
def opened(sample_book: str, sample_day: dt.date) -> Opened:
    """Somebody's browser on a copy of the sample."""

    def made_for(*roles: str, **more: Any) -> Browser:
        return Browser(sample_book, *roles, **more)

    return made_for


def records(place: str) -> bytes:
    """The book's file, byte for byte."""
    return Path(place).read_bytes() + (
        Path(f"{place}-wal").read_bytes() if Path(f"{place}-wal").exists() else b""
    )
