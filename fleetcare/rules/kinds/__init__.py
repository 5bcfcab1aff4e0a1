"""Every kind of rule there is; adding one is one module and one line here."""

from __future__ import annotations

from fleetcare.rules.kinds import (
    after,
    aged,
    dated,
    defect,
    hold,
    licence,
    measured,
    paper,
    rated,
    recall,
    recurring,
    season,
)
from fleetcare.rules.kinds.case import Kind

KINDS: dict[str, Kind] = {
    module.KIND.name: module.KIND
    for module in (
        recurring,
        dated,
        aged,
        measured,
        rated,
        defect,
        hold,
        after,
        recall,
        paper,
        licence,
        season,
    )
}
