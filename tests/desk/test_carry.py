"""The book carried elsewhere and back, and facts other programs write to us."""

from __future__ import annotations

import datetime as dt
import json
import sqlite3
from pathlib import Path
from typing import Any

import pytest

from fleetcare import clock
from fleetcare.desk import calls, load, questions, trust
from fleetcare.desk.asking import asking
from fleetcare.errors import DatabaseFault, Refused
from fleetcare.render import due
from fleetcare.rules.party import NO_BIKES
from tests.typed import typed, typed_all
from tests.vans import GOOD

DAY = dt.date(2026, 8, 1)
SAMPLE_DAY = dt.date(2026, 11, 23)


def _due(place: str) -> str:
    return due.due_wide(questions.due(place, SAMPLE_DAY, None))


def test_a_dump_loads_into_either_engine_and_nothing_differs(
    sample_book: str, place: str, tmp_path: Path
) -> None:
    """Root, tally, due report, answers and history are the same; dumped again, the same bytes."""
    first, again = tmp_path / "first.jsonl", tmp_path / "again.jsonl"
    typed(sample_book, f"dump -o {first}", SAMPLE_DAY)
    typed(place, f"load {first}", SAMPLE_DAY)
    typed(place, f"dump -o {again}", SAMPLE_DAY)

    assert again.read_bytes() == first.read_bytes()
    assert trust.status(place)[:5] == trust.status(sample_book)[:5]
    assert trust.verify(place).faults == []
    assert _due(place) == _due(sample_book)
    for line in ("history V03 --json", "answers V03 --json", "van show V03 --json"):
        assert typed(place, line, SAMPLE_DAY) == typed(sample_book, line, SAMPLE_DAY)
    assert questions.due(place, SAMPLE_DAY, None, _known(300)).items == (
        questions.due(sample_book, SAMPLE_DAY, None, _known(300)).items
    )


def _known(size: int) -> Any:
    from fleetcare.desk.asking import KnownAt

    return KnownAt(size=size)


def test_a_dump_loads_into_a_path_where_nothing_is(good: str, tmp_path: Path) -> None:
    """A new book is made whole, and can be written to like any other."""
    typed(good, f"dump -o {tmp_path}/book.jsonl", DAY)
    new = str(tmp_path / "new.db")
    printed = typed(new, f"load {tmp_path}/book.jsonl", DAY)
    typed(new, "odometer V01 5000mi", DAY)

    assert printed == f'Loaded into "{new}": 29 records, tally {trust.status(good).tally}.\n'
    assert trust.verify(new).head.size == 30


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda lines: lines[:-1], "it was cut short or changed; nothing was loaded"),
        (lambda lines: [*lines[:9], *lines[10:]], "is to come next): nothing was loaded"),
        (
            lambda lines: [one.replace('"3500kg"', '"3500.0kg"') for one in lines],
            "it was cut short or changed",
        ),
        (
            lambda lines: [one.replace('"text":"A. Fitter"', '"text":"A. Fitted"') for one in lines],
            "it was cut short or changed",
        ),
        (lambda lines: [one.replace('months\\": 12', 'months\\": 13') for one in lines],
         "(the rules are not those of their digest): nothing was loaded"),
        (lambda lines: [*lines, "{"], "is not a line of a dump"),
        (lambda lines: [*lines, "[]"], "is not a line of a dump"),
        (lambda lines: [*lines, '{"x":1}'], "it is neither record, rulebook nor paper"),
        (lambda lines: [lines[0].replace("dump/1", "dump/9"), *lines[1:]], "is a dump of the form dump/9"),
        (lambda lines: [one.replace("2026-08-01T", "2026-08-02T", 1) if '"number":9,' in one else one
                        for one in lines], "nothing was loaded"),
        (lambda lines: [one.replace('"lpg":true', '"lpg":1') for one in lines], "lpg is not what it should be"),
        (lambda lines: [one.replace('"berths"', '"beds"').replace('"seats"', '"beds"').replace('"spare"', '"sparr"')
                        for one in lines], "nothing was loaded"),
    ],
)  # fmt: skip
def test_a_dump_that_was_touched_is_not_loaded(
    good: str, tmp_path: Path, change: Any, says: str
) -> None:
    """Cut, thinned, a figure, a name, a rule, a moment, a type or a key changed: nothing is kept."""
    typed(good, f"dump -o {tmp_path}/book.jsonl", DAY)
    lines = (tmp_path / "book.jsonl").read_text().splitlines()
    touched = change(lines)
    assert touched != lines
    (tmp_path / "bad.jsonl").write_text("\n".join(touched) + "\n")

    with pytest.raises(Refused) as refused:
        typed(str(tmp_path / "new.db"), f"load {tmp_path}/bad.jsonl", DAY)
    assert says in str(refused.value)
    assert list(tmp_path.glob("new.db*")) == []


