"""A name erased is gone to the byte, the ledger holds, no judgement changes; duties come first."""

from __future__ import annotations

import datetime as dt
import re
import shutil
from pathlib import Path

import pytest
import sqlalchemy as sa

from fleetcare.desk import erase, trust
from fleetcare.desk.asking import asking
from fleetcare.errors import Refused
from fleetcare.records.kept import Erasure
from fleetcare.store import erase as stored_erase
from fleetcare.store import tables
from fleetcare.store.append import Writer
from fleetcare.store.engine import reading, writing
from tests.typed import typed, typed_all

DAY = dt.date(2026, 8, 1)
LATER = dt.date(2033, 6, 1)
PNG = b"\x89PNG\r\n\x1a\nsigned"


def _bytes(place: str) -> bytes:
    """Every byte of the book and of what lies beside it."""
    folder = Path(place).parent
    return b"".join(p.read_bytes() for p in folder.rglob("*") if p.is_file())


def _judged(place: str, day: dt.date) -> list[object]:
    """Everything every van is judged to be, names aside."""
    with asking(place) as asked:
        return [
            (j.van, j.service, [(o.rule.name, o.place, o.timeline) for o in j.outcomes])
            for j in asked.fleet()
        ]


def _free(place: str, *names: str) -> None:
    """The firm chooses to keep no name for claims, so only the law's duty is left."""
    firm = Path(place).parent / "firm.toml"
    firm.write_text("[settings]\nkeep_names_years = 0\n")
    typed(place, f"rules adopt {firm}", DAY)
    firm.unlink()


def test_a_name_is_gone_to_the_byte_and_the_ledger_holds(good: str, tmp_path: Path) -> None:
    """B. Smith did five checks and a sixth: after the years no byte of the book, its log or a new copy has it."""
    typed(good, 'record V01 damp --by "B. Smith" --pass --on 2026-08-01', DAY)
    before = _judged(good, DAY)
    assert b"B. Smith" in _bytes(good)
    printed = typed(good, 'erase --name "B. Smith" "left the firm"', LATER)
    typed(good, f"backup -o {tmp_path}/copy.db", LATER)

    assert b"B. Smith" not in _bytes(good)
    assert "emptied 6 places" in printed
    assert trust.verify(good).faults == []
    assert _judged(good, DAY) == before
    assert "erased" in typed(good, "why V01 habitation", DAY)
    with pytest.raises(Refused, match=r'^nobody of the name "B\. Smith" is in the book$'):
        typed(good, 'erase --name "B. Smith" "again"', LATER)


def test_names_are_kept_against_claims_for_the_years_the_firm_chose(good: str) -> None:
    """Six years from the last record that names them, to the day."""
    with pytest.raises(Refused) as refused:
        typed(good, 'erase --name "B. Smith" "asked for it"', dt.date(2032, 4, 30))
    assert str(refused.value) == (
        "may be erased from Sat 1 May 2032: #22 is of Fri 1 May 2026, and names are kept 6 years "
        "against claims (the firm's choice, keep_names_years in its file)"
    )
    assert "emptied" in typed(good, 'erase --name "B. Smith" "asked for it"', dt.date(2032, 5, 1))


def test_a_gas_checker_is_kept_until_two_further_checks(good: str) -> None:
    """Regulation 36(3)(c): two further checks of the van, whatever the firm chose for claims."""
    _free(good)
    line = 'erase --name "A. Fitter" "retired"'
    with pytest.raises(Refused) as refused:
        typed(good, line, DAY)
    assert str(refused.value).startswith(
        "#21, gas safety check of V01 on Sun 10 Aug 2025: who did it is kept until 2 further "
        "checks of V01 are written down (Gas Safety (Installation and Use) Regulations 1998"
    )
    typed_all(
        good,
        [
            'inspector add "N. Fitter" --scope lpg-leisure-vehicle --register-no 9 --from 2015-01-01',
            'record V01 gas-safety --pass --by "N. Fitter" --certificate N1 --on 2026-07-01',
        ],
        DAY,
    )
    with pytest.raises(Refused, match="kept until 1 further check of V01 is written down"):
        typed(good, line, DAY)
    typed(good, 'record V01 gas-safety --pass --by "N. Fitter" --certificate N2', DAY)
    before = _judged(good, DAY)
    printed = typed(good, line, DAY)

    assert "emptied 2 places" in printed  # the name, and the register number
    assert b"A. Fitter" not in _bytes(good)
    assert _judged(good, DAY) == before


