"""Blocks of README and the handbook: run one after another on a copy of the sample, and compared
with what stands under them; or written anew.

A long answer stands once and is cut elsewhere: a line "…" in what is shown stands for lines left
out, so that what is before it is how the answer begins, and what is after it is how it ends. While a
page is written, "…6" after a command cuts its answer after six lines, and "…2/1" after two and
before the last. A line that ends with " …" is held to its beginning alone: what follows differs
from one run to the next.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NamedTuple

from fleetcare.desk import sample

ROOT = Path(__file__).parent.parent
CUT = "…"
_BLOCK = re.compile(r"```console\n(.*?)```", re.DOTALL)
_AND_SO_ON = f" {CUT}"
_TO_CUT = re.compile(r"…(\d+)(?:/(\d+))?")


class Shown(NamedTuple):
    """One command of a block, and what stands under it."""

    command: str
    lines: tuple[str, ...]

    def agrees(self, printed: str) -> bool:
        """Whether a command prints what is shown, as far as it is shown."""
        said = printed.splitlines()
        if CUT not in self.lines:
            return _same(self.lines, said)
        head, tail = self._around()
        ends = not tail or _same(tail, said[-len(tail) :])
        return _same(head, said[: len(head)]) and ends and len(said) > len(head) + len(tail)

    def anew(self, printed: str) -> list[str]:
        """What is to stand under it now, cut where it was cut."""
        said = printed.splitlines()
        asked = _TO_CUT.fullmatch(self.lines[-1]) if self.lines else None
        if asked:
            before, after = int(asked[1]), int(asked[2] or 0)
        elif CUT in self.lines:
            before, after = map(len, self._around())
        elif len(said) == len(self.lines):
            return [_ended(line, shown) for line, shown in zip(said, self.lines, strict=True)]
        else:
            return said
        if len(said) <= before + after:
            return said
        return [*said[:before], CUT, *(said[-after:] if after else [])]

    def _around(self) -> tuple[list[str], list[str]]:
        place = self.lines.index(CUT)
        return list(self.lines[:place]), list(self.lines[place + 1 :])


def _same(shown: Sequence[str], said: Sequence[str]) -> bool:
    return len(shown) == len(said) and all(
        line == shown_line or (shown_line.endswith(_AND_SO_ON) and line.startswith(shown_line[:-1]))
        for shown_line, line in zip(shown, said, strict=True)
    )


def _ended(line: str, shown: str) -> str:
    """A line that is printed, ended after as many words as what is shown of it."""
    if not shown.endswith(_AND_SO_ON):
        return line
    return " ".join([*line.split(" ")[: len(shown.split(" ")) - 1], CUT])


def blocks(text: str) -> list[list[Shown]]:
    """The blocks of a page, each as its commands."""
    return [_commands(body) for body in _BLOCK.findall(text)]


def _commands(body: str) -> list[Shown]:
    found: list[Shown] = []
    for line in body.splitlines():
        if line.startswith("$ "):
            found.append(Shown(line[2:], ()))
        elif line.startswith("> ") and "<<" in found[-1].command:
            found[-1] = Shown(f"{found[-1].command}\n{line[2:]}", ())
        else:
            found[-1] = found[-1]._replace(lines=(*found[-1].lines, line))
    return found


def ours(command: str) -> bool:
    """Whether a command is run here; the two that start from a clone are run by .ci/run."""
    return "python3 .ci/" not in command


def beside(sample_file: Path, folder: Path) -> None:
    """A fresh copy of the sample, the firm's own file, and the sheets its yard filled."""
    shutil.copy(sample_file, folder / "fleet.db")
    for name in ("firm.toml", "handover-H149.txt", "return-H149.txt"):
        shutil.copy(ROOT / "sample_db" / name, folder / name)


def shell(command: str, folder: Path) -> str:
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
            "PYTHONPATH": str(ROOT),
            "FLEETCARE_DB": "fleet.db",
            "FLEETCARE_AS": "Mara",
            "LC_ALL": "C.UTF-8",
            "FLEETCARE_TODAY": sample.today().isoformat(),
            "HOME": "/nonexistent",
        },
    )
    return done.stdout


def differing(page: Path, folder: Path) -> list[str]:
    """Where a page shows what is not printed: page, block and command, with what is printed."""
    found = []
    for number, listed in enumerate(blocks(page.read_text("utf-8")), 1):
        for shown in listed:
            if ours(shown.command):
                printed = shell(shown.command, folder)
                if not shown.agrees(printed):
                    found.append(f"{page.name}, block {number}: {shown.command}\n{printed}")
    return found


def written(page: Path, folder: Path, tell: Callable[[str], None]) -> None:
    """Run a page's blocks and write it with what was printed."""

    def anew(match: re.Match[str]) -> str:
        lines = []
        for shown in _commands(match.group(1)):
            first, *more = shown.command.splitlines()
            lines += [f"$ {first}", *(f"> {line}" for line in more)]
            if ours(shown.command):
                lines += shown.anew(shell(shown.command, folder))
        return "\n".join(["```console", *lines, "```"])

    text = page.read_text("utf-8")
    new = _BLOCK.sub(anew, text)
    if new != text:
        page.write_text(new, "utf-8")
        tell(f"{page.name} is written anew: look at the difference")
