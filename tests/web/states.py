"""Every page in every state that it has, as a browser is given it: asked for by each who may and by
somebody who may not, empty, refused, changed meanwhile, written, and with words that do not end."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Any

from fleetcare import clock
from fleetcare.desk import fleet, gate, walks
from fleetcare.web.pages import PAGES
from tests.typed import typed
from tests.web.conftest import HOST, PASSWORD, Browser
from tests.web.device import Device, asked_on
from tests.web.test_gate import NAMED

LONG = "W" * 60
ORIGIN = f"https://{HOST}"
FORM = {"content-type": "application/x-www-form-urlencoded"}  # of a form that has no fields
ENDLESS = "brakepipe" * 60 + " & <b>weeps</b>"
ASKED = "?from_on=2027-05-01&through_on=2027-05-08&people=4&bikes=2"
# Beside each address as it is: what a page is asked with, and other vans and hires than the first.
MORE = (
    f"/counter{ASKED}", "/counter?from_on=2027-05-08&through_on=x&children=9", "/monday?by=van",
    "/monday?by=trade", "/hire/H136", "/hire/H148", "/van/V07", "/van/V07/defects", "/van/V12",
    "/van/V12/missing", "/van/NONE", "/hire/NONE", "/nothing", "/walk/handover/V01/H141",
    "/walk/return/V06/H136",
)  # fmt: skip


def _pages(browser: Browser, called: str) -> Iterator[tuple[str, Any]]:
    for page in [one for one in PAGES if one.shows]:
        path = page.path.format(**NAMED)
        yield f"{called} {path}", browser.get(path)


def _refused(browser: Browser) -> Iterator[tuple[str, Any]]:
    """Each form with nothing in it, with what is no word of it, and without its token."""
    token = browser.token
    for page in [one for one in PAGES if one.does and one.path != "/leave"]:
        path = page.path.format(**NAMED)
        yield f"empty form {path}", browser.client.post(path, data={"token": token})
        wrong = dict.fromkeys(page.takes, ENDLESS)
        yield f"wrong form {path}", browser.client.post(path, data={"token": token, **wrong})
    yield "no token", browser.client.post("/van/V01/defect", data={"token": "x"})
    yield "strange field", browser.client.post("/counter", data={"token": token, "x": "y"})


def _walk(browser: Browser) -> Iterator[tuple[str, Any]]:
    """Each line of a walk, answered and not; the end of it, and a line that fell away."""
    path = "/walk/prepared/V01/H141"
    walk = walks.Walk("prepared", "V01", "H141", clock.today())
    kinds = {}
    for line in walks.begun(browser.place, walk).form.lines:
        kinds.setdefault((line.kind.asks, line.dimension, line.words), line.name)
    for name in kinds.values():
        yield f"line {name}", browser.get(f"{path}?line={name}")
    browser.send(path, line="lights", grade="minor", words=ENDLESS)
    yield "line answered", browser.get(f"{path}?line=lights")
    yield "signed too early", browser.send(f"{path}/sign", state="x")


def _written(browser: Browser) -> Iterator[tuple[str, Any]]:
    """What was taken, what stands in its way, and what was written meanwhile; words that do not
    end on every page that shows them."""
    place, send = browser.place, browser.send
    form = {"from_on": "2027-05-01", "through_on": "2027-05-04", "van": "V01"}
    yield "booked", send("/counter", **form, ref=LONG, pencilled="yes")
    yield "cannot go", send("/counter", **{**form, "van": "V09", "from_on": "2026-12-01"}, ref="X")
    size = str(fleet.size(place))
    yield "defect", send("/van/V01/defect", grade="dangerous", words=ENDLESS, about="brakes")
    yield "meanwhile", send("/van/V01/defect", grade="minor", words="x", shown=size)
    (number, _), *_ = fleet.open_defects(place, "V01")[-1:]
    yield "rectified", send("/van/V01/repair", number=str(number), by=LONG, words=ENDLESS)
    yield "a person", send("/people", name="P. " + "W" * 56, clerk="yes", owner="yes")
    typed(place, f"van add {LONG[:24]} --jurisdiction gb", dt.date(2026, 11, 23))
    for path in (f"/hire/{LONG}", "/hires", "/diary", "/yard", "/monday", "/vans", "/people",
                 "/van/V01", "/van/V01/defects", f"/counter{ASKED}",
                 f"/van/{LONG[:24]}"):  # fmt: skip
        yield f"long {path[:40]}", browser.get(path)


def _door(place: str) -> Iterator[tuple[str, Any]]:
    """Before anybody is known, and after too many tries."""
    nobody, yard = Browser(place), Browser(place, "yard", name="Y. Only")
    for name in ("new", "enters"):
        gate.person_add(place, f"N. {name}", ["clerk"])
        link = gate.person_link(place, f"N. {name}", enters=name == "enters")
        yield f"link {name}", nobody.get(f"/link/{link}")
    yield "nobody's form", nobody.client.post("/counter")
    yield "not theirs", yard.get("/people")
    for _ in range(11):
        sent = nobody.client.post("/enter", data={"name": "Y. Only", "password": PASSWORD + "x"})
    yield "too many tries", sent


def _tablet(place: str) -> Iterator[tuple[str, Any]]:
    """Of a tablet that the yard shares: nobody has a PIN, some have, a wrong one, a dead one."""
    here, yard = Browser(place, "owner", name="T. Owner"), Browser(place, "yard", name=LONG)
    yield "pairs", here.send("/people/tablet", tablet="T" * 60)
    yield "nobody has a PIN", here.get("/enter")
    yield "weak PIN", yard.send("/own", password=PASSWORD, pin="123456", again="1")
    yield "PIN set", yard.send("/own", password=PASSWORD, pin="274951", again="274951")
    yield "has a PIN", yard.get("/own")
    yield "names", here.get("/enter")
    for number in range(5):
        yield f"wrong PIN {number}", here.client.post(f"/enter/{LONG}", data={"pin": "1"})
    yield "dead PIN", yard.get("/own")
    here.client.post("/enter", data={"name": "T. Owner", "password": PASSWORD})
    yield "people with a tablet", here.get("/people")


def _passkeys(place: str) -> Iterator[tuple[str, Any]]:
    """By TLS, where there may be some: none yet, asked for, one there, refused, asked at the door."""
    here = Browser(place, "yard", name="K. Ey", secure=True)
    here.client.base_url = ORIGIN
    here.client.post("/enter", data={"name": "K. Ey", "password": PASSWORD})
    yield "adds a passkey", here.get("/own/passkey")
    asked = here.send("/own/passkey", passkey=LONG, password=PASSWORD)
    yield "asks for a passkey", asked
    device = Device(ORIGIN, HOST)
    made = device.made(asked_on(asked.text))
    yield "has a passkey", here.send("/own/passkey/answer", passkey=LONG, **made)
    yield "passkeys", here.get("/own")
    yield "passkey too late", here.send("/own/passkey/answer", passkey=LONG, **made)
    here.send("/leave")
    yield "door by TLS", here.get("/enter")
    yield "passkey at the door", here.client.post("/enter-by-passkey", headers=FORM)
    yield "passkey refused", here.client.post("/enter-by-passkey/answer", data={"id": "x"})


def of_the_sample(place: str) -> dict[str, str]:
    """The pages of the sample fleet, by a name each."""
    everybody = Browser(place, *gate.ROLES, name="E. Verybody")
    found: dict[str, Any] = {}
    for role in gate.ROLES:
        found |= _pages(Browser(place, role), role)
    found |= {f"asked {path}": everybody.get(path) for path in MORE}
    found |= _pages(Browser(place), "nobody")
    found |= _walk(everybody)
    found |= _written(everybody)
    found |= _tablet(place)
    found |= _passkeys(place)
    found |= _refused(everybody)  # last: a form that takes any words is done
    found |= _door(place)
    return _pages_alone(found)


def of_an_empty_book(place: str) -> dict[str, str]:
    """The pages where there is no van yet."""
    owner = Browser(place, *gate.ROLES, name="O. Owner")
    asked = {f"empty {path}": owner.get(path) for path in (f"/counter{ASKED}", "/vans?x=1")}
    return _pages_alone(dict(_pages(owner, "empty")) | asked)


def _pages_alone(found: dict[str, Any]) -> dict[str, str]:
    """Without what leads on, and the style."""
    for name, answer in found.items():
        assert answer.status_code < 500, name
    return {
        name: answer.text
        for name, answer in found.items()
        if answer.headers.get("content-type", "").startswith("text/html")
    }
