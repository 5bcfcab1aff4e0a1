"""README and the handbook: every block runs, on a fresh copy of the sample for each page, and
prints what it shows; each page stands alone and can be read in one sitting.

`python -m tests.test_readme` writes the outputs anew; look at the difference before keeping it.
"""

from __future__ import annotations

import importlib
import re
import sys
import tempfile
from pathlib import Path

import click
import pytest

from fleetcare.cli.app import COMMANDS, LazyGroup, cli
from fleetcare.cli.demo import run as run_typed
from fleetcare.desk import handbook, sample
from tests.blocks import CUT, ROOT, Shown, beside, blocks, differing, written

README = ROOT / "README.md"
PAGES = sorted((ROOT / "fleetcare" / "handbook").glob("*.md"))


@pytest.mark.parametrize("page", [README, *PAGES], ids=lambda page: page.stem)
def test_every_block_prints_what_it_shows(page: Path, sample_file: Path, tmp_path: Path) -> None:
    """The commands of a page run one after another on a copy of the sample, word for word."""
    beside(sample_file, tmp_path)

    assert differing(page, tmp_path) == []


def test_a_cut_is_how_the_answer_begins_and_ends() -> None:
    """Lines left out are marked; what is shown before and after them is held to the answer."""
    shown = Shown("x", ("a", CUT, "d"))

    assert shown.agrees("a\nb\nc\nd\n")
    assert [shown.agrees(text) for text in ("a\nb\nc\n", "b\nc\nd\n", "a\nd\n")] == [False] * 3
    assert [Shown("x", ("a",)).agrees(text) for text in ("a\n", "a\nb\n", "")] == [
        True,
        False,
        False,
    ]
    assert Shown("x", ("…1/1",)).anew("a\nb\nc\nd\n") == ["a", CUT, "d"]
    assert shown.anew("1\n2\n3\n4\n") == ["1", CUT, "4"]
    assert Shown("x", ("…9",)).anew("a\nb\n") == ["a", "b"]


def test_readme_is_read_in_one_sitting() -> None:
    """The first page is short, names the two commands and each page of the handbook."""
    text = README.read_text("utf-8")

    assert len(text.splitlines()) <= 180
    assert "python3 .ci/go demo" in text
    assert "python3 .ci/go serve" in text
    assert "python3 .ci/go test" in text
    assert [name for name in handbook.pages() if f"`fleetcare handbook {name}`" not in text] == []


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_a_page_opens_with_its_question_and_ends_with_what_may_go_wrong(page: Path) -> None:
    """At most two hundred lines; heading, question, and last a table of what to do."""
    lines = page.read_text("utf-8").splitlines()
    headings = [line for line in lines if line.startswith("#")]

    assert len(lines) <= 200
    assert lines[0].startswith("# ")
    assert re.fullmatch(r"\*\*.+\?\*\*", lines[2])
    assert headings[-1] == "## What may go wrong"
    assert sum(line.startswith("| ") for line in lines[lines.index(headings[-1]) :]) >= 4


def test_every_page_is_listed_and_shown() -> None:
    """What lies in the folder is what the command lists; a page is shown as it is written."""
    assert sorted(handbook.pages()) == [page.stem for page in PAGES]
    for page in PAGES:
        assert handbook.page(page.stem).text == page.read_text("utf-8")
        assert handbook.page(page.stem).question in page.read_text("utf-8")


def _verbs() -> dict[str, click.Command]:
    """Every command, and each verb of a group, as it is typed."""
    found: dict[str, click.Command] = {}
    assert isinstance(cli, LazyGroup)
    for name in COMMANDS:
        command = cli.get_command(click.Context(cli), name)
        assert command is not None
        verbs = {v: c for v, c in getattr(command, "commands", {}).items() if v != "set"}
        found |= {f"{name} {verb}": c for verb, c in verbs.items()} or {name: command}
    return found


def test_every_command_has_an_example_on_its_page() -> None:
    """Each command, and each verb of a group, stands in a block that runs, on the page its help
    ends with."""
    lacking = []
    for name, command in _verbs().items():
        page = str(command.epilog).removeprefix("More: fleetcare handbook ")
        shown = "\n".join(s.command for b in blocks(handbook.page(page).text) for s in b)
        if not re.search(rf"fleetcare (--db \S+ )?{name}\b", shown):
            lacking.append((name, page))

    assert lacking == [("handbook", "first-week"), ("demo", "first-week")]


def test_the_exit_codes_on_the_page_are_those_of_the_program() -> None:
    """The table and the enumeration are the same."""
    from fleetcare.errors import ExitCode

    rows = re.findall(r"^\| (\d+) \|", handbook.page("programs").text, re.MULTILINE)

    assert [int(row) for row in rows] == [int(code) for code in ExitCode]


def test_what_the_pages_tell_to_type_can_be_typed() -> None:
    """Every command and option that stands in a sentence or a table exists."""
    verbs = _verbs()
    lacking = []
    for page in (README, *PAGES):
        for typed in re.findall(r"`(?:fleetcare )([^`]+)`", page.read_text("utf-8")):
            words = typed.split()
            name = next((" ".join(words[:n]) for n in (2, 1) if " ".join(words[:n]) in verbs), None)
            name = name or (words[0] if words[0] in COMMANDS else None)
            if name is None:
                lacking.append((page.name, typed))
                continue
            group = importlib.import_module(f"fleetcare.cli.{COMMANDS[words[0]][0]}")
            whole = group.COMMANDS[words[0]]
            command = verbs.get(name) or getattr(whole, "commands", {}).get("set", whole)
            known = {opt for param in command.params for opt in param.opts + param.secondary_opts}
            lacking += [(page.name, w) for w in words if w.startswith("-") and w not in known]

    assert lacking == []


def test_words_are_said_under_an_answer() -> None:
    """A word of the glossary is told where the text uses it, and no other."""
    assert [line.partition(":")[0] for line in handbook.meanings("past its stop day, no card")] == [
        "stop day", "card",
    ]  # fmt: skip
    assert handbook.meanings("discarded on Monday") == []
    wanted = {
        "stop day", "counts as done on", "if done first", "card", "walkaround", "sign-off", "tally",
    }  # fmt: skip
    assert wanted <= handbook.said_under().keys()


def main(names: list[str]) -> None:
    """Write the pages named, or all of them, with what is printed now."""
    with tempfile.TemporaryDirectory() as folder:
        built = Path(folder) / "sample.db"
        sample.build(built, run_typed)
        for page in (README, *PAGES):
            if not names or page.stem in names:
                place = Path(folder) / page.stem
                place.mkdir()
                beside(built, place)
                written(page, place, print)


if __name__ == "__main__":
    main(sys.argv[1:])


def test_no_example_speaks_of_a_record_that_is_another() -> None:
    """Numbers in examples move when the sample grows; a page that shows the refusal shows nothing."""
    for page in PAGES:
        assert not re.search(r"^Error: #\d+ is not", page.read_text("utf-8"), re.MULTILINE), page
