"""Photos of a walk's lines and the hirer's signature: kept beside the book until the walk is signed,
then of the record that their line wrote."""

from __future__ import annotations

import datetime as dt
import io
from typing import Any

import pytest
from PIL import Image

from fleetcare import clock
from fleetcare.desk import fleet, scans, walks
from fleetcare.desk import photos as taken
from fleetcare.store import photos
from fleetcare.store.people import beside
from tests.web.conftest import Browser, Opened, faults_of, words
from tests.web.test_stories import (
    _signed,
    _walked,
    morning,  # noqa: F401
)
from tests.web.test_uploads import JPEG, PDF, _kept, _send

ROOT = "/walk/prepared/V01/H141"


def _picture(colour: str, form: str = "PNG") -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (40, 20), colour).save(out, form)
    return out.getvalue()


RED, BLUE = _picture("red", "JPEG"), _picture("blue", "JPEG")


def _signature() -> bytes:
    out = io.BytesIO()
    drawn = Image.new("RGB", (40, 20), "white")
    drawn.paste("black", (5, 5, 30, 8))
    drawn.save(out, "PNG")
    return out.getvalue()


SIGNATURE = _signature()


def _walk(what: str = "prepared", ref: str = "H141") -> walks.Walk:
    return walks.Walk(what, "V01", ref, clock.today())


def _line(browser: Any) -> str:
    """The first line that is looked at."""
    form = walks.begun(browser.place, _walk()).form
    return next(line.name for line in form.lines if line.kind.asks == "look")


def test_a_photo_is_kept_with_its_line_until_the_walk_is_signed(opened: Opened) -> None:
    """It shows at its line, made small, and nothing of it is in the book yet."""
    yard = opened("yard", name="W. Yard")
    line, size = _line(yard), fleet.size(yard.place)
    sent = _send(yard, f"{ROOT}/photo", {"photo": ("1.jpg", RED)}, line=line)
    assert sent.status_code == 303
    page = yard.get(sent.headers["location"]).text
    (row,) = walks.begun(yard.place, _walk()).photos
    assert (row.line, row.by) == (line, "W. Yard")
    assert f'src="{ROOT}/photo/{row.number}"' in page
    small = yard.get(f"{ROOT}/photo/{row.number}")
    assert small.headers["content-type"] == "image/jpeg"
    assert Image.open(io.BytesIO(small.content)).size == (40, 20)
    assert "Photos that are kept with it: 1." in yard.text(f"{ROOT}?line=.end")
    assert fleet.size(yard.place) == size
    assert _kept(yard.place) == {}


def test_a_photo_of_another_walk_is_not_shown(opened: Opened) -> None:
    """Its number alone leads nowhere: not under another walk, nor where it was let go of."""
    yard = opened("yard")
    line = _line(yard)
    _send(yard, f"{ROOT}/photo", {"photo": ("1.jpg", RED)}, line=line)
    (row,) = walks.begun(yard.place, _walk()).photos
    assert yard.get(f"/walk/handover/V01/H141/photo/{row.number}").status_code == 404
    assert yard.send("/walk/handover/V01/H141/no-photo", number=str(row.number)).status_code == 303
    assert len(walks.begun(yard.place, _walk()).photos) == 1
    assert yard.send(f"{ROOT}/no-photo", number=str(row.number)).status_code == 303
    assert walks.begun(yard.place, _walk()).photos == []
    assert yard.get(f"{ROOT}/photo/{row.number}").status_code == 404


@pytest.mark.parametrize(
    ("data", "line", "says"),
    [
        (PDF, "", "Photo, from the camera: is no picture: take one with the camera"),
        (b"MZ", "", "Photo, from the camera 1.jpg: is none of pdf, png, jpeg: scan or photograph it anew"),
        (JPEG, "wings", "wings: is no line of this sheet"),
        (None, "", "Photo, from the camera: no file was chosen"),
    ],
    ids=["pdf", "program", "no line", "nothing"],
)  # fmt: skip
def test_what_is_no_photo_of_a_line_is_refused(
    data: bytes | None, line: str, says: str, opened: Opened
) -> None:
    """What is wrong is told on the line's own page, and nothing is kept."""
    yard = opened("yard")
    files = {"photo": ("1.jpg", data)} if data else {}
    sent = _send(yard, f"{ROOT}/photo", files, line=line or _line(yard))
    assert sent.status_code == 422
    assert faults_of(sent.text) == [says]
    assert walks.begun(yard.place, _walk()).photos == []


def test_no_more_photos_than_a_walk_needs(opened: Opened, monkeypatch: pytest.MonkeyPatch) -> None:
    """Forty and no more; here two, for the test's sake."""
    monkeypatch.setattr(taken, "MOST_PHOTOS", 2)
    yard = opened("yard")
    line = _line(yard)
    files = {"photo": ("1.jpg", RED)}
    said = [_send(yard, f"{ROOT}/photo", files, line=line) for _ in range(3)]
    assert [one.status_code for one in said] == [303, 303, 422]
    assert faults_of(said[-1].text) == [
        "Photo, from the camera: is one more than the 2 of a walk: let go of one"
    ]


