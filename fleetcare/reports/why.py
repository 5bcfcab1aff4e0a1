"""Why a rule stands as it does on a day: its terms and source, the record, what does not count."""

from __future__ import annotations

import datetime as dt
from typing import NamedTuple

from fleetcare.rules.outcome import Judgement
from fleetcare.rules.reads import checks_for
from fleetcare.rules.rule import Rule
from fleetcare.timeline import Verdict
from fleetcare.windows import EVER, FOREVER, eve
from fleetcare.words.marks import said
from fleetcare.words.reasons import plain_reason, reason, titled
from fleetcare.words.terms import terms_words


class Stretch(NamedTuple):
    """From one day through another: how the rule stands, and why."""

    start: dt.date | None
    through: dt.date | None
    standing: str
    reason: str


class Why(NamedTuple):
    """One rule at one place on a day."""

    van: str
    plate: str | None
    on: dt.date
    rule: str
    title: str
    place: str | None
    standing: str
    last_good_day: dt.date | None
    blocks: str
    reason: str
    source: str
    terms: str
    uncounted: tuple[tuple[int, str], ...]
    even_so: tuple[tuple[int, str], ...]
    stretches: tuple[Stretch, ...]
    caution: str


def why(judged: Judgement, rule: Rule, on: dt.date) -> list[Why]:
    """A rule at every place it has, on a day."""
    found = []
    for outcome in judged.outcomes:
        if outcome.rule.name != rule.name:
            continue
        step = outcome.at(on)
        good = step.verdict is Verdict.GOOD
        last = outcome.last_good(on) if good else outcome.last_good_before(step)
        version = rule.version_at(on)
        starts = [*(s.start for s in outcome.timeline.steps[1:]), None]
        found.append(
            Why(
                judged.van,
                judged.plate_on(on),
                on,
                rule.name,
                titled(outcome),
                outcome.place,
                outcome.standing(step),
                None if last == FOREVER else last,
                rule.blocks,
                reason(judged, outcome, step),
                str(version.source),
                terms_words(rule, on),
                outcome.uncounted,
                tuple(
                    (c.number, said(c.even_so)) for c in checks_for(judged.known, rule) if c.even_so
                ),
                tuple(
                    Stretch(
                        None if s.start == EVER else s.start,
                        _before(until),
                        outcome.standing(s),
                        plain_reason(judged, outcome, s),
                    )
                    for s, until in zip(outcome.timeline.steps, starts, strict=True)
                ),
                rule.caution,
            )
        )
    return found


def _before(until: dt.date | None) -> dt.date | None:
    return eve(until) if until else None
