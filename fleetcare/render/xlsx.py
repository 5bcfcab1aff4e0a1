"""Sheets as a workbook: real dates, no live formula, set up to be printed.

Text is written as text whatever it begins with, since a spreadsheet would run a cell beginning
with "=" (CWE-1236). The same sheets give the same bytes: the times inside the file are those of
the day the workbook speaks of.
"""

from __future__ import annotations

import datetime as dt
import io
import re
import zipfile
from copy import copy
from typing import Any

from openpyxl import Workbook as Book
from openpyxl.cell import Cell, MergedCell
from openpyxl.chart import BarChart, Reference
from openpyxl.formatting.rule import FormulaRule
from openpyxl.styles import Alignment, Font, PatternFill
from openpyxl.utils import get_column_letter
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.properties import PageSetupProperties
from openpyxl.worksheet.worksheet import Worksheet

from fleetcare.reports.insurers import Sheet, Workbook

_MOST = 32_767  # characters a cell can hold; past it a spreadsheet cuts without a word
_BAD = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")
_DAY = "yyyy-mm-dd"
_NARROW, _WIDE = 8, 60
# Characters across a landscape A4: about 145 at full size; so many are set at 6.5 points or more.
_PAGE_WIDE = 235
_LINE = 13.5  # points a line of text takes
_LEFT = Alignment(vertical="top", horizontal="left")
_WRAPPED = Alignment(vertical="top", horizontal="left", wrap_text=True)
_COLOURS = {
    "overdue": "F8CBAD",
    "failed": "F8CBAD",
    "no record": "F8CBAD",
    "cannot say": "FFE699",
    "due soon": "FFF2CC",
    "no": "F8CBAD",
}


def workbook_bytes(workbook: Workbook) -> bytes:
    """The file, whole."""
    book = Book()
    about = book.active
    assert isinstance(about, Worksheet)
    about.title = "About"
    _about(book, about, workbook)
    for sheet in workbook.sheets:
        _sheet(book.create_sheet(sheet.name), sheet)
    stamp = dt.datetime.combine(workbook.on, dt.time())
    book.properties.title = "Fleet evidence for insurers"
    book.properties.creator = "fleetcare"
    book.properties.created = book.properties.modified = stamp
    out = io.BytesIO()
    book.save(out)
    return _same_times(out.getvalue(), workbook.on)


def _put(cell: Cell | MergedCell, value: Any, styles: dict[str, Any] | None = None) -> int:
    """Write one value and return how many characters wide it shows.

    `styles` remembers how each sort of cell is styled: openpyxl takes longer to work a style out
    than to write the cell.
    """
    if value is None or value == "" or isinstance(cell, MergedCell):
        return 0
    if isinstance(value, dt.date):
        cell.value = value
        _style(cell, "day", styles)
        return 10
    if isinstance(value, int):
        cell.value = value
        _style(cell, "number", styles)
        return len(f"{value:,}")
    text = _BAD.sub("\ufffd", str(value))
    if len(text) > _MOST:
        text = text[: _MOST - 24] + " … cut, see the book"
    cell.value = text
    cell.data_type = "s"  # never a formula
    live = text[0] in "=+-@\t\r"
    _style(cell, "live" if live else "long" if len(text) > _WIDE else "text", styles)
    if "\n" not in text:
        return len(text)
    return max(len(line) for line in text.splitlines() or [""])


def _style(cell: Cell, sort: str, styles: dict[str, Any] | None) -> None:
    """Style a cell as its sort is, by what is remembered where it is."""
    known = styles.get(sort) if styles is not None else None
    own: Any = cell  # openpyxl's own types hide a cell's style
    if known is not None:
        own._style = copy(known)
        return
    if sort == "number":
        cell.number_format = "#,##0"
    else:
        cell.alignment = _WRAPPED if sort in ("long", "live") else _LEFT
    if sort == "day":
        cell.number_format = _DAY
    if sort == "live":
        cell.number_format = "@"
        own._style.quotePrefix = 1  # openpyxl writes this mark and has no setter for it
    if styles is not None:
        styles[sort] = own._style


