"""Facts and a rulebook make one Judgement. Pure: no database, clock, terminal or network."""

from __future__ import annotations

from functools import cache, partial

from fleetcare.records.facts import Facts
from fleetcare.rules.book import Book, Key
from fleetcare.rules.kinds.rated import with_bikes_kg
from fleetcare.rules.outcome import AsOf, Judgement, Outcome, service_days
from fleetcare.rules.party import Party
from fleetcare.rules.plan import Picker, Plan, plan_for, rules_of_party, rules_of_van
from fleetcare.rules.renamed import renamed
from fleetcare.rules.rule import Rule
from fleetcare.van.van import Has, Van


def judge(facts: Facts, book: Book, as_of: AsOf) -> Judgement:
    """Every rule of the van's home, judged on the facts as given."""
    return judge_van(Van(renamed(facts, book)), book, as_of)


def judge_van(van: Van, book: Book, as_of: AsOf) -> Judgement:
    """The same of facts arranged already."""
    outcomes = plan_for(book, van, rules_of_van).judged(van)
    return Judgement(van, book, tuple(outcomes), service_days(van), as_of)


def with_party(judgement: Judgement, party: Party) -> Judgement:
    """The same judgement with the rules that only this party brings in: by its bikes, its licence
    and the countries it goes to."""
    extra = of_party(judgement.known, judgement.book, party)
    return judgement._replace(outcomes=(*judgement.outcomes, *extra)) if extra else judgement


def of_party(van: Van, book: Book, party: Party) -> list[Outcome]:
    """What the rules say that only this party brings in."""
    party = weighed(van, book, party)
    found = plan_for(book, van, rules_of_party).judged(van, party)
    if not party.any_bikes:
        found = [outcome for outcome in found if outcome.rule.blocks != "when bikes go"]
    for country in party.abroad:
        if book.visiting(country) is not None:
            found += plan_for(book, van, _visiting(country)).judged(van, party)
    return found


def weighed(van: Van, book: Book, party: Party) -> Party:
    """The party with the mass of its bikes, as the rules of the van's home weigh them."""
    return with_bikes_kg(party, book.under(van.fit_outs[-1][1].home).rules)


@cache
def _visiting(country: str) -> partial[list[Rule]]:
    """What picks the rules of a country visited; the same one each time, for plans go by it."""
    return partial(_rules_of, country)


def _rules_of(country: str, book: Book, home: str | None) -> list[Rule]:
    return list(book.visiting(country) or ())


def _plans(van: Van, book: Book, party: Party) -> list[Plan]:
    """The plans of all that binds a van and a party."""
    countries = [c for c in party.abroad if book.visiting(c) is not None]
    pickers: list[Picker] = [rules_of_van, rules_of_party, *map(_visiting, countries)]
    return [plan_for(book, van, rules_of) for rules_of in pickers]


def judge_rules(van: Van, book: Book, party: Party, keys: frozenset[Key]) -> list[Outcome]:
    """Some rules alone, those of the party among them, for a van whose facts are arranged."""
    plans = _plans(van, book, party)
    party = weighed(van, book, party)
    found = [outcome for plan in plans for outcome in plan.only(keys, van, party)]
    return [o for o in found if party.any_bikes or not o.kind.of_party(o.rule) or not _rack(o)]


def _rack(outcome: Outcome) -> bool:
    return outcome.rule.blocks == "when bikes go"


def reading_any(van: Van, book: Book, party: Party, has: Has | None) -> frozenset[Key]:
    """The rules for a van and a party that read records of what there is in `has`; all of them
    where nothing is said."""
    return frozenset(
        duty.rule.key
        for plan in _plans(van, book, party)
        for duty in plan.duties
        if has is None or duty.touched_by(has)
    )
