"""Time that others can vouch for: a time-stamp (RFC 3161) asked of an authority for a line of the
witness, and kept after it."""

from __future__ import annotations

import base64
import hashlib
from typing import TYPE_CHECKING

from fleetcare.desk.tally import Held
from fleetcare.desk.witness import name_of, told
from fleetcare.desk.witness_file import Witness, octets_of
from fleetcare.errors import Problem, Refused, needs, stays
from fleetcare.store.witness import Line, Stamp, put
from fleetcare.words.days import day_words

if TYPE_CHECKING:
    from fleetcare.stamp import Authorities

# A TimeStampReq (RFC 3161 2.4.1) in DER, around what differs: version 1 over a SHA-256, with a
# nonce of eight octets, its certificate asked for.
_BEFORE, _BETWEEN, _AFTER = (
    bytes.fromhex(octets)
    for octets in ("30430201013031300d060960864801650304020105000420", "0208", "0101ff")
)
_MOST = 1_000_000  # octets of a reply or of certificates


def request(place: str, to: str | None) -> bytes:
    """What to send to an authority, for the newest line of a witness."""
    line = told(name_of(place, to)).last
    assert line is not None
    digest = bytes.fromhex(line.digest)
    return _BEFORE + digest + _BETWEEN + _nonce(line).to_bytes(8, "big") + _AFTER


def _nonce(line: Line) -> int:
    """A number of a request's own, that its reply must bear. Drawn from the line, which tells its
    moment, so that nothing need be kept until the reply is there."""
    drawn = hashlib.sha256(b"nonce " + bytes.fromhex(line.digest)).digest()
    return 1 << 62 | int.from_bytes(drawn[:8], "big") >> 2  # eight octets in DER, none to spare


def keep(place: str, to: str | None, reply: str, ca: str) -> list[str]:
    """Check a reply and put it into the witness. Refused where it does not hold."""
    witness = told(name_of(place, to))
    trusted = _trusted(ca)
    from fleetcare import stamp

    data = octets_of(reply, _MOST)
    try:
        number = witness.numbers.get(stamp.imprint_of(data).hex())
        if number is None:
            raise stamp.Unheld(
                f'is of no line of "{witness.name}": ask for one with --timestamp-request'
            )
        said = _said(witness, number, data, trusted)
    except stamp.Unheld as fault:
        raise Refused([Problem(reply, str(fault))]) from None
    kept = Stamp(witness.lines[number].digest, base64.b64encode(data).decode())
    put(witness.name, [*witness.entries.values(), kept])
    return stays([f"{said} Kept as line {len(witness.entries) + 1}."])


def hold(found: Held, witness: Witness, ca: str | None) -> list[str]:
    """Hold every time-stamp of a witness to its line and to certificates in a file. Gives back what
    to say where there is none of the two."""
    if not witness.stamps:
        return [f'"{witness.name}" holds no time-stamp to check'] if ca else []
    if ca is None:
        return [
            f'the time-stamps in "{witness.name}" were not checked: add --ca FILE, the '
            "certificates of whom you trust"
        ]
    trusted = _trusted(ca)
    from fleetcare import stamp

    numbers = witness.numbers
    for number, kept in witness.stamps.items():
        of = numbers[kept.of]
        try:
            found.held.append(_said(witness, of, base64.b64decode(kept.reply), trusted))
        except stamp.Unheld as fault:
            words = f"the time-stamp of line {of} {fault}"
            found.faults.append(f'"{witness.name}", line {number}: {words}')
    return []


def _trusted(ca: str) -> Authorities:
    """Whose certificates a file holds. Refused where it holds none."""
    with needs("cryptography", "timestamp"), needs("rfc3161_client", "timestamp"):
        from fleetcare import stamp
    try:
        return stamp.Authorities(octets_of(ca, _MOST))
    except stamp.Unheld as fault:
        raise Refused([Problem(ca, str(fault))]) from None


def _said(witness: Witness, number: int, data: bytes, trusted: Authorities) -> str:
    line = witness.lines[number]
    at, by = trusted.check(data, line.as_text().encode(), _nonce(line))
    return (
        f'"{witness.name}", line {number}: was there on {day_words(at.date())} {at:%H:%M:%S} UTC, '
        f"vouched for by {by}."
    )