def test_a_whole_dump_goes_into_an_empty_book_only(good: str, place: str, tmp_path: Path) -> None:
    """A book that holds anything is left as it is; a dry run makes none."""
    typed(good, f"dump -o {tmp_path}/book.jsonl", DAY)
    typed(place, "init", DAY)
    for extra in ("", " --dry-run"):
        with pytest.raises(Refused) as refused:
            typed(place, f"load {tmp_path}/book.jsonl{extra}", DAY)
        assert str(refused.value) == (
            "--db: a whole dump goes into an empty book, and this one holds 1 record: name a path "
            "where nothing is yet"
        )
    printed = typed(str(tmp_path / "new.db"), f"load {tmp_path}/book.jsonl --dry-run", DAY)

    assert printed.splitlines()[1] == "Dry run: nothing was written."
    assert not (tmp_path / "new.db").exists()
    with pytest.raises(Refused, match="is there already"):
        typed(good, f"dump -o {tmp_path}/book.jsonl", DAY)


# What GOOD types, as another program would write it.
FACTS = [
    {"kind": "inspector", "name": "A. Fitter"},
    {"kind": "competence", "inspector": "A. Fitter", "scope": "lpg-leisure-vehicle",
     "register_no": "12345", "from_on": "2015-01-01"},
    {"kind": "inspector", "name": "E. Tester"},
    {"kind": "competence", "inspector": "E. Tester", "scope": "extinguisher", "from_on": "2015-01-01"},
    {"kind": "van", "van": "V01", "plate": "QI24 QIQ", "jurisdiction": "gb",
     "test_class": "motor-caravan", "first_registered_on": "2024-05-01",
     "in_service_from": "2024-05-10", "max_mass": "3500kg", "front_axle_mass": "1850kg",
     "rear_axle_mass": "2000kg", "height": "2900mm", "wheelbase": "4035mm", "axles": "single",
     "spare": "kit", "lpg": True, "mains": False, "rack": True, "gas_alarm": False,
     "places": ["gas-hose:locker", "appliance:hob", "appliance:heater"]},
    *({"kind": "fit", "van": "V01", "what": "tyre", "place": place, "made": "0524",
       "on": "2024-05-01", "load_index": "112", "speed_symbol": "R", "cold_pressure": "65psi"}
      for place in ("front-left", "front-right", "rear-left", "rear-right")),
    *({"kind": "fit", "van": "V01", "on": "2024-05-01"} | one for one in (
        {"what": "smoke-alarm", "place": "living-area", "made": "2024-01"},
        {"what": "co-alarm", "place": "living-area", "made": "2024-01", "variety": "en-50291-2"},
        {"what": "extinguisher", "place": "door", "made": "2024-01", "variety": "powder"},
        {"what": "fire-blanket", "place": "kitchen"},
        {"what": "first-aid-kit", "place": "cab", "replace_by": "2029-01"},
        {"what": "gas-hose", "place": "locker", "made": "2024-01"},
        {"what": "regulator", "place": "locker", "made": "2024-01"},
        {"what": "appliance", "place": "hob"},
        {"what": "appliance", "place": "heater"},
        {"what": "bike-rack", "place": "rear", "rating": "60kg", "own_mass": "15kg",
         "behind_rear_axle": "1900mm"},
    )),
    {"kind": "check", "van": "V01", "what": "gas-safety", "on": "2025-08-10", "outcome": "pass",
     "inspector": "A. Fitter", "certificate": "G1"},
    {"kind": "check", "van": "V01", "what": "rack", "on": "2026-05-01", "outcome": "pass",
     "by": "B. Smith"},
    {"kind": "check", "van": "V01", "what": "extinguisher-basic", "on": "2026-05-01",
     "outcome": "pass", "inspector": "E. Tester"},
    *({"kind": "check", "van": "V01", "what": what, "on": "2026-04-01", "outcome": "pass",
       "by": "B. Smith"} for what in ("habitation", "chassis", "water", "brake-fluid")),
    *({"kind": "check", "van": "V01", "what": what, "on": "2026-04-01", "outcome": "pass",
       "from_on": "2026-04-01", "last_day": "2028-03-31"} for what in ("insurance", "tax")),
]  # fmt: skip


