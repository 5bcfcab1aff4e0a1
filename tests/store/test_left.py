"""What killed runs and full disks leave: nothing that stays, nothing that blocks a name."""

from __future__ import annotations

import contextlib
import datetime as dt
import fcntl
import os
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from fleetcare import files
from fleetcare.desk import trust
from fleetcare.errors import DatabaseFault, Refused
from fleetcare.store import engine
from tests.typed import typed

DAY = dt.date(2026, 8, 1)
PDF = b"%PDF-1.7\n" + b"x" * 50


def _aged(path: Path) -> Path:
    os.utime(path, (time.time() - 100,) * 2)
    return path


@pytest.fixture
def parts(tmp_path: Path) -> dict[str, Path]:
    """Parts of every sort beside a book: left, being made, just made, another's link."""
    found = {name: tmp_path / f".fleetcare-part-{name}" for name in ("left", "held", "new", "link")}
    for name in ("left", "held", "new"):
        found[name].write_text("a name in plain text")
    found["log"] = tmp_path / ".fleetcare-part-left-wal"
    found["held log"] = tmp_path / ".fleetcare-part-held-wal"
    for name in ("log", "held log"):
        found[name].write_text("log")
    found["folder"] = tmp_path / ".fleetcare-part-folder"
    (found["folder"] / "papers").mkdir(parents=True)
    found["link"].symlink_to(tmp_path / "elsewhere")
    found["mine"] = tmp_path / ".fleetcare-completion"  # as `fleetcare completion` is kept
    found["mine"].write_text("complete -F _fleetcare")
    for name in found.keys() - {"new", "link"}:
        _aged(found[name])
    return found


def test_what_a_killed_run_left_is_removed_and_what_is_being_made_stays(
    parts: dict[str, Path], tmp_path: Path
) -> None:
    """A lock tells which it is; one just made is not looked at."""
    with parts["held"].open() as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        removed = files.tidy(tmp_path)

    assert set(removed) == {parts["left"], parts["log"], parts["folder"]}
    assert all(os.path.lexists(parts[name]) for name in ("held", "held log", "new", "link", "mine"))


def test_a_part_is_held_while_it_is_made(tmp_path: Path) -> None:
    """Whoever tidies meanwhile leaves it; killed, it is held by nobody."""
    with files.new_file(str(tmp_path / "a.txt")) as part, pytest.MonkeyPatch.context() as patch:
        patch.setattr(files, "_YOUNG", 0)
        assert files.tidy(tmp_path) == []
        part.write_text("whole")
    assert (tmp_path / "a.txt").read_text() == "whole"

    code = (
        "import os, sys\nfrom fleetcare.files import new_file\n"
        "with new_file(sys.argv[1]):\n    os.kill(os.getpid(), 9)\n"
    )
    subprocess.run([sys.executable, "-c", code, str(tmp_path / "b.txt")], check=False)
    (left,) = tmp_path.glob(".fleetcare-*")
    assert files.tidy(tmp_path) == []
    assert files.tidy(_aged(left).parent) == [left]


def test_the_next_write_removes_it_and_says_so(good: str, parts: dict[str, Path]) -> None:
    """Beside the book and in its folder of papers; a dry run touches nothing."""
    kept = Path(f"{good}.papers") / "ab" / ".fleetcare-part-paper"
    kept.parent.mkdir(parents=True)
    kept.write_bytes(PDF)
    _aged(kept)
    typed(good, 'defect report V01 --grade minor "blind" --dry-run', DAY)
    assert kept.exists()

    said = typed(good, 'defect report V01 --grade minor "blind"', DAY).splitlines()[0]
    gone = [parts[name] for name in ("folder", "held", "held log", "left", "log")]
    assert said == f"Removed what a killed run left: {', '.join(map(str, [*gone, kept]))}."
    assert not any(path.exists() for path in [*gone, kept])


