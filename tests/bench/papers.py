"""What the papers cost: `python -m tests.bench.papers [FOLDER] [VANS]`.

The workbook against bare openpyxl writing the same cells, the pack, a sheet of ten thousand rows
against openpyxl's own reading, the calendar and the picture of a fleet.
"""

from __future__ import annotations

import datetime as dt
import io
import sys
import tempfile
from pathlib import Path

import openpyxl

from fleetcare.desk import feeds, filling, pack, papers, pictures
from fleetcare.intake import workbook
from tests.bench.fleet import TODAY, ready
from tests.bench.run import Row, timed


def bare_workbook(data: bytes) -> None:
    """The same cells by openpyxl alone: no style, no width, no judgement."""
    read = openpyxl.load_workbook(io.BytesIO(data), read_only=True)
    cells = {page.title: list(page.iter_rows(values_only=True)) for page in read.worksheets}

    def write() -> None:
        book = openpyxl.Workbook()
        for title, rows in cells.items():
            page = book.create_sheet(title)
            for row in rows:
                page.append(row)
        book.save(io.BytesIO())

    bare_workbook.seconds = timed(write, 3)  # type: ignore[attr-defined]
    bare_workbook.cells = sum(len(row) for rows in cells.values() for row in rows)  # type: ignore[attr-defined]


def out(folder: Path, vans: int) -> list[Row]:
    """The papers of a fleet."""
    place = ready(folder, vans)
    data = papers.insurers(place, TODAY)[1]
    bare_workbook(data)
    bare, cells = bare_workbook.seconds, bare_workbook.cells  # type: ignore[attr-defined]
    whole = timed(lambda: papers.insurers(place, TODAY), 3)
    one = timed(lambda: pack.evidence(place, "V00005", TODAY - dt.timedelta(14), TODAY), 3)
    return [
        (f"cells of the workbook of {vans:,} vans", f"{cells:,}", ""),
        ("workbook", f"{whole / bare:.2f} × bare openpyxl ({whole:.1f} s)", "1.3"),
        ("pack of one van", f"{one:.2f} s", "1 s"),
        ("calendar of the fleet", f"{timed(lambda: feeds.calendar(place, TODAY), 1):.1f} s", ""),
        (
            "picture of the fleet",
            f"{timed(lambda: pictures.draw(place, 'fleet', TODAY), 1):.1f} s",
            "",
        ),
    ]


def in_(folder: Path) -> list[Row]:
    """A sheet of ten thousand rows."""
    book = openpyxl.load_workbook(io.BytesIO(filling.blank(None, "checks")[1]))
    page = book["Checks"]
    for number in range(10_000):
        row = (f"V{number % 500:05d}", "chassis", TODAY, "pass", "A. Fitter")
        for column, value in enumerate(row, 1):
            page.cell(number + 3, column, value)
    file = folder / "rows.xlsx"
    book.save(file)

    def bare() -> int:
        read = openpyxl.load_workbook(file, read_only=True)
        return sum(1 for page in read.worksheets for _ in page.iter_rows(values_only=True))

    theirs = timed(bare, 3)
    ours = timed(lambda: workbook.read_file(str(file)), 3)
    return [
        ("cells of 10,000 rows", f"{ours / theirs:.2f} × openpyxl's reading ({ours:.1f} s)", "2")
    ]


def main() -> None:
    """Print the table."""
    given = sys.argv[1:] + [""] * 2
    folder = Path(given[0] or tempfile.mkdtemp())
    folder.mkdir(parents=True, exist_ok=True)
    rows = [*out(folder, int(given[1] or 1000)), *in_(folder)]
    width = max(len(name) for name, _, _ in rows)
    for name, figure, goal in rows:
        print(f"{name:{width}}  {figure}" + (f"; goal ≤ {goal}" if goal else ""))


if __name__ == "__main__":
    main()