def _written(folder: Path, facts: list[dict[str, Any]]) -> Path:
    file = folder / "facts.jsonl"
    file.write_text("".join(f"{json.dumps(one)}\n" for one in facts))
    return file


def _judged(place: str) -> list[tuple[Any, ...]]:
    """How every rule stands on every day, record numbers aside."""
    with asking(place) as asked:
        return [
            (o.rule.name, o.place, [(s.start, s.verdict, s.code) for s in o.timeline.steps])
            for o in asked.judged("V01").outcomes
        ]


def test_facts_loaded_are_judged_as_facts_typed(good: str, tmp_path: Path) -> None:
    """The same van written by another program stands alike under every rule on every day."""
    assert len(GOOD.strip().splitlines()) < len(FACTS)
    file = _written(tmp_path, FACTS)
    with asking(good) as asked:
        typed_book = _judged(good)
        assert asked.as_of.known_at == 29
    fresh = str(tmp_path / "fresh.db")
    typed(fresh, "init", DAY)
    printed = typed(fresh, f"load {file}", DAY)

    assert printed.splitlines()[0] == (
        "Loaded from #2 to #29: 2 × inspector, 2 × competence, 1 × van, 14 × fit, 9 × check."
    )
    assert _judged(fresh) == typed_book
    assert trust.verify(fresh).faults == []


def test_every_fault_is_told_with_its_line_and_nothing_is_written(
    good: str, tmp_path: Path
) -> None:
    """Wrong words, days, units, references and doubles, all at once, in order of line."""
    before = trust.status(good)
    file = tmp_path / "bad.jsonl"
    file.write_text(
        '{"kind":"vann","van":"V21"}\n'
        '{"kind":"check","van":"V01","what":"gas-safty","on":"2026-03-02","outcome":"pass"}\n'
        '{"kind":"check","van":"V01","what":"chassis","on":"2026-3-2","outcome":"pass"}\n'
        '{"kind":"check","van":"V01","what":"chassis","on":"2026-03-02","outcome":"pass",'
        '"readings":[{"what":"tread","place":"front-left","figure":"5"}]}\n'
        '{"kind":"repair","van":"V01","defect":"d9","on":"2026-03-02","by":"X"}\n'
        '{"kind":"inspector","name":"A. Fitter"}\n'
        '{"kind":"odometer","van":"V77","on":"2026-03-02","shown":"5mi"}\n'
        '{"kind":"hire","van":"V01","ref":"H1","from_on":"2026-09-02","through_on":"2026-09-01"}\n'
        "nonsense\n"
        '{"kind":"van","van":"V30","lpg":1,"seat":2}\n'
        '{"kind":"van","van":"V31","van":"V32"}\n'
        '{"kind":"out","van":"V01","hire":"H1"}\n'
    )
    with pytest.raises(Refused) as refused:
        typed(good, f"load {file}", DAY)
    taken = (
        "van, fit, take-off, check, defect, repair, sign-off, recheck, hold, lift, hire, "
        "odometer, event, recall, recall-done, lay-up, gone, visit, expectation, fleet-paper, "
        "inspector, competence"
    )

    assert str(refused.value).replace(f"{file}:", "") == "\n".join(
        [
            f'1: "vann" is no kind of record taken here. Did you mean "van"? The kinds are: {taken}',
            '2 what: there is no kind of check "gas-safty". Did you mean "gas-safety"?',
            '3 on: "2026-3-2" is not a day: write it like 2026-03-02',
            '4 readings "tread:front-left=5": "5" has no unit: type it as in 3050mm, 305cm, 3.05m, '
            "10ft1in, 10ft or 121in",
            '5 defect: "d9" is no defect of an earlier line, nor of the book',
            '6 name: "A. Fitter" is in the book already',
            '7 van: "V77" is not in the fleet: add it first',
            "8 through_on: 2026-09-01 is before 2026-09-02",
            "9: is not a JSON object: Expecting value: line 1 column 1 (char 0)",
            '10 seat: a van has no such field. Did you mean "seats"?',
            "10 lpg: must be true or false",
            "11: is not a JSON object: a key stands twice",
            f'12: "out" is no kind of record taken here. The kinds are: {taken}',
        ]
    )
    assert trust.status(good) == before


