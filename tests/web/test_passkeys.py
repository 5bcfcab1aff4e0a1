"""Passkeys, the second way in: added by the password, asked for at the door without a name, taken
away. What was not asked, is too late, is of somewhere else or does not hold lets nobody in."""

from __future__ import annotations

import base64
import datetime as dt
import json
import shutil
import sqlite3
import sys
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from fleetcare import ceremony, clock
from fleetcare.desk import gate, keep, passkeys, tablet
from fleetcare.errors import DatabaseFault, Refused
from fleetcare.store import doors, people
from fleetcare.store.people import beside
from fleetcare.web.visit import part
from tests.typed import refused, typed
from tests.web.conftest import HOST, PASSWORD, Browser, Opened, faults_of, records, words
from tests.web.device import PRESENT, Device, asked_on, b64
from tests.web.test_browser import at_work
from tests.web.test_tablet import PIN

ORIGIN = f"https://{HOST}"
NOW = dt.datetime(2026, 11, 23, 9, 30, tzinfo=dt.UTC)
ASK, IN = "/enter-by-passkey", "/enter-by-passkey/answer"
LATE = (
    "A passkey was asked for more than five minutes ago, was answered already, or in another "
    "browser: ask for it again."
)
OTHER = "The passkey answered something else: ask for it again, or sign in with your password."
UNKNOWN = "This passkey holds no more, or never did: sign in with your password."
COPIED = (
    "This passkey says that it was used less often than it was, so there may be a copy of it: sign "
    "in with your password, take it away on Your own, and tell the owner."
)


@pytest.fixture
def safe(opened: Opened) -> Opened:
    """Somebody's browser, by TLS."""

    def made_for(*roles: str, **more: Any) -> Browser:
        found = opened(*roles, secure=True, **more)
        found.client.base_url = ORIGIN
        if roles:
            found.client.post("/enter", data={"name": found.name, "password": PASSWORD})
        return found

    return made_for


def _device(browser: Browser, called: str = "office laptop") -> Device:
    """A device that has made a passkey for somebody signed in."""
    device = Device(ORIGIN, HOST)
    asked = browser.send("/own/passkey", passkey=called, password=PASSWORD)
    assert asked.status_code == 200, asked.text
    kept = browser.send("/own/passkey/answer", passkey=called, **device.made(asked_on(asked.text)))
    assert kept.status_code == 200, faults_of(kept.text)
    return device


def _ask(browser: Browser) -> Any:
    """Press the button at the door: a form that has no fields."""
    kind = {"content-type": "application/x-www-form-urlencoded"}
    return browser.client.post(ASK, headers=kind)


def _asked(browser: Browser) -> dict[str, Any]:
    return asked_on(_ask(browser).text)


def _come(browser: Browser, device: Device) -> Any:
    """Come in at somebody's door with a device."""
    return browser.client.post(IN, data=device.signed(_asked(browser)))


def _out(browser: Browser) -> bool:
    return bool(browser.get("/vans").headers.get("location") == "/enter")


def _kept(place: str) -> list[tuple[Any, ...]]:
    """All that is kept of people, their sessions and their passkeys."""
    with beside(place) as connection:
        found = []
        for table in ("person", "session", "turn", "passkey"):
            found += [tuple(row) for row in connection.exec_driver_sql(f"SELECT * FROM {table}")]
    return found


def _refused(browser: Browser, sent: dict[str, str], fault: str) -> None:
    """Nobody is let in by this, the page says why, and nothing is kept of it."""
    before = _kept(browser.place)
    answer = browser.client.post(IN, data=sent)
    assert (answer.status_code, faults_of(answer.text)) == (401, [fault])
    assert "set-cookie" not in answer.headers
    assert _kept(browser.place) == before
    assert _out(browser)


