"""The only source of chance: the salts that hide names and words. A sample may seed it."""

from __future__ import annotations

import contextlib
import hashlib
import secrets
from collections.abc import Iterator

_seeded: list[Iterator[str]] = []


def salt() -> str:
    """128 random bits as 32 hex digits; from the seed's row inside `seeded`."""
    return next(_seeded[-1]) if _seeded else secrets.token_hex(16)


@contextlib.contextmanager
def seeded(seed: str) -> Iterator[None]:
    """Salts that repeat. For invented people only: who knows the seed can guess every name."""

    def row() -> Iterator[str]:
        number = 0
        while True:
            number += 1
            yield hashlib.sha256(f"{seed}/{number}".encode()).hexdigest()[:32]

    _seeded.append(row())
    try:
        yield
    finally:
        _seeded.pop()
