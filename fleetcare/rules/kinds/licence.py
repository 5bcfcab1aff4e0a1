"""Licence: the van against the class of licence of each driver.

Judged only for a party. Where the van is within the smallest class nothing is asked; over it, a
class nobody said is doubt, for RTA 1988 s.87(2) makes it an offence to permit driving without the
licence for that class. What was shown goes before what was said: each driver's class must cover
the van, to the last day on it.
"""

from __future__ import annotations

import datetime as dt
from decimal import Decimal

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
from fleetcare.rules.party import Party, Shown
from fleetcare.rules.remedies import no_remedy
from fleetcare.rules.rule import Rule, Terms
from fleetcare.timeline import Step, Timeline, always, timeline, worst
from fleetcare.trade.measures import read_measure
from fleetcare.van.said import FitOut
from fleetcare.windows import next_day

_OVER_8_SEATS = "over-8-seats"  # the test class of a van with more than 8 passenger seats
_ZERO_EMISSION = "zero-emission"


def judge(case: Case) -> list[Found]:
    """One verdict for all days of the hire, or the worst of its drivers'."""
    fit_out, terms, party = case.fit_out, case.terms, case.party
    mass = str(fit_out.facts.max_mass)
    if party.drivers:
        return [Found(None, worst([_shown(terms, fit_out, one) for one in party.drivers]))]
    least = min(_kg(_most(terms, name, fit_out)) for name in terms["licences"])
    if _kg(mass) <= least and not _many_seats(terms, fit_out):
        return [Found(None, NOT_APPLICABLE)]
    if party.licence is None:
        if any(_covers(terms, name, fit_out) for name in terms["licences"]):
            return [Found(None, always(DOUBT, "licence not said", None, (mass,)))]
        return [Found(None, always(LACKS, "licence too small", None, (None, mass, "", None)))]
    return [Found(None, _said(terms, fit_out, party.licence))]


def _kg(mass: str) -> Decimal:
    return read_measure(mass, "mass").value


def _most(terms: Terms, licence: str, fit_out: FitOut) -> str:
    """The mass a class covers."""
    more = terms.get("zero_emission", {}) if fit_out.get(_ZERO_EMISSION) else {}
    return str(more.get(licence, terms["licences"][licence]))


def _many_seats(terms: Terms, fit_out: FitOut) -> bool:
    """Whether the passenger seats decide, and not the mass."""
    return "over_8_seats" in terms and fit_out.facts.test_class == _OVER_8_SEATS


def _covers(terms: Terms, licence: str, fit_out: FitOut) -> bool:
    """Whether a class covers the van; with more than 8 passenger seats by its class alone."""
    if _many_seats(terms, fit_out):
        return licence in terms["over_8_seats"]
    return _kg(str(fit_out.facts.max_mass)) <= _kg(_most(terms, licence, fit_out))


def _said(terms: Terms, fit_out: FitOut, licence: str, driver: int | None = None) -> Timeline:
    """A class, whatever its days; of one driver where there are several."""
    most = "" if _many_seats(terms, fit_out) else _most(terms, licence, fit_out)
    detail = (licence, fit_out.facts.max_mass, most, driver)
    if _covers(terms, licence, fit_out):
        return always(GOOD, "licence enough", None, detail)
    return always(LACKS, "licence too small", None, detail)


def _shown(terms: Terms, fit_out: FitOut, one: Shown) -> Timeline:
    """A driver's class, to its last day."""
    line = _said(terms, fit_out, one.licence, one.driver)
    over = (one.licence, one.last_day, one.driver)
    ends = Step(next_day(one.last_day), LACKS, "licence over", None, over)
    return timeline([*line.steps, ends])


def showing(rule: Rule, day: dt.date, party: Party) -> Party:
    """The party with the class of licence that covers the most."""
    terms = rule.version_at(day).terms
    seats = terms.get("over_8_seats", ())
    classes = terms["licences"]
    most = max(classes, key=lambda name: (_kg(classes[name]), name in seats))
    return party._replace(licence=most)


KIND = Kind(
    "licence",
    {
        "licences": Term("masses", "same", required=True),
        "zero_emission": Term("masses", "same"),
        "over_8_seats": Term("texts", "same"),
    },
    judge,
    ALWAYS
    | {
        "licence enough": "in date",
        "licence too small": "failed",
        "licence over": "failed",
        "licence not said": "cannot say",
    },
    lambda rule: Reads(
        facts=("max_mass", "test_class", _ZERO_EMISSION), party=("licence", "drivers")
    ),
    remedy=no_remedy,
    of_party=lambda rule: True,
    to_show=frozenset({"licence not said"}),
    showing=showing,
    shown=frozenset({"licence enough"}),
)
