"""Rated: a load against a rating. Looked at again on each day anything in the sum changes.

Three sums: the tyres of an axle against its plated mass (C&U reg 25(8) as method), the cab height
notice against the travelling height, and bikes against the rack. The last is judged only for a
party that takes bikes.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction

from fleetcare.records.kinds import Fit
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
    filled_places,
)
from fleetcare.rules.party import Party
from fleetcare.rules.remedies import Remedy, named_remedy
from fleetcare.rules.rule import Rule, Terms
from fleetcare.timeline import Step, Timeline, always, sampled
from fleetcare.trade.load_index import load_kg, read_load_index
from fleetcare.trade.measures import read_measure
from fleetcare.van.places import Stay, stay_on


def judge(case: Case) -> list[Found]:
    """One timeline an axle, or one for the notice or the rack."""
    return {"tyres": _tyres, "notice": _notice, "bikes": _bikes}[case.terms["sum"]](case)


def _tyres(case: Case) -> list[Found]:
    layout = case.terms["axles"].get(case.fit_out.facts.axles)
    if layout is None:
        return [Found(None, always(DOUBT, "unsaid", None, ("axles",)))]
    stays = case.van.stays(case.rule.over or "")
    found = []
    for axle, places in layout.items():
        rated = case.fit_out.get(axle)
        name = axle.removesuffix("_mass").replace("_", " ")
        ours = [stays.get(place, []) for place in places]
        if rated is None:
            found.append(Found(name, _unrated(ours, places, axle)))
            continue

        def look(
            day: dt.date,
            ours: list[list[Stay]] = ours,
            rated: str = rated,
            places: tuple[str, ...] = places,
        ) -> Step:
            fits = [(s.fit if s else None) for s in (stay_on(o, day) for o in ours)]
            return _axle(case, day, dict(zip(places, fits, strict=True)), rated)

        found.append(Found(name, sampled([s.on for o in ours for s in o], look)))
    return found


def _unrated(stays: list[list[Stay]], places: tuple[str, ...], axle: str) -> Timeline:
    """An axle whose plated mass nobody said: an empty place lacks whatever the mass is."""

    def look(day: dt.date) -> Step:
        found = [stay_on(listed, day) for listed in stays]
        empty = [p for p, s in zip(places, found, strict=True) if s is None or s.fit is None]
        if empty:
            return Step(day, LACKS, "no record", None, tuple(empty))
        return Step(day, DOUBT, "unsaid", None, (axle,))

    return sampled([s.on for listed in stays for s in listed], look)


def _axle(case: Case, day: dt.date, fits: dict[str, Fit | None], rated: str) -> Step:
    empty = [place for place, fit in fits.items() if fit is None]
    if empty:
        return Step(day, LACKS, "no record", None, tuple(empty))
    total = Decimal(0)
    for place, fit in fits.items():
        carries = tyre_kg(fit, place.endswith(("inner", "outer")), case.terms)  # type: ignore[arg-type]
        if carries is None:
            return Step(day, DOUBT, "not said", fit.number, ("load_index", place))  # type: ignore[union-attr]
        total += carries
    newest = max(fit.number for fit in fits.values() if fit)
    load = read_measure(rated, "mass").value
    detail = (f"{total.normalize():f}", f"{load.normalize():f}")
    if total < load:
        return Step(day, LACKS, "overloaded", newest, detail)
    return Step(day, GOOD, "in date", newest, detail)


def tyre_kg(fit: Fit, twin: bool, terms: Terms) -> Decimal | None:
    """What a tyre carries in kg, singly or as one of a twin pair; None when its mark does not say.

    In twin fitment the second figure of "112/110" counts, or for a tyre marked to ECE R30 the
    single figure × 0.955 (C&U reg 25 Table II item 12); a single figure alone cannot say.
    """
    if not fit.load_index:
        return None
    index = read_load_index(fit.load_index)
    if not twin:
        return load_kg(index.single)
    if index.dual is not None:
        return load_kg(index.dual)
    if fit.tyre_mark == "r30":
        return load_kg(index.single) * Decimal(terms["twin_factor"])
    return None


def _notice(case: Case) -> list[Found]:
    facts = case.fit_out.facts
    if facts.notice_height is None or facts.height is None:
        unsaid = tuple(n for n in ("height", "notice_height") if case.fit_out.get(n) is None)
        return [Found(None, always(DOUBT, "unsaid", None, unsaid))]
    height = read_measure(facts.height, "length").value
    shown = read_measure(facts.notice_height, "length").value
    over = read_measure(case.terms["at_most_over"], "length").value
    detail = (facts.notice_height, facts.height)
    if shown < height:
        return [Found(None, always(LACKS, "notice too low", None, detail))]
    if shown - height > over:
        return [Found(None, always(LACKS, "notice too high", None, detail))]
    return [Found(None, always(GOOD, "in date", None, detail))]


def _bikes(case: Case) -> list[Found]:
    party = case.party
    if not party.any_bikes:
        return [Found(None, NOT_APPLICABLE)]
    found = []
    for place, wanted, stays in filled_places(case):

        def look(day: dt.date, stays: list[Stay] = stays) -> Step:
            stay = stay_on(stays, day)
            if stay is None or stay.fit is None:
                return Step(day, LACKS, "no record")
            return rack_step(day, stay.fit, party, case.terms)

        if wanted or stays:
            found.append(Found(place, sampled([s.on for s in stays], look)))
    none = () if case.places else ("none",)  # it was said to have none
    return found or [Found(None, always(LACKS, "no rack", None, none))]


def party_kg(party: Party, terms: Terms) -> Decimal:
    """The mass of a party's bikes in kg. Weighed bikes are taken to be the lightest sorts first,
    so weighing some never makes the rest count for less than they may be."""
    weighed = sorted(Decimal(kg) for kg in party.weighed_kg)
    each = [Decimal(terms["bike_kg"])] * party.bikes
    each += [Decimal(terms["electric_bike_kg"])] * party.electric_bikes
    return sum(weighed, Decimal(0)) + sum(each[len(weighed) :], Decimal(0))


def with_bikes_kg(party: Party, rules: Iterable[Rule]) -> Party:
    """The party with what its bikes weigh, by the rule among some that says it."""
    rule = (
        next((r for r in rules if "bike_kg" in r.versions[-1].terms), None)
        if party.any_bikes
        else None
    )
    if rule is None:
        return party
    return party._replace(bikes_kg=party_kg(party, rule.versions[-1].terms))


def rack_step(day: dt.date, rack: Fit, party: Party, terms: Terms) -> Step:
    """A rack on a day for a party: places first, then mass against its rating."""
    ordinary = rack.bikes if rack.bikes is not None else terms["usual_bikes"]
    electric = (
        rack.electric_bikes if rack.electric_bikes is not None else terms["usual_electric_bikes"]
    )
    # Places are shared: ordinary / 4 + electric / 2 may not pass 1.
    taken, none = Fraction(0), False
    for bikes, places in ((party.bikes, ordinary), (party.electric_bikes, electric)):
        if bikes and not places:
            none = True
        elif bikes:
            taken += Fraction(bikes, places)
    if none or taken > 1:
        return Step(day, LACKS, "too many bikes", rack.number, (ordinary, electric))
    if rack.rating is None:
        return Step(day, DOUBT, "not said", rack.number, ("rating",))
    load, rating = party_kg(party, terms), read_measure(rack.rating, "mass").value
    detail = (f"{load.normalize():f}", f"{rating.normalize():f}")
    if load > rating:
        return Step(day, LACKS, "rack overloaded", rack.number, detail)
    return Step(day, GOOD, "in date", rack.number, detail)


def carried_by_tyres(rule: Rule, step: Step) -> Decimal | None:
    """What the tyres of an axle carry in kg by a step of the rule that adds them up; None for any
    other rule, and where a mark was not said."""
    added = _sum_of(rule) == "tyres" and step.code in ("in date", "overloaded")
    return Decimal(step.detail[0]) if added else None


def on_rack(rule: Rule, step: Step) -> tuple[Decimal, Decimal] | None:
    """What a party's bikes weigh and what the rack is rated for, in kg; None where it is no rule of
    a rack, or the rack says nothing of it."""
    weighed_ = _sum_of(rule) == "bikes" and step.code in ("in date", "rack overloaded")
    return (Decimal(step.detail[0]), Decimal(step.detail[1])) if weighed_ else None


def _sum_of(rule: Rule) -> str:
    return str(rule.versions[-1].terms["sum"])


def reads(rule: Rule) -> Reads:
    """What the sum is made of."""
    over = (rule.over,) if rule.over else ()
    if _sum_of(rule) == "notice":
        return Reads(facts=("height", "notice_height"))
    if _sum_of(rule) == "bikes":
        return Reads(components=over, party=("bikes", "electric_bikes", "weighed_kg"))
    layouts = [v.terms["axles"] for v in rule.versions if not v.repealed]
    masses = dict.fromkeys(axle for one in layouts for axles in one.values() for axle in axles)
    return Reads(components=over, facts=("axles", *masses))


_OF_THE_PARTY = frozenset({"too many bikes", "rack overloaded", "no rack"})


def remedy(rule: Rule, place: str | None, step: Step) -> Remedy | None:
    """New parts; for an axle at each of its places. What a party takes with it nobody mends."""
    found = None if step.code in _OF_THE_PARTY else named_remedy(rule, place, step)
    if found is None or found.sort != "component" or not place or _sum_of(rule) != "tyres":
        return found
    layouts = rule.versions[-1].terms.get("axles", {})
    axle = place.replace(" ", "_") + "_mass"
    places = dict.fromkeys(p for layout in layouts.values() for p in layout.get(axle, ()))
    return found._replace(places=tuple(places))


KIND = Kind(
    "rated",
    {
        "sum": Term("word", "same", required=True, words=("tyres", "notice", "bikes")),
        "axles": Term("axles", "same"),
        "twin_factor": Term("figure", "less"),
        "at_most_over": Term("measure", "less"),
        "bike_kg": Term("figure", "more"),
        "electric_bike_kg": Term("figure", "more"),
        "usual_bikes": Term("count", "less"),
        "usual_electric_bikes": Term("count", "less"),
    },
    judge,
    ALWAYS
    | {
        "in date": "in date",
        "overloaded": "failed",
        "notice too low": "failed",
        "notice too high": "failed",
        "rack overloaded": "failed",
        "too many bikes": "failed",
        "no rack": "no record",
        "no record": "no record",
        "not said": "cannot say",
    },
    reads,
    starts=("marking", "reading", "must exist"),
    remedy=remedy,
    broken=frozenset({"overloaded"}),
    of_party=lambda rule: _sum_of(rule) == "bikes",
    carries=True,
    rests_on=lambda rule: ("axles",) if _sum_of(rule) == "tyres" else (),
)
