"""Passkeys: added and taken away on somebody's own page, and what they come in by at the door. What
a device is asked stands on a page, and what it answers comes as a form."""

from __future__ import annotations

from starlette.responses import Response

from fleetcare.desk import gate
from fleetcare.desk import passkeys as desk
from fleetcare.desk.passkeys import Answer, Device
from fleetcare.web import door
from fleetcare.web.visit import Visit, log

ANSWER = Answer._fields  # what the script fills in
_ASKED = int(gate.ASKED.total_seconds())


def _device(visit: Visit, cookie: str) -> Device:
    return Device(cookie, visit.tablet, visit.origin, visit.address)


def _answer(visit: Visit) -> Answer:
    return Answer(*(visit.values.pop(field, "") for field in ANSWER))


def _asked(visit: Visit, title: str, options: str, to: str, back: str) -> Response:
    """The page that asks the device."""
    return visit.page("passkey.html", title, asked=options, to=to, back=back)


def adding(visit: Visit) -> Response:
    """The form for a passkey more: what it is called, and the password."""
    visit.values.pop("password", None)
    lacking = desk.lacking(visit.origin)
    return visit.page("passkey_add.html", "Add a passkey", lacking=lacking)


def ask_to_add(visit: Visit) -> Response:
    """Have the device asked for a passkey, by the password."""
    called, password = visit.form.needed("passkey"), visit.values.pop("password", "")
    visit.form.done()
    device = _device(visit, visit.cookie)
    try:
        options = desk.ask_to_add(visit.place, visit.by, called, password, device)
    except gate.Shut as fault:
        return door.shut(visit, fault)
    return _asked(visit, f"Add {called}", options, "/own/passkey/answer", "/own/passkey")


def add(visit: Visit) -> Response:
    """Keep the passkey that the device made."""
    answer, called = _answer(visit), visit.form.needed("passkey")
    visit.form.done()
    desk.add(visit.place, visit.by, called, answer, _device(visit, visit.cookie))
    log("passkey added", who=visit.by, passkey=called)
    lines = [f"{visit.by} may come in by {called} from here on."]
    return visit.wrote("Your passkey is added", lines, "", "/own")


def end(visit: Visit) -> Response:
    """Take a passkey away."""
    called = visit.form.needed("passkey")
    visit.form.done()
    desk.end(visit.place, visit.by, called, visit.cookie)
    log("passkey ended", who=visit.by, passkey=called)
    return visit.go("/own")


def ask(visit: Visit) -> Response:
    """Have the device asked by what somebody comes in; no name is asked, so none can be tried."""
    try:
        options, made = desk.ask(visit.place, visit.origin, visit.address)
    except gate.Shut as fault:
        return door.shut(visit, fault)
    to = "/enter-by-passkey/answer"
    response = _asked(visit, "With a passkey", options, to, "/enter")
    door.keep(visit, response, visit.served.asked_cookie, made, _ASKED)
    return response


def come_in(visit: Visit) -> Response:
    """Let somebody in by what their device answered."""
    answer = _answer(visit)
    try:
        came = desk.come_in(visit.place, answer, _device(visit, visit.asked))
    except desk.NotTaken as fault:
        who = fault.whose or "nobody known"
        log("sign-in failed", who=who, address=visit.address, passkey=fault.why)
        visit.status, visit.faults = 401, [{"field": "", "words": f"{fault}"}]
        return door.enter(visit)
    log("signed in", who=came.name, address=visit.address, passkey=came.called)
    return door.let_in(visit, came.token)
