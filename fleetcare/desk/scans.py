"""The paper behind a record: kept when the record is written, attached when it comes, awaited."""

from __future__ import annotations

import datetime as dt

from fleetcare.desk.session import Writing, recording
from fleetcare.errors import Problem, Refused
from fleetcare.files import Given
from fleetcare.intake.paper import PaperFile, paper_of, read_paper
from fleetcare.records.kept import FleetScan, Scan
from fleetcare.store import facts as stored
from fleetcare.store import papers
from fleetcare.words.days import day_words

# A file by its name, or one that was sent.
Files = tuple[str | Given, ...]


def read_papers(files: Files) -> list[PaperFile]:
    """The papers in files; Refused with every fault at once."""
    read = [_sent(one) if isinstance(one, Given) else read_paper(one) for one in files]
    faults = [one for one in read if isinstance(one, Problem)]
    if faults:
        raise Refused(faults)
    return [one for one in read if isinstance(one, PaperFile)]


def _sent(one: Given) -> PaperFile | Problem:
    read = paper_of(one.name, one.data)
    return read._replace(field=one.field) if isinstance(read, Problem) else read


def keep_papers(
    book: Writing, place: str, number: int, van: str | None, read: list[PaperFile]
) -> None:
    """Put papers by and write down which record they are of."""
    for paper in read:
        digest = papers.digest_of(paper.data)
        if not book.dry_run:
            papers.keep(papers.folder_of(place), paper.data, paper.sort)
        said = (number, book.today, digest, paper.sort, len(paper.data))
        made = book.add(Scan(0, van, *said) if van else FleetScan(0, *said))
        book.tell(
            f"#{made.number} keeps the paper of #{number}: {paper.sort}, "
            f"{len(paper.data):,} bytes, SHA-256 {digest[:16]}."
        )


def await_paper(book: Writing, number: int, van: str, on: dt.date) -> None:
    """Write down that the paper of a record is yet to come."""
    made = book.add(Scan(0, van, number, on))
    for outcome in book.after(van).outcomes:
        step = outcome.at(on)
        if step.code == "paper awaited" and step.record == made.number:
            last = day_words(step.detail[1])
            book.tell(f"#{made.number} awaits the paper of #{number}, by {last}: keep it with: "
                      f"fleetcare attach {number} FILE")  # fmt: skip


def attach(place: str, by: str, number: int, files: Files, *, dry_run: bool = False) -> list[str]:
    """Keep the papers of a record that is in the book already."""
    read = read_papers(files)
    with recording(place, by, dry_run=dry_run) as book:
        kind, van, record = book.stands(number)
        root = stored.known_of(book.connection).stands_for.get(number, number)
        if kind == "scan" and record.digest is None:
            words = f"#{number} awaits the paper of #{record.record}: attach it to that record"
            raise Refused([Problem("", words)])
        if kind in ("withdrawal", "adoption", "answer", "scan", "fleet-scan", "erasure"):
            raise Refused([Problem("", f"#{number} ({kind}) has no paper behind it")])
        own = van if van and "van" in record._fields else None
        if own:
            book.facts(own)
        keep_papers(book, place, root, own, read)
    return book.said
