"""A device that makes passkeys, in software of our own: it signs whatever it is told to, so that what
is not to be taken can be made as easily as what is."""

from __future__ import annotations

import base64
import hashlib
import json
import os
import re
from html import unescape
from typing import Any

from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.hashes import SHA256

PRESENT, VERIFIED, MADE = 0x01, 0x04, 0x40


def b64(data: bytes) -> str:
    """As a browser writes octets."""
    return base64.urlsafe_b64encode(data).decode().rstrip("=")


def asked_on(page: str) -> dict[str, Any]:
    """What a page asks the device."""
    found = re.search(r'data-asked="([^"]+)"', page)
    assert found, page
    return dict(json.loads(unescape(found[1])))


def _cbor(value: Any) -> bytes:
    """As much of RFC 8949 as a key takes."""
    if isinstance(value, int):
        return _head(0, value) if value >= 0 else _head(1, -1 - value)
    if isinstance(value, bytes):
        return _head(2, len(value)) + value
    if isinstance(value, str):
        return _head(3, len(value)) + value.encode()
    return _head(5, len(value)) + b"".join(_cbor(k) + _cbor(v) for k, v in value.items())


def _head(sort: int, size: int) -> bytes:
    if size < 24:
        return bytes([sort << 5 | size])
    return (
        bytes([sort << 5 | 24, size]) if size < 256 else bytes([sort << 5 | 25]) + size.to_bytes(2)
    )


class Device:
    """One passkey, of whoever the page says; what it says of itself is in reach of a test."""

    def __init__(self, origin: str, host: str) -> None:
        self.origin, self.host = origin, host
        self.key = ec.generate_private_key(ec.SECP256R1())
        self.id, self.handle = os.urandom(32), ""
        self.uses, self.flags = 0, PRESENT | VERIFIED
        self.more: dict[str, Any] = {"crossOrigin": False}
        self.at: dict[int, Any] = {}  # of its public half, otherwise than it is

    def _client(self, what: str, challenge: str) -> bytes:
        said = {"type": f"webauthn.{what}", "challenge": challenge, "origin": self.origin}
        return json.dumps({**said, **self.more}).encode()

    def _data(self, more: bytes = b"", flags: int = 0) -> bytes:
        host = hashlib.sha256(self.host.encode()).digest()
        return host + bytes([self.flags | flags]) + self.uses.to_bytes(4) + more

    def made(self, asked: dict[str, Any]) -> dict[str, str]:
        """Make the key, as a form holds it."""
        self.handle = asked["user"]["id"]
        at = self.key.public_key().public_numbers()
        public: dict[int, Any] = {1: 2, 3: -7, -1: 1, -2: at.x.to_bytes(32), -3: at.y.to_bytes(32)}
        public |= self.at
        key = bytes(16) + len(self.id).to_bytes(2) + self.id + _cbor(public)
        held = {"fmt": "none", "attStmt": {}, "authData": self._data(key, MADE)}
        client = self._client("create", asked["challenge"])
        return {"id": b64(self.id), "client": b64(client), "data": b64(_cbor(held))}

    def signed(self, asked: dict[str, Any]) -> dict[str, str]:
        """Sign what is asked, as a form holds it."""
        client, data = self._client("get", asked["challenge"]), self._data()
        signature = self.key.sign(data + hashlib.sha256(client).digest(), ec.ECDSA(SHA256()))
        return {
            "id": b64(self.id), "client": b64(client), "data": b64(data),
            "signature": b64(signature), "whose": self.handle,
        }  # fmt: skip
