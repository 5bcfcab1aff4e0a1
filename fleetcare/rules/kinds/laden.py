"""Laden: what the van weighs with its party aboard, against its plate and its axles.

The mass comes from the last weighbridge ticket, else from the plated mass in running order, which
tells the whole and no axle. Where a load sits is a fact of the van; one that nobody said may be
anywhere between the front axle and the tail, and stands so in the sum: what fits wherever it is
fits, what does not fit wherever it is does not, and between the two nobody can say.

Of a party that says what it brings aboard everything must be known. Of any other, only what is
too much however little it brings stops it. Source of the sum: moments (`trade/axles.py`); a person
counts 75 kg, the driver in the mass in running order (EU 1230/2012 Annex I Part A).
"""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from functools import cache, partial

from fleetcare.rules.kinds.carried import Sum, aboard, weighed_kg
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
from fleetcare.rules.reads import checks_for
from fleetcare.rules.remedies import Remedy, named_remedy
from fleetcare.rules.rule import Rule
from fleetcare.things import WEIGHED
from fleetcare.timeline import Step, Timeline, always, sampled
from fleetcare.trade.axles import Load, Reach, reach
from fleetcare.trade.measures import read_measure

WHOLE, FRONT, REAR, OVERHANG = "in all", "front axle", "rear axle", "rear overhang"
_AXLES = tuple(WEIGHED)


def judge(case: Case) -> list[Found]:
    """One timeline for the whole, one an axle, and one for the rear overhang."""
    party = case.party
    days = [check.on for check in checks_for(case.van, case.rule)]
    days += [stay.on for stays in case.van.stays(case.rule.over or "").values() for stay in stays]
    figures = cache(partial(_figures, case))

    def line(name: str) -> Timeline:
        return sampled(days, lambda day: figures(day)[name]._replace(start=day))

    found = [Found(name, line(name)) for name in (WHOLE, FRONT, REAR)]
    if not party.says_load:
        found = [one for one in found if any(s.verdict is LACKS for s in one.line.steps)]
        return found or [Found(None, NOT_APPLICABLE)]
    return [*found, Found(OVERHANG, _overhang(case))]


def _figures(case: Case, day: dt.date) -> dict[str, Step]:
    """How the whole and each axle stand on a day."""
    whole = aboard(case, day)
    found = {WHOLE: _whole(case, whole), **_axles(case, whole)}
    if not case.party.says_load:  # of what it brings nothing is said: only too much is known
        other = Step(day, GOOD, "not applicable")
        return {name: s if s.verdict is LACKS else other for name, s in found.items()}
    return found


def _limit(case: Case, *facts: str) -> Decimal | None:
    said = [case.fit_out.get(name) for name in facts]
    if any(one is None for one in said):
        return None
    return sum((read_measure(str(one), "mass").value for one in said), Decimal(0))


def _weighed(case: Case, whole: Sum) -> list[Decimal] | None:
    """What stood on each axle, front first; None where there is no ticket of all of them."""
    if whole.weighed is None:
        return None
    tag = case.fit_out.facts.axles == "tag" or weighed_kg(whole.weighed, _AXLES[2]) is not None
    wanted = _AXLES if tag else _AXLES[:2]
    read = [weighed_kg(whole.weighed, what) for what in wanted]
    known = [kg for kg in read if kg is not None]
    return known if len(known) == len(wanted) else None


def _whole(case: Case, whole: Sum) -> Step:
    on_axles = _weighed(case, whole)
    if on_axles is not None:
        base: Decimal | None = sum(on_axles, Decimal(0))
    else:
        base = None if whole.weighed else _limit(case, "running_order_mass")
    if base is None:
        return _step(DOUBT, "unweighed", whole)
    kg = base + sum((one.kg for one in whole.carried), Decimal(0))
    return _held(case, whole, Reach(kg, kg), ("max_mass",), ())


