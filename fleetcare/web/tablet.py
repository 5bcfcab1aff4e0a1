"""The tablet that the yard shares: paired, taken up by a PIN, ended; and somebody's own page, where
the PIN is set."""

from __future__ import annotations

from starlette.responses import Response

from fleetcare.desk import gate, passkeys
from fleetcare.desk import tablet as desk
from fleetcare.web import door
from fleetcare.web.visit import Visit, log

_PAIRED = int(gate.PAIRED.total_seconds())


def pair(visit: Visit) -> Response:
    """Make this device a tablet of the yard; whoever did it is signed out on it."""
    name = visit.form.needed("tablet")
    visit.form.done()
    made = desk.pair(visit.place, visit.by, name, visit.cookie, visit.tablet)
    log("tablet paired", who=visit.by, tablet=name)
    response = visit.go("/enter")
    response.delete_cookie(visit.served.cookie, path="/", secure=visit.served.secure)
    door.keep(visit, response, visit.served.tablet_cookie, made, _PAIRED)
    return response


def end(visit: Visit) -> Response:
    """A tablet is the yard's no more."""
    name = visit.form.needed("tablet")
    visit.form.done()
    desk.end(visit.place, name)
    log("tablet ended", who=visit.by, tablet=name)
    return visit.go("/people")


def ask(visit: Visit) -> Response:
    """The field for somebody's PIN, on a tablet of the yard."""
    name = visit.named["who"]
    visit.values.clear()
    holds = desk.holds(visit.place, visit.tablet, name)
    return visit.page("pin.html", name, holds=holds, tries=desk.TRIES)


def begin(visit: Visit) -> Response:
    """Come in by a PIN, on a tablet of the yard."""
    name, pin = visit.named["who"], visit.form.needed("pin")
    visit.form.done()
    made = desk.begin(visit.place, visit.tablet, name, pin)
    on = desk.called(visit.place, visit.tablet)
    log("came by PIN" if made else "wrong PIN", who=name, tablet=on, address=visit.address)
    if made is None:
        visit.status, visit.faults = 401, [{"field": "pin", "words": f"That is not {name}'s PIN."}]
        return ask(visit)
    return door.let_in(visit, made)


def own(visit: Visit) -> Response:
    """What somebody may do here, their PIN, and their passkeys."""
    visit.values.clear()
    here = desk.called(visit.place, visit.tablet)
    return visit.page(
        "own.html", "Your own", own=desk.own(visit.place, visit.by), tries=desk.TRIES,
        here=here, keys=[] if here else passkeys.listed(visit.place, visit.by),
    )  # fmt: skip


def set_pin(visit: Visit) -> Response:
    """Set a PIN, by the password."""
    password, pin, again = (visit.values.get(one, "") for one in ("password", "pin", "again"))
    try:
        desk.set_pin(visit.place, visit.by, desk.Chosen(password, pin, again), visit.address)
    except gate.Shut as fault:
        return door.shut(visit, fault)
    log("PIN set", who=visit.by)
    lines = [f"{visit.by} has a PIN now, for a tablet of the yard."]
    return visit.wrote("Your PIN is set", lines, "", "/own")
