"""Spreadsheets in: filled and read, read again, a firm's own, wrong in every cell, and hostile."""

from __future__ import annotations

import datetime as dt
import io
import json
import time
import tracemalloc
import zipfile
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from python_calamine import CalamineWorkbook

from fleetcare import clock
from fleetcare.desk import filling, questions, trust
from fleetcare.desk.asking import asking
from fleetcare.errors import Refused
from fleetcare.intake import workbook
from fleetcare.intake.columns import TABLES
from fleetcare.records.fields import fields_of
from tests.typed import typed

DAY = dt.date(2026, 8, 1)


def _fill(path: Path, kind: str, *rows: dict[str, Any]) -> Path:
    """Fill rows into a blank, under its headings."""
    _, data = filling.blank(None, kind)
    book = openpyxl.load_workbook(io.BytesIO(data))
    page = book[TABLES[kind].sheet]
    headings = [cell.value for cell in page[1]]
    for number, row in enumerate(rows, 3):
        for heading, value in row.items():
            page.cell(number, headings.index(heading) + 1, value)
    book.save(path)
    return path


V02 = {
    "Van": "V02", "Reg": "QI25 QIQ", "Rules": "gb", "On fleet from": dt.date(2024, 5, 10),
    "Max mass (kg)": 3500, "LPG": "yes", "Mains": "no", "Gas hoses at": "locker",
    "Gas appliances": "hob, heater", "Seats": 4,
}  # fmt: skip


def test_every_column_is_a_field_of_its_record() -> None:
    """The table of columns and the records say the same; each heading stands once."""
    for table in TABLES.values():
        fields = {field.name for field in fields_of(table.record)}
        assert {column.field.partition(":")[0] for column in table.columns} <= fields
        headings = [column.heading for column in table.columns]
        assert len(set(headings)) == len(headings)
        needed = {f.name for f in fields_of(table.record) if not f.optional}
        defaulted = set(table.record._field_defaults)  # type: ignore[attr-defined]
        have = {column.field for column in table.columns if column.needed}
        assert needed - defaulted - {"number"} <= have


@pytest.mark.parametrize("kind", TABLES)
def test_a_blank_has_lists_dates_an_example_and_notes(kind: str) -> None:
    """Read by an independent reader: headings, the example row, how to fill; drop-downs and dates
    are held by the spreadsheet itself."""
    _, data = filling.blank(None, kind)
    read = CalamineWorkbook.from_filelike(io.BytesIO(data))
    rows = read.get_sheet_by_name(TABLES[kind].sheet).to_python()
    page = openpyxl.load_workbook(io.BytesIO(data))[TABLES[kind].sheet]
    rules = page.data_validations.dataValidation

    assert rows[0] == [column.heading for column in TABLES[kind].columns]
    assert str(rows[1][0]).startswith("(example)")
    assert read.sheet_names == [TABLES[kind].sheet, "How to fill", "Lists"]
    assert {"date"} <= {rule.type for rule in rules} <= {"list", "date"}
    assert page.freeze_panes == "A2"


def test_an_untouched_blank_holds_nothing(good: str, tmp_path: Path) -> None:
    """The example row is never read."""
    found = filling.read(good, "Test", str(_fill(tmp_path / "v.xlsx", "vans")))

    assert [p.message for p in found.faults] == ["holds no filled row: nothing was read"]


