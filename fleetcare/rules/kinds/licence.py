"""Licence: the mass of the van against the class of licence the hirer showed.

Judged only for a party. Where the van is within the smallest class nothing is asked; over it,
a class nobody said is doubt, for RTA 1988 s.87(2) makes it an offence to permit driving without
the licence for that class.
"""

from __future__ import annotations

from fleetcare.rules.kinds.case import DOUBT, GOOD, LACKS, NOT_APPLICABLE, Case, Found, Kind, Term
from fleetcare.timeline import always
from fleetcare.trade.measures import read_measure


def judge(case: Case) -> list[Found]:
    """One verdict for all days of the hire."""
    most = {name: read_measure(mass, "mass").value for name, mass in case.terms["licences"].items()}
    mass = case.fit_out.facts.max_mass
    licence = case.party.licence if case.party else None
    kg = read_measure(str(mass), "mass").value
    if kg <= min(most.values()):
        return [Found(None, NOT_APPLICABLE)]
    if licence is None and kg <= max(most.values()):
        return [Found(None, always(DOUBT, "licence not said", None, (mass,)))]
    if licence is None or kg > most[licence]:
        return [Found(None, always(LACKS, "licence too small", None, (licence, mass)))]
    return [Found(None, always(GOOD, "licence enough", None, (licence, mass)))]


KIND = Kind("licence", {"licences": Term("masses", "same", required=True)}, judge)