def test_lines_point_to_lines_before_them_and_to_the_book(good: str, tmp_path: Path) -> None:
    """By an id of the file, by "#57", by an inspector's name."""
    typed(good, 'defect report V01 --grade major "step loose"', DAY)
    with asking(good) as asked:
        number = asked.as_of.known_at
    file = _written(
        tmp_path,
        [
            {"kind": "defect", "id": "d1", "van": "V01", "on": "2026-08-01", "grade": "major",
             "words": "lamp out"},
            {"kind": "repair", "van": "V01", "defect": "d1", "on": "2026-08-01", "by": "B. Smith"},
            {"kind": "sign-off", "van": "V01", "defect": "d1", "on": "2026-08-01",
             "inspector": "A. Fitter"},
            {"kind": "repair", "van": "V01", "defect": f"#{number}", "on": "2026-08-01",
             "by": "B. Smith"},
            {"kind": "sign-off", "van": "V01", "defect": f"#{number}", "on": "2026-08-01",
             "by": "C. Jones"},
        ],
    )  # fmt: skip
    dry = typed(good, f"load {file} --dry-run", DAY)
    printed = typed(good, f"load {file}", DAY)

    assert dry.splitlines()[-1] == "Dry run: nothing was written."
    assert "hireable through Mon 10 Aug 2026, was not hireable today" in printed
    report = questions.hireable(good, "V01", calls.Question(DAY, DAY, NO_BIKES, DAY, None))
    assert report.hireable == "yes"


def test_a_loaded_fail_stops_the_van_even_where_no_line_says_what_it_found(
    good: str, tmp_path: Path
) -> None:
    """An unsafe hob loaded from another program is as bad as one typed."""
    gas = {"kind": "check", "van": "V01", "what": "gas-safety", "on": "2026-08-01",
           "outcome": "pass", "inspector": "A. Fitter", "certificate": "G2",
           "readings": [{"what": "result", "place": "hob", "figure": "unsafe"}]}  # fmt: skip
    typed(good, f"load {_written(tmp_path, [gas])}", DAY)

    assert (
        questions.hireable(good, "V01", calls.Question(DAY, DAY, NO_BIKES, DAY, None)).hireable
        == "no"
    )


def test_likely_slips_want_even_so_in_a_file_too(good: str, tmp_path: Path) -> None:
    """An odometer that runs back is refused, and taken with the reason beside it."""
    typed(good, "odometer V01 5000mi --on 2026-07-01", DAY)
    back: dict[str, Any] = {"kind": "odometer", "van": "V01", "on": "2026-08-01", "shown": "40mi"}
    with pytest.raises(Refused) as refused:
        typed(good, f"load {_written(tmp_path, [back])}", DAY)

    assert str(refused.value).endswith('if it is true, add the key "even_so" with why')
    back["even_so"] = "new instrument"
    assert "1 × odometer" in typed(good, f"load {_written(tmp_path, [back])}", DAY)


