"""What the rulebook's old texts said, they say for ever.

A book keeps its rules as text under a digest and is judged by that text with today's code. In
`tests/golden/rulebooks` lie the package's texts as each version adopted them (`0.1-early`: before
the yard had rules; `0.5-firm`: with the sample firm's own file), and what version 0.5.0 judged by
them: the sample's book as 0.5.0 typed it (`tests/golden/books/0004.db.gz`, so that no later change
of the sample reaches these answers), at five sizes.

`…-steps.txt.gz` holds every outcome at the full size, with a party's own rules; `…-sizes.txt` a hash
a van at the smaller sizes; `…-answers.txt` what a dozen hires were answered, and `…-todo.txt` the
days on which their work can be done. `python -m tests.rules.test_old_texts` writes these anew: look
at the difference, for it is one that owners of old books meet. Texts are never written anew.
"""

from __future__ import annotations

import datetime as dt
import gzip
import hashlib
import json
import tempfile
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from fleetcare.desk import asking
from fleetcare.hire.answer import answer
from fleetcare.hire.ask import Ask
from fleetcare.rules.judge import judge, with_party
from fleetcare.rules.outcome import AsOf
from fleetcare.rules.party import Party
from fleetcare.store import migrate
from fleetcare.store.engine import reading
from fleetcare.store.walk import fleet_facts
from fleetcare.windows import EVER

GOLDEN = Path(__file__).parent.parent / "golden"
RULEBOOKS = GOLDEN / "rulebooks"
BOOK = GOLDEN / "books" / "0004.db.gz"
SIZES = (158, 316, 475, 633)  # fifths of the book
FULL = 791
NAMES = ("0.1", "0.1-early", "0.2", "0.4", "0.5-firm")  # 0.3 and 0.5 changed no text
GUESTS = Party(2, 1, (), None, ("DE", "AT"))  # brings in every rule that only a party does


class Question(NamedTuple):
    """A hire asked about, of the whole book."""

    van: str
    start: str
    through: str
    on: str = "2026-11-23"
    party: Party = Party()
    ref: str | None = None


class Row(NamedTuple):
    """One rule at one place: what holds from which day on."""

    van: str
    rule: str
    place: str | None
    steps: list[tuple[dt.date, str, str]]  # start, verdict, code


class Said(NamedTuple):
    """What is answered, and on which days its work can be done."""

    lines: list[str]
    days: list[str]


# The judging code of the package is named in these three functions and nowhere else.


def judged(connection: Any, text: str, size: int) -> Iterator[Any]:
    """Every van of the book as known at a size, judged by a text."""
    digest = hashlib.sha256(text.encode()).hexdigest()
    book = asking.book_of(digest, text, asking.taken_in(connection, text, known=size))
    for facts in fleet_facts(connection, size):
        yield judge(facts, book, AsOf(size, digest))


def rows_of(judgement: Any, party: Party) -> list[Row]:
    """The outcomes of a van without record numbers, which those shared between vans do not bear."""
    if party != Party():
        judgement = with_party(judgement, party)
    return [
        Row(
            judgement.van,
            outcome.rule.name,
            outcome.place,
            [(s.start, s.verdict.name.lower(), s.code) for s in outcome.timeline.steps],
        )
        for outcome in judgement.outcomes
    ]


def said(judgement: Any, question: Question) -> Said:
    """What a hire is answered."""
    day = dt.date.fromisoformat
    ask = Ask(
        day(question.start), day(question.through), day(question.on), question.party, question.ref
    )
    told = answer(judgement, ask)
    given = told.decision
    works = [(" ".join(p or "-" for p in w.remedy.same), w.do_from, w.do_by) for w in given.to_do]
    lines = [f"hireable {given.hireable} through {told.hireable_through or '-'}"]
    lines += [f"bookable {given.bookable}{', licence to be shown' if given.licence else ''}"]
    lines += sorted(f"first {work}" for work, _, _ in works)
    lines += sorted(f"at handover {o.rule.name} {o.place or '-'}" for o in told.at_handover)
    lines += sorted(f"blocked by {b.rule} {b.place or '-'} {b.standing}" for b in given.blocking)
    return Said(lines, sorted(f"{work}: {first} to {last}" for work, first, last in works))


# From here on there are only texts, lines and files.

