"""The clerk's answer as rows: may the van go out, can the hire be booked, and what to do first."""

from __future__ import annotations

import datetime as dt
from typing import Any, NamedTuple

from fleetcare.hire.answer import Answer, answer
from fleetcare.hire.ask import Ask
from fleetcare.hire.bikes import would_go
from fleetcare.hire.stops import Blocking
from fleetcare.hire.todo import ToDo
from fleetcare.records.kinds import Fit
from fleetcare.rules.kinds.rated import has_bike_kg, party_kg
from fleetcare.rules.outcome import Judgement, Outcome
from fleetcare.rules.party import Party
from fleetcare.timeline import Step
from fleetcare.trade.axles import moments
from fleetcare.trade.measures import read_measure
from fleetcare.van.places import stay_on
from fleetcare.windows import eve
from fleetcare.words.cautions import caution_of
from fleetcare.words.days import day_words
from fleetcare.words.marks import said
from fleetcare.words.reasons import facts_words, reason, saying, titled
from fleetcare.words.stops import stop_words


class Line(NamedTuple):
    """One thing in the way, or to be recorded at handover."""

    rule: str
    title: str
    place: str | None
    standing: str
    last_good_day: dt.date | None
    reason: str
    source: str
    unsaid: tuple[str, ...] = ()  # the facts nobody said, by their titles
    saying: str = ""  # the command that says them


class Work(NamedTuple):
    """One record to make before collection."""

    rule: str
    place: str | None
    do: str
    do_from: dt.date
    do_by: dt.date
    needs_van: bool
    after: tuple[int, ...] = ()  # the items it must not come before, as numbered


class HireReport(NamedTuple):
    """Everything the clerk's screen shows."""

    van: str
    plate: str | None
    start: dt.date
    through: dt.date
    on: dt.date
    hireable: str
    hireable_through: dt.date | None
    bookable: str
    to_do: tuple[Work, ...]
    at_handover: tuple[Line, ...]
    blocking: tuple[Line, ...]
    cautions: tuple[str, ...]
    could: tuple[tuple[dt.date, dt.date], ...]
    judged_for: str = ""  # the roads it was judged for
    would_go: tuple[str, ...] = ()  # what the rack would bear, where it stops this party
    out: bool = False  # the van has it now: the question is whether it may stay out


def hire_report(judged: Judgement, ask: Ask, extra: tuple[str, ...] = ()) -> HireReport:
    """The answer for one van and one party."""
    found = answer(judged, ask)
    trip = judged.known.trip(ask.ref)
    out = bool(trip and trip.out and not trip.back)
    cautions = [
        *_unreleased(judged, ask),
        *extra,
        *_cautions(judged, found, ask),
        *_waived(judged, ask),
        *_abroad(judged, ask),
        *_rack_cautions(judged, ask),
    ]
    return HireReport(
        judged.van,
        judged.plate_on(ask.start),
        ask.start,
        ask.through,
        ask.on,
        found.hireable,
        found.hireable_through,
        found.bookable,
        _to_do(judged, found, ask),
        tuple(
            Line(
                o.rule.name,
                titled(o),
                o.place,
                "no record",
                None,
                "to be recorded at this handover",
                str(o.rule.version_at(ask.start).source),
            )
            for o in (() if out else found.at_handover)
        ),
        tuple(_line(judged, ask, blocking) for blocking in _merged(found)),
        tuple(cautions),
        found.could,
        roads(judged, ask.party),
        _would_go(judged, ask, found),
        out,
    )


def roads(judged: Judgement, party: Party) -> str:
    """The roads an answer holds for: "GB roads", with the countries visited."""
    home = judged.known.fit_outs[-1][1].facts.jurisdiction or "no one's"
    return " and ".join([f"{home.upper()} roads", *party.abroad])


def _to_do(judged: Judgement, found: Answer, ask: Ask) -> tuple[Work, ...]:
    """What must be done first, in the order of its numbers."""
    first = _first(found, ask)
    works = []
    for todo in found.to_do:
        after = tuple(place + 1 + len(first) for place in todo.after)
        works.append(_work(judged, todo)._replace(after=after))
    return (*first, *works)


def _first(found: Answer, ask: Ask) -> list[Work]:
    """What must come first and is no work on the van: a hire back, a licence seen."""
    first = [
        Work(
            "hire", trip.hire.ref, f"{trip.hire.ref} back, and its return recorded",
            ask.on, eve(ask.start), needs_van=False,
        )
        for trip in found.late
    ]  # fmt: skip
    if found.licence:
        words = "the hirer's licence seen, and its class said with --licence"
        first.append(Work(found.licence.name, None, words, ask.on, ask.start, needs_van=False))
    return first


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


def _would_go(judged: Judgement, ask: Ask, found: Answer) -> tuple[str, ...]:
    """What would go, where the rack stops the party's bikes."""
    stopped = [b for b in found.blocking if b.outcome and b.outcome.rule.blocks == "when bikes go"]
    if not stopped:
        return ()
    words = [bikes_words(party) for party in would_go(judged, ask)]
    only = len(stopped) == len(found.blocking) and found.hireable != "yes"
    return (*words, "no bikes at all") if only else tuple(words)


def bikes_words(party: Party) -> str:
    """A party's bikes: "2 bikes and 1 e-bike"."""
    counted = [
        f"{number} {what}{'' if number == 1 else 's'}"
        for number, what in ((party.bikes, "bike"), (party.electric_bikes, "e-bike"))
        if number
    ]
    return " and ".join(counted)


