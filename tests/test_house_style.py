"""The size of things, and words kept out of them."""

from __future__ import annotations

import ast
import re
import subprocess
import tomllib
from pathlib import Path

from fleetcare import __version__
from fleetcare.cli.app import VERSION
from fleetcare.store.tables import SCHEMA

ROOT = Path(__file__).parent.parent
MODULE_LINES, FUNCTION_LINES, PARAMETERS = 400, 50, 6


def _files(*suffixes: str) -> list[Path]:
    listed = subprocess.run(
        ["git", "ls-files", "-co", "--exclude-standard"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    ).stdout.splitlines()
    return [ROOT / name for name in listed if name.endswith(suffixes) and (ROOT / name).is_file()]


def test_modules_and_functions_stay_readable() -> None:
    """A module is read in one sitting and a function on one screen; command callbacks may have
    as many parameters as they have options."""
    found = []
    for path in [p for p in _files(".py") if "fleetcare" in p.parts]:
        text = path.read_text("utf-8")
        if len(text.splitlines()) > MODULE_LINES:
            found.append(f"{path.name}: {len(text.splitlines())} lines")
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.FunctionDef):
                lines = (node.end_lineno or 0) - node.lineno + 1
                arguments = len(node.args.args) + len(node.args.kwonlyargs)
                if lines > FUNCTION_LINES:
                    found.append(f"{path.name}: {node.name} has {lines} lines")
                callback = "cli" in path.parts and node.decorator_list
                if arguments > PARAMETERS and not callback:
                    found.append(f"{path.name}: {node.name} has {arguments} parameters")

    assert found == []


def test_every_test_says_what_it_shows() -> None:
    """Each test has a docstring that is a sentence."""
    found = []
    for path in [p for p in _files(".py") if p.name.startswith("test_")]:
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
                words = ast.get_docstring(node) or ""
                if not words.rstrip().endswith("."):
                    found.append(f"{path.name}: {node.name}")

    assert found == []


def test_no_words_of_office_software_and_no_addresses() -> None:
    """The trade's words are used, and no registry, machine path or secret stands in the project."""
    banned = re.compile(r"\b(vehicle id|work order|asset)s?\b", re.IGNORECASE)
    address = re.compile("index" + "-url|/ro" + "ot/|/ho" + "me/|pypi" + r"\.org|file" + "://")
    found = []
    for path in _files(".py", ".toml", ".md", ".txt", ".in", "run", "go"):
        text = path.read_text("utf-8")
        if banned.search(text) and path.name != "test_house_style.py":
            found.append(f"{path.name}: {banned.search(text)}")
        if address.search(text):
            found.append(f"{path.name}: {address.search(text)}")

    assert found == []


def test_one_version_and_one_schema() -> None:
    """pyproject, the package and --version say the same."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]

    assert project["version"] == __version__ == VERSION
    assert SCHEMA in (ROOT / "fleetcare" / "cli" / "app.py").read_text("utf-8")


def test_only_the_clock_reads_the_day() -> None:
    """Nothing but clock.py asks what day it is, and only windows.py steps by one day."""
    today = re.compile(r"date\.today\(|datetime\.now\(|time\.time\(")
    one_day = re.compile(r"timedelta\(days=1\)|timedelta\(1\)")
    found = []
    for path in [p for p in _files(".py") if "fleetcare" in p.parts and "tests" not in p.parts]:
        text = path.read_text("utf-8")
        if today.search(text) and path.name != "clock.py":
            found.append(f"{path.name} reads the day")
        if one_day.search(text) and path.name not in ("windows.py",):
            found.append(f"{path.name} steps by a day")

    assert found == []
