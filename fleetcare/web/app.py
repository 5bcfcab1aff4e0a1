"""The pages as one application: every request is held to the gate, and every way of ending becomes
a page with its status, as the terminal's become words and an exit code."""

from __future__ import annotations

import json
import os
import re
import secrets
from collections.abc import Awaitable, Callable

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from fleetcare.desk import gate
from fleetcare.desk.memory import remember
from fleetcare.desk.session import as_shown
from fleetcare.errors import (
    DatabaseFault,
    Declined,
    FleetcareError,
    Noted,
    Problem,
    Refused,
    Stale,
    noting,
)
from fleetcare.web.forms import SIZE
from fleetcare.web.may import ANYBODY, may
from fleetcare.web.pages import PAGES, Page
from fleetcare.web.pressed import told, told_first
from fleetcare.web.sending import Refusal, Sent, has_files, sent
from fleetcare.web.settings import SETTINGS, Served
from fleetcare.web.visit import Handler, Visit, log, plain

_OURS = ("token", "shown")  # fields that every form has
_HEADERS = {
    "Content-Security-Policy": (
        "default-src 'self'; object-src 'none'; base-uri 'none'; form-action 'self'; "
        "frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cache-Control": "no-store",
}
_HOST = re.compile(r"(?:\[([0-9a-f:.]+)\]|([a-z0-9._-]+))(?::([0-9]{1,5}))?")
_A_YEAR = "max-age=31536000"


def made(served: Served) -> Starlette:
    """The application for a book."""
    remember(served.place)
    routes = []
    for page in PAGES:
        methods = (["GET"] if page.shows else []) + (["POST"] if page.does else [])
        routes.append(Route(page.path, _endpoint(served, page), methods=methods))
    application = Starlette(routes=routes)
    # Else "/vans/" is sent on to whatever name was asked for, before it is held to ours.
    application.router.redirect_slashes = False
    application.add_exception_handler(404, _plain(served, 404, "There is no such page"))
    application.add_exception_handler(405, _plain(served, 405, "That is not done here"))
    return application


def from_environment() -> Starlette:
    """The same for a process that a server started: what it serves stands in the environment."""
    return made(Served(**json.loads(os.environ[SETTINGS])))


def _plain(served: Served, status: int, words: str) -> Callable[[Request, Exception], Response]:
    def answered(request: Request, fault: Exception) -> Response:
        found = plain(served, status, words)
        found.headers.update(getattr(fault, "headers", None) or {})  # what is done here instead
        return _guarded(found, secure=served.secure)

    return answered


def _endpoint(served: Served, page: Page) -> Callable[[Request], Awaitable[Response]]:
    async def endpoint(request: Request) -> Response:
        try:
            _hold_to_host(served, request)
            if has_files(request):
                await run_in_threadpool(_hold_to_sender, served, page, request)
            typed = await sent(request, page.files)
            found = await run_in_threadpool(_answered, served, page, request, typed)
        except Refusal as fault:
            log("refused", path=page.path, method=request.method, status=fault.status)
            found = plain(served, fault.status, fault.words)
        except Exception as bug:
            found = _bug(served, page, bug, Noted())
        return _guarded(found, secure=served.secure)

    return endpoint


def _guarded(response: Response, *, secure: bool) -> Response:
    """With what tells a browser to trust nothing but our own pages."""
    for name, value in _HEADERS.items():
        response.headers.setdefault(name, value)
    if secure:
        response.headers["Strict-Transport-Security"] = _A_YEAR
    return response


def _hold_to_host(served: Served, request: Request) -> None:
    """Another site's name that leads here, or a form of another site, is turned away."""
    host = request.headers.get("host", "").casefold()
    found = _HOST.fullmatch(host)
    if found is None or not served.answers(found[1] or found[2], found[3]):
        raise Refusal(421, "These pages are not reached by that name")
    if request.method != "POST":
        return
    ours = f"{'https' if served.secure else 'http'}://{host}"
    origin = request.headers.get("origin", ours).casefold()
    site = request.headers.get("sec-fetch-site", "same-origin")
    if site not in ("same-origin", "none") or origin != ours:
        raise Refusal(403, "A form of another site is not taken here")


def _hold_to_sender(served: Served, page: Page, request: Request) -> None:
    """Nothing large is read of somebody whose form is not taken anyway."""
    cookie = request.cookies.get(served.cookie)
    try:
        session = gate.session(served.place, cookie) if cookie else None
    except DatabaseFault:
        return  # told where the form is answered
    if not may(session.person.roles if session else None, page.may_do):
        raise Refusal(403 if session else 401, "Not let in")


def _answered(served: Served, page: Page, request: Request, typed: Sent) -> Response:
    """A page or what a form does, by whoever may; what stops it is shown on the form's own page."""
    with noting() as noted:
        try:
            act = page.may_do if request.method == "POST" else page.may
            cookie = request.cookies.get(served.cookie)
            asked = cookie and act != ANYBODY  # those pages wait for nobody's list
            session = gate.session(served.place, str(cookie)) if asked else None
            visit = Visit(served, request, session, typed.values, typed.files)
            roles = session.person.roles if session else None
            if not may(roles, act):
                return _not_let_in(visit, page, request.method)
            if request.method != "POST":
                assert page.shows is not None
                return _shown(visit, page.shows)
            return _done(visit, page)
        except DatabaseFault as fault:
            return _no_answer(served, page, fault, noted)
        except Exception as bug:
            return _bug(served, page, bug, noted)


def _no_answer(served: Served, page: Page, fault: DatabaseFault, noted: Noted) -> Response:
    """The book is locked, missing, newer or damaged: which, is told to whoever keeps it."""
    reference = secrets.token_hex(4)
    log("database", path=page.path, status=503, reference=reference, what=str(fault))
    words = f"The book gives no answer. Reference {reference}."
    return plain(served, 503, "Unknown: do not hire", words, *_so_far(noted))


def _so_far(noted: Noted) -> list[str]:
    """What is true of the book after something broke."""
    lines = noted.lines or noted.unsure
    return ["This may be written down: look before you do it again.", *lines] if lines else []


def _shown(visit: Visit, shows: Handler) -> Response:
    """A page to look at; what it is of may be no more."""
    try:
        return shows(visit)
    except Refused as fault:
        visit.status = 404
        visit.faults = [told(problem) for problem in fault.problems]
        return visit.page("nothing.html", "That is not here")


def _bug(served: Served, page: Page, bug: Exception, noted: Noted) -> Response:
    reference = secrets.token_hex(4)
    log("bug", path=page.path, status=500, reference=reference, what=repr(bug), where=_where(bug))
    says = _so_far(noted) or ["Nothing was written. Do not hire on this page."]
    return plain(served, 500, "Something of ours broke", f"Reference {reference}.", *says)


def _where(bug: Exception) -> str:
    last = bug.__traceback__
    while last and last.tb_next:
        last = last.tb_next
    return f"{last.tb_frame.f_code.co_qualname}:{last.tb_lineno}" if last else ""


def _not_let_in(visit: Visit, page: Page, method: str) -> Response:
    who = visit.session.person.name if visit.session else None
    log("not let in", path=page.path, method=method, who=who)
    if visit.session is None and method == "GET":
        return visit.go("/enter")
    visit.status = 403 if visit.session else 401
    return visit.page("refused.html", "Not let in")


def _done(visit: Visit, page: Page) -> Response:
    """Do what a form asks."""
    assert page.does is not None
    token, form = visit.values.pop("token", ""), visit.values
    session = visit.session if page.may_do != ANYBODY else None
    if session and not secrets.compare_digest(token.encode(), session.token.encode()):
        log("token", path=page.path, status=403)
        words = "Open the page again, and send it from there. Nothing was written."
        return plain(visit.served, 403, "This form was not shown to you", words)
    strange = set(form) - set(page.takes) - set(_OURS)
    if strange or set(visit.files) - set(page.files):
        return plain(visit.served, 400, "That form has fields that no page of ours has")
    shown = form.get("shown", "")
    size = int(shown) if SIZE.fullmatch(shown) else None
    try:
        with as_shown(size):
            return page.does(visit)
    except Stale as fault:
        visit.status, visit.since = 409, fault.lines
    except Declined as fault:
        visit.status, visit.answer = 409, fault.answer
        visit.rests_on = shown if size else None
    except Refused as fault:
        visit.status, visit.faults = 422, told_first(fault.problems)
        visit.rests_on = shown if size else None  # what was written since is still to be shown
    except DatabaseFault:
        raise
    except FleetcareError as fault:
        visit.status, visit.faults = 422, [told(Problem("", str(fault)))]
    assert page.again is not None
    return page.again(visit) if visit.status != 422 else _again(visit, page.again)


def _again(visit: Visit, again: Handler) -> Response:
    """The page of a form that was refused; where that is no more, what it was refused for."""
    told_so_far = visit.faults
    try:
        return again(visit)
    except Refused:
        visit.status, visit.faults = 404, told_so_far
        return visit.page("nothing.html", "That is not here")