def test_a_van_gone_frees_its_gas_checker_after_two_years(good: str) -> None:
    """What left has no further checks: two years from the last one, as the regulation says."""
    _free(good)
    typed(good, 'van gone V01 --on 2026-08-01 "sold"', DAY)
    line = 'erase --name "A. Fitter" "retired"'
    with pytest.raises(Refused, match=r"or, V01 being gone, to Tue 10 Aug 2027"):
        typed(good, line, dt.date(2027, 8, 10))

    assert "emptied 2 places" in typed(good, line, dt.date(2027, 8, 11))


def test_the_words_of_a_record_go_once_it_was_corrected(good: str) -> None:
    """A hirer's telephone number typed by mistake: corrected, then erased, on the same day."""
    printed = typed(good, 'defect report V01 --grade minor "ring Jo on 0700 900"', DAY)
    number = int(printed.split()[0][1:])
    with pytest.raises(Refused, match=r"may be erased from"):
        typed(good, f'erase --record {number} "not ours to keep"', DAY)
    typed(good, f'correct {number} --words "blind sticks" "a name stood in it"', DAY)
    typed(good, f'erase --record {number} "not ours to keep"', DAY)

    assert b"0700 900" not in _bytes(good)
    assert trust.verify(good).faults == []
    assert "blind sticks" in typed(good, "van show V01", DAY)


def test_a_name_among_other_words_is_pointed_to(good: str) -> None:
    """Free words are not emptied by name: the records that hold it are named."""
    _free(good)
    typed(good, 'defect report V01 --grade minor "B. Smith saw a drip"', DAY)

    assert "The name stands among other words in #" in typed(
        good, 'erase --name "B. Smith" "left"', DAY
    )


def test_a_dry_run_erases_nothing_and_nobody_erases_who_is_writing(good: str) -> None:
    """What would go is said; the name of who types it can't be emptied and written at once."""
    printed = typed(good, 'erase --name "B. Smith" "left" --dry-run', LATER)
    with pytest.raises(Refused) as refused:
        erase.erase_name(good, "B. Smith", "B. Smith", "left")

    assert "emptied 5 places" in printed
    assert b"B. Smith" in _bytes(good)
    assert str(refused.value) == '--as: "B. Smith" is who is writing: let another erase it'


def test_what_was_erased_stays_erased_in_a_dump(good: str, tmp_path: Path) -> None:
    """The dump carries the commitment alone, and the book loaded from it has the same root."""
    typed(good, 'erase --name "B. Smith" "left"', LATER)
    typed(good, f"dump -o {tmp_path}/book.jsonl", LATER)
    typed(str(tmp_path / "new.db"), f"load {tmp_path}/book.jsonl", LATER)

    assert b"B. Smith" not in (tmp_path / "book.jsonl").read_bytes()
    assert '{"erased":"' in (tmp_path / "book.jsonl").read_text()
    assert trust.status(str(tmp_path / "new.db")).root == trust.status(good).root


def test_no_judgement_of_the_sample_changes_when_everybody_is_erased(
    sample_book: str, tmp_path: Path
) -> None:
    """All names and words of three years emptied at once: every van is judged as before, for
    competence keeps its scope, its days, and that a register number was given."""
    before = _judged(sample_book, DAY)
    with writing(sample_book) as connection:
        said = connection.execute(sa.select(tables.said.c.commitment)).scalars().all()
        emptied = stored_erase.empty(connection, list(said)[:500])
        emptied += stored_erase.empty(connection, list(said)[500:])
        writer = Writer(connection, "Ann")
        writer.append(Erasure(0, DAY, emptied, "the firm is wound up"))
        writer.flush()

    assert emptied == len(said) > 700
    assert _judged(sample_book, DAY) == before
    assert trust.verify(sample_book).faults == []