def test_what_a_phone_sends_twice_is_kept_once(opened: Opened) -> None:
    """A photo that waited for a signal bears a key."""
    yard = opened("yard")
    key = "0f8fad5b-d9cb-469f-a165-70867728950e"
    for _ in range(2):
        files = {"photo": ("1.jpg", RED)}
        assert _send(yard, f"{ROOT}/photo", files, line=_line(yard), key=key, ago="60")
    assert len(walks.begun(yard.place, _walk()).photos) == 1


def test_begun_anew_nothing_of_it_is_left(opened: Opened) -> None:
    """Whoever lets go of all answers lets go of the photos."""
    yard = opened("yard")
    _send(yard, f"{ROOT}/photo", {"photo": ("1.jpg", RED)}, line=_line(yard))
    assert yard.send(f"{ROOT}/anew").status_code == 303
    with beside(yard.place) as connection:
        assert photos.of_sheet(connection, _walk().sheet) == []


def test_signed_each_photo_is_of_what_its_line_wrote(morning: str) -> None:  # noqa: F811
    """That of a line with a defect is the defect's, the others and the hirer's signature are the
    sheet's; byte for byte, and nothing of them is left beside the book."""
    yard = Browser(morning, "yard", name="Y. Yard")
    form = walks.begun(morning, _walk(ref="H1")).form
    plain, wrong = [line.name for line in form.lines if line.kind.asks == "look"][:2]
    for line, data in ((plain, RED), (wrong, BLUE)):
        root = "/walk/prepared/V01/H1"
        sent = _send(yard, f"{root}/photo", {"photo": ("1.jpg", data)}, line=line)
        assert sent.status_code == 303, faults_of(sent.text)
    _walked(yard, "prepared", **{wrong: "minor: a scratch"})
    assert 'id="signature"' not in yard.get("/walk/prepared/V01/H1?line=.end").text
    _signed(yard, "prepared")
    _walked(yard, "handover")
    assert 'id="signature"' in yard.get("/walk/handover/V01/H1?line=.end").text
    said = words(_signed(yard, "handover", signature=("s.png", SIGNATURE)).text)

    records = fleet.van(morning, "V01", None).records
    found = {one["what"]: one for one in records if one["record"] > 0}
    first, sheet = found["prepared sheet of H1"], found["handover sheet of H1"]
    defect = next(one for one in records if "a scratch" in one["words"])
    assert sheet["words"].endswith("signed by Y. Yard and by the hirer")
    kept = scans.kept_of_van(morning, "V01")
    octets = {number: sorted(one.octets for one in listed) for number, listed in kept.items()}
    assert octets == {
        first["record"]: [len(RED)], defect["record"]: [len(BLUE)],
        sheet["record"]: [len(SIGNATURE)],
    }  # fmt: skip
    assert sorted(_kept(morning).values()) == sorted([RED, BLUE, SIGNATURE])
    assert f"keeps the paper of #{sheet['record']}: png" in said
    with beside(morning) as connection:
        assert photos.of_sheet(connection, _walk(ref="H1").sheet) == []


def _prepared(place: str) -> Browser:
    """Somebody of the yard, with the van prepared and its handover sheet answered."""
    yard = Browser(place, "yard", name="Y. Yard")
    _walked(yard, "prepared")
    _signed(yard, "prepared")
    _walked(yard, "handover")
    return yard


@pytest.mark.parametrize(
    ("what", "data", "says"),
    [
        ("handover", _picture("white"), "shows nothing: the hirer signs again"),
        ("handover", PDF, "shows nothing: the hirer signs again"),
        ("prepared", SIGNATURE, "the hirer does not sign this sheet"),
    ],
    ids=["blank", "pdf", "not theirs"],
)
def test_what_is_no_signature_signs_nothing(
    what: str,
    data: bytes,
    says: str,
    morning: str,  # noqa: F811
) -> None:
    """A tap on the glass, a file that is no picture, a sheet that is the yard's alone: refused,
    and said that the hirer signs again."""
    yard = Browser(morning, "yard", name="Y. Yard")
    _walked(yard, "prepared")
    if what == "handover":
        _signed(yard, "prepared")
        _walked(yard, "handover")
    sent = _signed(yard, what, signature=("s.png", data))
    assert sent.status_code == 422
    label = "The hirer signs here, if they do: that they were shown what stands below"
    assert faults_of(sent.text) == [f"{label}: {says}"]
    again = "No signature was kept: the hirer signs again, if they did."
    assert (again in words(sent.text)) is (what == "handover")
    assert _kept(morning) == {}


