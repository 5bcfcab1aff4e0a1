"""Sheet: the sheet of this hire, filled, signed and kept.

Judged only for a party and asked at each handover, unless a firm says that it does not ask.
"""

from __future__ import annotations

from fleetcare.rules.kinds.case import (
    ALWAYS,
    LACKS,
    NOT_APPLICABLE,
    Case,
    Found,
    Kind,
    Reads,
    Term,
)
from fleetcare.rules.kinds.shown import fresh
from fleetcare.rules.remedies import no_remedy
from fleetcare.timeline import always, best


def judge(case: Case) -> list[Found]:
    """One verdict for all days of the hire."""
    if not case.terms["asked"]:
        return [Found(None, NOT_APPLICABLE)]
    lines = [
        fresh(case, on, "sheet kept", "no sheet")
        for what, on in case.party.sheets
        if what == case.terms["sheet"]
    ]
    return [Found(None, best(lines) if lines else always(LACKS, "no sheet"))]


KIND = Kind(
    "sheet",
    {
        "sheet": Term("word", "same", required=True, words=("handover", "return")),
        "asked": Term("flag", "on", required=True),
        "within_days": Term("count", "less", required=True),
    },
    judge,
    ALWAYS | {"sheet kept": "in date", "no sheet": "no record"},
    lambda rule: Reads(party=("sheets", "out")),
    remedy=no_remedy,
    of_party=lambda rule: True,
    each_handover=True,
)
