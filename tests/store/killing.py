"""A writer killed at random moments, over and over: `python -m tests.store.killing BOOK ROUNDS SEED`.

Each round a child writes records as fast as it can and says each number once its commit returned;
the parent kills it in the middle. Prints one JSON line: rounds, records acknowledged, what was
lost, and what the check of the book finds at the end of each round.
"""

from __future__ import annotations

import datetime as dt
import json
import os
import random
import select
import signal
import sys

from fleetcare.records.kinds import Check, Reading, VanFacts
from fleetcare.store import facts as stored
from fleetcare.store import ledger
from fleetcare.store.append import Writer
from fleetcare.store.engine import reading, writing


def _write(place: str, out: int) -> None:
    """Write without end: a van and a check of it in one transaction, then say the last number."""
    while True:
        with writing(place) as connection:
            writer = Writer(connection, "Ann")
            van = f"K{writer.size}"
            writer.append(VanFacts(0, van))
            made = writer.append(
                Check(
                    0, van, "tyres", dt.date(2026, 3, 2), by="Bo",
                    readings=(Reading("tread", "front-left", "5mm"),),
                )
            )  # fmt: skip
            writer.flush()
        os.write(out, b"%d\n" % made.number)


def _round(place: str, chance: random.Random) -> int:
    """Let a child write, kill it; the last number it said."""
    inner, outer = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(inner)
        _write(place, outer)
    os.close(outer)
    said, wanted = b"", chance.randrange(4)
    try:
        while said.count(b"\n") < wanted:
            said += os.read(inner, 4096)
        # A moment more, so that the kill falls anywhere in the next write.
        select.select([], [], [], chance.random() * 0.006)
    finally:
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
    while more := os.read(inner, 4096):
        said += more
    os.close(inner)
    whole = said.rpartition(b"\n")[0].split()
    return int(whole[-1]) if whole else 0


def main(place: str, rounds: int, seed: int) -> dict[str, object]:
    """Kill so many times; what was acknowledged, lost and found wrong."""
    chance, acknowledged, lost, faults, between = random.Random(seed), 0, 0, 0, 0
    for number in range(rounds):
        said = _round(place, chance)
        acknowledged = max(acknowledged, said)
        with reading(place) as connection:
            size = stored.size_of(connection)
            lost += max(0, acknowledged - size)
            between += size > acknowledged  # committed, and killed before it could say so
            faults += size % 2  # half a transaction
            if number % 50 == 0 or number == rounds - 1:
                faults += len(list(ledger.faults(connection)))
    return {
        "rounds": rounds, "acknowledged": acknowledged, "lost": lost, "faults": faults,
        "killed_after_commit": between,
    }  # fmt: skip


if __name__ == "__main__":
    print(json.dumps(main(sys.argv[1], int(sys.argv[2]), int(sys.argv[3]))))
