"""What a record can't be written down with: one function a kind, by field, for every way in.

Typed, corrected, loaded, read from a sheet or filled in on one, a record is held to what stands
here and nowhere else. A kind that is not named has only the faults that any record may have.
"""

from __future__ import annotations

from typing import Any

from fleetcare.errors import Problem
from fleetcare.faults import checks, defects, hires, parts, slips, vans, yard
from fleetcare.faults.common import of_any
from fleetcare.faults.context import Context, Faults
from fleetcare.records.kept import Answer, Erasure, FleetScan, Scan
from fleetcare.records.kinds import (
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


def _nothing(within: Context, new: Any) -> list[Problem]:
    """What any record is held to is all that can be wrong with it."""
    return []


FAULTS: dict[type, Faults] = {
    VanFacts: vans.statement, LayUp: vans.lay_up, Gone: vans.gone,
    Fit: parts.fit, TakeOff: parts.take_off, Odometer: _nothing,
    Check: checks.check, FleetPaper: checks.paper, Inspector: checks.inspector,
    Competence: _nothing, Defect: defects.defect, Repair: defects.repair,
    SignOff: defects.sign_off, Recheck: defects.recheck, Hold: _nothing, Lift: defects.lift,
    Hire: hires.hire, HireChange: hires.hire_change, Driver: hires.driver, Waiver: yard.waiver,
    Out: hires.out, Back: hires.back, Sheet: _nothing,
    Event: yard.event, Recall: yard.recall, RecallDone: yard.recall_done,
    Visit: yard.visit, Expectation: yard.expectation,
    Scan: _nothing, FleetScan: _nothing, Answer: _nothing, Erasure: _nothing,
    Withdrawal: _nothing, Adoption: _nothing, Attribution: _nothing,
}  # fmt: skip
_SLIPS: dict[type, Faults] = {
    VanFacts: slips.statement, Check: slips.check, Fit: slips.fit,
    Visit: slips.visit,
    Hire: slips.hire, Odometer: slips.odometer, Out: slips.out, Back: slips.back,
}  # fmt: skip


def faults_of(within: Context, new: Any) -> list[Problem]:
    """Everything that is wrong with a record, and where nothing is, what is likely a slip."""
    found = [*of_any(new, within.today)]
    wrong = {problem.field for problem in found}
    if not wrong:  # what can't even be read is not held to what rests on it
        found += FAULTS[type(new)](within, new)
    slip = _SLIPS.get(type(new))
    if found or slip is None:
        return found
    return slips.anyway(slip(within, new), new)