QUESTIONS = (
    Question("V01", "2026-11-26", "2026-12-02"),
    Question("V03", "2026-11-26", "2026-12-02"),
    Question("V07", "2026-11-26", "2026-12-02"),
    Question("V12", "2026-11-26", "2026-12-02"),
    Question("V01", "2026-12-14", "2026-12-27", party=Party(2, 1, (), None, ("DE",))),
    Question("V04", "2026-12-14", "2026-12-27"),
    Question("V05", "2026-12-14", "2026-12-27"),
    Question("V05", "2026-12-29", "2027-01-04"),  # after days on which only the firm is closed
    Question("V06", "2026-12-14", "2026-12-27"),
    Question("V08", "2026-12-14", "2026-12-27", party=Party(licence="B")),
    Question("V08", "2026-12-14", "2026-12-27", party=Party(1, 0, ("16",), "C1")),
    Question("V11", "2026-12-14", "2026-12-27", party=Party(licence="C1")),
    Question("V02", "2026-12-14", "2026-12-27", party=Party(abroad=("FR",))),
    Question("V09", "2027-04-12", "2027-04-25"),
    Question("V03", "2027-03-26", "2027-04-09", ref="H146"),
    Question("V06", "2026-11-27", "2026-12-06", ref="H137"),
    Question("V02", "2025-07-21", "2025-08-03", "2025-03-03", Party(2, 1, (), None, ("DE",))),
)


def texts() -> dict[str, str]:
    """The frozen texts by name, each held to its digest."""
    found = {}
    for line in (RULEBOOKS / "digests.txt").read_text("utf-8").splitlines():
        name, digest = line.split()
        found[name] = checked(name, digest, (RULEBOOKS / f"{name}.json").read_bytes())
    return found


def checked(name: str, digest: str, data: bytes) -> str:
    """The bytes of a text as text; ValueError where they are not those of the digest."""
    if hashlib.sha256(data).hexdigest() != digest:
        raise ValueError(f"the text of {name} is not what its digest says")
    return data.decode()


def distinct() -> dict[str, str]:
    """The texts without those that a later version adopted unchanged."""
    first: dict[str, str] = {}
    for name, text in texts().items():
        first.setdefault(text, name)
    return {name: text for text, name in first.items()}


def lines_of(rows: list[Row]) -> list[str]:
    """A line an outcome; none for what never applies."""
    return sorted(
        f"{row.van} | {row.rule} | {row.place or '-'} | " + "; ".join(map(_step, row.steps))
        for row in rows
        if any(code != "not applicable" for _, _, code in row.steps)
    )


def _step(step: tuple[dt.date, str, str]) -> str:
    start, verdict, code = step
    return f"{'ever' if start == EVER else start} {verdict} {code}"


def steps(connection: Any, text: str) -> list[str]:
    """Every outcome of the whole book, with the rules that only a party brings in."""
    return [
        line for van in judged(connection, text, FULL) for line in lines_of(rows_of(van, GUESTS))
    ]


def sizes(connection: Any, text: str) -> list[str]:
    """A hash a van over its lines at each smaller size."""
    found = []
    for size in SIZES:
        for van in judged(connection, text, size):
            lines = "\n".join(lines_of(rows_of(van, Party())))
            digest = hashlib.sha256(lines.encode()).hexdigest()
            found.append(f"{size} records | {van.van} | {digest}")
    return found


def hires(connection: Any, text: str) -> tuple[list[str], list[str]]:
    """The answers to the questions, and the days of their work: a line each."""
    vans = {van.van: van for van in judged(connection, text, FULL)}
    answers: list[str] = []
    days: list[str] = []
    for question in QUESTIONS:
        given = said(vans[question.van], question)
        asked_ = f"{question.van} | {_in_words(question)}"
        answers += [f"{asked_} | {line}" for line in given.lines]
        days += [f"{asked_} | {line}" for line in given.days]
    return answers, days


def _in_words(question: Question) -> str:
    party = question.party
    brought = [f"{party.bikes}+{party.electric_bikes} bikes"] if party.any_bikes else []
    brought += [f"{kg} kg" for kg in party.weighed_kg]
    brought += [f"licence {party.licence}"] if party.licence else []
    brought += [f"to {country}" for country in party.abroad]
    brought += [f"as {question.ref}"] if question.ref else []
    words = f"{question.start} to {question.through}, asked {question.on}"
    return ", ".join([words, *brought])


def differences(name: str, size: str, kept: list[str], made: list[str]) -> list[str]:
    """Each line that came or went, under the text and the size it is of."""
    was, now = set(kept), set(made)
    found = [f"{name}, {size}, was: {line}" for line in kept if line not in now]
    found += [f"{name}, {size}, is:  {line}" for line in made if line not in was]
    if not found and kept != made:
        found = [f"{name}, {size}: the same lines, otherwise often or in another order"]
    return found


def _kept(name: str, what: str) -> list[str]:
    if what == "steps":
        data = gzip.decompress((RULEBOOKS / f"{name}-steps.txt.gz").read_bytes())
    else:
        data = (RULEBOOKS / f"{name}-{what}.txt").read_bytes()
    return data.decode().splitlines()


def _keep(name: str, what: str, lines: list[str]) -> None:
    data = ("\n".join(lines) + "\n").encode()
    if what == "steps":
        (RULEBOOKS / f"{name}-steps.txt.gz").write_bytes(gzip.compress(data, 9, mtime=0))
    else:
        (RULEBOOKS / f"{name}-{what}.txt").write_bytes(data)


