"""From the rulebook's files to a Book, strictly: every fault of every file in one report.

The files are read as tables (`{"gb/gas.toml": {...}}`); the same tables as text, kept under their
digest, are what a database is judged by.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import re
from collections.abc import Iterable, Mapping
from typing import Any

from fleetcare.errors import Problem, Refused
from fleetcare.records.kinds import VanFacts
from fleetcare.rules import read_things, strict
from fleetcare.rules.book import COMMON, FIRM, VISITING, Book
from fleetcare.rules.book import Key as BookKey
from fleetcare.rules.formats import Files, home_of
from fleetcare.rules.read_rule import read_change, read_rule
from fleetcare.rules.rule import Rule
from fleetcare.rules.strict import Faults, Key
from fleetcare.rules.visits import each_visit
from fleetcare.things import FactKind, Jurisdiction

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_ADDRESS = re.compile(r"https?://[a-z0-9.-]+(:[0-9]{1,5})?", re.ASCII)
_SECTIONS = ("jurisdiction", *read_things.READ, "rule", "change", "settings")


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
    files = each_visit(files)
    tables = _each(files, faults)
    things = _things(tables, faults)
    rules: dict[BookKey, Rule] = {}
    for file, section, where, name, raw in tables:
        if section == "rule":
            rule = read_rule(faults, where, name, raw, home_of(file), things)
            if rule and rule.key in rules:
                faults.add(where, f'the rule "{name}" stands twice')
            elif rule:
                rules[rule.key] = rule
    for file, section, where, _, raw in tables:
        if section == "change" and file == FIRM:
            read_change(faults, where, raw, rules)
    names = {name for rule in rules.values() for name in (rule.name, *rule.was)}
    for line in things["line"].values():
        for name in line.rules:
            if name not in names:
                faults.add(f"line.{line.name}", f'feeds "{name}", which is no rule here')
    settings = _settings(files.get(FIRM, {}), faults)
    _names_apart(rules, faults)
    _words_once(rules, things, faults)
    scope, days = _scope_of(rules.values(), things["fact"])
    book = Book(
        digest,
        things["jurisdiction"],
        rules,
        things["check"],
        things["component"],
        things["reading"],
        things["fact"],
        things["event"],
        things["line"],
        scope,
        days,
        _renames(rules, things),
        **settings,
        topics=tuple(things["topic"].values()),
        made={},
    )
    return book, faults.problems


def _scope_of(
    rules: Iterable[Rule], facts: Mapping[str, FactKind]
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The facts that decide which rules and places concern a van: by value, and of days only by
    whether they were said. The firm's own facts decide always."""
    named = dict.fromkeys(name for rule in rules for name in rule.names)
    stated = [name for name in named if name in VanFacts._fields]
    days = tuple(name for name in stated if facts[name].holds == "day")
    return tuple(name for name in stated if name not in days), days


def _renames(
    rules: Mapping[BookKey, Rule], things: Mapping[str, Any]
) -> dict[str, dict[str, tuple[str, ...]]]:
    """Kind of thing → a name it bore before → what bears it today."""
    found: dict[str, dict[str, tuple[str, ...]]] = {}
    listed = [("rule", rule) for rule in rules.values()]
    listed += [(s, t) for s in ("check", "component", "event", "line") for t in things[s].values()]
    for thing, one in listed:
        for old in one.was:
            names = found.setdefault(thing, {})
            names[old] = tuple(dict.fromkeys((*names.get(old, ()), one.name)))
    return found


def _names_apart(rules: Mapping[BookKey, Rule], faults: Faults) -> None:
    """A rule's name is its own within each home: what binds every home, or a visitor from any,
    shares its name with no other rule."""
    places: dict[str, list[str]] = {}
    for home, name in rules:
        places.setdefault(name, []).append(home)
    for name, homes in places.items():
        wide = [h for h in homes if h in (COMMON, FIRM) or h.startswith(VISITING)]
        if wide and len(homes) > 1:
            others = ", ".join(home for home in homes if home != wide[0])
            faults.add(f"rule {name}", f'stands under "{wide[0]}" and under {others} too')


Table = tuple[str, str, str, str, Any]  # file, section, place, name, table


