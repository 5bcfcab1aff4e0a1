"""Facts as JSON Lines, one record a line, as other programs write them to us.

A line names its `kind` and the fields of that kind; what is left out is not stated. A record that
another line points to bears an `id` of the writer's own. A field that points to a record holds such
an id, the number of a record in the book ("#57"), an inspector's name or a booking's reference.
"""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

from fleetcare.errors import Problem, an, near
from fleetcare.records.fields import Field, Is, fields_of
from fleetcare.records.kinds import LOADED

MOST_COUNT = 60  # seats, berths, bikes: as many as may be typed
MOST_FAULTS = 1_000  # of a file; nobody reads more, and each costs a look at every word
MOST_OCTETS = 1_000_000  # of a line; a record of ours is a few hundred


class Line(NamedTuple):
    """One record as written, where it stands, and what it points to by the writer's own words."""

    where: str
    kind: str
    record: Any  # its fields that point to a record are not filled in yet
    id: str | None
    refs: dict[str, str]
    cells: Mapping[str, str] = {}  # of a sheet: where each field stands, and what stands there


def read_lines(lines: Iterable[str], name: str) -> tuple[list[Line], list[Problem]]:
    """Every line that can be read, and every fault in those that can't."""
    found: list[Line] = []
    faults: list[Problem] = []
    ids: set[str] = set()
    for number, text in enumerate(lines, 1):
        if not text.strip():
            continue
        where = f"{name}:{number}"
        line = _line(where, text)
        if isinstance(line, Line):
            if line.id in ids:
                faults.append(Problem(where, f'the id "{line.id}" stands on an earlier line too'))
            ids |= {line.id} if line.id else set()
            found.append(line)
        else:
            faults += line
        if len(faults) > MOST_FAULTS:
            faults.append(Problem(where, "is where reading stopped: the file is full of faults"))
            break
    return found, faults


def _line(where: str, text: str) -> Line | list[Problem]:
    if len(text) > MOST_OCTETS:
        return [Problem(where, f"is longer than {MOST_OCTETS:,} characters: no record is")]
    try:
        raw = json.loads(text, parse_constant=_no_number, object_pairs_hook=_once)
    except (ValueError, RecursionError) as fault:
        return [Problem(where, f"is not a JSON object: {fault}")]
    if not isinstance(raw, dict):
        return [Problem(where, "is not a JSON object: write one record a line")]
    kind = raw.pop("kind", None)
    if not isinstance(kind, str) or kind not in LOADED:
        known = f'"{kind}" is no kind of record taken here.{near(str(kind), LOADED)} '
        return [Problem(where, f"{known}The kinds are: {', '.join(LOADED)}")]
    return _record(where, kind, raw)


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        raise ValueError("a key stands twice")
    return found


def _no_number(word: str) -> None:
    raise ValueError(f"{word} is no number")


def _record(where: str, kind: str, raw: dict[str, Any]) -> Line | list[Problem]:
    record: Any = LOADED[kind]
    own = raw.pop("id", None)
    faults: list[Problem] = []
    if own is not None and (not isinstance(own, str) or not own or own.startswith("#")):
        faults.append(Problem(f"{where} id", 'must be a word of your own, not beginning with "#"'))
    values: dict[str, Any] = {"number": 0}
    refs: dict[str, str] = {}
    fields = {field.name: field for field in fields_of(record) if field.name != "number"}
    for name in raw:
        if name not in fields:
            hint = near(name, fields)
            faults.append(Problem(f"{where} {name}", f"{an(kind)} has no such field.{hint}"))
    for name, field in fields.items():
        given = raw.get(name)
        needed = not field.optional and name not in record._field_defaults
        if given is None:
            if needed:
                faults.append(Problem(f"{where} {name}", f"{an(kind)} is not complete without it"))
            continue
        if field.holds is Is.NUMBER:
            if isinstance(given, str) and given:
                refs[name], values[name] = given, 0
            else:
                words = 'must name a record: an id of this file, "#57", a name or a reference'
                faults.append(Problem(f"{where} {name}", words))
            continue
        value = _value(field, given)
        if isinstance(value, Problem):
            faults.append(value._replace(where=f"{where} {name}"))
        else:
            values[name] = value
    return faults or Line(where, kind, record(**values), own, refs)


_WORDS = frozenset({Is.VAN, Is.WORD, Is.CLOCK, Is.MEASURE, Is.PERSON, Is.SAID})


def _value(field: Field, given: Any) -> Any:
    """A field's value from its JSON, or what is wrong with it."""
    if field.holds in _WORDS:
        return given if isinstance(given, str) else Problem("", "must be text in quotes")
    if field.holds is Is.DAY:
        return _day(given)
    if field.holds is Is.FLAG:
        return given if isinstance(given, bool) else Problem("", "must be true or false")
    if field.holds is Is.COUNT:
        whole = type(given) is int and 0 <= given <= MOST_COUNT
        return given if whole else Problem("", f"must be a whole number from 0 to {MOST_COUNT}")
    if field.holds is Is.NAMES:
        if isinstance(given, list) and all(isinstance(one, str) for one in given):
            return tuple(given)
        return Problem("", "must be a list of texts")
    return _rows(field, given)


def _day(given: Any) -> dt.date | Problem:
    try:
        day = dt.date.fromisoformat(given)
        if day.isoformat() != given or not 1900 <= day.year <= 2199:
            raise ValueError
        return day
    except (ValueError, TypeError):
        return Problem("", f"{json.dumps(given)} is not a day: write it like 2026-03-02")


def _rows(field: Field, given: Any) -> tuple[Any, ...] | Problem:
    """The rows that belong to a record, like a check's readings."""
    part: Any = field.part
    names = part._fields
    if not isinstance(given, list):
        return Problem("", "must be a list")
    found = []
    for row in given:
        plain = isinstance(row, dict) and all(isinstance(v, str) for v in row.values())
        if not plain or not set(row) <= set(names):
            return Problem("", f"each must be an object of texts: {', '.join(names)}")
        if {"what", "figure"} - set(row):
            return Problem("", "each must say what and figure")
        found.append(part(*(row.get(name) for name in names)))
    return tuple(found)
