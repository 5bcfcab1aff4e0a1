"""A workbook to fill: drop-downs, dates that must be dates, an example row, notes on units."""

from __future__ import annotations

import datetime as dt
import io
from collections.abc import Mapping, Sequence

from openpyxl import Workbook
from openpyxl.comments import Comment
from openpyxl.styles import Alignment, Font, PatternFill
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.worksheet import Worksheet

from fleetcare.reports.blank import BlankColumn, BlankSheet

_ROWS = 1000
_NEEDED = PatternFill("solid", fgColor="E8E8E8")


def blank_bytes(sheets: Sequence[BlankSheet]) -> bytes:
    """The file: the sheets to fill first, then how to fill them, then the lists of choices."""
    book = Workbook()
    first = book.active
    assert isinstance(first, Worksheet)
    pages = [first, *(book.create_sheet() for _ in sheets[1:])]
    notes, lists = book.create_sheet("How to fill"), book.create_sheet("Lists")
    for page, sheet in zip(pages, sheets, strict=True):
        page.title = sheet.name
        choices = _lists(lists, sheet)
        for place, column in enumerate(sheet.columns, 1):
            _column(page, place, column, choices, example=not sheet.rows)
            for row, given in enumerate(sheet.rows, 2):
                if column.heading in given:
                    page.cell(row, place, given[column.heading])
        page.freeze_panes = "A2"
        page.row_dimensions[1].height = 30
    _notes(notes, sheets)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _notes(page: Worksheet, sheets: Sequence[BlankSheet]) -> None:
    """How each column is filled, sheet by sheet, and what to know before."""
    for sheet in sheets:
        page.append([f"{sheet.name}: column", "Must be filled", "How"])
        for cell in page[page.max_row]:
            cell.font = Font(bold=True)
        for column in sheet.columns:
            page.append([column.heading, "yes" if column.needed else "", column.how])
        page.append([])
    for line in sheets[0].notes:
        page.append([line])
    for letter, width in (("A", 26), ("B", 16), ("C", 70)):
        page.column_dimensions[letter].width = width


def _lists(page: Worksheet, sheet: BlankSheet) -> Mapping[str, str]:
    """Each list of choices in a column of its own; gives the range of each."""
    found = {}
    begun = page.max_column if page.cell(1, 1).value else 0
    for place, column in enumerate((c for c in sheet.columns if c.choices), begun + 1):
        letter = get_column_letter(place)
        page.cell(1, place, column.heading).font = Font(bold=True)
        for row, word in enumerate(column.choices, 2):
            page.cell(row, place, word)
        found[column.heading] = f"=Lists!${letter}$2:${letter}${len(column.choices) + 1}"
    return found


def _column(
    page: Worksheet, place: int, column: BlankColumn, choices: Mapping[str, str], *, example: bool
) -> None:
    letter = get_column_letter(place)
    head = page.cell(1, place, column.heading)
    head.font = Font(bold=True)
    head.alignment = Alignment(wrap_text=True, vertical="top")
    if column.needed:
        head.fill = _NEEDED
    if column.how:
        head.comment = Comment(column.how, "fleetcare")
    page.column_dimensions[letter].width = max(12, min(len(column.heading) + 2, 24))
    if example:
        shown = page.cell(2, place, column.example)
        shown.font = Font(italic=True, color="777777")
        if column.day and isinstance(column.example, str) and column.example:
            shown.value = dt.date.fromisoformat(column.example)
    span = f"{letter}2:{letter}{_ROWS + 1}"
    if column.heading in choices:
        rule = DataValidation(type="list", formula1=choices[column.heading], allow_blank=True)
        rule.error, rule.errorTitle = "Choose one of the list", column.heading
        page.add_data_validation(rule)
        rule.add(span)
    elif column.day:
        rule = DataValidation(
            type="date", operator="between", formula1="DATE(1900,3,1)", formula2="DATE(2199,12,31)",
            allow_blank=True,
        )  # fmt: skip
        rule.error, rule.errorTitle = "Put a date", column.heading
        page.add_data_validation(rule)
        rule.add(f"{letter}3:{letter}{_ROWS + 1}")
        for row in range(2, _ROWS + 2):
            page.cell(row, place).number_format = "yyyy-mm-dd"
    elif column.text:
        for row in range(2, _ROWS + 2):
            page.cell(row, place).number_format = "@"  # keeps the zeros of 0524
