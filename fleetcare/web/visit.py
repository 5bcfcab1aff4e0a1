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
from starlette.responses import RedirectResponse, Response

from fleetcare import clock
from fleetcare.desk.gate import Session
from fleetcare.render.text import day
from fleetcare.shipped import folder
from fleetcare.web.forms import LABELS, Form, in_words_of_a_form
from fleetcare.web.may import may
from fleetcare.web.settings import Served


class Visit:
    """A request read, and what its page is to say beside itself."""

    def __init__(
        self, served: Served, request: Request, session: Session | None, values: dict[str, str]
    ) -> None:
        self.served, self.session, self.values = served, session, values
        self.path, self.sent = request.url.path, request.method == "POST"
        self.origin = f"{'https' if served.secure else 'http'}://{request.headers.get('host', '')}"
        self.cookie = request.cookies.get(served.cookie, "")
        self.named: dict[str, str] = dict(request.path_params)
        self.address = request.client.host if request.client else ""
        self.form = Form(values)
        self.faults: list[dict[str, Any]] = []
        self.answer = ""  # a no, with what is written down all the same
        self.since: list[str] = []  # what was written since the page was shown
        self.status = 200

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
        """A page from its template."""
        roles = self.session.person.roles if self.session else None
        text = _templates().get_template(template).render(
            title=title, who=self.session.person.name if self.session else None,
            token=self.session.token if self.session else "", values=self.values,
            faults=self.faults, answer=self.answer, since=self.since, labels=LABELS,
            may=lambda act: may(roles, act), sent=self.sent, path=self.path, demo=self.served.demo,
            today=clock.today(), origin=self.origin, **more,
        )  # fmt: skip
        return Response(text, self.status, media_type="text/html; charset=utf-8")

    def wrote(self, title: str, lines: list[str], after: str, back: str) -> Response:
        """What was written down, and where to go on."""
        self.values = {}
        told = [in_words_of_a_form(line) for line in lines]
        return self.page("wrote.html", title, lines=told, after=after, back=back)

    def go(self, path: str) -> Response:
        """Look at another page."""
        return RedirectResponse(path, 303)


def plain(served: Served, status: int, *lines: str) -> Response:
    """An answer to somebody unknown, or to a request that reached no page."""
    text = _templates().get_template("plain.html").render(
        title=lines[0], lines=lines[1:], who=None, faults=(), answer="", since=(), sent=True,
        demo=served.demo, today=clock.today(),
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
    made.globals["zipped"] = lambda words: [(word, word) for word in words]
    return made


def log(event: str, **more: str | int | None) -> None:
    """One line of JSON on standard error: what happened, never a password, token or form."""
    at = clock.now().astimezone(dt.UTC).isoformat(timespec="milliseconds")
    sys.stderr.write(json.dumps({"at": at, "event": event, **more}) + "\n")
    sys.stderr.flush()
