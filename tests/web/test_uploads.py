"""Files that come with a form: kept as they came, or refused with all that was typed; and what is
sent to hurt."""

from __future__ import annotations

import asyncio
import datetime as dt
import re
from pathlib import Path
from typing import Any

import pytest

from fleetcare.desk import fleet, gate
from fleetcare.intake.paper import MOST_OCTETS
from fleetcare.store import papers
from fleetcare.web import app, sending
from fleetcare.web.may import may
from fleetcare.web.pages import PAGES
from fleetcare.web.settings import Served
from tests.web.conftest import HOST, OUR_SCRIPT, Browser, Opened, faults_of, records, words
from tests.web.test_gate import NAMED
from tests.web.test_stories import _shown

JPEG = b"\xff\xd8\xff\xe0" + b"\x00\x10JFIF" + bytes(range(256)) * 300
PDF = b"%PDF-1.7\nnone"
AT = "/van/V01/defect"
TYPED = {"grade": "minor", "words": "blind torn"}
BOUNDARY = "----it-is-this-one"
KIND = {"content-type": f"multipart/form-data; boundary={BOUNDARY}"}
TAKING = [page for page in PAGES if page.files]


def _send(browser: Browser, path: str, files: dict[str, Any], **typed: str) -> Any:
    return browser.client.post(path, data={"token": browser.token, **typed}, files=files)


def _kept(place: str) -> dict[str, bytes]:
    """Every file beside a book, in whatever folder, but the book and who may come in."""
    found = Path(place).parent.rglob("*")
    return {
        one.name: one.read_bytes()
        for one in found
        if one.is_file() and not one.name.startswith(Path(place).name)
    }


def _parts(*parts: tuple[str, bytes], end: bytes = b"--\r\n") -> bytes:
    """A body in parts, byte for byte: what each says of itself, and what it holds."""
    made = b"".join(
        f"--{BOUNDARY}\r\nContent-Disposition: form-data; {says}\r\n\r\n".encode() + held + b"\r\n"
        for says, held in parts
    )
    return made + f"--{BOUNDARY}".encode() + end


def _defect(token: str) -> list[tuple[str, bytes]]:
    typed = {"token": token, **TYPED}
    return [(f'name="{name}"', said.encode()) for name, said in typed.items()]


def test_a_photo_is_kept_as_it_came(opened: Opened) -> None:
    """Byte for byte, beside the book, under a name of ours; the page says so."""
    yard = opened("yard", name="W. Yard")
    page = yard.get(AT)
    assert 'enctype="multipart/form-data"' in page.text
    assert 'capture="environment"' in page.text
    sent = _send(yard, AT, {"photo": ("IMG_1.jpg", JPEG)}, shown=_shown(page.text), **TYPED)

    assert sent.status_code == 200, faults_of(sent.text)
    digest = papers.digest_of(JPEG)
    found = re.search(
        r'#(\d+) V01: minor defect "blind torn", Mon 23 Nov 2026\. '
        rf"#(\d+) keeps the paper of #(\d+): jpeg, {len(JPEG):,} bytes, SHA-256 {digest[:16]}\.",
        words(sent.text),
    )
    assert found
    assert found[1] == found[3]
    assert _kept(yard.place) == {f"{digest}.jpg": JPEG}


