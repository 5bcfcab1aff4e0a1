"""A mapping drafted from a firm's own list: sure where it is, to be chosen where it is not."""

from __future__ import annotations

import datetime as dt
import itertools
import json
import tomllib
from pathlib import Path

import openpyxl
import pytest

from fleetcare.desk import drafting
from fleetcare.desk.asking import asking
from fleetcare.errors import Refused
from fleetcare.intake.columns import TABLES
from fleetcare.shipped import folder
from tests.typed import refused, typed

DAY = dt.date(2026, 11, 23)
EARLY = dt.date(2026, 8, 1)
LIST = """Fell and Dale, the fleet;;;;;;;
as of Easter;;;;;;;
Fleet no;Reg No;Bought;Gross weight;Gas?;Colour;MOT due;Spare Reg
V31;QI31 QIQ;25/03/2022;3500;Y;white;01/03/2027;
V32;QI32 QIQ;03/04/2023;3500;N;grey;02/05/2027;
"""


def _drafted(folder_: Path, name: str, text: str) -> tuple[str, list[str]]:
    file = folder_ / f"{name}.csv"
    file.write_text(text)
    return drafting.draft(str(file))


def test_what_is_sure_stands_and_the_rest_is_to_be_chosen(tmp_path: Path) -> None:
    """Headings under two titles, the order of days by a day over 12, words of yes and no; a unit
    nobody wrote, a home, and a second plate are left to whoever reads it."""
    text, told = _drafted(tmp_path, "Our vans", LIST)

    assert text.splitlines()[3:] == [
        "[[sheet]]",
        'name = "Our vans"',
        'kind = "vans"',
        "heading_row = 3",
        'date_format = "DD/MM/YYYY"  # C4 is no day otherwise',
        "ignore = [",
        '    "Colour",  # nothing here is called so: white, grey',
        "]",
        "[sheet.columns]",
        '"Fleet no" = "Van"  # sure: V31, V32',
        '"Reg No" = "Reg"  # sure: QI31 QIQ, QI32 QIQ',
        '"Bought" = "On fleet from"  # sure: 25/03/2022, 03/04/2023',
        '"Gross weight" = "Max mass (kg)"  # sure: 3500, 3500',
        '"Gas?" = "LPG"  # sure: Y, N',
        '# "Spare Reg" = "Reg"  # perhaps, choose: holds a word of it: no cell filled',
        "[sheet.units]",
        '# "Gross weight" = "kg"  # the heading names no unit: 3500, 3500',
        "[sheet.fixed]",
        '# Rules = "gb"  # whose rules the vans are under: nobody guesses that',
        '[sheet.values."Gas?"]',
        '"Y" = "yes"',
        '"N" = "no"',
        "[[sheet]]",
        'name = "Our vans"',
        'kind = "due"  # evidence of nothing: fleetcare missing asks for the paper',
        "heading_row = 3",
        'date_format = "DD/MM/YYYY"',
        "[sheet.columns]",
        '"Fleet no" = "Van"',
        '"MOT due" = "Due on"  # sure: 01/03/2027, 02/05/2027',
        "[sheet.fixed]",
        'Check = "roadworthiness"',
    ]
    assert told == [
        "Our vans: Vans, headings in row 3, 2 rows, 6 of 8 headings sure; choose for Spare Reg; "
        "say whose rules the vans are under; MOT due: a day expected, no evidence."
    ]


def test_it_reads_nothing_until_somebody_has_chosen(good: str, tmp_path: Path) -> None:
    """As drafted it is refused at each open choice; chosen, the list is read."""
    text, _ = _drafted(tmp_path, "Our vans", LIST)
    mapping = tmp_path / "ours.toml"
    mapping.write_text(text)
    line = f'sheet read "{tmp_path}/Our vans.csv" --map {mapping}'
    with pytest.raises(Refused) as fault:
        typed(good, line, DAY)
    told = str(fault.value)
    assert 'H3 "Spare Reg": is no column here' in told
    assert told.count("has no unit") == 2

    chosen = text.replace('"Colour",', '"Colour", "Spare Reg",')
    for word in ('"Gross weight" =', "Rules ="):
        chosen = chosen.replace(f"# {word}", word)
    mapping.write_text(chosen)
    typed(good, line, DAY)
    with asking(good) as asked:
        said = asked.facts("V32").stated[0]
    assert (said.in_service_from, said.lpg, said.max_mass, said.jurisdiction) == (
        dt.date(2023, 4, 3), False, "3500kg", "gb",
    )  # fmt: skip
    asks = "MOT test; your list says to Sun 2 May 2027 (#"
    assert asks in typed(good, "missing V32", DAY)
    listed = json.loads(typed(good, "missing V32 --json", DAY))["items"]
    mot = next(item for item in listed if item["expected"])
    assert (mot["group"], mot["command"]) == (
        "paper", "fleetcare record V32 roadworthiness --on DAY --pass --certificate NUMBER",
    )  # fmt: skip


