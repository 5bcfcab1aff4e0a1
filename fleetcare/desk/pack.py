"""The evidence pack of one van as a PDF, with the scans behind it; the label for its windscreen."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

from fleetcare import clock
from fleetcare.desk.answers import answers_of
from fleetcare.desk.asking import Asked, asking
from fleetcare.errors import Problem, Refused, needs
from fleetcare.intake.pdf import Pages, first_pages
from fleetcare.render.svg import chart, described
from fleetcare.reports.pack import Pack, pack
from fleetcare.reports.picture import of_van
from fleetcare.rules.outcome import Judgement
from fleetcare.store import ledger, papers
from fleetcare.words.days import day_words

CAUTION = "Records and counts days; judges no gas, electrical, tyre or fire work."
MOST_PAGES = 40  # of one paper: a test sheet has a few, a service folder some thirty
_SUFFIX = {"pdf": "pdf", "png": "png", "jpeg": "jpg"}


def evidence(place: str, van: str, start: dt.date, through: dt.date) -> bytes:
    """The pack of one van from one day through another."""
    with needs("typst", "pdf"):
        from fleetcare.render.typeset import pdf, settable

    if through < start:
        raise Refused([Problem("--through", f"{through} is before {start}")])
    with asking(place) as asked:
        judged = asked.judged(van)
        made: Pack = asked.filled(pack(judged, start, through, answers_of(asked, van)))
        captions, files = _scans(place, asked, made.records, settable)
        picture = of_van(judged, through, f"{judged.van} as of {through}")
        files["chart.svg"] = chart(picture).encode()
        data = _data(asked, judged, made, start, through) | {
            "scans": captions,
            "chart": described(picture),
        }
    return pdf("pack.typ", data, files)


def _data(
    asked: Asked, judged: Judgement, made: Pack, start: dt.date, through: dt.date
) -> dict[str, Any]:
    head = ledger.head_of(asked.connection)
    plate = judged.plate_on(through)
    days = f"{day_words(start)} to {day_words(through)}"
    return {
        "title": f"Evidence for {judged.van}{f' ({plate})' if plate else ''}, {days}",
        "tally": f"Tally {head.size:,} records {head.short}",
        "caution": CAUTION,
        "head": [
            f"Firm: {asked.book.firm or 'not stated'}",
            f"By the first {asked.as_of.known_at:,} records, rules {asked.as_of.digest}",
            f"Root of the tally: {head.root}",
            *(f"{home.title}: {home.caution}" for home in asked.book.homes.values()),
        ],
        "facts": made.facts,
        "required": made.required,
        "tables": [table._asdict() | {"title": table.name} for table in made.tables],
        "answers": made.answers,
    }


def _scans(
    place: str,
    asked: Asked,
    records: frozenset[int],
    settable: Callable[[str, bytes, int], int],
) -> tuple[list[dict[str, Any]], dict[str, bytes]]:
    """The papers of the records the pack rests on, each under a name of ours."""
    captions: list[dict[str, Any]] = []
    files: dict[str, bytes] = {}
    for one in papers.asked_for(asked.connection):
        if {one.record, one.number} & records:
            name = f"paper-{one.number}.{_SUFFIX[one.sort]}"
            content, pages, more = _shown(papers.read(papers.folder_of(place), one), one.sort)
            shown = settable(name, content, pages)
            files |= {name: content} if shown else {}
            caption = f"Paper of record #{one.record} (kept as #{one.number}, SHA-256 {one.digest})"
            more = more or shown < pages
            captions.append({"file": name, "caption": caption, "pages": shown, "more": more})
    return captions, files


def _shown(content: bytes, sort: str) -> tuple[bytes, int, bool]:
    """What of a paper is shown, on how many pages, and whether there are more: of a PDF its first
    ones, written anew; of one kept before it was looked through none where it is too much."""
    if sort != "pdf":
        return content, 1, False
    found = first_pages(content, MOST_PAGES)
    if not isinstance(found, Pages):
        return content, 0, True
    return found.data, found.shown, found.pages > found.shown


def label(place: str, van: str, on: dt.date | None) -> bytes:
    """The label of one van: last good days of its main items, and a QR code of its page, or of its
    reference where the firm says no address."""
    with needs("typst", "pdf"):
        from fleetcare.render.typeset import pdf
    with needs("segno", "pdf"):
        from fleetcare.render.code import qr_svg

    from fleetcare.reports.label import label_of

    day = on or clock.today()
    with asking(place) as asked:
        made = label_of(asked.judged(van), day)
    return pdf("label.typ", made._asdict(), {"code.svg": qr_svg(made.code)})


def aboard(place: str, van: str, on: dt.date | None) -> bytes:
    """The sheet that stays in one van, A5."""
    with needs("typst", "pdf"):
        from fleetcare.render.typeset import pdf
    from fleetcare.reports.label import aboard_of

    with asking(place) as asked:
        made = aboard_of(asked.judged(van), on or clock.today())
    return pdf("aboard.typ", made._asdict(), {})
