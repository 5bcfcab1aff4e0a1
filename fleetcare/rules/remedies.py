"""The record that would put a bad step right, as a kind of rule names it."""

from __future__ import annotations

from typing import Any, NamedTuple

from fleetcare.rules.rule import Rule
from fleetcare.timeline import Step


class Remedy(NamedTuple):
    """One record to make: its sort, what it is of, where, and for which rule."""

    sort: str  # check, component, say, sign-off, recheck, recall, paper
    what: str
    place: str | None
    rule: Rule
    detail: tuple[Any, ...] = ()  # the facts to say, or the record it answers
    places: tuple[str, ...] = ()  # of a component that is needed in several
    variety: str | None = None  # of a component that must be of a type

    @property
    def needs_van(self) -> bool:
        """Whether the van must be there; saying a fact needs only its papers."""
        return self.rule.needs_van and self.sort != "say"

    @property
    def same(self) -> tuple[str, str, str | None]:
        """Two remedies that are one record are the same remedy."""
        return (self.sort, self.what, self.place)


def named_remedy(rule: Rule, place: str | None, step: Step) -> Remedy | None:
    """What the rule itself names; None where no record helps."""
    sort, what = rule.remedy.sort, rule.remedy.what or ""
    if sort == "say":
        return Remedy("say", what, None, rule, (what,))
    return Remedy(sort, what, place, rule) if sort in ("check", "component") else None


def no_remedy(rule: Rule, place: str | None, step: Step) -> Remedy | None:
    """A person's decision, a party's own affair, or another's to give: no record puts it right."""
    return None
