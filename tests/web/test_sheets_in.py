"""Sheets in: a blank taken, filled, sent back, looked at and read in."""

from __future__ import annotations

import io
import zipfile

import pytest

from fleetcare.desk import fleet
from tests.web.conftest import Opened, faults_of, words
from tests.web.test_uploads import _send


def _filled(*rows: str) -> bytes:
    """Defects as a CSV of ours."""
    return "\n".join(["Van,Found on,Grade,Words", *rows]).encode()


def test_a_sheet_is_looked_at_and_read_in(opened: Opened) -> None:
    """All its faults at once, each with its cell, and nothing written; put right, it is looked at
    without a trace and then read in; sent again, it adds nothing."""
    owner = opened("owner")
    size = fleet.size(owner.place)
    file = (
        "defects.csv",
        _filled(
            "V01,2026-11-20,awful,blind torn", "NONE,2026-11-20,minor,step loose", "V02,,minor,"
        ),
    )
    sent = _send(owner, "/sheets", {"sheet": file})
    assert sent.status_code == 422
    told = faults_of(sent.text)
    assert told == [
        "defects!4: says no Found on: fill it in",
        'defects!C2 "awful": "awful" is not one of dangerous, major, minor, advisory',
        'defects!A3 "NONE": "NONE" is not in the fleet: add it first',
    ]
    assert "No file was kept: choose it again." in sent.text
    assert fleet.size(owner.place) == size

    good = (
        "C:\\x\\defects.csv",
        _filled("V01,2026-11-20,minor,blind torn", "V02,2026-11-20,minor,step loose"),
    )
    looked = words(_send(owner, "/sheets", {"sheet": good}, only_look="yes").text)
    assert "It can be read in Loaded from #" in looked
    assert "Dry run: nothing was written." in looked
    assert fleet.size(owner.place) == size
    said = words(_send(owner, "/sheets", {"sheet": good}).text)
    assert said.startswith("Read in: defects.csv Loaded from #")
    assert "2 × defect" in said
    assert fleet.size(owner.place) == size + 2
    again = words(_send(owner, "/sheets", {"sheet": good}).text)
    assert "2 rows are in the book already: nothing was added." in again
    assert fleet.size(owner.place) == size + 2


def test_a_workbook_of_ours_goes_out_and_comes_back(opened: Opened) -> None:
    """The blank that is offered is read as it is; of somebody else's, what to do is told."""
    owner = opened("owner")
    assert 'href="/sheets/vans"' in owner.get("/sheets").text
    blank = owner.get("/sheets/vans")
    assert blank.headers["content-disposition"] == 'attachment; filename="vans.xlsx"'
    sent = _send(owner, "/sheets", {"sheet": ("vans.xlsx", blank.content)})
    assert faults_of(sent.text) == ["vans.xlsx: holds no filled row: nothing was read"]
    sent = _send(owner, "/sheets", {"sheet": ("fleet.csv", b"Name,Age\nx,1")})
    assert "fleet.csv: is none of our blanks" in faults_of(sent.text)[0]
    assert faults_of(owner.send("/sheets").text) == ["The filled sheet: no file was chosen"]


def test_a_sheet_with_a_thousand_faults_tells_the_first(opened: Opened) -> None:
    """And how many are left, as every refusal."""
    file = ("defects.csv", _filled(*["NONE,2026-11-20,minor,x"] * 1000))
    told = faults_of(_send(opened("owner"), "/sheets", {"sheet": file}).text)
    assert (len(told), told[-1]) == (51, "and 950 more: put these right first")


@pytest.mark.parametrize(
    ("name", "data", "says"),
    [
        ("a.xlsx", b"PK\x03\x04none", "a.xlsx: is not a workbook: save it as .xlsx, or as CSV UTF-8"),
        ("a.xls", b"\xd0\xcf\x11\xe0none", "a.xls: is encrypted, or an old .xls: save it as .xlsx without a password"),
        ("a.csv", b"Van\n\x00", "a.csv: is no CSV: a line is far too long, or holds bytes that are no text"),
    ],
)  # fmt: skip
def test_what_is_no_sheet(name: str, data: bytes, says: str, opened: Opened) -> None:
    """The desk's own refusal."""
    sent = _send(opened("owner"), "/sheets", {"sheet": (name, data)})
    assert faults_of(sent.text) == [says]


def test_a_sheet_that_unpacks_to_too_much(opened: Opened) -> None:
    """A zip of a few kilobytes that holds fifty megabytes is not unpacked."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as made:
        made.writestr("[Content_Types].xml", "x")
        made.writestr("xl/workbook.xml", b" " * (51 * 2**20))
    sent = _send(opened("owner"), "/sheets", {"sheet": ("a.xlsx", out.getvalue())})
    assert faults_of(sent.text) == ["a.xlsx: unpacks to over 50 MB or 200 parts: it is no sheet"]


def test_a_blank_that_there_is_none_of(opened: Opened) -> None:
    """It says which there are."""
    answer = opened("owner").get("/sheets/all.xlsx")
    assert answer.status_code == 404
    assert faults_of(answer.text) == [
        '"all.xlsx" is not one of vans, components, checks, due, defects, hires, all'
    ]


def test_a_sheet_is_the_owners(opened: Opened) -> None:
    """For it may hold bookings, vans and defects at once, which no other role may all write."""
    lead = opened("workshop")
    file = ("defects.csv", _filled("V01,2026-11-20,minor,blind torn"))
    assert _send(lead, "/sheets", {"sheet": file}).status_code == 403
