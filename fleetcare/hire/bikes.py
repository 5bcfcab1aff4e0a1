"""Which bikes the rack would bear, where it bears not all of them."""

from __future__ import annotations

import itertools
from decimal import Decimal

from fleetcare.hire.ask import Ask
from fleetcare.rules.judge import with_party
from fleetcare.rules.outcome import Judgement
from fleetcare.rules.party import Party


def would_go(judged: Judgement, ask: Ask) -> list[Party]:
    """The largest parties, out of the bikes asked for, that the rack bears; none where it bears
    none. The heaviest of those weighed are taken to stay."""
    weighed = sorted(ask.party.weighed_kg, key=Decimal, reverse=True)
    found: list[Party] = []
    for bikes, electric in itertools.product(
        range(min(ask.party.bikes, _MOST_BIKES), -1, -1),
        range(min(ask.party.electric_bikes, _MOST_BIKES), -1, -1),
    ):
        kept = tuple(weighed[: bikes + electric])
        party = ask.party._replace(bikes=bikes, electric_bikes=electric, weighed_kg=kept)
        beaten = any(p.bikes >= bikes and p.electric_bikes >= electric for p in found)
        if party.any_bikes and not beaten and not _rack_stops(judged, ask._replace(party=party)):
            found.append(party)
    return found


_MOST_BIKES = 8  # no rack bears more


def _rack_stops(judged: Judgement, ask: Ask) -> bool:
    return any(
        outcome.rule.blocks == "when bikes go"
        and any(True for _ in outcome.bad_steps(ask.start, ask.through, ask.party))
        for outcome in with_party(judged, ask.party).outcomes
    )
