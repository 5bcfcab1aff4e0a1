"""What a record is held against: the rules, today, its van's other records, and what else is known.

Everything is looked up beforehand or on asking, so that holding is pure.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Collection, Iterable, Mapping
from functools import cached_property
from typing import Any, NamedTuple

from fleetcare.errors import Problem
from fleetcare.records.facts import Facts
from fleetcare.records.kinds import Check
from fleetcare.rules.book import Book
from fleetcare.van.van import Van

Holders = Callable[[str, str], list[tuple[str, str]]]


class Others(NamedTuple):
    """What is known beyond the van: each is asked only where a record needs it."""

    # Kind of check and certificate → the vans that bear it and by which record.
    holders: Holders = lambda what, certificate: []
    refs: Callable[[], Mapping[str, str]] = dict  # the van of each booking's reference
    vans: Callable[[], Collection[str]] = list
    plates: Callable[[], Iterable[tuple[str, str]]] = list  # every plate said, after its van
    named: Callable[[str], bool] = lambda name: False  # an inspector of this name
    # Somebody's name as it is read, from how it is kept; None where it was erased.
    name_of: Callable[[str], str | None] = lambda kept: kept
    checks: Mapping[int, Check] | None = None  # of the same file, where the record came in one


class Context:
    """A record's surroundings, itself and what it stands in for left out."""

    def __init__(
        self,
        rules: Book,
        today: dt.date,
        facts: Facts,
        others: Others | None = None,
        before: Facts | None = None,
    ) -> None:
        self.rules, self.today, self.facts = rules, today, facts
        self.others = others or Others()
        self.before = before  # the facts with the record that this one puts right

    @cached_property
    def van(self) -> Van:
        """The van's other records, arranged."""
        return Van(self.facts)


Faults = Callable[[Context, Any], list[Problem]]


def fault(field: str, message: str, where: str = "") -> list[Problem]:
    """One fault of a field, as a list to be added."""
    return [Problem(where, message, field)]
