"""A tablet that the yard shares: paired by an owner, taken up by a PIN, for the yard's pages alone."""

from __future__ import annotations

import datetime as dt
import json
import re
import sqlite3
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from fleetcare import clock, secret
from fleetcare.desk import gate, keep, tablet
from fleetcare.errors import Refused
from fleetcare.store import tablets
from fleetcare.store.people import beside
from fleetcare.web.address import part
from fleetcare.web.may import ANYBODY, may
from fleetcare.web.pages import PAGES
from tests.typed import refused, typed
from tests.web.conftest import OUR_SCRIPT, PASSWORD, Browser, Opened, faults_of, records, words
from tests.web.test_gate import NAMED
from tests.web.test_text import MARKED, strange

NOW = dt.datetime(2026, 11, 23, 9, 30, tzinfo=dt.UTC)
PIN, OTHER = "274951", "860374"
COOKIE = "fleetcare-tablet"
GONE = "this device is none of the yard's, or nobody of that name has a PIN"


def _paired(opened: Opened, called: str = "the shed") -> Browser:
    """A tablet of the yard, whose owner is signed out on it."""
    found = opened("owner", name=f"Owner of {called}")
    assert found.send("/people/tablet", tablet=called).headers["location"] == "/enter"
    return found


def _with_pin(opened: Opened, name: str = "W. Yard", *roles: str, pin: str = PIN) -> Browser:
    """Somebody of the yard, on their own phone, who has set a PIN there."""
    found = opened(*(roles or ("yard",)), name=name)
    assert _set(found, pin).status_code == 200
    return found


def _set(browser: Browser, pin: str, password: str = PASSWORD) -> object:
    return browser.send("/own", password=password, pin=pin, again=pin)


def _typed(browser: Browser, pin: str, name: str = "W. Yard") -> object:
    """What the tablet answers to a PIN."""
    return browser.client.post(f"/enter/{part(name)}", data={"pin": pin})


def _came(browser: Browser, pin: str, name: str = "W. Yard") -> bool:
    answer = _typed(browser, pin, name)
    assert answer.status_code in (303, 401)
    return bool(answer.status_code == 303)


def _out(browser: Browser) -> bool:
    """Whether nobody is signed in."""
    return bool(browser.get("/yard").headers.get("location") == "/enter")


def test_a_day_at_the_tablet(opened: Opened) -> None:
    """The owner pairs it, somebody of the yard sets a PIN on their own phone, presses their name on
    the tablet, types the PIN, works, and signs out for the next one."""
    owner = opened("owner", name="O. Owner")
    yard = _with_pin(opened)
    here = _with_pin(opened, "X. Yard", pin=OTHER) and owner
    assert 'href="/own"' in yard.get("/yard").text
    assert "You have one. Another ends it" in yard.text("/own")
    assert "Tablets of the yard None. Pair the device" in owner.text("/people")
    sent = owner.send("/people/tablet", tablet="the shed")
    assert (sent.status_code, sent.headers["location"]) == (303, "/enter")
    assert _out(here)
    page = here.get("/enter").text
    assert words(page).startswith("Sign in the shed: who is it? W. Yard X. Yard With a password")
    (first, _) = re.findall(r'<a class="big" href="(/enter/[^"]+)">', page)
    assert words(here.get(first).text).startswith("W. Yard PIN, 6 digits or more Come in")
    assert 'inputmode="numeric"' in here.get(first).text
    sent = here.client.post(first, data={"pin": PIN})
    assert (sent.status_code, sent.headers["location"]) == (303, "/")
    assert here.get("/").headers["location"] == "/yard"
    assert "W. Yard</a>" in here.get("/yard").text
    sent = here.send("/walk/prepared/V01/H141", line="lights", quick="ok")
    assert sent.status_code == 303
    assert "(W. Yard)" in here.get("/walk/prepared/V01/H141?line=lights").text
    assert here.send("/leave").headers["location"] == "/enter"
    assert _out(here)
    assert "W. Yard X. Yard" in here.text("/enter")
    sent = here.client.post("/enter/" + part("X. Yard"), data={"pin": OTHER})
    assert "X. Yard</a>" in here.get("/yard").text
    assert not _out(yard)


