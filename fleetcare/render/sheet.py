"""The yard's sheets as plain text that prints on A4 and is read back when its brackets are filled.

66 lines of 80 characters fit a page of A4 in a fixed-width face of 10 points; a form feed ends
each page, which every printer and text editor understands.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Mapping

from fleetcare.render.text import day
from fleetcare.reports.sheet import Form, SheetLine

WIDTH, HEIGHT = 80, 66
_BLANK = 16  # characters left between the brackets for a figure or a word
_WORDS = 44  # and for what is wrong


def sheet(form: Form, answers: Mapping[str, str]) -> str:
    """The sheet, page by page; `answers` already given stand between their brackets."""
    blocks = [
        [row for n, line in enumerate(lines) for row in _block(line, answers.get(line.name, ""), n)]
        for lines in _by_kind(form.lines)
    ]
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


def _by_kind(lines: Iterable[SheetLine]) -> list[list[SheetLine]]:
    """Lines that ask the same at several places are one block: no page ends between them."""
    found: dict[str, list[SheetLine]] = {}
    for line in lines:
        found.setdefault(line.kind.name, []).append(line)
    return list(found.values())


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
    if form.prepared:
        words = f"The yard prepared the van (#{form.prepared}): its lines are answered already."
        lines += textwrap.wrap(words, WIDTH)
    for known in form.known:
        lines += textwrap.wrap(f"Known already: {known}", WIDTH, subsequent_indent="  ")
    for caution in form.cautions:
        lines += textwrap.wrap(f"! {caution}", WIDTH, subsequent_indent="  ")
    return [*lines, ""]


def _block(line: SheetLine, answer: str, place: int) -> list[str]:
    """A line with its bracket; what it is and why only once where several places follow."""
    kind = line.kind
    stop = "" if kind.title.endswith("?") else "."
    words = "" if place else f"{kind.title}{stop} Why: {kind.why}."
    if kind.asks in ("look", "nil", "event", "words", "licence", "signature"):
        words = words if kind.asks == "look" else f"({line.how}) {words}"
        first = f"[{answer:<{_WORDS}}] {line.name}"
    else:
        first = f"[{answer:<{_BLANK}}] {line.name}  ({line.how})"
    return [
        first, *textwrap.wrap(words, WIDTH, initial_indent="    ", subsequent_indent="    "),
    ]  # fmt: skip


def _signature(answers: Mapping[str, str]) -> list[str]:
    return [
        "",
        f"[{answers.get('signed-by', ''):<{_BLANK * 2}}] signed-by  (name of who walked round)",
        f"[{answers.get('signed-on', ''):<{_BLANK}}] signed-on  (day, like 2026-03-02)",
        f"[{answers.get('signed-at', ''):<{_BLANK}}] signed-at  (time, like 09:30)",
    ]
