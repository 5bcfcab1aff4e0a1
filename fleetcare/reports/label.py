"""The label of a van for windscreen or locker: its number, and to when its main items are good."""

from __future__ import annotations

import datetime as dt
from typing import NamedTuple

from fleetcare.hire.answer import hireable_through
from fleetcare.rules.outcome import Judgement
from fleetcare.timeline import Verdict
from fleetcare.windows import FOREVER
from fleetcare.words.days import day_words
from fleetcare.words.reasons import standing

# What is asked for at the roadside or at a locker door, in the order of the label.
MAIN = (
    "gas-safety-check", "roadworthiness-test", "insurance", "vehicle-tax", "electrical-inspection",
    "habitation-service", "extinguisher-service",
)  # fmt: skip


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
    for name in MAIN:
        for outcome in judged.outcomes:
            step = outcome.timeline.at(on)
            if outcome.rule.name != name or step.code == "not applicable":
                continue
            last = outcome.timeline.last_good(on) if step.verdict is Verdict.GOOD else None
            good = last is not None and last != FOREVER
            items.append((outcome.rule.title, day_words(last) if good and last else standing(step)))
    plate = judged.plate_on(on) or ""
    stop = "" if hireable_through(judged, on) else "NOT TO GO OUT"
    return Label(
        f"Label of {judged.van}", judged.van, plate, day_words(on), items, stop,
        f"VAN {judged.van}",
        "Says what the book said that day. Ask the book before the van goes.",
    )  # fmt: skip