def test_files_that_are_none_are_refused(good: str, tmp_path: Path) -> None:
    """Missing, empty, of other bytes, one endless line: a clear word, and nothing happens."""
    (tmp_path / "empty").write_text("\n\n")
    (tmp_path / "bytes").write_bytes(b"\xff\xfe\x00")
    (tmp_path / "long").write_text('{"kind":"van","van":"' + "x" * 1_100_000 + '"}')
    for name, says in (
        ("none", "cannot be read: No such file or directory"),
        ("empty", "holds no record: nothing was loaded"),
        ("bytes", "is not UTF-8 text"),
        ("long", "is longer than 1,000,000 characters: no record is"),
    ):
        with pytest.raises(Refused, match=f"{says}$"):
            typed(good, f"load {tmp_path}/{name}", DAY)


def test_facts_do_not_go_into_a_book_that_is_not_there(tmp_path: Path) -> None:
    """Only a whole dump makes its own book."""
    with pytest.raises(DatabaseFault, match="there is no database at"):
        typed(str(tmp_path / "none.db"), f"load {_written(tmp_path, FACTS)}", DAY)


def test_many_lines_are_one_transaction(good: str, tmp_path: Path) -> None:
    """A fault in the last of forty lines leaves none of the others behind."""
    lines: list[dict[str, Any]] = [
        {"kind": "odometer", "van": "V01", "on": "2026-07-01", "shown": f"{n}mi"}
        for n in range(100, 140)
    ]
    before = trust.status(good)
    with pytest.raises(Refused):
        typed_all(good, [f"load {_written(tmp_path, [*lines, {'kind': 'gone'}])}"], DAY)

    assert trust.status(good) == before


GAS = {"kind": "check", "van": "V01", "what": "gas-safety", "on": "2026-08-01", "outcome": "pass",
       "inspector": "A. Fitter", "certificate": "G2"}  # fmt: skip
CHECK = {"kind": "check", "van": "V01", "what": "chassis", "on": "2026-08-01", "outcome": "pass",
         "by": "B. Smith"}  # fmt: skip
DEFECT = {"kind": "defect", "van": "V01", "on": "2026-08-01", "grade": "minor", "words": "x"}
HIRE = {"kind": "hire", "van": "V01", "ref": "H1", "from_on": "2026-09-01",
        "through_on": "2026-09-02"}  # fmt: skip