def _each(files: Files, faults: Faults) -> list[Table]:
    """Every named table of every file, in the order rules are read out: by subject, whichever home
    they are of; countries visited after them, the firm's own last."""
    found: list[Table] = []
    for file in sorted(files, key=_order):
        tables = files[file]
        if not isinstance(tables, dict):
            faults.add(file, "must hold tables")
            continue
        for section, named in tables.items():
            if section not in _SECTIONS or (section in ("change", "settings") and file != FIRM):
                allowed = ", ".join(_SECTIONS)
                faults.add(f"{file}: {section}", f"is not a section; the sections are: {allowed}")
            elif section == "change":
                listed = named if isinstance(named, list) else [named]
                for place, table in enumerate(listed):
                    found.append((file, section, f"{file}: change[{place + 1}]", "", table))
            elif section == "jurisdiction":
                found.append((file, section, f"{file}: jurisdiction", file, named))
            elif section != "settings" and not isinstance(named, dict):
                faults.add(f"{file}: {section}", f"must hold tables, not {strict.shown(named)}")
            elif section != "settings":
                for name, table in named.items():
                    found.append((file, section, f"{file}: {section}.{name}", name, table))
    return found


def _order(file: str) -> tuple[bool, bool, str, str]:
    folder, _, name = file.rpartition("/")
    return (file == FIRM, file.startswith(VISITING), name, folder)


def _things(tables: list[Table], faults: Faults) -> dict[str, dict[str, Any]]:
    """Jurisdictions and the kinds of fact, component, reading, check, event and line."""
    things: dict[str, dict[str, Any]] = {name: {} for name in ("jurisdiction", *read_things.READ)}
    for file, section, where, name, raw in tables:
        if section == "jurisdiction":
            place = home_of(file)
            if place in (COMMON, FIRM):
                faults.add(where, f'"{place}" is no home: it binds every one')
            keys = {
                "title": Key(strict.text, True),
                "reviewed_on": Key(strict.day, True),
                "caution": Key(strict.text, True),
                "own_only": Key(strict.flag, default=False),  # nothing that every visit asks for
            }
            found = faults.table(where, raw, keys)
            del found["own_only"]
            things[section][place] = Jurisdiction(place, **found)
        elif section in read_things.READ:
            if name in things[section]:
                faults.add(where, f'the {section} "{name}" stands twice')
            read = read_things.READ[section]
            things[section][name] = read(faults, where, name, raw)
    read_things.known_lines(faults, things)
    return things


def _settings(tables: Any, faults: Faults) -> dict[str, Any]:
    raw = tables.get("settings", {}) if isinstance(tables, dict) else {}
    return faults.table(
        f"{FIRM}: settings",
        raw,
        {
            "firm": Key(strict.text, default=""),
            "closed_weekdays": Key(_weekdays, default=frozenset({5, 6})),
            "closed_days": Key(_days, default=frozenset()),
            # A place like GB-ENG; its days stand among the closed ones once the file is taken in.
            "bank_holidays": Key(strict.text, default=""),
            "bank_holidays_through": Key(strict.day, default=None),
            "address": Key(_address, default=""),
            "ring": Key(strict.text, default=""),
            "turnaround_days": Key(strict.count, default=0),
            "turnaround_hours": Key(strict.count, default=0),
            # A gap shorter than this is not let; common practice, no source.
            "shortest_hire_nights": Key(strict.count, default=3),
            # Limitation Act 1980 s.5, six years for a claim on a contract: from memory, and the
            # firm's own choice, for no law says how long a name is kept against claims.
            "keep_names_years": Key(strict.count, default=6),
            # Who answers for a hire that goes without an item of practice: never clerk or yard.
            "may_waive": Key(strict.texts, default=()),
        },
    )


def _address(raw: Any) -> str:
    """Where the pages are reached, without what follows the name: a van's page is made of it."""
    found = strict.text(raw)
    if not _ADDRESS.fullmatch(found):
        raise ValueError(f'"{found}" is not like https://fleet.example, with nothing after it')
    return found


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


def _words_once(rules: Mapping[BookKey, Rule], things: Mapping[str, Any], faults: Faults) -> None:
    """A word typed for a rule or kind of check names one thing only, for a van of any one home."""
    seen: dict[tuple[str, str], tuple[str, str]] = {}
    listed = [("rule", r.name, (r.name, *r.aliases), r.home) for r in rules.values()]
    checks = things["check"].values()
    listed += [("check", c.name, (c.name, *c.aliases), COMMON) for c in checks]
    for sort, name, words, home in listed:
        for word in words:
            other, there = seen.setdefault((sort, word), (name, home))
            if other != name and (
                there == home or COMMON in (there, home) or FIRM in (there, home)
            ):
                faults.add(f"{sort} {name}", f'the word "{word}" already names {sort} {other}')