def _open(folder: Path) -> str:
    """The frozen book, brought up to this program's schema in a folder."""
    place = folder / "sample.db"
    place.write_bytes(gzip.decompress(BOOK.read_bytes()))
    migrate.upgrade(str(place))
    return str(place)


@pytest.fixture(scope="module")
def connection(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """The frozen book open to be asked."""
    with reading(_open(tmp_path_factory.mktemp("texts"))) as opened:
        yield opened


@pytest.fixture(scope="module")
def hired(connection: Any) -> Callable[[str], tuple[list[str], list[str]]]:
    """The answers by a text and the days of their work, asked once a text."""
    return cache(lambda name: hires(connection, texts()[name]))


each_text = pytest.mark.parametrize("name", NAMES)


def test_every_version_has_its_text() -> None:
    """The texts are the bytes of their digests, one a version; some versions changed nothing."""
    found = texts()

    assert list(found) == sorted(found)
    assert sorted(f"{name}.json" for name in found) == sorted(
        p.name for p in RULEBOOKS.glob("*.json")
    )
    assert tuple(distinct()) == NAMES
    assert (found["0.3"], found["0.5"]) == (found["0.2"], found["0.4"])


def test_a_text_of_other_bytes_is_refused() -> None:
    """A character more is another text."""
    with pytest.raises(ValueError, match=r"^the text of 0\.1 is not what its digest says$"):
        checked("0.1", hashlib.sha256(b"{}").hexdigest(), b"{} ")


@each_text
def test_an_old_text_judges_the_whole_book_as_ever(name: str, connection: Any) -> None:
    """Every step of every rule, place and van is the one it was."""
    made = steps(connection, texts()[name])

    assert differences(name, f"{FULL} records", _kept(name, "steps"), made) == []


@each_text
def test_an_old_text_judges_a_smaller_book_as_ever(name: str, connection: Any) -> None:
    """Each van at each size has the steps it had."""
    assert (
        differences(name, "smaller sizes", _kept(name, "sizes"), sizes(connection, texts()[name]))
        == []
    )


@each_text
def test_an_old_text_answers_a_hire_as_ever(name: str, hired: Any) -> None:
    """What is hireable and bookable, after what work, and what stands in the way."""
    assert differences(name, f"{FULL} records", _kept(name, "answers"), hired(name)[0]) == []


@each_text
def test_the_work_can_be_done_on_the_days_it_could(name: str, hired: Any) -> None:
    """The first and the last day of each record that must be made before a hire."""
    assert differences(name, f"{FULL} records", _kept(name, "todo"), hired(name)[1]) == []


def test_one_figure_changed_in_a_text_is_seen(connection: Any) -> None:
    """A gas check good for eleven months instead of twelve is named by text, size, van and rule,
    and nothing else is; the smaller sizes and the hires see it too."""
    files = json.loads(texts()["0.4"])
    version = files["gb/gas.toml"]["rule"]["gas-safety-check"]["version"][-1]
    assert version["months"] == 12
    version["months"] = 11
    other = json.dumps(files, ensure_ascii=False)

    found = differences("0.4", "791 records", _kept("0.4", "steps"), steps(connection, other))
    assert {line.split(" | ")[1] for line in found} == {"gas-safety-check"}
    assert found[0].startswith("0.4, 791 records, was: V01 | gas-safety-check | - | ever ")
    assert (
        differences("0.4", "smaller sizes", _kept("0.4", "sizes"), sizes(connection, other)) != []
    )
    answers, days = hires(connection, other)
    assert differences("0.4", "791 records", _kept("0.4", "answers"), answers) != []
    assert differences("0.4", "791 records", _kept("0.4", "todo"), days) != []


def test_one_verdict_turned_is_seen() -> None:
    """The line that lacks and the line that is good are both named."""
    kept = ["V01 | damp | - | ever good noted", "V02 | damp | - | ever lacks no record"]
    made = [kept[0], "V02 | damp | - | ever good no record"]

    assert differences("0.4", "791 records", kept, kept) == []
    assert differences("0.4", "791 records", kept, made) == [
        f"0.4, 791 records, was: {kept[1]}",
        f"0.4, 791 records, is:  {made[1]}",
    ]
    assert differences("0.4", "791 records", kept, kept[::-1]) == [
        "0.4, 791 records: the same lines, otherwise often or in another order"
    ]


def main() -> None:
    """Write the answers anew, by the texts as they are frozen."""
    with tempfile.TemporaryDirectory() as folder, reading(_open(Path(folder))) as opened:
        for name, text in distinct().items():
            answers, days = hires(opened, text)
            _keep(name, "steps", steps(opened, text))
            _keep(name, "sizes", sizes(opened, text))
            _keep(name, "answers", answers)
            _keep(name, "todo", days)


if __name__ == "__main__":
    main()
