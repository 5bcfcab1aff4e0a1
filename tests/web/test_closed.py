"""Ways round the gate, each shut: an address of another machine, a request that is none, a lock that
is held, somebody between the proxy and the pages."""

from __future__ import annotations

import asyncio
import datetime as dt
import json
import sqlite3
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from fleetcare import clock, secret
from fleetcare.desk import gate, keep
from fleetcare.errors import UsageFault
from fleetcare.store import people
from fleetcare.web import serving
from fleetcare.web.app import made
from fleetcare.web.pages import PAGES
from fleetcare.web.serving import Listening
from fleetcare.web.settings import Served
from tests.web.conftest import HOST, PASSWORD, Browser, Opened, words
from tests.web.test_gate import NAMED

NOW = dt.datetime(2026, 11, 23, 9, 30, tzinfo=dt.UTC)


def _asked(place: str, query: bytes, path: str = "/enter") -> tuple[int, dict[str, str]]:
    """Status and headers of a request as its bytes come, which no client would send."""
    sent: list[Any] = []
    scope = {
        "type": "http", "method": "GET", "path": path, "raw_path": path.encode(),
        "query_string": query, "headers": [(b"host", HOST.encode())], "scheme": "http",
        "server": (HOST, 80), "client": ("127.0.0.1", 1), "http_version": "1.1",
    }  # fmt: skip

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: Any) -> None:
        sent.append(message)

    asyncio.run(made(Served(place, (HOST,)))(scope, receive, send))
    headers = {name.decode(): value.decode() for name, value in sent[0]["headers"]}
    return sent[0]["status"], headers


def test_bytes_that_are_no_letters(empty_place: str) -> None:
    """In an address they are refused, with all that any answer carries, and nothing breaks."""
    keep.init(empty_place, "Test")
    status, headers = _asked(empty_place, b"by=\xff\xfe")

    assert status == 400
    assert "content-security-policy" in headers
    assert headers["content-type"] == "text/html; charset=utf-8"


def test_a_sign_that_no_database_keeps(opened: Opened) -> None:
    """NUL is refused in an address and in a form alike, and nothing is written."""
    lead = opened("workshop")
    kind = {"content-type": "application/x-www-form-urlencoded"}
    form = f"token={lead.token}&grade=minor&words=a%00b"

    assert lead.get("/monday?by=%00").status_code == 400
    assert lead.client.post("/van/V01/defect", content=form, headers=kind).status_code == 400
    assert lead.get("/van/%00").status_code == 404


@pytest.mark.parametrize("path", ["/vans/", "/enter/", "//vans", "//elsewhere.example/vans"])
def test_nobody_is_sent_to_another_site(path: str, opened: Opened) -> None:
    """An address that is nearly ours is none of ours; it is not sent on to the name asked for."""
    client = opened("owner").client
    for host in (HOST, "elsewhere.example"):
        answer = client.get(f"http://{HOST}{path}", headers={"host": host})
        assert (answer.status_code, answer.headers.get("location")) == (404, None)
        assert "content-security-policy" in answer.headers


def test_every_way_on_is_our_own(opened: Opened) -> None:
    """No page leads on by what was typed: each that does leads to a path of this site."""
    browser, nobody = opened(*gate.ROLES), opened()
    for page in [one for one in PAGES if one.shows]:
        for who in (browser, nobody):
            asked = "?next=//elsewhere.example&url=https://elsewhere.example"
            answer = who.get(page.path.format(**NAMED) + asked)
            on = answer.headers.get("location", "/")
            assert on.startswith("/"), page
            assert not on.startswith("//"), page
            assert "elsewhere" not in on, page


def test_what_is_done_at_an_address_is_told(opened: Opened) -> None:
    """Another method is refused, TRACE too, and the answer says which there are."""
    browser = opened("owner")
    for method in ("TRACE", "PUT", "DELETE", "PATCH", "OPTIONS", "CONNECT"):
        answer = browser.client.request(method, "/monday")
        assert answer.status_code == 405, method
        assert set(answer.headers["allow"].split(", ")) == {"GET", "HEAD"}
        assert "content-security-policy" in answer.headers
    assert browser.client.request("POST", "/monday").status_code == 405


@pytest.mark.parametrize(
    ("host", "let_in"),
    [("fleet.example:9000", True), ("localhost:8080", True), ("fleet.example:9001", False),
     ("fleet.example", False), ("localhost", False)],
)  # fmt: skip
def test_the_port_is_ours_too(host: str, let_in: bool, empty_place: str) -> None:
    """Another server on this machine is another name, whatever it calls itself."""
    keep.init(empty_place, "Test")
    what = serving.served(empty_place, Listening(names=("fleet.example:9000",)))
    answer = TestClient(made(what)).get("/enter", headers={"host": host})
    assert answer.status_code == (200 if let_in else 421)


