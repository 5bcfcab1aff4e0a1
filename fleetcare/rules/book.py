"""The rulebook as read: rules by jurisdiction, and the kinds of thing the firm records."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any, NamedTuple

from fleetcare.rules.rule import (
    Rule,
)
from fleetcare.things import (
    CheckKind,
    ComponentKind,
    EventKind,
    FactKind,
    Jurisdiction,
    LineKind,
    ReadingKind,
)


class Book(NamedTuple):
    """Everything the rules say. `digest` names the text it was read from."""

    digest: str
    jurisdictions: Mapping[str, Jurisdiction]
    rules: Mapping[str, Rule]
    checks: Mapping[str, CheckKind]
    components: Mapping[str, ComponentKind]
    readings: Mapping[str, ReadingKind]
    facts: Mapping[str, FactKind]
    fed_by: Mapping[str, tuple[Rule, ...]]  # kind of check → rules
    closed_weekdays: frozenset[int] = frozenset({5, 6})
    closed_days: frozenset[dt.date] = frozenset()
    firm: str = ""
    turnaround_days: int = 0
    keep_names_years: int = 6  # the firm's choice; the package's own is explained where it is read
    events: Mapping[str, EventKind] = {}
    lines: Mapping[str, LineKind] = {}
    # The day this book first took each rule in, where its text is not the first one.
    adopted: Mapping[str, dt.date] = {}
    # Sums done once a book; never part of what it says. A book changed by _replace needs its own.
    memo: dict[Any, Any] = {}

    def of(self, jurisdiction: str | None, *, alone: bool = False) -> tuple[Rule, ...]:
        """The rules that hold in a jurisdiction; not those of every one, if it is to be alone."""
        named = (jurisdiction,) if alone else (jurisdiction, "*")
        return tuple(r for r in self.rules.values() if r.jurisdiction in named)

    @property
    def homes(self) -> dict[str, Jurisdiction]:
        """The jurisdictions a van may be at home in."""
        return {name: j for name, j in self.jurisdictions.items() if "/" not in name}

    def visiting(self, country: str) -> tuple[Rule, ...] | None:
        """The rules that bind a van visiting a country; None where the book has no file of it."""
        name = f"visiting/{country.lower()}"
        return self.of(name, alone=True) if name in self.jurisdictions else None

    def working(self, day: dt.date) -> bool:
        """Whether the workshop is open on a day."""
        return day.weekday() not in self.closed_weekdays and day not in self.closed_days

    def find_rules(self, word: str) -> tuple[Rule, ...]:
        """The rules a word names: a rule, one of its short names, or a kind of check it reads."""
        if word in self.rules:
            return (self.rules[word],)
        named = tuple(r for r in self.rules.values() if word in r.aliases)
        kind = self.find_check(word)
        return named or (self.fed_by.get(kind.name, ()) if kind else ())

    def find_check(self, word: str) -> CheckKind | None:
        """The kind of check a word names; a rule's name does when one kind alone feeds it."""
        if word in self.checks:
            return self.checks[word]
        for kind in self.checks.values():
            if word in kind.aliases:
                return kind
        rule = self.rules.get(word) or next(
            (r for r in self.rules.values() if word in r.aliases), None
        )
        return self.checks[rule.checks[0]] if rule and len(rule.checks) == 1 else None

    def words(self) -> list[str]:
        """Every word that names a rule or a kind of check."""
        named = {*self.rules, *self.checks}
        named.update(a for r in self.rules.values() for a in r.aliases)
        named.update(a for c in self.checks.values() for a in c.aliases)
        return sorted(named)