def test_a_check_with_its_photo_and_its_paper(opened: Opened) -> None:
    """Both are of the record, in one go."""
    lead = opened("workshop", name="Jory Pellwick")
    png = b"\x89PNG\r\n\x1a\nrest"
    files = {"photo": ("a.jpg", JPEG), "paper": ("b.png", png)}
    sent = _send(
        lead, "/van/V01/record", files, what="chassis", outcome="pass", on="2026-11-20",
        by="Jory Pellwick", odometer="99000mi", even_so="new instrument",
    )  # fmt: skip

    assert sent.status_code == 200, faults_of(sent.text)
    assert len(re.findall("keeps the paper of", sent.text)) == 2
    assert sorted(_kept(lead.place).values()) == sorted([JPEG, png])


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"MZ\x90\x00" + bytes(100), "is none of pdf, png, jpeg: scan or photograph it anew"),
        (b"", "is empty: scan it again"),
        (b"GIF89a;\xff\xd8\xff", "is none of pdf, png, jpeg: scan or photograph it anew"),
        (b"\x00\x00\x00\x18ftypheic" + bytes(99), "is none of pdf, png, jpeg: scan or photograph it anew"),
        (b"\xff\xd8\xff" + bytes(MOST_OCTETS), "is larger than 20 MB: scan it with fewer dots an inch"),
        (
            b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\x00\x01\x00\x00\x00\x01\x00\x00",
            "is 65,536 by 65,536 dots, over 100,000,000: scan it with fewer dots an inch",
        ),
    ],
    ids=["program", "empty", "two in one", "heic", "large", "bomb"],
)  # fmt: skip
def test_a_file_that_is_no_paper_loses_nothing(data: bytes, says: str, opened: Opened) -> None:
    """What is wrong is told at its field, all that was typed stands again, nothing is written and
    nothing is left beside the book."""
    yard = opened("yard")
    size = fleet.size(yard.place)
    sent = _send(yard, AT, {"photo": ("x.jpg", data)}, **TYPED)

    assert sent.status_code == 422
    assert faults_of(sent.text) == [f"Photo, from the camera x.jpg: {says}"]
    assert '<a href="#photo">' in sent.text
    assert 'value="blind torn"' in sent.text
    assert '<option value="minor" selected>' in sent.text
    assert "No file was kept: choose it again." in sent.text
    assert (fleet.size(yard.place), _kept(yard.place)) == (size, {})


def test_a_slip_beside_a_good_file_keeps_no_file(opened: Opened) -> None:
    """What was typed is refused, so its photo is not kept either."""
    yard = opened("yard")
    for typed in ({"grade": "minor"}, {"grade": "minor", "words": "smell of gas at the hob"}):
        sent = _send(yard, AT, {"photo": ("x.jpg", JPEG)}, **typed)
        assert sent.status_code == 422
    assert _kept(yard.place) == {}


def test_what_was_written_meanwhile_is_shown_before_a_photo_is_kept(opened: Opened) -> None:
    """A form with a file is held to what it was shown at as any other."""
    yard = opened("yard")
    shown = _shown(yard.get(AT).text)
    yard.send(AT, grade="minor", words="step loose")
    sent = _send(yard, AT, {"photo": ("x.jpg", JPEG)}, shown=shown, **TYPED)

    assert sent.status_code == 409
    assert "step loose" in words(sent.text)
    assert 'value="blind torn"' in sent.text
    assert _kept(yard.place) == {}


def test_no_file_chosen_is_none(opened: Opened) -> None:
    """As a browser sends it: a part without a name and without a byte."""
    yard = opened("yard")
    empty = [('name="photo"; filename=""', b""), ('name="paper"; filename=""', b"")]
    body = _parts(*_defect(yard.token), *empty)
    assert yard.client.post(AT, content=body, headers=KIND).status_code == 200
    assert _kept(yard.place) == {}


@pytest.mark.parametrize(
    ("called", "shown"),
    [
        ("../../../../etc/cron.d/x", "x"),
        ("/etc/passwd", "passwd"),
        ("C:\\Windows\\system32\\x.jpg", "x.jpg"),
        ("a\x00b.jpg", "ab.jpg"),
        ("..", ".."),
        ("CON", "CON"),
        ("gpj.\u202eexe", "gpj.exe"),
        ("<script>alert(1)<", "<script>alert(1)<"),
        ("x" * 300, "x" * 80),
    ],
)
def test_what_a_file_is_called_leads_nowhere(called: str, shown: str, opened: Opened) -> None:
    """It is told as words alone, and the file lies under its digest whatever it is called."""
    yard = opened("yard")
    spelled = f'name="photo"; filename="{called}"'
    body = _parts(*_defect(yard.token), (spelled, b"none"))
    sent = yard.client.post(AT, content=body, headers=KIND)
    told = "is none of pdf, png, jpeg: scan or photograph it anew"
    assert faults_of(sent.text) == [f"Photo, from the camera {shown}: {told}"]
    assert "<script" not in sent.text.replace(OUR_SCRIPT, "")
    body = _parts(*_defect(yard.token), (spelled, JPEG))
    assert yard.client.post(AT, content=body, headers=KIND).status_code == 200
    assert list(_kept(yard.place)) == [f"{papers.digest_of(JPEG)}.jpg"]


