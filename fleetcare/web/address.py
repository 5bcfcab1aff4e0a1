"""References as parts of an address."""

from __future__ import annotations

import base64
import re

_PLAIN = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]*")


def part(text: str) -> str:
    """A reference as a part of an address: as it is where it is plain, else in letters that no
    address reads otherwise."""
    if _PLAIN.fullmatch(text):
        return text
    return "~" + base64.urlsafe_b64encode(text.encode()).decode().rstrip("=")


def unpart(text: str) -> str:
    """What a part of an address stands for."""
    if not text.startswith("~"):
        return text
    try:
        padded = text[1:] + "=" * (-len(text[1:]) % 4)
        return base64.urlsafe_b64decode(padded.encode()).decode()
    except ValueError:
        return text
