"""Every way in is one way: typed, put right, loaded and read from a sheet, a record with a fault
is refused with the same words. Made up for every plain kind and every field of it: values that
cannot be what the field holds, blank ones, days that have not come, words that no rulebook knows.
"""

from __future__ import annotations

import datetime as dt
import json
import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import openpyxl
import pytest
import sqlalchemy as sa

from fleetcare import clock
from fleetcare.desk import (
    checks,
    correct,
    defects,
    events,
    filling,
    fitted,
    hires,
    load,
    people,
    work,
)
from fleetcare.desk import vans as desk_vans
from fleetcare.desk.asking import asking
from fleetcare.errors import Declined, Problem, Refused
from fleetcare.intake.columns import TABLES
from fleetcare.records.fields import Field, Is, fields_of
from fleetcare.records.kinds import (
    FIXED,
    KIND_OF,
    LOADED,
    Check,
    Competence,
    Defect,
    Event,
    Expectation,
    Fit,
    FleetPaper,
    Gone,
    Hire,
    Hold,
    Inspector,
    LayUp,
    Lift,
    Odometer,
    Reading,
    Recall,
    RecallDone,
    Recheck,
    Repair,
    SignOff,
    TakeOff,
    VanFacts,
    Visit,
)
from fleetcare.store import tables
from tests.typed import NOON, typed_all
from tests.vans import GOOD

D = dt.date.fromisoformat
TODAY = D("2026-08-01")
# What each van has that a record may point to.
_BEFORE = """
defect report {v} "Wiper torn" --grade minor --on 2026-07-01 --by "B. Smith" --recheck-by 2026-07-28
hold {v} --from 2026-07-01 --through 2026-07-02 "windscreen"
recall {v} R-1 --do-by 2026-12-01 --on 2026-07-01 "software"
"""


@pytest.fixture(scope="session")
def two_vans(tmp_path_factory: pytest.TempPathFactory, ready_template: bytes) -> Path:
    """A book with two vans in good order: a record is put right on one and tried on the other."""
    file = tmp_path_factory.mktemp("two") / "two.db"
    file.write_bytes(ready_template)
    second = [
        line.replace("V01", "V02").replace("QI24 QIQ", "QI25 QIQ").replace(" G1", " G2")
        for line in GOOD.splitlines()
        if not line.startswith("inspector")
    ]
    lines = [*GOOD.splitlines(), *second]
    lines += [line for v in ("V01", "V02") for line in _BEFORE.format(v=v).splitlines()]
    typed_all(str(file), lines, TODAY)
    return file


# A good record of each kind; what it points to is the van's newest of that kind.
GOODS: tuple[Any, ...] = (
    VanFacts(
        0, "V02", D("2026-06-01"), plate="{v} QIQ", seats=4, max_mass="3500kg", height="2900mm",
        test_class="motor-caravan", axles="single", spare="kit", lpg=True,
        first_registered_on=D("2024-05-01"),
    ),
    Fit(0, "V02", "regulator", "locker", D("2026-06-01"), "09:00", made="2025-01"),
    Fit(
        0, "V02", "tyre", "front-left", D("2026-06-01"), made="0525", load_index="112",
        speed_symbol="R", cold_pressure="65psi",
    ),
    Fit(0, "V02", "extinguisher", "door", D("2026-06-01"), made="2025-01", variety="powder"),
    Fit(
        0, "V02", "bike-rack", "rear", D("2026-06-01"), rating="60kg", own_mass="15kg", bikes=2,
        electric_bikes=1, behind_rear_axle="1900mm",
    ),
    TakeOff(0, "V02", "fire-blanket", "kitchen", D("2026-07-20"), "09:00"),
    Odometer(0, "V02", D("2026-06-01"), "42310mi", "09:00"),
    Check(
        0, "V02", "habitation", D("2026-06-01"), "09:00", "pass", None, "B. Smith",
        odometer="42310mi", words="all well", readings=(Reading("damp", "rooflight", "12"),),
    ),
    Check(
        0, "V02", "insurance", D("2026-06-01"), None, "pass", certificate="P-{v}",
        from_on=D("2026-06-01"), last_day=D("2027-05-31"),
    ),
    Check(
        0, "V02", "tyres", D("2026-06-01"), None, None, None, "B. Smith",
        readings=(Reading("tread", "front-left", "6.1mm"),),
    ),
    Defect(
        0, "V02", D("2026-06-01"), "minor", "Blind sticks", "09:00", "B. Smith",
        recheck_by=D("2026-08-20"), about="tyre-walls", odometer="42310mi",
    ),
    Repair(0, "V02", -1, D("2026-07-02"), "B. Smith", "new one"),
    Recheck(0, "V02", -1, D("2026-07-02"), D("2026-07-20"), "B. Smith", "looked at"),
    SignOff(0, "V02", -1, D("2026-07-03"), "09:00", None, "C. Jones", "seen"),
    Hold(0, "V02", D("2026-08-20"), "guests", D("2026-08-21")),
    Lift(0, "V02", -1, D("2026-07-02"), "C. Jones", "in"),
    Recall(0, "V02", "R-2", D("2026-07-01"), "belt", do_by=D("2026-12-01")),
    RecallDone(0, "V02", -1, D("2026-07-02"), "Fell Motors", "W-1"),
    Event(0, "V02", "knock", D("2026-06-02"), "09:00", "W. Yard", None, "gatepost"),
    Hire(0, "V02", "H-{v}", D("2027-07-03"), D("2027-07-17"), bikes=1),
    Hire(
        0, "V02", "HP-{v}", D("2027-08-03"), D("2027-08-17"), collect_at="14:00",
        return_at="10:00", pencilled_on=D("2027-07-01"), pencilled_at="12:00",
    ),
    Visit(
        0, "V02", D("2027-09-01"), D("2027-09-02"), "Fell Motors", ("chassis-service",), "all of it",
        "seal", D("2027-08-30"),
    ),
    Expectation(0, "V02", "habitation", D("2027-09-01")),
    LayUp(0, "V02", D("2026-11-30"), "off the road", D("2027-03-01")),
    Gone(0, "V02", D("2027-12-01"), "sold"),
    FleetPaper(
        0, "insurance", D("2026-06-01"), D("2026-06-01"), D("2027-05-31"), ("V01", "V02"), "F-1"
    ),
    Inspector(0, "New {v}"),
    Competence(0, -1, "extinguisher", D("2026-01-01"), D("2026-12-31"), "77"),
)  # fmt: skip

