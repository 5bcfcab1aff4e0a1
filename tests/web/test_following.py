"""The calendar's address: who has it reads what falls due and nothing else, until it is renewed."""

from __future__ import annotations

import re
import sqlite3
from pathlib import Path

import pytest

from fleetcare.desk import feeds, following
from tests.web.conftest import Browser, Opened, records, words


def _address(owner: Browser) -> str:
    made = re.findall(r"/calendar/([A-Za-z0-9_-]{43})<", owner.send("/calendar", give="yes").text)
    assert len(made) == 1
    return f"/calendar/{made[0]}"


def test_an_address_is_read_without_signing_in(
    opened: Opened, capsys: pytest.CaptureFixture[str]
) -> None:
    """It gives what the terminal exports; reading writes nothing, and no log and no file holds the
    token."""
    owner, nobody = opened("owner"), opened()
    path = _address(owner)
    people = Path(f"{owner.place}.people")
    before = records(owner.place) + people.read_bytes()
    answer = nobody.get(path)
    assert (answer.status_code, answer.headers["content-type"]) == (
        200, "text/calendar; charset=utf-8",
    )  # fmt: skip
    assert answer.content == feeds.calendar(owner.place, None)
    assert "set-cookie" not in answer.headers
    assert records(owner.place) + people.read_bytes() == before
    token = path.rpartition("/")[2]
    assert token.encode() not in people.read_bytes()
    assert token not in capsys.readouterr().err
    assert token not in owner.get("/papers").text


def test_nobodys_name_is_in_it(opened: Opened) -> None:
    """Of no inspector, hirer or driver whom the book knows by name."""
    owner = opened("owner")
    feed = owner.get(_address(owner)).text
    with sqlite3.connect(owner.place) as book:
        names = [
            one
            for (one,) in book.execute(
                "SELECT text FROM said JOIN inspectors ON said.commitment = inspectors.name"
            )
        ]
    assert len(names) > 3
    assert not [name for name in names if name in feed]


def test_another_address_ends_the_one_before(opened: Opened) -> None:
    """As ending it does; a wrong token, none and a used one are the same page that is not there."""
    owner, nobody = opened("owner", name="O. Owner"), opened()
    assert following.given(owner.place) is None
    first, second = _address(owner), _address(owner)
    assert nobody.get(second).status_code == 200
    gone = nobody.get(first)
    wrong = nobody.get("/calendar/" + "x" * 43)
    assert (gone.status_code, gone.text) == (404, wrong.text)
    assert words(gone.text).startswith("There is no such page")
    assert "One was given out by O. Owner, 2026-11-23" in owner.text("/papers")
    assert owner.send("/calendar/end").status_code == 303
    assert nobody.get(second).status_code == 404
    assert following.given(owner.place) is None


def test_people_kept_before_there_were_addresses(opened: Opened) -> None:
    """Are read as having given none out, and take one as any."""
    owner = opened("owner")
    with sqlite3.connect(f"{owner.place}.people") as people:
        people.execute("DROP TABLE feed")
    assert owner.get("/papers").status_code == 200
    assert owner.get("/calendar/x").status_code == 404
    assert owner.get(_address(owner)).status_code == 200