@pytest.mark.parametrize(
    ("how", "drawn", "says"),
    [
        ("on the screen", False, "nobody signed there: the hirer signs where the walk ends, or say "
         "how they did"),
        ("would not sign: rain", True, "there is one on the screen: say which holds"),
        ("on the paper", True, ""),
        ("on the screen", True, ""),
        ("would not sign: rain", False, ""),
    ],
    ids=["nobody drew", "drawn after all", "on both", "on the screen", "on neither"],
)  # fmt: skip
def test_what_is_said_of_the_signature_is_what_there_is(
    how: str,
    drawn: bool,
    says: str,
    morning: str,  # noqa: F811
) -> None:
    """The line of the hirer's signature and the glass do not say two things."""
    yard = _prepared(morning)
    form = walks.begun(morning, _walk("handover", "H1")).form
    line = next(one.name for one in form.lines if one.kind.asks == "signature")
    page = yard.get(f"/walk/handover/V01/H1?line={line}").text
    for word in ("on the paper", "on the screen", "would not sign"):
        assert f'<button class="big" name="quick" value="{word}">{word.capitalize()}<' in page
    was = walks.begun(morning, _walk("handover", "H1")).answers[line].answer
    sent = yard.send("/walk/handover/V01/H1", line=line, answer=how, was=was)
    assert sent.status_code == 303, faults_of(sent.text)
    files = {"signature": ("s.png", SIGNATURE)} if drawn else {}
    signed = _signed(yard, "handover", **files)
    if says:
        assert signed.status_code == 422
        assert faults_of(signed.text) == [f'The hirer\'s signature: says "{how}", and {says}']
    else:
        kept = fleet.van(morning, "V01", None).records
        (sheet,) = [one for one in kept if one["what"] == "handover sheet of H1"]
        assert sheet["words"].endswith("and by the hirer") is drawn


def test_whoever_signs_is_held_to_the_photos_they_were_shown(morning: str) -> None:  # noqa: F811
    """A photo that somebody adds meanwhile is shown first."""
    yard = _prepared(morning)
    line = walks.begun(morning, _walk("handover", "H1")).form.lines[0].name
    state = walks.begun(morning, _walk("handover", "H1")).state
    _send(yard, "/walk/handover/V01/H1/photo", {"photo": ("1.jpg", RED)}, line=line)
    sent = yard.send("/walk/handover/V01/H1/sign", state=state)
    assert sent.status_code == 409
    assert "An answer was given or changed since you were shown them" in words(sent.text)


def test_a_walk_of_photos_alone_is_not_forgotten(opened: Opened, sample_day: dt.date) -> None:
    """It stands among the walks not signed; on the next day its photo is shown, and the sheet is
    not signed until somebody begins anew."""
    yard = opened("yard", name="W. Yard")
    line = _line(yard)
    _send(yard, f"{ROOT}/photo", {"photo": ("1.jpg", RED)}, line=line)
    (begun,) = walks.half_done(yard.place)
    assert (begun.answered, begun.by) == (0, "W. Yard")
    next_day = dt.datetime.combine(sample_day, dt.time(9), dt.UTC) + dt.timedelta(days=1)
    with clock.standing_at(next_day):
        yard = opened("yard", name="N. Day")
        (row,) = walks.begun(yard.place, _walk()).old_photos
        assert f"{line}: a photo (W. Yard, {sample_day})" in yard.text(ROOT)
        assert yard.get(f"{ROOT}/photo/{row.number}").status_code == 200
        sent = yard.send(f"{ROOT}/sign", state=walks.begun(yard.place, _walk()).state)
        assert "that was never signed: report what it shows, and begin anew" in words(sent.text)
        yard.send(f"{ROOT}/anew")
        assert walks.begun(yard.place, _walk()).old_photos == []
        assert walks.half_done(yard.place) == []


def test_what_was_said_before_a_walk_was_begun_anew_is_not_of_it(
    opened: Opened, sample_day: dt.date
) -> None:
    """A photo and an answer that waited for a signal meanwhile are refused; later ones are kept."""
    yard = opened("yard")
    line = _line(yard)
    yard.send(f"{ROOT}/anew")
    day = {"line": line, "ago": "600", "day": str(sample_day)}
    keys = [f"0f8fad5b-d9cb-469f-a165-70867728950{n}" for n in range(3)]
    old = _send(yard, f"{ROOT}/photo", {"photo": ("1.jpg", RED)}, **day, key=keys[0])
    said = yard.send(ROOT, **day, quick="ok", key=keys[1])
    for sent in (old, said):
        assert sent.status_code == 422
        assert "was said before the sheet was begun anew: look again" in faults_of(sent.text)[0]
    new = yard.send(ROOT, **{**day, "ago": "0"}, quick="ok", key=keys[2])
    assert new.status_code == 303


def test_the_photos_of_a_walk_have_room_for_so_much(
    opened: Opened, monkeypatch: pytest.MonkeyPatch
) -> None:
    """All of them are written at once: so many octets and no more."""
    monkeypatch.setattr(taken, "MOST_OCTETS", 2**20)
    yard = opened("yard")
    large = {"photo": ("1.jpg", JPEG + bytes(600_000))}
    said = [_send(yard, f"{ROOT}/photo", large, line=_line(yard)) for _ in range(2)]
    assert [one.status_code for one in said] == [303, 422]
    assert faults_of(said[-1].text) == [
        "Photo, from the camera: is more than the 1 MB that the photos of a walk may have"
    ]