_BAD: dict[Is, tuple[Any, ...]] = {
    Is.WORD: ("", "  ", "a\nb", "zz-no-such"),
    Is.PERSON: ("", " ", "a\tb"),
    Is.SAID: ("", " ", "a\nb"),
    Is.CLOCK: ("25:99", "9:00", ""),
    Is.DAY: (D("2026-08-02"), D("2199-12-31"), D("1900-01-01")),
    Is.MEASURE: ("12", "-3kg", "4 parsecs", "", "99999999mm"),
    Is.COUNT: (0, 60),
    Is.FLAG: (True, False),
}
_ROWS: dict[tuple[type, str], tuple[Any, ...]] = {
    (Check, "readings"): (
        (Reading("tread", "nowhere", "6mm"),),
        (Reading("damp", None, "12"), Reading("damp", None, "30")),
        (Reading("zz", None, "12"),),
        (Reading("tread", "front-left", "6"),),
        (Reading("damp", "rooflight", "soaked"),),
        (),
    ),
    (Hire, "bike_kg"): (("heavy",), ("12", "13")),
    (Hire, "abroad"): (("XX",), ("fr",), ("GB",)),
    (FleetPaper, "vans"): (("V99",), (), ("V01", "V01")),
}
# Typed with a verb that asks for them, so that they can't be left out or said otherwise there.
_NOT_TYPED = {
    (FleetPaper, "vans"),  # typed, it is every van on fleet that day
    (Hire, "licence_seen_on"),  # typed, it is the day of typing
    (VanFacts, "places"),  # typed as places and as yes or no: nothing else can be said
    (VanFacts, "has"),
    (LayUp, "from_on"),  # typed without it, the lay-up that stands is put right
}


# What a sheet has a column for: there a cell that holds nothing is left out, and a bare figure has
# the unit of its heading.
_ON_SHEETS = {
    (table.record, column.field)
    for table in TABLES.values()
    for column in table.columns
    if not column.unit and table.record is not VanFacts  # a row adds a van, and changes none
}


def _typed(place: str, new: Any) -> list[str]:
    """A record through what the command line calls, as it calls it; nothing is written."""
    return _CALLS[type(new)](place, new)


def _fleet_or_van(place: str, new: Check | FleetPaper) -> list[str]:
    said = {n: v for n, v in new._asdict().items() if n in checks.Done._fields and v is not None}
    rows = said.pop("readings", ())
    named = [f"{r.what}:{r.place}" if r.place else r.what for r in rows]
    said["readings"] = tuple(f"{n}={r.figure}" for n, r in zip(named, rows, strict=True))
    van = new.van if isinstance(new, Check) else "fleet"
    return checks.record(place, "Test", van, checks.Done(**said), dry_run=True)


