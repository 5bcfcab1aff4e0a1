"""The bookings as a list, and the fleet along the days, on the screen and on a sheet across."""

from __future__ import annotations

import datetime as dt
import io
import json

import pypdf
import pytest

from fleetcare import clock
from fleetcare.desk import diary, questions
from fleetcare.desk.calls import Question
from fleetcare.errors import Refused
from fleetcare.reports.diary import MARKS
from fleetcare.rules.party import NO_BIKES
from tests.typed import typed

DAY = dt.date(2026, 11, 23)
EARLY = dt.date(2026, 8, 1)


def _refs(place: str, words: str = "", today: dt.date = DAY) -> dict[str, tuple[str, str | None]]:
    rows = json.loads(typed(place, f"hire list --json {words}", today))
    return {f"{row['ref']} of {row['van']}": (row["stands"], row["answer"]) for row in rows}


def test_the_list_says_of_each_whether_it_may_go(sample_book: str) -> None:
    """As `hireable` answers it: what is to go out by its bookable, what is out by its hireable."""
    with clock.standing_at(dt.datetime.combine(DAY, dt.time(12), dt.UTC)):
        for one in diary.listed(sample_book, DAY, None, None):
            asked = Question(None, None, NO_BIKES, DAY, one.ref)
            if one.start > DAY:
                found = questions.hireable(sample_book, one.van, asked)
                assert one.answer == found.bookable, one
    assert _refs(sample_book, "--through 2026-11-30") == {
        "H135 of V05": ("out without release", "no"),
        "H136 of V06": ("out", "yes"),
        "H137 of V06": ("booked", "if done"),
    }


def test_one_moved_or_cancelled_is_called_so(good: str) -> None:
    """It is listed on the van it left, with the day, and has no answer any more."""
    typed(good, "van add V02 --like V01 --in-service-from 2026-01-01", EARLY)
    for ref, first in (("H1", "2026-08-03"), ("H2", "2026-08-05"), ("H3", "2026-08-07")):
        line = f"hire add V01 --from {first} --through {first} --ref {ref} --even-so known"
        typed(good, line, EARLY)
    typed(good, 'hire cancel H1 "not coming"', EARLY)
    typed(good, 'hire change H2 --van V02 "first van in the workshop"', EARLY)
    found = _refs(good, "", EARLY)

    assert found["H1 of V01"] == ("cancelled Sat 1 Aug 2026", None)
    assert found["H2 of V01"] == ("moved to V02 Sat 1 Aug 2026", None)
    assert found["H2 of V02"][0] == found["H3 of V01"][0] == "booked"


def test_the_last_day_is_not_before_the_first(good: str) -> None:
    """Refused, with nothing listed."""
    with pytest.raises(Refused) as fault:
        diary.listed(good, EARLY, dt.date(2026, 8, 3), EARLY)
    assert str(fault.value) == "--through: 2026-08-01 is before 2026-08-03"


def test_each_day_of_the_diary_is_as_the_book_answers_it(sample_book: str) -> None:
    """Free, or the last day of something: the van may go that day; not so: it may not. Held to the
    question asked anew for some days."""
    found = diary.diary(sample_book, DAY, 3)

    assert found.on == DAY
    for row in found.rows:
        for n in (1, 5, 9, 14, 20):
            mark = row.marks[n]
            day = DAY + dt.timedelta(n)
            report = questions.hireable(sample_book, row.van, Question(day, day, NO_BIKES, DAY))
            rules = [line.rule for line in report.blocking if line.rule != "hire"]
            rules = [r for r in rules if r not in ("licence", "seats-with-belts", "handover-sheet")]
            away = any(one.start <= day <= one.through for one in row.hires)
            assert (mark == "#") is away, (row.van, day)
            if mark in ".!":
                assert not rules, (row.van, day, rules)
            if mark == "x":
                assert rules, (row.van, day)


def test_a_last_day_is_marked_where_the_van_may_not_go_the_day_after(sample_book: str) -> None:
    """The habitation service of V03 is past its stop day from 13 December on."""
    rows = {row.van: row for row in diary.diary(sample_book, DAY, 3).rows}

    assert rows["V03"].marks == "." * 19 + "!" + "x"
    assert rows["V03"].lapses == ((dt.date(2026, 12, 12), "habitation service"),)


def test_it_begins_on_the_monday_and_is_no_wider_than_a_sheet(sample_book: str) -> None:
    """Eleven weeks are the most that stand beside each other."""
    said = typed(sample_book, "diary --weeks 11", DAY + dt.timedelta(3))

    assert said.splitlines()[0].split()[:2] == ["23", "Nov"]
    assert max(map(len, said.splitlines())) <= 100
    rows = json.loads(typed(sample_book, "diary --json --weeks 1", DAY))
    assert {day["is"] for row in rows for day in row["days"]} <= set(MARKS.values())


def test_workshop_days_are_marked(good: str) -> None:
    """A hold for the workshop is a day in it; any other is a day on which the van may not go."""
    typed(good, 'hold V01 --from 2026-08-04 --through 2026-08-05 "cab" --workshop', EARLY)
    typed(good, 'hold V01 --from 2026-08-06 --through 2026-08-06 "lent"', EARLY)

    assert diary.diary(good, dt.date(2026, 8, 3), 1).rows[0].marks == ".wwx..."


def test_on_paper_it_is_one_sheet_across(sample_book: str) -> None:
    """Twelve vans and eight weeks on one page of A4, every van and booking of them in it."""
    pytest.importorskip("typst")
    found = diary.diary(sample_book, DAY, 8)
    pages = pypdf.PdfReader(io.BytesIO(diary.paper(found))).pages
    text = pages[0].extract_text()

    assert len(pages) == 1
    assert float(pages[0].mediabox.width) > float(pages[0].mediabox.height)
    for row in found.rows:
        assert f"{row.van} ({row.plate})" in text
        assert all(one.ref in text for one in row.hires)
