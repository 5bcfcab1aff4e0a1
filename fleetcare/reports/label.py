"""The label of a van, and the sheet that stays in it: what whoever has the van is to know."""

from __future__ import annotations

import datetime as dt
import math
from decimal import Decimal
from typing import NamedTuple

from fleetcare.hire.answer import hireable_through
from fleetcare.rules.outcome import Judgement
from fleetcare.things import all_hold
from fleetcare.timeline import Verdict
from fleetcare.trade.measures import read_measure
from fleetcare.windows import FOREVER
from fleetcare.words.days import day_words


class Label(NamedTuple):
    """Everything on the label, as text."""

    title: str
    van: str
    plate: str
    on: str
    items: list[tuple[str, str]]
    stop: str  # empty where the van may go
    reference: str
    code: str  # what a phone's camera reads: the van's page where the firm says its address
    caution: str


def label_of(judged: Judgement, on: dt.date) -> Label:
    """The label of a van as of a day; an item that does not apply is left out."""
    items = []
    labelled = [(outcome.rule.label, outcome) for outcome in judged.outcomes if outcome.rule.label]
    for _, outcome in sorted(labelled, key=lambda pair: pair[0]):
        step = outcome.at(on)
        if step.code != "not applicable":
            last = outcome.last_good(on) if step.verdict is Verdict.GOOD else None
            good = last is not None and last != FOREVER
            words = day_words(last) if good and last else outcome.standing(step)
            items.append((outcome.rule.title, words))
    plate = judged.plate_on(on) or ""
    stop = "" if hireable_through(judged, on) else "NOT TO GO OUT"
    return Label(
        f"Label of {judged.van}", judged.van, plate, day_words(on), items, stop,
        f"VAN {judged.van}", _code(judged),
        "Says what the book said that day. Ask the book before the van goes.",
    )  # fmt: skip


def _code(judged: Judgement) -> str:
    address = judged.book.address
    return f"{address}/van/{judged.van}" if address else f"VAN {judged.van}"


class Aboard(NamedTuple):
    """The sheet that stays in the van: whom to ring, what the van is, what to look at each morning,
    what never to do, and what to do when something happens. All of it is text."""

    title: str
    van: str
    plate: str
    firm: str
    ring: str  # empty: to be written in by hand
    facts: list[tuple[str, str]]
    morning: list[str]
    never: list[str]
    when: list[tuple[str, str]]
    on: str


_ABOARD = ("height", "max_mass", "overall_length", "belted_seats")  # facts a driver is asked for


def aboard_of(judged: Judgement, on: dt.date) -> Aboard:
    """The sheet of a van as of a day; a line that a stated fact rules out is left out."""
    book, fit_out = judged.book, judged.known.fit_outs[-1][1]
    facts = []
    for name in _ABOARD:
        value = fit_out.get(name)
        shown = (
            "not said: ask us" if value is None else _in_feet(str(value), book.facts[name].holds)
        )
        facts.append((book.facts[name].title, shown))
    lines = [one for one in book.lines.values() if all_hold(one.when, fit_out.get) is not False]
    return Aboard(
        f"Aboard {judged.van}", judged.van, judged.plate_on(on) or "", book.firm, book.ring, facts,
        [one.morning for one in lines if one.morning],
        list(dict.fromkeys(one.caution for one in lines if one.caution)),
        [(one.title, one.tell) for one in book.events.values() if one.aboard], day_words(on),
    )  # fmt: skip


def _in_feet(figure: str, holds: str) -> str:
    """A length as typed and in feet and inches, rounded up: bridges are signed in both."""
    if holds != "length":
        return figure
    inches = math.ceil(read_measure(figure, "length").value / Decimal("25.4"))
    return f"{figure}, {inches // 12} ft {inches % 12} in"
