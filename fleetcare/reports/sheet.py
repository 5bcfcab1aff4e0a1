"""The lines of a sheet for one van and one hire: what there is to look at, and what is known."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Any, NamedTuple

from fleetcare.hire.ask import party_of
from fleetcare.records.kinds import Hire
from fleetcare.records.yard import HOW_SIGNED, Sheet
from fleetcare.reports.fleet import open_defects
from fleetcare.rules.limits import amount
from fleetcare.rules.outcome import Judgement
from fleetcare.things import LineKind, all_hold
from fleetcare.trade.measures import unit_in
from fleetcare.van.places import stay_on
from fleetcare.van.trips import sheet_stands
from fleetcare.windows import next_day
from fleetcare.words.reasons import reason

PREPARED, HANDOVER, RETURN = "prepared", "handover", "return"


class SheetLine(NamedTuple):
    """One line to answer; `place` where it is asked for each component of a kind."""

    kind: LineKind
    place: str | None = None
    how: str = ""  # what an answer looks like
    dimension: str | None = None  # of a figure that is typed with its unit
    unit: str = ""  # that it was last typed in, or is marked in
    words: tuple[str, ...] = ()  # one of which is the answer

    @property
    def name(self) -> str:
        """How the line is named on the sheet: "tyre-tread:front-left"."""
        return f"{self.kind.name}:{self.place}" if self.place else self.kind.name


class Form(NamedTuple):
    """A sheet to be filled: the van, the hire, and every line."""

    what: str  # prepared, handover or return
    van: str
    plate: str | None
    hire: Hire
    lines: tuple[SheetLine, ...]
    firm: str
    cautions: tuple[str, ...]
    known: tuple[str, ...] = ()  # defects that are open: not to be written down again
    prepared: int | None = None  # the sheet on which the yard's own lines are answered already


def form_of(
    judged: Judgement,
    hire: Hire,
    what: str,
    on: dt.date,
    *,
    filled_on: dt.date | None = None,
    whole: bool = False,
) -> Form:
    """The sheet of a van for a hire: a line that a stated fact rules out is left out, one whose
    fact nobody stated is asked. `filled_on`: the day by which it is asked whether the yard had
    prepared the van, where that is not `on`; `whole`: the yard's lines too, prepared or not."""
    book, fit_out = judged.book, judged.known.fit_outs[-1][1]
    any_bikes = party_of(judged.known, hire).any_bikes
    ready = prepared_by(judged, hire, filled_on or on) if what == HANDOVER and not whole else None
    sheets = {what} if what != HANDOVER or ready else {HANDOVER, PREPARED}
    lines: list[SheetLine] = []
    for kind in book.lines.values():
        if sheets.isdisjoint(kind.sheets) or all_hold(kind.when, fit_out.get) is False:
            continue
        if kind.bikes is not None and kind.bikes is not any_bikes:
            continue
        places = _places(judged, kind.over, on) if kind.over else [None]
        lines += [_line(judged, kind, place, on) for place in places]
    cautions = tuple(dict.fromkeys(line.kind.caution for line in lines if line.kind.caution))
    return Form(
        what, judged.van, judged.plate_on(on), hire, tuple(lines), book.firm, cautions,
        tuple(_known(judged, on)), ready.number if ready else None,
    )  # fmt: skip


def prepared_by(judged: Judgement, hire: Hire, on: dt.date) -> Sheet | None:
    """The sheet on which the yard prepared the van for a hire, while it stands: no older than the
    day before, and nothing written down since that says that the van moved or something happened
    to it. Common practice, no source: the 24 hours as the walkaround's."""
    facts = judged.known.facts
    ours = [s for s in facts.sheets if s.hire == hire.number and s.what == PREPARED]
    last = max(ours, key=lambda one: (one.on, one.number), default=None)
    if last is None or not last.on <= on <= next_day(last.on):
        return None
    since: list[Any] = [
        *facts.events, *facts.odometers, *facts.backs, *facts.fits, *facts.take_offs,
        *facts.stated, *facts.defects, *(out for out in facts.outs if out.hire != hire.number),
    ]  # fmt: skip
    void = not sheet_stands(facts, last) or any(_follows(record, last) for record in since)
    return None if void else last


