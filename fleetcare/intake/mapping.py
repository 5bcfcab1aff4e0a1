"""A firm's own sheet: which of its headings is which of our columns, told in a small TOML file.

[[sheet]]
name = "Fleet list"        # the sheet of the workbook; a CSV is named after its file
kind = "vans"
heading_row = 3            # where titles stand above the headings
date_format = "DD/MM/YYYY" # of dates written as text, or a list of such; real dates need none
ignore = ["Colour"]
[sheet.columns]
"Fleet no" = "Van"
"Reg No" = "Reg"
[sheet.fixed]
Rules = "gb"
[sheet.values."Gas on board"]
Y = "yes"

A sheet that is told of several times feeds several kinds: a row gives a record of each kind for
which it fills in more than the van.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from fleetcare.errors import Problem, near
from fleetcare.intake.columns import DIMENSIONS, TABLES, Column, Table
from fleetcare.intake.filled import Headings
from fleetcare.trade.measures import read_measure

_FORMATS = {"DD": "%d", "MM": "%m", "YYYY": "%Y", "YY": "%y"}
_LAST_HEADING = 50
_KEYS = {
    "name", "kind", "heading_row", "date_format", "ignore", "columns", "fixed", "units", "values",
}  # fmt: skip


class Mapped(NamedTuple):
    """One sheet of a firm's own workbook, as it is to be read."""

    table: Table
    mapping: Headings


def read_mapping(raw: Any, file: str) -> tuple[dict[str, list[Mapped]], list[Problem]]:
    """What each sheet that a mapping file names is read as, and every fault of it."""
    sheets = raw.get("sheet") if isinstance(raw, dict) else None
    if not isinstance(sheets, list) or not sheets or set(raw) != {"sheet"}:
        return {}, [Problem(file, "must hold [[sheet]] tables and nothing else")]
    found: dict[str, list[Mapped]] = {}
    spelled: dict[str, str] = {}  # the name of a sheet as it was written first
    faults: list[Problem] = []
    for place, one in enumerate(sheets, 1):
        wrong, mapped = _sheet(f"{file}: sheet[{place}]", one)
        faults += wrong
        if mapped:
            name = spelled.setdefault(str(one["name"]).strip().casefold(), one["name"])
            found.setdefault(name, []).append(mapped)
    return {name: _told_apart(listed) for name, listed in found.items()}, faults


def _told_apart(listed: list[Mapped]) -> list[Mapped]:
    """Of a sheet that feeds several kinds a heading of one is none of the others' business."""
    known = frozenset(heading for one in listed for heading in one.mapping.headings)
    return [
        one._replace(
            mapping=one.mapping._replace(
                ignored=one.mapping.ignored | (known - set(one.mapping.headings)),
                several=len(listed) > 1,
                further=place > 0,
            )
        )
        for place, one in enumerate(listed)
    ]


def _sheet(where: str, one: Any) -> tuple[list[Problem], Mapped | None]:
    if not isinstance(one, dict):
        return [Problem(where, "must be a table")], None
    faults = [Problem(f"{where}.{key}", "is no key here") for key in sorted(set(one) - _KEYS)]
    table = TABLES.get(str(one.get("kind")))
    if table is None:
        hint = near(str(one.get("kind")), TABLES)
        faults.append(Problem(f"{where}.kind", f"must be one of {', '.join(TABLES)}.{hint}"))
        return faults, None
    if not isinstance(one.get("name"), str):
        faults.append(Problem(f"{where}.name", "must be the name of the sheet"))
    known = {column.heading: column for column in table.columns}
    columns, fixed, units = (one.get(key, {}) for key in ("columns", "fixed", "units"))
    for key, listed in (("columns", columns), ("fixed", fixed), ("units", units)):
        if not isinstance(listed, dict) or not all(isinstance(v, str) for v in listed.values()):
            return [*faults, Problem(f"{where}.{key}", "must be a table of texts")], None
    headings: dict[str, Column] = {}
    if len({heading.lower() for heading in columns}) < len(columns):
        faults.append(Problem(f"{where}.columns", "has two headings that differ in case only"))
    for theirs, ours in columns.items():
        if ours in known:
            headings[theirs] = known[ours]
        else:
            hint = f"{near(ours, known)} The columns are: {', '.join(known)}"
            faults.append(Problem(f"{where}.columns.{theirs}", f'"{ours}" is no column.{hint}'))
    values, badly_fixed = _fixed(where, columns, fixed, known)
    faults += badly_fixed
    day_formats, wrong = _day_formats(where, one.get("date_format"))
    row = one.get("heading_row")
    if row is not None and not (type(row) is int and 1 <= row <= _LAST_HEADING):
        words = f"must be the number of a row, 1 to {_LAST_HEADING}"
        wrong.append(Problem(f"{where}.heading_row", words))
    swaps, badly = _values(where, columns, one.get("values", {}))
    wrong += badly
    ignored = one.get("ignore", [])
    if not isinstance(ignored, list) or not all(isinstance(word, str) for word in ignored):
        wrong.append(Problem(f"{where}.ignore", "must be a list of headings"))
        ignored = []
    faults += _units(where, headings, units)
    mapping = Headings(
        headings, day_formats, values, frozenset(ignored), units, heading_row=row, values=swaps
    )
    return [*faults, *wrong], None if faults or wrong else Mapped(table, mapping)