def test_a_filled_sheet_is_judged_as_typed(good: str, tmp_path: Path) -> None:
    """A van, its tyre, its check with a reading, a defect, a booking: what is read stands as if it
    had been typed."""
    typed_too = str(tmp_path / "typed.db")
    Path(typed_too).write_bytes(Path(good).read_bytes())
    for kind, row in (
        ("vans", V02),
        ("components", {"Van": "V02", "Component": "tyre", "Place": "front-left",
                        "Fitted on": dt.date(2024, 5, 1), "Made as marked": "0524",
                        "Load index": 112, "Speed symbol": "R", "Cold pressure (psi)": 65}),
        ("checks", {"Van": "V02", "Check": "habitation", "Done on": dt.date(2026, 7, 1),
                    "Ended": "pass", "By": "B. Smith", "Readings": "damp:rooflight=12"}),
        ("defects", {"Van": "V02", "Found on": "2026-07-02", "Grade": "minor", "Words": "blind"}),
        ("hires", {"Van": "V02", "Reference": "H9", "From": dt.date(2026, 9, 1),
                   "Through": dt.date(2026, 9, 5), "Bikes": 2}),
    ):  # fmt: skip
        typed(good, f"sheet read {_fill(tmp_path / f'{kind}.xlsx', kind, row)}", DAY)
    for line in (
        'van add V02 --plate "QI25 QIQ" --jurisdiction gb --in-service-from 2024-05-10 '
        "--max-mass 3500kg --lpg --no-mains --gas-hose-at locker --appliance hob,heater --seats 4",
        "fit V02 tyre front-left --made 0524 --on 2024-05-01 --load-index 112 --speed-symbol R "
        "--cold-pressure 65psi",
        'record V02 habitation --on 2026-07-01 --pass --by "B. Smith" --reading damp:rooflight=12',
        'defect report V02 --grade minor "blind" --on 2026-07-02',
        "hire add V02 --from 2026-09-01 --through 2026-09-05 --ref H9 --bikes 2 --even-so known",
    ):
        typed(typed_too, line, DAY)

    def judged(place: str) -> Any:
        with asking(place) as asked:
            return [
                (o.rule.name, o.place, [(s.start, s.verdict, s.code) for s in o.timeline.steps])
                for o in asked.judged("V02").outcomes
            ], [hire._replace(even_so=None)[2:] for hire in asked.judged("V02").hires]

    assert judged(good) == judged(typed_too)
    assert trust.verify(good).faults == []


def test_reading_it_again_adds_nothing_and_says_so(good: str, tmp_path: Path) -> None:
    """And a row added since is the only one that is new."""
    file = _fill(tmp_path / "v.xlsx", "vans", V02)
    typed(good, f"sheet read {file}", DAY)
    size = trust.status(good).records
    again = typed(good, f"sheet read {file}", DAY)
    more = _fill(tmp_path / "w.xlsx", "vans", V02, V02 | {"Van": "V03", "Reg": "QI26 QIQ"})
    added = filling.read(good, "Test", str(more))
    checks = [{"Van": "V02", "Check": "chassis", "Done on": dt.date(2026, 7, 1), "Ended": "pass",
               "By": "A. Fitter", "Even so": "w"}]  # fmt: skip
    for expected in (1, 0):
        found = filling.read(
            good, "Test", str(_fill(tmp_path / f"c{expected}.xlsx", "checks", *checks))
        )
        assert (found.added, found.known) == (expected, 1 - expected)

    assert again.splitlines()[0] == "1 row is in the book already: nothing was added."
    assert trust.status(good).records == size + 2
    assert (added.added, added.known) == (1, 1)


def test_a_sheet_changes_nothing_that_was_said(good: str, tmp_path: Path) -> None:
    """It knows no day from which a thing is otherwise: that is said, cell by cell."""
    typed(good, f"sheet read {_fill(tmp_path / 'v.xlsx', 'vans', V02)}", DAY)
    other = V02 | {"Max mass (kg)": 3850, "Berths": 2}
    found = filling.read(good, "Test", str(_fill(tmp_path / "w.xlsx", "vans", other)))
    (tyre,) = [{"Van": "V01", "Component": "tyre", "Place": "front-left",
                "Fitted on": dt.date(2024, 5, 1), "Made as marked": "0624"}]  # fmt: skip
    fitted = filling.read(good, "Test", str(_fill(tmp_path / "t.xlsx", "components", tyre)))

    assert [str(p) for p in found.faults] == [
        'Vans!H3 "3850": is 3500kg in the book: where that changed, say from which day with '
        "fleetcare van change V02"
    ]
    assert "differs from #7: put that right with fleetcare correct 7" in str(fitted.faults[0])


