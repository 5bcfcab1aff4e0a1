"""The evidence of one van over some days, as rows: what was asked of it, what met it, and who
says so."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Any, NamedTuple

from fleetcare.reports.answered import Answered
from fleetcare.reports.fleet import van_shown
from fleetcare.reports.handed import handed
from fleetcare.reports.insurers import FITTED_AS, Sheet, Sheets, fitted_cells
from fleetcare.rules.evidence import records_of
from fleetcare.rules.outcome import Judgement, Outcome
from fleetcare.windows import eve, next_day
from fleetcare.words.days import day_words
from fleetcare.words.reasons import reason, titled
from fleetcare.words.terms import terms_words

FITTED = ("Component", "Place", "Fitted", "Taken off", *FITTED_AS)


class Pack(NamedTuple):
    """Everything the pack shows but its scans and its head; all of it text."""

    facts: list[tuple[str, str]]
    required: list[tuple[str, str, str, str, str, str]]
    tables: list[Sheet]
    answers: list[tuple[str, ...]]
    records: frozenset[int]  # those it rests on, whose scans belong in it


def pack(judged: Judgement, start: dt.date, through: dt.date, kept: list[Answered]) -> Pack:
    """The pack of one van from one day through another."""
    rested: set[int] = set()
    required = []
    for outcome in judged.outcomes:
        for row, records in _stretches(judged, outcome, start, through):
            required.append(row)
            rested |= records
    roots = {root for root, now in judged.known.facts.corrected.items() if now in rested}
    rested |= roots  # rows and scans keep the number of what was corrected
    sheets = Sheets(through)
    sheets.add(judged)
    facts = [
        (str(fact["fact"]), ", ".join(v) if isinstance(v := fact["value"], tuple) else _text(v))
        for fact in van_shown(judged, through).facts
    ]
    tables = [
        _of(sheets.checks, "Checks, services and papers it rests on", rested),
        Sheet("What was fitted", FITTED, list(_fitted(judged, start, through))),
        _standing_over(sheets.defects, "Defects, holds and recalls", start, through),
        Sheet(
            "Hires of these days", sheets.hires.headings[2:], _hires(sheets.hires, start, through)
        ),
        *handed(judged, start, through),
    ]
    answers = [
        _answer(row)
        for row in kept
        if row.answer.from_on <= through and row.answer.through_on >= start
    ]
    return Pack(facts, required, tables, answers, frozenset(rested))


def _stretches(
    judged: Judgement, outcome: Outcome, start: dt.date, through: dt.date
) -> Iterator[tuple[tuple[str, str, str, str, str, str], set[int]]]:
    """How a rule stood through the days, stretch by stretch, and the records of each."""
    steps = outcome.timeline.steps
    ends = [step.start for step in steps[1:]] + [next_day(through)]
    for step, end in zip(steps, ends, strict=True):
        first, last = max(step.start, start), min(eve(end), through)
        if first > last or step.code == "not applicable":
            continue
        records = set(records_of(judged, outcome, first)) | set(records_of(judged, outcome, last))
        days = day_words(first) if first == last else f"{day_words(first)} to {day_words(last)}"
        source = outcome.rule.version_at(first).source
        row = (
            titled(outcome), days, outcome.standing(step), reason(judged, outcome, step),
            f"{terms_words(outcome.rule, first)}. {source}",
            " ".join(f"#{number}" for number in sorted(records)),
        )  # fmt: skip
        yield row, records


def _text(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return day_words(value) if isinstance(value, dt.date) else "" if value is None else str(value)


def _texts(rows: list[tuple[Any, ...]]) -> list[tuple[Any, ...]]:
    return [tuple(_text(cell) for cell in row[2:]) for row in rows]  # van and plate head the pack


def _fitted(judged: Judgement, start: dt.date, through: dt.date) -> Iterator[tuple[str, ...]]:
    """Whatever was in a place on any of the days, and when it was taken off or moved."""
    for what, component in judged.book.components.items():
        for place, stays in sorted(judged.known.stays(what).items()):
            ends = [stay.on for stay in stays[1:]] + [None]
            for stay, end in zip(stays, ends, strict=True):
                if stay.fit is None or stay.on > through or (end is not None and end < start):
                    continue
                row = (component.title, place, stay.on, end, *fitted_cells(judged, stay.fit))
                yield tuple(_text(cell) for cell in row)


def _of(sheet: Sheet, title: str, records: set[int]) -> Sheet:
    """The rows of a sheet that are records the pack rests on; the record is the last column."""
    return Sheet(title, sheet.headings[2:], _texts([r for r in sheet.rows if r[-1] in records]))


def _standing_over(sheet: Sheet, title: str, start: dt.date, through: dt.date) -> Sheet:
    """What was found by the last of the days and not signed off or lifted before the first."""
    found, ended = (
        sheet.headings.index("Found or from"),
        sheet.headings.index("Signed off or lifted"),
    )
    rows = [
        row
        for row in sheet.rows
        if row[found] <= through and not (row[ended] and row[ended] < start)
    ]
    return Sheet(title, sheet.headings[2:], _texts(rows))


def _hires(sheet: Sheet, start: dt.date, through: dt.date) -> list[tuple[Any, ...]]:
    first, last = sheet.headings.index("From"), sheet.headings.index("Through")
    return _texts([row for row in sheet.rows if row[first] <= through and row[last] >= start])


def _answer(row: Answered) -> tuple[str, ...]:
    kept = row.answer
    asked = f"{kept.asked} {kept.ref or ''}".strip()
    return (
        f"#{row.number}", f"{row.at[:16].replace('T', ' ')} UTC", row.by,
        f"{asked}, {day_words(kept.from_on)} to {day_words(kept.through_on)}",
        f"hireable {kept.hireable}", ", ".join(kept.blocking or ()) or "nothing",
        f"{kept.known_at:,} records, rules {kept.rulebook[:8]}",
    )  # fmt: skip