def _sheet(page: Worksheet, sheet: Sheet) -> None:
    widths = [len(heading) for heading in sheet.headings]
    for column, heading in enumerate(sheet.headings, 1):
        cell = page.cell(1, column)
        _put(cell, heading)
        cell.font = Font(bold=True)
        cell.alignment = Alignment(wrap_text=True, vertical="top")
    styles: dict[str, Any] = {}
    for number, row in enumerate(sheet.rows, 2):
        longest = 0
        for column, value in enumerate(row, 1):
            if value is not None and value != "":
                wide = _put(page.cell(number, column), value, styles)
                widths[column - 1] = max(widths[column - 1], wide)
                longest = max(longest, wide)
        _tall(page, number, longest, _WIDE)
    for column, width in enumerate(widths, 1):
        page.column_dimensions[get_column_letter(column)].width = min(
            max(width + 2, _NARROW), _WIDE
        )
    last = get_column_letter(len(sheet.headings))
    page.freeze_panes = "A2"
    page.auto_filter.ref = f"A1:{last}{len(sheet.rows) + 1}"
    _colours(page, sheet)
    if sheet.name == "Calendar" and sheet.rows:
        _calendar(page, f"C2:{last}{len(sheet.rows) + 1}")
    if sheet.name == "Due per week":
        _bars(page, len(sheet.rows))
        last = "R"  # the chart is printed beside its figures
    _printed(page, f"A1:{last}{len(sheet.rows) + 1}")
    page.print_title_rows = "1:1"
    columns = [get_column_letter(n + 1) for n in range(len(widths))]
    wide = int(sum(float(page.column_dimensions[column].width) for column in columns))
    if wide > _PAGE_WIDE:  # on so many pages beside each other, each with the van's name
        page.page_setup.fitToWidth = -(-wide // _PAGE_WIDE)
        page.print_title_cols = "A:B"


def _tall(page: Worksheet, row: int, characters: int, width: int) -> None:
    """A row as tall as its longest text needs; programs do not work that out for themselves."""
    lines = -(-characters // (width - 4))
    _high(page, row, lines)


def _high(page: Worksheet, row: int, lines: int) -> None:
    if lines > 1:
        page.row_dimensions[row].height = _LINE * lines


def _colours(page: Worksheet, sheet: Sheet) -> None:
    """The word stands in the cell; the colour only points at it."""
    for heading in ("Standing", "Hireable"):
        if heading in sheet.headings and sheet.rows:
            letter = get_column_letter(sheet.headings.index(heading) + 1)
            area = f"{letter}2:{letter}{len(sheet.rows) + 1}"
            for word, colour in _COLOURS.items():
                fill = PatternFill(start_color=colour, end_color=colour, fill_type="solid")
                rule: Any = FormulaRule  # openpyxl's own types leave it bare
                page.conditional_formatting.add(
                    area, rule(formula=[f'{letter}2="{word}"'], fill=fill)
                )


def _calendar(page: Worksheet, area: str) -> None:
    """Narrow weeks, and a colour by the words in the cell: stopped before due before out."""
    page.row_dimensions[1].height = 2 * _LINE
    for row in page[area]:
        page.row_dimensions[row[0].row].height = 3 * _LINE
        for cell in row:
            cell.alignment = _WRAPPED
            page.column_dimensions[cell.column_letter].width = 9.5
    for word, colour in (("stopped", "F8CBAD"), ("due", "FFE699"), ("out", "DDEBF7")):
        fill = PatternFill(start_color=colour, end_color=colour, fill_type="solid")
        rule: Any = FormulaRule
        formula = [f'ISNUMBER(SEARCH("{word}",C2))']
        page.conditional_formatting.add(area, rule(formula=formula, fill=fill, stopIfTrue=True))


def _bars(page: Worksheet, rows: int) -> None:
    """How many items fall due in each week."""
    chart = BarChart()
    chart.title, chart.legend = "Items due per week", None
    chart.y_axis.title, chart.x_axis.title = "items", "week from"
    chart.x_axis.number_format = _DAY
    chart.x_axis.delete = chart.y_axis.delete = False
    chart.add_data(Reference(page, min_col=2, min_row=1, max_row=rows + 1), titles_from_data=True)
    chart.set_categories(Reference(page, min_col=1, min_row=2, max_row=rows + 1))
    chart.width, chart.height = 24, 10
    page.add_chart(chart, "E2")


def _printed(page: Worksheet, area: str) -> None:
    page.page_setup.orientation = "landscape"
    page.page_setup.paperSize = page.PAPERSIZE_A4
    page.page_setup.fitToWidth = 1
    page.page_setup.fitToHeight = 0
    page.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    page.print_area = area
    if page.oddFooter is not None and page.oddFooter.center is not None:
        page.oddFooter.center.text = "&A, page &P of &N"


def _about(book: Book, page: Worksheet, workbook: Workbook) -> None:
    page.column_dimensions["A"].width = 36
    page.column_dimensions["B"].width = 90
    for row, (name, value) in enumerate(workbook.about, 1):
        _put(page.cell(row, 1), name)
        page.cell(row, 1).font = Font(bold=True)
        _put(page.cell(row, 2), value)
        each = str(value).splitlines()
        _high(page, row, sum(-(-len(line) // 86) or 1 for line in each))
        page.cell(row, 2).alignment = _WRAPPED
        if name == "As of":
            book.defined_names["AsOf"] = DefinedName("AsOf", attr_text=f"About!$B${row}")
    _printed(page, f"A1:B{len(workbook.about)}")


def _same_times(data: bytes, on: dt.date) -> bytes:
    """The same archive with every member's time set to the day, so that bytes repeat."""
    out = io.BytesIO()
    stamp = (min(max(on.year, 1980), 2107), on.month, on.day, 0, 0, 0)
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w") as new:
        for name in old.namelist():
            content = old.read(name)
            if name == "docProps/core.xml":
                content = re.sub(
                    rb"(<dcterms:modified[^>]*>)[^<]*",
                    rb"\g<1>" + on.isoformat().encode() + b"T00:00:00Z",
                    content,
                )
            info = zipfile.ZipInfo(name, stamp)
            info.compress_type = zipfile.ZIP_DEFLATED
            new.writestr(info, content)
    return out.getvalue()
