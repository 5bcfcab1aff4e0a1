"""Which component a check or a reading is of: said, and in the book."""

from __future__ import annotations

from fleetcare.errors import Problem, near
from fleetcare.records.kinds import Check
from fleetcare.rules.book import Book
from fleetcare.van.van import View


def where_faults(book: Book, view: View, check: Check) -> list[Problem]:
    """A check or reading of a component says which one, and that one is in the book.

    A bad reading of a place nobody knows would be lost, and the van let out.
    """
    kind = book.checks.get(check.what)
    asked: list[tuple[str | None, str | None, str]] = []
    by_part = any(rule.over for rule in book.fed_by.get(check.what, ()))
    if kind and kind.of and (check.place or (by_part and check.outcome in ("pass", "fail"))):
        asked.append((kind.of, check.place, "--place"))
    over = {
        limit.reading: rule.over
        for rule in book.rules.values()
        if rule.over
        for limit in rule.versions[-1].terms.get("limits", ())
    }
    asked += [
        (over[r.what], r.place or check.place, f'--reading "{r.what}"')
        for r in check.readings
        if r.what in over
    ]
    if kind and kind.results:
        asked += [(kind.results, r.place, "--result") for r in check.readings if r.what == "result"]
    found = []
    for what, place, where in dict.fromkeys(asked):
        if what is None:
            continue
        filled = list(view.stays(what))
        title = book.components[what].title
        if place is None and len(filled) > 1:
            found.append(Problem(where, f"say which {title}: {', '.join(filled)}"))
        elif (place is None and not filled) or (place is not None and place not in filled):
            known = f"; fitted are: {', '.join(filled)}" if filled else ""
            at = f' at "{place}"' if place else ""
            found.append(
                Problem(
                    where,
                    f"no {title}{at} is in the book{known}."
                    f"{near(place or '', filled)} Fit it first with: "
                    f"fleetcare fit {check.van} {what} {place or 'PLACE'}",
                )
            )
    return found