def test_added_and_used(safe: Opened) -> None:
    """By the password it is added, on their own page it is listed; at the door it lets in whose it
    is, with their roles, on whichever browser; the owner reads how many there are."""
    clerk, door = safe("clerk", "yard", name="C. Lerk"), safe()
    assert "Passkeys You have none. Add a passkey" in clerk.text("/own")
    asked = clerk.send("/own/passkey", passkey="office laptop", password=PASSWORD)
    said = asked_on(asked.text)
    assert words(asked.text).startswith("Add office laptop A passkey is asked for by a script")
    assert (said["rp"]["id"], said["user"]["name"]) == (HOST, "C. Lerk")
    assert said["authenticatorSelection"]["userVerification"] == "required"
    assert said["authenticatorSelection"]["residentKey"] == "required"
    assert said["excludeCredentials"] == []
    device = Device(ORIGIN, HOST)
    kept = clerk.send("/own/passkey/answer", passkey="office laptop", **device.made(said))
    assert words(kept.text) == (
        "Your passkey is added C. Lerk may come in by office laptop from here on. Go on"
    )
    day = "Mon 23 Nov 2026"
    listed = f"office laptop For {HOST}; added {day}; not used yet. Take office laptop away"
    assert listed in clerk.text("/own")
    asked_in = _ask(door)
    assert words(asked_in.text).startswith("With a passkey A passkey is asked for by a script")
    said = asked_on(asked_in.text)
    assert (said["rpId"], said["userVerification"]) == (HOST, "required")
    assert "allowCredentials" not in said or said["allowCredentials"] == []
    assert "C. Lerk" not in asked_in.text
    answer = door.client.post(IN, data=device.signed(said))
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    assert "C. Lerk</a>" in door.get("/vans").text
    assert door.get("/counter").status_code == 200
    assert door.get("/people").status_code == 403
    assert f"added {day}; last used {day}." in door.text("/own")
    phone = _device(door, "phone")
    asked = door.send("/own/passkey", passkey="x", password=PASSWORD)
    others = {one["id"] for one in asked_on(asked.text)["excludeCredentials"]}
    assert others == {b64(device.id), b64(phone.id)}
    assert device.handle == phone.handle
    assert "C. Lerk clerk, yard; 2 passkeys" in safe("owner", name="P. Owner").text("/people")
    assert "C. Lerk: clerk, yard; 2 passkeys\n" in typed(clerk.place, "person list")


def test_the_session_is_as_by_password(safe: Opened, capsys: pytest.CaptureFixture[str]) -> None:
    """Another each time, idle after twelve hours, over after seven days, ended by signing out and
    with other roles, which leave the passkey; the log has the same lines, and no secret."""
    clerk, door = safe("clerk", name="C. Lerk"), safe()
    device = _device(clerk)
    cookies = set()
    for _ in range(2):
        cookie = _come(door, device).headers["set-cookie"]
        assert cookie.startswith("__Host-fleetcare=")
        assert cookie.endswith("; HttpOnly; Max-Age=604800; Path=/; SameSite=lax; Secure")
        cookies.add(door.client.cookies["__Host-fleetcare"])
    assert len(cookies) == 2
    (first, last) = cookies
    for hours, lives in ((13, False), (12, True)):
        with clock.standing_at(NOW + dt.timedelta(hours=hours)):
            assert (gate.session(door.place, last) is not None) is lives
    door.send("/leave")
    assert _out(door)
    assert _come(door, device).status_code == 303
    gate.person_roles(door.place, "C. Lerk", ["workshop"])
    assert _out(door)
    assert _come(door, device).status_code == 303
    assert door.get("/").headers["location"] == "/monday"
    said = capsys.readouterr().err
    lines = [json.loads(line) for line in said.splitlines()]
    came = [one for one in lines if one.get("passkey")]
    assert [(one["event"], one["who"], one["passkey"]) for one in came] == [
        ("passkey added", "C. Lerk", "office laptop"),
        *[("signed in", "C. Lerk", "office laptop")] * 4,
    ]
    for secret in (PASSWORD, first, last, b64(device.id), device.handle):
        assert secret not in said


