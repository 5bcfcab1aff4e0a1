"""What the workbook for insurers says beside its lists: weeks, answers, papers, one van's evidence;
and that another spreadsheet program reads the same."""

from __future__ import annotations

import csv
import datetime as dt
import io
import shutil
import subprocess
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from python_calamine import CalamineWorkbook

from fleetcare.desk import papers
from tests.typed import typed, typed_all

DAY = dt.date(2026, 8, 1)
OFFICE = shutil.which("soffice") or shutil.which("libreoffice")


@pytest.fixture
def full(good: str, tmp_path: Path) -> str:
    """A van with a booking, a scan, a paper awaited."""
    (tmp_path / "a.pdf").write_bytes(b"%PDF-1.7")
    typed_all(
        good,
        [
            "hire add V01 --from 2026-08-12 --through 2026-08-18 --ref H1",
            f"attach 21 {tmp_path}/a.pdf",
            "record V01 chassis --pass --by C --paper-awaited",
        ],
        DAY,
    )
    return good


def _rows(data: bytes, name: str) -> list[dict[str, Any]]:
    """A sheet as an independent reader sees it."""
    head, *rows = (
        CalamineWorkbook.from_filelike(io.BytesIO(data)).get_sheet_by_name(name).to_python()
    )
    return [dict(zip(map(str, head), row, strict=True)) for row in rows]


def test_the_calendar_says_each_week_in_words(full: str) -> None:
    """The gas check lapses on 10 August: that week one item is due and the van is stopped for part;
    then it is stopped, and out as H1 all the same."""
    (row,) = _rows(papers.insurers(full, DAY)[1], "Calendar")

    assert row["w/c 2026-07-27"] == "in date"
    assert row["w/c 2026-08-10"] == "out H1; stopped for part; 1 due"
    assert row["w/c 2026-08-17"] == "out H1; stopped"
    assert len(row) == 2 + 26


def test_items_due_per_week_add_up_and_are_drawn(full: str) -> None:
    """Every last day within half a year is in one of the weeks; a chart stands beside them."""
    data = papers.insurers(full, DAY)[1]
    rows = _rows(data, "Due per week")
    page = openpyxl.load_workbook(io.BytesIO(data))["Due per week"]

    assert {str(r["Week from"]): r["Items due"] for r in rows}["2026-08-10"] == 1
    assert len(rows) == 26
    assert len(page._charts) == 1


def test_answers_and_papers_are_in_it(full: str) -> None:
    """What was answered by which records; which checks have their paper and which await it."""
    data = papers.insurers(full, DAY)[1]
    (answer,) = _rows(data, "Answers")
    checks = {row["Record"]: row["Paper"] for row in _rows(data, "Checks")}

    assert (answer["Hire"], answer["Hireable"], answer["By"]) == ("H1", "no", "Test")
    assert answer["Records known"] == 30
    assert checks[21] == "kept"
    assert checks[33] == "awaited"
    assert checks[22] == ""


def test_a_vans_evidence_is_a_sheet_where_it_is_asked_for(full: str) -> None:
    """Rule by rule with the records each rests on; and not otherwise."""
    plain = CalamineWorkbook.from_filelike(io.BytesIO(papers.insurers(full, DAY)[1])).sheet_names
    data = papers.insurers(full, DAY, None, ("V01",))[1]
    rows = {row["Rule"]: row for row in _rows(data, "Evidence V01")}

    assert "Evidence V01" not in plain
    assert rows["gas safety check"]["Records"] == "#2 #3 #6 #21 #32"
    assert "Gas Safety" in rows["gas safety check"]["Source"]


def test_the_counts_on_the_first_sheet_are_those_of_the_sheets(full: str) -> None:
    """Control totals: as many rows as are said, on every sheet."""
    data = papers.insurers(full, DAY, None, ("V01",))[1]
    book = CalamineWorkbook.from_filelike(io.BytesIO(data))
    about = {row[0]: row[1] for row in book.get_sheet_by_name("About").to_python()}
    counted = {n: len(book.get_sheet_by_name(n).to_python()) - 1 for n in book.sheet_names[1:]}

    assert {n: about[f"Rows on {n}"] for n in counted} == counted


@pytest.mark.skipif(OFFICE is None, reason="LibreOffice is not installed")
def test_another_office_opens_it_and_reads_the_same_cells(full: str, tmp_path: Path) -> None:
    """LibreOffice recalculates it and writes every sheet out: the same rows, no error in any."""
    data = papers.insurers(full, DAY, None, ("V01",))[1]
    (tmp_path / "e.xlsx").write_bytes(data)
    how = "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,false,false,false,-1"
    subprocess.run(
        [str(OFFICE), "--headless", f"-env:UserInstallation={tmp_path.joinpath('profile').as_uri()}",
         "--convert-to", how, "--outdir", tmp_path, tmp_path / "e.xlsx"],
        check=True, capture_output=True, timeout=170,
    )  # fmt: skip
    book = CalamineWorkbook.from_filelike(io.BytesIO(data))
    for name in book.sheet_names:
        with (tmp_path / f"e-{name}.csv").open(encoding="utf-8", newline="") as file:
            theirs = list(csv.reader(file))
        ours = book.get_sheet_by_name(name).to_python()
        assert len(theirs) == len(ours), name
        assert [row[0] for row in theirs] == [
            row[0].isoformat() if isinstance(row[0], dt.date) else str(row[0]) for row in ours
        ], name
        assert "Err:" not in str(theirs)
        assert "#REF!" not in str(theirs)