def test_every_fault_is_told_with_its_cell(good: str, tmp_path: Path) -> None:
    """Sheet, cell, value, what is wrong, what to do; and nothing of the good rows is written."""
    bad = {"Van": "V 03", "Rules": "gb", "On fleet from": "10/05/2024", "Max mass (kg)": "3,5t",
           "LPG": "maybe", "Seats": 4.5, "Axles": "=1+1"}  # fmt: skip
    before = trust.status(good)
    found = filling.read(good, "Test", str(_fill(tmp_path / "v.xlsx", "vans", V02, bad)))

    assert [str(p) for p in found.faults] == [
        'Vans!G4 "10/05/2024": is not a day: put it as a date, or like 2026-03-02',
        'Vans!X4 "4.5": is not a whole number from 0 to 60',
        "Vans!AA4: holds a formula: put its value there instead",
        'Vans!AC4 "maybe": is neither yes nor no',
    ]
    assert trust.status(good) == before
    with pytest.raises(Refused):
        typed(good, f"sheet read {tmp_path}/v.xlsx", DAY)
    fails = {"Van": "V77", "Check": "gas-safty", "Done on": dt.date(2026, 8, 9), "Ended": "pass"}
    found = filling.read(good, "Test", str(_fill(tmp_path / "c.xlsx", "checks", fails)))
    assert [str(p) for p in found.faults] == [
        'Checks!A3 "V77": "V77" is not in the fleet: add it first'
    ]


def test_a_heading_nobody_knows_and_one_that_is_missing(good: str, tmp_path: Path) -> None:
    """What the column should be called, and which must be there."""
    book = openpyxl.Workbook()
    page = book.active
    page.title = "Vans"
    page.append(["Van", "Regg", "Van"])
    page.append(["V02", "QI25 QIQ", "V02"])
    book.save(tmp_path / "v.xlsx")
    book = openpyxl.Workbook()
    book.active.title = "Cars"
    book.active.append(["Van"])
    book.save(tmp_path / "w.xlsx")
    found = filling.read(good, "Test", str(tmp_path / "v.xlsx"))
    other = filling.read(good, "Test", str(tmp_path / "w.xlsx"))

    assert str(found.faults[0]).startswith('Vans!B1 "Regg": is no column here. Did you mean "Reg"?')
    assert str(found.faults[1]) == 'Vans!C1 "Van": stands twice: keep one of them'
    assert "is none of our blanks: its sheets are Cars; ours are Vans" in str(other.faults[0])


@pytest.mark.parametrize("kind", TABLES)
def test_a_column_that_is_missing_is_told_of_every_kind(
    good: str, tmp_path: Path, kind: str
) -> None:
    """Rows under the columns that are there are not taken for whole."""
    table = TABLES[kind]
    needed = [column.heading for column in table.columns if column.needed]
    (tmp_path / f"{table.sheet}.csv").write_text(f"{needed[0]},Even so\nV01,x\n")
    found = filling.read(good, "Test", f"{tmp_path}/{table.sheet}.csv").faults

    for heading in needed[1:]:
        assert f'has no column "{heading}": add it' in [p.message for p in found]


MAP = """
[[sheet]]
name = "Fleet"
kind = "vans"
date_format = "DD/MM/YYYY"
ignore = ["Colour"]
[sheet.columns]
"Fleet no" = "Van"
"Number plate" = "Reg"
"Bought" = "On fleet from"
"Gross" = "Max mass (kg)"
[sheet.units]
"Gross" = "kg"
[sheet.fixed]
Rules = "gb"
"""


