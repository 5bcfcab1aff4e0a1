"""The Monday report over a real SMTP server: what arrives, what is refused, what is tried again."""

from __future__ import annotations

import datetime as dt
import email
import email.policy
import io
import socket
from collections.abc import Iterator
from email.message import EmailMessage
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP

from fleetcare import post
from fleetcare.desk import mail
from fleetcare.errors import Refused
from tests.typed import typed

DAY = dt.date(2026, 8, 1)

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")


class Box:
    """A mail server's own memory: what it took, and how it answers."""

    def __init__(self) -> None:
        self.letters: list[Any] = []
        self.busy = 0
        self.bad = ""

    async def handle_RCPT(self, server, session, envelope, address, options):
        """Turn one address down, or all for a while."""
        if self.busy:
            self.busy -= 1
            return "451 4.3.0 try again later"
        if address == self.bad:
            return "550 5.1.1 nobody here"
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server, session, envelope):
        """Keep a letter."""
        self.letters.append(envelope)
        return "250 OK"


@pytest.fixture
def box() -> Iterator[tuple[Box, str]]:
    """A server on this machine, and its address."""
    kept = Box()

    class Plain(Controller):
        def factory(self) -> SMTP:
            return SMTP(self.handler, hostname="localhost")

    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    server = Plain(kept, hostname="127.0.0.1", port=port)
    server.start()
    yield kept, f"127.0.0.1:{port}"
    server.stop()


def _letter(box: Box) -> EmailMessage:
    (envelope,) = box.letters
    found = email.message_from_bytes(envelope.content, policy=email.policy.default)
    assert isinstance(found, EmailMessage)
    return found


def test_the_report_arrives_as_text_as_a_page_and_with_the_workbook(
    good: str, box: tuple[Box, str]
) -> None:
    """The same lines the terminal shows; whatever anybody typed is text in the page."""
    kept, server = box
    typed(good, 'hold V01 --from 2026-08-01 "<script>alert(1)</script> & so on"', DAY)
    printed = typed(good, f"mail due --to a@example.org --to b@example.org --smtp {server}", DAY)
    letter = _letter(kept)
    plain = letter.get_body(("plain",))
    page = letter.get_body(("html",))
    (sheet,) = letter.iter_attachments()
    assert plain is not None
    assert page is not None

    assert printed == "Sent to a@example.org, b@example.org.\n"
    assert kept.letters[0].rcpt_tos == ["a@example.org", "b@example.org"]
    assert letter["Subject"] == "Due on Sat 1 Aug 2026: 1 to act on now"
    assert plain.get_content().split() == typed(good, "due", DAY).split()
    assert typed(good, "due", DAY).splitlines()[-1] in page.get_content()
    assert "<script>" not in page.get_content()
    assert "&lt;script&gt;alert(1)&lt;/script&gt; &amp; so on" in page.get_content()
    assert sheet.get_filename() == "insurers-2026-08-01.xlsx"
    assert "Standings" in openpyxl.load_workbook(io.BytesIO(sheet.get_content())).sheetnames


def test_the_witness_is_told_and_goes_along(
    good: str, box: tuple[Box, str], tmp_path: Path
) -> None:
    """It gets a line before the letter is made, and comes with it whole; where it can't be told the
    letter goes without it and that is said."""
    kept, server = box
    file = tmp_path / "fleet-witness.jsonl"
    typed(good, f"witness --to {file}", DAY)
    typed(good, "odometer V01 42400mi", DAY)
    said = typed(good, f"mail due --to a@example.org --smtp {server}", DAY)
    _, copy = _letter(kept).iter_attachments()
    file.unlink()
    kept.letters.clear()
    without = typed(good, f"mail due --to a@example.org --smtp {server}", DAY)

    assert said.startswith(f'Sent to a@example.org.\nLine 2 of "{file}": 30 records, tally ')
    assert copy.get_filename() == "fleet-witness.jsonl"
    assert copy.get_content().count(b"\n") == 2
    assert len(list(_letter(kept).iter_attachments())) == 1
    assert without == (
        f"Sent to a@example.org.\nCaution: the witness was not told how the book stands: {file}: is "
        "gone since it was told last: bring it back, or begin another with fleetcare witness --to "
        "FILE\n"
    )


