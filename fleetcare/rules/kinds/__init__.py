"""Every kind of rule there is; adding one is one module and one line here."""

from __future__ import annotations

from fleetcare.rules.kinds import (
    after,
    aged,
    dated,
    defect,
    distance,
    hold,
    laden,
    licence,
    measured,
    paper,
    people,
    rated,
    recall,
    recurring,
    season,
    sheet,
    shown,
    wear,
)
from fleetcare.rules.kinds.case import Kind
from fleetcare.rules.rule import Rule

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
        shown,
        sheet,
        people,
        laden,
        distance,
        season,
        wear,
    )
}


def kind_of(rule: Rule) -> Kind:
    """The kind of a rule, and all that is known of it."""
    return KINDS[rule.kind]
