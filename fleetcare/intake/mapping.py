"""A firm's own sheet: which of its headings is which of our columns, told in a small TOML file.

[[sheet]]
name = "Fleet list"        # the sheet of the workbook; a CSV is named after its file
kind = "vans"
date_format = "DD/MM/YYYY" # of dates written as text; real dates need none
ignore = ["Colour"]
[sheet.columns]
"Fleet no" = "Van"
"Reg No" = "Reg"
[sheet.fixed]
Rules = "gb"
"""

from __future__ import annotations

from typing import Any, NamedTuple

from fleetcare.errors import Problem, near
from fleetcare.intake.columns import DIMENSIONS, TABLES, Column, Table
from fleetcare.intake.filled import Headings
from fleetcare.trade.measures import read_measure

_FORMATS = {"DD": "%d", "MM": "%m", "YYYY": "%Y", "YY": "%y"}
_KEYS = {"name", "kind", "date_format", "ignore", "columns", "fixed", "units"}


class Mapped(NamedTuple):
    """One sheet of a firm's own workbook, as it is to be read."""

    table: Table
    mapping: Headings


def read_mapping(raw: Any, file: str) -> tuple[dict[str, Mapped], list[Problem]]:
    """The sheets a mapping file names, and every fault of it."""
    sheets = raw.get("sheet") if isinstance(raw, dict) else None
    if not isinstance(sheets, list) or not sheets or set(raw) != {"sheet"}:
        return {}, [Problem(file, "must hold [[sheet]] tables and nothing else")]
    found: dict[str, Mapped] = {}
    names: set[str] = set()
    faults: list[Problem] = []
    for place, one in enumerate(sheets, 1):
        where = f"{file}: sheet[{place}]"
        wrong, mapped = _sheet(where, one)
        faults += wrong
        if mapped:
            name = str(one["name"])
            if name.strip().casefold() in names:
                words = "is named twice: a sheet is of one kind, so copy it under another name"
                faults.append(Problem(f"{where}.name", words))
            names.add(name.strip().casefold())
            found[name] = mapped
    return found, faults


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
    values: dict[str, str] = {}
    for ours, value in fixed.items():
        if ours in columns.values():
            faults.append(
                Problem(f"{where}.fixed.{ours}", "is a column already: keep one of the two")
            )
        elif ours in known:
            values[known[ours].field] = value
        else:
            hint = f"{near(ours, known)} The columns are: {', '.join(known)}"
            faults.append(Problem(f"{where}.fixed.{ours}", f"is no column.{hint}"))
    day_format, wrong = _day_format(where, one.get("date_format"))
    ignored = one.get("ignore", [])
    if not isinstance(ignored, list) or not all(isinstance(word, str) for word in ignored):
        wrong.append(Problem(f"{where}.ignore", "must be a list of headings"))
        ignored = []
    faults += _units(where, headings, units)
    mapping = Headings(headings, day_format, values, frozenset(ignored), units)
    return [*faults, *wrong], None if faults or wrong else Mapped(table, mapping)


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


def _day_format(where: str, named: Any) -> tuple[str | None, list[Problem]]:
    """A date format as people write it, like DD/MM/YYYY: named once, never guessed."""
    if named is None:
        return None, []
    made = str(named).replace("%", "\x00")
    for word, code in _FORMATS.items():
        made = made.replace(word, code, 1)
    if "\x00" in made or sorted(made[i + 1] for i, c in enumerate(made) if c == "%") not in (
        ["Y", "d", "m"], ["d", "m", "y"],
    ):  # fmt: skip
        return None, [Problem(f"{where}.date_format", "must be like DD/MM/YYYY or YYYY-MM-DD")]
    return made, []