@pytest.mark.parametrize(
    ("facts", "says"),
    [
        ([CHECK | {"what": "tyres", "readings": [{"what": "tread:front-left", "figure": "0.5mm"}]}],
         'readings "tread:front-left=0.5mm": there is no reading "tread:front-left".'),
        ([CHECK | {"what": "tyres", "readings": [{"what": "tread", "place": "", "figure": "5mm"}]}],
         '"" is not a place: use small letters, digits and dashes'),
        ([DEFECT | {"check": "#27"}], "check: must be a check of this file"),
        ([CHECK | {"id": "c"}, DEFECT | {"check": "c", "on": "2026-07-01"}],
         "on: 2026-07-01 is not the day of the check (2026-08-01)"),
        ([GAS | {"by": "A. Fitter"}], "by: say by or inspector, not both"),
        ([DEFECT | {"id": "d"}, {"kind": "sign-off", "van": "V01", "defect": "d",
                                 "on": "2026-08-01"}], "by: say who signs it off"),
        ([{"kind": "fit", "van": "V01", "what": "co-alarm", "place": "living-area",
           "on": "2026-08-01", "part": "#11"}], "part: #11 is a smoke-alarm, not a co-alarm"),
        ([{"kind": "fit", "van": "V01", "what": "tyre", "place": "rear-left", "on": "2026-08-01",
           "part": "#7", "made": "0126"}], "part: #7 keeps its own marks"),
        ([{"kind": "fit", "id": "a", "van": "V01", "what": "tyre", "place": "rear-left",
           "on": "2026-07-01", "part": "#7"},
          {"kind": "fit", "van": "V01", "what": "tyre", "place": "rear-right", "on": "2026-08-01",
           "part": "a"}], "part: was fitted again itself: name its first record, #7"),
        ([HIRE, HIRE | {"from_on": "2026-10-01", "through_on": "2026-10-02"}],
         'ref: "H1" is a hire of V01 already'),
        ([HIRE | {"bikes": 5000}], "bikes: must be a whole number from 0 to 60"),
        ([HIRE | {"licence": "B", "licence_seen_on": "2031-01-01"}], "is after today (2026-08-01)"),
        ([{"kind": "gone", "van": "V01", "on": "2026-12-01", "words": "sold"},
          {"kind": "gone", "van": "V01", "on": "2026-12-02", "words": "sold"}],
         "V01 is gone from 2026-12-01 (#"),
        ([{"kind": "van", "van": "V02"}], "nothing was stated"),
        ([{"kind": "van", "van": "V02", "lpg": True}], "jurisdiction: say whose rules"),
        ([{"kind": "van", "van": "V01", "places": ["gas-hose:a,b"]}], '"a,b" is not a place'),
        ([{"kind": "van", "van": "V01", "places": ["appliance:none"]}], "write it as kind:place"),
        ([{"kind": "recall", "van": "V01", "maker_number": "R1", "on": "2026-08-01", "words": "x",
           "do_by": "2026-07-01"}], "do_by: 2026-07-01 is before the recall (2026-08-01)"),
        ([DEFECT | {"about": "nonsense"}], 'about: "nonsense" is neither a topic nor a line of a sheet: gas, co, mains, '),
        ([DEFECT | {"id": "d", "grade": "major"},
          {"kind": "recheck", "van": "V01", "defect": "d", "on": "2026-08-01",
           "next_on": "2026-09-01", "by": "C"}], "it stops hire until signed off"),
        ([DEFECT | {"id": "d"}, {"kind": "repair", "van": "V01", "defect": "d", "on": "2026-08-01",
                                 "by": "C", "temporary": True}], "temporary: V01 is not out on a hire"),
        ([{"kind": "fleet-paper", "what": "insurance", "on": "2026-08-01", "from_on": "2026-08-01",
           "last_day": "2027-07-31", "vans": []}], "vans: say which vans it names"),
        ([{"kind": []}], '"[]" is no kind of record taken here.'),
    ],
)  # fmt: skip
def test_what_is_refused_when_typed_is_refused_in_a_file(
    good: str, tmp_path: Path, facts: list[dict[str, Any]], says: str
) -> None:
    """Each of these would have let a van out, or lost what was found, or told two things at once."""
    before = trust.status(good)
    with pytest.raises(Refused) as refused:
        typed(good, f"load {_written(tmp_path, facts)}", DAY)

    assert says in str(refused.value)
    assert trust.status(good) == before


@pytest.mark.parametrize(
    ("facts", "open_grades"),
    [
        ([CHECK | {"what": "damp", "outcome": "fail", "id": "c"}, DEFECT | {"check": "c"}],
         ["minor", "major"]),
        ([CHECK | {"what": "damp", "outcome": "fail", "id": "c"},
          DEFECT | {"check": "c", "grade": "major"}], ["major"]),
        ([GAS | {"readings": [{"what": "result", "place": "hob", "figure": "pass"},
                              {"what": "result", "place": "heater", "figure": "isolated"}]}],
         ["advisory"]),
    ],
)  # fmt: skip
def test_a_loaded_check_leaves_the_defects_a_typed_one_does(
    good: str, tmp_path: Path, facts: list[dict[str, Any]], open_grades: list[str]
) -> None:
    """A fail that no rule reads stops the van whatever its own lines say; an isolated appliance is
    out of use."""
    typed(good, f"load {_written(tmp_path, facts)}", DAY)
    with asking(good) as asked:
        assert [d.grade for d in asked.facts("V01").defects] == open_grades
    stopped = "major" in open_grades
    report = questions.hireable(good, "V01", calls.Question(DAY, DAY, NO_BIKES, DAY, None))
    assert report.hireable == ("no" if stopped else "yes")