def test_the_command_takes_the_vans(full: str, tmp_path: Path) -> None:
    """As typed; a van nobody knows is refused with the nearest."""
    typed(full, f"export insurers -o {tmp_path}/e.xlsx --evidence V01", DAY)

    assert "Evidence V01" in openpyxl.load_workbook(tmp_path / "e.xlsx").sheetnames
    with pytest.raises(Exception, match='"V02" is not in the fleet'):
        typed(full, f"export insurers -o {tmp_path}/f.xlsx --evidence V02", DAY)


def test_what_is_overdue_is_in_no_week_in_date(sample_book: str) -> None:
    """Overdue but not yet stopping: the weeks say so until it stops, and so does the count."""
    _, data = papers.insurers(sample_book, dt.date(2026, 11, 23))
    weeks = next(list(row.values())[2:] for row in _rows(data, "Calendar") if row["Van"] == "V03")
    due = _rows(data, "Due per week")

    assert weeks[0].startswith("1 overdue")
    assert all("overdue" in words or "stopped" in words for words in weeks)
    assert due[0]["Overdue already"] > 0
    assert not due[1]["Overdue already"]


def test_a_repair_for_one_hire_is_marked_and_a_lasting_one_goes_before_it(
    sample_book: str,
) -> None:
    """Whoever reads the sheet sees that the plug in the tyre is no mend."""
    day = dt.date(2026, 11, 23)

    def shown() -> dict[str, Any]:
        rows = _rows(papers.insurers(sample_book, day)[1], "Defects and holds")
        return next(row for row in rows if row["Words"] == "cut")

    typed(sample_book, 'defect report V06 --grade major "cut"', day)
    number = int(shown()["Record"])
    typed(sample_book, f'defect repair {number} --by "roadside" --temporary "plugged"', day)
    first = shown()
    typed(sample_book, f'defect repair {number} --by "B. Smith" "new tyre"', day)

    assert first["Rectified by"] == "roadside, for that hire only"
    assert shown()["Rectified by"] == "B. Smith"


def test_a_fleet_paper_that_ended_is_not_in_force(good: str) -> None:
    """It stays to be seen, as what it was."""
    typed(
        good,
        "record fleet insurance --from 2025-04-01 --last-day 2026-03-31 --certificate P-1 "
        "--on 2025-04-01",
        DAY,
    )
    checks = _rows(papers.insurers(good, DAY)[1], "Checks")

    assert [row["Ended"] for row in checks if row["Certificate"] == "P-1"] == ["ended"]


def test_a_register_number_is_that_of_the_work(good: str) -> None:
    """A gas fitter's number says nothing of the water he looked at."""
    typed(good, 'record V01 water --on 2026-07-01 --pass --by "A. Fitter"', DAY)
    found = {
        (row["Check"], row["By"]): row["Register number"]
        for row in _rows(papers.insurers(good, DAY)[1], "Checks")
        if row["By"] == "A. Fitter"
    }

    assert len(found) == 2
    assert {str(what): number for (what, _), number in found.items()}["gas safety check"] == "12345"
    assert [number for (what, _), number in found.items() if what != "gas safety check"] == [""]


def test_the_first_sheet_says_which_vans_may_not_go_and_why(sample_book: str) -> None:
    """Counts that agree with the fleet sheet, each exception with its reasons, nothing cut."""
    _, data = papers.insurers(sample_book, dt.date(2026, 11, 23))
    book = openpyxl.load_workbook(io.BytesIO(data))
    page = book["About"]
    about = {row[0].value: row[1].value for row in page.iter_rows()}
    fleet = _rows(data, "Fleet")
    no = {
        f"{row['Van']} ({row['Reg']}): {row['Hireable']}"
        for row in fleet
        if row["Hireable"] != "yes"
    }

    assert about["Vans on fleet"] == len(fleet) == 12
    assert about["May go out that day"] + about["May not, or nobody can say"] == 12
    assert no == {name for name in about if "): " in name}
    assert about["V11 (IQ21 QQI): no"].startswith(
        "gas safety check: overdue, last passed Mon 13 Oct 2025"
    )
    assert about["V12 (II76 IQQ): no"].splitlines()[-1] == "and 7 more"
    names = [row[0].value for row in page.iter_rows()]
    assert max(map(len, names)) < page.column_dimensions["A"].width
    tall = {row[0].value: page.row_dimensions[row[0].row].height for row in page.iter_rows()}
    assert tall["V12 (II76 IQQ): no"] == 7 * 13.5


def test_what_is_no_rule_and_stops_a_van_is_a_reason_too(good: str) -> None:
    """In the words the clerk hears; that it is out on a hire is none."""
    typed(good, "van add V03 --jurisdiction gb", DAY)
    typed(good, "hire add V03 --from 2026-08-01 --through 2026-08-03 --ref H9 --even-so known", DAY)
    book = openpyxl.load_workbook(io.BytesIO(papers.insurers(good, DAY)[1]))
    about = {row[0].value: row[1].value for row in book["About"].iter_rows()}

    assert about["V03: no"].splitlines()[0] == (
        "on fleet: cannot say, nobody said from when the van is on fleet"
    )
    assert "H9" not in about["V03: no"]


def test_a_wide_sheet_is_printed_on_pages_beside_each_other(sample_book: str) -> None:
    """None is set smaller than can be read; each page names the van."""
    _, data = papers.insurers(sample_book, dt.date(2026, 11, 23))
    book = openpyxl.load_workbook(io.BytesIO(data))
    for page in book.worksheets[1:]:
        wide = sum(column.width for column in page.column_dimensions.values())
        assert wide / page.page_setup.fitToWidth < 236, page.title
        beside = page.page_setup.fitToWidth > 1
        assert (page.print_title_cols == "$A:$B") is beside
