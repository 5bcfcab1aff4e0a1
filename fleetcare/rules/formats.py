"""Texts of rulebooks in the formats they were adopted in, brought to today's.

A text adopted once is judged by for ever. So no word of it changes its meaning: what a newer
program means otherwise is a new word in a newer format, and an older text comes through here.
Format 1 is what 0.1 to 0.5 wrote, which named none; what those programs knew by themselves is
supplied: what may be waived (common practice, never law), which check the handover sheet makes,
which component bears bikes, the types of tyres and extinguishers, the lines of the label, and that
defects, holds and what happens at the yard bind a van wherever it is at home.
"""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Mapping
from typing import Any

from fleetcare.errors import DatabaseFault
from fleetcare.rules.book import COMMON, FIRM, VISITING, Key
from fleetcare.rules.kinds import KINDS

NEWEST = 2
Files = Mapping[str, Any]

_GOOD = frozenset({"in date", "not applicable"})
_EVERY_HOME = frozenset({"defect", "hold", "recall", "paper", "after"})  # kinds of rule
_THINGS: dict[str, dict[str, dict[str, Any]]] = {
    "check": {"walkaround": {"walkaround": True}},
    "component": {
        "bike-rack": {"bikes": True},
        "extinguisher": {
            "varieties": ["powder", "foam", "water", "wet-chemical", "co2", "sealed"],
        },
        "tyre": {"varieties": ["summer", "m+s", "alpine"]},
        "gas-hose": {"said_with": "--gas-hose-at"},
        "appliance": {"said_with": "--appliance"},
    },
}
_LABEL = (
    "gas-safety-check", "roadworthiness-test", "insurance", "vehicle-tax", "electrical-inspection",
    "habitation-service", "extinguisher-service",
)  # fmt: skip


def current(files: Files, number: int) -> Files:
    """Tables by file in today's format. A text of a format to come is refused (DatabaseFault)."""
    if number > NEWEST:
        raise DatabaseFault(
            f"the rules in use are written in format {number}, and this program reads up to "
            f"{NEWEST}: use a newer program"
        )
    return files if number == NEWEST else _from_first(files)


def firm_of(tables: Any) -> Any:
    """A firm's own file as it was typed, in today's format; one that names none is of the first."""
    if not isinstance(tables, dict):
        return tables
    rest = {name: table for name, table in tables.items() if name != "format"}
    number = tables.get("format", 1)
    if type(number) is not int or number < 1:
        return tables  # told as a fault where it is read
    found: Any = current({FIRM: rest}, number)
    return found[FIRM]


def _from_first(files: Files) -> Files:
    found: dict[str, Any] = {}
    common: dict[str, Any] = {}
    for file, tables in files.items():
        if not isinstance(tables, dict):
            found[file] = tables
            continue
        tables = _supplied(two_levels(tables))
        folder, _, name = file.partition("/")
        rules = tables.get("rule")
        if folder == "gb" and isinstance(rules, dict):
            everybody = {n: r for n, r in rules.items() if _of(r, "kind") in _EVERY_HOME}
            if everybody:
                common[f"{COMMON}/{name}"] = {"rule": everybody}
                tables["rule"] = {n: r for n, r in rules.items() if n not in everybody}
        found[file] = tables
    return common | found


def two_levels(tables: dict[str, Any]) -> dict[str, Any]:
    """A copy two levels deep: the tables of the text itself are never written to."""
    return {
        section: {n: dict(t) if isinstance(t, dict) else t for n, t in named.items()}
        if isinstance(named, dict)
        else named
        for section, named in tables.items()
    }


def _supplied(tables: dict[str, Any]) -> dict[str, Any]:
    for section, marks in _THINGS.items():
        named = tables.get(section)
        for name, words in marks.items():
            if isinstance(named, dict) and isinstance(named.get(name), dict):
                named[name] |= {w: v for w, v in words.items() if w not in named[name]}
    rules = tables.get("rule")
    for name, rule in rules.items() if isinstance(rules, dict) else ():
        if not isinstance(rule, dict):
            continue
        if name in _LABEL:
            rule.setdefault("label", _LABEL.index(name) + 1)
        kind = KINDS.get(str(rule.get("kind")))
        if kind and not kind.never_waived and _grades(rule) <= {"practice", "firm"}:
            codes = [code for code, standing in kind.standings.items() if standing not in _GOOD]
            rule.setdefault("waivable", codes)
    return tables


def _grades(rule: dict[str, Any]) -> set[Any]:
    versions = rule.get("version")
    listed = versions if isinstance(versions, list) else []
    return {_of(_of(version, "source"), "grade") for version in listed}


def _of(table: Any, key: str) -> Any:
    return table.get(key) if isinstance(table, dict) else None


def text_of(files: Files) -> str:
    """Tables of today's format as one canonical text; days are marked, since JSON has none."""

    def plain(value: Any) -> Any:
        if isinstance(value, dt.date):
            return {"day": value.isoformat()}
        raise TypeError(f"{value!r} has no place in a rulebook")

    return json.dumps({"format": NEWEST, **files}, ensure_ascii=False, default=plain)


def files_of(text: str) -> Files:
    """The tables kept as a text, in today's format."""

    def days(table: dict[str, Any]) -> Any:
        if len(table) == 1 and isinstance(table.get("day"), str):
            return dt.date.fromisoformat(table["day"])
        return table

    found: dict[str, Any] = json.loads(text, object_hook=days)
    return current(found, found.pop("format", 1))


def asking_rules(files: Files) -> list[tuple[Key, tuple[str, ...]]]:
    """The rules of a text that ask for something after an event: where each stands and every name
    it bore."""
    return [
        ((home_of(file), name), (name, *rule.get("was", ())))
        for file, tables in files.items()
        for name, rule in tables.get("rule", {}).items()
        if KINDS[rule["kind"]].by_event
    ]


def home_of(file: str) -> str:
    """Where a file's rules hold: its folder; of a country visited, its own name."""
    return file.removesuffix(".toml") if file.startswith(VISITING) else file.partition("/")[0]
