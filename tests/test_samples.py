"""The sample fleet and what it gives: built from readable text, compared cell by cell."""

from __future__ import annotations

import io
import shutil
import subprocess
import zipfile
from pathlib import Path
from typing import Any

import openpyxl
import pytest
import sqlalchemy as sa

from fleetcare import clock
from fleetcare.cli.demo import run as run_typed
from fleetcare.desk import papers, pictures, questions, sample
from fleetcare.desk.asking import asking
from fleetcare.render import due, text
from fleetcare.rules.kinds import KINDS
from fleetcare.store import tables

ROOT = Path(__file__).parent.parent
EXPORTS = ROOT / "exports"


@pytest.fixture
def place(sample_file: Path) -> str:
    """The sample, built; no test here writes to it."""
    return str(sample_file)


def _cells(data: bytes) -> dict[str, list[list[Any]]]:
    book = openpyxl.load_workbook(io.BytesIO(data))
    return {page.title: [[cell.value for cell in row] for row in page.iter_rows()] for page in book}


def make(place: str) -> dict[str, bytes]:
    """Every export of the sample on its own today."""
    today = sample.today()
    _, workbook = papers.insurers(place, today)
    return {
        "insurers.xlsx": workbook,
        "fleet.svg": pictures.draw(place, "fleet", today).encode(),
        "due.txt": (due.due(questions.due(place, today, None)) + "\n").encode(),
        "why-V11-gas.txt": (
            text.why(questions.why_rule(place, "V11", "gas", today)) + "\n"
        ).encode(),
    }


def test_the_exports_are_what_the_sample_gives(place: str) -> None:
    """The workbook cell by cell, the texts to the letter."""
    made = make(place)

    assert sorted(made) == sorted(p.name for p in EXPORTS.iterdir())
    ours = _cells(made["insurers.xlsx"])
    kept = _cells((EXPORTS / "insurers.xlsx").read_bytes())
    for cells in (ours, kept):
        cells["About"] = [row for row in cells["About"] if row[0] != "Database"]
    assert ours == kept
    for name in ("due.txt", "why-V11-gas.txt", "fleet.svg"):
        assert made[name].decode() == (EXPORTS / name).read_text("utf-8")


def test_the_sample_meets_every_standing(place: str) -> None:
    """On its today each standing is met at least once, late and lapsed both."""
    today = sample.today()
    seen = {item.standing for item in questions.due(place, today, 600).items}
    with asking(place) as asked:
        stood = [(o, o.at(today)) for j in asked.fleet() for o in j.outcomes]

    every = {standing for kind in KINDS.values() for standing in kind.standings.values()}
    assert seen | {o.standing(step) for o, step in stood} == every | {"due soon"}
    assert {"late", "overdue"} <= {step.code for _, step in stood}


def test_the_sample_carries_three_years_and_builds_alike(place: str, tmp_path: Path) -> None:
    """Records were written down over three years, and a second build has the same leaves."""
    sample.build(tmp_path / "again.db", run_typed)
    found = []
    for one in (place, str(tmp_path / "again.db")):
        with asking(one) as asked:
            rows = asked.connection.execute(
                sa.select(tables.record.c.leaf, tables.record.c.recorded_at).order_by(
                    tables.record.c.number
                )
            ).all()
            found.append([leaf for leaf, _ in rows])
            assert (rows[-1][1][:4], rows[0][1][:4]) == ("2026", "2023")
    assert found[0] == found[1]
    assert len(found[0]) > 600


def test_the_workbook_holds_to_its_points(place: str, tmp_path: Path) -> None:
    """Real dates, a bold frozen header, a filter over the data, print set-up, no live formula,
    text that looks like a formula kept as text, counts that agree, and the same bytes twice."""
    place = str(shutil.copy(place, tmp_path / "copy.db"))
    with clock.standing_at(sample.sample_lines()[-1].at):
        run_typed(
            [
                "--db",
                place,
                "--as",
                "X",
                "defect",
                "report",
                "V09",
                "--grade",
                "advisory",
                "--",
                "=HYPERLINK(1)",
            ]
        )
    _, data = papers.insurers(place, sample.today())
    book = openpyxl.load_workbook(io.BytesIO(data))
    about = {row[0].value: row[1].value for row in book["About"].iter_rows()}
    for page in book.worksheets[1:]:
        rows = list(page.iter_rows())
        assert [c.font.bold for c in rows[0]] == [True] * len(rows[0])
        assert page.freeze_panes == "A2"
        assert page.auto_filter.ref == f"A1:{rows[-1][-1].coordinate}"
        assert (page.page_setup.orientation, page.print_title_rows) == ("landscape", "$1:$1")
        assert page.sheet_properties.pageSetUpPr.fitToPage
        assert about[f"Rows on {page.title}"] == len(rows) - 1
        for row in rows[1:]:
            for cell in row:
                assert cell.data_type != "f"
                assert cell.value not in ("", "None")
                if cell.is_date:
                    assert cell.number_format == "yyyy-mm-dd"
    words = [c.value for c in book["Defects and holds"]["F"]]
    assert "=HYPERLINK(1)" in words
    assert str(about["As of"])[:10] == sample.today().isoformat()
    assert papers.insurers(place, sample.today())[1] == data
    assert not [n for n in zipfile.ZipFile(io.BytesIO(data)).namelist() if "external" in n.lower()]


def test_no_plate_of_the_sample_can_exist() -> None:
    """Each plate has an I or a Q where no mark of the current format has one, and no brand or
    person is real."""
    import re

    real = re.compile(r"[A-HJ-PR-Y]{2}\d{2} ?[A-HJ-PR-Z]{3}")
    lines = (ROOT / "sample_db" / "fleet.txt").read_text("utf-8")
    plates = set(re.findall(r"""--plate ["']?([A-Z0-9]{2,4} ?[A-Z0-9]{3})""", lines))

    assert len(plates) >= 12
    assert [p for p in plates if real.fullmatch(p)] == []


def test_nothing_shipped_is_a_database() -> None:
    """The sample is text and its builder; no built book is committed."""
    listed = subprocess.run(
        ["git", "ls-files", "*.db"], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout

    assert listed == ""


if __name__ == "__main__":
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        built = Path(folder) / "sample.db"
        sample.build(built, run_typed)
        for file, content in make(str(built)).items():
            (EXPORTS / file).write_bytes(content)
