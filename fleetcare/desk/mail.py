"""The Monday report as a letter: plain text, the same as a page, the workbook and the witness with
it."""

from __future__ import annotations

import datetime as dt
import email.utils
import os
import re
from email.message import EmailMessage
from pathlib import Path
from typing import NamedTuple

from fleetcare import clock
from fleetcare.desk import papers, questions, witness
from fleetcare.errors import Problem, Refused, stays
from fleetcare.post import Server, send
from fleetcare.render import due as monday
from fleetcare.render import html, text

# A dot-atom at a domain (RFC 5322 3.2.3); quoted local parts and comments are of no use here.
_ATOM = r"[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+"
_ADDRESS = re.compile(rf"{_ATOM}(\.{_ATOM})*@[A-Za-z0-9-]+(\.[A-Za-z0-9-]+)*")
_SERVER = re.compile(r"(\[[0-9a-fA-F:.]+\]|[^:\s]+):(\d{1,5})")
PASSWORD = "FLEETCARE_SMTP_PASSWORD"


class Posting(NamedTuple):
    """Whom a letter goes to, from whom, and where it is handed in."""

    to: tuple[str, ...]
    sender: str
    server: str
    user: str | None = None
    password_file: str | None = None


def is_address(word: str) -> bool:
    """Whether a word is where a letter may go."""
    return _ADDRESS.fullmatch(word) is not None


def due(place: str, posting: Posting, on: dt.date | None) -> list[str]:
    """Send the due report. Returns what to print; Refused where it can't be sent to anybody."""
    to, sender, server, user, password_file = posting
    wrong = [Problem("--to", f'"{a}" is not an address') for a in to if not is_address(a)]
    if not is_address(sender):
        wrong.append(Problem("--from", f'"{sender}" is not an address'))
    match = _SERVER.fullmatch(server)
    if not match or not 0 < int(match[2]) < 65536:
        wrong.append(Problem("--smtp", f'"{server}" is not HOST:PORT, like mail.example.org:587'))
    if wrong or match is None:
        raise Refused(wrong)
    password = _password(password_file)
    if user and not password:
        raise Refused([Problem("--user", f"has no password: give --password-file or {PASSWORD}")])
    taker = Server(match[1].strip("[]"), int(match[2]), user, password)
    told, copy = witness.told_again(place)
    letter = _letter(place, to, sender, on)
    if copy:
        _attach(letter, copy.read_bytes(), copy.name, "octet-stream")
    refused = send(letter, sender, to, taker)
    if len(refused) == len(to):
        raise Refused([Problem("--to", f"no address was taken: {', '.join(refused)}")])
    sent = [address for address in to if address not in refused]
    lines = [f"Sent to {', '.join(sent)}."]
    lines = stays(lines + [f"Caution: {one} was refused by the server." for one in refused])
    return lines + told


def _password(file: str | None) -> str | None:
    """The password from a file or the environment; never from the command line, which all see."""
    if file is None:
        return os.environ.get(PASSWORD)
    try:
        return Path(file).read_text(encoding="utf-8").rstrip("\n")
    except (OSError, UnicodeDecodeError) as fault:
        raise Refused([Problem("--password-file", f"cannot be read: {fault}")]) from None


def _letter(place: str, to: tuple[str, ...], sender: str, on: dt.date | None) -> EmailMessage:
    report = questions.due(place, on, None)
    name, workbook = papers.insurers(place, on)
    acted_on = [item for item in report.items if item.group not in ("week", "coming", "laid up")]
    letter = EmailMessage()
    letter["Subject"] = f"Due on {text.day(report.on)}: {len(acted_on)} to act on now"
    letter["From"] = sender
    letter["To"] = ", ".join(to)
    # Set once, so that a letter tried again is known for the same one.
    letter["Date"] = email.utils.format_datetime(clock.now())
    letter["Message-ID"] = email.utils.make_msgid(domain=sender.rpartition("@")[2])
    letter.set_content(monday.due(report) + "\n")
    page = html.page(monday.due_head(report), monday.due_groups(report), monday.due_notes(report))
    letter.add_alternative(page, subtype="html")
    _attach(letter, workbook, name, "vnd.openxmlformats-officedocument.spreadsheetml.sheet")
    return letter


def _attach(letter: EmailMessage, data: bytes, name: str, subtype: str) -> None:
    letter.add_attachment(data, maintype="application", subtype=subtype, filename=name)