def test_it_empties_on_postgresql_too(place: str, good: str, tmp_path: Path) -> None:
    """The same book on either engine: emptied, sound, and of the same root."""
    copy = str(shutil.copy(good, tmp_path / "copy.db"))
    typed(copy, f"dump -o {tmp_path}/book.jsonl", DAY)
    typed(place, f"load {tmp_path}/book.jsonl", DAY)
    typed(place, 'erase --name "B. Smith" "left"', LATER)

    with asking(place) as asked:
        texts = asked.connection.execute(sa.select(tables.said.c.text)).scalars().all()
    assert "B. Smith" not in texts
    assert trust.verify(place).faults == []


@pytest.mark.parametrize("held", ["said", "ledger_head"])
def test_what_a_reader_still_holds_is_said_and_goes_when_it_is_done(
    place: str, good: str, tmp_path: Path, held: str
) -> None:
    """An export reads on while a name is erased: the erasing stands, its bytes go by "status --tidy",
    whether the reader had come to the names or had only begun."""
    copy = str(shutil.copy(good, tmp_path / "copy.db"))
    typed(copy, f"dump -o {tmp_path}/book.jsonl", DAY)
    typed(place, f"load {tmp_path}/book.jsonl", DAY)
    with reading(place) as connection:
        connection.execute(sa.text(f"SELECT count(*) FROM {held}"))
        printed = typed(place, 'erase --name "B. Smith" "left"', LATER)
        assert trust.tidied(place) == ["No killed run left anything.", _LEFT[0].upper() + _LEFT[1:]]

    assert printed.splitlines()[-1] == f"Caution: {_LEFT}"
    assert trust.tidied(place) == ["No killed run left anything."]
    assert trust.verify(place).faults == []


_LEFT = (
    "the disk still holds the bytes of what was erased: somebody is reading the book, or you do "
    "not own the tables of its server. When they are done, or by who owns them: "
    "fleetcare status --tidy"
)


def test_no_way_round_the_gas_checkers_duty(good: str) -> None:
    """Neither by the record of the person or of their card, nor after these were withdrawn."""
    _free(good)
    for number in (2, 3):
        with pytest.raises(Refused, match="who did it is kept until 2 further"):
            typed(good, f'erase --record {number} "asked for it"', DAY)
    typed_all(good, ['withdraw 3 "double"', 'withdraw 2 "double"'], DAY)

    with pytest.raises(Refused, match="who did it is kept until 2 further"):
        typed(good, 'erase --name "A. Fitter" "asked for it"', DAY)


def test_an_older_register_number_goes_with_the_name(good: str) -> None:
    """A card that was corrected holds another number of the same person."""
    typed(
        good, 'inspector add "G. Old" --scope gas-hose --register-no R-777-1 --from 2015-01-01', DAY
    )
    with asking(good) as asked:
        card = asked.as_of.known_at
    typed(good, f'correct {card} --register-no R-777-2 "misread"', DAY)
    typed(good, 'erase --name "G. Old" "asked for it"', LATER)

    assert b"R-777-1" not in _bytes(good)
    assert b"R-777-2" not in _bytes(good)


def test_the_reason_may_not_hold_the_name(good: str) -> None:
    """It would be written anew in the same breath."""
    with pytest.raises(Refused, match=r"^why: holds the name itself: say it without$"):
        typed(good, 'erase --name "B. Smith" "B. Smith asked"', LATER)


def test_words_of_a_gas_check_are_not_its_checker(good: str) -> None:
    """The duty is to keep who did it: what was said beside it is the firm's own to keep or not."""
    _free(good)
    typed(
        good,
        'record V01 gas-safety --pass --by "A. Fitter" --certificate G2 --words "ring Jo 0700"',
        DAY,
    )
    with asking(good) as asked:
        number = asked.as_of.known_at
    typed(good, f'erase --record {number} "a stranger was named"', DAY)

    assert b"ring Jo" not in _bytes(good)
    assert "A. Fitter" in typed(good, "why V01 gas-safety", DAY)


