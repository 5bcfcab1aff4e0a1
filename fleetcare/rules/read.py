"""From the rulebook's files to a Book, strictly: every fault of every file in one report.

The files are read as tables (`{"gb/gas.toml": {...}}`); the same tables as text, kept under their
digest, are what a database is judged by.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from collections.abc import Mapping
from typing import Any

from fleetcare.errors import Problem, Refused
from fleetcare.rules import read_things, strict
from fleetcare.rules.book import Book
from fleetcare.rules.read_rule import read_change, read_rule
from fleetcare.rules.rule import Rule
from fleetcare.rules.strict import Faults, Key
from fleetcare.things import Jurisdiction

Files = Mapping[str, Any]
FIRM = "firm"  # what a firm's own file is called among the rulebook's

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
VISITING = "visiting"  # the folder of rules that bind a van visiting a country
_SECTIONS = ("jurisdiction", *read_things.READ, "rule", "change", "settings")


def text_of(files: Files) -> str:
    """The tables as one canonical text; days are marked, since JSON has none."""

    def plain(value: Any) -> Any:
        if isinstance(value, dt.date):
            return {"day": value.isoformat()}
        raise TypeError(f"{value!r} has no place in a rulebook")

    return json.dumps(files, ensure_ascii=False, default=plain)


def files_of(text: str) -> Files:
    """The tables kept as a text."""

    def days(table: dict[str, Any]) -> Any:
        if len(table) == 1 and isinstance(table.get("day"), str):
            return dt.date.fromisoformat(table["day"])
        return table

    found: Files = json.loads(text, object_hook=days)
    return found


def digest_of(text: str) -> str:
    """SHA-256 of a rulebook's text, in hex."""
    return hashlib.sha256(text.encode()).hexdigest()


def read_book(files: Files, digest: str = "") -> Book:
    """The book, or every fault at once as one `Refused`."""
    book, problems = try_book(files, digest)
    if problems:
        raise Refused(problems)
    return book


def try_book(files: Files, digest: str = "") -> tuple[Book, list[Problem]]:
    """The book as far as it can be read, and every fault found."""
    faults = Faults()
    things = _things(files, faults)
    rules: dict[str, Rule] = {}
    for file, section, where, name, raw in _each(files, faults):
        if section == "rule":
            jurisdiction = "*" if file == FIRM else _place_of(file)
            rule = read_rule(faults, where, name, raw, jurisdiction, things, firm=file == FIRM)
            if name in rules:
                faults.add(where, f'the rule "{name}" stands twice')
            elif rule:
                rules[name] = rule
    for file, section, where, _, raw in _each(files, Faults()):
        if section == "change" and file == FIRM:
            read_change(faults, where, raw, rules)
    for line in things["line"].values():
        for name in line.rules:
            if name not in rules:
                faults.add(f"line.{line.name}", f'feeds "{name}", which is no rule here')
    settings = _settings(files.get(FIRM, {}), faults)
    _words_once(rules, things, faults)
    fed_by = {
        kind: tuple(rule for rule in rules.values() if kind in rule.checks)
        for kind in things["check"]
    }
    book = Book(
        digest,
        things["jurisdiction"],
        rules,
        things["check"],
        things["component"],
        things["reading"],
        things["fact"],
        fed_by,
        **settings,
        events=things["event"],
        lines=things["line"],
        memo={},
    )
    return book, faults.problems


def _each(files: Files, faults: Faults) -> list[tuple[str, str, str, str, Any]]:
    """Every named table of every file: file, section, place, name, table."""
    found = []
    for file, tables in files.items():
        if not isinstance(tables, dict):
            faults.add(file, "must hold tables")
            continue
        for section, named in tables.items():
            if section not in _SECTIONS or (section in ("change", "settings") and file != FIRM):
                allowed = ", ".join(_SECTIONS)
                faults.add(f"{file}: {section}", f"is not a section; the sections are: {allowed}")
            elif section == "change":
                for place, table in enumerate(named):
                    found.append((file, section, f"{file}: change[{place + 1}]", "", table))
            elif section == "jurisdiction":
                found.append((file, section, f"{file}: jurisdiction", file, named))
            elif section != "settings":
                for name, table in named.items():
                    found.append((file, section, f"{file}: {section}.{name}", name, table))
    return found


def _things(files: Files, faults: Faults) -> dict[str, dict[str, Any]]:
    """Jurisdictions and the kinds of fact, component, reading and check."""
    things: dict[str, dict[str, Any]] = {name: {} for name in ("jurisdiction", *read_things.READ)}
    for file, section, where, name, raw in _each(files, Faults()):
        if section == "jurisdiction":
            place = _place_of(file)
            things[section][place] = Jurisdiction(
                place,
                **faults.table(
                    where,
                    raw,
                    {
                        "title": Key(strict.text, True),
                        "reviewed_on": Key(strict.day, True),
                        "caution": Key(strict.text, True),
                    },
                ),
            )
        elif section in read_things.READ:
            if name in things[section]:
                faults.add(where, f'the {section} "{name}" stands twice')
            read = read_things.READ[section]
            things[section][name] = read(faults, where, name, raw, file == FIRM)
    read_things.known_lines(faults, things)
    return things


def _place_of(file: str) -> str:
    """The jurisdiction a file belongs to: its folder; of a country visited, its own name."""
    folder = file.partition("/")[0]
    return file.removesuffix(".toml") if folder == VISITING else folder


def _settings(tables: Any, faults: Faults) -> dict[str, Any]:
    raw = tables.get("settings", {}) if isinstance(tables, dict) else {}
    return faults.table(
        f"{FIRM}: settings",
        raw,
        {
            "firm": Key(strict.text, default=""),
            "closed_weekdays": Key(_weekdays, default=frozenset({5, 6})),
            "closed_days": Key(_days, default=frozenset()),
            "turnaround_days": Key(strict.count, default=0),
            # Limitation Act 1980 s.5, six years for a claim on a contract: from memory, and the
            # firm's own choice, for no law says how long a name is kept against claims.
            "keep_names_years": Key(strict.count, default=6),
        },
    )


def _weekdays(raw: Any) -> frozenset[int]:
    names = strict.texts(raw)
    for name in names:
        strict.one_of(WEEKDAYS)(name)
    if len(set(names)) == len(WEEKDAYS):
        raise ValueError("leaves no working day")
    return frozenset(WEEKDAYS.index(name) for name in names)


def _days(raw: Any) -> frozenset[dt.date]:
    if not isinstance(raw, list):
        raise ValueError("must be a list of dates")
    return frozenset(strict.day(item) for item in raw)


def _words_once(rules: Mapping[str, Rule], things: Mapping[str, Any], faults: Faults) -> None:
    """A word typed for a rule or kind of check names one thing only."""
    seen: dict[str, str] = {}
    for owner, words in [
        *((f"rule {r.name}", (r.name, *r.aliases)) for r in rules.values()),
        *((f"check {c.name}", (c.name, *c.aliases)) for c in things["check"].values()),
    ]:
        for word in words:
            if word in seen and seen[word].split()[0] == owner.split()[0]:
                faults.add(owner, f'the word "{word}" already names {seen[word]}')
            seen.setdefault(word, owner)