def test_a_turn_is_of_the_yard_alone(opened: Opened) -> None:
    """At every address somebody of every role, come in by a PIN, gets no further than the yard."""
    _with_pin(opened, "E. Verybody", *gate.ROLES)
    here = _paired(opened)
    assert _came(here, PIN, "E. Verybody")
    token, seen = here.token, 0
    for page in [one for one in PAGES if ANYBODY not in (one.may, one.may_do)]:
        path = page.path.format(**NAMED)
        if page.shows:
            allowed = may(("yard",), page.may)
            assert (here.get(path).status_code == 403) is not allowed, page
            seen += not allowed
        if page.does and page.path != "/leave":
            sent = here.client.post(path, data={"token": token}).status_code
            assert (sent == 403) is not may(("yard",), page.may_do), page
            seen += not may(("yard",), page.may_do)
    assert seen > 20
    assert not _out(here)


def test_a_pin_is_worth_nothing_elsewhere(opened: Opened) -> None:
    """Without the tablet's cookie, or with one of somebody's making, there is no such page, whoever
    is asked for; and no page tells who has a PIN."""
    yard, here = _with_pin(opened), _paired(opened)
    cookie = here.client.cookies[COOKIE]
    nobody = opened()
    for forged in ("", "x", cookie[:-1], cookie[::-1], secret.digest(cookie)):
        nobody.client.cookies.set(COOKIE, forged)
        said = set()
        for name in ("W. Yard", "First Owner", "N. Obody"):
            path = f"/enter/{part(name)}"
            asked, sent = nobody.get(path), _typed(nobody, PIN, name)
            assert (asked.status_code, sent.status_code) == (404, 404)
            assert "set-cookie" not in sent.headers
            said |= {words(asked.text), words(sent.text)}
        assert said == {f"That is not here What is wrong That cannot be answered {GONE}"} or all(
            GONE in one and "Yard" not in one for one in said
        )
        assert "W. Yard" not in nobody.get("/enter").text
        assert _out(nobody)
    with beside(yard.place) as connection:
        assert tablets.pins(connection)["W. Yard"].wrong == 0
    nobody.client.cookies.set(COOKIE, cookie)
    assert _came(nobody, PIN)


def test_a_name_without_a_pin_is_not_on_the_tablet(opened: Opened) -> None:
    """Nor one that is of the yard no more: what is typed there is answered as anywhere else."""
    opened("yard", name="N. Opin")
    yard, here = _with_pin(opened), _paired(opened)
    gate.person_roles(yard.place, "W. Yard", ["clerk"])
    for name in ("N. Opin", "W. Yard", "N. Obody"):
        assert _typed(here, PIN, name).status_code == 404
    assert "Nobody of the yard has a PIN yet." in here.text("/enter")
    gate.person_roles(yard.place, "W. Yard", ["clerk", "yard"])
    assert _came(here, PIN)


def test_the_fifth_wrong_pin_is_the_last(opened: Opened) -> None:
    """Four are forgiven by a right one; five in a row end it on every tablet, and it is set anew
    with the password."""
    yard = _with_pin(opened)
    here, there = _paired(opened), _paired(opened, "the gate")
    assert [_came(here, OTHER) for _ in range(4)] == [False] * 4
    assert _came(here, PIN)
    for tablet_of_two in (here, there, here, there):
        answer = _typed(tablet_of_two, OTHER)
        assert answer.status_code == 401
        assert faults_of(answer.text) == ["That is not W. Yard's PIN."]
        assert OTHER not in answer.text
    assert "This PIN holds no more" not in answer.text
    assert "After 5 wrong ones in a row the PIN holds no more, on any tablet." in words(answer.text)
    dead = (
        "This PIN holds no more It was typed wrongly 5 times in a row. Sign in with your password, "
        "and set it anew on Your own."
    )
    assert dead in words(_typed(here, OTHER).text)
    for one in (here, there):
        assert not _came(one, PIN)
        assert dead in one.text(f"/enter/{part('W. Yard')}")
        assert "W. Yard" in one.text("/enter")
    assert "It was typed wrongly 5 times in a row and holds no more" in yard.text("/own")
    assert "W. Yard yard; PIN dead, to be set anew" in opened("owner").text("/people")
    assert _set(yard, OTHER).status_code == 200
    assert not _came(there, PIN)
    assert _came(there, OTHER)


