"""The hash of a leaf in a Merkle tree, as RFC 9162 section 2.1.1 has it. Pure."""

from __future__ import annotations

import hashlib


def leaf_hash(data: bytes) -> str:
    """SHA-256 of a zero byte and the data, in hex: a leaf can never pass for an inner node."""
    return hashlib.sha256(b"\x00" + data).hexdigest()
