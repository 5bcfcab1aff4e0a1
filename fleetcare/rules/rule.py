"""What a rule is once it has been read: plain values, no reading and no judging."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any, NamedTuple, TypeVar

from fleetcare.things import (
    Condition,
)

GRADES = ("law", "standard", "maker", "practice", "firm")


SEEN = ("read", "second-hand", "memory", "no source")


BLOCKS = ("yes", "at handover", "when bikes go", "past the stop day", "no")


WHO = ("nobody", "certificate", "paper", "named", "skilled", "competent", "registered")


REMEDIES = ("check", "component", "say", "sign-off", "none")


T = TypeVar("T")


class Terms(dict[str, Any]):
    """The terms of a version, as its kind reads them. What is worked out of them alone is kept with
    them, and goes when they go."""

    _worked_out: dict[Any, Any]

    def once(self, work: Callable[[Terms], T]) -> T:
        """What a function makes of these terms, worked out the first time it is asked."""
        try:
            found: T = self._worked_out[work]
        except (AttributeError, KeyError):
            found = work(self)
            self.__dict__.setdefault("_worked_out", {})[work] = found
        return found


class Source(NamedTuple):
    """Where a version's figures come from, how firm that is, and how it was seen."""

    title: str
    clause: str
    grade: str
    seen: str

    def __str__(self) -> str:
        words = f"{self.title}, {self.clause}" if self.clause else self.title
        how = {
            "read": "",
            "second-hand": "; text seen second-hand",
            "memory": "; from memory, text not read",
            "no source": ", no source",
        }[self.seen]
        grade = "common practice" if self.grade == "practice" else self.grade
        return f"{words} ({grade}{how})"


class Loosened(NamedTuple):
    """A term that a firm made looser than a source: allowed for all but law, and always said."""

    term: str
    old: Any
    new: Any
    source: Source


class Version(NamedTuple):
    """A rule's terms from a day on. `cut`: every record is judged by them, older ones too."""

    from_on: dt.date
    terms: Terms
    source: Source
    cut: bool = False
    repealed: bool = False
    loosens: tuple[Loosened, ...] = ()  # of a firm's: what it makes looser than a source says


class By(NamedTuple):
    """Whose record counts."""

    who: str = "nobody"
    scope: str | None = None
    or_scope: str | None = None  # a card of this scope does as well
    certificate: bool = True  # whether `registered` asks for a certificate number

    @property
    def scopes(self) -> tuple[str | None, ...]:
        """The scopes of which a card counts."""
        return (self.scope, self.or_scope) if self.or_scope else (self.scope,)


class Topic(NamedTuple):
    """What a defect may be of, where not everybody's word closes it."""

    name: str
    title: str
    since: dt.date  # a defect found before it was closed by anybody's word, and may be still
    closed_by: By
    words: tuple[str, ...] = ()  # that point to it in what somebody wrote
    lines: tuple[str, ...] = ()  # of a sheet that are of it

    def of(self, about: str | None, on: dt.date) -> bool:
        """Whether a defect found on a day is of it, by what it is said to be about."""
        return on >= self.since and (about == self.name or about in self.lines)


class Remedy(NamedTuple):
    """The record that would satisfy a rule: a check of a kind, a component, a fact, a sign-off."""

    sort: str
    what: str | None = None


class Rule(NamedTuple):
    """One rule: where it stands, what it is called, what it applies to and does, its versions."""

    name: str
    title: str
    kind: str
    home: str  # a folder of the rulebook: a home, "common", "visiting/xx"; or "firm"
    versions: tuple[Version, ...]
    aliases: tuple[str, ...] = ()
    was: tuple[str, ...] = ()  # names it bore before
    checks: tuple[str, ...] = ()  # kinds of check that feed it
    over: str | None = None  # kind of component it looks at, place by place
    when: tuple[Condition, ...] = ()
    # Each way in which it does not apply; where a fact of one was not said, it does.
    unless: tuple[tuple[Condition, ...], ...] = ()
    only_at: tuple[str, ...] = ()  # the places of its components it looks at; none named: all
    not_at: tuple[str, ...] = ()
    blocks: str = "yes"
    starts: str = "must exist"
    start_fact: str | None = None  # a fact without which the start does not count
    stamps: bool = False  # a stamp seen in the service book counts
    recorded: bool = False  # a check written down without pass or fail counts
    items_close: bool = True  # a fail may be closed item by item
    needs_van: bool = True
    by: By = By()
    closed_by: By | None = None  # whose word closes a fail of it, where not everybody's who passes
    due_soon_weeks: int = 8
    remedy: Remedy = Remedy("none")
    waivable: tuple[str, ...] = ()  # how it may stand and be waived for one hire all the same
    label: int | None = None  # its line on a van's label, counted from the top
    if_out: str = ""
    caution: str = ""
    rests_on: tuple[str, ...] = ()  # facts of the van it cannot be judged without

    @property
    def key(self) -> tuple[str, str]:
        """Where it stands and its name: no two rules share both."""
        return (self.home, self.name)

    @property
    def scopes(self) -> tuple[str, ...]:
        """What a card has to be for, to pass it or to close a fail of it."""
        closing = self.closed_by.scopes if self.closed_by else ()
        return tuple(dict.fromkeys(scope for scope in (*self.by.scopes, *closing) if scope))

    def looks_at(self, place: str) -> bool:
        """Whether it is about what stands in a place."""
        return place not in self.not_at and (not self.only_at or place in self.only_at)

    @property
    def names(self) -> tuple[str, ...]:
        """Every fact of the van that decides whether it applies and how."""
        spared = (condition.name for way in self.unless for condition in way)
        return tuple(dict.fromkeys((*self.rests_on, *spared)))

    @property
    def firm(self) -> bool:
        """Whether it is the firm's own."""
        return self.home == "firm"

    @property
    def since(self) -> dt.date:
        """The day from which it obliges anybody."""
        return self.versions[0].from_on

    def version_at(self, day: dt.date) -> Version:
        """The version in force on a day, or the first one before any was."""
        found = self.versions[0]
        for version in self.versions[1:]:
            if version.from_on <= day:
                found = version
        return found