def test_a_firms_own_sheet_is_read_through_a_mapping(good: str, tmp_path: Path) -> None:
    """CSV or workbook; its date format is named once and never guessed."""
    (tmp_path / "map.toml").write_text(MAP)
    (tmp_path / "Fleet.csv").write_text(
        "Fleet no;Number plate;Colour;Bought;Gross\nV02;QI25 QIQ;white;03/04/2024;3500\n"
    )
    typed(good, f"sheet read {tmp_path}/Fleet.csv --map {tmp_path}/map.toml", DAY)
    with asking(good) as asked:
        (said,) = asked.facts("V02").stated

    assert (said.plate, said.in_service_from, said.max_mass, said.jurisdiction) == (
        "QI25 QIQ", dt.date(2024, 4, 3), "3500kg", "gb",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('kind = "vans"', 'kind = "van"', "sheet[1].kind: must be one of vans, components"),
        ('"Van"', '"Vann"', 'sheet[1].columns.Fleet no: "Vann" is no column. Did you mean "Van"?'),
        ("DD/MM/YYYY", "day first", "sheet[1].date_format: must be like DD/MM/YYYY"),
        ("ignore", "ignored", "sheet[1].ignored: is no key here"),
        ('Rules = "gb"', 'Van = "V02"', "sheet[1].fixed.Van: is a column already: keep one of"),
        (
            '"Gross" = "kg"',
            '"Weight" = "kg"',
            "units.Weight: is no heading of a column that has a unit",
        ),
        (
            '"Gross" = "kg"',
            '"Gross" = " Kg"',
            'units.Gross: " Kg" is no unit of it: put one like kg',
        ),
        (
            '"Gross" = "kg"',
            '"Gross" = "0kg"',
            'units.Gross: "0kg" is no unit of it: put one like kg',
        ),
        ('"Gross" = "kg"', '"Gross" = "psi"', 'units.Gross: "psi" is no unit of it: put one like'),
        (
            '"Gross" =',
            '"gross" = "Berths"\n"Gross" =',
            "columns: has two headings that differ in case",
        ),
        ("ignore", "heading_row = 0\nignore", "heading_row: must be the number of a row, 1 to 50"),
        ("ignore", 'heading_row = "3"\nignore', "heading_row: must be the number of a row"),
        ("ignore", "heading_row = 9\nignore", "Fleet!9: holds nothing, and the mapping says it"),
        ("[sheet.fixed]", "[sheet.values]\nColour = 1\n[sheet.fixed]", "values.Colour: is no head"),
        ("[sheet.fixed]", "[sheet.values]\nGross = 1\n[sheet.fixed]", "values.Gross: must be a t"),
        ('"DD/MM/YYYY"', '["DD/MM/YYYY", "soon"]', "date_format: must be like DD/MM/YYYY"),
        ("DD/MM/YYYY", "DD%MM/YYYY", "sheet[1].date_format: must be like DD/MM/YYYY"),
        ('"Fleet"', '"Vans 2025"', 'has no sheet "Vans 2025", which the mapping names'),
        ("[[sheet]]", "[sheets]", "must hold [[sheet]] tables and nothing else"),
    ],
)
def test_a_wrong_mapping_is_told(good: str, tmp_path: Path, old: str, new: str, says: str) -> None:
    """With its place in the file."""
    (tmp_path / "map.toml").write_text(MAP.replace(old, new, 1))
    (tmp_path / "Fleet.csv").write_text("Fleet no\nV02\n")
    try:
        found = filling.read(good, "Test", f"{tmp_path}/Fleet.csv", f"{tmp_path}/map.toml")
        told = " ".join(map(str, found.faults))
    except Refused as fault:
        told = str(fault)

    assert says in told


def test_what_was_taken_back_is_not_read_in_again(good: str, tmp_path: Path) -> None:
    """A sheet kept on a desk does not undo a withdrawal."""
    check = {"Van": "V01", "Check": "chassis", "Done on": dt.date(2026, 7, 1), "Ended": "pass",
             "By": "A. Fitter", "Even so": "w"}  # fmt: skip
    file = _fill(tmp_path / "c.xlsx", "checks", check)
    typed(good, f"sheet read {file}", DAY)
    number = trust.status(good).records
    typed(good, f'withdraw {number} "another van"', DAY)
    found = filling.read(good, "Test", str(file))

    assert [str(p) for p in found.faults] == [
        f"Checks!3: is what #{number} said, which #{number + 1} took back: take the row out, "
        'or say why under "Even so", or type it anew, if it is true after all'
    ]


def test_a_check_is_known_again_when_who_did_it_became_an_inspector(
    good: str, tmp_path: Path
) -> None:
    """The name is one person, in the book as typed then or as an inspector now."""
    check = {"Van": "V01", "Check": "chassis", "Done on": dt.date(2026, 7, 1), "Ended": "pass",
             "By": "Z. Smith", "Even so": "w"}  # fmt: skip
    file = _fill(tmp_path / "c.xlsx", "checks", check)
    typed(good, f"sheet read {file}", DAY)
    typed(good, 'inspector add "Z. Smith"', DAY)

    assert filling.read(good, "Test", str(file)).known == 1


def test_a_bare_figure_has_a_unit_and_is_likely(good: str, tmp_path: Path) -> None:
    """Under a firm's own heading nothing says the unit; a tonne typed as kg is refused."""
    (tmp_path / "map.toml").write_text(MAP.replace('"Gross" = "kg"', ""))
    (tmp_path / "Fleet.csv").write_text(
        "Fleet no,Number plate,Colour,Bought,Gross\nV02,QI25 QIQ,white,03/04/2024,3500\n"
    )
    bare = filling.read(good, "Test", f"{tmp_path}/Fleet.csv", f"{tmp_path}/map.toml")
    tonnes = _fill(tmp_path / "v.xlsx", "vans", V02 | {"Max mass (kg)": 3.5})
    found = filling.read(good, "Test", str(tonnes))

    assert [str(p) for p in bare.faults] == [
        'Fleet!E2 "3500": has no unit: type it like 3500kg, or name the unit in the mapping'
    ]
    assert [str(p) for p in found.faults] == [
        'Vans!H3 "3.5": is not within 1500 to 7500 kg: if it is so, or in another unit, type it '
        "with its unit"
    ]


