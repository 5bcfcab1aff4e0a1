"""Records under the names their things bear today: what was renamed or split says what it `was`."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from fleetcare.records.facts import Facts
from fleetcare.rules.book import Book

# Where a record names a thing: its field in the facts, its own field, the kind of thing.
_NAMING = (
    ("checks", "what", "check"),
    ("fits", "what", "component"),
    ("take_offs", "what", "component"),
    ("events", "what", "event"),
    ("defects", "about", "line"),
    ("waivers", "rule", "rule"),
)


def renamed(facts: Facts, book: Book) -> Facts:
    """The same facts as today's rules call things. A record of what was split stands under each
    new name: what it did then, it did for all that came of it."""
    if not book.renames:
        return facts
    changed: dict[str, Any] = {}
    for field, name, thing in _NAMING:
        names = book.renames.get(thing, {})
        listed = getattr(facts, field)
        if any(getattr(record, name) in names for record in listed):
            changed[field] = [one for record in listed for one in _named(record, name, names)]
    components = book.renames.get("component", {})
    if components:
        changed["stated"] = [
            said._replace(places=_places(said.places, components)) for said in facts.stated
        ]
    return facts._replace(**changed)


def _named(record: Any, name: str, names: Mapping[str, tuple[str, ...]]) -> Iterable[Any]:
    said = getattr(record, name)
    return [record._replace(**{name: new}) for new in names.get(said, (said,))]


def _places(
    words: tuple[str, ...] | None, names: Mapping[str, tuple[str, ...]]
) -> tuple[str, ...] | None:
    if words is None:
        return None
    pairs = [word.partition(":") for word in words]
    return tuple(f"{new}:{place}" for kind, _, place in pairs for new in names.get(kind, (kind,)))