@pytest.mark.parametrize("page", TAKING, ids=lambda page: page.path)
def test_a_form_with_files_is_held_as_any_other(page: Any, opened: Opened) -> None:
    """Its token, where it comes from, its own fields and files once each, and who sends it."""
    browser, other = opened(*gate.ROLES), opened(*gate.ROLES, name="Somebody Else")
    at = page.path.format(**NAMED)
    token = ('name="token"', browser.token.encode())
    file = f'name="{page.files[0]}"; filename="a.jpg"'
    before = records(browser.place)

    def status(*parts: tuple[str, bytes], of: Browser = browser, **headers: str) -> int:
        sent = of.client.post(at, content=_parts(*parts), headers=KIND | headers)
        return int(sent.status_code)

    assert status((file, JPEG)) == 403
    assert status(('name="token"', other.token.encode()), (file, JPEG)) == 403
    assert status(token, (file, JPEG), origin="https://elsewhere.example") == 403
    assert status(token, (file, JPEG), **{"sec-fetch-site": "cross-site"}) == 403
    assert status(token, token) == 400
    assert status(token, ('name="recorded_by"', b"x")) == 400
    assert status(token, ('name="other"; filename="a.jpg"', JPEG)) == 400
    assert status(token, (file, JPEG), (file, JPEG)) == 400
    assert status(token, (f'name="{page.files[0]}"', b"x")) == 400
    assert status(token, ('name="token"; filename="a.jpg"', JPEG)) == 400
    assert status(token, *[(f'{file[:-1]}{n}"', b"x") for n in range(9)]) == 400
    assert status(token, ('name="words"', b"a" * 70_000)) == 400
    assert status(token, *[(f'name="f{n}"', b"x") for n in range(300)]) == 400
    assert status((file, JPEG), of=opened()) == 401
    for role in gate.ROLES:
        found = opened(role, name=f"Only {role}")
        theirs = ('name="token"', found.token.encode())
        wanted = 422 if may((role,), page.may_do) else 403
        assert status(theirs, (file, b"none"), of=found) in (
            wanted,
            404 if wanted == 422 else 403,
        ), role
    assert records(browser.place) == before
    assert _kept(browser.place) == {}


def test_a_page_without_files_takes_none(opened: Opened) -> None:
    """Nor a form in parts at all."""
    clerk = opened("clerk")
    body = _parts(('name="token"', clerk.token.encode()))
    assert clerk.client.post("/counter", content=body, headers=KIND).status_code == 415


def test_a_form_cut_short_is_none(opened: Opened) -> None:
    """At whatever byte, between two parts too: it would be a report without its photo."""
    yard = opened("yard")
    size = fleet.size(yard.place)
    whole = _parts(*_defect(yard.token), ('name="photo"; filename="a.jpg"', b"\xff\xd8\xff1234"))
    end = len(whole) - len(b"--\r\n")
    for cut in [*range(0, end, 29), end - 1, end, end + 1]:
        sent = yard.client.post(AT, content=whole[:cut], headers=KIND)
        assert (cut, sent.status_code) == (cut, 400)
    for kind in (
        "multipart/form-data",
        "multipart/form-data; boundary=",
        "multipart/form-data; boundary=x",
    ):
        sent = yard.client.post(AT, content=whole, headers={"content-type": kind})
        assert (kind, sent.status_code) == (kind, 400)
    assert (fleet.size(yard.place), _kept(yard.place)) == (size, {})
    assert yard.client.post(AT, content=whole, headers=KIND).status_code == 200


class _Body:
    """What a server hands on of a body, part after part; whether it was asked for more."""

    def __init__(self, *parts: bytes, gone: bool = False) -> None:
        self.parts, self.gone, self.asked = list(parts), gone, 0

    async def __call__(self) -> dict[str, Any]:
        self.asked += 1
        if self.parts:
            part = self.parts.pop(0)
            return {"type": "http.request", "body": part, "more_body": True}
        if self.gone:
            return {"type": "http.disconnect"}
        await asyncio.Event().wait()
        raise AssertionError


