"""Fleets at work: the sleeping fleet copied, and what a firm writes down in a week or over years.

Each builder takes the address of a copy and adds records to it by the ledger's own writer.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import hashlib
import io
import json
import shutil
import sqlite3
import time
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from fleetcare import chance
from fleetcare.records.kinds import (
    Adoption,
    Check,
    Competence,
    Hire,
    Hold,
    Inspector,
    Odometer,
    VanFacts,
    Withdrawal,
)
from fleetcare.records.yard import Back, Out
from fleetcare.store.append import Writer
from fleetcare.store.engine import unsynced, writing
from tests.bench.fleet import TODAY, ready

LONG_AGO = dt.datetime(2026, 11, 2, 12, tzinfo=dt.UTC)
THIS_WEEK = dt.datetime(2026, 11, 20, 12, tzinfo=dt.UTC)
HOME = "xx"  # the second home: Great Britain's rules under other names
HIRES = 30  # past ones of each van
ANSWERS = 100  # kept of one van
_ROOT = Path(__file__).parent.parent.parent
_FLUSHED = 5_000  # records at once
_MORE_CHANGES = [
    {"rule": "electrical-inspection", "from": {"day": "2026-11-20"}, "old_checks": "cut",
     "why": "a wet yard", "months": 11},
    {"rule": "gas-hose-age", "from": {"day": "2026-11-20"}, "old_checks": "keep",
     "why": "perished hoses", "months": 48},
    {"rule": "water-disinfection", "from": {"day": "2026-11-20"}, "old_checks": "keep",
     "why": "hard water", "months": 11},
]  # fmt: skip


@contextlib.contextmanager
def _written(place: str, moment: dt.datetime) -> Iterator[Writer]:
    """A writer of records of one moment; the salts are none that the book has already."""
    with unsynced(), writing(place) as connection:
        writer = Writer(connection, "bench", now=lambda: moment)
        with chance.seeded(f"bench after {writer.size}"):
            yield writer
        writer.flush()


def _asked(place: str, query: str) -> list[tuple[Any, ...]]:
    connection = sqlite3.connect(place)
    try:
        return connection.execute(query).fetchall()
    finally:
        connection.close()


def _vans(place: str) -> list[str]:
    return [van for (van,) in _asked(place, "SELECT DISTINCT van FROM vans ORDER BY van")]


def touched(place: str, every: int) -> None:
    """An odometer reading and a check this week of one van in so many; each fifth of these checks fails."""
    on = THIS_WEEK.date()
    with _written(place, THIS_WEEK) as writer:
        for serial, van in enumerate(_vans(place)[::every]):
            writer.append(Odometer(0, van, on, "42600mi"))
            outcome = "pass" if serial % 5 else "fail"
            writer.append(Check(0, van, "chassis", on, outcome=outcome, by="Lead"))


def tenth_touched(place: str) -> None:
    """One van in ten."""
    touched(place, 10)


def half_touched(place: str) -> None:
    """One van in two."""
    touched(place, 2)


def inspector_added(place: str) -> None:
    """A person with a card, this week, and nothing else."""
    with _written(place, THIS_WEEK) as writer:
        person = writer.append(Inspector(0, "Second"))
        writer.append(
            Competence(0, person.number, "lpg-leisure-vehicle", dt.date(2020, 1, 1), None, "2")
        )


def rules_text(place: str) -> str:
    """The text of the rules in use."""
    query = (
        "SELECT r.text FROM rulebook r JOIN adoptions a ON a.digest = r.digest "
        "ORDER BY a.number DESC LIMIT 1"
    )
    (found,) = _asked(place, query)
    return str(found[0])


def adopted(place: str, text: str, moment: dt.datetime) -> None:
    """A text of rules taken in at a moment."""
    digest = hashlib.sha256(text.encode()).hexdigest()
    with _written(place, moment) as writer:
        writer.keep_rulebook(digest, text)
        writer.append(Adoption(0, digest, "firm", moment.date()))


def with_firm(text: str) -> str:
    """A text with the sample firm's own file, and three changes more."""

    def plain(value: Any) -> Any:
        return {"day": value.isoformat()}

    firm = tomllib.loads((_ROOT / "sample_db" / "firm.toml").read_text("utf-8"))
    firm["change"] = _MORE_CHANGES
    return json.dumps(json.loads(text) | {"firm": firm}, ensure_ascii=False, default=plain)


def rules_adopted(place: str) -> None:
    """The firm's own rules, this week."""
    adopted(place, with_firm(rules_text(place)), THIS_WEEK)


def stated_again(place: str) -> None:
    """A second statement of every van, long ago: a new plate from a day on, or another height."""
    with _written(place, LONG_AGO) as writer:
        for serial, van in enumerate(_vans(place)):
            on = dt.date(2024, 6, 1)
            if serial % 2:
                writer.append(VanFacts(0, van, on, height="2960mm"))
            else:
                writer.append(VanFacts(0, van, on, plate=f"QI{serial % 90 + 10} QIX"))


def let_out(place: str) -> None:
    """Thirty hires of every van over the past, each released and come back."""
    ((digest,),) = _asked(place, "SELECT digest FROM adoptions")
    with _written(place, LONG_AGO) as writer:
        for van in _vans(place):
            _let_out(writer, van, digest)
            if writer.size % _FLUSHED < 3 * HIRES:
                writer.flush()