def test_the_keeper_may_ask_for_it(good: str, tmp_path: Path) -> None:
    """Where the last copy lies too; nothing left is said as well."""
    stick = tmp_path / "stick"
    stick.mkdir()
    typed(good, f"backup -o {stick}/copy.db", DAY)
    left = stick / ".fleetcare-part-killed"
    left.write_text("x")
    _aged(left)

    assert trust.tidied(good) == [f"Removed what a killed run left: {left}."]
    assert trust.tidied(good) == ["No killed run left anything."]


def test_papers_left_by_a_killed_copy_block_no_name(good: str, tmp_path: Path) -> None:
    """What lies there without its book is kept, what is asked for is put by beside it."""
    (tmp_path / "a.pdf").write_bytes(PDF)
    typed(good, f"attach 21 {tmp_path}/a.pdf", DAY)
    folder = tmp_path / "copy.db.papers"
    (folder / "00").mkdir(parents=True)
    (folder / "00" / "other.pdf").write_bytes(b"%PDF other")
    typed(good, f"backup -o {tmp_path}/copy.db", DAY)

    assert sorted(p.name for p in folder.glob("*/*") if p.name != "other.pdf") == sorted(
        p.name for p in Path(f"{good}.papers").glob("*/*")
    )
    assert (folder / "00" / "other.pdf").read_bytes() == b"%PDF other"
    assert trust.check_copy(str(tmp_path / "copy.db"))[0].startswith(
        f'"{tmp_path}/copy.db" is sound'
    )


@pytest.mark.parametrize("way", ["load", "restore"])
def test_a_book_bears_its_name_only_once_it_is_kept_as_every_book_is(
    good: str, tmp_path: Path, way: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A run killed as it takes its name leaves none in another journal mode."""
    typed(good, f"dump -o {tmp_path}/a.jsonl", DAY)
    typed(good, f"backup -o {tmp_path}/copy.db", DAY)
    seen: dict[str, bool] = {}
    link = os.link

    def linked(part: Path, path: Path) -> None:
        seen[path.name] = engine.has_log(part)
        link(part, path)

    monkeypatch.setattr(os, "link", linked)
    if way == "load":
        typed(f"{tmp_path}/new.db", f"load {tmp_path}/a.jsonl", DAY)
    else:
        typed(good, f"restore {tmp_path}/copy.db --into {tmp_path}/new.db", DAY)
    assert seen == {"new.db": True}


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of a few pages, in memory."""
    folder = tmp_path / "disk"
    folder.mkdir()
    words = ["mount", "-t", "tmpfs", "-o", "size=300k", "tmpfs", str(folder)]
    with contextlib.suppress(OSError):
        if subprocess.run(words, capture_output=True, check=False).returncode == 0:
            try:
                yield folder
            finally:
                subprocess.run(["umount", str(folder)], check=True)
            return
    pytest.skip("no disk can be mounted here: that needs root, and leave to mount")


def test_a_full_disk_is_the_one_named_and_keeps_nothing(
    good: str, small_disk: Path, tmp_path: Path
) -> None:
    """A book made, copied, loaded and written out: what is refused is on that disk, by its name."""
    typed(good, f"dump -o {tmp_path}/a.jsonl", DAY)
    name = small_disk / "x.db"
    for place, line in (
        (str(name), "init"),
        (good, f"backup -o {name}"),
        (str(name), f"load {tmp_path}/a.jsonl"),
    ):
        with pytest.raises(DatabaseFault) as fault:
            typed(place, line, DAY)
        assert str(fault.value) == (
            f'there is no room left to write to "{name}". Nothing was written.'
        )
        assert list(small_disk.iterdir()) == []
    (small_disk / "fills").write_bytes(b"x" * 290_000)
    with pytest.raises(Refused) as refused:
        typed(good, f"dump -o {small_disk}/a.jsonl", DAY)
    assert str(refused.value) == f"{small_disk}/a.jsonl: cannot be written: No space left on device"
    assert [p.name for p in small_disk.iterdir()] == ["fills"]
