"""Every kind of record the book holds: one table, and everything that goes by kind comes from it.

The classes stand in `workshop`, `yard` and `kept`, each spelled once; whoever wants one imports it
from here.
"""

from __future__ import annotations

from typing import NamedTuple

from fleetcare.records.kept import Answer, Erasure, FleetScan, Scan
from fleetcare.records.workshop import (
    GRADES,
    SERIOUS,
    Adoption,
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
    Reading,
    Recheck,
    Repair,
    SignOff,
    TakeOff,
    VanFacts,
    Withdrawal,
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


class KindOf(NamedTuple):
    """A kind of record and all that differs by kind."""

    name: str  # as its leaf is stamped
    record: type
    table: str  # in the database
    field: str | None  # where a van's facts keep it; None: no rule reads it
    of_van: bool = True
    # Whether it may come as a plain fact from a file. What rests on a judgement, an answer or an
    # earlier record is written by the command that makes it.
    loaded: bool = True
    # What was said, answered or emptied stays so.
    taken_back: bool = True
    # What was answered, waived, moved, cancelled or signed then is not put right afterwards: it is
    # withdrawn where it is wrong, and said anew by the command that holds it to its rules.
    fixed: frozenset[str] = frozenset()


_SCANNED = frozenset({"digest", "sort", "octets"})
TABLE: tuple[KindOf, ...] = (
    KindOf("van", VanFacts, "vans", "stated"),
    KindOf("fit", Fit, "fits", "fits"),
    KindOf("take-off", TakeOff, "take_offs", "take_offs"),
    KindOf("check", Check, "checks", "checks"),
    KindOf("defect", Defect, "defects", "defects"),
    KindOf("repair", Repair, "repairs", "repairs", fixed=frozenset({"temporary"})),
    KindOf("sign-off", SignOff, "sign_offs", "sign_offs"),
    KindOf("recheck", Recheck, "rechecks", "rechecks"),
    KindOf("hold", Hold, "holds", "holds"),
    KindOf("lift", Lift, "lifts", "lifts"),
    KindOf("hire", Hire, "hires", "hires"),
    KindOf("odometer", Odometer, "odometers", "odometers"),
    KindOf(
        "hire-change", HireChange, "hire_changes", "hire_changes", loaded=False,
        fixed=frozenset({"moved_to", "cancelled", "firm"}),
    ),
    KindOf("driver", Driver, "drivers", "drivers", loaded=False),
    KindOf(
        "waiver", Waiver, "waivers", "waivers", loaded=False,
        fixed=frozenset({"rule", "code", "place"}),
    ),
    KindOf(
        "out", Out, "outs", "outs", loaded=False,
        fixed=frozenset({"hireable", "known_at", "rulebook", "blocking", "waived", "unreleased"}),
    ),
    KindOf("back", Back, "backs", "backs", loaded=False),
    KindOf("sheet", Sheet, "sheets", "sheets", loaded=False, fixed=frozenset({"what", "lines"})),
    KindOf("event", Event, "events", "events"),
    KindOf("recall", Recall, "recalls", "recalls"),
    KindOf("recall-done", RecallDone, "recalls_done", "recalls_done"),
    KindOf("lay-up", LayUp, "lay_ups", "lay_ups"),
    KindOf("gone", Gone, "gone", "gone"),
    KindOf("visit", Visit, "visits", "visits"),
    KindOf("expectation", Expectation, "expectations", "expectations"),
    KindOf("answer", Answer, "answers", None, loaded=False, taken_back=False),
    KindOf("scan", Scan, "scans", "scans", loaded=False, fixed=_SCANNED),
    KindOf("fleet-paper", FleetPaper, "fleet_papers", None, of_van=False),
    KindOf("inspector", Inspector, "inspectors", None, of_van=False),
    KindOf("competence", Competence, "competences", None, of_van=False),
    KindOf(
        "attribution", Attribution, "attributions", None, of_van=False, loaded=False,
        fixed=frozenset({"inspector", "records"}),
    ),
    KindOf("withdrawal", Withdrawal, "withdrawals", None, False, loaded=False, taken_back=False),
    KindOf("adoption", Adoption, "adoptions", None, False, loaded=False, taken_back=False),
    KindOf("fleet-scan", FleetScan, "fleet_scans", None, False, loaded=False, fixed=_SCANNED),
    KindOf("erasure", Erasure, "erasures", None, False, loaded=False, taken_back=False),
)  # fmt: skip

KINDS: dict[str, type] = {kind.name: kind.record for kind in TABLE}
KIND_OF: dict[type, str] = {kind.record: kind.name for kind in TABLE}
VAN_KINDS: dict[str, type] = {kind.name: kind.record for kind in TABLE if kind.of_van}
FLEET_KINDS: dict[str, type] = {kind.name: kind.record for kind in TABLE if not kind.of_van}
FIELD_OF: dict[type, str] = {kind.record: kind.field for kind in TABLE if kind.field}
TABLE_OF: dict[type, str] = {kind.record: kind.table for kind in TABLE}
LOADED: dict[str, type] = {kind.name: kind.record for kind in TABLE if kind.loaded}
NEVER_TAKEN_BACK: tuple[type, ...] = tuple(k.record for k in TABLE if not k.taken_back)
FIXED: dict[type, frozenset[str]] = {k.record: k.fixed | {"number", "van"} for k in TABLE}

__all__ = [
    "FIELD_OF",
    "FIXED",
    "FLEET_KINDS",
    "GRADES",
    "KINDS",
    "KIND_OF",
    "LOADED",
    "NEVER_TAKEN_BACK",
    "SERIOUS",
    "TABLE",
    "TABLE_OF",
    "VAN_KINDS",
    "Adoption",
    "Answer",
    "Attribution",
    "Back",
    "Check",
    "Competence",
    "Defect",
    "Driver",
    "Erasure",
    "Event",
    "Expectation",
    "Fit",
    "FleetPaper",
    "FleetScan",
    "Gone",
    "Hire",
    "HireChange",
    "Hold",
    "Inspector",
    "KindOf",
    "LayUp",
    "Lift",
    "Odometer",
    "Out",
    "Reading",
    "Recall",
    "RecallDone",
    "Recheck",
    "Repair",
    "Scan",
    "Sheet",
    "SignOff",
    "TakeOff",
    "VanFacts",
    "Visit",
    "Waiver",
    "Withdrawal",
]