def test_a_busy_server_is_tried_again_and_then_told_of(
    good: str, box: tuple[Box, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Twice busy and the third try is taken; thrice, and the letter was not sent."""
    kept, server = box
    waited: list[float] = []
    monkeypatch.setattr(post.send, "__defaults__", (waited.append,))
    kept.busy = 2
    mail.due(good, mail.Posting(("a@example.org",), "a@example.org", server, None, None), DAY)
    assert len(kept.letters) == 1
    kept.busy = 3
    with pytest.raises(Refused) as refused:
        mail.due(good, mail.Posting(("a@example.org",), "a@example.org", server, None, None), DAY)

    assert waited == [5, 10, 5, 10]
    assert str(refused.value) == (
        f"--smtp: the letter was not taken by {server} after 3 tries: "
        "a@example.org: 451 4.3.0 try again later"
    )


def test_an_address_turned_down_is_told_and_the_others_get_it(
    good: str, box: tuple[Box, str]
) -> None:
    """A no for good is not tried again."""
    kept, server = box
    kept.bad = "gone@example.org"
    lines = mail.due(
        good,
        mail.Posting(("a@example.org", "gone@example.org"), "a@example.org", server, None, None),
        DAY,
    )
    with pytest.raises(Refused) as refused:
        mail.due(
            good, mail.Posting(("gone@example.org",), "a@example.org", server, None, None), DAY
        )

    assert lines == [
        "Sent to a@example.org.", "Caution: gone@example.org was refused by the server.",
    ]  # fmt: skip
    assert str(refused.value) == (
        f"--smtp: the letter was not taken by {server}: gone@example.org: 550 5.1.1 nobody here"
    )


def test_a_password_goes_over_nothing_but_tls(
    good: str, box: tuple[Box, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """From a file or the environment; a server that offers no TLS never sees it."""
    kept, server = box
    (tmp_path / "secret").write_text("s3cret\n")
    monkeypatch.setattr(post.send, "__defaults__", (lambda _: None,))
    for file, setting in ((str(tmp_path / "secret"), None), (None, "s3cret")):
        if setting:
            monkeypatch.setenv(mail.PASSWORD, setting)
        with pytest.raises(Refused) as refused:
            mail.due(
                good, mail.Posting(("a@example.org",), "a@example.org", server, "me", file), DAY
            )
        assert str(refused.value) == (
            f"--smtp: the letter was not taken by {server}: the server offers no TLS, and a "
            "password goes over nothing else"
        )
    assert kept.letters == []


def test_what_is_no_address_is_refused_before_anything_is_sent(good: str, tmp_path: Path) -> None:
    """A line break in an address would be a header of its own."""
    with pytest.raises(Refused) as refused:
        mail.due(
            good, mail.Posting(("a@b\nBcc: x@y",), "nobody", "mail.example.org", None, None), DAY
        )
    with pytest.raises(Refused, match="--password-file: cannot be read"):
        mail.due(good, mail.Posting(("a@b.c",), "a@b.c", "h:25", "u", str(tmp_path / "none")), DAY)

    assert [p.where for p in refused.value.problems] == ["--to", "--from", "--smtp"]


def test_nobody_at_the_door_is_told_after_three_tries(
    good: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A server that can't be reached: what, where, how often."""
    monkeypatch.setattr(post.send, "__defaults__", (lambda _: None,))
    with pytest.raises(Refused, match=r"not taken by 127\.0\.0\.1:9 after 3 tries: "):
        mail.due(good, mail.Posting(("a@b.c",), "a@b.c", "127.0.0.1:9", None, None), DAY)


def test_a_letter_that_was_taken_is_not_sent_again(
    good: str, box: tuple[Box, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A server that drops the line after it said yes has the letter."""
    kept, server = box

    async def gone(*_: Any) -> str:
        kept.letters.append("after")
        raise ConnectionResetError

    monkeypatch.setattr(SMTP, "smtp_QUIT", gone)
    mail.due(good, mail.Posting(("a@example.org",), "a@example.org", server, None, None), DAY)

    assert [type(one) is str for one in kept.letters] in ([False], [False, True])


def test_a_letter_is_known_by_its_sender_and_day(good: str, box: tuple[Box, str]) -> None:
    """Date and Message-ID are ours, the latter of the sender's domain and not of this machine."""
    kept, server = box
    mail.due(good, mail.Posting(("a@example.org",), "b@example.net", server, None, None), DAY)
    letter = _letter(kept)

    assert letter["Message-ID"].endswith("@example.net>")
    assert letter["Date"].datetime.utcoffset() == dt.timedelta(0)


@pytest.mark.parametrize("address", ['"a b"@c.d', "a(b)@c.d", "a@b@c", "a.@c.d", "é@c.d", "a@"])
def test_only_plain_addresses_are_taken(good: str, address: str) -> None:
    """Quoted parts and comments read one way here and another way there."""
    with pytest.raises(Refused) as refused:
        mail.due(good, mail.Posting((address,), "a@b.c", "h:25", None, None), DAY)

    assert str(refused.value) == f'--to: "{address}" is not an address'


def test_a_user_needs_a_password_and_it_is_never_shown(good: str, tmp_path: Path) -> None:
    """Sent without one the letter would go as nobody; letters outside ASCII cannot be sent."""
    with pytest.raises(Refused) as refused:
        mail.due(good, mail.Posting(("a@b.c",), "a@b.c", "h:25", "me", None), DAY)
    with pytest.raises(Refused) as host:
        mail.due(good, mail.Posting(("a@b.c",), "a@b.c", f"{'h' * 70}.x:25", None, None), DAY)

    assert str(refused.value) == (
        "--user: has no password: give --password-file or FLEETCARE_SMTP_PASSWORD"
    )
    assert "the host, the user or the password holds letters that cannot be sent" in str(host.value)


def test_a_letter_that_may_have_been_taken_is_not_sent_again(
    good: str, box: tuple[Box, str]
) -> None:
    """The line breaks before the server says yes: nobody knows, so somebody asks."""
    kept, server = box

    async def taken(server: Any, session: Any, envelope: Any) -> str:
        kept.letters.append(envelope)
        server.transport.abort()
        return "250 OK"

    kept.handle_DATA = taken  # type: ignore[method-assign]
    with pytest.raises(Refused) as refused:
        mail.due(good, mail.Posting(("a@example.org",), "a@example.org", server, None, None), DAY)

    assert len(kept.letters) == 1
    assert str(refused.value) == (
        f"--smtp: {server} broke off after the letter was handed in, so it may have been taken: "
        "ask whom it is for, then send it again"
    )
