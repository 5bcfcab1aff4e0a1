"""Papers for others: the workbook for insurers."""

from __future__ import annotations

import datetime as dt
from typing import Any

from fleetcare import __version__, clock
from fleetcare.desk import questions
from fleetcare.desk.asking import KnownAt, asking
from fleetcare.errors import needs
from fleetcare.records.kept import Answer
from fleetcare.render import due as due_render
from fleetcare.reports.insurers import Sheets
from fleetcare.store import lookup
from fleetcare.store.engine import shown
from fleetcare.store.ledger import head_of


def insurers(
    place: str,
    on: dt.date | None,
    known_at: KnownAt | None = None,
    evidence: tuple[str, ...] = (),
) -> tuple[str, bytes]:
    """The name and the bytes of the workbook for insurers; with a sheet of evidence for each of the
    vans named."""
    from fleetcare.render.xlsx import workbook_bytes

    day = on or clock.today()
    with asking(place, known_at) as asked:
        sheets = Sheets(day)
        for van in dict.fromkeys(evidence):
            sheets.add_evidence(asked.judged(van))
        for judged in asked.fleet():
            sheets.add(judged)
        kept = lookup.written(asked.connection, Answer)
        sheets.add_answers([one for one in kept if one[0].number <= asked.as_of.known_at])
        head = head_of(asked.connection)
        about: list[tuple[str, Any]] = [
            (
                "What this is",
                "The evidence a self-drive hire firm keeps that its motorhomes are "
                "fit to go out, and how each stood on the day below.",
            ),
            ("Firm", asked.book.firm or "not stated"),
            ("As of", day),
            ("Records in the book", asked.as_of.known_at),
            ("Rules", asked.as_of.digest),
            ("Tally", f"{head.size:,} records {head.short}"),
            ("Tally, root in full", head.root),
            ("Tally, last written", head.recorded_at),
            *[("As known then", caution) for caution in asked.cautions if asked.known is not None],
            ("Program", f"fleetcare {__version__}"),
            ("Database", shown(place).rpartition("/")[2]),
            ("Days", "Local calendar days; a last day is itself still good."),
            ("Empty cells", "Nothing was recorded or stated; nothing is assumed."),
            *[
                (f"Caution ({j.title})", f"{j.caution} Reviewed {j.reviewed_on}.")
                for j in asked.book.homes.values()
            ],
        ]
        workbook = asked.filled(sheets.workbook(asked.book, about))
    return f"insurers-{day}.xlsx", workbook_bytes(workbook)


def monday(report: questions.DueReport, by: str) -> bytes:
    """The Monday report as a PDF to tick off: `by` week, van or trade."""
    with needs("typst", "pdf"):
        from fleetcare.render import typeset

    return typeset.pdf("monday.typ", due_render.paper(report, by), {})
