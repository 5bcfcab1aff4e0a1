"""A time-stamp reply (RFC 3161) held to what was asked and to certificates that are trusted.

Reading and checking it is the work of rfc3161-client, which is of an extra. It reads strict DER
alone: a reply whose certificates stand in another order than theirs by octets is none to it.
"""

from __future__ import annotations

import datetime as dt
import hashlib
from typing import NamedTuple

import cryptography.x509
from rfc3161_client import (
    PKIStatus,
    TimeStampResponse,
    VerificationError,
    VerifierBuilder,
    decode_timestamp_response,
)

_SHA256 = "2.16.840.1.101.3.4.2.1"


class Unheld(Exception):
    """A reply, or a certificate, does not do: why, as the end of a sentence."""


class Stamped(NamedTuple):
    """When an authority saw what was asked about, in UTC, and what it calls itself."""

    at: dt.datetime
    by: str


def imprint_of(data: bytes) -> bytes:
    """The SHA-256 of what a reply is about. Unheld where it is none, or grants nothing."""
    imprint = _read(data).tst_info.message_imprint
    if imprint.hash_algorithm.dotted_string != _SHA256:
        raise Unheld("is not over a SHA-256")
    return imprint.message


class Authorities:
    """Who is trusted to tell the time, by certificates in PEM. Unheld where there are none."""

    def __init__(self, data: bytes) -> None:
        try:
            self._roots = cryptography.x509.load_pem_x509_certificates(data)
        except ValueError:
            raise Unheld("holds no certificate in PEM") from None

    def check(self, data: bytes, about: bytes, nonce: int) -> Stamped:
        """A reply held to what was asked about, to the number that the request bore, and to the
        certificates, to which its own must lead at the time it tells. Unheld where one fails."""
        response = _read(data)
        info = response.tst_info
        if imprint_of(data) != hashlib.sha256(about).digest():
            raise Unheld("is of something else")
        if info.nonce != nonce:
            raise Unheld("answers another request")
        try:
            verifier = VerifierBuilder(roots=list(self._roots)).build()
            verifier.verify(response, info.message_imprint.message)
        except (VerificationError, ValueError):
            raise Unheld("was not signed by an authority that the certificates vouch for") from None
        return Stamped(info.gen_time, _named(response))


def _read(data: bytes) -> TimeStampResponse:
    try:
        response = decode_timestamp_response(data)
        if response.status == PKIStatus.GRANTED:
            return response
        said = _seen("; ".join(response.status_string)) or "without a reason"
    except ValueError:
        raise Unheld("is no time-stamp reply that can be read (RFC 3161, in strict DER)") from None
    raise Unheld(f"grants no time-stamp: {said}")


def _named(response: TimeStampResponse) -> str:
    """The name in the certificate that signed; there is one where the signature held."""
    (signer,) = response.signed_data.signer_infos
    for der in response.signed_data.certificates:
        found = cryptography.x509.load_der_x509_certificate(der)
        if (found.issuer, found.serial_number) == (signer.issuer, signer.serial_number):
            return _seen(found.subject.rfc4514_string())
    raise Unheld("holds no certificate of who signed it")


def _seen(words: str) -> str:
    """Words of somebody else's, with a question mark for what does not print."""
    return "".join(sign if sign.isprintable() else "?" for sign in words)