@pytest.fixture
def shed(place: str) -> str:
    """A book on each engine, with two tablets, and W. Yard who has a PIN."""
    keep.init(place, "Test")
    with clock.standing_at(NOW):
        for name, role in (("O. Owner", "owner"), ("W. Yard", "yard")):
            link = gate.person_add(place, name, [role])
            assert gate.come_by_link(place, link, PASSWORD, PASSWORD)
        tablet.set_pin(place, "W. Yard", tablet.Chosen(PASSWORD, PIN, PIN), "here")
    return place


def _pair(place: str, name: str = "the shed") -> str:
    return tablet.pair(place, "O. Owner", name, "", "")


def test_many_tries_at_once_are_five(shed: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Twenty sent together, on two tablets: five are looked at, on each engine."""
    looked: list[str] = []
    monkeypatch.setattr(secret, "verified", lambda kept, pin: bool(looked.append(pin)))
    with clock.standing_at(NOW):
        on = [_pair(shed), _pair(shed, "the gate")]
        with ThreadPoolExecutor(8) as pool:
            tried = [
                pool.submit(tablet.begin, shed, on[n % 2], "W. Yard", OTHER) for n in range(20)
            ]
            assert {one.result() for one in tried} == {None}
    assert looked == [OTHER] * 5


def test_two_processes_count_together(shed: str) -> None:
    """Three wrong ones typed in another process and two here make five."""
    with clock.standing_at(NOW):
        on = _pair(shed)
    code = (
        "import sys; from fleetcare import clock; from fleetcare.desk import tablet\n"
        "import datetime as dt\n"
        f"with clock.standing_at(dt.datetime.fromisoformat('{NOW.isoformat()}')):\n"
        "    for _ in range(3): assert tablet.begin(*sys.argv[1:]) is None"
    )
    subprocess.run([sys.executable, "-c", code, shed, on, "W. Yard", OTHER], check=True)
    with clock.standing_at(NOW):
        assert tablet.begin(shed, on, "W. Yard", OTHER) is None
        assert tablet.holds(shed, on, "W. Yard")
        assert tablet.begin(shed, on, "W. Yard", OTHER) is None
        assert not tablet.holds(shed, on, "W. Yard")
        assert tablet.begin(shed, on, "W. Yard", PIN) is None


def test_when_a_turn_ends(shed: str) -> None:
    """Half an hour idle, and not before while it is used; signed out; with other roles, another
    link, another PIN, none, and with the person."""
    with clock.standing_at(NOW):
        on = _pair(shed)
        turn = tablet.begin(shed, on, "W. Yard", PIN) or ""
        assert gate.session(shed, turn)
    for minutes in (29, 58, 87):
        with clock.standing_at(NOW + dt.timedelta(minutes=minutes)):
            found = gate.session(shed, turn)
            assert found
            assert found.person.roles == ("yard",)
    with clock.standing_at(NOW + dt.timedelta(minutes=87)):
        assert [(one.name, one.by, one.used_at) for one in tablet.listed(shed)] == (
            [("the shed", "O. Owner", "10:57")]
        )
    with clock.standing_at(NOW + dt.timedelta(minutes=117, seconds=1)):
        assert gate.session(shed, turn) is None
        for ends in (
            lambda made: gate.sign_out(shed, made),
            lambda _: gate.person_roles(shed, "W. Yard", ["yard", "clerk"]),
            lambda _: tablet.set_pin(shed, "W. Yard", tablet.Chosen(PASSWORD, PIN, PIN), "here"),
            lambda _: tablet.end_pin(shed, "W. Yard"),
        ):
            turn = tablet.begin(shed, on, "W. Yard", PIN) or ""
            assert gate.session(shed, turn)
            ends(turn)
            assert gate.session(shed, turn) is None
        for gone in (gate.person_link, gate.person_remove):
            if gone is gate.person_remove:
                gate.come_by_link(shed, gate.person_link(shed, "W. Yard"), PASSWORD, PASSWORD)
            tablet.set_pin(shed, "W. Yard", tablet.Chosen(PASSWORD, PIN, PIN), "here")
            turn = tablet.begin(shed, on, "W. Yard", PIN) or ""
            assert gate.session(shed, turn)
            gone(shed, "W. Yard")
            assert gate.session(shed, turn) is None
            assert tablet.hands(shed) == []
        with beside(shed) as connection:
            assert tablets.pins(connection) == {}


def test_a_tablet_lives_half_a_year(shed: str) -> None:
    """A hundred and eighty days from the pairing, however much it is used; then it is paired anew."""
    with clock.standing_at(NOW):
        on = _pair(shed)
    with clock.standing_at(NOW + dt.timedelta(days=180)):
        turn = tablet.begin(shed, on, "W. Yard", PIN) or ""
        assert gate.session(shed, turn)
    with clock.standing_at(NOW + dt.timedelta(days=180, minutes=1)):
        assert gate.session(shed, turn) is None
        assert tablet.called(shed, on) is None
        assert tablet.listed(shed) == []
        assert tablet.called(shed, _pair(shed)) == "the shed"


def test_no_longer(opened: Opened) -> None:
    """A tablet that is ended is nobody's, and all that was begun on it ends: by a PIN, a password
    and a link; what was begun elsewhere stays."""
    yard, there = _with_pin(opened), _paired(opened, "the gate")
    begun = []
    for way in ("pin", "password", "link"):
        here = opened()
        here.client.cookies = there.client.cookies.__class__(there.client.cookies)
        if way == "pin":
            assert _came(here, PIN)
        elif way == "password":
            here.client.post("/enter", data={"name": "Owner of the gate", "password": PASSWORD})
        else:
            link = gate.person_add(here.place, "N. Ew", ["clerk"])
            here.client.post(f"/link/{link}", data={"password": PASSWORD, "again": PASSWORD})
        begun.append(here)
    assert [_out(one) for one in begun] == [False] * 3
    owner = opened("owner", name="O. Owner")
    shown = owner.text("/people")
    assert (
        "the gate Paired by Owner of the gate, Mon 23 Nov 2026; last used Mon 23 Nov 2026" in shown
    )
    answer = owner.send("/people/tablet/end", tablet="the shade")
    assert answer.status_code == 422
    assert faults_of(answer.text) == ['What the tablet is called: no tablet is called "the shade"']
    assert owner.send("/people/tablet/end", tablet="the gate").headers["location"] == "/people"
    assert [_out(one) for one in begun] == [True] * 3
    assert "who is it?" not in there.text("/enter")
    assert _typed(there, PIN).status_code == 404
    assert not _out(yard)
    assert "Tablets of the yard None." in owner.text("/people")


def test_what_pairs_no_tablet(opened: Opened) -> None:
    """A name that says nothing or is another's, and a device that is paired already; nobody but an
    owner pairs one, which the table of roles holds."""
    here = _paired(opened)
    form = {"name": "Owner of the shed", "password": PASSWORD}
    assert here.client.post("/enter", data=form).status_code == 303
    assert "This one is the shed." in here.text("/people")
    label = "What the tablet is called: "
    for browser, called, fault in (
        (here, "the gate", 'this one is paired already, as "the shed": end that first'),
        (opened("owner", name="B"), "The Shed",
         '"The Shed" is paired already: end it first, or choose another name'),
        (opened("owner", name="C"), "", "is not filled in"),
        (opened("owner", name="D"), "a  b", "has blanks or signs that nobody sees: type it plainly"),
        (opened("owner", name="F"), "x" * 61, "has more than 60 characters"),
    ):  # fmt: skip
        answer = browser.send("/people/tablet", tablet=called)
        assert answer.status_code == 422
        assert faults_of(answer.text) == [label + fault]
        assert "set-cookie" not in answer.headers


@pytest.mark.parametrize(
    ("pin", "wrong"),
    [
        *((one, "has to be 6 to 12 digits, and nothing else")
          for one in ("", "27495", "2749510274951", "27495x", "٢٧٤٩٥١", " 274951")),
        *((one, "is one that is guessed first: choose no run, no pattern and no day")
          for one in ("000000", "123456", "654321", "789012", "121212", "123123", "2749274927",
                      "112233", "159753", "240687", "062487", "870624", "24061987", "19870624")),
        (PIN, None), (OTHER, None), ("000001", None), ("2749510", None), ("399999", None),
    ],
)  # fmt: skip
def test_a_weak_pin_is_refused(pin: str, wrong: str | None) -> None:
    """Too short, too long, no digits; all alike, a run up or down, a pattern, a day in any order."""
    assert secret.pin_weakness(pin) == wrong


def test_what_sets_no_pin(opened: Opened) -> None:
    """A weak one and one typed differently are told together and before the password is tried; a
    wrong password is counted as at the door; none of it is shown again or set."""
    yard, clerk = opened("yard", name="W. Yard"), opened("clerk")
    answer = yard.send("/own", password="x", pin="123456", again="12345")
    assert faults_of(answer.text) == [
        "PIN, 6 digits or more: is one that is guessed first: choose no run, no pattern and no day",
        "The same again: was typed differently the second time",
    ]
    assert "123456" not in answer.text
    for _ in range(10):
        answer = _set(yard, PIN, "not the password")
        assert (answer.status_code, faults_of(answer.text)) == (
            422, ["Password: is not the one you sign in by"],
        )  # fmt: skip
    answer = _set(yard, PIN)
    assert answer.status_code == 429
    assert words(answer.text).startswith("Too many tries too many tries from here")
    assert "You have none yet." in yard.text("/own")
    answer = _set(clerk, PIN)
    assert faults_of(answer.text) == ["PIN, 6 digits or more: a PIN is for the role yard alone"]
    assert clerk.text("/own") == (
        "Your own Clerk Person: clerk. A PIN for the tablet in the yard is for the role yard alone. "
        "Passkeys You have none. Add a passkey"
    )


def test_the_pin_set_twice(opened: Opened) -> None:
    """The second is the one, on each tablet; what was begun by the first is over."""
    yard, here = _with_pin(opened), _paired(opened)
    assert _came(here, PIN)
    assert not _out(here)
    answer = _set(yard, OTHER)
    assert words(answer.text) == (
        "Your PIN is set W. Yard has a PIN now, for a tablet of the yard. Go on"
    )
    assert _out(here)
    assert not _out(yard)
    assert not _came(here, PIN)
    assert _came(here, OTHER)


def test_only_digests_are_kept(opened: Opened) -> None:
    """Who reads what lies beside the book has neither the PIN nor the tablet; the book is as it
    was."""
    before = records(opened().place)
    yard, here = _with_pin(opened), _paired(opened)
    assert _came(here, PIN)
    kept = records(f"{yard.place}.people")
    for name in (COOKIE, "fleetcare"):
        assert here.client.cookies[name].encode() not in kept
    with beside(yard.place) as connection:
        row = tablets.pins(connection)["W. Yard"]
    assert row.kept.startswith("$argon2id$")
    assert secret.verified(row.kept, PIN)
    assert records(yard.place) == before


def test_the_cookie_of_a_tablet(opened: Opened) -> None:
    """It is for the server alone, lives half a year, and is bound to TLS where there is TLS."""
    safe = opened("owner", name="S. Owner", secure=True)
    safe.client.base_url = "https://testserver"
    link = gate.person_link(safe.place, "S. Owner")
    safe.client.post(f"/link/{link}", data={"password": PASSWORD, "again": PASSWORD})
    for browser, named in ((opened("owner"), COOKIE), (safe, f"__Host-{COOKIE}")):
        sent = browser.send("/people/tablet", tablet=named)
        (cookie,) = [one for one in sent.headers.get_list("set-cookie") if one.startswith(named)]
        assert re.fullmatch(
            named
            + "=[A-Za-z0-9_-]{43}; HttpOnly; Max-Age=15552000; Path=/; SameSite=lax(; Secure)?",
            cookie,
        )
        assert cookie.endswith("Secure") is named.startswith("__Host-")


def test_looking_at_the_tablet_changes_nothing(opened: Opened) -> None:
    """The names, the field for a PIN and somebody's own page leave all as it is."""
    _with_pin(opened)
    here = _paired(opened)
    before = records(here.place), records(f"{here.place}.people")
    for path in ("/enter", f"/enter/{part('W. Yard')}", "/enter/x", "/own"):
        here.get(path)
    assert (records(here.place), records(f"{here.place}.people")) == before


def test_nothing_secret_is_in_the_log(opened: Opened, capsys: pytest.CaptureFixture[str]) -> None:
    """What happened, to whom and on which tablet; neither PIN, nor cookie, nor what was typed for
    one."""
    here = _paired(opened)
    cookie = here.client.cookies[COOKIE]
    yard = _with_pin(opened)
    _came(here, OTHER)
    _came(here, PIN)
    _typed(opened(), PIN)
    session = here.client.cookies["fleetcare"]
    opened("owner", name="O. Owner").send("/people/tablet/end", tablet="the shed")
    _set(yard, PIN, "not the password")
    said = capsys.readouterr().err
    told = [json.loads(line) for line in said.splitlines()]
    assert [(one["event"], one.get("who"), one.get("tablet")) for one in told] == [
        ("came by link", None, None), ("tablet paired", "Owner of the shed", "the shed"),
        ("came by link", None, None), ("PIN set", "W. Yard", None),
        ("wrong PIN", "W. Yard", "the shed"), ("came by PIN", "W. Yard", "the shed"),
        ("came by link", None, None), ("tablet ended", "O. Owner", "the shed"),
    ]  # fmt: skip
    for one in (PIN, OTHER, cookie, session, PASSWORD, "not the password"):
        assert one not in said


def test_names_on_the_tablet_are_text(opened: Opened) -> None:
    """Of a person and of a tablet, wherever they are shown."""
    evil = MARKED.partition("{{")[0]
    _with_pin(opened, evil)
    here = _paired(opened, evil)
    owner = opened("owner")
    pages = [here.get("/enter"), here.get(f"/enter/{part(evil)}"), owner.get("/people")]
    pages += [_typed(here, OTHER, evil), owner.send("/people/tablet/end", tablet=MARKED)]
    for page in pages:
        assert strange(page.text.replace(OUR_SCRIPT, "")) == []
        assert "evil-tag" in page.text


def test_people_kept_before_there_were_tablets(opened: Opened) -> None:
    """Are read as having none and no PIN, and take one as any."""
    owner, yard = opened("owner", name="O. Owner"), opened("yard", name="W. Yard")
    with sqlite3.connect(f"{owner.place}.people") as people:
        for name in ("tablet", "pin", "turn", "begun"):
            people.execute(f"DROP TABLE {name}")
    people.close()
    stranger = opened()
    stranger.client.cookies.set(COOKIE, "x")
    stranger.client.cookies.set("fleetcare", "x")
    assert "who is it?" not in stranger.text("/enter")
    assert _typed(stranger, PIN).status_code == 404
    assert _out(stranger)
    assert "Tablets of the yard None." in owner.text("/people")
    assert "You have none yet." in yard.text("/own")
    assert _set(yard, PIN).status_code == 200
    assert owner.send("/people/tablet", tablet="the shed").status_code == 303
    assert _came(owner, PIN)


def test_the_commands(opened: Opened) -> None:
    """Who has a PIN is listed, and one is ended."""
    yard, here = _with_pin(opened), _paired(opened)
    assert _came(here, PIN)
    assert "W. Yard: yard; PIN set\n" in typed(yard.place, "person list")
    assert typed(yard.place, 'person end-pin "W. Yard"') == (
        "W. Yard has no PIN from here on, on any tablet; their password stays.\n"
    )
    assert _out(here)
    assert "W. Yard: yard\n" in typed(yard.place, "person list")
    assert refused(yard.place, 'person end-pin "W. Yrad"') == (
        'name: nobody is called "W. Yrad" here. Did you mean "W. Yard"?'
    )
    with pytest.raises(Refused):
        tablet.holds(yard.place, here.client.cookies[COOKIE], "W. Yard")
    assert Path(f"{yard.place}.people").exists()