def test_a_units_figure_is_likely_in_that_unit(good: str, tmp_path: Path) -> None:
    """3.5 t is 3500 kg; 3500 t is no van."""
    (tmp_path / "map.toml").write_text(MAP.replace('"Gross" = "kg"', '"Gross" = "t"'))
    for figure, faults in (("3.5", 0), ("3500", 1)):
        (tmp_path / "Fleet.csv").write_text(
            f"Fleet no,Number plate,Colour,Bought,Gross\nV02,QI25 QIQ,white,03/04/2024,{figure}\n"
        )
        found = filling.read(
            good, "Test", f"{tmp_path}/Fleet.csv", f"{tmp_path}/map.toml", dry_run=True
        )
        assert len(found.faults) == faults


def test_a_fact_of_a_van_that_was_taken_back_is_not_read_in_again(
    good: str, tmp_path: Path
) -> None:
    """Whatever else the row says."""
    file = _fill(tmp_path / "v.xlsx", "vans", V02)
    typed(good, f"sheet read {file}", DAY)
    typed(good, "van change V02 --wheelbase 4035mm", DAY)
    number = trust.status(good).records
    typed(good, f'withdraw {number} "another van"', DAY)
    row = V02 | {"Wheelbase (mm)": 4035}
    (found,) = filling.read(good, "Test", str(_fill(tmp_path / "w.xlsx", "vans", row))).faults

    assert f'"4035": is what #{number} said, which #{number + 1} took back' in str(found)


def test_a_sheet_that_is_nearly_ours_is_not_passed_over(good: str, tmp_path: Path) -> None:
    """A defect on a sheet with a name of its own would be lost without a word."""
    book = openpyxl.load_workbook(_fill(tmp_path / "v.xlsx", "vans", V02))
    for name in ("Defect", "Checks (2)"):
        page = book.create_sheet(name)
        page.append(["Van"])
        page.append(["V02"])
    book.save(tmp_path / "v.xlsx")
    found = filling.read(good, "Test", f"{tmp_path}/v.xlsx").faults

    assert [p.message for p in found] == [
        'has a sheet "Defect". Did you mean "Defects"? Rename it',
        'has a sheet "Checks (2)". Did you mean "Checks"? Rename it',
    ]


@pytest.mark.parametrize("size", ["abc", -5, 700.5, None])
def test_an_export_whose_head_was_changed_is_told(
    sample_book: str, tmp_path: Path, size: Any
) -> None:
    """What it knew cannot be told any more."""
    day = dt.date(2026, 11, 23)
    typed(sample_book, f"export insurers --known-at @700 -o {tmp_path}/e.xlsx", day)
    book = openpyxl.load_workbook(tmp_path / "e.xlsx")
    page = book["About"]
    (row,) = [r for r in range(1, 30) if page.cell(r, 1).value == "Records in the book"]
    page.cell(row, 2).value = size
    book.save(tmp_path / "f.xlsx")
    (found,) = filling.read(sample_book, "Test", f"{tmp_path}/f.xlsx").faults

    assert found.message == "does not say how many records the book held then"


def test_a_cell_under_no_heading_is_told(good: str, tmp_path: Path) -> None:
    """It may be a value that slipped a column."""
    book = openpyxl.load_workbook(_fill(tmp_path / "v.xlsx", "vans", V02))
    page = book["Vans"]
    page.cell(3, len(TABLES["vans"].columns) + 2, "V09")
    book.save(tmp_path / "v.xlsx")
    (found,) = filling.read(good, "Test", str(tmp_path / "v.xlsx")).faults

    assert str(found).endswith('3 "V09": stands under no heading: put one above it, or empty it')