def _papers(place: str) -> list[bytes]:
    return [one.read_bytes() for one in Path(f"{place}.papers").rglob("*") if one.is_file()]


RECORDED = "record V01 damp --by B. --pass --on 2026-08-01 --paper {}"


def _kept(place: str, tmp_path: Path, command: str = RECORDED) -> int:
    """A photo kept of a check; gives the number of the record that keeps it."""
    photo = tmp_path / "photo.png"
    photo.write_bytes(PNG)
    said = typed(place, command.format(photo), DAY)
    photo.unlink()
    found = re.search(r"#(\d+) keeps the paper of", said)
    assert found
    return int(found[1])


def test_a_paper_is_gone_to_the_byte(good: str, tmp_path: Path) -> None:
    """Its record is taken back and its file removed, once the firm's years are over; the book
    holds, and a second time says so."""
    number = _kept(good, tmp_path)
    assert PNG in _bytes(good)
    with pytest.raises(
        Refused, match=rf"may be erased from .*: #{number - 1} is of Sat 1 Aug 2026"
    ):
        erase.erase_record(good, "Owner", number, "asked for it")
    assert _papers(good) == [PNG]

    _free(good)
    tried = erase.erase_record(good, "Owner", number, "asked for it", dry_run=True)
    assert tried[-1] == "Dry run: nothing was written."
    assert _papers(good) == [PNG]
    said = erase.erase_record(good, "Owner", number, "asked for it")
    assert (
        f"did away with the paper of #{number - 1}. Copies of the book taken before now, and what "
        "was printed, still hold it."
    ) in said[0]
    assert PNG not in _bytes(good)
    assert trust.verify(good).faults == []
    with pytest.raises(Refused, match="was erased already"):
        erase.erase_record(good, "Owner", number, "asked for it")


def test_a_run_killed_before_the_file_was_gone_is_run_again(
    good: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The record is taken back; the file that was left goes with the next run."""
    number = _kept(good, tmp_path)
    _free(good)
    with monkeypatch.context() as killed:
        killed.setattr("fleetcare.store.papers.remove", lambda path: None)
        erase.erase_record(good, "Owner", number, "asked for it")
    assert _papers(good) == [PNG]
    erase.erase_record(good, "Owner", number, "asked for it")
    assert _papers(good) == []


def test_a_paper_that_another_record_keeps_too_stays(good: str, tmp_path: Path) -> None:
    """The same photo of two checks is one file: it goes with the last of them."""
    first = _kept(good, tmp_path)
    second = _kept(good, tmp_path, f"attach {first - 2} {{}}")
    _free(good)
    said_first = erase.erase_record(good, "Owner", first, "asked for it")
    assert f"Caution: #{second} keeps the same paper: erase that one too." in said_first
    assert _papers(good) == [PNG]
    erase.erase_record(good, "Owner", second, "asked for it")
    assert _papers(good) == []


def test_a_paper_is_kept_as_long_as_what_it_is_of_by_now(good: str, tmp_path: Path) -> None:
    """A check dated ten years too early and put right: its paper is held by the day that stands.
    Taking back the paper's own record first is no way round it."""
    early = "record V01 damp --by B. --pass --on 2016-08-01 --paper {} --even-so x"
    number = _kept(good, tmp_path, early)
    check = number - 1
    typed(good, f"correct {check} --on 2026-08-01 'a slip'", DAY)
    with pytest.raises(Refused, match=r"may be erased from .* is of Sat 1 Aug 2026"):
        erase.erase_record(good, "Owner", number, "asked for it")
    typed(good, f"withdraw {number} 'out of the way'", DAY)
    with pytest.raises(Refused, match=r"may be erased from .* is of Sat 1 Aug 2026"):
        erase.erase_record(good, "Owner", number, "asked for it")
    assert _papers(good) == [PNG]
