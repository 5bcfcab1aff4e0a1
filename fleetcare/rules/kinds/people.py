"""People: those of a party against the seats of the van that have one.

Judged only for a party that said how many it is. No statute forbids an adult to ride unbelted on a
seat without a belt; nobody is let do it here.
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
)
from fleetcare.rules.remedies import no_remedy
from fleetcare.timeline import always


def judge(case: Case) -> list[Found]:
    """One verdict for all days of the hire."""
    people, facts = case.party.people, case.fit_out.facts
    if people is None or facts.belted_seats is None:
        return [Found(None, NOT_APPLICABLE)]
    if facts.seats is not None and people > facts.seats:  # however many belts nobody counted
        return [Found(None, always(LACKS, "too many for seats", None, (people, facts.seats)))]
    said = (people, facts.belted_seats, case.party.children)
    if people > facts.belted_seats:
        return [Found(None, always(LACKS, "too many people", None, said))]
    code = "children go" if case.party.children else "belts enough"
    return [Found(None, always(GOOD, code, None, said))]


KIND = Kind(
    "people",
    {},
    judge,
    ALWAYS
    | {
        "belts enough": "in date",
        "children go": "in date",
        "too many people": "failed",
        "too many for seats": "failed",
    },
    lambda rule: Reads(facts=("belted_seats", "seats"), party=("people", "children")),
    remedy=no_remedy,
    rests_on=lambda rule: ("belted_seats",),
    of_party=lambda rule: True,
    broken=frozenset({"too many people", "too many for seats"}),
    shown=frozenset({"children go"}),
)
