"""What the first week's slips meet: words in any case, the wrong van, places nobody said, names
nobody knows, a row that was taken back."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from click import UsageError

from fleetcare.desk import filling
from fleetcare.desk.asking import asking
from tests.typed import refused, typed, typed_all

DAY = dt.date(2026, 8, 1)
SECOND = 'van add V02 --like V01 --plate "QI25 QIQ" --in-service-from 2026-01-01'


def _number(said: str) -> str:
    return said.split()[0].removeprefix("#")


def test_words_are_taken_in_any_case(good: str) -> None:
    """Kinds of component, places and kinds of check, as they are said aloud."""
    said = typed(good, "fit V01 Tyre Front-Left --made 1026 --load-index 112 --speed-symbol R", DAY)
    assert "fitted tyre at front-left" in said
    said = typed(good, 'record V01 Extinguisher-Basic --place DOOR --pass --by "E. Tester"', DAY)
    assert "extinguisher basic service passed" in said
    assert "took off the fire blanket" in typed(good, "take-off V01 Fire-Blanket", DAY)


def test_a_place_is_one_of_those_said(good: str) -> None:
    """V01 was said to have its gas hose in the locker: another place is asked back, with the list."""
    line = "fit V01 gas-hose loker --made 2026-01"
    assert refused(good, line) == (
        'place: "loker" is none of the places said for gas hose: locker. Did you mean "locker"?\n'
        'If it is true, add: --even-so "why"'
    )
    assert "fitted gas hose at loker" in typed(good, f'{line} --even-so "a second locker"', DAY)


def test_what_was_typed_on_the_wrong_van_goes_to_the_right_one(good: str) -> None:
    """One command: taken back here, standing there, both told; what it was is said whole."""
    typed(good, SECOND, DAY)
    number = _number(typed(good, 'record V01 habitation --pass --by "B. Smith"', DAY))
    said = typed(good, f'correct {number} --van V02 "read the plate wrongly"', DAY).splitlines()
    assert said[0].endswith(
        f" is of V02 what #{number} said of V01: Sat 1 Aug 2026, habitation service: pass, by "
        f'B. Smith. #{int(number) + 2} says why: "read the plate wrongly".'
    )
    with asking(good) as asked:
        assert [c.on for c in asked.facts("V01").checks if c.what == "habitation"] == [
            dt.date(2026, 4, 1)
        ]
        assert [c.on for c in asked.facts("V02").checks if c.what == "habitation"] == [DAY]

    assert f"#{number} was withdrawn already" in refused(good, f'correct {number} --van V01 "no"')
    with pytest.raises(UsageError, match="moves a record as it is"):
        typed(good, f'correct {number} --van V01 --on 2026-07-30 "no"', DAY)


def test_what_others_stand_on_stays_with_its_van(good: str) -> None:
    """A booking is moved; a check that found a defect, and a repair, are typed anew."""
    typed(good, SECOND, DAY)
    hire = _number(typed(good, "hire add V01 --from 2026-08-03 --through 2026-08-05 --ref H1", DAY))
    assert "stays with its van. Move a booking with fleetcare hire change" in refused(
        good, f'correct {hire} --van V02 "no"'
    )
    check = _number(typed(good, 'record V01 habitation --pass --by B --minor "blind torn"', DAY))
    assert f"stays with its van, for #{int(check) + 1} belongs to it" in refused(
        good, f'correct {check} --van V02 "no"'
    )


def test_a_record_taken_back_or_put_right_is_shown_whole(good: str) -> None:
    """Before and after, in the words of every list."""
    number = _number(typed(good, 'record V01 habitation --pass --by "B. Smith"', DAY))
    said = typed(good, f'correct {number} --by "C. Jones" "he signed it"', DAY).splitlines()
    assert said[1:3] == [
        "It said: Sat 1 Aug 2026, habitation service: pass, by B. Smith.",
        "It says: Sat 1 Aug 2026, habitation service: pass, by C. Jones.",
    ]
    said = typed(good, f'withdraw {number} "another van"', DAY).splitlines()
    assert said[1] == "It said: Sat 1 Aug 2026, habitation service: pass, by C. Jones."


def _sheet(path: Path, *rows: dict[str, Any]) -> str:
    """A filled blank of checks."""
    _, data = filling.blank(None, "checks")
    path.write_bytes(data)
    book = openpyxl.load_workbook(path)
    page = book["Checks"]
    heads = {cell.value: cell.column for cell in page[1]}
    for place, row in enumerate(rows, 3):
        for head, value in row.items():
            page.cell(place, heads[head]).value = value
    book.save(path)
    return str(path)


def test_rows_that_do_not_count_are_told_with_the_card_to_add(good: str, tmp_path: Path) -> None:
    """Two gas checks by a name nobody knows: kept, not counted, and one line to type."""
    rows = [
        {"Van": "V01", "Check": "gas cert", "Done on": day, "Ended": "pass", "By": "N. Ewman",
         "Certificate": f"X{n}"}
        for n, day in enumerate((dt.date(2026, 7, 1), dt.date(2026, 7, 20)))
    ]  # fmt: skip
    rows[0]["Check"] = rows[1]["Check"] = "gas-safety"
    said = typed(good, f"sheet read {_sheet(tmp_path / 'c.xlsx', *rows)}", DAY).splitlines()
    first = int(said[0].split("#")[1].split()[0])

    assert (
        f"Kept, and not counted for gas safety check: #{first}, #{first + 1}, no inspector of the "
        "book is named."
    ) in said
    assert (
        'With a card in force they count: fleetcare inspector add "N. Ewman" --scope '
        "lpg-leisure-vehicle --register-no NUMBER --from DAY --theirs"
    ) in said


def test_a_row_taken_back_may_be_read_again_when_somebody_says_why(
    good: str, tmp_path: Path
) -> None:
    """The same sheet read again is refused at that row; with the reason beside it, it is read."""
    row = {"Van": "V01", "Check": "habitation", "Done on": dt.date(2026, 7, 1), "Ended": "pass",
           "By": "B. Smith"}  # fmt: skip
    file = _sheet(tmp_path / "c.xlsx", row)
    said = typed(good, f"sheet read {file}", DAY)
    number = said.split("#")[1].split(":")[0]
    typed(good, f'withdraw {number} "another van\'s"', DAY)
    fault = refused(good, f"sheet read {file}")
    assert 'or say why under "Even so", or type it anew, if it is true after all' in fault

    again = _sheet(tmp_path / "d.xlsx", row | {"Even so": "it was V01's after all"})
    assert "1 × check" in typed(good, f"sheet read {again}", DAY)
    typed_all(good, ["due"], DAY)