def test_what_we_export_with_evidence_reads_back(sample_book: str, tmp_path: Path) -> None:
    """The sheets asked for are made again for the comparing."""
    day = dt.date(2026, 11, 23)
    typed(sample_book, f"export insurers --evidence V03 --evidence V03 -o {tmp_path}/e.xlsx", day)

    assert "read back: no change." in typed(sample_book, f"sheet read {tmp_path}/e.xlsx", day)


def test_what_we_export_reads_back_as_no_change(sample_book: str, tmp_path: Path) -> None:
    """The workbook for insurers, whole; one cell changed, and it is that cell that is told."""
    typed(sample_book, f"export insurers -o {tmp_path}/e.xlsx", dt.date(2026, 11, 23))
    same = typed(sample_book, f"sheet read {tmp_path}/e.xlsx", dt.date(2026, 11, 23))
    book = openpyxl.load_workbook(tmp_path / "e.xlsx")
    book["Fleet"]["B2"] = "QI99 QQQ"
    book.save(tmp_path / "f.xlsx")
    with clock.standing_at(dt.datetime(2026, 11, 23, 12, tzinfo=dt.UTC)):
        found = filling.read(sample_book, "Test", f"{tmp_path}/f.xlsx")

    assert "read back: no change." in same
    assert str(found.faults[0]) == 'Fleet!B2 "QI99 QQQ": the book says "QI22 QIQ"'
    assert len(found.faults) == 2


def _zip(path: Path, parts: dict[str, bytes], base: bytes | None = None) -> Path:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        if base:
            with zipfile.ZipFile(io.BytesIO(base)) as old:
                for item in old.infolist():
                    if item.filename not in parts:
                        archive.writestr(item.filename, old.read(item.filename))
        for name, data in parts.items():
            archive.writestr(name, data)
    path.write_bytes(out.getvalue())
    return path


SHEET = b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">'
BOMB = (
    b'<!DOCTYPE w [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;">'
    b'<!ENTITY c "&b;&b;&b;&b;&b;&b;&b;&b;&b;&b;">]>'
)


def _styles(blank: bytes) -> bytes:
    """Eight hundred thousand forms of a cell: once 25 seconds and 680 MB of reading."""
    with zipfile.ZipFile(io.BytesIO(blank)) as archive:
        plain = archive.read("xl/styles.xml")
    one = b'<xf numFmtId="0" fontId="0" fillId="0" borderId="0"/>'
    return plain.replace(b"<cellXfs", one * 800_000 + b"<cellXfs", 1)


