"""The rulebook as read: the rules of each home, and the kinds of thing the firm records."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

from fleetcare.records.kinds import Check, Defect
from fleetcare.rules.kinds import kind_of
from fleetcare.rules.kinds.defect import topic_of
from fleetcare.rules.rule import Rule, Topic
from fleetcare.things import (
    CheckKind,
    ComponentKind,
    EventKind,
    FactKind,
    Jurisdiction,
    LineKind,
    ReadingKind,
)

COMMON = "common"  # the folder of what binds every home; no home itself
FIRM = "firm"  # what a firm's own file is called among the rulebook's; it binds every home too
VISITING = "visiting/"  # how the name of a country visited begins

Key = tuple[str, str]  # where a rule stands, and its name


class Binding(NamedTuple):
    """The rules that bind a van at home in one place, in the order they are read out."""

    rules: tuple[Rule, ...]
    by_name: Mapping[str, Rule]
    fed_by: Mapping[str, tuple[Rule, ...]]  # kind of check → the rules that read it


class Book(NamedTuple):
    """Everything the rules say. `digest` names the text it was read from."""

    digest: str
    jurisdictions: Mapping[str, Jurisdiction]
    rules: Mapping[Key, Rule]
    checks: Mapping[str, CheckKind]
    components: Mapping[str, ComponentKind]
    readings: Mapping[str, ReadingKind]
    facts: Mapping[str, FactKind]
    events: Mapping[str, EventKind]
    lines: Mapping[str, LineKind]
    scope: tuple[str, ...] = ()  # the facts that any rule's conditions, places or rests-on name
    scope_days: tuple[str, ...] = ()  # those of them that are days: only whether they were said
    renames: Mapping[str, Mapping[str, tuple[str, ...]]] = {}  # thing → old name → names today
    closed_weekdays: frozenset[int] = frozenset({5, 6})
    closed_days: frozenset[dt.date] = frozenset()
    bank_holidays: str = ""  # a place; its days stand among the closed ones, through a last year
    bank_holidays_through: dt.date | None = None
    firm: str = ""
    turnaround_days: int = 0
    address: str = ""  # where the pages are reached, as it stands in the code on a label
    ring: str = ""  # whom a hirer rings, as it stands on the sheet in the van
    turnaround_hours: int = 0  # between two hires of one day, where both hours are known
    shortest_hire_nights: int = 3  # common practice, no source
    may_waive: tuple[str, ...] = ()  # the names whose waiver counts; nobody's where none is named
    keep_names_years: int = 6  # the firm's choice; the package's own is explained where it is read
    topics: tuple[Topic, ...] = ()  # what a defect may be of
    # The day this book first took each rule in, where its text is not the first one.
    adopted: Mapping[Key, dt.date] = {}
    # Plans and bindings made once a book, by the values they hold; no part of what it says.
    made: dict[Any, Any] = {}

    def under(self, home: str | None) -> Binding:
        """The rules that bind a van at home there: everybody's, its own and the firm's. Where
        nobody said which home, everybody's and the firm's."""
        key = ("under", home)
        if key not in self.made:
            places = (COMMON, home, FIRM)
            self.made[key] = _binding(r for r in self.rules.values() if r.home in places)
        found: Binding = self.made[key]
        return found

    @property
    def bringing_home(self) -> frozenset[str]:
        """The events by which a van is in the yard again."""
        return frozenset(name for name, kind in self.events.items() if kind.brings_home)

    @property
    def licences(self) -> tuple[str, ...]:
        """The classes of driving licence that some rule knows."""
        terms = (rule.versions[-1].terms.get("licences", ()) for rule in self.rules.values())
        return tuple(dict.fromkeys(name for classes in terms for name in classes))

    @property
    def homes(self) -> dict[str, Jurisdiction]:
        """The jurisdictions a van may be at home in."""
        return {n: j for n, j in self.jurisdictions.items() if not n.startswith(VISITING)}

    def visiting(self, country: str) -> tuple[Rule, ...] | None:
        """The rules that bind a van visiting a country; None where the book has no file of it."""
        name = VISITING + country.lower()
        if name not in self.jurisdictions:
            return None
        return tuple(r for r in self.rules.values() if r.home == name)

    def asks_back(self, home: str | None, check: Check) -> list[tuple[str, str, str]]:
        """Figures of a check that are probably a slip, by the rules that bind a van at home there:
        reading, figure, what is wrong with it."""
        rules = self.under(home).rules
        return [one for rule in rules for one in kind_of(rule).asks_back(rule, check)]

    def topic_of(self, defect: Defect) -> Topic | None:
        """What a defect is of, where that asks for a card of whoever signs it off."""
        return topic_of(self.topics, defect)

    def topic_in(self, words: str, on: dt.date) -> tuple[str, Topic] | None:
        """The first topic that what somebody wrote on a day points to, with the word that does."""
        said = set(re.findall(r"\w+", words.casefold()))
        for topic in self.topics:
            named = sorted(said & set(topic.words))
            if named and topic.of(topic.name, on):
                return named[0], topic
        return None

    def working(self, day: dt.date) -> bool:
        """Whether the workshop is open on a day."""
        return day.weekday() not in self.closed_weekdays and day not in self.closed_days

    def rule(self, name: str, home: str | None) -> Rule | None:
        """The rule of a name, or of what it was called before, for a van of a home; a country's
        rules are named by themselves."""
        known = self.under(home).by_name
        return known.get(name) or next(
            (
                r
                for r in self.rules.values()
                if r.home.startswith(VISITING) and name in (r.name, *r.was)
            ),
            None,
        )

    def binding_any(self, home: str | None) -> tuple[Rule, ...]:
        """The rules a typed word may mean for a van of a home, those of countries too; of every
        home where none is asked about."""
        if home is None:
            return tuple(self.rules.values())
        bound = self.under(home).rules
        return (*bound, *(r for r in self.rules.values() if r.home.startswith(VISITING)))

    def find_rules(self, word: str, home: str | None = None) -> tuple[Rule, ...]:
        """The rules a word names: a rule, one of its short names, or a kind of check it reads."""
        listed = self.binding_any(home)
        named = tuple(r for r in listed if word in (r.name, *r.was))
        named = named or tuple(r for r in listed if word in r.aliases)
        kind = self.find_check(word)
        return named or (tuple(r for r in listed if kind.name in r.checks) if kind else ())

    def titled(self, words: str) -> tuple[Rule, ...]:
        """The rules whose title, as reports print it, is or holds some words; over a component of
        that name; or that words begin with, as in "defect #760"."""
        said = words.casefold()
        listed = tuple(self.rules.values())
        over = tuple(r for r in listed if words == r.over)
        if over:
            return over
        same = tuple(r for r in listed if r.title.casefold() == said)
        held = tuple(r for r in listed if said in r.title.casefold())
        return same or held or tuple(r for r in listed if said.startswith(f"{r.title} ".casefold()))

    def find_component(self, word: str) -> ComponentKind | None:
        """The kind of component a word names, in whatever case and with blanks for its hyphens."""
        return self.components.get(word) or self.components.get(hyphened(word))

    def find_check(self, word: str) -> CheckKind | None:
        """The kind of check a word names, in whatever case and with blanks for its hyphens; a
        rule's name does when one kind alone feeds it."""
        if word in self.checks:
            return self.checks[word]
        plain = hyphened(word)
        for kind in self.checks.values():
            if plain in (kind.name.casefold(), *kind.aliases, *kind.was):
                return kind
        rules = [r for r in self.rules.values() if word in (r.name, *r.was, *r.aliases)]
        fed = {rule.checks for rule in rules}
        return self.checks[rules[0].checks[0]] if len(fed) == 1 == len(rules[0].checks) else None

    def words(self) -> list[str]:
        """Every word that names a rule or a kind of check."""
        named = {*(r.name for r in self.rules.values()), *self.checks}
        named.update(a for r in self.rules.values() for a in r.aliases)
        named.update(a for c in self.checks.values() for a in c.aliases)
        return sorted(named)


def hyphened(word: str) -> str:
    """A word as the rules spell names: small letters, hyphens for blanks."""
    return "-".join(word.casefold().split())


def _binding(rules: Iterable[Rule]) -> Binding:
    listed = tuple(rules)
    fed: dict[str, tuple[Rule, ...]] = {}
    for rule in listed:
        for kind in rule.checks:
            fed[kind] = (*fed.get(kind, ()), rule)
    by_name = {old: rule for rule in listed for old in rule.was}
    return Binding(listed, by_name | {rule.name: rule for rule in listed}, fed)