def _axles(case: Case, whole: Sum) -> dict[str, Step]:
    """The front axle, and the rear; a tag axle shares with the rear one as its maker made it, so
    the two are held together to what both may bear."""
    on_axles, wheelbase = _weighed(case, whole), case.fit_out.facts.wheelbase
    if on_axles is None:
        doubt = _step(DOUBT, "unweighed", whole)
        return {FRONT: doubt, REAR: doubt}
    if case.fit_out.facts.axles is None:
        doubt = _step(DOUBT, "unsaid", whole, ("axles",))
        return {FRONT: doubt, REAR: doubt}
    long = read_measure(wheelbase, "length").value if wheelbase else Decimal(0)
    if long <= 0:
        doubt = _step(DOUBT, "unsaid", whole, ("wheelbase",))
        return {FRONT: doubt, REAR: doubt}
    loads, open_ = _placed(case, whole, long)
    on_front, *on_rear = on_axles
    front, rear = reach(on_front, sum(on_rear, Decimal(0)), loads, long)
    if len(on_rear) == 1:
        behind = _held(case, whole, rear, ("rear_axle_mass",), open_)
    else:
        behind = _shared(case, whole, on_rear, rear, open_)
    ahead = _held(case, whole, front, ("front_axle_mass",), open_)
    if front.least <= 0:  # it would stand on its tail
        detail = (_said(front.least), _said(front.least), "0")
        ahead = _step(LACKS, "front lifted", whole, detail)
    return {FRONT: ahead, REAR: behind}


def _shared(
    case: Case, whole: Sum, on_rear: list[Decimal], rear: Reach, open_: tuple[str, ...]
) -> Step:
    """A rear and a tag axle together; and each alone, were all that is added to stand on it."""
    both = _held(case, whole, rear, ("rear_axle_mass", "tag_axle_mass"), open_)
    limits = [_limit(case, name) for name in ("rear_axle_mass", "tag_axle_mass")]
    added = max(rear.most - sum(on_rear, Decimal(0)), Decimal(0))
    for kg, limit in zip(on_rear, limits, strict=True):
        if limit is not None and kg > limit:
            return _step(LACKS, "overladen", whole, (_said(kg), _said(kg), _said(limit)))
        if both.verdict is GOOD and limit is not None and kg + added > limit:
            detail = (_said(kg), _said(kg + added), _said(limit))
            both = _step(DOUBT, "share not known", whole, detail)
    return both


def _placed(case: Case, whole: Sum, wheelbase: Decimal) -> tuple[list[Load], tuple[str, ...]]:
    """Each load within its bounds, and what would say where those that may lie anywhere do, the
    heaviest first."""
    tail = case.fit_out.facts.rear_overhang
    hindmost = read_measure(tail, "length").value if tail else wheelbase * _LONGEST_TAIL
    loads, open_ = [], []
    for one in whole.carried:
        if one.at_mm is not None:
            to = one.at_mm if one.to_mm is None else one.to_mm
            loads.append(Load(one.kg, min(one.at_mm, to), max(one.at_mm, to)))
        else:
            hung = _BEHIND_TAIL if one.says == "rack" else 0
            loads.append(Load(one.kg, -wheelbase, hindmost + hung))
            open_.append((-abs(one.kg), one.says))
    return loads, tuple(says for _, says in sorted(open_))


# Loads of whose place no fact of the van tells.
_PLACELESS = {
    "rack": "rack place not said", "gas": "gas place not known", "fuel": "fuel place not known",
}  # fmt: skip
# No van's tail is longer than its wheelbase: common practice, no source.
_LONGEST_TAIL = 1
_BEHIND_TAIL = 1500  # mm, and no rack hangs farther behind it: the same


def _held(
    case: Case, whole: Sum, kg: Reach, limits: tuple[str, ...], open_: tuple[str, ...]
) -> Step:
    """What may be borne against what a plate allows."""
    limit = _limit(case, *limits)
    if limit is None:
        return _step(
            DOUBT, "unsaid", whole, tuple(n for n in limits if case.fit_out.get(n) is None)
        )
    if not open_:  # the two are one but for the gram they are taken to
        kg = Reach(kg.most, kg.most)
    detail = (_said(kg.least), _said(kg.most), _said(limit))
    if kg.least > limit:
        return _step(LACKS, "overladen", whole, detail)
    if whole.lacking:
        return _step(DOUBT, f"{whole.lacking[0]} not said", whole, detail)
    if whole.unsaid:
        return _step(DOUBT, "unsaid", whole, whole.unsaid)
    if kg.most > limit:
        if open_[0] in _PLACELESS:
            return _step(DOUBT, _PLACELESS[open_[0]], whole, detail)
        return _step(DOUBT, "unsaid", whole, open_[:1])
    return _step(GOOD, "carried", whole, detail)


