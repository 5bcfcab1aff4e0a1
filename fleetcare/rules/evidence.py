"""The records an outcome rests on, by their numbers: what an insurer is to be shown."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from fleetcare.records.kinds import Check
from fleetcare.rules.outcome import Judgement, Outcome
from fleetcare.van.places import stay_on
from fleetcare.van.said import pairs_of
from fleetcare.windows import EVER


def records_of(judged: Judgement, outcome: Outcome, day: dt.date) -> tuple[int, ...]:
    """The numbers of the records that make an outcome what it is on a day, in order.

    The record its step names and, for a check, the inspector and the cards that make it count; what
    is fitted at the places it looks at; what was done about a defect or a recall; the statements of
    the facts it rests on; the papers kept of any of these. A corrected record goes by the number
    that now stands.
    """
    step = outcome.timeline.at(day)
    found = {step.record} if step.record else set()
    found.update(_of_check(judged, outcome, judged.known.check_numbered(step.record), day))
    found.update(_fitted(judged, outcome, day))
    found.update(_answers_to(judged, step.record, day))
    found.update(_stated(judged, outcome.rule.names, day))
    facts = judged.known.facts
    found.update(scan.number for scan in facts.scans if scan.record in found and scan.on <= day)
    return tuple(sorted(facts.corrected.get(number, number) for number in found))


def _of_check(
    judged: Judgement, outcome: Outcome, check: Check | None, day: dt.date
) -> Iterator[int]:
    """Who did a check, and the cards that say they may."""
    if check is None or check.inspector is None:
        return
    yield check.inspector
    for card in judged.known.facts.shared.competences.get(check.inspector, ()):
        if card.scope in outcome.rule.by.scopes and card.from_on <= check.on:
            yield card.number


def _fitted(judged: Judgement, outcome: Outcome, day: dt.date) -> Iterator[int]:
    """What is in the place the rule looks at; in every place of its kind where it names none."""
    stays = judged.known.stays(outcome.rule.over or "")
    named = [outcome.place] if outcome.place in stays else list(stays)
    for place in named:
        stay = stay_on(stays[str(place)], day)
        if stay and stay.fit:
            yield stay.fit.number


def _answers_to(judged: Judgement, number: int | None, day: dt.date) -> Iterator[int]:
    """What was done about a defect, a hold or a recall up to a day."""
    if number is None:
        return
    facts = judged.known.facts
    for listed, of in (
        (facts.repairs, "defect"),
        (facts.sign_offs, "defect"),
        (facts.rechecks, "defect"),
        (facts.lifts, "hold"),
        (facts.recalls_done, "recall"),
    ):
        for record in listed:
            if getattr(record, of) == number and record.on <= day:
                yield record.number


def _stated(judged: Judgement, names: tuple[str, ...], day: dt.date) -> Iterator[int]:
    """The last statement up to a day of each fact a rule rests on."""
    stated = [s for s in judged.known.facts.stated if (s.on or EVER) <= day]
    for name in names:
        for statement in reversed(stated):
            own = name.removeprefix("places of ")
            said = getattr(statement, name, None) is not None
            if said or own in pairs_of(statement.places) or name in pairs_of(statement.has):
                yield statement.number
                break