def _fixed(
    where: str, columns: dict[str, str], fixed: dict[str, str], known: dict[str, Column]
) -> tuple[dict[str, str], list[Problem]]:
    """The fields that are the same for every row, and what is wrong with them."""
    values: dict[str, str] = {}
    faults: list[Problem] = []
    for ours, value in fixed.items():
        at = f"{where}.fixed.{ours}"
        if ours in columns.values():
            faults.append(Problem(at, "is a column already: keep one of the two"))
        elif ours in known:
            values[known[ours].field] = value
        else:
            hint = f"{near(ours, known)} The columns are: {', '.join(known)}"
            faults.append(Problem(at, f"is no column.{hint}"))
    return values, faults


def _units(where: str, headings: dict[str, Column], units: dict[str, str]) -> list[Problem]:
    """What is wrong with the units of bare figures."""
    faults = []
    for heading, unit in units.items():
        column = headings.get(heading)
        at = f"{where}.units.{heading}"
        if column is None or not column.unit:
            faults.append(Problem(at, "is no heading of a column that has a unit"))
        elif not _is_unit(unit, column.unit):
            faults.append(Problem(at, f'"{unit}" is no unit of it: put one like {column.unit}'))
    return faults


def _is_unit(unit: str, like: str) -> bool:
    try:
        read_measure(f"1{unit}", DIMENSIONS[like])
    except ValueError:
        return False
    return unit.isalpha()


def _values(
    where: str, columns: dict[str, str], raw: Any
) -> tuple[dict[str, dict[str, str]], list[Problem]]:
    """What each value of a column means, by the heading and the value in small letters."""
    if not isinstance(raw, dict):
        return {}, [Problem(f"{where}.values", "must be a table for each heading")]
    found: dict[str, dict[str, str]] = {}
    faults: list[Problem] = []
    for heading, listed in raw.items():
        at = f"{where}.values.{heading}"
        if heading not in columns:
            faults.append(Problem(at, "is no heading of [sheet.columns]"))
        elif not isinstance(listed, dict) or not all(isinstance(v, str) for v in listed.values()):
            faults.append(Problem(at, "must be a table of texts"))
        else:
            found[heading.lower()] = {w.strip().casefold(): v for w, v in listed.items()}
    return found, faults


def _day_formats(where: str, named: Any) -> tuple[tuple[str, ...], list[Problem]]:
    """Date formats as people write them, like DD/MM/YYYY: named once, never guessed."""
    listed = named if isinstance(named, list) else [] if named is None else [named]
    found = [_day_format(one) for one in listed]
    if None in found:
        return (), [Problem(f"{where}.date_format", "must be like DD/MM/YYYY or YYYY-MM-DD")]
    return tuple(one for one in found if one), []


def _day_format(named: Any) -> str | None:
    made = str(named).replace("%", "\x00")
    for word, code in _FORMATS.items():
        made = made.replace(word, code, 1)
    if "\x00" in made or sorted(made[i + 1] for i, c in enumerate(made) if c == "%") not in (
        ["Y", "d", "m"], ["d", "m", "y"],
    ):  # fmt: skip
        return None
    return made