def test_what_lets_nobody_in(safe: Opened) -> None:
    """A challenge of another browser, an old one, none; an answer sent twice; another origin, another
    name, within another's page; no finger; another's key, another's handle; a signature that is
    none."""
    door, other = safe(), safe()
    device, theirs = _device(safe("clerk")), _device(safe("yard"), "phone")
    _refused(door, device.signed({"challenge": b64(bytes(32))}), LATE)
    _refused(door, device.signed(_asked(other)), LATE)
    asked = _asked(door)
    _refused(other, device.signed(asked), OTHER)
    with clock.standing_at(NOW + dt.timedelta(minutes=5, seconds=1)):
        _refused(door, device.signed(asked), LATE)
    before = _asked(door)
    _refused(door, device.signed(_asked(door) and before), OTHER)
    for field, value in (
        ("origin", "https://elsewhere.example"),
        ("origin", f"http://{HOST}"),
        ("origin", f"{ORIGIN}:8443"),
        ("host", "elsewhere.example"),
        ("flags", PRESENT),
        ("flags", 0),
        ("more", {"crossOrigin": True}),
        ("more", {"type": "webauthn.create"}),
        ("key", theirs.key),
        ("id", theirs.id),
    ):
        good, known = getattr(device, field), UNKNOWN if field == "id" else OTHER
        setattr(device, field, value)
        _refused(door, device.signed(_asked(door)), known)
        setattr(device, field, good)
    for change in (
        {"signature": ""}, {"signature": "AAAA"}, {"client": ""}, {"client": b64(b"[" * 9000)},
        {"client": b64(b"[]")}, {"data": ""}, {"data": "é"}, {"data": b64(bytes(37))},
        {"client": "a"},
    ):  # fmt: skip
        _refused(door, {**device.signed(_asked(door)), **change}, OTHER)
    for change in ({"whose": theirs.handle}, {"whose": ""}, {"id": ""}, {"id": "x" * 9000}):
        _refused(door, {**device.signed(_asked(door)), **change}, UNKNOWN)
    sent = device.signed(_asked(door))
    assert door.client.post(IN, data=sent).status_code == 303
    door.send("/leave")
    _refused(door, sent, LATE)
    _refused(door, {"id": ""}, LATE)


def test_no_octet_of_an_answer_is_another() -> None:
    """Each octet of what a device signed, changed or cut off there, and the answer does not hold; of
    what it says of a new key none makes more than a key, or a refusal."""
    device, at = Device(ORIGIN, HOST), ceremony.At(HOST, ORIGIN)
    challenge = b64(bytes(range(32)))
    made = device.made({"challenge": challenge, "user": {"id": "AA"}})
    key = ceremony.added(at, challenge, ceremony.Answer(**made))
    signed = device.signed({"challenge": challenge})
    assert ceremony.used(at, challenge, key.key, ceremony.Answer(**signed)) == 0
    held = broken = 0
    for field in ("client", "data", "signature"):
        for change in _changed(signed[field]):
            answer = ceremony.Answer(**{**signed, field: change})
            with pytest.raises(ceremony.Unheld):
                ceremony.used(at, challenge, key.key, answer)
    for change in _changed(made["data"]):
        try:
            found = ceremony.added(at, challenge, ceremony.Answer(**{**made, "data": change}))
            assert found.id == key.id
            held += 1
        except ceremony.Unheld:
            broken += 1
    assert held < broken


def _changed(text: str) -> Iterator[str]:
    """Octets, each in turn another, and cut off there."""
    data = base64.urlsafe_b64decode(text + "==")
    for place, octet in enumerate(data):
        for other in (octet ^ 1, octet ^ 0x80, 255 - octet):
            yield b64(data[:place] + bytes([other]) + data[place + 1 :])
        yield b64(data[:place])


