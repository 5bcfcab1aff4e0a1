"""The first week: an owner's messy list and forty papers become four vans that may go.

Ten commands, counted as they are typed; every fault of what was filled in is told at once. What is
filled in is typed into the workbook as a person would; the papers are those of `tests/vans.py`.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from fleetcare.errors import Refused
from tests.typed import typed

DAY = dt.date(2026, 8, 1)
VANS = ("K1", "K2", "K3", "K4")
HEAD = (
    "Fleet no;Reg No;First reg;Bought;Gross weight (kg);Front axle (kg);Rear axle (kg);Height (mm);"
    "Test class;Axles;Spare;Gas?;EHU;Rack;Gas alarm;Seats with belts;Gas hoses at;Gas appliances;"
    "Colour;MOT due"
)
LIST = "\n".join(
    [
        "Fell and Dale Campers;;;",
        "the fleet as of Easter;;;",
        HEAD,
        *(
            f"{van};QI2{n} QIQ;25/05/2024;01/06/2024;3500;1850;2000;2900;motor-caravan;single;kit;Y;"
            "N;N;N;4;locker;hob, heater;white;24/05/2027"
            for n, van in enumerate(VANS, 1)
        ),
    ]
)
TYRE = {"Made as marked": "0524", "Load index": "112", "Speed symbol": "R"}
PARTS: tuple[tuple[str, str, dict[str, Any]], ...] = (
    *(("tyre", f"{e}-{s}", TYRE) for e in ("front", "rear") for s in ("left", "right")),
    ("smoke-alarm", "living-area", {"Made as marked": "2024-01"}),
    ("co-alarm", "living-area", {"Made as marked": "2024-01", "Type": "en-50291-2"}),
    ("extinguisher", "door", {"Made as marked": "2024-01", "Type": "powder"}),
    ("fire-blanket", "kitchen", {}),
    ("first-aid-kit", "cab", {"Replace by as marked": "2029-01"}),
    ("gas-hose", "locker", {"Made as marked": "2024-01"}),
    ("regulator", "locker", {"Made as marked": "2024-01"}),
    ("appliance", "hob", {}),
    ("appliance", "heater", {}),
)
PAPERS: tuple[dict[str, Any], ...] = (
    {"Check": "Gas safety", "Ended": "pass", "By": "A. Fitter", "Certificate": "G-{van}"},
    {"Check": "extinguisher-basic", "Ended": "pass", "By": "E. Tester", "Place": "door"},
    *(
        {"Check": check, "Ended": "pass", "By": "B. Smith"}
        for check in ("habitation", "chassis", "water", "brake-fluid")
    ),
    {
        "Check": "tax", "First day as printed": dt.date(2026, 4, 1),
        "Last day as printed": dt.date(2027, 3, 31),
    },
)  # fmt: skip


class Trial:
    """A person at the keyboard: each command counts."""

    def __init__(self, book: Path) -> None:
        self.book, self.typed = str(book), 0

    def type(self, line: str) -> str:
        self.typed += 1
        return typed(self.book, line, DAY)


def _fill(file: Path, *, slips: bool) -> None:
    """The rows of every part and paper, below the headings that stand there."""
    book = openpyxl.load_workbook(file)
    _rows(book["Components"], [
        {"Van": van, "Component": what, "Place": place, "Fitted on": dt.date(2024, 6, 1), **marks}
        for van in VANS
        for what, place, marks in PARTS
    ])  # fmt: skip
    _rows(book["Checks"], [
        {
            "Van": van, "Done on": "1 July" if slips and n == 2 else dt.date(2026, 7, 1),
            **{key: str(v).format(van=van) if key == "Certificate" else v for key, v in one.items()},
        }
        for van in VANS
        for n, one in enumerate(PAPERS)
    ])  # fmt: skip
    if slips:
        book["Components"].cell(4, 2).value = "tire"
    book.save(file)


def _rows(page: Any, rows: list[dict[str, Any]]) -> None:
    heads = {cell.value: cell.column for cell in page[1]}
    for place, row in enumerate(rows, 3):
        for head, value in row.items():
            page.cell(place, heads[head]).value = value


def test_four_vans_are_hireable_in_ten_commands(tmp_path: Path) -> None:
    """From nothing to four times yes; each fault is told in the one refusal there is."""
    own, mapping, blank = (tmp_path / name for name in ("Our vans.csv", "ours.toml", "all.xlsx"))
    own.write_text(LIST)
    trial = Trial(tmp_path / "own.db")
    trial.type("init")
    trial.type(f'sheet draft "{own}" -o {mapping}')
    mapping.write_text(mapping.read_text().replace('# Rules = "gb"', 'Rules = "gb"'))
    trial.type(f'sheet read "{own}" --map {mapping}')
    trial.type(f"sheet blank all -o {blank}")
    trial.type(
        'inspector add "A. Fitter" --scope lpg-leisure-vehicle --register-no 12345 --from 2015-01-01'
    )
    trial.type('inspector add "E. Tester" --scope extinguisher --from 2015-01-01')
    _fill(blank, slips=True)
    with pytest.raises(Refused) as fault:
        trial.type(f"sheet read {blank}")
    assert len(fault.value.lines) == 1 + len(VANS)
    _fill(blank, slips=False)
    trial.type(f"sheet read {blank}")
    trial.type("record fleet insurance --from 2026-04-01 --last-day 2027-03-31 --certificate P-1")
    said = trial.type("missing")

    assert said.splitlines()[::2] == [
        f"{van} (QI2{n} QIQ): nothing is missing." for n, van in enumerate(VANS, 1)
    ]
    assert trial.typed == 10
    for van in VANS:
        line = f"hireable {van} --from 2026-08-03 --through 2026-08-09 --people 4 --licence B"
        assert "Book it? Yes" in typed(trial.book, line, DAY)


def test_a_todo_is_filled_in_the_yard_and_read_back(good: str, tmp_path: Path) -> None:
    """Three commands from "what is missing?" to yes; rows not filled in yet are said, not read."""
    todo, trial = tmp_path / "todo.xlsx", Trial(Path(good))
    for line in ("take-off V01 fire-blanket kitchen", "take-off V01 smoke-alarm living-area"):
        typed(good, line, DAY)
    trial.type(f"missing V01 --sheet -o {todo}")
    book = openpyxl.load_workbook(todo)
    page = book["Components"]
    heads = {cell.value: cell.column for cell in page[1]}
    listed = [(row[1].value, row[2].value) for row in page.iter_rows(min_row=2, max_row=3)]
    assert listed == [("smoke-alarm", "living-area"), ("fire-blanket", "kitchen")]
    page.cell(2, heads["Fitted on"]).value = DAY
    page.cell(2, heads["Made as marked"]).value = "2026-06"
    book.save(todo)

    said = trial.type(f"sheet read {todo}")
    assert "1 row is not filled in yet: nothing was read of them." in said
    page.cell(3, heads["Fitted on"]).value = DAY
    book.save(todo)
    trial.type(f"sheet read {todo}")
    assert typed(good, "missing V01", DAY) == "V01 (QI24 QIQ): nothing is missing.\n"
    assert trial.typed == 3