def _step(verdict: object, code: str, whole: Sum, detail: tuple[str, ...] = ()) -> Step:
    number = whole.weighed.number if whole.weighed else None
    return Step(dt.date.min, verdict, code, number, detail)  # type: ignore[arg-type]


def _said(kg: Decimal) -> str:
    return f"{kg.normalize():f}"


def _overhang(case: Case) -> Timeline:
    """The body behind the rear axle against the wheelbase: C&U 1986 reg 11. Whether a rack counts
    in it hangs on the van's class, which nobody settles here."""
    facts = case.fit_out.facts
    if (
        facts.rear_overhang is None
        or facts.wheelbase is None
        or "overhang_percent" not in case.terms
    ):
        return NOT_APPLICABLE
    percent = Decimal(case.terms["overhang_percent"])
    tail = read_measure(facts.rear_overhang, "length").value
    most = read_measure(facts.wheelbase, "length").value * Decimal(percent) / 100
    detail = (_said(tail), _said(tail), _said(most))
    if tail > most:
        return always(LACKS, "tail too long", None, detail)
    return always(GOOD, "tail in limits", None, detail)


def figure(step: Step) -> tuple[Decimal, Decimal, str] | None:
    """How much, how much it may be, and the unit, of a step that tells them; the worse of two where
    a load may lie in several places."""
    if step.code not in _FIGURES:
        return None
    least, most, limit = (Decimal(word) for word in step.detail)
    return (least if step.verdict is LACKS else most), limit, _FIGURES[step.code]


_LEFT_OPEN = (
    "people not said", "luggage not said", "water not said", "fuel not said", "name not said",
    "tag not said", "rack not said", "rack place not said", "gas place not known",
    "fuel place not known", "share not known",
)  # fmt: skip
_FIGURES = {
    **dict.fromkeys(("carried", "overladen", "front lifted", *_LEFT_OPEN), "kg"),
    **dict.fromkeys(("tail in limits", "tail too long"), "mm"),
}


def reads(rule: Rule) -> Reads:
    """Weighings, the rack, the plate, and where loads sit."""
    return Reads(
        checks=rule.checks,
        components=(rule.over,) if rule.over else (),
        facts=(
            "max_mass", "running_order_mass", "front_axle_mass", "rear_axle_mass", "tag_axle_mass",
            "axles", "wheelbase", "rear_overhang", "front_seats_at", "rear_seats_at",
            "water_tank_at", "luggage_at", "gas_mass", "lpg",
        ),
        party=("people", "bikes", "electric_bikes", "bikes_kg", "luggage_kg", "water_l", "fuel_l"),
    )  # fmt: skip


# By a new weighing, with all of it aboard.
_SETTLED = frozenset(
    {
        "unweighed", "name not said", "tag not said", "fuel not said", "rack not said",
        "gas place not known", "fuel place not known", "share not known",
    }
)  # fmt: skip


def remedy(rule: Rule, place: str | None, step: Step) -> Remedy | None:
    """A ticket; what a party brings too much of nobody mends."""
    return named_remedy(rule, None, step) if step.code in _SETTLED else None


# A ticket supposed, with all aboard that may be: what is left open then is for the van to say.
_IN_ORDER = {
    "weighed-front": "0kg", "weighed-rear": "0kg", "weighed-tag": "0kg", "weighed-water": "0l",
    "weighed-driver": "aboard", "weighed-fuel": "full", "weighed-gas": "full",
}  # fmt: skip


KIND = Kind(
    "laden",
    {
        "person_kg": Term("figure", "more", required=True),
        "fuel_kg_per_l": Term("figure", "more", required=True),
        "overhang_percent": Term("figure", "less"),
        "tolerance_percent": Term("figure", "more"),
        "least_front_percent": Term("figure", "more"),
        "payload_kg": Term("figure", "more"),
    },
    judge,
    ALWAYS
    | {
        "carried": "in date",
        "tail in limits": "in date",
        "overladen": "failed",
        "tail too long": "failed",
        "unweighed": "cannot say",
        "front lifted": "failed",
        **dict.fromkeys(_LEFT_OPEN, "cannot say"),
    },
    reads,
    remedy=remedy,
    figures=lambda rule, day: _IN_ORDER,
    broken=frozenset({"overladen", "tail too long", "front lifted"}),
    of_party=lambda rule: True,
    carries=True,
)
