"""A walk round a van, line by line: each answer is kept at once, and all is signed at the end."""

from __future__ import annotations

import re
from urllib.parse import quote

from starlette.responses import Response

from fleetcare.desk import walks
from fleetcare.errors import Problem, Refused
from fleetcare.reports.sheet import SheetLine
from fleetcare.trade.measures import units_of
from fleetcare.web.forms import told
from fleetcare.web.visit import Visit

# One press says it: what an answer to a line may be in a word.
_QUICK = {
    "look": (("ok", "Sound"),),
    "nil": (("nil", "Nothing wrong"),),
    "event": (("no", "No"),),
    "check": (("done", "Done"), ("no", "Not done")),
    "shown": (("yes", "Shown"), ("no", "Not shown")),
}
_WRONG = ("look", "nil")
_BARE = re.compile(r"[0-9]+(\.[0-9]+)?")  # its unit is chosen beside it


def _walk(visit: Visit) -> walks.Walk:
    return walks.Walk(visit.named["what"], visit.named["van"], visit.named["ref"])


def line(visit: Visit) -> Response:
    """The line to be answered next, or the one that was asked for; at the end all of them."""
    if visit.named["what"] not in walks.SHEETS:
        visit.status = 404
        return visit.page("nothing.html", "No such sheet")
    try:
        found = walks.begun(visit.place, _walk(visit))
    except Refused as fault:
        visit.status, visit.faults = 404, [told(problem) for problem in fault.problems]
        return visit.page("nothing.html", "No such hire")
    lines = found.form.lines
    named = visit.values.get("line")
    asked = next((one for one in lines if one.name == named), None)
    if asked is None:
        asked = next((one for one in lines if one.name not in found.answers), None)
    title = f"{found.form.what.capitalize()}: {found.form.van}, {found.form.hire.ref}"
    return visit.page(
        "walk.html", title, found=found, asked=asked, quick=_quick(asked), units=_units(asked),
        wrong=bool(asked and asked.kind.asks in _WRONG), root=_root(visit),
        place=lines.index(asked) if asked else len(lines), before=_before(lines, asked),
    )  # fmt: skip


def _quick(asked: SheetLine | None) -> tuple[tuple[str, str], ...]:
    """The answers that one press gives."""
    if asked is None:
        return ()
    return _QUICK.get(asked.kind.asks) or tuple((word, word) for word in asked.words)


def _units(asked: SheetLine | None) -> tuple[str, ...]:
    """The units to choose from, the one it was last read in first."""
    if asked is None or asked.dimension is None:
        return ()
    return tuple(
        dict.fromkeys([*([asked.unit] if asked.unit else [""]), *units_of(asked.dimension)])
    )


def _before(lines: tuple[SheetLine, ...], asked: SheetLine | None) -> str | None:
    """The line before one, to go back to."""
    place = lines.index(asked) if asked else len(lines)
    return lines[place - 1].name if place else None


def _root(visit: Visit) -> str:
    named = visit.named
    return "/walk/" + "/".join(quote(named[one], safe="") for one in ("what", "van", "ref"))


def answer(visit: Visit) -> Response:
    """Keep an answer: a word pressed, something wrong with its grade, or what was typed."""
    form = visit.form
    name, text = form.needed("line"), form.word("quick") or form.word("answer")
    words, grade, unit = form.word("words"), form.word("grade"), form.word("unit")
    if text and unit and _BARE.fullmatch(text):
        text = f"{text}{unit}"
    if words and not form.word("quick"):
        text = f"{grade}: {words}"
    form.done()
    if text is None:
        raise Refused([Problem("", "is not filled in", "answer")])
    walks.answer(visit.place, visit.by, _walk(visit), name, text)
    return visit.go(_root(visit))


def leave_out(visit: Visit) -> Response:
    """An answer to a line that is asked no more is let go of."""
    name = visit.form.needed("line")
    visit.form.done()
    walks.leave_out(visit.place, _walk(visit), name)
    return visit.go(_root(visit))


def sign(visit: Visit) -> Response:
    """Sign the walk: all of it is in the book, or none."""
    lines = walks.sign(visit.place, visit.by, _walk(visit))
    ref = visit.named["ref"]
    return visit.wrote(f"{ref}: signed", lines, "", f"/hire/{quote(ref, safe='')}")
