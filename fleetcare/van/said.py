"""What a van has, as said: its facts on a day, and the places that follow from them.

Three answers to every question: yes, no, and nobody said. The last is never turned into one of
the others here; the judge asks again with each value the fact could have.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from functools import lru_cache
from typing import Any, NamedTuple

from fleetcare.records.kinds import VanFacts
from fleetcare.windows import EVER

_FIELDS = VanFacts._fields
_NOTHING = VanFacts(number=0, van="")


@lru_cache(maxsize=4096)
def pairs_of(words: tuple[str, ...] | None) -> dict[str, tuple[str, ...]]:
    """ "name:value" words by name; a name alone has no values."""
    found: dict[str, tuple[str, ...]] = {}
    for word in words or ():
        name, _, value = word.partition(":")
        found[name] = (*found.get(name, ()), value) if value else found.get(name, ())
    return found


class FitOut(NamedTuple):
    """The facts of a van on a day; places and the firm's own facts by name."""

    facts: VanFacts = _NOTHING
    places: Mapping[str, tuple[str, ...]] = {}
    own: Mapping[str, bool] = {}

    @property
    def home(self) -> str | None:
        """Whose rules the van is under; None where nobody said."""
        return self.facts.jurisdiction

    def get(self, name: str) -> Any:
        """The value of a fact, or None when nobody said."""
        if name in _FIELDS:
            return getattr(self.facts, name)
        return self.own.get(name)

    def supposing(self, name: str, value: Any) -> FitOut:
        """The same van with one fact said."""
        if name in _FIELDS:
            return self._replace(facts=self.facts._replace(**{name: value}))
        return self._replace(own={**self.own, name: value})

    def with_(self, said: VanFacts) -> FitOut:
        """The same van after a later statement; what it leaves out stays as it was."""
        facts = VanFacts._make(
            b if b is not None else a for a, b in zip(self.facts, said, strict=True)
        )
        own = {name: values == ("yes",) for name, values in pairs_of(said.has).items()}
        return FitOut(
            facts,
            {**self.places, **pairs_of(said.places)},
            {**self.own, **own} if own else self.own,
        )


def fit_outs(stated: list[VanFacts]) -> list[tuple[dt.date, FitOut]]:
    """From each day on, what was said of the van; the first from EVER."""
    if len(stated) == 1 and stated[0].on is None:
        only = stated[0]
        own = {name: values == ("yes",) for name, values in pairs_of(only.has).items()}
        return [(EVER, FitOut(only, pairs_of(only.places), own))]
    current, found = FitOut(), [(EVER, FitOut())]
    for said in sorted(stated, key=lambda s: (s.on or EVER, s.number)):
        current = current.with_(said)
        if found[-1][0] == (said.on or EVER):
            found.pop()
        found.append((said.on or EVER, current))
    return found
