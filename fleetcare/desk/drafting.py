"""A mapping drafted from a firm's own workbook or CSV, to be read, changed and used by a person."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterator

from fleetcare.errors import Problem, Refused
from fleetcare.intake import workbook
from fleetcare.intake.columns import TABLES
from fleetcare.intake.draft import Drafted, Due, Guess, drafted, words_of
from fleetcare.intake.workbook import Rows
from fleetcare.shipped import folder

_HEAD = (
    "Drafted from a sheet of your own: nothing of it was read. What is sure stands; what is not is",
    "commented out: choose, or put the heading under ignore. Then: fleetcare sheet read FILE --map",
)
_HOMES = "whose rules the vans are under: nobody guesses that"


def draft(file: str) -> tuple[str, list[str]]:
    """The mapping of a file's sheets as TOML, and what to tell of it; Refused where no sheet of it
    is anything we know."""
    sheets = workbook.read_file(file)
    faults = [one for one in sheets if isinstance(one, Problem)]
    if faults:
        raise Refused(faults)
    text = (folder("intake") / "headings.toml").read_text(encoding="utf-8")
    words = words_of(tomllib.loads(text))
    pages = [one for one in sheets if isinstance(one, Rows)]
    found = [one for page in pages if (one := drafted(page, words))]
    if not found:
        listed = ", ".join(page.sheet for page in pages) or "none"
        what = f"has no sheet with a fleet number and one column more that is known: {listed}"
        raise Refused([Problem(file, what)])
    lines = [f"# {line}" for line in _HEAD]
    for one in found:
        lines += ["", *_sheet(one)]
    known = {one.sheet for one in found}
    left = [page.sheet for page in pages if page.sheet not in known]
    lines += [f"# Not drafted, nothing in it is known: {name}" for name in left]
    return "\n".join(lines) + "\n", [_told(one) for one in found]


def _told(one: Drafted) -> str:
    sure = [g for g in one.guesses if g.column and g.sure]
    unsure = [str(g.heading.value) for g in one.guesses if g.column and not g.sure]
    choose = f"; choose for {', '.join(unsure)}" if unsure else ""
    days = "" if one.order or not one.order_why else f"; choose the order of days: {one.order_why}"
    homeless = one.table.kind == "van" and not any(_is_home(g) for g in one.guesses)
    choose += f"; say {_HOMES.partition(':')[0]}" if homeless else ""
    due = "".join(f"; {one.heading.value}: a day expected, no evidence" for one in one.due)
    known, all_of_it = len(sure) + len(one.due), len(one.guesses) + len(one.due)
    return (
        f"{one.sheet}: {one.table.sheet}, headings in row {one.heading_row}, {one.rows} rows, "
        f"{known} of {all_of_it} headings sure{choose}{days}{due}."
    )


def _sheet(one: Drafted) -> Iterator[str]:
    yield "[[sheet]]"
    yield f"name = {_text(one.sheet)}"
    kind = next(name for name, table in TABLES.items() if table is one.table)
    yield f'kind = "{kind}"'
    yield f"heading_row = {one.heading_row}"
    if one.order:
        yield f'date_format = "{one.order}"  # {one.order_why}'
    elif one.order_why:
        yield f'# date_format = "DD/MM/YYYY"  # choose: {_comment(one.order_why)}'
    ignored = [g for g in one.guesses if g.column is None]
    if ignored:
        yield "ignore = ["
        for guess in ignored:
            yield f"    {_text(guess.heading.value)},  # {guess.why}: {_seen(guess)}"
        yield "]"
    yield "[sheet.columns]"
    for guess in one.guesses:
        if guess.column:
            line = f"{_text(guess.heading.value)} = {_text(guess.column.heading)}"
            sure = "sure" if guess.sure else f"perhaps, choose: {guess.why}"
            yield f"{'' if guess.sure else '# '}{line}  # {sure}: {_seen(guess)}"
    yield from _units(one)
    if one.table.kind == "van" and not any(_is_home(g) for g in one.guesses):
        yield "[sheet.fixed]"
        yield f'# Rules = "gb"  # {_HOMES}'
    yield from _values(one)
    for due in one.due:
        yield from _due(one, due)


def _due(one: Drafted, due: Due) -> Iterator[str]:
    """A column of due days: each is kept as expected until its paper is found."""
    van = next(g for g in one.guesses if g.column and g.column.field == "van")
    yield "[[sheet]]"
    yield f"name = {_text(one.sheet)}"
    yield 'kind = "due"  # evidence of nothing: fleetcare missing asks for the paper'
    yield f"heading_row = {one.heading_row}"
    if one.order:
        yield f'date_format = "{one.order}"'
    elif one.order_why:
        yield f'# date_format = "DD/MM/YYYY"  # choose: {_comment(one.order_why)}'
    yield "[sheet.columns]"
    yield f'{_text(van.heading.value)} = "Van"'
    seen = _comment(", ".join(due.seen)) or "no cell filled"
    yield f'{_text(due.heading.value)} = "Due on"  # sure: {seen}'
    yield "[sheet.fixed]"
    yield f"Check = {_text(due.check)}"


def _values(one: Drafted) -> Iterator[str]:
    """What values of the firm's own mean."""
    for guess in one.guesses:
        if guess.column and guess.sure and guess.values:
            yield f"[sheet.values.{_text(guess.heading.value)}]"
            yield from (f"{_text(theirs)} = {_text(ours)}" for theirs, ours in guess.values)


def _units(one: Drafted) -> Iterator[str]:
    """Bare figures: of a unit that the heading names, or to be chosen."""
    figures = [
        g for g in one.guesses
        if g.column and g.sure and g.column.unit
        and any(word.replace(".", "").isdigit() for word in g.seen)
    ]  # fmt: skip
    if figures:
        yield "[sheet.units]"
    for guess in figures:
        unit = guess.column.unit if guess.column else ""
        named = f"({unit})" in str(guess.heading.value).casefold()
        line = f"{_text(guess.heading.value)} = {_text(unit)}"
        yield line if named else f"# {line}  # the heading names no unit: {_seen(guess)}"


def _is_home(guess: Guess) -> bool:
    return guess.column is not None and guess.column.field == "jurisdiction"


def _seen(guess: Guess) -> str:
    return _comment(", ".join(guess.seen)) or "no cell filled"


def _comment(text: str) -> str:
    """A text that is somebody's, on one line of a comment."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())[:120]


def _text(value: object) -> str:
    """A word as TOML writes it."""
    return json.dumps(str(value), ensure_ascii=False)
