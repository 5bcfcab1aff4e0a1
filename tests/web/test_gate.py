"""Who is let through: every role at every address, every form without its token, from another site,
with fields of its own; and that looking changes nothing."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from fleetcare.desk import gate
from fleetcare.web.may import ANYBODY, MAY, may
from fleetcare.web.pages import PAGES, Page
from tests.web.conftest import HOST, OUR_SCRIPT, Browser, Opened, records, words

NAMED = {
    "van": "V01",
    "ref": "H141",
    "what": "prepared",
    "link": "x",
    "paper": "calendar.ics",
    "rule": "mot",
    "number": "57",
    "token": "x",
    "kind": "vans",
    "who": "Yard Person",
}
ROLES: tuple[tuple[str, ...], ...] = ((), *((role,) for role in gate.ROLES))
FORMS = [page for page in PAGES if page.does]


def _at(page: Page) -> str:
    return page.path.format(**NAMED)


@pytest.fixture(params=ROLES, ids=lambda roles: "".join(roles) or "nobody")
def somebody(request: pytest.FixtureRequest, opened: Opened) -> tuple[Browser, tuple[str, ...]]:
    """A browser of somebody of one role, or of nobody."""
    return opened(*request.param), request.param


def test_every_role_at_every_address(somebody: tuple[Browser, tuple[str, ...]]) -> None:
    """A page is shown to those who may see it, and a form is taken from those who may send it;
    nobody else gets further than the door, and nothing that anybody looks at is written."""
    browser, roles = somebody
    token = browser.token if roles else ""
    before = records(browser.place)
    for page in PAGES:
        allowed = may(roles or None, page.may)
        seen = browser.get(_at(page)).status_code if page.shows else None
        if page.shows:
            assert seen not in (401, 403) if allowed else seen == (403 if roles else 303), page
        if page.does and page.path not in ("/leave", "/enter"):
            sent = browser.client.post(_at(page), data={"token": token}).status_code
            allowed = may(roles or None, page.may_do)
            wanted = 403 if roles else 401
            assert sent in (303, 404, 409, 422) if allowed else sent == wanted, (page, sent)
    assert records(browser.place) == before


def test_every_act_is_somebodys_and_every_page_has_one() -> None:
    """No page is left out of the table, and no line of the table stands for nothing."""
    acts = {page.may for page in PAGES} | {page.may_do for page in FORMS}

    assert acts - set(MAY) == {ANYBODY, "signed in"}
    assert set(MAY) <= acts
    assert all(set(roles) <= set(gate.ROLES) and "owner" in roles for roles in MAY.values())


@pytest.mark.parametrize("page", [page for page in FORMS if page.may_do != ANYBODY], ids=_at)
def test_a_form_that_was_not_shown_to_you_is_not_taken(page: Page, opened: Opened) -> None:
    """Without its token, with a wrong one or another session's: refused, and nothing is written."""
    browser, other = opened(*gate.ROLES), opened(*gate.ROLES, name="Somebody Else")
    before, theirs = records(browser.place), other.token

    for token in ({"shown": ""}, {"token": ""}, {"token": "x"}, {"token": theirs}):
        assert browser.client.post(_at(page), data=token).status_code == 403
    assert records(browser.place) == before


@pytest.mark.parametrize("page", FORMS, ids=_at)
def test_another_site_sends_no_form(page: Page, opened: Opened) -> None:
    """By what browsers say of where a form comes from; and by a name that is not ours."""
    browser = opened(*gate.ROLES)
    token = {"token": browser.token}
    asked: list[tuple[dict[str, str], int]] = [
        ({"sec-fetch-site": "cross-site"}, 403),
        ({"sec-fetch-site": "same-site"}, 403),
        ({"origin": "https://elsewhere.example"}, 403),
        ({"origin": "null"}, 403),
        ({"host": "elsewhere.example"}, 421),
    ]

    for headers, status in asked:
        sent = browser.client.post(_at(page), data=token, headers=headers)
        assert sent.status_code == status, headers


@pytest.mark.parametrize("page", FORMS, ids=_at)
def test_a_form_holds_its_own_fields_once(page: Page, opened: Opened) -> None:
    """A field that no page of ours has, one that is there twice, another kind of body, too much."""
    browser = opened(*gate.ROLES)
    token = browser.token
    client: Any = browser.client
    kind = {"content-type": "application/x-www-form-urlencoded"}

    assert client.post(_at(page), data={"token": token, "recorded_by": "x"}).status_code == 400
    twice = f"token={token}&token={token}"
    assert client.post(_at(page), content=twice, headers=kind).status_code == 400
    assert client.post(_at(page), json={"token": token}).status_code == 415
    assert client.post(_at(page), content=b"a" * 70_000, headers=kind).status_code == 413
    assert client.post(_at(page), content=b"a=%ff" + b"&a" * 300, headers=kind).status_code == 400


