"""What a van carries, as rows: each figure against its limit, and what to leave behind."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from decimal import Decimal
from typing import Any, NamedTuple

from fleetcare.hire.leaving import Days, Left, leave_behind, steps_over
from fleetcare.hire.which import fit_out_on
from fleetcare.records.kinds import VanFacts
from fleetcare.reports.hire import party_words
from fleetcare.rules.judge import with_party
from fleetcare.rules.kinds.laden import FRONT, OVERHANG, REAR, WHOLE
from fleetcare.rules.kinds.laden import KIND as LADEN
from fleetcare.rules.kinds.laden import figure as figure_of
from fleetcare.rules.kinds.people import KIND as PEOPLE
from fleetcare.rules.kinds.rated import KIND as RATED
from fleetcare.rules.kinds.rated import carried_by_tyres, on_rack
from fleetcare.rules.outcome import Judgement, Outcome
from fleetcare.rules.party import Party
from fleetcare.rules.rule import Terms
from fleetcare.timeline import Step, Verdict
from fleetcare.trade.measures import read_measure
from fleetcare.words.days import day_words
from fleetcare.words.reasons import reason


class Figure(NamedTuple):
    """One figure: how much, how much it may be, what is left of that (below zero: too much)."""

    what: str
    value: Decimal | None
    limit: Decimal | None
    unit: str = "kg"
    says: str = ""  # why nobody can say, or why it can't be

    @property
    def margin(self) -> Decimal | None:
        """What is left to the limit."""
        if self.value is None or self.limit is None:
            return None
        return self.limit - self.value


class Weigh(NamedTuple):
    """Everything the screen shows."""

    van: str
    asked: str
    fits: str  # yes, no, cannot say
    figures: tuple[Figure, ...]
    leave_behind: tuple[tuple[Left, ...], ...]
    settled: bool  # leaving it is enough, as far as all is known
    base: str  # what it was reckoned from
    cautions: tuple[str, ...]


def weigh_report(judged: Judgement, party: Party, on: dt.date) -> Weigh:
    """The van with a party aboard, on a day."""
    loaded = with_party(judged, party)
    laden = [(o, o.at(on)) for o in loaded.outcomes if o.kind is LADEN]
    figures = [_figure(loaded, outcome, step) for outcome, step in laden if outcome.place]
    figures = [one for one in figures if one.what != OVERHANG or one.limit is not None]
    tyres, racks = _tyres(loaded, figures, on), _racks(loaded, on)
    over = steps_over(judged, party, Days(on, on))
    seats = list(_seats(loaded, on))
    fits = "no" if seats else _fits(over, tyres)
    settled = all(step.verdict is Verdict.LACKS for step in over)
    return Weigh(
        judged.van, party_words(party), fits, (*figures[:3], *tyres, *racks, *figures[3:], *seats),
        tuple(leave_behind(judged, party, Days(on, on))), settled, _base(judged, laden),
        tuple(_cautions(judged, laden, on)),
    )  # fmt: skip


def _figure(judged: Judgement, outcome: Outcome, step: Step) -> Figure:
    found = figure_of(step)
    doubt = step.verdict is Verdict.DOUBT
    says = f"cannot say: {reason(judged, outcome, step)}" if doubt else ""
    if step.verdict is Verdict.GOOD and found and step.detail[0] != step.detail[1]:
        says = "at most, wherever its loads lie"
    value, limit, unit = found or (None, None, "kg")
    return Figure(outcome.place or "", value, limit, unit, says)


def _seats(judged: Judgement, on: dt.date) -> Iterator[Figure]:
    """More people than the van has seats for, in words: no load, and no fit."""
    for outcome in judged.outcomes:
        step = outcome.at(on)
        if outcome.kind is PEOPLE and step.verdict is Verdict.LACKS:
            words = reason(judged, outcome, step)
            yield Figure(outcome.rule.title, None, None, "people", words)


def _tyres(judged: Judgement, figures: list[Figure], on: dt.date) -> list[Figure]:
    """What stands on each axle against what its tyres carry; those of a tag axle with the rear."""
    carry: dict[str, Decimal] = {}
    for outcome in judged.outcomes:
        if outcome.kind is RATED and outcome.place:
            kg = carried_by_tyres(outcome.rule, outcome.at(on))
            axle = FRONT if outcome.place == FRONT else REAR
            if kg is not None:
                carry[axle] = carry.get(axle, Decimal(0)) + kg
    return [
        Figure(f"tyres of the {one.what}", one.value, carry[one.what])
        for one in figures
        if one.what in carry and one.value is not None
    ]


def _racks(judged: Judgement, on: dt.date) -> list[Figure]:
    found = []
    for outcome in judged.outcomes:
        if outcome.kind is RATED and outcome.rule.blocks == "when bikes go":
            step, name = outcome.at(on), f"rack {outcome.place or ''}".strip()
            weighed = on_rack(outcome.rule, step)
            if weighed:
                found.append(Figure(name, *weighed))
            else:
                found.append(Figure(name, None, None, "kg", reason(judged, outcome, step)))
    return found


def _fits(over: list[Step], tyres: list[Figure]) -> str:
    """The worst counts: no beats cannot say beats yes."""
    lacks = any(step.verdict is Verdict.LACKS for step in over)
    if lacks or any(one.margin is not None and one.margin < 0 for one in tyres):
        return "no"
    return "cannot say" if over else "yes"


def _base(judged: Judgement, laden: list[tuple[Outcome, Step]]) -> str:
    """What the sum begins from."""
    check = next((judged.known.check_numbered(s.record) for _, s in laden if s.record), None)
    if check is None:
        return "the plated mass in running order: driver, fuel and full gas bottles stand in it"
    read = {r.what: r.figure for r in check.readings}
    aboard = [
        "the driver" if read.get("weighed-driver") == "aboard" else "no driver",
        "a full tank" if read.get("weighed-fuel") == "full" else "a tank not full",
        f"{read['weighed-water']} of water" if "weighed-water" in read else "no water said",
        "full gas" if read.get("weighed-gas") == "full" else "gas not full",
    ]
    return f"weighed {day_words(check.on)} (#{check.number}) with {', '.join(aboard)}"


def _cautions(judged: Judgement, laden: list[tuple[Outcome, Step]], on: dt.date) -> Iterator[str]:
    """What stops nothing and must be heard: how far the plate may be out, how little is left on the
    front, what its maker left for a load."""
    rule = next((outcome.rule for outcome, _ in laden), None)
    if rule is None:
        return
    terms, facts = rule.version_at(on).terms, fit_out_on(judged, on).facts
    found = {outcome.place: figure_of(step) for outcome, step in laden}
    whole, front = found.get(WHOLE), found.get(FRONT)
    by_plate = facts.running_order_mass and not any(step.record for _, step in laden)
    if by_plate and whole and "tolerance_percent" in terms:
        most = _kg(facts.running_order_mass) * Decimal(terms["tolerance_percent"]) / 100
        left = whole[1] - whole[0] - most
        yield (
            f"a plated mass may be {terms['tolerance_percent']} % out: the van may be "
            f"{most:,.0f} kg heavier, with {abs(left):,.0f} kg "
            f"{'left' if left >= 0 else 'too much'}; weigh it"
        )
    if whole and front and whole[0] and "least_front_percent" in terms:
        share = front[0] * 100 / whole[0]
        if share < Decimal(terms["least_front_percent"]):
            yield (
                f"only {share:.0f} % stands on the front axle, which steers: "
                f"{terms['least_front_percent']} % is common practice, its maker's figure wins"
            )
    yield from _payload(terms, facts)
    yield rule.caution


def _payload(terms: Terms, facts: VanFacts) -> Iterator[str]:
    """Less left for a load than a motor caravan of its seats and length must have (EU 1230/2012
    Annex I Part A 2.6.4.1.2, second-hand)."""
    plate, empty, long = facts.max_mass, facts.running_order_mass, facts.overall_length
    people = facts.belted_seats or facts.seats
    if not (plate and empty and long and people and "payload_kg" in terms):
        return
    metres = read_measure(long, "length").value / 1000
    asked = Decimal(terms["payload_kg"]) * (people + metres)
    left = _kg(plate) - _kg(empty)
    if left < asked:
        yield (
            f"its plates leave {left.normalize():f} kg for a load, less than the "
            f"{asked.normalize():f} kg asked for {people} seats and {metres.normalize():f} m"
        )


def _kg(typed: str | None) -> Decimal:
    return read_measure(str(typed), "mass").value


def as_json(report: Weigh) -> dict[str, Any]:
    """The keys programs rely on."""

    def number(figure: Decimal | None) -> float | None:
        return None if figure is None else float(figure)

    return {
        "van": report.van,
        "fits": report.fits,
        "figures": [
            {
                "what": one.what,
                "value": number(one.value),
                "limit": number(one.limit),
                "margin": number(one.margin),
                "unit": one.unit,
                "says": one.says,
            }
            for one in report.figures
        ],
        "leave_behind": [
            [{"what": left.what, "number": left.number, "kg": float(left.kg)} for left in way]
            for way in report.leave_behind
        ],
        "base": report.base,
        "cautions": list(report.cautions),
    }