@pytest.mark.parametrize("host", ["fleet.example", "fleet.example:443", "FLEET.example"])
def test_the_usual_port_is_left_out(host: str) -> None:
    """Behind a proxy with TLS a browser says the name alone."""
    what = serving.served("fleet.db", Listening(behind_proxy="fleet.example"))
    name, _, port = host.casefold().partition(":")
    assert what.answers(name, port or None)
    assert not what.answers(name, "8443")


def test_a_proxy_is_believed_by_its_address(monkeypatch: pytest.MonkeyPatch) -> None:
    """Who asks is what the proxy says, where the proxy is the one that was named."""
    import uvicorn

    told: dict[str, Any] = {}
    monkeypatch.setattr(uvicorn, "run", lambda *_, **more: told.update(more))
    monkeypatch.setenv("FLEETCARE_SERVED", "")
    for said, believed in (
        (Listening(), (False, "127.0.0.1")),
        (Listening(behind_proxy="f.example"), (True, "127.0.0.1")),
        (Listening(behind_proxy="f.example", proxy_address="10.0.0.9"), (True, "10.0.0.9")),
    ):
        serving.run(serving.served("fleet.db", said), said)
        assert (told["proxy_headers"], told["forwarded_allow_ips"]) == believed
    for wrong in ("*", "10.0.0.0/8", "fleet.example", ""):
        with pytest.raises(UsageFault) as fault:
            serving.served("fleet.db", Listening(behind_proxy="f.example", proxy_address=wrong))
        assert str(fault.value) == f'--proxy-address: "{wrong}" is not one address, like 10.0.0.9'
    with pytest.raises(UsageFault) as fault:
        serving.served("fleet.db", Listening(proxy_address="10.0.0.9"))
    assert str(fault.value) == "--proxy-address goes with --behind-proxy"
    with pytest.raises(UsageFault) as fault:
        serving.served("fleet.db", Listening(names=("https://fleet.example",)))
    assert str(fault.value) == (
        '"https://fleet.example" is no name to be reached by: give it like fleet.example'
    )


