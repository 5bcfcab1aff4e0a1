"""README's blocks run: every command shown, on the sample fleet, with the output shown.

`python -m tests.test_readme` writes the outputs anew; look at the difference before keeping it.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from fleetcare.cli.app import COMMANDS
from fleetcare.cli.demo import run as run_typed
from fleetcare.desk import sample

ROOT = Path(__file__).parent.parent
README = ROOT / "README.md"
_BLOCK = re.compile(r"```console\n(.*?)```", re.DOTALL)
_GROUPS = ("van", "defect", "hire", "hold", "rules", "calc", "inspector", "export")


def blocks(text: str) -> list[list[tuple[str, str]]]:
    """Each block as its commands and what each prints."""
    found = []
    for body in _BLOCK.findall(text):
        pairs: list[tuple[str, str]] = []
        for line in body.splitlines():
            if line.startswith("$ "):
                pairs.append((line[2:], ""))
            elif line.startswith("> ") and "<<" in pairs[-1][0]:
                pairs[-1] = (f"{pairs[-1][0]}\n{line[2:]}", "")
            elif pairs:
                pairs[-1] = (pairs[-1][0], pairs[-1][1] + line + "\n")
        found.append(pairs)
    return found


def shell(command: str, folder: Path, package: Path) -> str:
    """What a command prints, on the sample's day; both streams, as a person sees them."""
    shim = folder / "bin" / "fleetcare"
    if not shim.exists():
        shim.parent.mkdir()
        shim.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m fleetcare "$@"\n')
        shim.chmod(0o755)
    done = subprocess.run(
        ["bash", "-c", command],
        cwd=folder,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        encoding="utf-8",
        check=False,
        env={
            "PATH": f"{shim.parent}:{os.environ['PATH']}",
            "PYTHONPATH": str(package),
            "FLEETCARE_DB": "fleet.db",
            "FLEETCARE_AS": "Mara",
            "LC_ALL": "C.UTF-8",
            "FLEETCARE_TODAY": sample.today().isoformat(),
            "HOME": "/nonexistent",
        },
    )
    return done.stdout


def _beside(folder: Path) -> None:
    """What lies beside the book: the firm's own file, and the sheets its yard filled."""
    for name in ("firm.toml", "handover-H149.txt", "return-H149.txt"):
        shutil.copy(ROOT / "sample_db" / name, folder / name)


def ours(command: str) -> bool:
    """Whether a command is run here; the two that start from a clone are run by .ci/run."""
    return "python3 .ci/" not in command


def test_every_block_prints_what_it_shows(sample_file: Path, tmp_path: Path) -> None:
    """The commands run one after another on one copy of the sample, word for word."""
    shutil.copy(sample_file, tmp_path / "fleet.db")
    _beside(tmp_path)
    for pairs in blocks(README.read_text("utf-8")):
        for command, printed in pairs:
            if ours(command):
                assert shell(command, tmp_path, ROOT) == printed, command


def test_every_command_has_an_example() -> None:
    """Each command, and each verb of a group, stands in a block that runs."""
    import importlib

    shown = " ; ".join(c for pairs in blocks(README.read_text("utf-8")) for c, _ in pairs)
    shown = re.sub(r"--db \w+\.db ", "", shown)
    wanted = []
    for name, (module, _) in COMMANDS.items():
        command = importlib.import_module(f"fleetcare.cli.{module}").COMMANDS[name]
        verbs = [v for v in getattr(command, "commands", {}) if v != "set"]
        wanted += [f"fleetcare {name} {verb}" for verb in verbs] or [f"fleetcare {name}"]
    wanted.remove("fleetcare demo")

    assert [words for words in wanted if words not in shown] == []
    assert "python3 .ci/go demo" in shown
    assert "python3 .ci/go test" in shown
    assert len(blocks(README.read_text("utf-8"))) >= 12


def test_the_exit_codes_in_readme_are_those_of_the_program() -> None:
    """The table and the enumeration are the same."""
    from fleetcare.errors import ExitCode

    rows = re.findall(r"^\| (\d+) \|", README.read_text("utf-8"), re.MULTILINE)

    assert [int(row) for row in rows] == [int(code) for code in ExitCode]


def write() -> None:
    """Run every block and write README with what was printed."""
    text = README.read_text("utf-8")
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        sample.build(place / "fleet.db", run_typed)
        _beside(place)

        def filled(match: re.Match[str]) -> str:
            lines = []
            for command, _ in blocks(match.group(0))[0]:
                first, *more = command.splitlines()
                lines += [f"$ {first}\n", *(f"> {line}\n" for line in more)]
                lines += [shell(command, place, ROOT)] if ours(command) else []
            return "```console\n" + "".join(lines) + "```"

        README.write_text(_BLOCK.sub(filled, text), "utf-8")


if __name__ == "__main__":
    write()
