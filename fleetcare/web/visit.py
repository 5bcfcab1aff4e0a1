"""One request: who asks, what was typed, and the page they are given."""

from __future__ import annotations

import datetime as dt
import json
import sys
from collections.abc import Callable
from functools import cache
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from fleetcare import clock
from fleetcare.desk.fleet import size
from fleetcare.desk.gate import Session
from fleetcare.files import Given
from fleetcare.intake.typed import day as typed_day
from fleetcare.render.text import day
from fleetcare.shipped import folder
from fleetcare.web.address import part as part
from fleetcare.web.address import unpart
from fleetcare.web.forms import LABELS, Form
from fleetcare.web.may import may
from fleetcare.web.pressed import linked
from fleetcare.web.settings import Served


class Visit:
    """A request read, and what its page is to say beside itself."""

    def __init__(
        self,
        served: Served,
        request: Request,
        session: Session | None,
        values: dict[str, str],
        files: dict[str, Given],
    ) -> None:
        self.served, self.session, self.values, self.files = served, session, values, files
        self.path, self.sent = request.url.path, request.method == "POST"
        self.origin = f"{'https' if served.secure else 'http'}://{request.headers.get('host', '')}"
        self.cookie = request.cookies.get(served.cookie, "")
        self.tablet = request.cookies.get(served.tablet_cookie, "")
        self.asked = request.cookies.get(served.asked_cookie, "")
        self.named = {name: unpart(text) for name, text in request.path_params.items()}
        self.address = request.client.host if request.client else ""
        self.form = Form(values, files)
        self.faults: list[dict[str, Any]] = []
        self.answer = ""  # a no, with what is written down all the same
        self.since: list[str] = []  # what was written since the page was shown
        self.status = 200
        self.as_data = "application/json" in request.headers.get("accept", "")  # a script's form
        self.rests_on: str | None = None  # the size that a form was shown at, and is still held to

    @property
    def place(self) -> str:
        """The book."""
        return self.served.place

    @property
    def by(self) -> str:
        """Who writes."""
        assert self.session is not None  # the gate let nobody else through
        return self.session.person.name

    def page(self, template: str, title: str, **more: Any) -> Response:
        """A page from its template; to a script only what it is to do about a form."""
        if self.as_data:
            return self._told(title, more.get("lines", []))
        person = self.session.person if self.session else None
        text = _templates().get_template(template).render(
            title=title, who=person.name if person else None, values=self.values,
            token=self.session.token if self.session else "", faults=self.faults,
            answer=self.answer, since=self.since, labels=LABELS, path=self.path, sent=self.sent,
            may=lambda act: may(person.roles if person else None, act), origin=self.origin,
            demo=self.served.demo, stands=clock.stands(), today=clock.today(),
            shown=self.rests_on or more.get("size"), **more,
        )  # fmt: skip
        return Response(text, self.status, media_type="text/html; charset=utf-8")

    def _told(self, title: str, lines: list[str]) -> Response:
        """What a script needs: what is wrong, or what was written, and the book's size with it."""
        said = {
            "title": title, "faults": [one["words"] for one in self.faults], "since": self.since,
            "answer": self.answer, "lines": lines, "size": size(self.place) if lines else None,
        }  # fmt: skip
        return JSONResponse(said, self.status)

    def wrote(self, title: str, lines: list[str], after: str, back: str) -> Response:
        """What was written down, and where to go on."""
        self.values = {}
        return self.page("wrote.html", title, lines=lines, after=after, back=back)

    def go(self, path: str) -> Response:
        """Look at another page."""
        if self.as_data:
            return self._told("", [])
        return RedirectResponse(path, 303)


def plain(served: Served, status: int, *lines: str) -> Response:
    """An answer to somebody unknown, or to a request that reached no page."""
    text = _templates().get_template("plain.html").render(
        title=lines[0], lines=lines[1:], who=None, faults=(), answer="", since=(), sent=True,
        demo=served.demo, today=clock.today(), stands=clock.stands(),
    )  # fmt: skip
    return Response(text, status, media_type="text/html; charset=utf-8")


Handler = Callable[[Visit], Response]


@cache
def _templates() -> Environment:
    made = Environment(
        loader=FileSystemLoader(folder("web") / "templates"), autoescape=True,
        undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    made.filters["day"] = day
    made.filters["part"] = part
    made.filters["linked"] = linked
    made.tests["chosen_day"] = chosen_day
    made.globals["zipped"] = lambda words: [(word, word) for word in words]
    return made


def chosen_day(text: str) -> bool:
    """Whether a field for a day can show it: what is none is shown as typed, else it were lost."""
    try:
        return not text or bool(typed_day(text))
    except ValueError:
        return False


def log(event: str, **more: str | int | None) -> None:
    """One line of JSON on standard error: what happened, never a password, token or form."""
    at = clock.now().astimezone(dt.UTC).isoformat(timespec="milliseconds")
    sys.stderr.write(json.dumps({"at": at, "event": event, **more}) + "\n")
    sys.stderr.flush()
