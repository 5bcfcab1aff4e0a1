"""Time-stamps of a witness's lines (RFC 3161), by an authority made here with OpenSSL."""

from __future__ import annotations

import base64
import datetime as dt
import json
import shutil
import subprocess
import sys
from pathlib import Path

import click
import pytest

from fleetcare.desk import trust
from fleetcare.errors import NotInstalled
from tests.typed import refused, typed

ON = dt.date(2026, 8, 1)
CONFIG = """
[req]
distinguished_name = dn
[dn]
[tsa]
default_tsa = one
[one]
serial = serial
signer_digest = sha256
default_policy = 1.2.3.4.1
digests = sha256, sha512
ess_cert_id_alg = sha256
[ca]
basicConstraints = critical,CA:true
keyUsage = critical,keyCertSign
[stamping]
basicConstraints = critical,CA:false
keyUsage = critical,digitalSignature
extendedKeyUsage = critical,timeStamping
"""

pytestmark = pytest.mark.skipif(
    shutil.which("openssl") is None, reason="no openssl on this machine to make an authority with"
)


class Authority:
    """One who gives time-stamps, and the certificates that lead to it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        (folder / "tsa.cnf").write_text(CONFIG)
        (folder / "serial").write_text("01")
        new = "-newkey rsa:2048 -nodes -config tsa.cnf"
        for name in ("ca", "other"):
            self._openssl(
                f"req -x509 {new} -extensions ca -days 30 -keyout {name}.key -out {name}.pem "
                f"-subj /CN={name}"
            )
        self._openssl(f"req {new} -keyout tsa.key -out tsa.csr -subj /CN=Clock")
        self._openssl(
            "x509 -req -in tsa.csr -CA ca.pem -CAkey ca.key -CAcreateserial -days 30 "
            "-extfile tsa.cnf -extensions stamping -out tsa.pem"
        )

    def _openssl(self, words: str) -> str:
        done = subprocess.run(
            ["openssl", *words.split()], cwd=self.folder, capture_output=True, text=True, check=True
        )
        return done.stdout

    def reply(self, request: Path) -> Path:
        """What it answers."""
        reply = request.with_suffix(".tsr")
        signed = "-config tsa.cnf -inkey tsa.key -signer tsa.pem"
        self._openssl(f"ts -reply -queryfile {request} {signed} -out {reply}")
        return reply

    def query(self, request: Path) -> str:
        """A request in its words."""
        return self._openssl(f"ts -query -in {request} -text")

    def verify(self, data: Path, reply: Path) -> str:
        """Its own word on a reply."""
        return self._openssl(f"ts -verify -data {data} -in {reply} -CAfile ca.pem")


@pytest.fixture(scope="module")
def authority(tmp_path_factory: pytest.TempPathFactory) -> Authority:
    """An authority for the tests of this file."""
    return Authority(tmp_path_factory.mktemp("authority"))


@pytest.fixture
def asked(good: str, tmp_path: Path) -> tuple[str, Path, Path]:
    """A book, its witness of one line, and the request for it."""
    file, request = tmp_path / "w.jsonl", tmp_path / "one.tsq"
    typed(good, f"witness --to {file}", ON)
    assert typed(good, f"witness --timestamp-request {request}", ON) == f'Wrote "{request}".\n'
    return good, file, request


def test_a_request_is_of_the_newest_line(
    asked: tuple[str, Path, Path], authority: Authority
) -> None:
    """OpenSSL reads it: SHA-256 of the line with its end, a nonce, the certificate asked for. Asked
    again it is the same, of another line another."""
    place, file, request = asked
    text = authority.query(request)
    again, other = request.with_name("again.tsq"), request.with_name("other.tsq")
    typed(place, f"witness --timestamp-request {again}", ON)
    typed(place, "witness", dt.date(2026, 8, 2))
    typed(place, f"witness --timestamp-request {other}", ON)

    assert "Hash Algorithm: sha256" in text
    assert "Certificate required: yes" in text
    (nonce,) = [line for line in text.splitlines() if line.startswith("Nonce: 0x")]
    assert len(nonce) == len("Nonce: 0x") + 16
    assert again.read_bytes() == request.read_bytes()
    assert nonce not in authority.query(other)
    assert len(file.read_text().splitlines()) == 2
    none = trust.verify(place, (), (str(file),), str(request))
    assert none.cautions == [f'"{file}" holds no time-stamp to check']


def test_a_reply_is_checked_and_kept(
    asked: tuple[str, Path, Path], authority: Authority, tmp_path: Path
) -> None:
    """It is put after the lines there are, found by its line whatever came since; the book is held
    to it later, and OpenSSL agrees with what is in the file."""
    place, file, request = asked
    typed(place, "witness", dt.date(2026, 8, 2))
    ca = authority.folder / "ca.pem"
    said = typed(place, f"witness --timestamp-reply {authority.reply(request)} --ca {ca}", ON)
    more = typed(place, "witness", dt.date(2026, 8, 3))
    verified = trust.verify(place, (), (str(file),), str(ca))
    without = trust.verify(place, (), (str(file),))
    first, _, kept, _ = file.read_text().splitlines()
    (tmp_path / "line").write_text(f"{first}\n")
    (tmp_path / "reply").write_bytes(base64.b64decode(json.loads(kept)["reply"]))

    lead = f'"{file}", line 1: was there on '
    assert said.startswith(lead)
    assert said.endswith(" UTC, vouched for by CN=Clock. Kept as line 3.\n")
    assert more.startswith(f'Line 4 of "{file}": ')
    assert (verified.faults, verified.cautions) == ([], [])
    assert verified.held[1].startswith(f'"{file}" bears the book out line by line, ')
    assert f"{verified.held[2]} Kept as line 3.\n" == said
    assert without.cautions == [
        f'the time-stamps in "{file}" were not checked: add --ca FILE, the certificates of '
        "whom you trust"
    ]
    authority.verify(tmp_path / "line", tmp_path / "reply")


def test_what_does_not_hold_is_refused_and_not_kept(
    asked: tuple[str, Path, Path], authority: Authority, tmp_path: Path
) -> None:
    """Of another line, another request, another authority; no certificates; no reply at all; one
    that grants nothing."""
    place, file, request = asked
    before = file.read_text()
    ca, other_ca = authority.folder / "ca.pem", authority.folder / "other.pem"
    reply = authority.reply(request)
    octets = request.read_bytes()
    changed = tmp_path / "changed.tsq"

    def answer(asks: bytes) -> Path:
        changed.write_bytes(asks)
        return authority.reply(changed)

    def why(given: Path, by: Path = ca) -> str:
        said = refused(place, f"witness --timestamp-reply {given} --ca {by}")
        assert said.startswith(f"{given}: ")
        return said.removeprefix(f"{given}: ")

    assert why(answer(octets[:24] + bytes([octets[24] ^ 1]) + octets[25:])) == (
        f'is of no line of "{file}": ask for one with --timestamp-request'
    )
    assert why(answer(octets[:-4] + bytes([octets[-4] ^ 1]) + octets[-3:])) == (
        "answers another request"
    )
    assert why(reply, other_ca) == (
        "was not signed by an authority that the certificates vouch for"
    )
    assert refused(place, f"witness --timestamp-reply {reply} --ca {request}") == (
        f"{request}: holds no certificate in PEM"
    )
    assert why(request) == "is no time-stamp reply that can be read (RFC 3161, in strict DER)"
    forged = bytearray(reply.read_bytes())
    forged[-1] ^= 1  # the last octet of the signature
    (tmp_path / "forged.tsr").write_bytes(forged)
    assert why(tmp_path / "forged.tsr") == (
        "was not signed by an authority that the certificates vouch for"
    )
    oid = bytes.fromhex("0609608648016503040201")
    sha224 = octets.replace(oid, oid[:-1] + b"\x04")
    assert why(answer(sha224)).startswith("grants no time-stamp: ")
    assert file.read_text() == before


def test_a_time_stamp_changed_later_is_found(
    asked: tuple[str, Path, Path], authority: Authority
) -> None:
    """Its line's moment can't be changed under it; another reply in its place is a fault of the
    witness, with its line."""
    place, file, request = asked
    ca = authority.folder / "ca.pem"
    typed(place, f"witness --timestamp-reply {authority.reply(request)} --ca {ca}", ON)
    first, kept = file.read_text().splitlines()
    stamp = json.loads(kept)
    file.write_text(f"{first.replace('2026-08-01T12', '2026-07-01T12')}\n{kept}\n")
    moved = refused(place, f"verify --against {file}")
    other = dict(stamp, reply=base64.b64encode(b"none").decode())
    file.write_text(f"{first}\n{json.dumps(other)}\n")
    swapped = trust.verify(place, (), (str(file),), str(ca))
    file.write_text(f"{first}\n{json.dumps(dict(stamp, reply='-'))}\n")
    damaged = refused(place, f"verify --against {file}")

    whole = "take a copy of it from where else one lies"
    assert moved == (f"{file}:2: does not follow from those before it, so one was changed: {whole}")
    assert swapped.faults == [
        f'"{file}", line 2: the time-stamp of line 1 is no time-stamp reply that can be read (RFC 3161, in strict DER)'
    ]
    assert damaged == f"{file}:2: is no line of a witness: {whole}"


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (
            "witness --timestamp-request a --timestamp-reply b --ca c",
            "ask for a time-stamp first, and give what was replied afterwards",
        ),
        (
            "witness --timestamp-reply b",
            "a reply is checked by certificates: --timestamp-reply FILE --ca FILE",
        ),
        ("verify --ca c", "--ca is of the time-stamps in a witness: add --against FILE"),
    ],
)
def test_half_a_question_about_time_is_told(good: str, line: str, words: str) -> None:
    """What is missing, or goes with something else, is said."""
    with pytest.raises(click.UsageError) as told:
        typed(good, line, ON)

    assert told.value.message == words


@pytest.mark.parametrize("library", ["cryptography", "rfc3161_client"])
def test_without_the_library_it_is_named(
    asked: tuple[str, Path, Path], monkeypatch: pytest.MonkeyPatch, library: str
) -> None:
    """A request needs none; to check a reply says which extra to install."""
    place, _, request = asked
    monkeypatch.delitem(sys.modules, "fleetcare.stamp", raising=False)
    monkeypatch.delattr("fleetcare.stamp", raising=False)
    monkeypatch.setitem(sys.modules, library, None)
    with pytest.raises(NotInstalled) as told:
        typed(place, f"witness --timestamp-reply {request} --ca {request}", ON)

    assert str(told.value) == (
        f'this needs the library "{library}": install it with pip install "fleetcare[timestamp]"'
    )
