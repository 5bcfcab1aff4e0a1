"""Checks and papers as the workbook for insurers shows them: one row for each, and whether it
counts."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Any

from fleetcare.records.kept import Scan
from fleetcare.records.kinds import Check
from fleetcare.rules.outcome import Judgement
from fleetcare.windows import FOREVER
from fleetcare.words.marks import said
from fleetcare.words.reasons import who


def check_rows(judged: Judgement, plate: str | None) -> Iterator[tuple[Any, ...]]:
    """Every check of a van, whether it counts and why not, and whether its paper is kept."""
    why_not: dict[int, str] = {}
    for outcome in judged.outcomes:
        for number, words in outcome.uncounted:
            why_not[number] = f"no: {words}"
    papers = {scan.record: "kept" if scan.digest else "awaited" for scan in _scans(judged)}
    for check in judged.known.facts.checks:
        kind = judged.book.checks.get(check.what)
        readings = "; ".join(
            f"{r.what}{' ' + r.place if r.place else ''} {r.figure}" for r in check.readings
        )
        counts = why_not.get(
            check.number,
            "yes" if judged.book.under(judged.home).fed_by.get(check.what) else "no rule reads it",
        )
        yield (
            judged.van,
            plate,
            kind.title if kind else check.what,
            check.on,
            check.outcome or "read",
            check.place,
            who(judged, check.inspector, check.by),
            _register_number(judged, check),
            check.certificate,
            check.from_on,
            check.last_day,
            check.odometer,
            readings,
            counts,
            papers.get(check.number),
            check.number,
        )


def fleet_paper_rows(
    judged: Judgement, on: dt.date, plate: str | None
) -> Iterator[tuple[Any, ...]]:
    """The papers of several vans that name this one, as rows among its checks."""
    for paper in judged.known.facts.shared.papers:
        if judged.van in paper.vans:
            kind = judged.book.checks.get(paper.what)
            begun, ended = paper.from_on <= on, paper.last_day < on
            yield (
                judged.van,
                plate,
                kind.title if kind else paper.what,
                paper.on,
                "ended" if ended else "in force" if begun else "not yet in force",
                None,
                "",
                "",
                paper.certificate,
                paper.from_on,
                paper.last_day,
                None,
                "",
                "yes",
                None,
                paper.number,
            )


def _scans(judged: Judgement) -> list[Scan]:
    """The papers of a van's records, those that are here after those awaited."""
    return sorted(judged.known.facts.scans, key=lambda scan: scan.digest is not None)


def _register_number(judged: Judgement, check: Check) -> str:
    """The number under which who did a check was registered for that work on that day."""
    fed = judged.book.under(judged.home).fed_by.get(check.what, ())
    for held in judged.known.facts.shared.competences.get(check.inspector or 0, ()):
        if not held.register_no or not held.from_on <= check.on <= (held.through_on or FOREVER):
            continue
        if any(held.scope in rule.by.scopes for rule in fed):
            return said(held.register_no)
    return ""
