"""Passwords and tokens: the only home of Argon2, and of chance that nobody may ever repeat.

Argon2id with the library's own parameters (64 MiB, 3 rounds, 4 lanes: RFC 9106, section 4, second
recommended option; seen in the library's documentation).
"""

from __future__ import annotations

import hashlib
import secrets
from functools import cache
from typing import TYPE_CHECKING

from fleetcare.errors import needs

if TYPE_CHECKING:
    from argon2 import PasswordHasher

LEAST = 12  # characters (common practice where no second way in is asked for, no source)
MOST = 256  # characters: more is no password, and costs time to hash
# The long ones that everybody tries first; from memory, no source.
_COMMON = (
    "qwertyuiop", "1234567890", "0123456789", "abcdefghij", "abcdef", "qwertz",
    "password", "passwort", "qwerty", "letmein", "welcome", "administrator", "iloveyou", "abc123",
    "123456", "111111", "monkey", "dragon", "football", "sunshine", "princess", "motorhome",
    "campervan", "fleetcare", "changeme", "trustno1", "asdfgh", "zxcvbn",
)  # fmt: skip


@cache
def _hasher() -> PasswordHasher:
    with needs("argon2", "web"):
        import argon2

    return argon2.PasswordHasher()


def token() -> str:
    """256 random bits, as a link or a cookie holds them."""
    return secrets.token_urlsafe(32)


def digest(token: str) -> str:
    """What is kept of a token."""
    return hashlib.sha256(token.encode()).hexdigest()


def same(one: str, other: str) -> bool:
    """Whether two tokens are the same, in a time that tells nothing."""
    return secrets.compare_digest(one.encode(), other.encode())


def weakness(password: str, name: str) -> str | None:
    """What is wrong with a password somebody chose; None where nothing is."""
    if len(password) < LEAST:
        return f"has {len(password)} characters: choose {LEAST} or more, several words are easy"
    if len(password) > MOST:
        return f"has more than {MOST} characters: choose a shorter one"
    left = password.casefold()
    for word in (*_COMMON, name.casefold(), *name.casefold().split()):
        left = left.replace(word, "") if len(word) > 2 else left
    if len(set(left)) < 6:
        return "is one that is guessed first: choose several words that do not belong together"
    return None


def hashed(password: str) -> str:
    """What is kept of a password."""
    return _hasher().hash(password)


@cache
def _nobody() -> str:
    return hashed(token())


def verified(kept: str | None, password: str) -> bool:
    """Whether a password is the one that is kept; of somebody unknown (None) it takes as long."""
    from argon2.exceptions import VerificationError

    try:
        _hasher().verify(kept or _nobody(), password[:MOST])
    except VerificationError:
        return False
    return kept is not None


def outdated(kept: str) -> bool:
    """Whether a password was kept by weaker parameters than today's."""
    return _hasher().check_needs_rehash(kept)
