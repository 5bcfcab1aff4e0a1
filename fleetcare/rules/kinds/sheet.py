"""Sheet: the sheet of this hire, filled, signed and kept.

Judged only for a party and asked at each handover, unless a firm says that it does not ask.
"""

from __future__ import annotations

from fleetcare.rules.kinds.case import (
    ALWAYS,
    GOOD,
    LACKS,
    NOT_APPLICABLE,
    Case,
    Found,
    Kind,
    Reads,
    Term,
)
from fleetcare.rules.remedies import no_remedy
from fleetcare.timeline import always


def judge(case: Case) -> list[Found]:
    """One verdict for all days of the hire."""
    if not case.terms["asked"]:
        return [Found(None, NOT_APPLICABLE)]
    if case.terms["sheet"] in case.party.sheets:
        return [Found(None, always(GOOD, "sheet kept"))]
    return [Found(None, always(LACKS, "no sheet"))]


KIND = Kind(
    "sheet",
    {
        "sheet": Term("word", "same", required=True, words=("handover", "return")),
        "asked": Term("flag", "on", required=True),
    },
    judge,
    ALWAYS | {"sheet kept": "in date", "no sheet": "no record"},
    lambda rule: Reads(party=("sheets",)),
    remedy=no_remedy,
    of_party=lambda rule: True,
    each_handover=True,
)