def _stated(place: str, new: VanFacts) -> list[str]:
    own = ("number", "van", "on", "places", "has")
    said = {name: value for name, value in new._asdict().items() if name not in own}
    return desk_vans.van_change(
        place, "Test", new.van, new.on, desk_vans.Said(said, [], {}), dry_run=True
    )


def _plain(call: Callable[..., list[str]], *more: Any) -> Callable[[str, Any], list[str]]:
    return lambda place, new: call(place, "Test", new, *more, dry_run=True)


_CALLS: dict[type, Callable[[str, Any], list[str]]] = {
    VanFacts: _stated,
    Fit: _plain(fitted.fit),
    TakeOff: _plain(fitted.take_off),
    Odometer: _plain(fitted.odometer),
    Check: _fleet_or_van,
    FleetPaper: _fleet_or_van,
    Defect: _plain(defects.report, None),
    Repair: _plain(defects.repair),
    Recheck: _plain(defects.recheck),
    SignOff: _plain(defects.sign_off),
    Hold: _plain(defects.hold),
    Lift: _plain(defects.lift),
    Recall: _plain(events.recall),
    RecallDone: _plain(events.recall_done),
    Event: _plain(events.event, None),
    Visit: _plain(work.book),
    Expectation: _plain(checks.expect),
    Hire: lambda place, new: hires.hire_add(place, "Test", hires.New(new), dry_run=True)[0],
    LayUp: lambda place, new: desk_vans.lay_up(
        place, "Test", new.van, (new.from_on, new.back_on), new.words, dry_run=True
    ),
    Gone: lambda place, new: desk_vans.gone(
        place, "Test", new.van, new.on, new.words, dry_run=True
    ),
    Inspector: lambda place, new: people.inspector_add(
        place, "Test", new.name, people.Card(), dry_run=True
    ),
    Competence: lambda place, new: people.inspector_add(
        place, "Test", "A. Fitter", people.Card(*new[2:3], new[5], *new[3:5]), dry_run=True
    ),
}


def _loaded(place: str, new: Any, folder: Path, *, dry_run: bool = True) -> list[str]:
    line: dict[str, Any] = {"kind": KIND_OF[type(new)]}
    for field in fields_of(type(new)):
        value = getattr(new, field.name)
        if field.name == "number" or value is None:
            continue
        if field.holds is Is.NUMBER:
            value = f"#{value}"
        elif field.holds is Is.DAY:
            value = value.isoformat()
        elif field.holds is Is.PART:
            value = [{k: v for k, v in row._asdict().items() if v is not None} for row in value]
        line[field.name] = value
    file = folder / "facts.jsonl"
    file.write_text(json.dumps(line) + "\n", "utf-8")
    return load.load(place, "Test", str(file), dry_run=dry_run)


def _on_a_sheet(place: str, new: Any, folder: Path) -> list[str]:
    """A row of a sheet, of the fields it has columns for."""
    kind = next(k for k, table in TABLES.items() if table.record is type(new))
    headings = {column.field: column.heading for column in TABLES[kind].columns}
    row: dict[str, Any] = {}
    for field in fields_of(type(new)):
        value = getattr(new, field.name)
        if (
            field.name not in headings
            or value in (None, ())
            or (value == 0 and field.name != "people")
        ):
            continue
        if field.holds is Is.FLAG:
            value = "yes" if value else "no"
        elif field.holds is Is.PART:
            named = [f"{r.what}:{r.place}" if r.place else r.what for r in value]
            value = "; ".join(f"{n}={r.figure}" for n, r in zip(named, value, strict=True))
        row[headings[field.name]] = value
    file = folder / "filled.xlsx"
    _filled(file, TABLES[kind].sheet, row)
    found = filling.read(place, "Test", str(file), dry_run=True)
    if found.faults:
        raise Refused(list(found.faults))
    return found.said


def _filled(file: Path, sheet: str, row: dict[str, Any]) -> None:
    """A workbook of one row; that a blank of ours is filled so is test_filling's to show."""
    book = openpyxl.Workbook()
    page = book.active
    page.title = sheet
    page.append(list(row))
    page.append(list(row.values()))
    book.save(file)


def _refused(call: Callable[[], Any]) -> list[str] | None:
    """The words a call is refused with, whose van and whichever numbers; None where it isn't."""
    try:
        call()
    except Refused as fault:
        return sorted({_plainly(problem) for problem in fault.problems})
    except Declined:  # the clerk hears a no; what a booking of another program is, is kept
        return None
    return None


def _plainly(problem: Problem) -> str:
    words = problem.message.replace(": --pass or --fail", ", with pass or fail")
    if re.search(r"\bif it is true,? (add|fill in)", words, re.IGNORECASE):
        return "true all the same?"
    return re.sub(r"V0[12]", "VAN", re.sub(r"#\d+", "#", words))


