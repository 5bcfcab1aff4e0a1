"""The lines of a handover or return sheet for one van and one hire: what there is to look at."""

from __future__ import annotations

import datetime as dt
from typing import NamedTuple

from fleetcare.hire.ask import party_of
from fleetcare.records.kinds import Hire
from fleetcare.rules.book import Book
from fleetcare.rules.outcome import Judgement
from fleetcare.things import LineKind, all_hold
from fleetcare.van.places import stay_on


class SheetLine(NamedTuple):
    """One line to answer; `place` where it is asked for each component of a kind."""

    kind: LineKind
    place: str | None = None
    how: str = ""  # what an answer looks like

    @property
    def name(self) -> str:
        """How the line is named on the sheet: "tyre-tread:front-left"."""
        return f"{self.kind.name}:{self.place}" if self.place else self.kind.name


class Form(NamedTuple):
    """A sheet to be filled: the van, the hire, and every line."""

    what: str  # handover or return
    van: str
    plate: str | None
    hire: Hire
    lines: tuple[SheetLine, ...]
    firm: str
    cautions: tuple[str, ...]


def form_of(judged: Judgement, hire: Hire, what: str, on: dt.date) -> Form:
    """The sheet of a van for a hire: a line that a stated fact rules out is left out, one whose
    fact nobody stated is asked."""
    book, fit_out = judged.book, judged.known.fit_outs[-1][1]
    any_bikes = party_of(judged.known, hire).any_bikes
    lines: list[SheetLine] = []
    for kind in book.lines.values():
        if what not in kind.sheets or all_hold(kind.when, fit_out.get) is False:
            continue
        if kind.bikes is not None and kind.bikes is not any_bikes:
            continue
        places = _places(judged, kind.over, on) if kind.over else [None]
        how = _how(book, kind)
        lines += [SheetLine(kind, p, _beside(judged, kind, p, on) or how) for p in places]
    cautions = tuple(dict.fromkeys(line.kind.caution for line in lines if line.kind.caution))
    return Form(what, judged.van, judged.plate_on(on), hire, tuple(lines), book.firm, cautions)


_HOW = {
    "look": "ok, or what is wrong",
    "event": "no, or yes: what happened",
    "check": "done or no",
    "nil": "nil, or what is wrong",
    "odometer": "like 42310mi",
    "words": "in a few words",
    "shown": "yes or no",
    "licence": "like C1 2031-04-02 photocard, or online, paper",
}


def _how(book: Book, kind: LineKind) -> str:
    if kind.reading is None:
        return _HOW[kind.asks]
    reading = book.readings[kind.reading]
    return ", ".join(reading.words) if reading.words else "the reading with its unit"


def _beside(judged: Judgement, kind: LineKind, place: str | None, on: dt.date) -> str:
    """The figure that an answer is held to: the pressure on the placard."""
    stays = judged.known.stays(kind.over).get(place or "") if kind.over and kind.beside else None
    stay = stay_on(stays, on) if stays else None
    marked = getattr(stay.fit, str(kind.beside)) if stay and stay.fit else None
    return f"with its unit; placard {marked}" if marked else ""


def _places(judged: Judgement, what: str, on: dt.date) -> list[str | None]:
    """The places filled with a kind of component on a day."""
    found = judged.known.stays(what).items()
    return [place for place, stays in found if (stay := stay_on(stays, on)) and stay.fit]
