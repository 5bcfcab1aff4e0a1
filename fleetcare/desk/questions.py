"""Questions: what is due, may a van go out, why. Nothing is written."""

from __future__ import annotations

import datetime as dt
from typing import Any, NamedTuple

from fleetcare import clock
from fleetcare.desk.asking import KnownAt, asking
from fleetcare.desk.calls import Question, asked_hire
from fleetcare.desk.since import since
from fleetcare.errors import Problem, Refused, an, near, not_one_of
from fleetcare.faults.defects import OTHER
from fleetcare.reports.due import due_items, ordered
from fleetcare.reports.due_item import DueItem, trade_of
from fleetcare.reports.hire import HireReport, hire_report
from fleetcare.reports.why import Why, why
from fleetcare.store.ledger import head_of

_LAST_WEEK = dt.timedelta(weeks=1)  # what stopped a hire since then heads the report


class DueReport(NamedTuple):
    """The due report and what it rests on."""

    on: dt.date
    known_at: int
    rulebook: str
    items: list[DueItem]
    vans: int
    cautions: tuple[str, ...]
    tally: str = ""  # of the book as it stands: a copy kept elsewhere shows whether it was touched


def due(
    place: str,
    on: dt.date | None,
    weeks: int | None,
    known_at: KnownAt | None = None,
    trade: str | None = None,
) -> DueReport:
    """What falls due over the whole fleet; of one `trade` alone: the scope a card is asked for.
    Refused for a scope that no rule asks for."""
    day = on or clock.today()
    with asking(place, known_at) as asked:
        trades = sorted({trade_of(rule) for rule in asked.book.rules.values()})
        if trade is not None and trade not in trades:
            raise Refused([Problem("--for", not_one_of(trade, trades))])
        items: list[DueItem] = []
        vans = 0
        dropped: dict[str, int] = {}
        before = since(asked, dt.datetime.combine(day - _LAST_WEEK, dt.time(), dt.UTC))
        for judged, rows in asked.fleet_in_hand():
            vans += 1
            changed = before.changed_hires(judged, rows, day)
            items.extend(due_items(judged, day, weeks, changed))
            for what, listed in judged.known.checks.items():
                if what not in asked.book.checks:
                    dropped[what] = dropped.get(what, 0) + len(listed)
        if trade is not None:
            items = [item for item in items if item.trade == trade]
        items = asked.filled(ordered(items))
        cautions = [*asked.cautions]
        cautions += [
            f'{n} records of the kind "{what}" are kept, and no rule reads them any more'
            for what, n in sorted(dropped.items())
        ]
        cautions += [j.caution for j in asked.book.homes.values()]
        head = head_of(asked.connection)
        return DueReport(
            day, asked.as_of.known_at, asked.as_of.digest, items, vans, tuple(cautions),
            f"Tally {head.size:,} records {head.short}",
        )  # fmt: skip


def hireable(
    place: str, van: str, question: Question, known_at: KnownAt | None = None
) -> HireReport:
    """May a van go out from one day to another, with these bikes?"""
    with asking(place, known_at) as asked:
        judged = asked.judged(van)
        ask = asked_hire(judged, question)
        report: HireReport = asked.filled(hire_report(judged, ask, asked.cautions))
        return report


_ASKED_OF_A_PARTY = (
    "{named}: nothing of {van} is judged by it as it stands. What only some hirers bring in is "
    "answered with: fleetcare hireable {van} --from DAY --through DAY and --bikes, --people, "
    "--licence or --abroad"
)


def why_rule(
    place: str, van: str, word: str, on: dt.date | None, known_at: KnownAt | None = None
) -> list[Why]:
    """Why the rules a word names stand as they do."""
    day = on or clock.today()
    with asking(place, known_at) as asked:
        kind = asked.book.find_check(word)
        rules = asked.book.find_rules(word) or (() if kind else asked.book.titled(word))
        if not rules and kind:
            raise Refused(
                [
                    Problem(
                        "",
                        f"no rule reads {an(kind.title)} itself; its readings feed "
                        "the rules they belong to",
                    )
                ]
            )
        if not rules:
            hint = near(word, asked.book.words())
            raise Refused(
                [
                    Problem(
                        "",
                        f'there is no rule or kind of check "{word}".{hint} '
                        "List them with: fleetcare rules list",
                    )
                ]
            )
        judged = asked.judged(van)
        found: Any = [line for rule in rules for line in why(judged, rule, day)]
        if not found:
            named = ", ".join(dict.fromkeys(rule.title for rule in rules))
            raise Refused([Problem("", _ASKED_OF_A_PARTY.format(named=named, van=van))])
        return asked.filled(found)  # type: ignore[no-any-return]


def topics(place: str) -> list[tuple[str, str]]:
    """What a defect may be about, by name and title."""
    with asking(place) as asked:
        return [
            *((topic.name, topic.title) for topic in asked.book.topics),
            (OTHER, "something else"),
        ]


def check_kinds(place: str) -> list[tuple[str, str]]:
    """Every kind of check that can be recorded, by name and title, in the order of the titles."""
    with asking(place) as asked:
        found = [(kind.name, kind.title) for kind in asked.book.checks.values()]
        return sorted(found, key=lambda one: one[1].casefold())
