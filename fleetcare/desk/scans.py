"""The paper behind a record: kept when the record is written, attached when it comes, awaited."""

from __future__ import annotations

import datetime as dt
from typing import NamedTuple

from fleetcare.desk.asking import Asked, asking
from fleetcare.desk.session import Writing, recording
from fleetcare.errors import Problem, Refused, needs
from fleetcare.files import Given
from fleetcare.intake.paper import PaperFile, paper_of, read_paper
from fleetcare.records.kept import FleetScan, Scan
from fleetcare.reports.fleet import in_a_line, record_rows
from fleetcare.store import facts as stored
from fleetcare.store import papers
from fleetcare.store.engine import Connection, reading
from fleetcare.words.days import day_words

_OF_PAPERS = ("scan", "fleet-scan")
_WITHOUT = ("withdrawal", "adoption", "answer", "erasure")
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


def keep_papers(book: Writing, number: int, van: str | None, read: list[PaperFile]) -> None:
    """Put papers by and write down which record they are of."""
    for paper in read:
        digest = papers.digest_of(paper.data)
        if not book.dry_run:
            papers.keep(papers.folder_of(book.place), paper.data, paper.sort)
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
        if kind in (*_OF_PAPERS, *_WITHOUT):
            raise Refused([Problem("", f"#{number} ({kind}) has no paper behind it")])
        own = van if van and "van" in record._fields else None
        if own:
            book.facts(own)
        keep_papers(book, root, own, read)
    return book.said


class Behind(NamedTuple):
    """A record in words, and the papers behind it when the book had a size."""

    number: int
    van: str | None
    words: str
    kept: list[papers.Kept]
    size: int


def behind(place: str, number: int) -> Behind:
    """A record and the papers behind it, also by the number of one of them. Refused where there is
    no such record, or none has a paper behind it."""
    with asking(place) as asked:
        found = stored.find_record(asked.connection, number)
        if found and found[0] in _OF_PAPERS:
            number = found[2].record
            found = stored.find_record(asked.connection, number)
        if found is None:
            raise Refused([Problem("", f"there is no record #{number}")])
        kind, van, record = found
        if kind in _WITHOUT:
            raise Refused([Problem("", f"#{number} ({kind}) has no paper behind it")])
        root = stored.known_of(asked.connection).stands_for.get(number, number)
        own = van if van and "van" in record._fields else None
        kept = [one for one in papers.asked_for(asked.connection, own) if one.record == root]
        return Behind(root, own, _in_words(asked, own, root, kind), kept, asked.as_of.known_at)


def _in_words(asked: Asked, van: str | None, number: int, kind: str) -> str:
    rows = record_rows(asked.judged(van)) if van else []
    words: str = asked.filled(next((in_a_line(r) for r in rows if r["record"] == number), kind))
    return f"{van}: {words}" if van else words


def kept_of_van(place: str, van: str) -> dict[int, list[papers.Kept]]:
    """The papers behind a van's records, by the number of the record."""
    with reading(place) as connection:
        return kept_of(connection, van)


def kept_of(connection: Connection, van: str) -> dict[int, list[papers.Kept]]:
    """The same of a book that is open."""
    found: dict[int, list[papers.Kept]] = {}
    for one in papers.asked_for(connection, van):
        found.setdefault(one.record, []).append(one)
    return found


def _kept(connection: Connection, number: int) -> papers.Kept:
    """The paper that a record keeps; Refused where it keeps none."""
    found = next((one for one in papers.asked_for(connection) if one.number == number), None)
    if found is None:
        raise Refused([Problem("", f"#{number} keeps no paper")])
    return found


def original(place: str, number: int) -> tuple[str, str, bytes]:
    """A paper as it came: a name of ours, its sort, its bytes. Refused where it is missing or was
    changed."""
    with reading(place) as connection:
        one = _kept(connection, number)
    folder = papers.folder_of(place)
    suffix = papers.path_of(folder, one.digest, one.sort).suffix
    return f"paper-{number}{suffix}", one.sort, papers.read(folder, one)


def small(place: str, number: int) -> bytes | None:
    """A picture made small, as JPEG; None where it is none, or cannot be made small."""
    _, sort, data = original(place, number)
    return small_copy(PaperFile(data, sort))


def small_copy(paper: PaperFile) -> bytes | None:
    """The same of a paper in hand."""
    with needs("PIL", "web"):
        from fleetcare.render import photo

    return photo.small(paper.data, paper.sort)
