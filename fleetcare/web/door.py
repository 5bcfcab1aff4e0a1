"""The door: who is it, and where do they go first."""

from __future__ import annotations

from starlette.responses import PlainTextResponse, Response

from fleetcare.desk import gate, passkeys, tablet
from fleetcare.desk.asking import asking
from fleetcare.errors import DatabaseFault
from fleetcare.shipped import folder
from fleetcare.web.visit import Visit, log, plain

_FIRST = (("yard", "/yard"), ("clerk", "/counter"), ("workshop", "/monday"), ("owner", "/monday"))
_WEEK = 7 * 24 * 3600


def health(visit: Visit) -> Response:
    """Whether the book can be read; it says nothing else."""
    try:
        with asking(visit.place):
            return PlainTextResponse("")
    except DatabaseFault as fault:
        log("database", path="/health", status=503, what=str(fault))
        return PlainTextResponse("", 503)


def style(visit: Visit) -> Response:
    """The one stylesheet."""
    text = (folder("web") / "style.css").read_text(encoding="utf-8")
    return Response(text, media_type="text/css; charset=utf-8")


def script(visit: Visit) -> Response:
    """A script of ours: of the yard's pages, its worker, of the pages that ask for a passkey."""
    text = (folder("web") / visit.path.lstrip("/")).read_text(encoding="utf-8")
    return Response(text, media_type="text/javascript; charset=utf-8")


def enter(visit: Visit) -> Response:
    """The form to sign in by; on a tablet of the yard the names of those who have a PIN first."""
    visit.values.pop("password", None)
    here = tablet.called(visit.place, visit.tablet) if visit.tablet else None
    hands = tablet.hands(visit.place) if here else []
    lacking = passkeys.lacking(visit.origin)
    return visit.page("enter.html", "Sign in", tablet=here, hands=hands, lacking=lacking)


def sign_in(visit: Visit) -> Response:
    """Let somebody in by name and password."""
    name, password = visit.form.needed("name"), visit.values.get("password", "")
    visit.form.done()
    try:
        made = gate.sign_in(visit.place, name, password, visit.address, visit.tablet)
    except gate.Shut as fault:
        return shut(visit, fault)
    # What is no name may be a password, typed in the wrong field.
    who = name if name in {one.name for one in gate.people(visit.place)} else "nobody known"
    log("signed in" if made else "sign-in failed", who=who, address=visit.address)
    if made is None:
        visit.status = 401
        visit.faults = [{"field": "name", "words": "No such name and password."}]
        return enter(visit)
    return let_in(visit, made)


def shut(visit: Visit, fault: gate.Shut) -> Response:
    """Too much was tried in vain."""
    log("shut", address=visit.address)
    return plain(visit.served, 429, "Too many tries", f"{fault}")


def let_in(visit: Visit, made: str) -> Response:
    """Somebody came in: to the page that their work begins on."""
    response = visit.go("/")
    keep(visit, response, visit.served.cookie, made, _WEEK)
    return response


def keep(visit: Visit, response: Response, name: str, made: str, seconds: int) -> None:
    """Have a browser keep a token for so long, for the server alone."""
    response.set_cookie(
        name, made, max_age=seconds, path="/", secure=visit.served.secure, httponly=True,
        samesite="lax",
    )  # fmt: skip


def link(visit: Visit) -> Response:
    """What a link leads to: a password to choose, or a button where it lets in by itself."""
    found = gate.link(visit.place, visit.named["link"])
    visit.values.clear()
    if found is None:
        visit.status = 404
        return visit.page("gone.html", "This link holds no more")
    return visit.page("link.html", f"Come in, {found.name}", link=found)


def by_link(visit: Visit) -> Response:
    """Come in by a link, once."""
    password, again = visit.values.get("password", ""), visit.values.get("again", "")
    made = gate.come_by_link(visit.place, visit.named["link"], password, again, visit.tablet)
    log("came by link" if made else "link used already", address=visit.address)
    return let_in(visit, made) if made else link(visit)


def home(visit: Visit) -> Response:
    """The page that somebody's work begins on."""
    assert visit.session is not None
    roles = visit.session.person.roles
    return visit.go(next(page for role, page in _FIRST if role in roles))


def leave(visit: Visit) -> Response:
    """Sign out, here and on the server."""
    gate.sign_out(visit.place, visit.cookie)
    log("signed out", who=visit.by)
    response = visit.go("/enter")
    response.delete_cookie(visit.served.cookie, path="/", secure=visit.served.secure)
    return response
