"""Every way in is one way: a record is held to its faults and slips, added, and told."""

from __future__ import annotations

from typing import Any

from fleetcare.desk.session import Writing
from fleetcare.errors import Problem, Refused
from fleetcare.faults import faults_of
from fleetcare.faults.context import Context, Others
from fleetcare.records.facts import Facts
from fleetcare.store import facts as stored
from fleetcare.store.engine import Connection


def others_of(connection: Connection) -> Others:
    """What the book knows beyond one van; looked up where a record needs it."""

    def holders(what: str, certificate: str) -> list[tuple[str, str]]:
        found = stored.certificate_holders(connection, what, certificate)
        return [(van, f"#{number}") for van, number in found]

    def name_of(kept: str) -> str | None:
        return stored.words_of(connection, [kept]).get(kept, kept)

    return Others(
        holders=holders,
        refs=lambda: stored.hire_refs(connection),
        vans=lambda: stored.vans_of(connection),
        plates=lambda: stored.plates_of(connection),
        named=lambda name: name in names_of(connection).values(),
        name_of=name_of,
    )


def names_of(connection: Connection) -> dict[int, str | None]:
    """The names of the inspectors in the book, by number."""
    shared = stored.shared_of(connection, stored.known_of(connection))
    names = stored.words_of(connection, [i.name for i in shared.inspectors.values()])
    return {number: names.get(i.name) for number, i in shared.inspectors.items()}


def context_of(book: Writing, new: Any, facts: Facts | None = None) -> Context:
    """What a record of a van, or of none, is held against in the book as it stands."""
    van = getattr(new, "van", None)
    if facts is None:
        facts = book.facts(van) if isinstance(van, str) else Facts("")
    return Context(book.book, book.today, facts, others_of(book.connection))


def hold(book: Writing, new: Any, *, more: list[Problem] | None = None) -> None:
    """Refuse a record with every fault at once, those in `more` first."""
    try:
        found = faults_of(context_of(book, new), new)
    except Refused as fault:
        found = list(fault.problems)
    book.refuse([*(more or []), *found])


def put(book: Writing, new: Any) -> Any:
    """Hold a plain record and add it."""
    hold(book, new)
    return book.add(new)
