"""What was handed over and taken back on some days, as tables of the pack: the licences seen, each
sheet line by line, and what happened."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Any

from fleetcare.records.yard import Sheet as KeptSheet
from fleetcare.reports.insurers import Sheet
from fleetcare.rules.outcome import Judgement
from fleetcare.words.days import day_words
from fleetcare.words.marks import said
from fleetcare.words.records import event_title

_LICENCES = ("Hire", "Driver", "Class", "Last day", "Shown", "Seen on", "Record")
_LINES = ("Line", "Place", "Answer")
_HAPPENED = ("What", "Day", "Time", "Hire", "By", "Words", "Record")


def handed(judged: Judgement, start: dt.date, through: dt.date) -> list[Sheet]:
    """The tables of the hires that any of the days belongs to; those without rows say so."""
    facts = judged.known.facts
    refs = {
        trip.hire.number: trip.hire.ref
        for trip in judged.known.trips
        if trip.hire.from_on <= through and trip.hire.through_on >= start
    }
    licences = [
        (
            refs[one.hire], str(one.driver), one.licence, day_words(one.last_day), one.shown,
            day_words(one.on), f"#{one.number}",
        )
        for one in facts.drivers
        if one.hire in refs
    ]  # fmt: skip
    kept = [one for one in facts.sheets if one.hire in refs]
    sheets = [Sheet(_head(refs, one), _LINES, list(_lines(judged, one))) for one in kept]
    none = [Sheet("Handover and return sheets", _LINES, [])]
    happened = [
        (
            event_title(judged.book, one.what), day_words(one.on), one.at or "",
            refs.get(one.hire or 0, ""), said(one.by), said(one.words), f"#{one.number}",
        )
        for one in facts.events
        if start <= one.on <= through or one.hire in refs
    ]  # fmt: skip
    return [
        Sheet("Licences seen", _LICENCES, licences),
        *(sheets or none),
        Sheet("What happened", _HAPPENED, happened),
    ]


def _head(refs: dict[int, str], one: KeptSheet) -> str:
    at = f" {one.at}" if one.at else ""
    signed = f"{day_words(one.on)}{at}, signed by {said(one.by)} (#{one.number})"
    return f"{one.what.capitalize()} sheet of {refs[one.hire]}, {signed}"


def _lines(judged: Judgement, one: KeptSheet) -> Iterator[tuple[Any, ...]]:
    """Each line by its title, as far as the rules know it, and what was answered."""
    for line in one.lines:
        named, _, answer = line.partition("=")
        name, _, place = named.partition(":")
        known = judged.book.lines.get(name)
        yield (known.title if known else _BESIDE.get(name, name), place, answer)


# What is written beside the answers of a sheet.
_BESIDE = {"rests-on": "rests on the record", "took": "time the walk took",
           "glass": "the hirer signed: the digest of the picture"}  # fmt: skip
