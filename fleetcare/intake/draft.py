"""A mapping drafted from a firm's own sheet: what each heading most likely is, with what was seen.

Nothing is read by a draft. What is sure stands; what is not is commented out and must be chosen, so
that a sheet read by it is refused until somebody has.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from fleetcare.intake.columns import TABLES, Column, Table
from fleetcare.intake.workbook import Cell, Rows

_LOOKED_AT = 20  # rows in which headings are looked for
_SEEN = 3  # cells told of as evidence
_ORDERS = {"DD/MM/YYYY": (0, 1, 2), "MM/DD/YYYY": (1, 0, 2), "YYYY-MM-DD": (2, 1, 0)}
_DATE = re.compile(r"(\d{1,4})([./-])(\d{1,2})\2(\d{2,4})")


class Guess(NamedTuple):
    """What a heading is taken for: a column of ours or none, whether that is sure, and why."""

    heading: Cell
    column: Column | None
    sure: bool
    seen: tuple[str, ...]
    why: str = ""
    values: tuple[tuple[str, str], ...] = ()  # what values of it mean


class Due(NamedTuple):
    """A column of days on which a check falls due."""

    heading: Cell
    check: str
    seen: tuple[str, ...]


class Drafted(NamedTuple):
    """One sheet: what it is taken for."""

    sheet: str
    table: Table
    heading_row: int
    guesses: tuple[Guess, ...]
    order: str | None  # of days written as text
    order_why: str
    rows: int
    due: tuple[Due, ...] = ()


class Words(NamedTuple):
    """What firms call things: our headings, values and checks by their words, in small letters."""

    columns: Mapping[str, Any]
    due: tuple[str, ...]
    values: Mapping[str, str]
    checks: Mapping[str, str]


def words_of(raw: Mapping[str, Any]) -> Words:
    """The words of `headings.toml`."""
    return Words(
        {name: tuple(said["words"]) for name, said in raw["columns"].items()},
        tuple(raw["due"]["words"]),
        {word: ours for ours, listed in raw["values"].items() for word in listed},
        {word: ours for ours, listed in raw["checks"].items() for word in listed},
    )


def drafted(rows: Rows, words: Words) -> Drafted | None:
    """What a sheet most likely is; None where nothing of it is known."""
    filled = [rows.headings, *rows.rows][:_LOOKED_AT]
    found = [
        (sum(guess.column is not None for guess in guesses), -place, table, guesses)
        for place, row in enumerate(filled)
        for table in TABLES.values()
        if (guesses := [_guess(cell, table, words) for cell in row])
        and any(g.column and g.column.field == "van" for g in guesses)
    ]
    known, place, table, guesses = max(found, key=lambda one: one[:2], default=(0, 0, None, []))
    if table is None or known < 2:
        return None
    below = [rows.headings, *rows.rows][1 - place :]
    told = tuple(_once(_looked_at(guess, below, words) for guess in guesses))
    order, why = _order(told, below)
    number = int(filled[-place][0].row)
    due = tuple(one for guess in told if (one := _due(guess, words)))
    named = {one.heading for one in due}
    rest = tuple(guess for guess in told if guess.heading not in named)
    return Drafted(rows.sheet, table, number, rest, order, why, len(below), due)


def _due(guess: Guess, words: Words) -> Due | None:
    """A heading that says what falls due, like "MOT due": a day kept as expected, no evidence."""
    parts = _plain(guess.heading.value).split()
    if guess.column is not None or not any(part in words.due for part in parts):
        return None
    named = " ".join(part for part in parts if part not in words.due)
    check = words.checks.get(named)
    return Due(guess.heading, check, guess.seen) if check else None


def _plain(word: Any) -> str:
    return " ".join(str(word).casefold().replace("_", " ").rstrip(":").split())


def _guess(cell: Cell, table: Table, words: Words) -> Guess:
    """What a heading is by its words alone."""
    said, parts = _plain(cell.value), _plain(cell.value).split()
    for column in table.columns:
        own = _plain(column.heading)
        bare = own.partition(" (")[0]
        known = (own, bare, *words.columns.get(column.heading, ()))
        if said in known or said.partition(" (")[0] in known:  # a unit behind it names it no less
            return Guess(cell, column, True, ())
    if any(part in words.due for part in parts):
        why = "a due day is no evidence: type the paper it is of (fleetcare missing says which)"
        return Guess(cell, None, True, (), why)
    for column in table.columns:
        known = (_plain(column.heading).partition(" (")[0], *words.columns.get(column.heading, ()))
        if any(word in parts for word in known):
            return Guess(cell, column, False, (), "holds a word of it")
    return Guess(cell, None, True, (), "nothing here is called so")


def _once(guesses: Iterator[Guess]) -> Iterator[Guess]:
    """A column of ours stands for one heading: a second is not sure."""
    taken: set[str] = set()
    for guess in guesses:
        if guess.column and guess.column.field in taken and guess.sure:
            guess = guess._replace(sure=False, why="another heading is taken for it already")
        if guess.column and guess.sure:
            taken.add(guess.column.field)
        yield guess


def _cells_of(letters: str, below: list[list[Cell]]) -> list[Any]:
    return [c.value for row in below for c in row if c.letters == letters]


def _looked_at(guess: Guess, below: list[list[Cell]], words: Words) -> Guess:
    """The same with the first cells under it, and what its values mean."""
    cells = _cells_of(guess.heading.letters, below)
    seen = tuple(str(value) for value in cells[:_SEEN])
    guess = guess._replace(seen=seen)
    if guess.column is None:
        return guess
    if guess.column.field == "what" and guess.column.heading == "Check":
        return guess._replace(values=_means(cells, words.checks))
    if guess.column.choices in (("yes", "no"), ("pass", "fail", "seen")):
        known = {w: o for w, o in words.values.items() if o in guess.column.choices}
        return guess._replace(values=_means(cells, known))
    return guess


def _means(cells: list[Any], known: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    """Each value that has a meaning of ours, as it stands there."""
    found = {str(v): known[_plain(v)] for v in cells if _plain(v) in known}
    return tuple((theirs, ours) for theirs, ours in found.items() if theirs != ours)


def _order(guesses: tuple[Guess, ...], below: list[list[Cell]]) -> tuple[str | None, str]:
    """The order of days written as text, where a cell proves it: a day over 12."""
    texts = [
        (c.at, str(c.value))
        for row in below
        for c in row
        if isinstance(c.value, str) and _DATE.fullmatch(c.value)
    ]
    if not texts:
        return None, ""
    fits = {
        name: [at for at, text in texts if not _fits(text, order)]
        for name, order in _ORDERS.items()
    }
    able = [name for name, wrong in fits.items() if not wrong]
    marks = sorted({found[2] for _, text in texts if (found := _DATE.fullmatch(text))})
    if len(able) == 1 and len(marks) == 1:
        proof = next((at for name, wrong in fits.items() if name != able[0] for at in wrong), "")
        mark = marks[0]
        written = able[0].replace("/", mark).replace("-", mark)
        last = {len(text.split(mark)[-1]) for _, text in texts}
        short = last == {2} and not able[0].startswith("Y")
        return (written.replace("YYYY", "YY") if short else written), f"{proof} is no day otherwise"
    which = " or ".join(able) if able else "none fits every cell"
    return None, f"{texts[0][1]} in {texts[0][0]}: {which}"


def _fits(text: str, order: tuple[int, int, int]) -> bool:
    found = _DATE.fullmatch(text)
    parts = [found[1], found[3], found[4]] if found else []
    day, month, year = (int(parts[place]) for place in order)
    if len(parts[order[2]]) not in ((4,) if order[2] == 0 else (2, 4)):
        return False  # a year that stands first is written whole
    try:
        dt.date(year if year > 99 else 2000 + year, month, day)
    except ValueError:
        return False
    return True