def test_a_day_expected_is_evidence_of_nothing(good: str) -> None:
    """Said to stand to next year, the gas check ends when its paper does; the last word is told;
    and a name no check bears is refused."""
    before = typed(good, "hireable V01 --from 2026-08-03 --through 2026-08-09", EARLY)
    said = typed(good, "expect V01 Gas-Safety --due 2027-08-01", EARLY)
    assert said.splitlines()[0].endswith(
        "V01: gas safety check is said to fall due Sun 1 Aug 2027. Find its paper: until it is "
        "recorded nothing counts."
    )
    assert typed(good, "hireable V01 --from 2026-08-03 --through 2026-08-09", EARLY) == before
    assert "your list" not in typed(good, "missing V01", EARLY)

    asked = typed(good, "missing V01", dt.date(2026, 9, 1))
    assert "gas safety check; your list says to Sun 1 Aug 2027 (#" in asked
    assert 'Did you mean "gas-safety"?' in refused(good, "expect V01 gas-safty --due 2027-08-01")


@pytest.mark.parametrize(
    ("first", "second", "says"),
    [
        ("03/04/2026", "05/06/2026", "03/04/2026 in B2: DD/MM/YYYY or MM/DD/YYYY"),
        ("25/04/2026", "05/26/2026", "25/04/2026 in B2: none fits every cell"),
        ("25.04.26", "03.04.26", None),
        ("2026-04-25", "2026-05-03", None),
    ],
)
def test_the_order_of_days_is_proven_or_asked(
    tmp_path: Path, first: str, second: str, says: str | None
) -> None:
    """A day over 12 proves it, where every cell agrees."""
    text, told = _drafted(tmp_path, "Work", f"Van,Date,Job\nV1,{first},MOT\nV2,{second},Wash\n")
    if says:
        assert f'# date_format = "DD/MM/YYYY"  # choose: {says}' in text
        assert told[0].endswith(f"choose the order of days: {says}.")
    else:
        form = {"2": "YYYY-MM-DD"}.get(first[0] if "-" in first else "", "DD.MM.YY")
        assert f'date_format = "{form}"' in text
    assert '"MOT" = "roadworthiness"' in text
    assert "Wash" not in text.partition("[sheet.values")[2]


def test_every_sheet_of_a_workbook_is_told_of(tmp_path: Path) -> None:
    """Real dates need no format; a sheet of which nothing is known is named."""
    book = openpyxl.Workbook()
    one = book.active
    one.title = "Bookings"
    for row in (["Van", "Booking no", "Collection", "Return"], ["V1", "B7", DAY, DAY]):
        one.append(row)
    book.create_sheet("Recipes").append(["flour", "eggs"])
    file = tmp_path / "all.xlsx"
    book.save(file)
    text, told = drafting.draft(str(file))

    assert tomllib.loads(text)["sheet"] == [
        {
            "name": "Bookings", "kind": "hires", "heading_row": 1,
            "columns": {
                "Van": "Van", "Booking no": "Reference", "Collection": "From", "Return": "Through",
            },
        }
    ]  # fmt: skip
    assert "# Not drafted, nothing in it is known: Recipes" in text
    assert told == ["Bookings: Hires, headings in row 1, 1 rows, 4 of 4 headings sure."]


def test_a_file_of_which_nothing_is_known_is_refused(tmp_path: Path) -> None:
    """With its sheets; and what cannot be read at all, as `sheet read` says it."""
    with pytest.raises(Refused) as fault:
        _drafted(tmp_path, "Recipes", "flour,eggs\n1,2\n")
    assert str(fault.value) == (
        f"{tmp_path}/Recipes.csv: has no sheet with a fleet number and one column more that is "
        "known: Recipes"
    )
    with pytest.raises(Refused):
        drafting.draft(str(tmp_path / "none.xlsx"))


@pytest.mark.parametrize("kind", TABLES)
def test_our_own_blanks_are_known_whole(tmp_path: Path, kind: str) -> None:
    """Each heading of ours is sure, and is what it is."""
    table = TABLES[kind]
    heads = [column.heading for column in table.columns]
    text, _ = _drafted(tmp_path, "Any", ",".join(heads) + "\n" + ",".join("x" for _ in heads))

    found = tomllib.loads(text)["sheet"][0]
    assert found["kind"] == kind
    assert found["columns"] == {head: head for head in heads}


def test_no_word_means_two_things_of_one_sheet() -> None:
    """The words of the data are each of one column of a kind, and name columns there are."""
    raw = tomllib.loads((folder("intake") / "headings.toml").read_text("utf-8"))
    known = {column.heading for table in TABLES.values() for column in table.columns}

    assert set(raw["columns"]) <= known
    for table in TABLES.values():
        heads = [column.heading for column in table.columns]
        words = {h: set(raw["columns"].get(h, {"words": ()})["words"]) for h in heads}
        for one, two in itertools.combinations(words.values(), 2):
            assert not one & two
    listed = [word for words in raw["values"].values() for word in words]
    assert len(listed) == len(set(listed))


def test_what_is_in_cells_never_makes_the_draft_something_else(tmp_path: Path) -> None:
    """Quotes, brackets and line ends of somebody else's file stay text."""
    nasty = '"Van";"Reg\n[[sheet]]";"a""b = c"\n"V1\n[x]";"y";"#"\n'
    text, _ = _drafted(tmp_path, "Our vans", nasty.replace('"Reg\n[[sheet]]"', '"Reg"'))
    found = tomllib.loads(text)["sheet"]

    assert len(found) == 1
    assert found[0]["ignore"] == ['a"b = c']
