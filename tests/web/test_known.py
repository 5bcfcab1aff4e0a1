"""A van as it was known when the book was smaller: by a slider, a number or a day."""

from __future__ import annotations

import datetime as dt
import re

from fleetcare.desk import history
from fleetcare.desk.asking import KnownAt
from fleetcare.desk.fleet import size
from tests.typed import typed
from tests.web.conftest import Opened, faults_of, words

TODAY = dt.date(2026, 11, 23)


def test_what_is_now_and_what_was_before_a_defect(opened: Opened) -> None:
    """With one record fewer the van was hireable; the record between is told, and what stands
    otherwise since."""
    yard = opened("yard")
    before = size(yard.place)
    typed(yard.place, 'defect report V01 --grade dangerous --about wheels "wheel loose"')
    now = size(yard.place)
    page = yard.text("/van/V01/known")
    assert f"With {now} records: hireable no on Mon 23 Nov 2026" in page
    assert "Known now" not in page
    page = yard.text(f"/van/V01/known?known_at={before}")
    assert f"With {before} records: hireable yes on Mon 23 Nov 2026" in page
    assert f"Known now, with {now} records: hireable no." in page
    assert f"#{now} dangerous defect, Mon 23 Nov 2026, wheel loose" in page
    assert f"defect #{now}: then did not apply; now failed (#{now})" in page


def test_every_record_between_is_told(opened: Opened) -> None:
    """However many, those of the van and no other's; the links step from one to the next."""
    owner = opened("owner")
    path, seen = "/van/V02/known?known_at=100", []
    known = history.as_known(owner.place, "V02", TODAY, KnownAt(100))
    page = owner.get(path).text
    assert len(known.between) > 20
    for line in known.between:
        assert line in words(page)
    for _ in range(3):
        path = re.findall(r'href="([^"]+)">One record of it on', page)[0].replace("&amp;", "&")
        page = owner.get(path).text
        seen.append(int(re.findall(r"known_at=(\d+)", path)[0]))
    firsts = [int(re.findall(r"#(\d+)", line)[0]) for line in known.between[:3]]
    assert seen == firsts
    back = re.findall(r'href="([^"]+)">One record of it back', page)[0]
    assert f"known_at={firsts[2] - 1}&" in back


def test_by_a_day_as_the_terminal_says(opened: Opened) -> None:
    """What was written down before its end, of whatever day is asked about."""
    clerk = opened("clerk")
    said = typed(clerk.place, "history V01 --on 2026-02-27 --known-at 2026-03-01")
    page = clerk.text("/van/V01/known?known_on=2026-03-01&on=2026-02-27")
    number = re.findall(r"by the first ([0-9,]+) records", said)[0]
    hireable = re.findall(r"hireable (\w+);", said)[0]
    assert f"With {number} records: hireable {hireable} on Fri 27 Feb 2026" in page


def test_what_was_never_known(opened: Opened) -> None:
    """A size the book never had, one before the van, and what is no number: said on the page, with
    the form to ask again."""
    clerk = opened("clerk")
    for asked, fault in (
        (
            "known_at=99999",
            '"With so many records": the book holds 802 records: @99999 is a size it never had',
        ),
        ("known_at=1", '"V01" was not in the book yet when it held 1 records'),
        ("known_at=x", 'With so many records: "x" is not a number of at most 11 digits'),
    ):
        page = clerk.get(f"/van/V01/known?{asked}")
        assert (page.status_code, faults_of(page.text)) == (422, [fault])
        assert 'type="range"' in page.text
    assert clerk.get("/van/V99/known").status_code == 404
