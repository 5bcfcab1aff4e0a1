"""Passwords and tokens: the only home of Argon2, and of chance that nobody may ever repeat.

Argon2id with the library's own parameters (64 MiB, 3 rounds, 4 lanes: RFC 9106, section 4, second
recommended option; seen in the library's documentation).
"""

from __future__ import annotations

import hashlib
import re
import secrets
from functools import cache
from itertools import pairwise
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

PIN_LEAST, PIN_MOST = 6, 12  # digits of a PIN (common practice, no source)
# Those that are tried first and are neither a run, a pattern nor a day; from memory, no source.
_COMMON_PINS = (
    "112233", "445566", "778899", "123321", "147258", "147852", "258456", "159753", "142536",
    "789456", "102030", "102938", "135790", "246810", "520131",
)  # fmt: skip
_DAY, _MONTH, _YEAR = "(0[1-9]|[12][0-9]|3[01])", "(0[1-9]|1[0-2])", "(19|20)?[0-9]{2}"
_DAYS = re.compile("|".join((_DAY + _MONTH + _YEAR, _MONTH + _DAY + _YEAR, _YEAR + _MONTH + _DAY)))


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


def pin_weakness(pin: str) -> str | None:
    """What is wrong with a PIN somebody chose; None where nothing is."""
    if not re.fullmatch(rf"[0-9]{{{PIN_LEAST},{PIN_MOST}}}", pin):
        return f"has to be {PIN_LEAST} to {PIN_MOST} digits, and nothing else"
    steps = {(int(after) - int(before)) % 10 for before, after in pairwise(pin)}
    again = any(pin == (pin[:size] * len(pin))[: len(pin)] for size in range(1, len(pin) // 2 + 1))
    if steps <= {1} or steps <= {9} or again or pin in _COMMON_PINS or _DAYS.fullmatch(pin):
        return "is one that is guessed first: choose no run, no pattern and no day"
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
