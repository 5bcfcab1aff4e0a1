"""A walk round a van, line by line: each answer is kept at once, and all is signed at the end."""

from __future__ import annotations

import re
from typing import Any
from urllib.parse import quote

from starlette.responses import Response

from fleetcare import clock
from fleetcare.desk import photos, walks
from fleetcare.errors import Problem, Refused
from fleetcare.records.kinds import GRADES
from fleetcare.records.yard import HOW_SIGNED
from fleetcare.reports.sheet import SheetLine
from fleetcare.trade.measures import units_of
from fleetcare.web.forms import record_number
from fleetcare.web.kept import as_photo
from fleetcare.web.visit import Visit, part
from fleetcare.windows import nights_after

# One press says it: what an answer to a line may be in a word.
_QUICK = {
    "look": (("ok", "Sound"),),
    "nil": (("nil", "Nothing wrong"),),
    "event": (("no", "No"),),
    "check": (("done", "Done"), ("no", "Not done")),
    "signature": tuple((how, how.capitalize()) for how in HOW_SIGNED),
    "shown": (("yes", "Shown"), ("no", "Not shown")),
}
_PHOTO_DIGITS = 9  # of its number
_END = ".end"  # the page on which the sheet is signed, whatever is answered yet
_WRONG = ("look", "nil")
_BARE = re.compile(r"[0-9]+(\.[0-9]+)?")  # its unit is chosen beside it


def _walk(visit: Visit) -> walks.Walk:
    """The walk of an address: of today, or of the day before, where what was answered then has
    waited for a signal."""
    named, day = visit.named, visit.form.day("day") or clock.today()
    if day not in (clock.today(), nights_after(clock.today(), -1)):
        raise Refused([Problem("", f"{day} is over: look again, and answer anew")])
    return walks.Walk(named["what"], named["van"], named["ref"], day)


def line(visit: Visit) -> Response:
    """The line to be answered next, or the one that was asked for; at the end all of them."""
    asked_for = _walk(visit)
    found = walks.begun(visit.place, asked_for)
    lines = found.form.lines
    named = visit.values.get("line")
    asked = next((one for one in lines if one.name == named), None)
    if asked is None and named != _END:
        asked = next((one for one in lines if one.name not in found.answers), None)
    size, written = walks.since(visit.place, asked_for, found)
    visit.faults = [_of_line(fault, lines, _root(visit)) for fault in visit.faults]
    title = f"{found.form.what.capitalize()}: {found.form.van}, {found.form.hire.ref}"
    return visit.page(
        "walk.html", title, found=found, asked=asked, quick=_quick(asked), units=_units(asked),
        size=size, written=written, grades=GRADES,
        wrong=bool(asked and asked.kind.asks in _WRONG), root=_root(visit),
        sheet=_on_the_phone(visit, found, asked_for),
        place=lines.index(asked) if asked else len(lines), before=_before(lines, asked),
        hirer_signs=found.form.what in walks.WITH_THE_HIRER,
    )  # fmt: skip


def _of_line(fault: dict[str, Any], lines: tuple[SheetLine, ...], root: str) -> dict[str, Any]:
    """A fault of a line under the name that the line bears on the page, leading to it."""
    name = fault.get("where")
    found = next((one for one in lines if one.name == name), None)
    if found is None:
        return fault
    where = _titled(found)
    return fault | {
        "words": f"{where}: {fault['message']}", "href": f"{root}?line={quote(found.name)}"
    }  # fmt: skip


def _titled(line: SheetLine) -> str:
    return f"{line.kind.title}: {line.place}" if line.place else line.kind.title


def _on_the_phone(visit: Visit, found: walks.Begun, asked_for: walks.Walk) -> dict[str, Any]:
    """What a phone without signal goes on by: the lines in order, and what is answered."""
    titles = [[line.name, _titled(line)] for line in found.form.lines]
    rows = [*found.answers.values(), *found.gone.values()]
    return {
        "name": asked_for.sheet, "van": asked_for.van, "root": _root(visit),
        "hire": f"/hire/{part(asked_for.ref)}",
        "day": str(asked_for.day), "lines": titles,
        "rows": [[row.line, row.answer, row.by] for row in rows],
    }  # fmt: skip


