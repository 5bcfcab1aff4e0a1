"""Keeping the book: making it, or bringing an older one up."""

from __future__ import annotations

from fleetcare import clock
from fleetcare.desk.asking import package_text
from fleetcare.desk.session import adopt
from fleetcare.errors import stays
from fleetcare.rules.read import digest_of
from fleetcare.store import facts as stored
from fleetcare.store.append import Writer
from fleetcare.store.engine import shown, writing
from fleetcare.words.days import day_words


def init(place: str, by: str) -> list[str]:
    """Make the book, or bring an older one up, and adopt the program's rules for a new one."""
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