def _let_out(writer: Writer, van: str, digest: str) -> None:
    for turn in range(HIRES):
        start = TODAY - dt.timedelta(days=60 + 12 * (HIRES - turn))
        through, miles = start + dt.timedelta(days=7), 20_000 + 600 * turn
        hire = writer.append(Hire(0, van, f"{van}-P{turn}", start, through))
        writer.append(
            Out(
                0, van, hire.number, start, "Lead", "yes", hire.number, digest,
                at="10:00", odometer=f"{miles}mi",
            )
        )  # fmt: skip
        writer.append(
            Back(0, van, hire.number, through, "10:00", "Lead", odometer=f"{miles + 500}mi")
        )


def with_home(text: str) -> str:
    """A text with a second home: Great Britain's own rules once more, under other names."""
    files = json.loads(text)
    for name in [one for one in files if one.startswith("gb/")]:
        kept = {key: files[name][key] for key in ("jurisdiction", "rule") if key in files[name]}
        if "rule" in kept:
            kept["rule"] = {
                f"{HOME}-{rule}": {key: said for key, said in table.items() if key != "aliases"}
                for rule, table in kept["rule"].items()
            }
        if kept:
            files[f"{HOME}/{name.removeprefix('gb/')}"] = kept
    return json.dumps(files, ensure_ascii=False)


def second_home(place: str, text: str | None = None) -> None:
    """Half of the vans at home elsewhere from their beginning, by rules taken in long ago."""
    adopted(place, text or with_home(rules_text(place)), LONG_AGO)
    with _written(place, LONG_AGO) as writer:
        for van in _vans(place)[1::2]:
            writer.append(VanFacts(0, van, None, jurisdiction=HOME))


def slips_withdrawn(place: str) -> None:
    """One record in a hundred taken back: the odometer reading of half of the vans."""
    with _written(place, LONG_AGO) as writer:
        for number, van in _asked(place, "SELECT number, van FROM odometers ORDER BY van")[::2]:
            writer.append(Withdrawal(0, number, "slip", van))


def odometers_read(place: str) -> None:
    """Two years of odometer readings of every van, one a month, its works done ten months ago, and
    no distance said."""
    _read_monthly(place, None)


def distances_said(place: str) -> None:
    """The same, and a distance between services, oil and belts of every van."""
    _read_monthly(place, ("20000mi", "12000mi", "60000mi"))


def _read_monthly(place: str, distances: tuple[str, str, str] | None) -> None:
    months = 24
    with _written(place, LONG_AGO) as writer:
        for serial, van in enumerate(_vans(place)):
            driven = [200 + (serial * 31 + month * 17) % 900 for month in range(months)]
            miles = _SHOWS_NOW - sum(driven) - 100
            for month in range(months):
                miles += driven[month]
                on = LONG_AGO.date() - dt.timedelta(days=30 * (months - month))
                writer.append(Odometer(0, van, on, f"{miles}mi"))
                for done in _BY_DISTANCE if month == months - _DONE_BEFORE else ():
                    writer.append(_service(van, done, on, f"{miles}mi"))
            said = dict(zip(_DISTANCES, distances or ("", "", ""), strict=True))
            if distances:
                writer.append(VanFacts(0, van, **said))  # type: ignore[arg-type]
            if serial % 200 == 199:
                writer.flush()


def _service(van: str, what: str, on: dt.date, odometer: str) -> Check:
    return Check(0, van, what, on, outcome="pass", by="M", odometer=odometer)


_DISTANCES = ("service_distance", "oil_distance", "belt_distance")
_SHOWS_NOW = 42_000  # miles, less than the fleet's own readings of this month
_BY_DISTANCE, _DONE_BEFORE = ("chassis", "oil", "timing-belt"), 10  # the works, months ago
WORKING: dict[str, Callable[[str], None]] = {
    "10 % of the vans touched this week": tenth_touched,
    "50 % of the vans touched this week": half_touched,
    "a person with a card added this week": inspector_added,
    "a firm's rules adopted this week": rules_adopted,
    "a second statement of every van": stated_again,
    "30 past hires of every van": let_out,
    "half of the vans at another home": second_home,
}


def worked(folder: Path, vans: int, builder: Callable[[str], None]) -> str:
    """A copy of the sleeping fleet with what a builder adds, made once a run."""
    place = folder / f"fleet-{vans}-{builder.__name__.replace('_', '-')}.db"
    if not place.exists():
        source = ready(folder, vans)
        started = time.perf_counter()
        making = place.with_suffix(".part")
        shutil.copy(source, making)
        builder(str(making))
        making.rename(place)
        print(f"  {builder.__name__} to {vans:,} vans in {time.perf_counter() - started:.0f} s")
    return str(place)


def answers_kept(place: str, answers: int = ANSWERS) -> None:
    """Answers kept of one van, the van touched before each, and held in the end: all of them would
    now be others, and each is asked again after every record since."""
    from tests.typed import typed

    van = _vans(place)[0]
    for turn in range(answers):
        on = TODAY - dt.timedelta(days=answers - turn)
        with _written(place, dt.datetime.combine(on, dt.time(9), dt.UTC)) as writer:
            writer.append(Odometer(0, van, on, f"{30_000 + 10 * turn}mi"))
        start = TODAY + dt.timedelta(days=70)
        with contextlib.redirect_stderr(io.StringIO()):
            typed(place, f"hireable {van} --from {start} --through {start} --on {on} --keep", on)
    with _written(place, THIS_WEEK) as writer:
        writer.append(Hold(0, van, TODAY, "to be looked at"))
