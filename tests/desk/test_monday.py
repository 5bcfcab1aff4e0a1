"""Monday on the screen and on paper: no wider than a page, nothing left out, boxes to tick."""

from __future__ import annotations

import datetime as dt
import io
import json
from pathlib import Path

import click
import openpyxl
import pypdf
import pytest

from fleetcare import clock
from fleetcare.desk import questions
from fleetcare.render import due
from tests.typed import refused, typed

DAY = dt.date(2026, 11, 23)


def _in_one_line(text: str) -> str:
    return " ".join(text.split())


@pytest.fixture
def report(sample_book: str) -> questions.DueReport:
    with clock.standing_at(dt.datetime.combine(DAY, dt.time(12), dt.UTC)):
        return questions.due(sample_book, DAY, None)


def test_it_is_a_hundred_columns_wide_and_says_all(report: questions.DueReport) -> None:
    """Every item's van, title, place, days and hire stand on it; why, wherever something is wrong."""
    lines = due.due(report).splitlines()
    whole = _in_one_line(due.due(report))

    assert max(map(len, lines)) <= 100
    for job in due.jobs(report.items):
        assert any(line.startswith(job.item.van) for line in lines)
        assert (job.item.spoils or "").replace(" from ", ", ") in whole
        if job.item.group in ("overdue", "spoils", "out"):
            assert job.item.reason in whole
    for item in report.items:
        if item.standing != "cannot say":  # those are merged by the fact that nobody said
            assert item.title.split()[0] in whole
            assert due.day(item.last_good_day) in whole
            assert due.day(item.do_by) in whole


def test_what_stands_alike_shares_a_line() -> None:
    """Four wheels of one rule are one line; a wheel of another day is its own."""
    made = questions.DueReport(DAY, 1, "x", [], 1, ())
    item = due.DueItem(
        "V01", None, "tread", "tread to go out", "front-left", "due soon", DAY, 0, None, DAY, "yes",
        "read", "practice", "week", None, None,
    )  # fmt: skip
    wheels = ["front-left", "front-right", "rear-left"]
    items = [item._replace(place=place) for place in wheels]
    items.append(item._replace(place="rear-right", last_good_day=DAY + dt.timedelta(1)))

    assert due.due(made._replace(items=items)).splitlines()[2:7] == [
        "THIS WEEK, w/c Mon 23 Nov",
        "Van  What                                      Last day         Do by            Next hire it "
        "spoils",
        "V01  tread to go out front-left, front-right,  Mon 23 Nov 2026  Mon 23 Nov 2026",
        "     rear-left",
        "V01  tread to go out rear-right                Tue 24 Nov 2026  Mon 23 Nov 2026",
    ]


def test_wide_is_all_that_is_known_on_its_line(
    sample_book: str, report: questions.DueReport
) -> None:
    """One line an item, with plate and reason; what programs read is the same as ever."""
    wide = typed(sample_book, "due --wide", DAY).splitlines()
    items = due.merged_unsaid(report.items)

    assert sum(line.startswith("V") for line in wide) == len(items) + sum(
        line.startswith("Van ") for line in wide
    )
    assert all(any(item.reason in line for line in wide) for item in items)


@pytest.mark.parametrize("by", ["week", "van"])
def test_twelve_vans_are_one_page_of_a4(sample_book: str, tmp_path: Path, by: str) -> None:
    """Each van and each job is on it, grouped as asked."""
    file = tmp_path / "monday.pdf"
    typed(sample_book, f"due --by {by} -o {file}", DAY)
    (page,) = pypdf.PdfReader(io.BytesIO(file.read_bytes())).pages
    text = _in_one_line(page.extract_text())

    assert [round(float(side)) for side in page.mediabox[2:]] == [595, 842]
    for job in due.jobs(questions.due(sample_book, DAY, None).items):
        assert job.item.van in text
        assert job.item.title in text
    assert ("OVERDUE" in text) == (by == "week")
    assert ("V05 II23 QQI" in text) == (by == "van")


def test_a_group_without_paper_is_a_usage_fault(sample_book: str) -> None:
    """--by groups boxes to tick, which a screen has none of."""
    with pytest.raises(click.UsageError) as fault:
        typed(sample_book, "due --by van", DAY)
    assert fault.value.message == "--by groups the jobs on paper: add -o monday.pdf"


def test_one_visiting_trades_work_is_one_sheet(sample_book: str, tmp_path: Path) -> None:
    """Everything the gas engineer is asked for over the fleet, each van named; filled in and read
    back it is recorded, and what is not filled yet waits."""
    items = json.loads(typed(sample_book, "due --for lpg-leisure-vehicle --weeks 30 --json"))[
        "items"
    ]
    everything = json.loads(typed(sample_book, "due --weeks 30 --json"))["items"]
    assert {item["rule"] for item in items} == {
        "gas-safety-check", "gas-work-tested", "gas-after-alarm",
    }  # fmt: skip
    assert [item for item in everything if item["rule"] == "gas-safety-check"] == [
        item for item in items if item["rule"] == "gas-safety-check"
    ]

    typed(sample_book, f"due --for lpg-leisure-vehicle --weeks 30 -o {tmp_path}/gas.xlsx")
    book = openpyxl.load_workbook(tmp_path / "gas.xlsx")
    page = book["Checks"]
    heads = {cell.value: cell.column for cell in page[1]}
    rows = [row for row in page.iter_rows(min_row=3) if row[0].value == "V04"]
    assert [row[heads["Check"] - 1].value for row in rows] == ["gas-safety"]
    for head, value in {
        "Done on": DAY, "Ended": "pass", "By": "Isolde Quarmby", "Certificate": "G-99",
    }.items():  # fmt: skip
        rows[0][heads[head] - 1].value = value
    book.save(tmp_path / "gas.xlsx")
    said = typed(sample_book, f"sheet read {tmp_path}/gas.xlsx")
    assert "1 × check" in said
    assert "rows only say what is asked for" in said or "not filled in" in said


def test_a_scope_nobody_asks_for_is_refused(sample_book: str, tmp_path: Path) -> None:
    """With those there are; and a workbook is of one trade."""
    assert refused(sample_book, "due --for gas", DAY).startswith(
        '--for: "gas" is not one of electrical, extinguisher, gas-hose, lpg-leisure-vehicle, '
    )
    with pytest.raises(click.UsageError, match="say which with --for SCOPE"):
        typed(sample_book, f"due -o {tmp_path}/all.xlsx")
