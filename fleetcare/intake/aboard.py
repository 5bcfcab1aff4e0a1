"""What was aboard at a weighing, in the words of a ticket: "driver, full fuel, no water"."""

from __future__ import annotations

import re

from fleetcare.errors import Problem
from fleetcare.records.kinds import Reading
from fleetcare.trade.measures import read_measure

_WORDS = {
    "driver": ("weighed-driver", "aboard"),
    "no driver": ("weighed-driver", "not-aboard"),
    "full fuel": ("weighed-fuel", "full"),
    "part fuel": ("weighed-fuel", "not-full"),
    "no fuel": ("weighed-fuel", "not-full"),
    "no water": ("weighed-water", "0l"),
    "full gas": ("weighed-gas", "full"),
    "part gas": ("weighed-gas", "not-full"),
    "no gas": ("weighed-gas", "not-full"),
}
_WATER = re.compile(r"water (\S+)|(\S+) water")
_HOW = f"say of each: {', '.join(_WORDS)}, or water with its litres, like water 40l"


def unread(text: str, dimension: str, field: str) -> list[Problem]:
    """What is wrong with a figure as typed; nothing where it can be read."""
    try:
        read_measure(text, dimension)
    except ValueError as wrong:
        return [Problem("", str(wrong), field)]
    return []


def read_aboard(text: str) -> tuple[list[Reading], list[Problem]]:
    """The readings that a list with commas says, and what is none or is said twice."""
    found: list[Reading] = []
    faults: list[Problem] = []
    for part in text.split(","):
        word = " ".join(part.lower().split())
        water = _WATER.fullmatch(word)
        if word in _WORDS:
            one = Reading(_WORDS[word][0], None, _WORDS[word][1])
        elif water:
            one = Reading("weighed-water", None, water[1] or water[2])
            faults += unread(one.figure, "volume", "aboard")
        else:
            faults.append(Problem(f'"{word}"', _HOW, "aboard"))
            continue
        if any(one.what == other.what for other in found):
            faults.append(Problem(f'"{word}"', "is said twice", "aboard"))
        found.append(one)
    return found, faults
