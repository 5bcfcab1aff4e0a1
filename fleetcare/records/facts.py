"""One van's records as known, in the order they stand, and what all vans share.

A corrected record takes the number of the one it corrects, so whatever points to that number
(a sign-off to its defect) follows the correction, and it stands in the same order within a day.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from functools import cached_property
from typing import Any, NamedTuple

from fleetcare.records.kept import Scan
from fleetcare.records.kinds import (
    FIELD_OF,
    Attribution,
    Check,
    Competence,
    Defect,
    Fit,
    FleetPaper,
    Hire,
    Hold,
    Inspector,
    Lift,
    Odometer,
    Recheck,
    Repair,
    SignOff,
    TakeOff,
    VanFacts,
)
from fleetcare.records.yard import (
    Back,
    Driver,
    Event,
    Expectation,
    Gone,
    HireChange,
    LayUp,
    Out,
    Recall,
    RecallDone,
    Sheet,
    Visit,
    Waiver,
)


class Shared:
    """What every van's facts rest on: people, their competence, papers for several vans."""

    def __init__(
        self,
        inspectors: dict[int, Inspector] | None = None,
        competences: dict[int, tuple[Competence, ...]] | None = None,
        papers: tuple[FleetPaper, ...] = (),
        attributions: tuple[Attribution, ...] = (),
    ) -> None:
        self.inspectors = inspectors or {}
        self.competences = competences or {}  # by inspector
        self.papers = papers
        self.attributions = attributions

    @cached_property
    def whose(self) -> dict[int, tuple[int, int]]:
        """For each record that bore a name alone the inspector whose it is, and the number of the
        record that says so."""
        return {
            int(number): (one.inspector, one.number)
            for one in self.attributions
            for number in one.records
        }

    @cached_property
    def papers_of(self) -> dict[str, tuple[FleetPaper, ...]]:
        """The papers that name each van; sorted out once, for one may name ten thousand."""
        found: dict[str, list[FleetPaper]] = {}
        for paper in self.papers:
            for van in dict.fromkeys(paper.vans):
                found.setdefault(van, []).append(paper)
        return {van: tuple(listed) for van, listed in found.items()}

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Shared):
            return NotImplemented
        ours = (self.inspectors, self.competences, self.papers, self.attributions)
        theirs = (other.inspectors, other.competences, other.papers, other.attributions)
        return ours == theirs

    __hash__ = None  # type: ignore[assignment]


class Facts(NamedTuple):
    """What is known about one van. `corrected` gives the number of the record that now stands."""

    van: str
    stated: list[VanFacts] = []
    fits: list[Fit] = []
    take_offs: list[TakeOff] = []
    checks: list[Check] = []
    defects: list[Defect] = []
    repairs: list[Repair] = []
    sign_offs: list[SignOff] = []
    rechecks: list[Recheck] = []
    holds: list[Hold] = []
    lifts: list[Lift] = []
    hires: list[Hire] = []
    odometers: list[Odometer] = []
    hire_changes: list[HireChange] = []
    drivers: list[Driver] = []
    waivers: list[Waiver] = []
    outs: list[Out] = []
    backs: list[Back] = []
    sheets: list[Sheet] = []
    events: list[Event] = []
    recalls: list[Recall] = []
    recalls_done: list[RecallDone] = []
    lay_ups: list[LayUp] = []
    gone: list[Gone] = []
    visits: list[Visit] = []
    expectations: list[Expectation] = []
    scans: list[Scan] = []
    shared: Shared = Shared()
    corrected: dict[int, int] = {}
    # The local day and hour it is asked at, where a booking is pencilled: it lapses by itself.
    asked_at: tuple[dt.date, str] | None = None


class Known(NamedTuple):
    """Which records are known: those taken back, and for each correction what it stands for."""

    withdrawn: frozenset[int] = frozenset()
    stands_for: dict[int, int] = {}

    @property
    def corrected(self) -> dict[int, int]:
        """For each record that was put right, the number of the one that now stands."""
        found: dict[int, int] = {}
        for number, root in self.stands_for.items():
            found[root] = max(number, found.get(root, 0))
        return found

    def signed(self, rows: list[Any], shared: Shared) -> list[Any]:
        """Rows that bear a name alone with the inspector whose they were said to be. One that
        was given another name since is not his."""
        whose = shared.whose
        if not whose:
            return rows
        roots = [self.stands_for.get(row.number, row.number) for row in rows]
        bore: dict[int, set[str]] = {}  # the names a record bore by when it was said whose it is
        for row, root in zip(rows, roots, strict=True):
            if row.number <= whose.get(root, (0, 0))[1]:
                bore.setdefault(root, set()).add(row.by)
        found = []
        for row, root in zip(rows, roots, strict=True):
            inspector, _ = whose.get(root, (0, 0))
            ours = inspector in shared.inspectors and row.by in bore.get(root, ())
            free = row.inspector is None
            found.append(row._replace(inspector=inspector) if ours and free else row)
        return found

    def standing(self, rows: Iterable[Any]) -> list[Any]:
        """The rows that are known, corrections under the number they correct, in that order."""
        if not self.withdrawn:
            return list(rows)
        kept = [row for row in rows if row.number not in self.withdrawn]
        if not self.stands_for:
            return kept
        named = [row._replace(number=self.stands_for.get(row.number, row.number)) for row in kept]
        return sorted(named, key=lambda row: row.number)


def numbers_of(facts: Facts) -> set[int]:
    """The number of every record that stands."""
    return {record.number for field in FIELD_OF.values() for record in getattr(facts, field)}


def taken_out(facts: Facts, record: type, number: int) -> Facts:
    """The same facts without one record of a kind."""
    field = FIELD_OF.get(record)
    if field is None:
        return facts
    kept: dict[str, Any] = {field: [r for r in getattr(facts, field) if r.number != number]}
    return facts._replace(**kept)


def adding(facts: Facts, record: Any) -> Facts:
    """The same facts with one more record of its kind."""
    field = FIELD_OF[type(record)]
    more: dict[str, Any] = {field: [*getattr(facts, field), record]}
    return facts._replace(**more)
