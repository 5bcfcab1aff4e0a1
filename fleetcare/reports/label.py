"""The label of a van for windscreen or locker: its number, and to when its main items are good."""

from __future__ import annotations

import datetime as dt
from typing import NamedTuple

from fleetcare.hire.answer import hireable_through
from fleetcare.rules.outcome import Judgement
from fleetcare.timeline import Verdict
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
        f"VAN {judged.van}",
        "Says what the book said that day. Ask the book before the van goes.",
    )  # fmt: skip
