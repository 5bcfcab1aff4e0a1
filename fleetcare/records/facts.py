"""One van's records as known, in the order they stand, and what all vans share.

A corrected record takes the number of the one it corrects, so whatever points to that number
(a sign-off to its defect) follows the correction, and it stands in the same order within a day.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, NamedTuple

from fleetcare.records.kept import Scan
from fleetcare.records.kinds import (
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
    Event,
    Gone,
    HireChange,
    LayUp,
    Out,
    Recall,
    RecallDone,
    Sheet,
    Waiver,
)


class Shared(NamedTuple):
    """What every van's facts rest on: people, their competence, papers for several vans."""

    inspectors: dict[int, Inspector] = {}
    competences: dict[int, tuple[Competence, ...]] = {}  # by inspector
    papers: tuple[FleetPaper, ...] = ()


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
    waivers: list[Waiver] = []
    outs: list[Out] = []
    backs: list[Back] = []
    sheets: list[Sheet] = []
    events: list[Event] = []
    recalls: list[Recall] = []
    recalls_done: list[RecallDone] = []
    lay_ups: list[LayUp] = []
    gone: list[Gone] = []
    scans: list[Scan] = []
    shared: Shared = Shared()
    corrected: dict[int, int] = {}


FIELD_OF: dict[type, str] = {
    VanFacts: "stated",
    Fit: "fits",
    TakeOff: "take_offs",
    Check: "checks",
    Defect: "defects",
    Repair: "repairs",
    SignOff: "sign_offs",
    Recheck: "rechecks",
    Hold: "holds",
    Lift: "lifts",
    Hire: "hires",
    Odometer: "odometers",
    HireChange: "hire_changes",
    Waiver: "waivers",
    Out: "outs",
    Back: "backs",
    Sheet: "sheets",
    Event: "events",
    Recall: "recalls",
    RecallDone: "recalls_done",
    LayUp: "lay_ups",
    Gone: "gone",
    Scan: "scans",
}


class Known(NamedTuple):
    """Which records are known: those taken back, and for each correction what it stands for."""

    withdrawn: frozenset[int] = frozenset()
    stands_for: dict[int, int] = {}

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


def adding(facts: Facts, record: Any) -> Facts:
    """The same facts with one more record of its kind."""
    field = FIELD_OF[type(record)]
    more: dict[str, Any] = {field: [*getattr(facts, field), record]}
    return facts._replace(**more)
