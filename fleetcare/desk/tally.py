"""A tally kept outside the book: read as printed or from a file, and a root held to it."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any, NamedTuple

from fleetcare.errors import Problem, Refused, UsageFault

PROVES_FROM = 64
"""Bits of a root from which a tally proves. A book forged to agree with 32 took five minutes."""
_TALLY = re.compile(
    r"(?:Tally )?@?([0-9][0-9,]{0,15})(?: records)?[: ]+([0-9A-F]+(?:-[0-9A-F]+)*)", re.IGNORECASE
)
_ROOT = re.compile(r"[0-9a-f]{64}")
_MOST = 1_000_000  # characters of a file that is looked at


class Tally(NamedTuple):
    """How many records, and their root or its beginning, in hex; under the name it was given by."""

    named: str
    size: int
    root: str

    @property
    def bits(self) -> int:
        """How much of the root was given."""
        return 4 * len(self.root)


class Held(NamedTuple):
    """What holds, what agrees and proves nothing, and every fault: a sentence each."""

    held: list[str]
    hints: list[str]
    faults: list[str]

    @property
    def sound(self) -> bool:
        """Whether all that was asked is proved."""
        return not self.hints and not self.faults

    def hold(self, tally: Tally, root: str) -> None:
        """Hold a root to a tally of as many records, and note which of the three it is."""
        first = f"first {tally.size:,} records"
        if not root.startswith(tally.root):
            self.faults.append(f"the {first} are not those of the tally {tally.named!r}")
        elif tally.bits < PROVES_FROM:
            self.hints.append(
                f"the {first} agree with the {tally.bits} bits of the tally {tally.named!r}, which "
                f"is a hint and no proof: a book can be forged to agree with fewer than "
                f"{PROVES_FROM} bits. Give a tally with more of its root"
            )
        else:
            self.held.append(
                f"The {first} are those of the tally {tally.named!r}: {tally.bits} bits of its "
                "root agree."
            )


def as_typed(typed: str) -> Tally:
    """A tally as printed. UsageFault where it can't be read."""
    match = _TALLY.fullmatch(typed.strip())
    root = match[2].replace("-", "").lower() if match else ""
    if not match or not 0 < len(root) <= 64:
        raise UsageFault(
            f'--tally: "{typed}" is not a tally: type it as printed, like '
            '"4,812 7F3A-91C0-22D4-0B6E-5A17-C8F3-E049-6BD2"'
        )
    return Tally(typed, int(match[1].replace(",", "")), root)


def is_tally(name: str) -> bool:
    """Whether a file is one that holds a tally, well or badly, and not the lines of a witness."""
    kept = read_json(name)
    return kept is not None and not (isinstance(kept, dict) and "size" in kept)


def as_kept(name: str) -> Tally:
    """The tally in a file that `status --json` wrote. Refused where it is none."""
    kept = read_json(name)
    size, root = (kept.get("records"), kept.get("root")) if isinstance(kept, dict) else (None, None)
    if type(size) is not int or size < 0 or not is_hash(root):
        words = (
            'holds no "records" and "root": give what "fleetcare status --json" or '
            '"fleetcare witness" wrote'
        )
        raise Refused([Problem(name, words)])
    return Tally(name, size, str(root))


def is_hash(value: Any) -> bool:
    """Whether a value is a hash in hex."""
    return isinstance(value, str) and _ROOT.fullmatch(value) is not None


def read_json(name: str) -> Any:
    """What a small JSON file holds; None where it holds none. Refused where it can't be read."""
    try:
        with Path(name).open(encoding="utf-8") as file:
            return json.loads(file.read(_MOST))
    except OSError as fault:
        raise Refused([Problem(name, f"cannot be read: {fault.strerror}")]) from None
    except (ValueError, RecursionError):
        return None