def test_a_count_that_went_back(safe: Opened, capsys: pytest.CaptureFixture[str]) -> None:
    """Less than before, or as much, is refused and in the log with whose it is; more lets in, and a
    device that never counts is taken at its word."""
    door = safe()
    device = _device(safe("clerk", name="C. Lerk"))
    for _ in range(2):
        assert _come(door, device).status_code == 303
        door.send("/leave")
    device.uses = 2**32 - 2
    assert _come(door, device).status_code == 303
    door.send("/leave")
    for less in (2**32 - 3, 2**32 - 2, 0):
        device.uses = less
        capsys.readouterr()
        _refused(door, device.signed(_asked(door)), COPIED)
        line, *_ = capsys.readouterr().err.splitlines()
        said = json.loads(line)
        assert (said["event"], said["who"], said["passkey"]) == (
            "sign-in failed", "C. Lerk", "count went back",
        )  # fmt: skip
    device.uses = 2**32 - 1
    assert _come(door, device).status_code == 303


@pytest.mark.parametrize("way", ["taken away", "command", "removed", "new link", "link used"])
def test_when_a_passkey_ends(way: str, safe: Opened) -> None:
    """Taken away by whose it is, all by the command, with the person, with a new link: it lets
    nobody in from that moment on, and what was begun elsewhere is over."""
    clerk, there, door = safe("clerk", name="C. Lerk"), safe(), safe()
    device, place = _device(clerk), clerk.place
    assert _come(there, device).status_code == 303
    asked = device.signed(_asked(door))
    if way == "taken away":
        answer = clerk.send("/own/passkey/end", passkey="office laptop")
        assert answer.headers["location"] == "/own"
        assert "You have none." in clerk.text("/own")
    elif way == "command":
        assert typed(place, 'person end-passkeys "C. Lerk"') == (
            "C. Lerk has no passkey from here on, and is signed out; their password stays.\n"
        )
    elif way == "removed":
        gate.person_remove(place, "C. Lerk")
    else:
        link = gate.person_link(place, "C. Lerk")
        if way == "link used":
            assert gate.come_by_link(place, link, PASSWORD, PASSWORD)
    assert _out(there)
    assert _out(clerk) is (way != "taken away")
    _refused(door, asked, UNKNOWN)
    with beside(place) as connection:
        assert connection.exec_driver_sql("SELECT count(*) FROM passkey").scalar() == 0
    if way != "removed":
        assert "C. Lerk: clerk" in typed(place, "person list")
        assert "passkey" not in typed(place, "person list")


def test_what_ends_none(safe: Opened) -> None:
    """A name that none has, and somebody unknown; another's is theirs."""
    clerk, yard = safe("clerk"), safe("yard")
    _device(yard, "phone")
    answer = clerk.send("/own/passkey/end", passkey="phone")
    assert (answer.status_code, faults_of(answer.text)) == (
        422, ['What the passkey is called, like office laptop: none of yours is called "phone"'],
    )  # fmt: skip
    assert "phone For testserver" in yard.text("/own")
    assert refused(clerk.place, 'person end-passkeys "Y. Ard"') == (
        'name: nobody is called "Y. Ard" here.'
    )


