"""Whether a book holds already what a row of a sheet says: a sheet is read again and again."""

from __future__ import annotations

from typing import Any

from fleetcare.errors import Problem
from fleetcare.records.facts import Facts
from fleetcare.records.fields import SECRET, fields_of
from fleetcare.records.kinds import FIELD_OF, Check, Fit, VanFacts
from fleetcare.store import facts as stored
from fleetcare.store import lookup
from fleetcare.store.engine import Connection
from fleetcare.van.said import fit_outs, pairs_of

_FACTS = tuple(name for name in VanFacts._fields if name not in ("number", "van", "on", "even_so"))


class Already:
    """Compares records on their way in with those of the book."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._words: dict[str, str | None] = {}
        self._taken_back: dict[str, list[tuple[int, Any]]] = {}
        shared = stored.shared_of(connection, stored.known_of(connection))
        self._people = shared.inspectors

    def left_of(self, record: Any, facts: Facts) -> Any:
        """What of a record is new: all of it, None where the book holds it, or what is wrong where
        the book says otherwise."""
        if isinstance(record, VanFacts):
            return self._of_facts(record, facts)
        listed = getattr(facts, FIELD_OF[type(record)])
        for known in listed:
            if self._same(record, known):
                return None
        for number, taken in self._back(facts.van):
            if type(taken) is type(record) and self._same(record, taken):
                return _was_taken_back("", taken.number, number)
        other = next((known for known in listed if _of_one(record, known)), None)
        if other is not None:
            words = f"differs from #{other.number}: put that right with fleetcare correct"
            return Problem("", f"{words} {other.number}, or say nothing else of it here")
        return record

    def _of_facts(self, record: VanFacts, facts: Facts) -> Any:
        left = _left_of_facts(record, facts)
        if not isinstance(left, VanFacts) or record.even_so:
            return left
        for number, taken in self._back(facts.van):
            if not isinstance(taken, VanFacts):
                continue
            for name in _FACTS:
                ours, theirs = getattr(left, name), getattr(taken, name)
                same = set(ours) & set(theirs) if isinstance(ours, tuple) else ours == theirs
                if ours is not None and theirs is not None and same:
                    return _was_taken_back(name, taken.number, number)
        return left

    def _back(self, van: str) -> list[tuple[int, Any]]:
        """The records of a van that were taken back or corrected, and by which record."""
        if van not in self._taken_back:
            self._taken_back[van] = lookup.taken_back(self._connection, van)
        return self._taken_back[van]

    def _same(self, record: Any, known: Any) -> bool:
        """Whether two records say the same; names and words are compared as texts, and who did it
        is one person whether the book knows them as an inspector or not."""
        of_person = ("by", "inspector") if isinstance(record, Check) else ()
        for field in fields_of(type(record)):
            ours, theirs = getattr(record, field.name), getattr(known, field.name)
            if field.name == "number" or ours == theirs or field.name in of_person:
                continue
            if field.holds not in SECRET or ours is None or theirs is None:
                return False
            if self._text(theirs) != ours:
                return False
        return not of_person or self._who(record, typed=True) == self._who(known, typed=False)

    def _who(self, check: Check, *, typed: bool) -> str | None:
        if check.inspector is not None:
            person = self._people.get(check.inspector)
            return self._text(person.name) if person else f"#{check.inspector}"
        if typed or check.by is None:
            return check.by
        return self._text(check.by) or f"erased in #{check.number}"

    def _text(self, commitment: str) -> str | None:
        if commitment not in self._words:
            self._words |= stored.words_of(self._connection, [commitment])
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
            given = pairs_of(value)
            known = {kind: fit_out.places[kind] for kind in given if kind in fit_out.places}
            said = tuple(
                f"{k}: {', '.join(v) or 'none'}" for k, v in known.items() if v != given[k]
            )
            value = tuple(w for w in value if w.partition(":")[0] not in known)
            if not said and not value:
                continue
        elif said == value:
            continue
        if said is not None and said != () and name != "even_so":
            words = f"is {_plain(said)} in the book: where that changed, say from which day with"
            return Problem("", f"{words} fleetcare van change {record.van}", name)
        left[name] = value
    blank: Any = VanFacts(0, record.van)
    return blank._replace(**left) if left else None


def _was_taken_back(field: str, record: int, by: int) -> Problem:
    words = f"is what #{record} said, which #{by} took back: take the row out"
    how = 'or say why under "Even so", or type it anew, if it is true after all'
    return Problem("", f"{words}, {how}", field)


def _plain(said: Any) -> str:
    """A fact as a person says it."""
    if isinstance(said, bool):
        return "yes" if said else "no"
    return "; ".join(said) if isinstance(said, tuple) else str(said)
