"""What the handbook promises of the pages: each point has a line, each line a test that is there;
and what no page can show, read from the project's own files."""

from __future__ import annotations

import ast
import re
import tomllib
from pathlib import Path

from fleetcare.desk import handbook
from fleetcare.web.pages import PAGES

ROOT = Path(__file__).parent.parent.parent
POINTS = 34
_NAMED = re.compile(r"`(tests/[\w/]+\.py)::(\w+)`")


def _rows(heading: str) -> list[list[str]]:
    """The cells of the table under a heading of the page."""
    text = handbook.page("security").text.partition(f"## {heading}\n")[2].partition("\n## ")[0]
    lines = [line for line in text.splitlines() if line.startswith("| ")][2:]
    return [[cell.strip() for cell in line.strip("|").split(" | ")] for line in lines]


def lost(path: str, test: str) -> bool:
    """Whether a test that is named is not there."""
    file = ROOT / path
    if not file.is_file():
        return True
    tree = ast.parse(file.read_text("utf-8"))
    return test not in {one.name for one in tree.body if isinstance(one, ast.FunctionDef)}


def test_every_point_has_its_test() -> None:
    """Thirty-four lines, none left out, none twice, each with a test that is there by that name."""
    rows = _rows("What is promised, and what holds it")

    assert [int(row[0].partition(" ")[0]) for row in rows] == list(range(1, POINTS + 1))
    for point, promise, held in rows:
        named = _NAMED.findall(held)
        assert named, point
        assert len(promise) > 20, point
        assert [one for one in named if lost(*one)] == [], point
    assert lost("tests/web/test_points.py", "test_that_is_not_there")
    assert lost("tests/web/test_nowhere.py", "test_every_point_has_its_test")


def test_what_is_out_of_reach_is_said_with_its_why() -> None:
    """Nothing is passed over in silence."""
    rows = _rows("What is out of reach")

    assert len(rows) >= 5
    assert all(len(why) > 30 for _, why in rows)


def test_sql_put_together_is_looked_for() -> None:
    """The linter looks for it in all of the program, and is told to pass over two places alone,
    each of which says why; no page speaks to a database."""
    ruff = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["ruff"]["lint"]
    assert "S608" in ruff["select"]
    spared = ruff["per-file-ignores"]
    assert [name for name, rules in spared.items() if "S608" in rules] == ["tests/**"]
    passed_over = [
        (path.name, line.partition("S608")[2].strip())
        for path in sorted((ROOT / "fleetcare").rglob("*.py"))
        for line in path.read_text("utf-8").splitlines()
        if "noqa: S608" in line
    ]
    assert passed_over == [
        ("insert.py", "(our own names)"),
        ("migrating.py", "(our own names)"),
    ]
    for path in (ROOT / "fleetcare" / "web").glob("*.py"):
        assert "sqlalchemy" not in path.read_text("utf-8")


def test_no_secret_is_asked_in_an_address() -> None:
    """No form that is sent by an address has a field of a password or a token."""
    for path in sorted((ROOT / "fleetcare" / "web" / "templates").glob("*.html")):
        for form in path.read_text("utf-8").split("<form")[1:]:
            head, _, rest = form.partition(">")
            if 'method="post"' in head:
                continue
            within = rest.partition("</form>")[0]
            assert 'method="get"' in head, path.name
            assert "password" not in within, path.name
            assert "ours(" not in within, path.name
    assert [page.path for page in PAGES if "{link}" in page.path] == ["/link/{link}"]


def _plain(name: str) -> str:
    return re.sub(r"[-_.]+", "-", re.split(r"[<>=!~;\[ ]", name)[0]).casefold()


def test_every_part_is_pinned_by_its_sums() -> None:
    """What the program and its extras ask for stands in the list, one version each, with the sum of
    each file; the list names no address to fetch it from."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    asked = list(project["dependencies"])
    for more in project["optional-dependencies"].values():
        asked += more
    text = (ROOT / ".ci" / "requirements.txt").read_text("utf-8")
    parts = re.split(r"\n(?=[a-z0-9])", text)
    pinned = {_plain(part.partition("==")[0]) for part in parts}

    assert {_plain(one) for one in asked} - pinned == set()
    for part in parts:
        assert re.match(r"[\w.\[\],-]+==[\w.]+( ;|\s)", part), part[:60]
        assert re.search(r"--hash=sha256:[0-9a-f]{64}", part), part[:60]
    assert "--no-hashes" not in text
    assert "://" not in text
