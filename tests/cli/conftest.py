"""The built wheel, unpacked into an empty folder, and commands run from it as users type them."""

from __future__ import annotations

import os
import shlex
import subprocess
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

ROOT = Path(__file__).parent.parent.parent
TODAY = os.environ.get("FLEETCARE_TEST_TODAY", "2026-11-23")


class Ran(NamedTuple):
    """What a command gave: try it by hand with `line`."""

    line: str
    code: int
    out: str
    err: str


Run = Callable[..., Ran]


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