def _hostile(folder: Path) -> dict[str, tuple[Path, str]]:
    """Files nobody should open, and what is said of each."""
    blank = filling.blank(None, "vans")[1]
    part = "xl/worksheets/sheet1.xml"
    far = (
        SHEET
        + b'<dimension ref="A1"/><sheetData><row r="1048576"><c r="XFD1048576" t="str"><v>x</v></c></row></sheetData></worksheet>'
    )
    plain = (
        SHEET
        + b'<sheetData><row r="1"><c r="A1" t="str"><v>x</v></c></row></sheetData></worksheet>'
    )
    lone = (
        SHEET
        + b"<sheetData><row r = '1'><c r='XFD9' t='str'><v>x</v></c></row></sheetData></worksheet>"
    )
    many = (
        SHEET
        + b"<sheetData>"
        + b'<row r="1"><c r="A1" t="str"><v>'
        + b"x" * 60_000_000
        + b"</v></c></row></sheetData></worksheet>"
    )
    entity = (
        BOMB
        + SHEET
        + b'<sheetData><row r="1"><c r="A1" t="str"><v>&c;</v></c></row></sheetData></worksheet>'
    )
    dimension = (
        SHEET
        + b'<dimension ref="A1:XFD1048576"/><sheetData><row r="1"><c r="A1" t="str"><v>Van</v></c></row></sheetData></worksheet>'
    )
    (folder / "text.xlsx").write_text("van,plate\n")
    (folder / "lines.csv").write_text("Van\n" * 4_000_000)
    (folder / "commas.csv").write_text("," * 9_000_000)
    (folder / "long.csv").write_text("Van\n" * 30_000)
    (folder / "quote.csv").write_text('Van;Reg\nV02;"QI25 QIQ\nV03;QI26 QIQ\n')
    (folder / "ole.xlsx").write_bytes(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\x00" * 600)
    (folder / "half.xlsx").write_bytes(blank[: len(blank) // 2])
    return {
        "far cells": (_zip(folder / "far.xlsx", {part: far}, blank), "has cells beyond row 20,001"),
        "a far cell in other quotes": (_zip(folder / "lone.xlsx", {part: lone}, blank),
                                       "has cells beyond row 20,001"),
        "a CSV too large": (folder / "lines.csv", "is larger than 10 MB"),
        "a CSV of commas": (folder / "commas.csv", "a line is far too long"),
        "a CSV too long": (folder / "long.csv", "has cells beyond row 20,001"),
        "a quote left open": (folder / "quote.csv", "is no CSV from row 2 on"),
        "a bomb": (_zip(folder / "bomb.xlsx", {part: many}, blank), "unpacks to over 50 MB"),
        "many parts": (_zip(folder / "parts.xlsx", {f"x{n}": b"" for n in range(300)}, blank),
                       "or 200 parts"),
        "entities": (_zip(folder / "entity.xlsx", {part: entity}, blank), "cannot be read as a workbook"),
        "a false dimension": (_zip(folder / "dim.xlsx", {part: dimension}, blank), "holds no filled row"),
        "macros": (_zip(folder / "macro.xlsm", {"xl/vbaProject.bin": b"x"}, blank), "holds macros"),
        "a zip of something else": (_zip(folder / "zip.xlsx", {"a.txt": b"x"}), "is not a workbook"),
        "text": (folder / "text.xlsx", "is not a workbook"),
        "encrypted": (folder / "ole.xlsx", "is encrypted, or an old .xls"),
        "cut in half": (folder / "half.xlsx", "is not a workbook"),
        "styles by the thousand": (
            _zip(folder / "styles.xlsx", {"xl/styles.xml": _styles(blank)}, blank),
            "has far more in its styles.xml than a sheet needs: copy its cells to a new one",
        ),
        "names by the thousand": (
            _zip(folder / "names.xlsx", {"xl/x.rels": b"<a/>" * 300_000}, blank),
            "has far more in its x.rels than a sheet needs: copy its cells to a new one",
        ),
        "broken XML": (_zip(folder / "xml.xlsx", {part: plain[:-20]}, blank), "cannot be read as a workbook"),
    }  # fmt: skip


@pytest.mark.parametrize(
    "harm",
    ["far cells", "a far cell in other quotes", "a CSV too large", "a CSV of commas",
     "a CSV too long", "a quote left open", "a bomb", "many parts", "entities", "a false dimension", "macros",
     "a zip of something else", "text", "encrypted", "cut in half", "styles by the thousand",
     "names by the thousand", "broken XML"],
)  # fmt: skip
def test_hostile_files_are_refused_at_once(good: str, tmp_path: Path, harm: str) -> None:
    """A clear word, little memory, and nothing written."""
    assert openpyxl.DEFUSEDXML
    file, says = _hostile(tmp_path)[harm]
    before = trust.status(good)
    tracemalloc.start()
    begun = time.perf_counter()
    found = filling.read(good, "Test", str(file))
    taken = time.perf_counter() - begun
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    print(f"{harm}: {taken:.2f} s, {peak / 2**20:.0f} MiB")

    assert says in " ".join(map(str, found.faults))
    assert trust.status(good) == before
    assert peak < 100 * 2**20


def test_a_csv_of_other_letters_or_too_many_columns_is_refused(tmp_path: Path) -> None:
    """Said before anything is read of it."""
    (tmp_path / "a.csv").write_bytes("Van;Reg\nV01;Ä".encode("utf-16"))
    (tmp_path / "b.csv").write_text("x," * 200 + "\n")
    for name, says in (
        ("a.csv", "is not UTF-8 text"),
        ("b.csv", "column 100"),
        ("c.csv", "No such"),
    ):
        (found,) = workbook.read_file(str(tmp_path / name))
        assert says in str(found)


def test_json_says_what_was_read_and_what_was_wrong(good: str, tmp_path: Path) -> None:
    """For programs: the same, whole; with faults exit 4 and all of them in it."""
    file = _fill(tmp_path / "v.xlsx", "vans", V02)
    found = json.loads(typed(good, f"sheet read {file} --dry-run --json", DAY))

    assert list(found) == ["file", "dry_run", "rows", "added", "known", "said", "faults"]
    assert (found["rows"], found["added"], found["dry_run"]) == (1, 1, True)
    assert questions.due(good, DAY, None).vans == 1


def test_a_check_is_named_as_people_name_it_and_a_paper_needs_no_pass(
    good: str, tmp_path: Path
) -> None:
    """In any case, by its short name, with a blank for a hyphen; a paper that covers days is in
    force by its days. One of all vans is typed, and the fault says how."""
    file = tmp_path / "Checks.csv"
    head = "Van,Check,Done on,Ended,By,Certificate,First day as printed,Last day as printed\n"
    file.write_text(
        f"{head}V01,Tax,2026-07-01,,,,2026-07-01,2027-06-30\n"
        "V01,Gas Safety,2026-07-02,Pass,A. Fitter,G2,,\nV01,mot,2026-07-03,pass,,M1,,\n"
    )
    typed(good, f"sheet read {file}", DAY)
    with asking(good) as asked:
        made = asked.facts("V01").checks[-3:]
    assert [(c.what, c.outcome) for c in made] == [
        ("tax", "pass"), ("gas-safety", "pass"), ("roadworthiness", "pass"),
    ]  # fmt: skip
    assert "gas safety check passed" in typed(
        good, 'record V01 "GAS safety" --pass --by "A. Fitter" --certificate G3 --dry-run', DAY
    )
    file.write_text(f"{head}fleet,insurance,2026-07-01,,,,2026-07-01,2027-06-30\n")
    assert [str(f) for f in filling.read(good, "Test", str(file)).faults] == [
        'Checks!A2 "fleet": a paper of all vans is not filled in here; type it with: fleetcare '
        "record fleet insurance --from DAY --last-day DAY"
    ]


MESSY = """
[[sheet]]
name = "Our vans"
kind = "vans"
heading_row = 4
date_format = ["DD/MM/YYYY", "D MMM"]
ignore = ["Remarks"]
[sheet.columns]
"No" = "Van"
"Reg No" = "Reg"
"Gas?" = "LPG"
[sheet.values."Gas?"]
"Y" = "yes"
"N" = "no"
[sheet.fixed]
Rules = "gb"
[[sheet]]
name = "our vans"
kind = "checks"
heading_row = 4
date_format = ["DD/MM/YYYY", "MM/DD/YYYY"]
ignore = ["Remarks"]
[sheet.columns]
"No" = "Van"
"What" = "Check"
"Done" = "Done on"
[sheet.values.What]
"Hab check" = "habitation"
[sheet.fixed]
Ended = "pass"
By = "B. Smith"
"""
ROWS = """The vans we let;;;;;
;;;;;
as of Easter;;;;;
No;Reg No;Gas?;What;Done;Remarks
V02;QI25 QIQ;Y;Hab check;25/03/2026;seen
V03;QI26 QIQ;n;;;
"""


def test_a_sheet_with_titles_that_holds_several_kinds_is_read(good: str, tmp_path: Path) -> None:
    """Headings below a title, words of the firm's own, two kinds in one row, several date formats;
    a row that says nothing of a check gives none."""
    (tmp_path / "map.toml").write_text(MESSY.replace(', "D MMM"', ""))
    (tmp_path / "Our vans.csv").write_text(ROWS)
    typed(good, f'sheet read "{tmp_path}/Our vans.csv" --map {tmp_path}/map.toml', DAY)
    with asking(good) as asked:
        one, two = asked.facts("V02"), asked.facts("V03")

    assert (one.stated[0].plate, one.stated[0].lpg, two.stated[0].lpg) == ("QI25 QIQ", True, False)
    assert [(c.what, c.on, c.outcome) for c in one.checks] == [
        ("habitation", dt.date(2026, 3, 25), "pass")
    ]
    assert two.checks == []


def test_a_date_that_may_be_two_days_is_asked_back(good: str, tmp_path: Path) -> None:
    """Read by two formats as two days it is neither; nothing is read of the file."""
    (tmp_path / "map.toml").write_text(MESSY.replace(', "D MMM"', ""))
    (tmp_path / "Our vans.csv").write_text(ROWS.replace("25/03", "04/03"))
    found = filling.read(good, "Test", f"{tmp_path}/Our vans.csv", f"{tmp_path}/map.toml")

    assert [str(fault) for fault in found.faults] == [
        'Our vans!E5 "04/03/2026": may be 2026-03-04 or 2026-04-03 by the mapping\'s date formats: '
        "put it as a date"
    ]