def test_what_adds_none(safe: Opened) -> None:
    """A wrong password, which is counted as at the door; no name, one that is there already; a
    device that answers something else, nothing, twice, too late, or in another session. What it is
    to be called stands again, the password does not."""
    clerk, other = safe("clerk", name="C. Lerk"), safe("yard", name="Y. Ard")
    first = _device(clerk)
    label = "What the passkey is called, like office laptop: "
    late = (
        "this passkey was asked for more than five minutes ago, was answered already, or in another "
        "browser: fill in the form again"
    )
    for called, password, fault in (
        ("Office Laptop", PASSWORD,
         f'{label}"Office Laptop" is there already: take it away first, or choose another name'),
        ("", PASSWORD, f"{label}is not filled in"),
        ("a\u200bb", PASSWORD, f"{label}has blanks or signs that nobody sees: type it plainly"),
        ("x" * 61, PASSWORD, f"{label}has more than 60 characters"),
        ("phone", "wrong one here", "Password: is not the one you sign in by"),
    ):  # fmt: skip
        answer = clerk.send("/own/passkey", passkey=called, password=password)
        assert (answer.status_code, faults_of(answer.text)) == (422, [fault])
        assert f'value="{called}"' in answer.text
        assert password not in answer.text
    other_words = "the device answered something else: fill in the form again"

    def asked(browser: Browser = clerk) -> dict[str, Any]:
        return asked_on(browser.send("/own/passkey", passkey="phone", password=PASSWORD).text)

    def sent(form: dict[str, str], fault: str) -> None:
        clerk.get("/own")  # a session that is in use is kept as such
        before = _kept(clerk.place)
        answer = clerk.send("/own/passkey/answer", **{"passkey": "phone", **form})
        assert (answer.status_code, faults_of(answer.text)) == (422, [fault])
        assert 'value="phone"' in answer.text
        assert _kept(clerk.place) == before

    for field, value in (
        ("origin", "https://elsewhere.example"), ("host", "elsewhere.example"), ("flags", PRESENT),
        ("more", {"crossOrigin": True}), ("more", {"type": "webauthn.get"}), ("id", bytes(1024)),
        ("at", {-2: bytes(32)}), ("at", {-2: "x"}), ("at", {-1: 99}), ("at", {9: bytes(2048)}),
    ):  # fmt: skip
        device = Device(ORIGIN, HOST)
        setattr(device, field, value)
        sent(device.made(asked()), other_words)
    good = Device(ORIGIN, HOST)
    for change in ({"id": b64(first.id)}, {"data": ""}, {"data": "AA"}, {"client": "e30"}):
        sent({**good.made(asked()), **change}, other_words)
    sent({}, late)
    asked()
    sent(good.made(asked(other)), other_words)
    sent(good.made(asked(other)), late)
    first.origin = ORIGIN
    sent(first.made(asked()), "this device has that passkey already")
    form = good.made(asked())
    with clock.standing_at(NOW + dt.timedelta(minutes=5, seconds=1)):
        sent(form, late)
    form = good.made(asked())
    assert clerk.client.post("/own/passkey/answer", data=form).status_code == 403
    assert clerk.send("/own/passkey/answer", passkey="phone", **form).status_code == 200
    sent({**form, "passkey": "phone"}, late)
    for _ in range(10):
        clerk.send("/own/passkey", passkey="third", password="wrong one here")
    answer = clerk.send("/own/passkey", passkey="third", password=PASSWORD)
    assert (answer.status_code, words(answer.text)) == (
        429,
        "Too many tries too many tries from here: wait a quarter of an hour, or ask the owner "
        "To your own pages",
    )


def test_asked_for_too_often(safe: Opened) -> None:
    """Thirty in vain from one address in a quarter of an hour, and no more are asked for from there;
    passwords are, and one that lets in is not counted."""
    clerk, door = safe("clerk", name="C. Lerk"), safe()
    device = _device(clerk)
    for _ in range(29):
        assert _ask(door).status_code == 200
    for _ in range(2):
        assert _come(door, device).status_code == 303
    assert _ask(door).status_code == 200
    assert _ask(door).status_code == 429
    typed_in = door.client.post("/enter", data={"name": "C. Lerk", "password": PASSWORD})
    assert typed_in.status_code == 303
    with clock.standing_at(NOW + dt.timedelta(minutes=15, seconds=1)):
        assert _ask(door).status_code == 200