def _quick(asked: SheetLine | None) -> tuple[tuple[str, str], ...]:
    """The answers that one press gives."""
    if asked is None:
        return ()
    return _QUICK.get(asked.kind.asks) or tuple((word, word) for word in asked.words)


def _units(asked: SheetLine | None) -> tuple[str, ...]:
    """The units to choose from, the one it was last read in first."""
    if asked is None or asked.dimension is None:
        return ()
    return tuple(dict.fromkeys([asked.unit, *units_of(asked.dimension)]))


def _before(lines: tuple[SheetLine, ...], asked: SheetLine | None) -> str | None:
    """The line before one, to go back to."""
    place = lines.index(asked) if asked else len(lines)
    return lines[place - 1].name if place else None


def _root(visit: Visit) -> str:
    named = visit.named
    return "/walk/" + "/".join(part(named[one]) for one in ("what", "van", "ref"))


def answer(visit: Visit) -> Response:
    """Keep an answer: a word pressed, something wrong with its grade, or what was typed."""
    form = visit.form
    name, quick, typed = form.needed("line"), form.word("quick"), form.word("answer")
    words, grade, unit = form.word("words"), form.word("grade"), form.word("unit")
    if len([one for one in (quick, typed, words) if one]) > 1:
        form.faults.append(Problem("", "one thing was pressed and another typed", "answer"))
    text = quick or (f"{grade}: {words}" if words else typed)
    if typed and unit and _BARE.fullmatch(typed):
        text = f"{typed}{unit}"
    if text is None:
        form.faults.append(Problem("", "is not filled in", "answer"))
    sent = form.waited()
    form.done()
    said = walks.Said(name, str(text), visit.values.get("was", ""), sent)
    walks.answer(visit.place, visit.by, _walk(visit), said)
    return visit.go(_root(visit))


def photograph(visit: Visit) -> Response:
    """Keep a photo of a line, and stay at the line."""
    form = visit.form
    name, sent, taken = form.needed("line"), form.waited(), form.file("photo")
    form.done()
    assert taken is not None
    photos.photograph(visit.place, visit.by, _walk(visit), name, taken, sent)
    return visit.go(f"{_root(visit)}?line={quote(name)}")


def photo(visit: Visit) -> Response:
    """A photo that was taken on the walk, made small."""
    number = record_number(visit.named["number"], "of that photo")
    return as_photo(photos.photo(visit.place, _walk(visit), number))


def no_photo(visit: Visit) -> Response:
    """A photo is let go of."""
    number = visit.form.number("number", _PHOTO_DIGITS)
    visit.form.needed("number")
    visit.form.done()
    photos.let_go(visit.place, _walk(visit), number or 0)
    return visit.go(_root(visit))


def anew(visit: Visit) -> Response:
    """All answers are let go of, by hand."""
    walks.begin_anew(visit.place, visit.by, _walk(visit))
    return visit.go(_root(visit))


def leave_out(visit: Visit) -> Response:
    """An answer to a line that is asked no more is let go of."""
    name = visit.form.needed("line")
    visit.form.done()
    walks.leave_out(visit.place, _walk(visit), name)
    return visit.go(_root(visit))


def sign(visit: Visit) -> Response:
    """Sign the walk: all of it is in the book, or none."""
    form = visit.form
    sent = form.waited()
    form.done()
    state, even_so = visit.values.get("state", ""), form.word("even_so")
    signed = walks.Signed(visit.by, state, even_so, sent, form.files("signature"))
    lines = walks.sign(visit.place, _walk(visit), signed)
    ref = visit.named["ref"]
    return visit.wrote(f"{ref}: signed", lines, "", f"/hire/{part(ref)}")
