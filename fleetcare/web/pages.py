"""Every page there is: its address, who may see it, what its form takes, and who may send it."""

from __future__ import annotations

from typing import NamedTuple

from fleetcare.web import (
    booking,
    counter,
    door,
    kept,
    known,
    looks,
    owner,
    papers,
    passkeys,
    putting,
    sheets,
    tablet,
    walk,
    workshop,
    yard,
)
from fleetcare.web.may import ANYBODY, SIGNED_IN
from fleetcare.web.visit import Handler


class Page(NamedTuple):
    """One address. What its form is refused for is shown by `again`."""

    path: str
    may: str  # see it
    shows: Handler | None
    may_do: str = ""  # send its form
    does: Handler | None = None
    again: Handler | None = None
    takes: tuple[str, ...] = ()
    files: tuple[str, ...] = ()  # that its form may send


def _form(
    path: str, may: str, does: Handler, again: Handler, *takes: str, files: tuple[str, ...] = ()
) -> Page:
    """An address that only takes a form, which stands on another page."""
    return Page(path, may, None, may, does, again, takes, files)


LATER = ("key", "ago")  # of a form that a phone sends by itself, once it has a signal


PAGES = (
    Page("/health", ANYBODY, door.health),
    Page("/style.css", ANYBODY, door.style),
    Page("/walk.js", ANYBODY, door.script),
    Page("/worker.js", ANYBODY, door.script),
    Page("/key.js", ANYBODY, door.script),
    Page("/enter", ANYBODY, door.enter, ANYBODY, door.sign_in, door.enter, ("name", "password")),
    Page("/enter/{who}", ANYBODY, tablet.ask, ANYBODY, tablet.begin, tablet.ask, ("pin",)),
    _form("/enter-by-passkey", ANYBODY, passkeys.ask, door.enter),
    _form("/enter-by-passkey/answer", ANYBODY, passkeys.come_in, door.enter, *passkeys.ANSWER),
    Page("/link/{link}", ANYBODY, door.link, ANYBODY, door.by_link, door.link,
         ("password", "again")),
    Page("/", SIGNED_IN, door.home),
    _form("/leave", SIGNED_IN, door.leave, door.home),
    Page("/own", SIGNED_IN, tablet.own, SIGNED_IN, tablet.set_pin, tablet.own,
         ("password", "pin", "again")),
    Page("/own/passkey", SIGNED_IN, passkeys.adding, SIGNED_IN, passkeys.ask_to_add,
         passkeys.adding, ("passkey", "password")),
    _form("/own/passkey/answer", SIGNED_IN, passkeys.add, passkeys.adding,
          "passkey", *passkeys.ANSWER),
    _form("/own/passkey/end", SIGNED_IN, passkeys.end, tablet.own, "passkey"),
    Page("/counter", "ask", counter.counter, "book", counter.book, counter.counter,
         (*counter.ASKED, "van", "ref", "collect_at", "return_at", "pencilled", "even_so")),
    Page("/hires", "ask", counter.hires),
    Page("/hire/{ref}", "ask", booking.hire),
    _form("/hire/{ref}/change", "book", booking.change, booking.hire, *booking.CHANGED),
    _form("/hire/{ref}/firm", "book", booking.firm, booking.hire),
    _form("/hire/{ref}/swap", "book", booking.swapped, booking.hire, *booking.SWAPPED),
    _form("/hire/{ref}/cancel", "book", booking.cancel, booking.hire, "why"),
    Page("/diary", "ask", counter.diary),
    Page("/yard", "ask", yard.yard),
    _form("/hire/{ref}/out", "hand over", yard.out, booking.hire,
          "odometer", "unreleased", "even_so"),
    _form("/hire/{ref}/back", "hand over", yard.back, booking.hire,
          "odometer", "where", "even_so", *LATER),
    _form("/hire/{ref}/left", "hand over", yard.left, booking.hire,
          "odometer", "rests_on", "unreleased", "even_so", *LATER),
    Page("/walk/{what}/{van}/{ref}", "hand over", walk.line, "hand over", walk.answer, walk.line,
         ("line", "answer", "unit", "quick", "grade", "words", "was", *LATER, "day")),
    _form("/walk/{what}/{van}/{ref}/sign", "hand over", walk.sign, walk.line,
          "state", "even_so", *LATER, "day", files=("signature",)),
    _form("/walk/{what}/{van}/{ref}/photo", "hand over", walk.photograph, walk.line,
          "line", *LATER, "day", files=("photo",)),
    Page("/walk/{what}/{van}/{ref}/photo/{number}", "hand over", walk.photo),
    _form("/walk/{what}/{van}/{ref}/no-photo", "hand over", walk.no_photo, walk.line, "number"),
    _form("/walk/{what}/{van}/{ref}/anew", "hand over", walk.anew, walk.line),
    _form("/walk/{what}/{van}/{ref}/leave-out", "hand over", walk.leave_out, walk.line, "line"),
    Page("/monday", "ask", workshop.monday),
    Page("/vans", "ask", workshop.fleet),
    Page("/van/{van}", "ask", workshop.van),
    Page("/van/{van}/record", "record", workshop.check, "record", workshop.record, workshop.check,
         workshop.RECORDED, kept.FILES),
    Page("/van/{van}/defect", "report a defect", workshop.defect, "report a defect",
         workshop.report, workshop.defect, ("grade", "words", "about"), kept.FILES),
    Page("/van/{van}/defects", "ask", workshop.open_defects),
    _form("/van/{van}/repair", "sign off", workshop.repair, workshop.open_defects,
          "number", "by", "words", "temporary", files=kept.FILES),
    _form("/van/{van}/sign-off", "sign off", workshop.sign_off, workshop.open_defects,
          "number", "by", "words"),
    Page("/van/{van}/missing", "ask", workshop.missing),
    Page("/papers", "take papers out", papers.papers),
    Page("/papers/{paper}", "take papers out", papers.paper),
    Page("/calendar/{token}", ANYBODY, papers.calendar),
    _form("/calendar", "give out the calendar", papers.give_out, papers.papers, "give"),
    _form("/calendar/end", "give out the calendar", papers.take_in, papers.papers),
    Page("/van/{van}/known", "ask", known.known),
    Page("/record/{number}", "ask", putting.record),
    _form("/record/{number}/correct", "put records right", putting.correct, putting.record,
          *putting.CORRECTED),
    _form("/record/{number}/move", "put records right", putting.move, putting.record,
          "van", "why", "stood"),
    _form("/record/{number}/withdraw", "put records right", putting.withdraw, putting.record,
          "why", "stood"),
    Page("/hire/{ref}/waive", "waive", putting.waiving, "waive", putting.waive, putting.waiving,
         ("item", "by", "why")),
    Page("/erase", "erase", putting.erasure, "erase", putting.erase, putting.erasure,
         ("name", "number", "why", "sure")),
    Page("/missing", "ask", looks.missing),
    Page("/rules", "ask", looks.rules),
    Page("/rules/{rule}", "ask", looks.rule),
    Page("/answers", "ask", looks.answers),
    Page("/tally", "hold to its tally", looks.tally, "hold to its tally", looks.hold, looks.tally,
         ("tally", "read")),
    _form("/witness", "hold to its tally", looks.witness, looks.tally),
    Page("/record/{number}/papers", "ask", kept.papers, "record", kept.attach, kept.papers, (),
         kept.FILES),
    Page("/paper/{number}", "ask", kept.original),
    Page("/paper/{number}/small", "ask", kept.small),
    Page("/sheets", "read sheets in", sheets.sheets, "read sheets in", sheets.read, sheets.sheets,
         ("only_look",), ("sheet",)),
    Page("/sheets/{kind}", "read sheets in", sheets.blank),
    Page("/people", "let people in", owner.people, "let people in", owner.add, owner.people,
         ("name", "clerk", "yard", "workshop", "owner")),
    _form("/people/link", "let people in", owner.link, owner.people, "name"),
    _form("/people/roles", "let people in", owner.roles, owner.people,
          "name", "clerk", "yard", "workshop", "owner"),
    _form("/people/remove", "let people in", owner.remove, owner.people, "name"),
    _form("/people/tablet", "let people in", tablet.pair, owner.people, "tablet"),
    _form("/people/tablet/end", "let people in", tablet.end, owner.people, "tablet"),
)  # fmt: skip
