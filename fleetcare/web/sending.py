"""What a browser sends: the fields of a form or of an address, and the files of a page that takes
some. How much it is, and that it comes whole and in time, is held before it is looked at."""

from __future__ import annotations

import asyncio
from typing import NamedTuple
from urllib.parse import parse_qsl

from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect, Request
from starlette.types import Message, Receive

from fleetcare.errors import needs
from fleetcare.files import Given

MOST = 64 * 1024  # octets of a form
# Octets of a form with files: two of the largest papers, and some over, so that one that is too
# large is told on its own form, with all that was typed.
MOST_WITH_FILES = 48 * 2**20
_SECONDS = 20  # in which a form arrives whole
_SECONDS_WITH_FILES = 180  # the same; common practice, no source: a phone sends 1 MB in 4 seconds
_MOST_FIELDS = 200
_FORM, _PARTS = "application/x-www-form-urlencoded", "multipart/form-data"
_MOST_ENDING = 512
_MOST_SHOWN = 80  # of what a file is called


class Refusal(Exception):
    """A request that never reaches its page."""

    def __init__(self, status: int, words: str) -> None:
        self.status, self.words = status, words
        super().__init__(words)


class Sent(NamedTuple):
    """Fields and files by name, each there once."""

    values: dict[str, str]
    files: dict[str, Given]


def kind_of(request: Request) -> str:
    """What sort of body a request says it has."""
    return request.headers.get("content-type", "").partition(";")[0].strip()


def has_files(request: Request) -> bool:
    """Whether a form comes in parts, as one with files does."""
    return request.method == "POST" and kind_of(request) == _PARTS


async def sent(request: Request, takes_files: tuple[str, ...]) -> Sent:
    """What was sent: by an address, a form, or a form with files where its page takes some."""
    if has_files(request) and takes_files:
        return await _in_parts(request, len(takes_files))
    raw: bytes = request.scope["query_string"]
    if request.method == "POST":
        if kind_of(request) != _FORM:
            raise Refusal(415, "Only a form of these pages is taken here")
        raw = await _body(request)
    try:
        pairs = parse_qsl(raw.decode(), keep_blank_values=True, max_num_fields=_MOST_FIELDS)
    except ValueError:
        raise Refusal(400, "That form cannot be read") from None
    return Sent(_once(pairs), {})


def _once(pairs: list[tuple[str, str]]) -> dict[str, str]:
    if any("\0" in text for pair in pairs for text in pair):
        raise Refusal(400, "That form cannot be read")
    values = dict(pairs)
    if len(values) != len(pairs):
        raise Refusal(400, "A field of that form is there twice")
    return values


class _Coming:
    """A body as it comes: no more than so much of it, to the end that it must have. One that is cut
    short between its parts would read as a form that lacks them."""

    def __init__(self, receive: Receive, most: int, ends: bytes = b"") -> None:
        self._receive, self._left, self._ends = receive, most, ends
        self._last = b""

    async def __call__(self) -> Message:
        message = await self._receive()
        part = message.get("body", b"")
        self._left -= len(part)
        if self._left < 0:
            raise Refusal(413, "That is more than a form of these pages holds")
        self._last = (self._last + part)[-_MOST_ENDING:]
        over = message["type"] == "http.request" and not message.get("more_body", False)
        if over and not self._last.rstrip(b"\r\n").endswith(self._ends):
            raise Refusal(400, "That form did not come whole")
        return message


async def _body(request: Request) -> bytes:
    """What a form holds, if it is no more than a form, comes whole and in time."""
    whole = Request(request.scope, _Coming(request.receive, MOST))
    try:
        async with asyncio.timeout(_SECONDS):
            return await whole.body()
    except (ClientDisconnect, TimeoutError):
        raise Refusal(408, "That form did not come whole") from None


async def _in_parts(request: Request, most_files: int) -> Sent:
    """The fields and files of a form in parts. What is large lies in a file without a name
    meanwhile, which is gone when it is read or refused."""
    with needs("python_multipart", "web"):
        from python_multipart.multipart import parse_options_header

    said = request.headers.get("content-length", "0")
    if not said.isdecimal() or int(said) > MOST_WITH_FILES:
        raise Refusal(413, "That is more than a form of these pages holds")
    _, options = parse_options_header(request.headers["content-type"])
    ends = b"--" + options.get(b"boundary", b"") + b"--"
    whole = Request(request.scope, _Coming(request.receive, MOST_WITH_FILES, ends))
    try:
        async with asyncio.timeout(_SECONDS_WITH_FILES):
            form = await whole.form(
                max_files=most_files, max_fields=_MOST_FIELDS, max_part_size=MOST
            )
    except (ClientDisconnect, TimeoutError):
        raise Refusal(408, "That form did not come whole") from None
    except HTTPException:
        raise Refusal(400, "That form cannot be read") from None
    try:
        return await _read(form)
    finally:
        await form.close()


async def _read(form: FormData) -> Sent:
    """The fields of a form, and its files; one that nobody chose comes empty and without a name."""
    listed = form.multi_items()
    values = _once([(name, one) for name, one in listed if isinstance(one, str)])
    files: dict[str, Given] = {}
    for name, one in listed:
        if isinstance(one, str):
            continue
        if name in files or name in values:
            raise Refusal(400, "A field of that form is there twice")
        files[name] = Given(_called(one.filename or ""), await one.read(), name)
    chosen = {name: one for name, one in files.items() if one.name or one.data}
    return Sent(values, chosen)


def _called(name: str) -> str:
    """What a file is called there, as words: no folder, nothing that does not show."""
    last = name.replace("\\", "/").rpartition("/")[2]
    return "".join(one for one in last if one.isprintable())[-_MOST_SHOWN:].strip()
