"""A seeded fleet of any size that sleeps: fifty-three records a van, or three times the history.

A small one is written record by record; a large one is a small one laid down again and again.
A fleet at work is made of it in `busy`.
"""

from __future__ import annotations

import datetime as dt
import random
import shutil
import sqlite3
import time
from pathlib import Path

from fleetcare import chance, clock
from fleetcare.desk import keep
from fleetcare.records.kinds import (
    VAN_KINDS,
    Check,
    Competence,
    Defect,
    Fit,
    Hire,
    Inspector,
    Odometer,
    Reading,
    SignOff,
    VanFacts,
    Withdrawal,
)
from fleetcare.store import tables
from fleetcare.store.append import Writer
from fleetcare.store.engine import unsynced, writing

TODAY = dt.date(2026, 11, 23)
_TYRES = ("front-left", "front-right", "rear-left", "rear-right")


def build(place: str, vans: int, *, times: int = 1, withdrawn: bool = False) -> int:
    """Make a book of `vans` vans; `times` their history. Returns how many records it holds."""
    rng = random.Random(7)
    with unsynced(), chance.seeded("bench"):
        with clock.standing_at(dt.datetime(2023, 1, 2, tzinfo=dt.UTC)):
            keep.init(place, "bench")
        with writing(place) as connection:
            writer = Writer(
                connection, "bench", now=lambda: dt.datetime(2026, 11, 2, tzinfo=dt.UTC)
            )
            gas = writer.append(Inspector(0, "Gas"))
            for scope in ("lpg-leisure-vehicle", "extinguisher", "electrical"):
                writer.append(Competence(0, gas.number, scope, dt.date(2000, 1, 1), None, "1"))
            for number in range(vans):
                _van(writer, f"V{number:05d}", gas.number, rng, times, withdrawn)
                if number % 200 == 199:
                    writer.flush()
            writer.flush()
            return writer.size


def _van(
    writer: Writer, van: str, gas: int, rng: random.Random, times: int, withdrawn: bool
) -> None:
    first = dt.date(2020, 1, 1) + dt.timedelta(days=rng.randrange(700))
    fitted = dt.date(2024, 3, 1) + dt.timedelta(days=rng.randrange(300))
    writer.append(
        VanFacts(
            0,
            van,
            None,
            plate=f"QI{rng.randrange(10, 99)} QIQ",
            jurisdiction="gb",
            test_class="motor-caravan",
            first_registered_on=first,
            in_service_from=first,
            max_mass="3500kg",
            front_axle_mass="1850kg",
            rear_axle_mass="2000kg",
            height="2950mm",
            axles="single",
            spare="kit",
            lpg=True,
            mains=True,
            rack=False,
            gas_alarm=False,
            belted_seats=4,
            places=("gas-hose:locker", "appliance:hob", "appliance:heater"),
        )
    )
    for place in _TYRES:
        writer.append(
            Fit(
                0,
                van,
                "tyre",
                place,
                fitted,
                made="0524",
                load_index="112",
                speed_symbol="R",
                cold_pressure="65psi",
            )
        )
    for what, place, more in (
        ("smoke-alarm", "living-area", {"made": "2023-06"}),
        ("co-alarm", "living-area", {"made": "2023-06", "variety": "en-50291-2"}),
        ("extinguisher", "door", {"made": "2023-06", "variety": "powder"}),
        ("fire-blanket", "kitchen", {}),
        ("first-aid-kit", "cab", {"replace_by": "2028-01"}),
        ("gas-hose", "locker", {"made": "2023-06"}),
        ("regulator", "locker", {"made": "2023-06"}),
        ("appliance", "hob", {}),
        ("appliance", "heater", {}),
        ("rcd", "consumer-unit", {}),
        ("hook-up-lead", "locker", {}),
    ):
        writer.append(Fit(0, van, what, place, first + dt.timedelta(days=40), **more))
    _history(writer, van, gas, rng, times)
    for ref in range(3):
        start = TODAY + dt.timedelta(days=rng.randrange(-10, 5) + 20 * ref)
        writer.append(Hire(0, van, f"{van}-{ref}", start, start + dt.timedelta(days=7)))
    defect = writer.append(Defect(0, van, TODAY - dt.timedelta(days=90), "major", "wiper"))
    writer.append(SignOff(0, van, defect.number, TODAY - dt.timedelta(days=88), by="Lead"))
    odometer = writer.append(Odometer(0, van, TODAY - dt.timedelta(days=9), "42310mi"))
    if withdrawn and rng.random() < 0.53:
        writer.append(Withdrawal(0, odometer.number, "slip", van))


