"""What a rule's terms say on a day, and what a firm made looser than its source, in words."""

from __future__ import annotations

import datetime as dt

from fleetcare.rules.rule import Rule, Version
from fleetcare.words.days import day_words


def terms_words(rule: Rule, on: dt.date) -> str:
    """The terms in force on a day in a few words."""
    version = rule.version_at(on)
    plain = {
        name: value
        for name, value in version.terms.items()
        if isinstance(value, (int, str)) and not isinstance(value, bool)
    }
    words = [f"{name.replace('_', ' ')} {value}" for name, value in plain.items()]
    for limit in version.terms.get("limits", ()):
        bound = limit.at_least or limit.at_most or limit.under or limit.equals
        how = (
            "at least"
            if limit.at_least
            else "at most"
            if limit.at_most
            else "under"
            if limit.under
            else "must be"
        )
        words.append(f"{limit.reading} {how} {bound}")
    terms = ", ".join(words) or "as the paper says"
    return "; ".join([f"from {day_words(version.from_on)}: {terms}", *loosened_words(version)])


def loosened_words(version: Version) -> list[str]:
    """Each term a firm made looser, and than what: "looser than BS 7671, 721 (standard)"."""
    found = []
    for term, old, new, source in version.loosens:
        named = term.replace("_", " ")
        if isinstance(old, (int, str)) and isinstance(new, (int, str)):
            named = f"{named} {new}, not {old}"
        found.append(f"looser than {source}: {named}")
    return found