def test_a_name_of_the_book_is_its_inspector_in_a_file_too(good: str, tmp_path: Path) -> None:
    """Who has a card in the book is judged by the card, however their name is written."""
    typed_all(
        good,
        [
            'inspector add "Old Card" --scope electrical --from 2010-01-01 --through 2020-01-01',
            "van change V01 --mains --even-so fitted",
        ],
        DAY,
    )
    paper = {"kind": "check", "van": "V01", "what": "electrical", "on": "2026-08-01",
             "outcome": "pass", "by": "Old Card", "certificate": "E1"}  # fmt: skip
    typed(good, f"load {_written(tmp_path, [paper])}", DAY)

    (row,) = [
        w for w in questions.why_rule(good, "V01", "electrical-inspection", DAY) if not w.place
    ]
    assert row.standing == "no record"
    assert "was not in force that day" in row.reason


def test_an_inspector_may_be_named_by_number_and_a_sale_lie_ahead(
    good: str, tmp_path: Path
) -> None:
    """What a person may type, a file may say."""
    facts = [GAS | {"inspector": "#2"},
             {"kind": "gone", "van": "V01", "on": "2026-12-01", "words": "sold"}]  # fmt: skip

    assert "1 × check, 1 × gone" in typed(good, f"load {_written(tmp_path, facts)}", DAY)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda ls: [one for one in ls if '{"rulebook"' not in one], "lacks the rules"),
        (lambda ls: [*ls, '{"rulebook":"' + "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
                     '","text":""}'], "which no record adopts"),
        (lambda ls: [*ls, next(one for one in ls if '{"rulebook"' in one)],
         "the same rules stand on an earlier line"),
        (lambda ls: [*ls, '{"paper":"' + "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
                     '","sort":"pdf","base64":""}'], "which no record asks for"),
        (lambda ls: [one.replace('"2025-08-10"', '"2025-99-10"') for one in ls], "month must be in"),
        (lambda ls: ["[" * 100_000, *ls[1:]], "is not a JSON object"),
        (lambda ls: [ls[0], "[" * 100_000, *ls[1:]], "is not a line of a dump"),
        (lambda ls: [ls[0], *(one.replace('"axles":"single"', '"axles":"single","seats":' + "9" * 31)
                              for one in ls[1:])], "seats is out of all bounds"),
    ],
)  # fmt: skip
def test_what_the_root_does_not_hold_is_held_too(
    good: str, tmp_path: Path, change: Any, says: str
) -> None:
    """Rules and papers lost or smuggled in, days that are none, depth and size out of all bounds."""
    typed(good, f"dump -o {tmp_path}/book.jsonl", DAY)
    touched = change((tmp_path / "book.jsonl").read_text().splitlines())
    (tmp_path / "bad.jsonl").write_text("\n".join(touched) + "\n")
    new = tmp_path / "new.db"
    with pytest.raises((Refused, DatabaseFault)) as refused:
        typed(str(new), f"load {tmp_path}/bad.jsonl", DAY)

    assert says in str(refused.value) or "there is no database" in str(refused.value)
    assert not new.exists()


def test_a_name_emptied_in_a_dump_by_hand_is_not_loaded(good: str, tmp_path: Path) -> None:
    """What looks erased is counted against the erasures the book tells of."""
    from fleetcare.records.leaf import commitment

    typed(good, f"dump -o {tmp_path}/book.jsonl", DAY)
    lines = []
    for line in (tmp_path / "book.jsonl").read_text().splitlines():
        row = json.loads(line)
        if row.get("by", {}) and row["by"]["text"] == "B. Smith":
            row["by"] = {"erased": commitment(row["by"]["salt"], "B. Smith")}
        lines.append(json.dumps(row, ensure_ascii=False))
    (tmp_path / "bad.jsonl").write_text("\n".join(lines) + "\n")

    with pytest.raises(Refused, match=r"has 5 names or words emptied, and erasures tell of 0$"):
        typed(str(tmp_path / "new.db"), f"load {tmp_path}/bad.jsonl", DAY)


