"""The weeks on a page: each hire in its days leads to its page, and nothing taken looks free."""

from __future__ import annotations

import datetime as dt
import re

from tests.typed import typed
from tests.web.conftest import Opened, faults_of, words

_HIRE = re.compile(
    r'<a href="([^"]+)" aria-label="([^"]+)"><title>[^<]*</title><rect class="hire ([a-z-]+)" '
    r'x="([0-9.]+)" y="\d+" width="([0-9.]+)"'
)
_BAND = re.compile(r'fill="url\(#(\w+)\)" x="(\d+)" y="(\d+)" width="(\d+)"')


def test_each_hire_stands_in_its_days_and_leads_to_its_page(opened: Opened) -> None:
    """How it stands is said in words, by its frame and by what is written in it; a day that two
    share is halved, and one that is cut off ends with the chart."""
    page = opened("yard").get("/diary").text
    found = {one[0]: one[1:] for one in _HIRE.findall(page)}

    assert list(found) == [f"/hire/H{n}" for n in (141, 138, 135, 136, 137, 140, 139)]
    assert found["/hire/H141"] == (
        "H141, V01 (QI22 QIQ): Fri 4 Dec 2026 to Fri 11 Dec 2026, booked; may it: yes",
        "may", "287.5", "205",
    )  # fmt: skip
    assert found["/hire/H135"][1:] == ("no", "1.5", "153")
    assert found["/hire/H136"][1:] == ("may", "1.5", "114")
    assert found["/hire/H137"][1:] == ("if-done", "118.5", "244")
    assert found["/hire/H138"][1:] == ("if-done", "651.5", "439")
    assert all(f"#{name}" in page for name in ("stopped", "workshop", "taken"))
    assert "last day Sat 12 Dec 2026 of habitation service" in page


def test_a_van_that_is_not_back_is_taken_on_days_that_nobody_booked(opened: Opened) -> None:
    """Those days are marked beside the frame of its hire."""
    clerk = opened("clerk")
    page = clerk.get("/diary?from=2026-11-02").text
    row = re.findall(r'aria-label="H149, V03[^"]*".*?y="(\d+)"', page)[0]
    bands = [one for one in _BAND.findall(page) if one[2] == str(int(row) - 1)]

    assert ("taken", "0", str(int(row) - 1), str(8 * 26)) in bands  # it was back a day late


def test_weeks_earlier_and_later(opened: Opened) -> None:
    """Of the diary and of the bookings; a day that is none is said to be none."""
    clerk = opened("clerk")
    page = clerk.get("/diary").text
    assert 'href="/diary?from=2026-10-26"' in page
    assert 'href="/diary?from=2026-12-21"' in page
    assert "H149" not in words(page)
    assert "H149 Mon 2 Nov 2026 to Sun 8 Nov 2026;" in clerk.text("/diary?from=2026-10-28")
    assert "H149" not in clerk.text("/hires")
    said = clerk.text("/hires?from=2026-10-26")
    assert said.startswith("Bookings from Mon 26 Oct 2026")
    assert "H149" in said
    for path in ("/diary", "/hires"):
        answer = clerk.get(f"{path}?from=soon")
        assert answer.status_code == 422
        assert faults_of(answer.text) == ['First day: "soon" is not a day: type it like 2026-03-02']


def test_how_a_hire_stands_is_asked_today(good: str) -> None:
    """Not on the Monday of its week, when there was still a day to do something first."""
    typed(good, "hire add V01 --from 2026-08-14 --through 2026-08-16 --ref H1", dt.date(2026, 8, 1))
    for today, answer in ((10, "if done"), (14, "no")):  # the gas check ends on the 10th
        said = typed(good, "diary --weeks 1", dt.date(2026, 8, today))
        assert f"; H1 Fri 14 Aug 2026 to Sun 16 Aug 2026 ({answer})" in said


def test_what_is_typed_in_a_reference_is_text(opened: Opened) -> None:
    """In the chart too."""
    clerk = opened("clerk")
    evil = '<b>"x'
    form = {"from_on": "2026-12-07", "through_on": "2026-12-12", "van": "V08", "ref": evil}
    assert clerk.send("/counter", **form, even_so="known").status_code == 303
    page = clerk.get("/diary").text
    assert 'aria-label="&lt;b&gt;&quot;x, V08 (II72 QIQ)' in page
    assert "<b>" not in page
