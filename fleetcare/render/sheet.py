"""The yard's sheets as plain text that prints on A4 and is read back when its brackets are filled.

66 lines of 80 characters fit a page of A4 in a fixed-width face of 10 points; a form feed ends
each page, which every printer and text editor understands.
"""

from __future__ import annotations

import textwrap
from collections.abc import Mapping

from fleetcare.render.text import day
from fleetcare.reports.sheet import Form, SheetLine

WIDTH, HEIGHT = 80, 66
_BLANK = 16  # characters left between the brackets for a pen


def sheet(form: Form, answers: Mapping[str, str]) -> str:
    """The sheet, page by page; `answers` already given stand between their brackets."""
    blocks = []
    before = None
    for line in form.lines:
        blocks.append(_block(line, answers.get(line.name, ""), line.kind is not before))
        before = line.kind
    blocks.append(_signature(answers))
    head = headed(form)
    pages: list[list[str]] = [[*_intro(form)]]
    room = HEIGHT - 2  # the head of the page and the line under it
    for block in blocks:
        if len(pages[-1]) + len(block) > room:
            pages.append([])
        pages[-1] += block
    printed = []
    for number, lines in enumerate(pages, 1):
        mark = f"page {number} of {len(pages)}"
        printed.append("\n".join([f"{head:<{WIDTH - len(mark) - 1}} {mark}", "", *lines]))
    return "\n\f".join(printed)


def headed(form: Form) -> str:
    """The head of each page: which sheet it is, of which van and hire."""
    named = f"{form.van} ({form.plate})" if form.plate else form.van
    return f"{form.what.upper()} SHEET  {named}  {form.hire.ref}"


def _intro(form: Form) -> list[str]:
    lines = [form.firm] if form.firm else []
    lines.append(f"{day(form.hire.from_on)} to {day(form.hire.through_on)}")
    words = (
        "Fill every pair of brackets. Looked at and sound: ok. Something wrong: its grade and what "
        "it is, like [minor: blind torn]; grades are dangerous, major, minor, advisory; several "
        "with ; between them. A reading has its unit, like 5.2mm or 65psi. No hirer's name."
    )
    lines += textwrap.wrap(words, WIDTH)
    for caution in form.cautions:
        lines += textwrap.wrap(f"! {caution}", WIDTH, subsequent_indent="  ")
    return [*lines, ""]


def _block(line: SheetLine, answer: str, first: bool) -> list[str]:
    """A line with its bracket; what it is and why only once where several places follow."""
    kind = line.kind
    stop = "" if kind.title.endswith("?") else "."
    words = f"{kind.title}{stop} Why: {kind.why}." if first else ""
    return [
        f"[{answer:<{_BLANK}}] {line.name}  ({line.how})",
        *textwrap.wrap(words, WIDTH, initial_indent="    ", subsequent_indent="    "),
    ]


def _signature(answers: Mapping[str, str]) -> list[str]:
    return [
        "",
        f"[{answers.get('signed-by', ''):<{_BLANK * 2}}] signed-by  (name of who walked round)",
        f"[{answers.get('signed-on', ''):<{_BLANK}}] signed-on  (day, like 2026-03-02)",
        f"[{answers.get('signed-at', ''):<{_BLANK}}] signed-at  (time, like 09:30)",
    ]