def _posted(browser: Browser, body: _Body, **headers: str) -> tuple[int, int]:
    """The status of a form that comes in this way, and how often more of it was asked for."""
    cookies = "; ".join(f"{one.name}={one.value}" for one in browser.client.cookies.jar)
    said = {"host": HOST, "cookie": cookies, **KIND, **headers}
    scope = {
        "type": "http", "method": "POST", "path": AT, "raw_path": AT.encode(), "query_string": b"",
        "headers": [(name.encode(), value.encode()) for name, value in said.items()],
        "scheme": "http", "http_version": "1.1", "client": ("here", 1), "server": (HOST, 80),
    }  # fmt: skip
    found: list[int] = []

    async def send(message: Any) -> None:
        if message["type"] == "http.response.start":
            found.append(message["status"])

    asyncio.run(app.made(Served(browser.place, (HOST,)))(scope, body, send))
    return found[0], body.asked


def test_too_much_is_not_read(opened: Opened, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where its size is said, nothing of it; where it is not, no more than so much."""
    monkeypatch.setattr(sending, "MOST_WITH_FILES", 200_000)
    yard = opened("yard")
    first = _parts(*_defect(yard.token), end=b"\r\n")
    head = b'Content-Disposition: form-data; name="photo"; filename="a.jpg"\r\n\r\n'
    endless = [first + head, *[b"x" * 50_000] * 99]

    assert _posted(yard, _Body(*endless), **{"content-length": "200001"}) == (413, 0)
    assert _posted(yard, _Body(*endless), **{"content-length": "-1"}) == (413, 0)
    assert _posted(yard, _Body(*endless)) == (413, 5)


def test_nothing_is_read_of_somebody_who_may_not_send_it(opened: Opened) -> None:
    """A file of any size is turned away before its first byte."""
    assert _posted(opened("clerk"), _Body(JPEG)) == (403, 0)
    assert _posted(opened(), _Body(JPEG)) == (401, 0)


def test_a_sender_who_goes_away_or_never_ends(
    opened: Opened, monkeypatch: pytest.MonkeyPatch, sample_day: dt.date
) -> None:
    """Is not waited for."""
    yard = opened("yard")
    size = fleet.size(yard.place)
    part = _parts(*_defect(yard.token), end=b"\r\n")
    assert _posted(yard, _Body(part, gone=True))[0] == 408
    monkeypatch.setattr(sending, "_SECONDS_WITH_FILES", 0.01)
    assert _posted(yard, _Body(part))[0] == 408
    assert (fleet.size(yard.place), _kept(yard.place)) == (size, {})


def test_a_photo_of_the_damage_shows_no_work(opened: Opened) -> None:
    """Who mends and signs alone keeps a photo of the work, which one that came before it is not;
    one sent with the repair is."""
    lead = opened("workshop", name="Jory Pellwick")
    form = {"grade": "major", "words": "blind torn off"}
    _send(lead, AT, {"photo": ("x.jpg", JPEG)}, **form)
    (number, _), *_ = fleet.open_defects(lead.place, "V01")[-1:]
    typed = {"number": str(number), "by": "Jory Pellwick"}
    lead.send("/van/V01/repair", **typed)
    refused = lead.send("/van/V01/sign-off", **typed)
    assert faults_of(refused.text) == [
        "Who did it: whoever mends it does not sign it alone: let somebody else sign, or keep a "
        f'paper or photo of it first with: "Its papers" of #{number}'
    ]
    sent = _send(lead, "/van/V01/repair", {"photo": ("y.jpg", JPEG + b"2")}, **typed)
    assert "keeps the paper of" in words(sent.text)
    assert lead.send("/van/V01/sign-off", **typed).status_code == 200


def test_what_was_typed_of_a_repair_stands_again(opened: Opened) -> None:
    """In the form that was sent, which stands open, and in no other."""
    lead = opened("workshop")
    (number, _), *_ = fleet.open_defects(lead.place, "V07")
    typed = {"number": str(number), "by": "Odo Thackwray", "words": "new seal", "temporary": "yes"}
    page = _send(lead, "/van/V07/repair", {"photo": ("x.jpg", b"none")}, **typed).text

    assert page.count('value="Odo Thackwray"') == page.count('value="new seal"') == 1
    assert page.count("<details open>") == page.count(" checked>") == 1
