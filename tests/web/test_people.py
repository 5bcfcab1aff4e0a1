"""Links, passwords, sessions and tries, on both engines; and what the commands print."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

import pytest
import sqlalchemy as sa

from fleetcare import clock, secret
from fleetcare.desk import gate, keep
from fleetcare.errors import DatabaseFault, Refused
from tests.typed import refused, typed
from tests.web.conftest import PASSWORD, Browser

NOW = dt.datetime(2026, 11, 23, 9, 30, tzinfo=dt.UTC)


@pytest.fixture
def ready(place: str) -> str:
    """A book with the rules adopted, on each engine."""
    keep.init(place, "Test")
    return place


def _came(place: str, name: str = "A. Clerk", *roles: str) -> str:
    link = gate.person_add(place, name, roles or ["clerk"])
    made = gate.come_by_link(place, link, PASSWORD, PASSWORD)
    assert made
    return made


def test_a_link_works_once_and_for_a_day(ready: str) -> None:
    """By it a password is chosen; used, or a day old, it is nobody's."""
    with clock.standing_at(NOW):
        link = gate.person_add(ready, "A. Clerk", ["clerk", "yard"])
        assert gate.link(ready, link) == ("A. Clerk", False)
        assert gate.people(ready) == [("A. Clerk", ("clerk", "yard"), False)]
        made = gate.come_by_link(ready, link, PASSWORD, PASSWORD)
        assert made
        found = gate.session(ready, made)
        assert found
        assert found.person == ("A. Clerk", ("clerk", "yard"), True)
        assert gate.link(ready, link) is None
        assert gate.come_by_link(ready, link, PASSWORD, PASSWORD) is None
        late = gate.person_link(ready, "A. Clerk")
    with clock.standing_at(NOW + dt.timedelta(hours=24)):
        assert gate.link(ready, late) is None


def test_only_a_digest_is_kept(ready: str) -> None:
    """Who reads what lies beside the book can't come in with it."""
    with clock.standing_at(NOW):
        made = _came(ready)
        assert gate.session(ready, secret.digest(made)) is None


def test_a_session_ends(ready: str) -> None:
    """After twelve idle hours, after seven days however busy, by signing out, by other roles, by a
    new link, and when the person goes."""
    with clock.standing_at(NOW):
        made = _came(ready, "O. Owner", "owner")
    for hours in range(11, 168, 11):
        with clock.standing_at(NOW + dt.timedelta(hours=hours)):
            assert gate.session(ready, made)
    with clock.standing_at(NOW + dt.timedelta(days=7, minutes=1)):
        assert gate.session(ready, made) is None
        made = gate.sign_in(ready, "O. Owner", PASSWORD, "here") or ""
    with clock.standing_at(NOW + dt.timedelta(days=7, hours=12, minutes=2)):
        assert gate.session(ready, made) is None
    with clock.standing_at(NOW):
        first, second = (gate.sign_in(ready, "O. Owner", PASSWORD, "here") or "" for _ in "12")
        gate.sign_out(ready, first)
        assert gate.session(ready, first) is None
        assert gate.session(ready, second)
        gate.person_roles(ready, "O. Owner", ["owner", "clerk"])
        assert gate.session(ready, second) is None
        third = gate.sign_in(ready, "O. Owner", PASSWORD, "here") or ""
        gate.person_link(ready, "O. Owner")
        assert gate.session(ready, third) is None
        fourth = gate.sign_in(ready, "O. Owner", PASSWORD, "here") or ""
        _came(ready, "P. Owner", "owner")
        gate.person_remove(ready, "O. Owner")
        assert gate.session(ready, fourth) is None
        assert gate.sign_in(ready, "O. Owner", PASSWORD, "here") is None


def test_ten_tries_from_one_address(ready: str) -> None:
    """The eleventh is turned away, with the right password too; from elsewhere the person comes in,
    and after a quarter of an hour from there as well."""
    with clock.standing_at(NOW):
        _came(ready)
        for _ in range(10):
            assert gate.sign_in(ready, "A. Clerk", "not the password", "there") is None
        with pytest.raises(gate.Shut) as shut:
            gate.sign_in(ready, "A. Clerk", PASSWORD, "there")
        assert str(shut.value) == (
            "too many tries from here: wait a quarter of an hour, or ask the owner"
        )
        assert gate.sign_in(ready, "A. Clerk", PASSWORD, "here")
        for number in range(20):
            assert gate.sign_in(ready, f"N. {number}", PASSWORD, "there") is None
        with pytest.raises(gate.Shut):
            gate.sign_in(ready, "N. Obody", PASSWORD, "there")
    with clock.standing_at(NOW + dt.timedelta(minutes=15, seconds=1)):
        assert gate.sign_in(ready, "A. Clerk", PASSWORD, "there")


@pytest.mark.parametrize(
    ("password", "wrong"),
    [
        ("short words", "has 11 characters: choose 12 or more, several words are easy"),
        ("x" * 257, "has more than 256 characters: choose a shorter one"),
        ("password1234", "is one that is guessed first: choose several words that do not belong "
                         "together"),
        ("a. clerk a. clerk", "is one that is guessed first: choose several words that do not "
                              "belong together"),
        ("121212121212", "is one that is guessed first: choose several words that do not belong "
                         "together"),
        (PASSWORD, None),
        ("pw ünïcødé 🚐 words", None),
    ],
)  # fmt: skip
def test_a_weak_password_is_refused(password: str, wrong: str | None) -> None:
    """Too short, too long, or one that is tried first; any character may stand in one."""
    assert secret.weakness(password, "A. Clerk") == wrong