def test_where_there_can_be_none(opened: Opened) -> None:
    """Reached by a number, or without TLS: the page says so in the place of the button, and a form
    that is sent all the same is refused; on this machine's own name there is one without TLS."""
    number = "a passkey needs a name in the address of these pages, not a number"
    plain = "a passkey needs TLS, which these pages are served without"
    for host, secure, why in (
        ("192.0.2.7", True, number), ("[2001:db8::7]", True, number), ("127.0.0.1", False, number),
        ("fleet.example", False, plain), ("fleet.example", True, None), ("localhost", False, None),
        ("localhost.example", False, plain),
    ):  # fmt: skip
        origin = f"{'https' if secure else 'http'}://{host}:8080"
        assert passkeys.lacking(origin) == why
    clerk = opened("clerk")
    for path in ("/enter", "/own/passkey"):
        assert plain in clerk.text(path)
        assert "Add it" not in clerk.text(path)
        assert "With a passkey" not in clerk.text(path)
    answers = [
        _ask(clerk), clerk.client.post(IN, data={"id": "x"}),
        clerk.send("/own/passkey", passkey="x", password=PASSWORD),
        clerk.send("/own/passkey/answer", passkey="x"),
    ]  # fmt: skip
    assert [(one.status_code, faults_of(one.text)) for one in answers] == [(422, [plain])] * 4


def test_a_tablet_of_the_yard(safe: Opened) -> None:
    """No passkey is added on it, for whoever unlocks it would be its owner; one of a device of
    somebody's own lets in there as their password does, and what is begun so ends with the
    tablet."""
    here = safe("owner", name="O. Owner")
    device = _device(here)
    assert here.send("/people/tablet", tablet="the shed").status_code == 303
    assert _come(here, device).status_code == 303
    assert here.get("/people").status_code == 200
    answer = here.send("/own/passkey", passkey="shed", password=PASSWORD)
    assert (answer.status_code, faults_of(answer.text)) == (
        422,
        ["this is a tablet that the yard shares, and whoever unlocks it would be you: add a passkey "
         "on a device of your own"],
    )  # fmt: skip
    tablet.end(here.place, "the shed")
    assert _out(here)


def test_a_pin_ends_no_passkey(safe: Opened) -> None:
    """Whoever picks up the tablet in the yard neither sees somebody's passkeys nor takes one away,
    which would sign them out everywhere."""
    yard, here = safe("yard", name="W. Yard"), safe("owner", name="O. Owner")
    _device(yard)
    assert "office laptop" in yard.text("/own")
    assert yard.send("/own", password=PASSWORD, pin=PIN, again=PIN).status_code == 200
    assert here.send("/people/tablet", tablet="the shed").status_code == 303
    assert here.client.post(f"/enter/{part('W. Yard')}", data={"pin": PIN}).status_code == 303
    assert "asskey" not in here.text("/own")
    answer = here.send("/own/passkey/end", passkey="office laptop")
    assert (answer.status_code, faults_of(answer.text)) == (
        422, ["passkeys are no affair of a PIN: sign in with your password"],
    )  # fmt: skip
    assert [one.called for one in passkeys.listed(yard.place, "W. Yard")] == ["office laptop"]
    assert not _out(yard)


