"""Who may read what is made: nobody else, or the group where that was said."""

from __future__ import annotations

from pathlib import Path

from tests.cli.conftest import ADD, Run

PNG = b"\x89PNG\r\n\x1a\n0000"


def _modes(folder: Path) -> dict[str, str]:
    return {
        path.name: oct(path.stat().st_mode & 0o777)
        for path in sorted(folder.rglob("*"))
        if path.name != "photo.png"
    }


def test_what_is_made_is_read_by_nobody_else(run: Run, tmp_path: Path) -> None:
    """Book, log, papers and their folders, a copy with its manifest, a sheet, a workbook."""
    (tmp_path / "photo.png").write_bytes(PNG)
    for line in (
        "init", ADD, "attach 2 photo.png", "backup -o copy.db", "sheet blank vans -o vans.xlsx",
        "export calendar -o due.ics", "dump -o book.jsonl",
    ):  # fmt: skip
        done = run(line)
        assert done.code == 0, done.err
    found = _modes(tmp_path)

    assert {"fleet.db", "copy.db", "vans.xlsx", "due.ics", "book.jsonl"} <= set(found)
    folders = {path.name for path in tmp_path.rglob("*") if path.is_dir()}
    assert folders
    assert {found[name] for name in folders} == {"0o700"}
    assert {mode for name, mode in found.items() if name not in folders} <= {"0o600", "0o700"}


def test_the_group_may_read_where_it_is_said(run: Run, tmp_path: Path) -> None:
    """And nothing but the two is taken."""
    assert run("init", FLEETCARE_MODE="0640").code == 0
    assert (tmp_path / "fleet.db").stat().st_mode & 0o777 == 0o640
    wrong = run("status", FLEETCARE_MODE="644")
    assert (wrong.code, wrong.err.splitlines()[-1]) == (
        2, 'Error: FLEETCARE_MODE is "644": set it to 0600 or 0640, or not at all',
    )  # fmt: skip
