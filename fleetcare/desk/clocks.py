"""What is said where the clock was ahead once, and moments don't tell when records were written."""

from __future__ import annotations

from fleetcare import clock
from fleetcare.store.engine import Connection
from fleetcare.store.moments import Ahead, ahead
from fleetcare.words.days import day_words


def clocks_ahead(connection: Connection) -> list[str]:
    """Every record written down by a clock that was ahead, a sentence each."""
    return [
        f"{_said(one)}. What was known then is asked by a size, like --known-at @{one.last}"
        for one in ahead(connection, clock.now())
    ]


def left_out(connection: Connection, known: int) -> tuple[str, ...]:
    """The same of records that a moment leaves out, which may have been written down before it;
    `known` is how many it leaves in."""
    return tuple(
        f"{_said(one)}, left out here whenever written down. Ask by a size, like "
        f"--known-at @{one.last}"
        for one in ahead(connection, clock.now())
        if one.last > known
    )


def _said(one: Ahead) -> str:
    moment = f"{day_words(one.at.date())} {one.at:%H:%M} UTC"
    bears = f"bears {moment}"
    if one.last > one.number:
        bears = f"to #{one.last} bear moments from {moment} on"
    return f"the clock was ahead when #{one.number} was written down: #{one.number} {bears}"
