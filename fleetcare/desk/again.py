"""Whether a book holds already what a row of a sheet says: a sheet is read again and again."""

from __future__ import annotations

from typing import Any

from fleetcare.desk.session import Writing
from fleetcare.errors import Problem
from fleetcare.records.facts import FIELD_OF, Facts
from fleetcare.records.fields import SECRET, fields_of
from fleetcare.records.kinds import Check, Fit, VanFacts
from fleetcare.rules.fitout import fit_outs, pairs_of
from fleetcare.store import facts as stored


class Again:
    """Compares records on their way in with those of the book."""

    def __init__(self, book: Writing) -> None:
        self._book = book
        self._words: dict[str, str | None] = {}

    def left_of(self, record: Any, facts: Facts) -> Any:
        """What of a record is new: all of it, None where the book holds it, or what is wrong where
        the book says otherwise."""
        if isinstance(record, VanFacts):
            return _left_of_facts(record, facts)
        listed = getattr(facts, FIELD_OF[type(record)])
        for known in listed:
            if self._same(record, known):
                return None
        other = next((known for known in listed if _of_one(record, known)), None)
        if other is not None:
            words = f"differs from #{other.number}: put that right with fleetcare correct"
            return Problem("", f"{words} {other.number}, or say nothing else of it here")
        return record

    def _same(self, record: Any, known: Any) -> bool:
        """Whether two records say the same, names and words compared as texts."""
        for field in fields_of(type(record)):
            ours, theirs = getattr(record, field.name), getattr(known, field.name)
            if field.name == "number" or ours == theirs:
                continue
            if field.holds not in SECRET or ours is None or theirs is None:
                return False
            if self._text(theirs) != ours:
                return False
        return True

    def _text(self, commitment: str) -> str | None:
        if commitment not in self._words:
            self._words |= stored.words_of(self._book.connection, [commitment])
        return self._words.get(commitment)


def _of_one(record: Any, known: Any) -> bool:
    """Whether two records are of the one thing: a place filled that day, a certificate."""
    if isinstance(record, Fit):
        return (record.what, record.place, record.on) == (known.what, known.place, known.on)
    if isinstance(record, Check) and record.certificate:
        return (record.what, record.certificate) == (known.what, known.certificate)
    return False


def _left_of_facts(record: VanFacts, facts: Facts) -> Any:
    """A statement without what was said already; what was said otherwise is not changed by a sheet,
    which knows no day from which it is so."""
    if not facts.stated:
        return record
    fit_out = fit_outs(facts.stated)[-1][1]
    left: dict[str, Any] = {}
    for name in VanFacts._fields[3:]:
        value = getattr(record, name)
        if value is None:
            continue
        said = getattr(fit_out.facts, name)
        if name == "places":
            kept = {kind: fit_out.places.get(kind) for kind in pairs_of(value)}
            if kept == pairs_of(value):
                continue
            said = said if any(known is not None for known in kept.values()) else None
        if said == value:
            continue
        if said is not None and name != "even_so":
            words = f"is {said} in the book: where that changed, say from which day with fleetcare"
            return Problem(name, f"{words} van change {record.van}")
        left[name] = value
    blank: Any = VanFacts(0, record.van)
    return blank._replace(**left) if left else None
