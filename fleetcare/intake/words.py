"""Words as typed made into readings and places. What they say is held to the rules in `faults`."""

from __future__ import annotations

from collections.abc import Iterable

from fleetcare.errors import Problem
from fleetcare.records.kinds import Reading


def reading(word: str) -> Reading | Problem:
    """One `what[:place]=figure` as typed."""
    name, equals, figure = word.partition("=")
    what, _, place = name.partition(":")
    if equals and figure and what:
        return Reading(what, place or None, figure)
    how = "type it as what=figure or what:place=figure, like tread:front-left=5.2mm"
    return Problem(f'"{word}"', how, "readings")


def result(word: str) -> Reading | Problem:
    """One `appliance=result` of a gas check."""
    place, equals, figure = word.partition("=")
    if equals and place:
        return Reading("result", place, figure)
    return Problem(f'"{word}"', "type it as appliance=result, like hob=pass", "results")


def places(given: Iterable[tuple[str, str]]) -> tuple[str, ...]:
    """Places as stated, `kind:place`; "none" says there is no such place."""
    words = [(kind, place.strip()) for kind, listed in given for place in listed.split(",")]
    return tuple(f"{kind}:{'' if place == 'none' else place}" for kind, place in words)