def test_there_are_not_too_many(safe: Opened, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of one person."""
    monkeypatch.setattr(passkeys, "_MOST", 2)
    clerk = safe("clerk")
    for called in ("laptop", "phone"):
        _device(clerk, called)
    answer = clerk.send("/own/passkey", passkey="third", password=PASSWORD)
    assert (answer.status_code, faults_of(answer.text)) == (
        422, ["2 passkeys are yours already: take one away first"],
    )  # fmt: skip


def test_one_writer_at_a_time(place: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nobody is given a way in while another lets them go: who writes second is told to try again,
    and whoever reads meanwhile reads what was."""
    keep.init(place, "Test")
    gate.person_add(place, "O. Owner", ["owner"])
    monkeypatch.setattr(people, "WAIT_SECONDS", 1)
    with beside(place, writes=True) as connection:
        doors.drop_person(connection, "O. Owner")
        assert [one.name for one in gate.people(place)] == ["O. Owner"]
        with pytest.raises(DatabaseFault, match="is locked by another program"):
            gate.person_link(place, "O. Owner")
    with pytest.raises(Refused):
        gate.person_link(place, "O. Owner")


def test_what_is_kept(safe: Opened) -> None:
    """Neither the cookie that a browser is known by nor anything that lets in; nothing in the book;
    looking changes nothing."""
    before = records(safe().place)
    clerk, door = safe("clerk"), safe()
    device = _device(clerk)
    _asked(door)
    kept = records(f"{clerk.place}.people")
    cookie = door.client.cookies["__Host-fleetcare-asked"]
    assert len(cookie) == 43
    assert cookie.encode() not in kept
    assert b64(device.id).encode() in kept
    assert records(clerk.place) == before
    before = records(f"{clerk.place}.people")
    for path in ("/enter", "/own", "/own/passkey", "/people", "/key.js"):
        clerk.get(path)
        door.get(path)
    assert records(f"{clerk.place}.people") == before


def test_people_kept_before_there_were_passkeys(safe: Opened) -> None:
    """Are read as having none, and take one as any."""
    clerk, door = safe("clerk", name="C. Lerk"), safe()
    with sqlite3.connect(f"{clerk.place}.people") as people:
        for name in ("passkey", "asked"):
            people.execute(f"DROP TABLE {name}")
    people.close()
    assert "You have none." in clerk.text("/own")
    assert "passkey" not in safe().text("/people")
    answer = door.client.post(IN, data={"id": "x"})
    assert (answer.status_code, faults_of(answer.text)) == (401, [LATE])
    device = _device(clerk)
    assert _come(door, device).status_code == 303


def test_the_library_is_not_there(safe: Opened, monkeypatch: pytest.MonkeyPatch) -> None:
    """The page says what to install; signing in by password needs none of it."""
    clerk = safe("clerk", name="C. Lerk")
    for name in [one for one in sys.modules if one.partition(".")[0] == "webauthn"]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setitem(sys.modules, "webauthn", None)
    lacks = 'this needs the library "webauthn": install it with pip install "fleetcare[web]"'
    for answer in (_ask(clerk),
                   clerk.send("/own/passkey", passkey="x", password=PASSWORD)):  # fmt: skip
        assert (answer.status_code, faults_of(answer.text)) == (422, [lacks])
    assert safe("yard").get("/yard").status_code == 200


def test_on_each_engine(place: str) -> None:
    """Added, used, counted, ended: on SQLite and on PostgreSQL; of two answers sent together one is
    heard."""
    keep.init(place, "Test")
    device = Device(ORIGIN, HOST)
    with clock.standing_at(NOW):
        link = gate.person_add(place, "O. Owner", ["owner"])
        at = passkeys.Device(
            gate.come_by_link(place, link, PASSWORD, PASSWORD) or "", "", ORIGIN, "here"
        )
        asked = json.loads(passkeys.ask_to_add(place, "O. Owner", "laptop", PASSWORD, at))
        passkeys.add(place, "O. Owner", "laptop", passkeys.Answer(**device.made(asked)), at)
        for uses in (2**31, 2**32 - 1):
            device.uses = uses
            options, cookie = passkeys.ask(place, ORIGIN, "here")
            answer = passkeys.Answer(**device.signed(json.loads(options)))
            door = at._replace(cookie=cookie)
            came = passkeys.come_in(place, answer, door)
            found = gate.session(place, came.token)
            assert found
            assert (came.name, came.called, found.person.roles) == (
                "O. Owner",
                "laptop",
                ("owner",),
            )
            with pytest.raises(passkeys.NotTaken) as told:
                passkeys.come_in(place, answer, door)
            assert f"{told.value}" == LATE
        (one,) = passkeys.listed(place, "O. Owner")
        assert one == ("laptop", HOST, NOW.date(), NOW.date())
        assert passkeys.counted(place) == {"O. Owner": "1 passkey"}
        with pytest.raises(Refused):
            passkeys.end(place, "O. Owner", "phone", at.cookie)
        passkeys.end_all(place, "O. Owner")
        assert passkeys.counted(place) == {}
        assert gate.session(place, came.token) is None


CHROMIUM = shutil.which("chromium")


@pytest.fixture
def page() -> Iterator[Any]:
    """A page of Chromium whose device makes passkeys by itself, and how to begin another."""
    if CHROMIUM is None:
        pytest.skip("Chromium is not installed")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as run:
        browser = run.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield browser.new_context(viewport={"width": 390, "height": 844}).new_page()
        browser.close()


def _with_device(page: Any) -> Callable[[bool], None]:
    """Give a page a device; gives what makes it show a finger, or another's."""
    spoken = page.context.new_cdp_session(page)
    spoken.send("WebAuthn.enable")
    options = {
        "protocol": "ctap2", "transport": "internal", "hasResidentKey": True,
        "hasUserVerification": True, "isUserVerified": True,
        "automaticPresenceSimulation": True,
    }  # fmt: skip
    made = spoken.send("WebAuthn.addVirtualAuthenticator", {"options": options})
    told = {"authenticatorId": made["authenticatorId"]}
    return lambda shown: spoken.send("WebAuthn.setUserVerified", {**told, "isUserVerified": shown})


def test_in_a_real_browser(sample_book: str, page: Any) -> None:
    """On a phone's screen: added on their own page, signed out, come in by it with one press, not
    by another's finger, taken away, and then it lets nobody in; no breach of the policy."""
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda fault: said.append(str(fault)))
    with at_work(sample_book, NOW, "localhost") as address:
        link = gate.person_add(sample_book, "O. Owner", ["owner"])
        gate.come_by_link(sample_book, link, PASSWORD, PASSWORD)
        finger = _with_device(page)
        page.goto(f"{address}/enter")
        page.get_by_label("Name").fill("O. Owner")
        page.get_by_label("Password").fill(PASSWORD)
        page.get_by_role("button", name="Sign in").click()
        page.goto(f"{address}/own")
        page.get_by_role("link", name="Add a passkey").click()
        page.get_by_label("What the passkey is called").fill("office laptop")
        page.get_by_label("Password").fill(PASSWORD)
        page.get_by_role("button", name="Add it").click()
        page.get_by_role("heading", name="Your passkey is added").wait_for()
        page.goto(f"{address}/own/passkey")
        page.get_by_label("What the passkey is called").fill("again")
        page.get_by_label("Password").fill(PASSWORD)
        page.get_by_role("button", name="Add it").click()
        page.get_by_text("Nothing came of it").wait_for()
        page.get_by_role("button", name="Sign out").click()
        finger(False)
        page.get_by_role("button", name="With a passkey").click()
        page.get_by_text("Nothing came of it").wait_for()
        finger(True)
        page.get_by_role("button", name="Ask again").click()
        page.get_by_role("heading", name="Due").or_(page.locator("a[href='/own']")).first.wait_for()
        page.goto(f"{address}/own")
        assert "last used Mon 23 Nov 2026" in page.inner_text("main")
        page.get_by_role("button", name="Take office laptop away").click()
        page.get_by_text("You have none.").wait_for()
        page.get_by_role("button", name="Sign out").click()
        page.get_by_role("button", name="With a passkey").click()
        page.get_by_text(UNKNOWN).wait_for()
        assert gate.people(sample_book)
    assert [one for one in said if "status of 401" not in one and "404" not in one] == []


def test_a_browser_that_knows_none(sample_book: str, page: Any) -> None:
    """The button is not shown where the browser has no passkeys; by name and password all goes on."""
    page.add_init_script("delete window.PublicKeyCredential")
    with at_work(sample_book, NOW, "localhost") as address:
        gate.person_add(sample_book, "O. Owner", ["owner"])
        page.goto(f"{address}/enter")
        page.wait_for_load_state("networkidle")
        assert page.get_by_role("button", name="Sign in").is_visible()
        assert page.get_by_role("button", name="With a passkey").count() == 0
        assert page.locator("[data-passkeys]").count() == 1