def _linked(place: str, new: Any, van: str) -> Any:
    """A record of a van, pointing to that van's newest record of each sort."""
    with asking(place) as asked:
        facts = asked.facts(van)
        newest = {
            "defect": facts.defects[0].number, "hold": facts.holds[0].number,
            "recall": facts.recalls[0].number,
            "inspector": next(iter(facts.shared.inspectors)),
        }  # fmt: skip
    said = {n: newest[n] for n in new._fields if getattr(new, n) == -1}
    if "van" in new._fields:
        said["van"] = van
    for name, value in new._asdict().items():
        if isinstance(value, str) and "{v}" in value:
            said[name] = value.format(v=van)
    return new._replace(**said)


def _bad_values(new: Any, field: Field) -> Iterator[Any]:
    values = _ROWS.get((type(new), field.name)) or _BAD.get(field.holds, ())
    yield from (value for value in values if value != getattr(new, field.name))


def test_every_plain_kind_is_tried() -> None:
    """There is a good record of every kind that may come from a file, and a way to type it."""
    assert {type(new) for new in GOODS} == set(_CALLS) == set(LOADED.values())


class _Try:
    """One record tried by every way into a book where its twin stands already."""

    def __init__(self, place: str, good_one: Any, folder: Path) -> None:
        self.place, self.folder = place, folder
        _loaded(place, _linked(place, good_one, "V01"), folder, dry_run=False)
        self.twin = _newest(place, type(good_one))
        self.base = _linked(place, good_one, "V02")

    def ways(self, field: str, value: Any) -> dict[str, list[str] | None]:
        """What each way refuses the record with when one field of it has a value."""
        new = self.base._replace(**{field: value})
        said = correct.Correction({field: value})
        found = {
            "loaded": _refused(lambda: _loaded(self.place, new, self.folder)),
            "corrected": _refused(
                lambda: correct.correct(self.place, "Test", self.twin, "why", said, dry_run=True)
            ),
        }
        if (type(new), field) not in _NOT_TYPED and (field, value) != ("place", ""):
            found["typed"] = _refused(lambda: _typed(self.place, new))
        blank = isinstance(value, str) and not value.strip()  # a cell left empty states nothing
        if (type(new), field) in _ON_SHEETS and not blank:
            found["on a sheet"] = _refused(lambda: _on_a_sheet(self.place, new, self.folder))
        return found


def _alike(ways: dict[str, list[str] | None], of: tuple[type, str]) -> bool:
    """Whether all ways refuse with the same words, or none does. A sheet says before them which
    reading of the cell is meant; a kind of check is typed by any name it has, and asked back."""
    if of in ((Check, "what"), (FleetPaper, "what")) and "typed" in ways:
        return len({words is None for words in ways.values()}) == 1
    words = ways["loaded"]
    if words is None:
        return set(map(json.dumps, ways.values())) == {"null"}
    said = [found for found in ways.values() if found is not None]
    ends = [[one for one in words if any(each.endswith(one) for each in found)] for found in said]
    counts = {len(found) for found in said}
    return len(said) == len(ways) and counts == {len(words)} and all(e == words for e in ends)


def _id(good_one: Any) -> str:
    what = getattr(good_one, "what", "")
    return f"{KIND_OF[type(good_one)]} {what}".strip().replace(" ", "-")


@pytest.mark.parametrize("good_one", GOODS, ids=_id)
def test_what_one_way_refuses_all_refuse(good_one: Any, two_vans: Path, tmp_path: Path) -> None:
    """Each field with each value: the same words, or taken in, by every way in."""
    place = str(shutil.copy(two_vans, tmp_path / "fleet.db"))
    refused, differ = 0, []
    with clock.standing_at(dt.datetime.combine(TODAY, NOON, dt.UTC)):
        tried = _Try(place, good_one, tmp_path)
        assert _typed(place, tried.base) and _loaded(place, tried.base, tmp_path)
        for field in fields_of(type(good_one)):
            if field.holds is Is.NUMBER or field.name in FIXED[type(good_one)]:
                continue
            for value in _bad_values(tried.base, field):
                ways = tried.ways(field.name, value)
                refused += any(ways.values())
                if not _alike(ways, (type(good_one), field.name)):
                    differ.append((field.name, value, ways))

    assert differ == []
    assert refused > 0


def _newest(place: str, record: type) -> int:
    with asking(place) as asked:
        query = sa.select(sa.func.max(tables.TABLES[record].c.number))
        return int(asked.connection.execute(query).scalar_one())