def test_what_a_password_costs(monkeypatch: pytest.MonkeyPatch) -> None:
    """Argon2id, at least as OWASP asks: 19 MiB, 2 rounds, 1 lane (its Password Storage Cheat Sheet,
    second-hand). A weaker one is kept anew when its owner comes in."""
    import argon2

    monkeypatch.undo()
    kept = secret.hashed(PASSWORD)
    said = argon2.extract_parameters(kept)

    assert said.type is argon2.Type.ID
    assert said.memory_cost >= 19 * 1024
    assert said.time_cost >= 2
    assert secret.verified(kept, PASSWORD)
    assert not secret.verified(kept, PASSWORD + " ")
    assert not secret.verified(None, PASSWORD)
    assert secret.outdated(
        argon2.PasswordHasher(time_cost=1, memory_cost=8, parallelism=1).hash(PASSWORD)
    )
    assert not secret.outdated(kept)


def test_there_is_always_an_owner(ready: str) -> None:
    """The only one is neither removed nor made something else."""
    with clock.standing_at(NOW):
        _came(ready, "O. Owner", "owner")
        for done in (
            lambda: gate.person_remove(ready, "O. Owner"),
            lambda: gate.person_roles(ready, "O. Owner", ["clerk"]),
        ):
            with pytest.raises(Refused) as fault:
                done()
            assert fault.value.lines == [
                'name: "O. Owner" is the only owner: make another one first'
            ]


def test_the_book_holds_none_of_it(empty_place: str) -> None:
    """Passwords and sessions lie in a file of their own; the book is as it was."""
    keep.init(empty_place, "Test")
    before = Path(empty_place).read_bytes()
    with clock.standing_at(NOW):
        _came(empty_place)
    assert Path(empty_place).read_bytes() == before
    assert b"argon2" in Path(f"{empty_place}.people").read_bytes()


def test_a_file_that_is_something_else_is_left_alone(empty_place: str) -> None:
    """What lies beside a book under that name and is not ours is neither read nor written."""
    keep.init(empty_place, "Test")
    other = Path(f"{empty_place}.people")
    with sa.create_engine(f"sqlite:///{other}").connect() as connection:
        connection.exec_driver_sql("CREATE TABLE t (a)")
        connection.commit()
        connection.engine.dispose()
    with pytest.raises(DatabaseFault) as fault:
        gate.people(empty_place)
    assert str(fault.value) == (
        f'"{other}" does not hold the people of a book. Move it away, and add them anew with: '
        "fleetcare person add"
    )


def test_the_commands(empty_place: str) -> None:
    """Somebody is let in, given other roles and another link, listed, and removed."""
    keep.init(empty_place, "Test")
    said = typed(empty_place, 'person add "W. Yard" --role yard --at https://fleet.example/')
    assert re.fullmatch(
        'Give W. Yard this address, and nobody else; it holds for a day and works once:\n'
        r"https://fleet\.example/link/[\w-]{43}\n", said,
    )  # fmt: skip
    here = typed(empty_place, 'person link "W. Yard"').splitlines()
    assert here[1].startswith("http://127.0.0.1:8080/link/")
    assert here[2] == (
        "It opens on this machine, where serve listens on port 8080. Are the pages reached "
        "otherwise, put what serve prints in the place of http://127.0.0.1:8080."
    )
    assert typed(empty_place, "person list") == "W. Yard: yard; link not used yet\n"
    assert refused(empty_place, 'person add "W. Yard" --role yard') == (
        'name: "W. Yard" may come in already. Their way in is lost? fleetcare person link "W. Yard"'
    )
    assert refused(empty_place, "person add X") == (
        "--role: say at least one: clerk, yard, workshop, owner"
    )
    assert refused(empty_place, "person add X --role yrd") == (
        '--role: "yrd" is not one of clerk, yard, workshop, owner. Did you mean "yard"?'
    )
    assert typed(empty_place, 'person roles "W. Yard" --role workshop --role yard') == (
        "W. Yard: yard, workshop, from now on; they sign in anew.\n"
    )
    assert refused(empty_place, 'person link "W. Yrad"') == (
        'name: nobody is called "W. Yrad" here. Did you mean "W. Yard"?'
    )
    assert typed(empty_place, 'person remove "W. Yard"') == (
        "W. Yard may come in no more, from this moment on.\n"
    )
    assert typed(empty_place, "person list") == ""


def test_the_owner_lets_people_in(sample_book: str, sample_day: dt.date) -> None:
    """On the page: a link is made and shown once, roles change, and who is removed is out."""
    owner = Browser(sample_book, "owner", name="O. Owner")
    shown = owner.send("/people", name="N. Ewer", clerk="yes").text
    link = re.search(r"http://testserver(/link/[\w-]+)", shown)
    assert link
    new = Browser(sample_book)
    assert new.get(link[1]).status_code == 200
    sent = new.client.post(link[1], data={"password": PASSWORD, "again": PASSWORD})
    assert sent.headers["location"] == "/"
    assert new.get("/").headers["location"] == "/counter"
    assert new.get("/people").status_code == 403
    owner.send("/people/roles", name="N. Ewer", owner="yes")
    assert new.get("/people").headers["location"] == "/enter"
    sent = new.client.post("/enter", data={"name": "N. Ewer", "password": PASSWORD})
    assert sent.status_code == 303
    assert new.get("/people").status_code == 200
    owner.send("/people/remove", name="N. Ewer")
    assert new.get("/people").headers["location"] == "/enter"
    assert (
        new.client.post("/enter", data={"name": "N. Ewer", "password": PASSWORD}).status_code == 401
    )
