"""Sending a letter over SMTP (RFC 5321): tried again when the server is busy, told when it fails.

A password only goes over TLS.
"""

from __future__ import annotations

import contextlib
import smtplib
import ssl
import time
from collections.abc import Callable
from email.message import EmailMessage
from typing import Any, NamedTuple

from fleetcare.errors import Problem, Refused

TRIES = 3
WAIT_SECONDS = 5  # before the second try, and as much again before the third


class Server(NamedTuple):
    """Where letters are handed in, and as whom."""

    host: str
    port: int
    user: str | None = None
    password: str | None = None


# How long a server may take to say that it has a letter (RFC 5321 4.5.3.2.6).
TAKING_SECONDS = 600


class Unanswered(Exception):
    """The line broke once the letter was on its way: it may have been taken."""


class _Line(smtplib.SMTP):
    def data(self, msg: Any) -> tuple[int, bytes]:
        if self.sock is not None:
            self.sock.settimeout(TAKING_SECONDS)
        try:
            return super().data(msg)
        except smtplib.SMTPDataError:
            raise
        except OSError as fault:
            raise Unanswered from fault


class _LineOverTls(_Line, smtplib.SMTP_SSL):
    pass


def send(
    letter: EmailMessage,
    sender: str,
    to: tuple[str, ...],
    server: Server,
    pause: Callable[[float], None] = time.sleep,
) -> list[str]:
    """Hand a letter in for the addresses `to`. Returns those the server refused while it took
    others.

    Refused when it can't be handed in: at once where the server says so for good (5xx), after
    three tries where it is busy (4xx) or can't be reached. A letter that may have been taken is
    not sent again.
    """
    for turn in range(1, TRIES + 1):
        try:
            return sorted(_hand_in(letter, sender, to, server))
        except Unanswered:
            words = (
                "broke off after the letter was handed in, so it may have been taken: ask whom it"
            )
            raise Refused(
                [
                    Problem(
                        "--smtp", f"{server.host}:{server.port} {words} is for, then send it again"
                    )
                ]
            ) from None
        except (OSError, smtplib.SMTPException, UnicodeError) as fault:
            if _for_good(fault) or turn == TRIES:
                raise Refused([Problem("--smtp", _why(fault, server, turn))]) from None
            pause(WAIT_SECONDS * turn)
    raise AssertionError("every turn returns or raises")


def _hand_in(
    letter: EmailMessage, sender: str, to: tuple[str, ...], server: Server
) -> dict[str, tuple[int, bytes]]:
    context = ssl.create_default_context()
    if server.port == 465:
        line: _Line = _LineOverTls(server.host, server.port, timeout=30, context=context)
    else:
        line = _Line(server.host, server.port, timeout=30)
    try:
        line.ehlo()
        if line.has_extn("starttls"):
            line.starttls(context=context)
            line.ehlo()
        elif server.password and server.port != 465:
            raise smtplib.SMTPNotSupportedError(
                "the server offers no TLS, and a password goes over nothing else"
            )
        if server.user and server.password:
            line.login(server.user, server.password)
        refused = line.send_message(letter, sender, to)
        with contextlib.suppress(OSError, smtplib.SMTPException):
            line.quit()  # the letter is taken: a fault from here on must not send it twice
        return refused
    finally:
        line.close()


def _for_good(fault: Exception) -> bool:
    """Whether trying again is of no use."""
    if isinstance(fault, smtplib.SMTPRecipientsRefused):
        return all(code >= 500 for code, _ in fault.recipients.values())
    if isinstance(fault, smtplib.SMTPResponseException):
        return fault.smtp_code >= 500
    return isinstance(fault, (smtplib.SMTPNotSupportedError, ssl.SSLError, UnicodeError))


def _why(fault: Exception, server: Server, turn: int) -> str:
    """What went wrong, without the letter and without the password."""
    if isinstance(fault, smtplib.SMTPRecipientsRefused):
        said = "; ".join(
            f"{address}: {code} {words.decode('utf-8', 'replace')}"
            for address, (code, words) in fault.recipients.items()
        )
    elif isinstance(fault, smtplib.SMTPResponseException):
        said = f"{fault.smtp_code} {_text(fault.smtp_error)}"
    elif isinstance(fault, UnicodeError):  # its own words would show the password
        said = "the host, the user or the password holds letters that cannot be sent"
    else:
        said = str(fault) or type(fault).__name__
    tries = "" if turn == 1 else f" after {turn} tries"
    return f"the letter was not taken by {server.host}:{server.port}{tries}: {said}"


def _text(words: bytes | str) -> str:
    return words.decode("utf-8", "replace") if isinstance(words, bytes) else words
