"""The clerk's answer as rows: may the van go out, can the hire be booked, and what to do first."""

from __future__ import annotations

import datetime as dt
from typing import Any, NamedTuple

from fleetcare.hire.answer import Decision, answer
from fleetcare.hire.ask import Ask
from fleetcare.hire.bikes import would_go
from fleetcare.hire.leaving import Days, Left, leave_behind
from fleetcare.hire.stops import Blocking
from fleetcare.hire.todo import ToDo
from fleetcare.records.kinds import Hire
from fleetcare.reports.heard import cautions_of
from fleetcare.rules.outcome import Judgement
from fleetcare.rules.party import Party
from fleetcare.windows import eve
from fleetcare.words.entering import saying
from fleetcare.words.reasons import facts_words, reason, titled
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


def hire_report(
    judged: Judgement, ask: Ask, extra: tuple[str, ...] = (), *, dated: bool = True
) -> HireReport:
    """The answer for one van and one party; `dated` as `todo.plan` says."""
    found = answer(judged, ask, dated=dated)
    decided = found.decision
    trip = judged.known.trip(ask.ref)
    out = bool(trip and trip.out and not trip.back)
    return HireReport(
        judged.van,
        judged.plate_on(ask.start),
        ask.start,
        ask.through,
        ask.on,
        decided.hireable,
        found.hireable_through,
        decided.bookable,
        work_rows(judged, decided, ask),
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
        tuple(stop_line(judged, ask, blocking) for blocking in _merged(decided)),
        tuple(cautions_of(judged, ask, found, extra)),
        decided.could,
        roads(judged, ask.party),
        going(judged, ask, decided),
        out,
    )


def roads(judged: Judgement, party: Party) -> str:
    """The roads an answer holds for: "GB roads", with the countries visited."""
    home = judged.known.fit_outs[-1][1].facts.jurisdiction or "no one's"
    return " and ".join([f"{home.upper()} roads", *party.abroad])


def work_rows(judged: Judgement, found: Decision, ask: Ask) -> tuple[Work, ...]:
    """What must be done first, in the order of its numbers."""
    first = _first(found, ask)
    works = []
    for todo in found.to_do:
        after = tuple(place + 1 + len(first) for place in todo.after)
        works.append(_work(judged, todo)._replace(after=after))
    return (*first, *works)


def _first(found: Decision, ask: Ask) -> list[Work]:
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


def going(judged: Judgement, ask: Ask, found: Decision) -> tuple[str, ...]:
    """What would go, where the rack stops the party's bikes."""
    stopped = [b for b in found.blocking if b.outcome and b.outcome.rule.blocks == "when bikes go"]
    if not stopped:
        carried = [b for b in found.blocking if b.outcome and b.outcome.kind.carries]
        if not carried or len(carried) < len(found.blocking):
            return ()
        ways = leave_behind(judged, ask.party, Days(ask.start, ask.through))
        return tuple(f"the same without {left_words(way)}" for way in ways)
    words = [bikes_words(party) for party in would_go(judged, ask)]
    only = len(stopped) == len(found.blocking) and found.hireable != "yes"
    return (*words, "no bikes at all") if only else tuple(words)


def left_words(way: tuple[Left, ...]) -> str:
    """What is left behind together: "30 l of water and 1 e-bike (30 kg)"."""
    units = {"luggage": "kg of luggage", "water": "l of water"}
    words = []
    for left in way:
        if left.what in units:
            words.append(f"{left.number} {units[left.what]}")
        else:
            one = left.what.removesuffix("s") if left.number == 1 else left.what
            words.append(f"{left.number} {one} ({left.kg.normalize():f} kg)")
    return " and ".join(words)


def bikes_words(party: Party) -> str:
    """A party's bikes: "2 bikes and 1 e-bike"."""
    counted = [
        f"{number} {what}{'' if number == 1 else 's'}"
        for number, what in ((party.bikes, "bike"), (party.electric_bikes, "e-bike"))
        if number
    ]
    return " and ".join(counted)


def party_words(hire: Hire | Party) -> str:
    """What a booking or a caller says of who and what goes: "4 people, 2 of them under 135 cm"."""
    words = []
    if hire.people:
        words.append(f"{hire.people} {'person' if hire.people == 1 else 'people'}")
        words += [f"{hire.children} of them under 135 cm"] if hire.children else []
    words.append(bikes_words(Party(hire.bikes, hire.electric_bikes)))
    words += [f"{name} {figure}" for name, figure in _load(hire).items() if figure]
    words += [f"licence {hire.licence}"] if hire.licence else []
    words += [f"to {', '.join(hire.abroad)}"] if hire.abroad else []
    return ", ".join(word for word in words if word)


def _load(hire: Hire | Party) -> dict[str, str | None]:
    if isinstance(hire, Party):
        return hire.load
    return {"luggage": hire.luggage, "water": hire.water, "fuel": hire.fuel}


def _merged(found: Decision) -> list[Blocking]:
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


def stop_line(judged: Judgement, ask: Ask, blocking: Blocking) -> Line:
    """One thing in the way, in words."""
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


def _work(judged: Judgement, todo: ToDo) -> Work:
    remedy, book = todo.remedy, judged.book
    if remedy.sort == "check":
        words = book.checks[remedy.what].title
    elif remedy.sort == "component":
        words = f"new {book.components[remedy.what].title}"
    elif remedy.sort == "recall":
        words = f"recall {remedy.place} done, with the dealer's paper"
    elif remedy.sort == "odometer":
        words = "the odometer read and written down"
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