def _history(writer: Writer, van: str, gas: int, rng: random.Random, times: int) -> None:
    """Thirty-one checks and papers, the last year's newest; repeated further back for `times`."""
    for back in range(times):
        for year in range(4):
            years = back * 4 + year
            day = TODAY - dt.timedelta(days=365 * years + rng.randrange(20, 340))
            pressed = {"by": "Lead"}
            writer.append(
                Check(
                    0,
                    van,
                    "gas-safety",
                    day,
                    outcome="pass",
                    inspector=gas,
                    certificate=f"{van}{years}",
                )
            )
            writer.append(
                Check(
                    0,
                    van,
                    "roadworthiness",
                    day,
                    outcome="pass",
                    certificate=f"T{van}{years}",
                    last_day=day + dt.timedelta(days=360),
                )
            )
            writer.append(Check(0, van, "electrical", day, outcome="pass", inspector=gas))
            writer.append(Check(0, van, "extinguisher-basic", day, outcome="pass", inspector=gas))
            writer.append(Check(0, van, "chassis", day, outcome="pass", **pressed))
            writer.append(
                Check(
                    0,
                    van,
                    "insurance",
                    day,
                    outcome="pass",
                    from_on=day,
                    last_day=day + dt.timedelta(days=364),
                )
            )
            if year < 2:
                writer.append(
                    Check(
                        0,
                        van,
                        "tax",
                        day,
                        outcome="pass",
                        from_on=day,
                        last_day=day + dt.timedelta(days=364),
                    )
                )
                writer.append(
                    Check(
                        0,
                        van,
                        "habitation",
                        day,
                        outcome="pass",
                        **pressed,
                        readings=(Reading("damp", "roof", str(rng.randrange(9, 19))),),
                    )
                )
                writer.append(Check(0, van, "water", day, outcome="pass", **pressed))
        writer.append(
            Check(
                0,
                van,
                "brake-fluid",
                TODAY - dt.timedelta(days=300 + 700 * back),
                outcome="pass",
                by="Lead",
            )
        )


SHARED = 5  # records of no van, and first: the rules taken in, one person, three cards


def ready(folder: Path, vans: int, **how: object) -> str:
    """A book built once a run and kept in `folder`."""
    named = "-".join(f"{k}{v}" for k, v in how.items())
    place = folder / f"fleet-{vans}{named}.db"
    if not place.exists():
        started = time.perf_counter()
        records = build(str(place), vans, **how)  # type: ignore[arg-type]
        print(
            f"  built {vans:,} vans, {records:,} records in {time.perf_counter() - started:.0f} s"
        )
    return str(place)


def repeated(folder: Path, vans: int, times: int) -> str:
    """The fleet of `vans` vans laid down `times` times under other fleet numbers.

    It is written past the program, in a tenth of the time: rows and words are as the program would
    have written them, leaves and root are not. `due` reads neither.
    """
    place = folder / f"fleet-{vans}x{times}.db"
    if place.exists():
        return str(place)
    source = ready(folder, vans)
    started = time.perf_counter()
    shutil.copy(source, place)
    connection = sqlite3.connect(place, isolation_level=None)
    for setting in ("synchronous = OFF", "journal_mode = OFF", "cache_size = -400000"):
        connection.execute(f"PRAGMA {setting}")
    connection.execute("ATTACH ? AS base", (source,))
    connection.execute("BEGIN")
    size = connection.execute("SELECT size FROM base.ledger_head").fetchone()[0]
    for turn in range(1, times):
        _laid_down(connection, turn, vans, size - SHARED)
    connection.execute("UPDATE main.ledger_head SET size = ?", (SHARED + (size - SHARED) * times,))
    connection.execute("COMMIT")
    connection.execute("DETACH base")
    connection.execute("PRAGMA journal_mode = WAL")  # as every book of the program's is
    connection.close()
    print(f"  laid down {vans * times:,} vans in {time.perf_counter() - started:.0f} s")
    return str(place)


def _laid_down(connection: sqlite3.Connection, turn: int, vans: int, records: int) -> None:
    """The base's vans once more: other fleet numbers, record numbers, words and references."""
    listed = [tables.record, tables.readings, *(tables.TABLES[r] for r in VAN_KINDS.values())]
    van = f"printf('V%05d', CAST(substr(van, 2) AS INTEGER) + {vans * turn})"
    # The last letters give way to ones no digest has, so that no word meets its like.
    other = "substr({0}, 1, length({0}) - 3) || " + f"printf('t%02d', {turn})"
    connection.execute(
        f"INSERT INTO main.said SELECT {other.format('commitment')}, salt, text FROM base.said"
    )
    for table in listed:
        columns = {}
        for column in table.c:
            name, points = f'"{column.name}"', {key.target_fullname for key in column.foreign_keys}
            columns[name] = name
            if column.name == "van":
                columns[name] = van
            elif column.name == "number" or "record.number" in points:
                columns[name] = (
                    f"CASE WHEN {name} > {SHARED} THEN {name} + {records * turn} ELSE {name} END"
                )
            elif "said.commitment" in points:
                columns[name] = other.format(name)
            elif column.name in ("ref", "certificate"):
                columns[name] = f"replace({name}, van, {van})"
        connection.execute(
            f"INSERT INTO main.{table.name} ({', '.join(columns)}) "
            f"SELECT {', '.join(columns.values())} FROM base.{table.name} WHERE van IS NOT NULL"
        )


def sample(folder: Path) -> str:
    """The sample fleet, typed once a run."""
    from fleetcare.cli.demo import run
    from fleetcare.desk import sample as typed

    place = folder / "sample.db"
    if not place.exists():
        started = time.perf_counter()
        typed.build(place, run)
        print(f"  typed the sample in {time.perf_counter() - started:.0f} s")
    return str(place)


__all__ = ["TODAY", "build", "clock", "ready", "repeated", "sample"]
