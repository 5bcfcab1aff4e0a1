"""Keeping the book: making it, or bringing an older one up."""

from __future__ import annotations

from pathlib import Path

from fleetcare import clock
from fleetcare.desk.asking import package_text
from fleetcare.desk.session import adopt
from fleetcare.errors import stays
from fleetcare.files import new_file
from fleetcare.rules.read import digest_of
from fleetcare.store import facts as stored
from fleetcare.store.append import Writer
from fleetcare.store.backup import refuse_left
from fleetcare.store.engine import called, shown, writing
from fleetcare.words.days import day_words


def init(place: str, by: str) -> list[str]:
    """Make the book, or bring an older one up, and adopt the program's rules for a new one. A new
    file bears its name once it is a book: where it can't be made, nothing is left."""
    path = Path(place)
    if "://" in place or path.exists() or not path.parent.is_dir():
        return _made(place, by)
    refuse_left(place)
    with new_file(place) as part, called(part, place):
        made = _made(str(part), by)
    return stays(made)


def _made(place: str, by: str) -> list[str]:
    from fleetcare.store import migrate

    changed = migrate.upgrade(place)
    with writing(place) as connection:
        if stored.size_of(connection):
            if changed:
                return stays([f'"{shown(place)}" was brought up to this program.'])
            return [f'"{shown(place)}" is a fleetcare book already: nothing to do.']
        writer = Writer(connection, by)
        text = package_text()
        adopt(writer, text, "package")
        writer.flush()
    made = (
        f'Made "{shown(place)}". Rules in use: {digest_of(text)[:8]}, adopted '
        f"{day_words(clock.today())}."
    )
    return stays([made])