def _follows(record: Any, sheet: Sheet) -> bool:
    """Whether a record was written down after a sheet, or speaks of what came after it."""
    if record.number > sheet.number:
        return True
    if record.on != sheet.on:
        return record.on is not None and bool(record.on > sheet.on)
    at = getattr(record, "at", None)
    return bool(at and sheet.at and at > sheet.at)


def _known(judged: Judgement, on: dt.date) -> Iterator[str]:
    """The defects that are open on a day, each in a line."""
    for outcome in open_defects(judged, on):
        yield reason(judged, outcome, outcome.at(on))


_HOW = {
    "look": "ok, or what is wrong",
    "event": "no, or yes: what happened",
    "check": "done or no",
    "nil": "nil, or what is wrong",
    "odometer": "like 42310mi",
    "words": "in a few words",
    "shown": "yes or no",
    "licence": "like C1 2031-04-02 photocard, or online, paper",
    "eighths": "like 5/8; 8/8 is full",
    "signature": f"{', '.join(HOW_SIGNED[:-1])}, or {HOW_SIGNED[-1]}: why",
}


def _line(judged: Judgement, kind: LineKind, place: str | None, on: dt.date) -> SheetLine:
    how = _how(judged, kind, place, on)
    if kind.asks == "odometer":
        readings = judged.known.rises.readings
        unit = unit_in(readings[-1].typed) if readings else ""
        return SheetLine(kind, place, how, "distance", unit)
    if kind.reading is None:
        return SheetLine(kind, place, how)
    reading = judged.book.readings[kind.reading]
    before = _last(judged, kind.reading, place) or _marked(judged, kind, place, on) or ""
    dimension = None if reading.bare else reading.dimension
    return SheetLine(kind, place, how, dimension, unit_in(before), reading.words)


def _how(judged: Judgement, kind: LineKind, place: str | None, on: dt.date) -> str:
    """What an answer looks like; of a reading its limit, the mark there and its last value."""
    if kind.reading is None:
        return _HOW[kind.asks]
    reading = judged.book.readings[kind.reading]
    if reading.words:
        return ", ".join(reading.words)
    words = ["with its unit"]
    limit = _limit(judged, kind, on)
    marked, last = _marked(judged, kind, place, on), _last(judged, kind.reading, place)
    words += [f"at least {limit}"] if limit else []
    words += [f"placard {marked}"] if marked else []
    return ", ".join([*words, f"last {last}"] if last else words)


def _limit(judged: Judgement, kind: LineKind, on: dt.date) -> str | None:
    """The strictest figure that any rule the line feeds asks for."""
    rules = [rule for name in kind.rules if (rule := judged.rule(name))]
    limits = [
        limit
        for rule in rules
        if on >= rule.since
        for limit in rule.version_at(on).terms.get("limits", ())
        if limit.reading == kind.reading and limit.at_least and not (limit.when or limit.unless)
    ]
    most = max(limits, key=lambda one: amount(one.at_least, one.dimension), default=None)
    return most.at_least if most else None


def _marked(judged: Judgement, kind: LineKind, place: str | None, on: dt.date) -> str | None:
    """The figure that an answer is held to: the pressure on the placard."""
    stays = judged.known.stays(kind.over).get(place or "") if kind.over and kind.beside else None
    stay = stay_on(stays, on) if stays else None
    return getattr(stay.fit, str(kind.beside)) if stay and stay.fit else None


def _last(judged: Judgement, what: str, place: str | None) -> str | None:
    """The figure read there last."""
    checks = sorted(judged.known.facts.checks, key=lambda one: (one.on, one.number))
    read = [r for check in checks for r in check.readings if (r.what, r.place) == (what, place)]
    return read[-1].figure if read else None


def _places(judged: Judgement, what: str, on: dt.date) -> list[str | None]:
    """The places filled with a kind of component on a day."""
    found = judged.known.stays(what).items()
    return [place for place, stays in found if (stay := stay_on(stays, on)) and stay.fit]
