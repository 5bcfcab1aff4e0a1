"""What is fitted to a van and taken off it, and what its odometer showed."""

from __future__ import annotations

from fleetcare.desk.session import Writing, recording
from fleetcare.desk.write import context_of, hold, put
from fleetcare.errors import Problem, Refused
from fleetcare.faults.common import visible
from fleetcare.faults.parts import known_places, no_such_component, occupant, same_part
from fleetcare.records.kinds import Fit, Odometer, TakeOff
from fleetcare.rules.book import hyphened
from fleetcare.store import facts as stored
from fleetcare.things import ComponentKind
from fleetcare.van.van import Van
from fleetcare.words.days import day_words


def _kind_of(book: Writing, new: Fit | TakeOff) -> ComponentKind:
    """The kind of component a record is of; Refused as the record is where there is none."""
    kind = book.book.find_component(new.what)
    if kind is None:
        unseen = visible("what", new.what)
        book.refuse(unseen or no_such_component(context_of(book, new), new.what))
    assert kind is not None
    return kind


def settled_place(van: Van, kind: ComponentKind, where: str) -> str:
    """The place meant: as typed, or the only one there is. Refused where neither is clear."""
    known = known_places(van, kind)
    if where:
        return hyphened(where) if hyphened(where) in known else where
    if len(known) == 1:
        return known[0]
    words = f"say which {kind.title}: {', '.join(known) or 'type a place'}"
    raise Refused([Problem("", words, "place")])


def fit(place: str, by: str, new: Fit, *, dry_run: bool = False) -> list[str]:
    """Fit a component; one that was in the place comes off that day. With no place said (""), the
    only one there is; with `part`, the component of that number again."""
    with recording(place, by, dry_run=dry_run) as book:
        view = Van(book.facts(new.van))
        kind = _kind_of(book, new)
        place_ = settled_place(view, kind, new.place)
        record = new._replace(what=kind.name, place=place_)
        if new.part is not None:
            record = _fitted_again(book, record, new.part)
        hold(book, record)
        old = occupant(view, record)
        if old:
            off = book.add(TakeOff(0, record.van, record.what, record.place, record.on, record.at))
            book.tell(
                f"#{off.number} took off the {kind.title} (#{old.number}) that was at "
                f"{record.place}, {day_words(record.on)}."
            )
        made = book.add(record)
        marked = f", made {made.made}" if made.made else ""
        marked += f", marked {made.replace_by}" if made.replace_by else ""
        where = f"at {made.place}, {day_words(made.on)}{marked}"
        book.tell(f"#{made.number} fitted {kind.title} {where}.")
        book.tell_asked(made.van, made.number)
    return book.said


def _fitted_again(book: Writing, record: Fit, part: int) -> Fit:
    """A component of the book fitted again, as itself, on its own van."""
    known = stored.known_of(book.connection, record.van)
    part = known.stands_for.get(part, part)
    found = stored.find_record(book.connection, part)
    if found is None or found[0] != "fit":
        raise Refused([Problem("", f"#{part} is not a component of the book", "part")])
    origin: Fit = found[2]
    bare = Fit(0, record.van, record.what, record.place, record.on)
    marked = record._replace(at=None, part=None, even_so=None) != bare
    book.refuse(same_part(record, origin, part, marked=marked))
    return record._replace(part=origin.part or origin.number)


def take_off(place: str, by: str, new: TakeOff, *, dry_run: bool = False) -> list[str]:
    """Empty a place; with none said (""), the only one there is."""
    with recording(place, by, dry_run=dry_run) as book:
        view = Van(book.facts(new.van))
        kind = _kind_of(book, new)
        record = new._replace(what=kind.name, place=settled_place(view, kind, new.place))
        hold(book, record)
        old = occupant(view, record)
        made = book.add(record)
        number = (old.part or old.number) if old else 0
        book.tell(
            f"#{made.number} took off the {kind.title} (#{number}) at "
            f"{made.place}, {day_words(made.on)}. Fit it again with: fleetcare fit VAN "
            f"{made.what} PLACE --part {number}"
        )
        book.tell_asked(made.van, made.number)
    return book.said


def odometer(place: str, by: str, new: Odometer, *, dry_run: bool = False) -> list[str]:
    """Write down what the odometer showed."""
    with recording(place, by, dry_run=dry_run) as book:
        made = put(book, new)
        book.tell(f"#{made.number} odometer {made.shown}, {day_words(made.on)}.")
    return book.said
