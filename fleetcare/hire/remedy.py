"""What one record would put right, and the same judgement supposing it were there.

"If done first" is no second calculation: the remedy is written into the facts as a record of a
day, and the rules judge those facts as they judge any others.
"""

from __future__ import annotations

import datetime as dt
import itertools
from typing import Any, NamedTuple

from fleetcare.records.facts import Facts, adding
from fleetcare.records.kept import Scan
from fleetcare.records.kinds import Check, Fit, Reading, SignOff, VanFacts
from fleetcare.records.yard import RecallDone
from fleetcare.rules.outcome import Outcome
from fleetcare.rules.rule import Rule
from fleetcare.things import (
    values_of,
)
from fleetcare.timeline import Step
from fleetcare.van.said import (
    FitOut,
)
from fleetcare.van.van import SUPPOSED, View

_NEVER_SPOILS = "9990-12-31"


class Remedy(NamedTuple):
    """One record to make: its sort, what it is of, where, and for which rule."""

    sort: str  # check, component, say, sign-off, recall, paper
    what: str
    place: str | None
    rule: Rule
    detail: tuple[Any, ...] = ()

    @property
    def needs_van(self) -> bool:
        """Whether the van must be there; saying a fact needs only its papers."""
        return self.rule.needs_van and self.sort != "say"

    @property
    def same(self) -> tuple[str, str, str | None]:
        """Two remedies that are one record are the same remedy."""
        return (self.sort, self.what, self.place)


# A person's decision, a party's own affair, or a paper that is another's to give.
_NO_REMEDY = frozenset(
    {
        "held",
        "too many bikes",
        "rack overloaded",
        "no rack",
        "licence too small",
        "licence not said",
    }
)


def remedy_for(outcome: Outcome, step: Step) -> Remedy | None:
    """The record that would put a bad step right; None when no single record can."""
    rule, place = outcome.rule, outcome.place
    if step.code in _NO_REMEDY:
        return None
    if step.code == "unsaid":
        return Remedy("say", " ".join(step.detail), None, rule, step.detail)
    if rule.kind == "defect":
        return Remedy("sign-off", str(step.record), place, rule, (step.record,))
    if rule.kind == "paper":
        return Remedy("paper", str(step.detail[0]), place, rule, (step.detail[0],))
    if rule.kind == "recall":
        return Remedy("recall", str(step.record), place, rule, (step.record,))
    sort, what = rule.remedy.sort, rule.remedy.what or ""
    if sort == "say":
        return Remedy("say", what, None, rule, (what,))
    if sort == "component" and rule.kind == "rated" and place:
        return Remedy("component", what, place, rule, _axle_places(rule, place))
    if sort in ("check", "component"):
        return Remedy(sort, what, place, rule, step.detail if rule.kind == "measured" else ())
    return None


def _axle_places(rule: Rule, axle: str) -> tuple[str, ...]:
    layouts = rule.versions[-1].terms.get("axles", {})
    name = axle.replace(" ", "_") + "_mass"
    return tuple(dict.fromkeys(p for layout in layouts.values() for p in layout.get(name, ())))


def supposing(facts: Facts, view: View, remedy: Remedy, day: dt.date, serial: int = 0) -> Facts:
    """The facts with the remedy recorded on a day, by somebody competent, everything in order."""
    number = SUPPOSED + serial * 64
    if remedy.sort == "check":
        return adding(facts, _check(facts.van, view, remedy, day, number))
    if remedy.sort == "component":
        places = remedy.detail if remedy.rule.kind == "rated" and remedy.detail else (remedy.place,)
        stays = view.stays(remedy.what)
        filled = [place for place in places if place in stays] or list(places)
        for offset, place in enumerate(filled):
            facts = adding(facts, _part(view, remedy, str(place), day, number + offset))
        return facts
    if remedy.sort == "sign-off":
        signed = SignOff(number, facts.van, remedy.detail[0], day, by="supposed")
        return facts._replace(sign_offs=[*facts.sign_offs, signed])
    if remedy.sort == "recall":
        return adding(
            facts, RecallDone(number, facts.van, remedy.detail[0], day, "dealer", "paper")
        )
    if remedy.sort == "paper":
        return adding(facts, Scan(number, facts.van, remedy.detail[0], day, "supposed"))
    return facts


def _check(van: str, view: View, remedy: Remedy, day: dt.date, number: int) -> Check:
    kind = view.book.checks[remedy.what]
    readings: tuple[Reading, ...] = ()
    if remedy.rule.kind == "measured":
        limits = remedy.rule.version_at(day).terms["limits"]
        figures = {
            limit.reading: limit.equals or limit.at_least or "0"
            for limit in limits
            if limit.reading in kind.readings and limit.when is None
        }
        readings = tuple(Reading(name, remedy.place, figure) for name, figure in figures.items())
    place = remedy.place if kind.of else None
    # After whatever else is supposed that day: what was just fitted is then tested.
    check = Check(number, van, remedy.what, day, "24:01", "pass", place=place, readings=readings)
    if kind.paper:
        return check._replace(from_on=day, last_day=dt.date.fromisoformat(_NEVER_SPOILS))
    return check


def _part(view: View, remedy: Remedy, place: str, day: dt.date, number: int) -> Fit:
    """A new part of the same sort as the old one, made that day, able to bear any load."""
    old = next((s.fit for s in reversed(view.stays(remedy.what).get(place, [])) if s.fit), None)
    blank = Fit(number, view.facts.van, remedy.what, place, day)
    return blank._replace(
        at="24:00",
        made=day.isoformat(),
        replace_by=_NEVER_SPOILS,
        variety=_variety(remedy.rule, old),
        cold_pressure=old.cold_pressure if old else None,
        load_index="200/200",
        rating="100000kg",
        bikes=100,
        electric_bikes=100,
    )


def _variety(rule: Rule, old: Fit | None) -> str:
    """The type of the new part: as the rule asks, or as the old one was."""
    if rule.kind == "season":
        return str(rule.versions[-1].terms["types"][0])
    return old.variety if old and old.variety else "powder"


def said_ways(view: View, fit_out: FitOut, names: tuple[str, ...]) -> list[VanFacts]:
    """Every statement that would say the facts left open, the emptiest fit-out first."""
    options: list[list[tuple[str, Any]]] = []
    for name in names:
        if name.startswith("places of "):
            options.append([("places", (f"{name.removeprefix('places of ')}:",))])
        elif name == "notice_height":
            options.append([(name, fit_out.get("height") or "3000mm")])
        elif name.endswith("_mass"):
            options.append([(name, "0kg")])
        else:
            options.append([(name, value) for value in reversed(values_of(view.book.facts[name]))])
    blank = VanFacts(SUPPOSED, view.facts.van)
    return [blank._replace(**dict(ways)) for ways in itertools.product(*options)]