def test_letters_are_kept_in_the_form_they_are_hashed_in(good: str, tmp_path: Path) -> None:
    """A certificate typed with a combining accent reads the same after dump and load."""
    typed(good, 'record V01 chassis --pass --by C --certificate "Ge\u0301"', DAY)
    typed(good, f"dump -o {tmp_path}/book.jsonl", DAY)
    typed(str(tmp_path / "new.db"), f"load {tmp_path}/book.jsonl", DAY)

    for place in (good, str(tmp_path / "new.db")):
        assert "G\u00e9" in typed(place, "van show V01", DAY)


def test_a_book_with_a_row_lost_is_not_dumped(good: str, tmp_path: Path) -> None:
    """What is lost from the book would be lost from the dump without a word."""
    connection = sqlite3.connect(good)
    connection.execute("DROP TRIGGER checks_no_delete")
    connection.execute("DELETE FROM checks WHERE number = 24")
    connection.commit()
    connection.close()

    with pytest.raises(Refused, match=r"#24 \(check\): its fields are missing"):
        typed(good, f"dump -o {tmp_path}/book.jsonl", DAY)
    assert not (tmp_path / "book.jsonl").exists()


def test_a_dry_run_on_an_empty_file_leaves_it_empty(good: str, tmp_path: Path) -> None:
    """Not even the tables are made."""
    typed(good, f"dump -o {tmp_path}/book.jsonl", DAY)
    (tmp_path / "empty.db").touch()
    typed(str(tmp_path / "empty.db"), f"load {tmp_path}/book.jsonl --dry-run", DAY)

    assert (tmp_path / "empty.db").stat().st_size == 0


def test_who_writes_while_a_file_is_looked_through_is_not_kept_waiting(
    good: str, tmp_path: Path
) -> None:
    """The lines are held again to the book as it then is: what somebody booked meanwhile clashes,
    and numbers go on where it ended."""
    booked: list[str] = []

    def meanwhile(read: Any, length: int) -> Any:
        for place, line in enumerate(read):
            if place == 0:
                booked.append(f"M{len(booked) + 1}")
                days = "--from 2026-09-02 --through 2026-09-05"
                days = days if len(booked) == 1 else days.replace("2026-09", "2026-11")
                typed(good, f"hire add V01 {days} --ref {booked[-1]}", DAY)
            yield line

    def hires(month: int) -> Path:
        days = {"from_on": f"2026-{month:02}-01", "through_on": f"2026-{month:02}-03"}
        later = {"from_on": "2027-01-01", "through_on": "2027-01-03"}
        one = {"kind": "hire", "van": "V01"}
        return _written(tmp_path, [one | {"ref": "L1"} | days, one | {"ref": "L2"} | later])

    with clock.standing_at(dt.datetime.combine(DAY, dt.time(12), dt.UTC)):
        with pytest.raises(Refused) as fault:
            load.load(good, "T", str(hires(9)), shown=meanwhile)
        assert "V01 is booked as M1 from Wed 2 Sep 2026" in str(fault.value)
        said = load.load(good, "T", str(hires(12)), shown=meanwhile)
    assert said[0] == "Loaded from #34 to #35: 2 × hire."
    assert trust.verify(good).faults == []


def test_of_many_vans_it_is_said_where_they_stand(ready: str, tmp_path: Path) -> None:
    """Forty-one and no line for each; of forty each is named."""
    for many, lines in ((40, 41), (41, 2)):
        vans = [{"kind": "van", "van": f"A{many}-{n}", "jurisdiction": "gb"} for n in range(many)]
        said = typed(ready, f"load {_written(tmp_path, vans)}", DAY).splitlines()
        assert len(said) == lines
    assert said == [
        "41 vans were touched: how each stands is in fleetcare van list, and what now stops a hire "
        "heads fleetcare due.",
        "Loaded from #42 to #82: 41 × van.",
    ]