def test_a_lock_on_the_people_is_told_of_soon(
    opened: Opened, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Pages wait two seconds for it and no longer; whether it runs, the style and the door need
    nobody's list and answer as ever."""
    clerk = opened("clerk")
    assert people.WAIT_SECONDS == 2
    monkeypatch.setattr(people, "WAIT_SECONDS", 0)
    file = Path(f"{clerk.place}.people")
    with sqlite3.connect(file, isolation_level=None) as holder:
        holder.execute("PRAGMA locking_mode = EXCLUSIVE")
        holder.execute("BEGIN EXCLUSIVE")
        holder.execute("UPDATE person SET roles = roles")
        sent = clerk.client.post("/enter", data={"name": "X", "password": PASSWORD})
        assert sent.status_code == 503
        assert [clerk.get(path).status_code for path in ("/health", "/style.css", "/enter")] == (
            [200] * 3
        )
        holder.execute("ROLLBACK")
    holder.close()
    said = [json.loads(line) for line in capsys.readouterr().err.splitlines()]
    assert said[-1]["what"] == (
        f'"{file}" is locked by another program. Nothing was written or answered; tried for 0 '
        "seconds. Try again when it is done."
    )


def test_somebody_unknown_costs_as_much(empty_place: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A name nobody has, one without a password yet, and a wrong password are each held to one
    hash and answered in the same words."""
    keep.init(empty_place, "Test")
    hasher, done = secret._hasher(), []

    class Counted:
        def verify(self, kept: str, password: str) -> bool:
            done.append(password)
            return bool(hasher.verify(kept, password))

        def __getattr__(self, name: str) -> Any:
            return getattr(hasher, name)

    monkeypatch.setattr(secret, "_hasher", lambda: Counted())
    with clock.standing_at(NOW):
        known = Browser(empty_place, "clerk", name="A. Clerk")
        gate.person_add(empty_place, "N. Ew", ["clerk"])
        said = []
        for name in ("A. Clerk", "N. Ew", "Nobody"):
            done.clear()
            sent = known.client.post("/enter", data={"name": name, "password": "x" * 300})
            said.append((sent.status_code, len(done), words(sent.text)))
    assert said == [said[0]] * 3
    assert said[0][:2] == (401, 1)


def test_a_cookie_is_no_good_after_signing_out(opened: Opened) -> None:
    """Kept by somebody and sent again: a page leads to the door, a form is turned away; the new one
    is another, and what somebody brought along is never made theirs."""
    clerk = opened("clerk")
    old, token = clerk.client.cookies["fleetcare"], clerk.token
    clerk.send("/leave")
    clerk.client.cookies.set("fleetcare", old)
    page = clerk.get("/counter")
    assert (page.status_code, page.headers["location"]) == (303, "/enter")
    sent = clerk.client.post("/counter", data={"token": token})
    assert sent.status_code == 401
    sent = clerk.client.post("/enter", data={"name": "Clerk Person", "password": PASSWORD})
    assert sent.status_code == 303
    assert old not in sent.headers["set-cookie"]
    assert len(sent.headers["set-cookie"].partition("=")[2].partition(";")[0]) == 43


def test_a_password_is_whole_and_may_be_pasted(opened: Opened, empty_place: str) -> None:
    """Two that differ in their last sign are two, of any length that is taken, with any signs; the
    field is an ordinary one of its kind, with the name that a keeper of passwords looks for."""
    keep.init(empty_place, "Test")
    long = "lantern in the fog " * 13 + "ünïcødé"
    assert len(long) == 254
    with clock.standing_at(NOW):
        browser = Browser(empty_place)
        link = f"/link/{gate.person_add(empty_place, 'A. Clerk', ['clerk'])}"
        page = browser.get(link).text
        assert page.count('type="password"') == page.count('autocomplete="new-password"') == 2
        assert "maxlength" not in page
        browser.client.post(link, data={"password": long, "again": long})
        page = browser.client.get("/enter").text
        assert 'autocomplete="current-password"' in page
        assert "maxlength" not in page
        for typed, status in ((long[:-1], 401), (long + "x", 401), (f" {long}", 401), (long, 303)):
            form = {"name": "A. Clerk", "password": typed}
            assert browser.client.post("/enter", data=form).status_code == status


def test_another_password_ends_the_old(empty_place: str) -> None:
    """None is changed on a page: the owner's link does it, and from then on the old one and all
    that was signed in by it are nobody's."""
    keep.init(empty_place, "Test")
    with clock.standing_at(NOW):
        clerk = Browser(empty_place, "clerk", name="A. Clerk")
        link = f"/link/{gate.person_link(empty_place, 'A. Clerk')}"
        assert clerk.get("/vans").headers["location"] == "/enter"
        new = "three other words here"
        for typed, again, status in (
            (new, PASSWORD, 422),
            ("short", "short", 422),
            (new, new, 303),
        ):
            sent = Browser(empty_place).client.post(link, data={"password": typed, "again": again})
            assert sent.status_code == status
        for typed, status in ((PASSWORD, 401), (new, 303)):
            form = {"name": "A. Clerk", "password": typed}
            assert clerk.client.post("/enter", data=form).status_code == status


@pytest.mark.parametrize("name", ['x\r\n{"event": "signed in"}', "x\u2028y", "\x1b[2J"])
def test_no_name_forges_a_line_of_the_log(
    name: str, opened: Opened, capsys: pytest.CaptureFixture[str]
) -> None:
    """Whatever is typed for a name: the log has one line an event, and a person has no such name."""
    owner: Browser = opened("owner")
    owner.client.post("/enter", data={"name": name, "password": "secret words here"})
    sent = owner.send("/people", name=name, clerk="yes")
    assert sent.status_code == 422
    said = capsys.readouterr().err
    assert [json.loads(line)["event"] for line in said.split("\n")[:-1]] == (
        ["came by link", "sign-in failed"]
    )
    assert "\r" not in said
    assert "\x1b" not in said
    assert "\u2028" not in said


def test_an_answer_that_breaks_below_the_pages(
    opened: Opened, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A fault of ours outside any page is told as one within: by a reference, and no more."""
    from fleetcare.web import app

    browser = opened("owner")
    monkeypatch.setattr(app, "_hold_to_host", _broken)
    browser.client = _unraised(browser)
    answer = browser.client.get("/vans")
    assert answer.status_code == 500
    assert "content-security-policy" in answer.headers
    reference = answer.text.partition("Reference ")[2].partition(".")[0]
    assert f'"reference": "{reference}"' in capsys.readouterr().err
    assert "inside" not in answer.text


def _broken(*_: object) -> None:
    raise RuntimeError("secret inside")


def _unraised(browser: Browser) -> Any:
    return TestClient(browser.client.app, raise_server_exceptions=False, base_url=f"http://{HOST}")
