"""What a statement about a van, a lay-up or a leave for good can't be written down with."""

from __future__ import annotations

from fleetcare.errors import Problem, near, not_one_of
from fleetcare.faults.common import place_name
from fleetcare.faults.context import Context, fault
from fleetcare.records.kinds import VanFacts
from fleetcare.records.yard import Gone, LayUp
from fleetcare.rules.book import Book
from fleetcare.trade.axles import read_position
from fleetcare.van.said import fit_outs


def statement(within: Context, new: VanFacts) -> list[Problem]:
    """Facts whose words the rules do not know, places and own facts, and a home left open."""
    rules = within.rules
    found = []
    for name, fact in rules.facts.items():
        value = getattr(new, name, None)
        if fact.values and value is not None and value not in fact.values:
            found += fault(name, not_one_of(value, fact.values))
        if fact.holds == "position" and value is not None:
            found += _position(name, value)
    if new.jurisdiction and new.jurisdiction not in rules.homes:
        known = ", ".join(rules.homes)
        words = f'there are no rules for "{new.jurisdiction}"; there are: {known}'
        found += fault("jurisdiction", words)
    found += [problem for word in new.places or () for problem in _place(rules, word)]
    found += [problem for word in new.has or () for problem in _own_fact(rules, word)]
    if not any(value is not None for value in new[3:]):
        found += fault("", "nothing was stated: name what changed, like --lpg")
    return found or _home(within, new)


def _position(name: str, typed: str) -> list[Problem]:
    """Where something sits along the van."""
    try:
        place = read_position(typed)
    except ValueError as wrong:
        return fault(name, str(wrong))
    if abs(place) <= _LONGEST_MM:
        return []
    return fault(name, f'"{typed}" is no place on a motorhome: measure from the rear axle')


_LONGEST_MM = 7000  # ahead of the rear axle or behind it: common practice, no source


def _home(within: Context, new: VanFacts) -> list[Problem]:
    """Whose rules a van is under is said when it comes, and never left open afterwards: without a
    home nobody can say whether it may go."""
    after = fit_outs([*within.facts.stated, new])
    if not within.before and not within.facts.stated and new.jurisdiction is None:
        return fault("jurisdiction", "say whose rules the new van is under, like gb")
    return open_home(within, after[0][1].home)


def open_home(within: Context, home: str | None) -> list[Problem]:
    """A home that was said from the van's beginning is not taken away; `home` is what is left."""
    was = fit_outs(within.before.stated)[0][1].home if within.before else None
    if home is not None or was is None:
        return []
    how = "state another with: fleetcare van change VAN --jurisdiction …"
    return fault("jurisdiction", f"whose rules a van is under can't be left open: {how}")


def _place(rules: Book, word: str) -> list[Problem]:
    """A place as stated, "kind:place", or "kind:" where there is none."""
    kind, colon, place = word.partition(":")
    quoted = f'"{word}"'
    if not colon or place == "none":
        how = 'write it as kind:place, or "kind:" where there is none'
        return fault("places", how, quoted)
    if kind not in rules.components:
        words = f'there is no kind of component "{kind}".{near(kind, rules.components)}'
        return fault("places", words, quoted)
    wrong = place_name(place) if place else []
    return fault("places", wrong[0].message, quoted) if wrong else []


def _own_fact(rules: Book, word: str) -> list[Problem]:
    name, _, value = word.partition(":")
    fact = rules.facts.get(name)
    if fact is None or not fact.own:
        return fault("has", f'the rules know no fact of that name: "{name}"')
    if value not in ("yes", "no"):
        return fault("has", f'"{word}" says neither {name}:yes nor {name}:no')
    return []


def lay_up(within: Context, new: LayUp) -> list[Problem]:
    """It is back after its first day."""
    if new.back_on and new.back_on <= new.from_on:
        return fault("back_on", f"{new.back_on} is not after its first day ({new.from_on})")
    return []


def gone(within: Context, new: Gone) -> list[Problem]:
    """A van leaves once."""
    if not within.facts.gone:
        return []
    first = within.facts.gone[0]
    how = "correct or withdraw that record if it is wrong"
    return fault("", f"{new.van} is gone from {first.on} (#{first.number}) already: {how}")
