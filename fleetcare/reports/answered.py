"""Answers that were kept: the question, what was answered, what is answered now, and since when."""

from __future__ import annotations

import datetime as dt
from typing import Any, NamedTuple

from fleetcare.hire.ask import Ask, party_said
from fleetcare.records.facts import Facts
from fleetcare.records.kept import Answer
from fleetcare.records.kinds import Hire
from fleetcare.records.yard import Driver, Out
from fleetcare.reports.hire import HireReport, hire_report
from fleetcare.rules.judge import judge
from fleetcare.rules.outcome import AsOf, Judgement
from fleetcare.van.trips import NOTHING
from fleetcare.van.van import Van
from fleetcare.words.days import day_words


def item_name(rule: str, place: str | None) -> str:
    """An item as a record keeps it: "tyre-age:front-left"."""
    return f"{rule}:{place}" if place else rule


class Said(NamedTuple):
    """An answer without its reasons: what is compared between then and now."""

    hireable: str
    bookable: str
    blocking: tuple[str, ...]


def said_again(judged: Judgement, kept: Answer) -> Said:
    """What the question of a kept answer is answered by a judgement."""
    return said_in(hire_report(judged, ask_of(kept, judged.known), dated=False))


def said_in(report: HireReport) -> Said:
    """What a report answers; each thing in the way named once, in order."""
    items = sorted({item_name(line.rule, line.place) for line in report.blocking})
    return Said(report.hireable, report.bookable, tuple(items))


def as_it_left(judged: Judgement, day: dt.date, at: str | None) -> Judgement:
    """The van judged without what was found good, signed or changed only after it left."""
    facts = judged.known.facts

    def by_then(record: Any) -> bool:
        after = record.on == day and at and record.at and record.at > at
        return record.on < day or (record.on == day and not after)

    before: dict[str, Any] = {
        "checks": [c for c in facts.checks if c.outcome == "fail" or by_then(c)],
        "sign_offs": list(filter(by_then, facts.sign_offs)),
        "fits": list(filter(by_then, facts.fits)),
        "take_offs": list(filter(by_then, facts.take_offs)),
        "sheets": list(filter(by_then, facts.sheets)),
        "drivers": [one for one in facts.drivers if one.on <= day or not _seen_by(facts, one, day)],
    }
    if all(len(listed) == len(getattr(facts, name)) for name, listed in before.items()):
        return judged
    return judge(facts._replace(**before), judged.book, judged.as_of)


def _seen_by(facts: Facts, later: Driver, day: dt.date) -> bool:
    """Whether a driver's licence was seen by a day already: what was seen of him later is not what
    the van left on. One seen only afterwards drove all the same."""
    whose = (later.hire, later.driver)
    return any((one.hire, one.driver) == whose and one.on <= day for one in facts.drivers)


def said_at_release(judged: Judgement, kept: Answer, out: Out) -> Said:
    """What a release is answered, asked again as if it were yet to come: what stops the hire, and
    what its handover lacks."""
    facts = judged.known.facts
    before = facts._replace(
        outs=[one for one in facts.outs if one.hire != out.hire],
        backs=[one for one in facts.backs if one.hire != out.hire],
    )
    judged = judge(before, judged.book, judged.as_of)
    judged = as_it_left(judged, kept.on, out.at)
    report = hire_report(judged, ask_of(kept, judged.known), dated=False)
    lines = [*report.blocking, *report.at_handover]
    items = sorted({item_name(line.rule, line.place) for line in lines})
    return Said(report.hireable, kept.bookable, tuple(items))


def as_record(report: HireReport, ask: Ask, asked: str, as_of: AsOf) -> Answer:
    """The record that keeps an answer."""
    said, party = said_in(report), ask.party
    return Answer(
        0, report.van, asked, ask.on, ask.start, ask.through, said.hireable, said.bookable,
        as_of.known_at, as_of.digest, ask.ref, party.bikes, party.electric_bikes,
        party.weighed_kg or None, party.licence, party.abroad or None, said.blocking or None,
        party.people, party.children, *party.load.values(),
    )  # fmt: skip


def ask_of(answer: Answer, van: Van) -> Ask:
    """The question of a kept answer, to be asked again; of a booking, by the licences shown for
    it."""
    trip = van.trip(answer.ref) if answer.ref else None
    handed = van.handed.get(trip.hire.number, NOTHING) if trip else NOTHING
    party = party_said(answer, handed)
    return Ask(answer.from_on, answer.through_on, answer.on, party, answer.ref)


class Turn(NamedTuple):
    """A record after which a question is answered otherwise, and how."""

    record: int
    what: str
    said: Said


class Answered(NamedTuple):
    """One kept answer, who was given it and when, and what is answered now."""

    number: int
    at: str
    by: str
    answer: Answer
    now: Said
    since: tuple[Turn, ...]  # empty where it is answered alike

    @property
    def said(self) -> Said:
        """What was answered then."""
        kept = self.answer
        return Said(kept.hireable, kept.bookable, kept.blocking or ())


def as_json(row: Answered) -> dict[str, Any]:
    """The keys programs rely on."""
    kept = row.answer
    return {
        "record": row.number,
        "at": row.at,
        "by": row.by,
        "van": kept.van,
        "asked": kept.asked,
        "ref": kept.ref,
        "from": kept.from_on,
        "through": kept.through_on,
        "on": kept.on,
        "bikes": kept.bikes,
        "electric_bikes": kept.electric_bikes,
        **row.said._asdict(),
        "known_at": kept.known_at,
        "rulebook": kept.rulebook,
        "now": row.now._asdict(),
        "since": [{"record": t.record, "what": t.what, **t.said._asdict()} for t in row.since],
    }


def words_of(kind: str, record: Any) -> str:
    """A record in a few words, for the line that says what changed an answer."""
    if kind == "withdrawal":
        if record.replaced_by:
            return f"#{record.replaced_by} corrects #{record.record}"
        return f"#{record.number} withdrew #{record.record}"
    if kind == "adoption":
        return f"#{record.number} adopted rules {record.digest[:8]}"
    what = getattr(record, "what", None) or getattr(record, "ref", None)
    day = getattr(record, "on", None) or getattr(record, "from_on", None)
    named = f"{kind} {what}" if what else kind
    return f"#{record.number} {named}" + (f", {day_words(day)}" if day else "")


def of_release(out: Out, hire: Hire) -> Answer:
    """The answer a release was given on, which the release itself keeps."""
    how = "left without release" if out.unreleased else "released"
    return Answer(
        out.number, out.van, "hire out", out.on, out.on, hire.through_on, out.hireable, how,
        out.known_at, out.rulebook, hire.ref, hire.bikes, hire.electric_bikes, hire.bike_kg,
        hire.licence, hire.abroad, tuple(sorted(out.blocking or ())) or None, hire.people,
        hire.children, hire.luggage, hire.water, hire.fuel,
    )  # fmt: skip
