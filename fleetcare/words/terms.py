"""What a rule's terms say on a day, and what a firm made looser than its source, in words."""

from __future__ import annotations

import datetime as dt

from fleetcare.rules.limits import Limit
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
    by_fact = version.terms.get("by_fact", "")
    plain |= {"by_fact": by_fact.replace("_", " ")} if by_fact else {}
    words = [f"{name.replace('_', ' ')} {value}" for name, value in plain.items()]
    for limit in version.terms.get("limits", ()):
        words.append(f"{limit.reading} {_bound(limit)}")
    terms = ", ".join(words) or "as the paper says"
    return "; ".join([f"from {day_words(version.from_on)}: {terms}", *loosened_words(version)])


def _bound(limit: Limit) -> str:
    if limit.near:
        return f"within {limit.percent} % of {limit.near.replace('_', ' ')}"
    if limit.of:
        return f"at most one part in {limit.share} of {limit.of}"
    for how, bound in (
        ("at least", limit.at_least),
        ("at most", limit.at_most),
        ("under", limit.under),
        ("must not be", limit.differs),
    ):
        if bound is not None:
            return f"{how} {bound}"
    return f"must be {limit.equals}"


def loosened_words(version: Version) -> list[str]:
    """Each term a firm made looser, and than what: "looser than BS 7671, 721 (standard)"."""
    found = []
    for term, old, new, source in version.loosens:
        named = term.replace("_", " ")
        if isinstance(old, (int, str)) and isinstance(new, (int, str)):
            named = f"{named} {new}, not {old}"
        found.append(f"looser than {source}: {named}")
    return found
