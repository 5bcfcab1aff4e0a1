"""The built wheel, unpacked into an empty folder, and commands run from it as users type them."""

from __future__ import annotations

import contextlib
import os
import shlex
import sqlite3
import subprocess
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from fleetcare.desk import trust
from tests.typed import typed as typed_here

ROOT = Path(__file__).parent.parent.parent
TODAY = os.environ.get("FLEETCARE_TEST_TODAY", "2026-11-23")


class Ran(NamedTuple):
    """What a command gave: try it by hand with `line`."""

    line: str
    code: int
    out: str
    err: str


Run = Callable[..., Ran]

# A van, what can be written of it, and a booking.
ADD = "van add V01 --jurisdiction gb --in-service-from 2024-01-01"
READ = "odometer V01 42310mi"
HIRE = "hire add V01 --from 2027-08-02 --through 2027-08-09 --ref H1 --even-so known"


@pytest.fixture(scope="session")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder that holds only what the wheel holds."""
    folder = tmp_path_factory.mktemp("wheel")
    subprocess.run(
        [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", folder, ROOT],
        check=True,
        capture_output=True,
    )
    (built,) = folder.glob("*.whl")
    with zipfile.ZipFile(built) as archive:
        archive.extractall(folder / "site")
    return folder / "site"


@pytest.fixture
def run(wheel: Path, tmp_path: Path) -> Run:
    """Run one `fleetcare` line in an empty folder. A home that can't be written, no settings."""
    return runner(wheel, tmp_path)


def runner(wheel: Path, folder: Path) -> Run:
    """What runs one line after another in a folder."""

    def typed(line: str, *, db: str | None = "fleet.db", today: str = TODAY, **env: str) -> Ran:
        words = [sys.executable, "-m", "fleetcare"]
        if db is not None:
            words += ["--db", db]
        words += shlex.split(line)
        done = subprocess.run(
            words,
            cwd=folder,
            capture_output=True,
            text=True,
            encoding="utf-8",
            check=False,
            stdin=subprocess.DEVNULL,
            env={
                "PATH": os.environ["PATH"],
                "PYTHONPATH": str(wheel),
                "HOME": "/nonexistent",
                "PYTHONWARNINGS": "error",
                "LC_ALL": "C",
                "FLEETCARE_AS": "Test",
                "TZ": os.environ.get("TZ", "Europe/London"),
                "FLEETCARE_TODAY": today,
                "PYTHONIOENCODING": "utf-8",
                **env,
            },
        )
        return Ran(line, done.returncode, done.stdout, done.stderr)

    return typed


class Ended(NamedTuple):
    """How a command ended, and what it said on each stream."""

    code: int
    out: str
    err: str


class Typed:
    """Commands typed in a folder on the sample's today, their streams joined to this and that."""

    def __init__(self, wheel: Path, folder: Path) -> None:
        self._folder = folder
        self._environment = {
            "PATH": os.environ["PATH"], "PYTHONPATH": str(wheel), "HOME": "/nonexistent",
            "PYTHONWARNINGS": "error", "LC_ALL": "C", "FLEETCARE_AS": "Test",
            "TZ": "Europe/London", "FLEETCARE_TODAY": "2026-11-23", "FLEETCARE_DB": "fleet.db",
            "PYTHONIOENCODING": "utf-8",
        }  # fmt: skip

    def begun(self, line: str, out: int) -> subprocess.Popen[bytes]:
        """A command begun, with its standard output given."""
        return subprocess.Popen(
            [sys.executable, "-m", "fleetcare", *shlex.split(line)], cwd=self._folder,
            env=self._environment, stdin=subprocess.DEVNULL, stdout=out, stderr=subprocess.PIPE,
        )  # fmt: skip

    def shell(self, line: str, to: str = "", **env: str) -> Ended:
        """A command with what a shell lets one add to it: `>&-`, `</dev/null`."""
        words = [sys.executable, "-m", "fleetcare", *shlex.split(line)]
        return self.run(["bash", "-c", f'"$@" {to}', "bash", *words], **env)

    def python(self, code: str, line: str) -> Ended:
        """A command in a Python where something was planted first."""
        begin = f"{code}\nfrom fleetcare.cli.app import main\nmain({shlex.split(line)!r})\n"
        return self.run([sys.executable, "-c", begin])

    def run(self, words: list[str], input: str = "", **env: str) -> Ended:
        """Any words, and what is typed to them."""
        done = subprocess.run(
            words, cwd=self._folder, env=self._environment | env, input=input.encode("utf-8"),
            capture_output=True, check=False,
        )  # fmt: skip
        return Ended(done.returncode, done.stdout.decode("utf-8"), done.stderr.decode("utf-8"))


def records(folder: Path) -> int:
    """How many records the book in a folder holds."""
    return trust.status(str(folder / "fleet.db")).records


@pytest.fixture
def typed(wheel: Path, tmp_path: Path) -> Typed:
    """Commands in an empty folder."""
    return Typed(wheel, tmp_path)


@pytest.fixture(scope="session")
def one_van(tmp_path_factory: pytest.TempPathFactory, ready_template: bytes) -> bytes:
    """The bytes of a book of one van, of two records."""
    return with_line(ready_template, tmp_path_factory.mktemp("one") / "fleet.db", ADD)


def with_line(book: bytes, file: Path, line: str) -> bytes:
    """The bytes of a book once a line was typed; made in a file of its own."""
    file.write_bytes(book)
    typed_here(str(file), line)
    with contextlib.closing(sqlite3.connect(file)) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return file.read_bytes()


@pytest.fixture
def small(typed: Typed, one_van: bytes, tmp_path: Path) -> Typed:
    """Commands on that book."""
    (tmp_path / "fleet.db").write_bytes(one_van)
    return typed


def rows_of(folder: Path) -> list[str]:
    """Every row of every table of the book in a folder."""
    with contextlib.closing(sqlite3.connect(folder / "fleet.db")) as connection:
        return list(connection.iterdump())
