"""Licence: the mass of the van against the class of licence the hirer showed.

Judged only for a party. Where the van is within the smallest class nothing is asked; over it,
a class nobody said is doubt, for RTA 1988 s.87(2) makes it an offence to permit driving without
the licence for that class.
"""

from __future__ import annotations

import datetime as dt

from fleetcare.rules.kinds.case import (
    ALWAYS,
    DOUBT,
    GOOD,
    LACKS,
    NOT_APPLICABLE,
    Case,
    Found,
    Kind,
    Reads,
    Term,
)
from fleetcare.rules.party import Party
from fleetcare.rules.remedies import no_remedy
from fleetcare.rules.rule import Rule
from fleetcare.timeline import always
from fleetcare.trade.measures import read_measure


def judge(case: Case) -> list[Found]:
    """One verdict for all days of the hire."""
    most = {name: read_measure(mass, "mass").value for name, mass in case.terms["licences"].items()}
    mass = case.fit_out.facts.max_mass
    licence = case.party.licence
    kg = read_measure(str(mass), "mass").value
    if kg <= min(most.values()):
        return [Found(None, NOT_APPLICABLE)]
    if licence is None and kg <= max(most.values()):
        return [Found(None, always(DOUBT, "licence not said", None, (mass,)))]
    if licence is None or kg > most[licence]:
        return [Found(None, always(LACKS, "licence too small", None, (licence, mass)))]
    return [Found(None, always(GOOD, "licence enough", None, (licence, mass)))]


def showing(rule: Rule, day: dt.date, party: Party) -> Party:
    """The party with the class of licence that covers the most."""
    classes = rule.version_at(day).terms["licences"]
    most = max(classes, key=lambda name: read_measure(classes[name], "mass").value)
    return party._replace(licence=most)


KIND = Kind(
    "licence",
    {"licences": Term("masses", "same", required=True)},
    judge,
    ALWAYS
    | {
        "licence enough": "in date",
        "licence too small": "failed",
        "licence not said": "cannot say",
    },
    lambda rule: Reads(facts=("max_mass",), party=("licence",)),
    remedy=no_remedy,
    of_party=lambda rule: True,
    to_show=frozenset({"licence not said"}),
    showing=showing,
    shown=frozenset({"licence enough"}),
)
