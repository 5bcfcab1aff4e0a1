"""Papers taken out of the pages: what each file is, and that making it writes nothing."""

from __future__ import annotations

import tempfile
from io import BytesIO
from pathlib import Path

import openpyxl
import pytest
from icalendar import Calendar

from fleetcare.desk import fleet
from fleetcare.errors import NotInstalled
from fleetcare.web import papers
from fleetcare.web.papers import as_file
from tests.typed import typed
from tests.web.conftest import Browser, Opened, faults_of, records

PDF = "application/pdf"
PAPERS = {
    "insurers.xlsx": (
        "insurers-2026-11-23.xlsx",
        "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    ),
    "pack.pdf?van=V01&from_on=2026-08-01&through_on=2026-08-14": (
        "pack-V01-2026-08-01-2026-08-14.pdf", PDF,
    ),
    "label.pdf?van=V01": ("label-V01.pdf", PDF),
    "aboard.pdf?van=V01": ("aboard-V01.pdf", PDF),
    "monday.pdf?grouped=trade": ("monday-2026-11-23.pdf", PDF),
    "diary.pdf": ("diary-2026-11-23.pdf", PDF),
    "calendar.ics": ("due-2026-11-23.ics", "text/calendar; charset=utf-8"),
}  # fmt: skip


def _all(browser: Browser) -> bytes:
    return records(browser.place) + Path(f"{browser.place}.people").read_bytes()


def test_each_paper_is_a_file_of_its_kind(
    opened: Opened, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With a name to be kept under; nothing is written, and nothing is left where it was made."""
    lead = opened("workshop")
    before = _all(lead)
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "made"))
    (tmp_path / "made").mkdir()

    for path, (name, kind) in PAPERS.items():
        answer = lead.get(f"/papers/{path}")
        assert (answer.status_code, answer.headers["content-type"]) == (200, kind), path
        assert answer.headers["content-disposition"] == (
            f"attachment; filename=\"{name}\"; filename*=UTF-8''{name}"
        )
        begins = {PDF: b"%PDF-", "text/calendar; charset=utf-8": b"BEGIN:VCALENDAR"}
        assert answer.content.startswith(begins.get(kind, b"PK"))
        assert list((tmp_path / "made").iterdir()) == []
    assert _all(lead) == before


def test_a_paper_is_what_the_terminal_writes(opened: Opened, tmp_path: Path) -> None:
    """The workbook has the same sheets, one of evidence where it is asked for; the calendar is the
    same to the byte."""
    owner = opened("owner")
    file = tmp_path / "due.ics"
    typed(owner.place, f"export calendar -o {file}")
    made = owner.get("/papers/calendar.ics").content
    assert made == file.read_bytes()
    assert len(Calendar.from_ical(made).events) > 20
    typed(owner.place, f"export insurers --evidence V01 --on 2026-11-01 -o {tmp_path / 'w.xlsx'}")
    made = owner.get("/papers/insurers.xlsx?evidence=V01&on=2026-11-01").content
    ours, theirs = (openpyxl.load_workbook(one) for one in (BytesIO(made), tmp_path / "w.xlsx"))
    assert ours.sheetnames == theirs.sheetnames
    for name in ours.sheetnames:
        assert list(ours[name].values) == list(theirs[name].values)


def test_what_a_paper_cannot_be_made_for(opened: Opened) -> None:
    """Is told on the page, each fault at its field, and what was typed stays there."""
    lead = opened("workshop")
    asked = {
        "pack.pdf?van=&from_on=2026-08-09&through_on=": [
            "Van: is not filled in", "Last day: is not filled in",
        ],
        "pack.pdf?van=V01&from_on=2026-08-09&through_on=2026-08-01": [
            '"Last day": 2026-08-01 is before 2026-08-09',
        ],
        "label.pdf": ["Van: is not filled in"],
        "insurers.xlsx?on=soon": ['Day: "soon" is not a day: type it like 2026-03-02'],
        "monday.pdf?grouped=moon": ['Grouped by: "moon" is not one of week, van, trade'],
    }  # fmt: skip
    for path, faults in asked.items():
        page = lead.get(f"/papers/{path}")
        assert (page.status_code, faults_of(page.text)) == (422, faults)
    assert 'value="2026-08-09"' in lead.get("/papers/pack.pdf?from_on=2026-08-09").text
    for path in ("label.pdf?van=V99", "aboard.pdf?van=%22x", "insurers.xlsx?evidence=V99"):
        page = lead.get(f"/papers/{path}")
        assert page.status_code == 422
        assert len(faults_of(page.text)) == 1
    assert lead.get("/papers/people.db").status_code == 404


def test_a_library_that_lacks_is_named(opened: Opened, monkeypatch: pytest.MonkeyPatch) -> None:
    """With what to install, and no word of a bug."""
    owner = opened("owner")

    def lacks(*_: object) -> bytes:
        raise NotInstalled('this needs the library "typst": install it with pip install "x[pdf]"')

    monkeypatch.setattr(papers.pack, "label", lacks)
    page = owner.get("/papers/label.pdf?van=V01")
    assert (page.status_code, faults_of(page.text)) == (
        503, ['this needs the library "typst": install it with pip install "x[pdf]"'],
    )  # fmt: skip


def test_a_name_that_is_not_plain() -> None:
    """Is told whole beside a plain one, and ends no header."""
    said = as_file('ä "b"\r\nx.pdf', b"").headers["content-disposition"]
    assert said == (
        "attachment; filename=\"paper.pdf\"; filename*=UTF-8''%C3%A4%20%22b%22%0D%0Ax.pdf"
    )


def test_the_page_of_papers_offers_every_van(opened: Opened) -> None:
    """To be chosen, and every file by a button or a link."""
    page = opened("workshop").get("/papers").text
    for path in PAPERS:
        assert f"/papers/{path.partition('?')[0]}" in page
    for van in fleet.names(opened("owner").place, ""):
        assert f'<option value="{van}">' in page
    assert 'href="/papers"' not in opened("clerk").get("/hires").text
