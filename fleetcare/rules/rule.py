"""What a rule is once it has been read: plain values, no reading and no judging."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any, NamedTuple

from fleetcare.things import (
    Condition,
)

GRADES = ("law", "standard", "maker", "practice", "firm")


SEEN = ("read", "second-hand", "memory", "no source")


BLOCKS = ("yes", "at handover", "when bikes go", "past the stop day", "no")


WHO = ("nobody", "certificate", "paper", "named", "skilled", "competent", "registered")


REMEDIES = ("check", "component", "say", "sign-off", "none")


Terms = Mapping[str, Any]


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


class Version(NamedTuple):
    """A rule's terms from a day on. `cut`: every record is judged by them, older ones too."""

    from_on: dt.date
    terms: Terms
    source: Source
    cut: bool = False
    repealed: bool = False


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


class Remedy(NamedTuple):
    """The record that would satisfy a rule: a check of a kind, a component, a fact, a sign-off."""

    sort: str
    what: str | None = None


NEVER_WAIVED = frozenset({"defect", "hold", "recall", "paper"})


class Rule(NamedTuple):
    """One rule: what it applies to, what it is called, what it does and all its versions."""

    name: str
    title: str
    kind: str
    jurisdiction: str
    versions: tuple[Version, ...]
    aliases: tuple[str, ...] = ()
    checks: tuple[str, ...] = ()  # kinds of check that feed it
    over: str | None = None  # kind of component it looks at, place by place
    when: tuple[Condition, ...] = ()
    blocks: str = "yes"
    starts: str = "must exist"
    start_fact: str | None = None  # a fact without which the start does not count
    stamps: bool = False  # a stamp seen in the service book counts
    recorded: bool = False  # a check written down without pass or fail counts
    items_close: bool = True  # a fail may be closed item by item
    needs_van: bool = True
    by: By = By()
    due_soon_weeks: int = 8
    remedy: Remedy = Remedy("none")
    if_out: str = ""
    caution: str = ""
    rests_on: tuple[str, ...] = ()  # facts of the van it cannot be judged without
    firm: bool = False

    @property
    def waivable(self) -> bool:
        """Whether a named person may let one hire go without it: common practice only. A defect is
        signed off, a hold lifted, a recall closed by its paper, a paper awaited comes in; none of
        them is waived."""
        grades = {version.source.grade for version in self.versions}
        return grades <= {"practice", "firm"} and self.kind not in NEVER_WAIVED

    def version_at(self, day: dt.date) -> Version:
        """The version in force on a day, or the first one before any was."""
        found = self.versions[0]
        for version in self.versions[1:]:
            if version.from_on <= day:
                found = version
        return found
