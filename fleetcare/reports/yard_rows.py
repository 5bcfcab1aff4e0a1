"""The records of the yard in a few words each, for one van shown whole."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from fleetcare.rules.outcome import Judgement
from fleetcare.words.marks import said

Row = tuple[int, dt.date, str, str]


def yard_rows(judged: Judgement) -> Iterator[Row]:
    """Number, day, what it is and its words, of every record of the yard."""
    facts, events = judged.view.facts, judged.view.book.events
    refs = {hire.number: hire.ref for hire in facts.hires}
    for out in facts.outs:
        words = f"odometer {out.odometer}, by {said(out.by)}"
        if out.unreleased:
            words = f"WITHOUT RELEASE: {said(out.unreleased)}"
        yield out.number, out.on, f"out as {refs.get(out.hire, '?')}", words
    for back in facts.backs:
        yield back.number, back.on, f"back from {refs.get(back.hire, '?')}", back.odometer or ""
    for change in facts.hire_changes:
        what = "cancelled" if change.cancelled else "moved" if change.moved_to else "changed"
        words = change.moved_to or said(change.words)
        yield change.number, change.on, f"hire {refs.get(change.hire, '?')} {what}", words
    for waiver in facts.waivers:
        named = f"{waiver.rule} {waiver.place or ''}".strip()
        words = f"{named}, by {said(waiver.by)}: {said(waiver.words)}"
        yield waiver.number, waiver.on, f"waived for {refs.get(waiver.hire, '?')}", words
    for sheet in facts.sheets:
        words = f"{len(sheet.lines)} lines, signed by {said(sheet.by)}"
        yield sheet.number, sheet.on, f"{sheet.what} sheet of {refs.get(sheet.hire, '?')}", words
    for event in facts.events:
        title = events[event.what].title if event.what in events else event.what
        yield event.number, event.on, title, said(event.words)
    for recall in facts.recalls:
        yield recall.number, recall.on, f"recall {recall.maker_number}", said(recall.words)
    for done in facts.recalls_done:
        yield done.number, done.on, f"recall #{done.recall} done", f"paper {done.certificate}"
    for lay_up in facts.lay_ups:
        back_on = f", back {lay_up.back_on}" if lay_up.back_on else ""
        yield lay_up.number, lay_up.from_on, "laid up", f"{said(lay_up.words)}{back_on}"
    for gone in facts.gone:
        yield gone.number, gone.on, "gone", said(gone.words)