def test_what_every_answer_carries(opened: Opened) -> None:
    """No script, no frame, no copy kept, whatever is answered; over TLS nothing but TLS."""
    browser, safe = opened("owner"), opened("owner", name="Safe Owner", secure=True)
    for path in ("/vans", "/nothing", "/enter", "/style.css", "/health", "/van/XX"):
        headers = browser.get(path).headers
        assert headers["content-security-policy"] == (
            "default-src 'self'; object-src 'none'; base-uri 'none'; form-action 'self'; "
            "frame-ancestors 'none'"
        )
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "same-origin"
        assert headers["cache-control"] == "no-store"
        assert "strict-transport-security" not in headers
        assert "access-control-allow-origin" not in headers
    assert safe.get("/enter").headers["strict-transport-security"] == "max-age=31536000"
    for method in ("TRACE", "PUT", "DELETE"):
        assert browser.client.request(method, "/vans").status_code == 405


def test_the_cookie(opened: Opened, sample_book: str) -> None:
    """It is for the server alone, and over TLS bound to it."""
    plain = Browser(sample_book)
    link = gate.person_add(sample_book, "A. Clerk", ["clerk"])
    typed = {"password": "purple gate lantern", "again": "purple gate lantern"}
    cookie = plain.client.post(f"/link/{link}", data=typed).headers["set-cookie"]

    assert "; HttpOnly; " in cookie
    assert cookie.endswith("SameSite=lax")
    assert "Secure" not in cookie
    link = gate.person_add(sample_book, "B. Clerk", ["clerk"])
    safe = Browser(sample_book, secure=True)
    cookie = safe.client.post(f"/link/{link}", data=typed).headers["set-cookie"]
    assert cookie.startswith("__Host-fleetcare=")
    assert "; Secure" in cookie
    assert "Path=/;" in cookie
    assert "Domain" not in cookie


def test_what_is_typed_is_text(opened: Opened, sample_day: dt.date) -> None:
    """A script in a name, a word or an address is shown as it is written."""
    evil = '<script>alert(1)</script>"onmouseover="x'
    browser = opened("owner", "workshop", name=evil)

    pages = [
        browser.get("/people").text,
        browser.send("/van/V01/defect", grade="minor", words=evil).text,
        browser.get("/van/V01").text,
        browser.get("/counter?from_on=" + evil.replace('"', "%22")).text,
        browser.send("/people", name=evil).text,
    ]
    for page in pages:
        assert "<script" not in page.replace(OUR_SCRIPT, "")
        assert 'onmouseover="x' not in page.replace("&#34;", "")
        assert "&lt;script&gt;" in page


def test_the_log_is_a_line_an_event(
    opened: Opened, sample_book: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Who came in and who did not, in JSON; no password, no token, and no line can be forged."""
    import json

    browser, nobody = opened("clerk"), opened()
    forged = 'x\n{"event": "signed in"}'
    nobody.client.post("/enter", data={"name": forged, "password": "secret words here"})
    browser.get("/people")
    lines = [json.loads(line) for line in capsys.readouterr().err.splitlines()]

    assert [line["event"] for line in lines] == ["came by link", "sign-in failed", "not let in"]
    assert lines[1]["who"] == "nobody known"
    assert forged not in json.dumps(lines)
    assert lines[2] == {
        "at": "2026-11-23T09:30:00.000+00:00", "event": "not let in", "path": "/people",
        "method": "GET", "who": "Clerk Person",
    }  # fmt: skip
    assert "secret words" not in json.dumps(lines)


def test_a_book_that_cannot_be_read_answers_nothing(
    opened: Opened, capsys: pytest.CaptureFixture[str]
) -> None:
    """Unknown: do not hire; never a yes, and the health says so too."""
    import os

    browser = opened("clerk", "owner")
    os.rename(browser.place, browser.place + ".away")
    assert browser.get("/health").status_code == 503
    assert browser.get("/health").text == ""
    for path in ("/counter?from_on=2027-05-01&through_on=2027-05-08", "/vans"):
        answer = browser.get(path)
        assert answer.status_code == 503
        assert words(answer.text).startswith("Unknown: do not hire The book gives no answer.")
    assert HOST not in capsys.readouterr().err


def test_a_bug_of_ours_gives_a_reference(
    opened: Opened, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The page says no more than that; the log has the rest."""
    from fleetcare.desk import fleet

    browser = opened("clerk")

    def broken(*_: object) -> None:
        raise RuntimeError("secret inside")

    monkeypatch.setattr(fleet, "fleet", broken)
    answer = browser.get("/vans")
    reference = answer.text.partition("Reference ")[2].partition(".")[0]
    assert answer.status_code == 500
    assert words(answer.text) == (
        f"Something of ours broke Reference {reference}. Nothing was written. Do not hire on this "
        "page. To your own pages"
    )
    assert f'"reference": "{reference}"' in capsys.readouterr().err