def _merged(found: Answer) -> list[Blocking]:
    """Each thing in the way; what rests on a fact nobody said, once a rule and not once a place."""
    kept: list[Blocking] = []
    seen: set[tuple[str, tuple[str, ...]]] = set()
    for blocking in found.blocking:
        step = blocking.step
        if step is not None and step.code == "unsaid":
            if (blocking.rule, step.detail) in seen:
                continue
            seen.add((blocking.rule, step.detail))
            blocking = blocking._replace(place=None)
        kept.append(blocking)
    return kept


def _line(judged: Judgement, ask: Ask, blocking: Blocking) -> Line:
    outcome, step = blocking.outcome, blocking.step
    if outcome is None or step is None:
        words, source = stop_words(judged, blocking)
        title = {"hire": "another hire", "service": "on fleet"}.get(blocking.rule, blocking.rule)
        last = blocking.last_good_day
        return Line(blocking.rule, title, blocking.place, blocking.standing, last, words, source)
    words = reason(judged, outcome, step)
    unsaid: tuple[str, ...] = ()
    how = ""
    if step.code == "unsaid":
        words = f"{words}: {outcome.rule.title} cannot be judged"
        unsaid = tuple(facts_words(judged, (name,)) for name in step.detail)
        how = saying(judged, step.detail)
    return Line(
        blocking.rule,
        titled(outcome._replace(place=blocking.place)),
        blocking.place,
        blocking.standing,
        blocking.last_good_day,
        words,
        str(outcome.rule.version_at(max(step.start, ask.start)).source),
        unsaid,
        how,
    )


def _cautions(judged: Judgement, found: Answer, ask: Ask) -> list[str]:
    """What the clerk must hear although it stops nothing, and how what stops it is put right."""
    words = [caution_of(judged, outcome, step, ask.party) for outcome, step in _once(found.noted)]
    rules = [blocking.outcome.rule for blocking in found.blocking if blocking.outcome]
    words += [f"{rule.title}: {rule.caution}" for rule in rules if rule.caution]
    if found.hireable == "yes":
        words.append(_DEFER)
    return list(dict.fromkeys(caution.removesuffix(".") for caution in words if caution))


def _once(noted: tuple[tuple[Outcome, Step], ...]) -> list[tuple[Outcome, Step]]:
    """What is noted, a rule that ages at several places said once, with all of them."""
    places: dict[str, list[str]] = {}
    for outcome, step in noted:
        if step.code == "ageing" and outcome.place:
            places.setdefault(outcome.rule.name, []).append(outcome.place)
    found = []
    for outcome, step in noted:
        several = places.get(outcome.rule.name, [])
        if step.code == "ageing" and len(several) > 1:
            if outcome.place == several[0]:
                found.append((outcome._replace(place=", ".join(several)), step))
        else:
            found.append((outcome, step))
    return found


# What a yes is not: said where the decision is made.
_DEFER = (
    "a yes is what the records say. Whoever hands the van over still looks at it, and gas, 230 V, "
    "tyres and fire gear are for licensed and competent people to judge"
)


def _work(judged: Judgement, todo: ToDo) -> Work:
    remedy, book = todo.remedy, judged.book
    if remedy.sort == "check":
        words = book.checks[remedy.what].title
    elif remedy.sort == "component":
        words = f"new {book.components[remedy.what].title}"
    elif remedy.sort == "recall":
        words = f"recall {remedy.place} done, with the dealer's paper"
    elif remedy.sort == "paper":
        words = f"the paper of {remedy.place} kept, with fleetcare attach"
    elif remedy.sort == "sign-off":
        words = f"defect {remedy.place} rectified and signed off"
    elif remedy.sort == "recheck":
        words = f"defect {remedy.place} looked at again, and a day said until which it may wait"
    else:
        words = f"say {facts_words(judged, remedy.detail)}"
    place = remedy.place
    if place and remedy.sort in ("check", "component"):
        words = f"{words} at {place}"
    return Work(remedy.rule.name, place, words, todo.do_from, todo.do_by, remedy.needs_van)


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
    rule = next(
        r for r in judged.book.under(judged.home).rules if r.over == rack.what and has_bike_kg(r)
    )
    load = party_kg(party, rule.versions[-1].terms)
    if rack.own_mass:
        load += read_measure(rack.own_mass, "mass").value
    behind = read_measure(str(rack.behind_rear_axle), "length").value
    moved = moments(load * 0, load * 0, load, behind, read_measure(wheelbase, "length").value)
    return (
        f"rack and bikes weigh {load.normalize():f} kg: they add "
        f"{round(moved.rear_kg)} kg to the rear axle and take "
        f"{round(-moved.front_kg)} kg off the front; weigh the van loaded"
    )


def as_json(report: HireReport) -> dict[str, Any]:
    """The keys programs rely on."""
    return {
        "van": report.van,
        "from": report.start,
        "through": report.through,
        "hireable": report.hireable,
        "hireable_through": report.hireable_through,
        "bookable": report.bookable,
        "to_do": [
            {
                "rule": w.rule,
                "place": w.place,
                "do": w.do,
                "do_from": w.do_from,
                "do_by": w.do_by,
                "needs_van": w.needs_van,
                "after": list(w.after),
            }
            for w in report.to_do
        ],
        "at_handover": [{"rule": line.rule, "place": line.place} for line in report.at_handover],
        "blocking": [
            {
                "rule": line.rule,
                "place": line.place,
                "standing": line.standing,
                "last_good_day": line.last_good_day,
                "reason": line.reason,
                "source": line.source,
            }
            for line in report.blocking
        ],
        "cautions": list(report.cautions),
        "judged_for": report.judged_for,
        "would_go": list(report.would_go),
        "could": [[start, through] for start, through in report.could],
    }
