"""What a clerk hears with an answer: what stops nothing, how what stops it is put right, what was
waived, what a country asks for, what the rack does to the axles."""

from __future__ import annotations

from fleetcare.hire.answer import Answer
from fleetcare.hire.ask import Ask
from fleetcare.records.kinds import Fit
from fleetcare.rules.judge import weighed
from fleetcare.rules.outcome import Judgement, Outcome
from fleetcare.rules.party import Party
from fleetcare.timeline import Step
from fleetcare.trade.axles import moments
from fleetcare.trade.measures import read_measure
from fleetcare.van.places import stay_on
from fleetcare.words.cautions import ageing_at, caution_of
from fleetcare.words.days import day_words
from fleetcare.words.marks import said


def cautions_of(
    judged: Judgement, ask: Ask, found: Answer, extra: tuple[str, ...] = ()
) -> list[str]:
    """All of it, the heaviest first."""
    return [
        *_unreleased(judged, ask),
        *extra,
        *_cautions(judged, found, ask),
        *_waived(judged, ask),
        *_abroad(judged, ask),
        *_rack_cautions(judged, ask),
    ]


def _cautions(judged: Judgement, found: Answer, ask: Ask) -> list[str]:
    """What the clerk must hear although it stops nothing, and how what stops it is put right."""
    several = _aging(found.noted)
    words = [
        ageing_at(outcome.rule, several[outcome.rule.name])
        if step.code == "ageing" and outcome.rule.name in several
        else caution_of(judged, outcome, step)
        for outcome, step in found.noted
    ]
    rules = [blocking.outcome.rule for blocking in found.decision.blocking if blocking.outcome]
    words += [f"{rule.title}: {rule.caution}" for rule in rules if rule.caution]
    if found.decision.hireable == "yes":
        words.append(DEFER)
    return list(dict.fromkeys(caution.removesuffix(".") for caution in words if caution))


def _aging(noted: tuple[tuple[Outcome, Step], ...]) -> dict[str, list[str]]:
    """Of each rule that ages at several places, those places: said once for all of them."""
    places: dict[str, list[str]] = {}
    for outcome, step in noted:
        if step.code == "ageing" and outcome.place:
            places.setdefault(outcome.rule.name, []).append(outcome.place)
    return {name: several for name, several in places.items() if len(several) > 1}


# What a yes is not: said where the decision is made.
DEFER = (
    "a yes is what the records say. Whoever hands the van over still looks at it, and gas, 230 V, "
    "tyres and fire gear are for licensed and competent people to judge"
)


def _unreleased(judged: Judgement, ask: Ask) -> list[str]:
    """A van that left all the same and is not back heads whatever is asked of it."""
    return [
        f"{judged.van} LEFT WITHOUT RELEASE as {trip.hire.ref} on {day_words(trip.out.on)} "
        f"(#{trip.out.number})"
        for trip in judged.known.trips
        if trip.out and trip.out.unreleased and trip.back is None
    ]


def _waived(judged: Judgement, ask: Ask) -> list[str]:
    trip = judged.known.trip(ask.ref)
    return [
        f"waived for {ask.ref} by {said(w.by)}: {_named(judged, w.rule, w.place)}, "
        f'"{said(w.words)}" (#{w.number})'
        for w in judged.known.facts.waivers
        if trip and w.hire == trip.hire.number
    ]


def _named(judged: Judgement, rule: str, place: str | None) -> str:
    known = judged.rule(rule)
    title = known.title if known else rule
    return f"{title} {place}" if place else title


def _abroad(judged: Judgement, ask: Ask) -> list[str]:
    """What each country's file says to everybody who goes there."""
    found = []
    for country in ask.party.abroad:
        known = judged.book.jurisdictions.get(f"visiting/{country.lower()}")
        found += [f"{known.title}: {known.caution}"] if known else []
    return found


def _rack_cautions(judged: Judgement, ask: Ask) -> list[str]:
    """What the rack and its bikes do to the axles, where the book knows enough to work it out."""
    if not ask.party.any_bikes:
        return []
    facts = judged.known.fit_outs[-1][1].facts
    found = []
    racks = [name for name, kind in judged.book.components.items() if kind.bikes]
    for stays in [one for rack in racks for one in judged.known.stays(rack).values()]:
        stay = stay_on(stays, ask.start)
        if stay and stay.fit and stay.fit.behind_rear_axle and facts.wheelbase:
            found.append(_axle_words(judged, ask.party, stay.fit, facts.wheelbase))
    return found


def _axle_words(judged: Judgement, party: Party, rack: Fit, wheelbase: str) -> str:
    load = weighed(judged.known, judged.book, party).bikes_kg
    if rack.own_mass:
        load += read_measure(rack.own_mass, "mass").value
    behind = read_measure(str(rack.behind_rear_axle), "length").value
    moved = moments(load * 0, load * 0, load, behind, read_measure(wheelbase, "length").value)
    return (
        f"rack and bikes weigh {load.normalize():f} kg: they add "
        f"{round(moved.rear_kg)} kg to the rear axle and take "
        f"{round(-moved.front_kg)} kg off the front; weigh the van loaded"
    )
