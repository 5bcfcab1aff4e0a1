"""What is typed is text and nothing else: in every field of every form, in every part of an
address, and on every page that shows it again."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from typing import Any
from urllib.parse import quote, urlencode

import pytest

from fleetcare.desk import fleet, gate, trust
from fleetcare.web.pages import PAGES, Page
from fleetcare.web.visit import part
from tests.typed import typed
from tests.web.conftest import Browser, Opened, records
from tests.web.test_gate import FORMS, NAMED

MARKED = '<evil-tag onmouseover=a>\'"onmouseover="b{{ 7*7 }}'
SPLIT = "' OR 1=1 --"
# What the fields of forms hold otherwise, so that one at a time can be wrong.
FILLED = {
    "from_on": "2027-05-01", "through_on": "2027-05-04", "van": "V01", "ref": "Z9",
    "grade": "minor", "words": "worn", "what": "chassis", "name": "N. Obody", "odometer": "99000mi",
    "line": "odometer", "why": "no more", "number": "1", "by": "Q. Quill", "clerk": "yes",
    "password": "a", "again": "b",
}  # fmt: skip


class _Read(HTMLParser):
    """A page as a browser takes it: what tags and attributes there are."""

    def __init__(self) -> None:
        super().__init__()
        self.strange: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "evil-tag":
            self.strange.append(tag)
        self.strange += [name for name, _ in attrs if name.startswith("on") or "evil" in name]


def strange(page: str) -> list[str]:
    """What a page holds that no page of ours has: somebody's own tag, or a script in an
    attribute."""
    read = _Read()
    read.feed(page)
    read.close()
    return read.strange


def test_the_look_at_a_page_can_fail() -> None:
    """It finds what would be a hole."""
    assert strange(f"<p>{MARKED}</p>") == ["evil-tag", "onmouseover"]
    assert strange(f'<input value="{MARKED}">') == ["onmouseover"]


def _at(page: Page) -> str:
    return page.path.format(**NAMED)


def _sent(browser: Browser, page: Page, token: str, field: str, text: str) -> Any:
    fields = {name: FILLED[name] for name in page.takes if name in FILLED}
    return browser.client.post(_at(page), data={"token": token, **fields, field: text})


@pytest.mark.parametrize("page", [one for one in FORMS if one.takes], ids=_at)
def test_every_field_comes_back_as_text(page: Page, opened: Opened) -> None:
    """A tag, quotes that would end an attribute, and the braces of a template: in each field of
    each form, taken or refused, and in the address."""
    browser = opened(*gate.ROLES)
    token = browser.token
    for field in page.takes:
        answer = _sent(browser, page, token, field, MARKED)
        assert answer.status_code in (200, 303, 401, 404, 409, 422), field
        assert strange(answer.text) == [], field
        assert "49" not in re.sub(
            r"[0-9]{3,}|#[0-9]+", "", answer.text.partition("evil-tag")[2][:99]
        )
    if page.shows:
        answer = browser.get(f"{_at(page)}?{urlencode(dict.fromkeys(page.takes, MARKED))}")
        assert strange(answer.text) == []


def test_what_was_written_down_is_shown_as_text_everywhere(opened: Opened) -> None:
    """Names, words, references, certificates and answers that hold tags, on every page there is."""
    evil = MARKED.replace("{{ 7*7 }}", "")
    browser = opened(*gate.ROLES, name=f"O. {evil}")
    place = browser.place
    send = browser.send
    wrote = [
        send("/van/V01/defect", grade="minor", words=evil, about="other"),
        send("/counter", from_on="2027-05-01", through_on="2027-05-04", van="V01", ref=evil,
             even_so=evil),
        send("/van/V01/record", what="chassis", outcome="pass", by=f"A. {evil}", odometer="99900mi",
             certificate=evil, words=evil, even_so=evil),
        send("/people", name=f"P. {evil}", clerk="yes"),
        send("/walk/prepared/V01/H141", line="lights", grade="minor", words=evil),
    ]  # fmt: skip
    assert [one.status_code for one in wrote] == [200, 303, 200, 200, 303], wrote[1].text
    (number, _), *_ = fleet.open_defects(place, "V01")[-1:]
    rectified = send("/van/V01/repair", number=str(number), by=f"A. {evil}", words=evil)
    assert rectified.status_code == 200
    assert typed(place, "hire list").count("evil-tag") >= 1
    shown = 0
    for page in [one for one in PAGES if one.shows]:
        for ref in (NAMED["ref"], part(evil)):
            answer = browser.get(page.path.format(**{**NAMED, "ref": ref}))
            if not answer.headers.get("content-type", "").startswith("text/html"):
                continue  # a file, which no browser takes for a page
            assert strange(answer.text) == [], page.path
            shown += "evil-tag" in answer.text
    assert shown >= 10


@pytest.mark.parametrize("page", [one for one in FORMS if one.takes], ids=_at)
def test_no_field_reaches_into_the_database(page: Page, opened: Opened) -> None:
    """Quotes that would end a text in SQL: each field of each form answers as to any other wrong
    word, whatever was in the book before is in it afterwards, and nobody is let in."""
    browser = opened(*gate.ROLES)
    token, before = browser.token, trust.status(browser.place).records
    people = gate.people(browser.place)
    for field in page.takes:
        plain = _sent(browser, page, token, field, "no such word")
        if plain.status_code in (200, 303):
            continue  # any words may stand there
        said = _sent(browser, page, token, field, SPLIT)
        assert said.status_code == plain.status_code, field
    assert trust.verify(browser.place).faults == []
    assert trust.status(browser.place).records >= before
    assert set(people) <= {one._replace() for one in gate.people(browser.place)}


def test_no_address_reaches_into_the_database(opened: Opened) -> None:
    """As a van, a reference, a sheet, a link, a question: found is what is called so, which is
    nothing, and neither the book nor the list of people is another afterwards."""
    browser = opened(*gate.ROLES)
    before = records(browser.place), records(f"{browser.place}.people")
    for page in [one for one in PAGES if one.shows]:
        for name in [one for one in NAMED if f"{{{one}}}" in page.path]:
            for text in (quote(SPLIT), quote(f"V01{SPLIT}"), part(f"H141{SPLIT}")):
                answer = browser.get(page.path.format(**{**NAMED, name: text}))
                assert answer.status_code == 404, (page.path, text)
        asked = urlencode(dict.fromkeys(("from_on", "by", "line", "people"), SPLIT))
        assert browser.get(f"{_at(page)}?{asked}").status_code in (200, 303, 404, 422), page.path
    assert (records(browser.place), records(f"{browser.place}.people")) == before


def test_looking_changes_nothing(opened: Opened) -> None:
    """GET and HEAD of every page leave book and people as they are, octet by octet."""
    browser = opened(*gate.ROLES)
    before = records(browser.place), records(f"{browser.place}.people")
    for page in [one for one in PAGES if one.shows]:
        for method in ("GET", "HEAD"):
            answer = browser.client.request(method, _at(page))
            assert answer.status_code < 500
            if method == "HEAD":
                assert answer.text == ""
    assert (records(browser.place), records(f"{browser.place}.people")) == before


def test_every_answer_has_a_kind_and_its_letters(opened: Opened) -> None:
    """Pages, refusals, the style, what there is none of: each says what it is and in which letters, or
    is handed out as a file or a picture of ours, with every header of the gate."""
    browser, nobody = opened(*gate.ROLES), opened()
    token = browser.token
    answers = [
        nobody.client.post("/counter"), browser.client.post("/counter", json={}),
        browser.get("/nothing"), browser.client.put("/vans"),
        browser.client.get("/vans", headers={"host": "elsewhere.example"}),
        browser.client.post("/van/V01/defect", data={"token": token}),
        browser.client.post("/van/V01/defect", data={"token": "x"}),
    ]  # fmt: skip
    for page in [one for one in PAGES if one.shows]:
        answers += [browser.get(_at(page)), nobody.get(_at(page))]
    for answer in answers:
        if answer.status_code != 303:
            kind = answer.headers["content-type"]
            ours = re.fullmatch(r"text/(html|css|plain|javascript|calendar); charset=utf-8", kind)
            given = answer.headers.get("content-disposition", "").startswith("attachment; ")
            assert ours or given or kind == "image/jpeg", (answer, kind)
        for name in ("content-security-policy", "x-content-type-options", "referrer-policy",
                     "cross-origin-opener-policy", "cache-control"):  # fmt: skip
            assert name in answer.headers, (answer, name)
        assert "server" not in answer.headers
