"""What is missing, asked once: written down as listed, the van may go, and nothing listed is idle.

Vans are the good one of `tests/vans.py` with records and facts left out at random. What a fact is,
once it is said, is drawn from every way it could be; so each branch is walked.
"""

from __future__ import annotations

import datetime as dt
import random
from typing import Any

import pytest

from fleetcare.desk.asking import asking
from fleetcare.hire.ask import Ask, bad_steps_of
from fleetcare.hire.missing import Missing, Need, missing
from fleetcare.hire.supposing import stating, supposing
from fleetcare.records.facts import Facts
from fleetcare.records.kinds import VanFacts
from fleetcare.rules.book import Book
from fleetcare.rules.judge import judge_van
from fleetcare.rules.outcome import Judgement
from fleetcare.things import values_of
from fleetcare.van.van import Van

ON = dt.date(2026, 8, 1)
# Not left out: without them there is no van to ask about, or nothing rests on them.
_KEPT = {"number", "van", "on", "plate", "vin", "jurisdiction", "in_service_from", "even_so"}


def _thinned(facts: Facts, chance: random.Random, share: float) -> Facts:
    """Some records left out, and some facts unsaid."""
    said = facts.stated[0]
    gone = {
        name: None for name in VanFacts._fields if name not in _KEPT and chance.random() < share
    }
    return facts._replace(
        stated=[said._replace(**gone)],
        fits=[fit for fit in facts.fits if chance.random() > share],
        checks=[check for check in facts.checks if chance.random() > share],
    )


def _options(book: Book, name: str) -> tuple[Any, ...]:
    """Every way a fact could be, as an independent reading of the kinds has it."""
    if name.startswith("places of "):
        return ("", "PLACE")
    fact = book.facts[name]
    return fact.usual or values_of(fact)


def _said(van: Van, book: Book, chance: random.Random, found: Missing) -> tuple[Van, set[Any]]:
    """The van with every fact asked for said in some way, and what was said."""
    chosen: set[Any] = set()
    for need in _asked(found, "say"):
        name = need.remedy.what
        if not _hangs_on(need, chosen):
            continue
        value = chance.choice(_options(book, name))
        if name == "notice_height":  # a good one says what the van is high
            value = van.fit_outs[-1][1].facts.height
        chosen.add((name, value))
        field, held = name, value
        if name.startswith("places of "):
            field, held = "places", (f"{name.removeprefix('places of ')}:{value}",)
        van = van.with_(stating(van.facts.van, ((field, held),)))
    return van, chosen


def _asked(found: Missing, *sorts: str) -> list[Need]:
    return [need for need in found.needs if need.remedy.sort in sorts]


def _hangs_on(need: Need, chosen: set[Any]) -> bool:
    """Whether it is needed as things were said; the deepest branches come after what they rest on
    in the list."""
    return not need.given or any(way <= chosen for way in need.given)


def _written(van: Van, book: Book, needs: list[Need]) -> Van:
    parts = [need for need in needs if need.remedy.sort == "component"]
    others = [need for need in needs if need.remedy.sort != "component"]
    for serial, need in enumerate([*parts, *others], 500):
        van = supposing(van, book, need.remedy, ON, serial)
    return van


def _in_the_way(van: Van, book: Book, judged: Judgement) -> list[tuple[str, str | None, str]]:
    ask = Ask(ON, ON, ON)
    now = judge_van(van, book, judged.as_of)
    found = [(o.rule.name, o.place, step.code) for o, step in bad_steps_of(now, ask)]
    assert bool(found) is not now.hireable_days().covers(ON, ON)
    return found


@pytest.mark.parametrize("seed", range(40))
def test_what_is_listed_is_all_and_none_of_it_is_idle(good: str, seed: int) -> None:
    """Filled with good values in a branch drawn at random the van may go, without a second asking;
    less any one record that hangs on nothing it may not, unless another of the branch does it."""
    chance = random.Random(seed)
    with asking(good) as asked:
        judged, book = asked.judged("V01"), asked.book
        van = Van(_thinned(judged.known.facts, chance, chance.choice((0.1, 0.4, 1.0))))
        thin = judge_van(van, book, judged.as_of)
        found = missing(thin, Ask(ON, ON, ON))

        assert bool(found.needs) is not thin.hireable_days().covers(ON, ON)
        said, chosen = _said(van, book, chance, found)
        needs = [n for n in found.needs if n.remedy.sort != "say" and _hangs_on(n, chosen)]
        assert _in_the_way(_written(said, book, needs), book, judged) == []
        for need in needs:
            if not need.given:
                rest = [other for other in needs if other is not need]
                if _in_the_way(_written(said, book, rest), book, judged):
                    continue
                # What this branch alone asks for did it as well: a gas check tests for tightness.
                always = [other for other in rest if not other.given]
                left = _in_the_way(_written(said, book, always), book, judged)
                assert need.remedy.rule.name in {name for name, _, _ in left}, need.remedy
