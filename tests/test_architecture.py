"""Who may import whom. The table is the design; the specimens prove that the test can fail."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent / "fleetcare"

# Left may import right. What is not named may import nothing of ours.
ARROWS: dict[str, set[str]] = {
    "cli": {
        "cli",
        "desk",
        "reports",
        "render",
        "trade",
        "clock",
        "errors",
        "files",
        "records.kinds",
        "records.fields",
        "rules.party",
    },
    "desk": {
        "desk",
        "timeline",
        "store",
        "intake",
        "rules",
        "hire",
        "words",
        "van",
        "things",
        "reports",
        "render",
        "trade",
        "records",
        "clock",
        "errors",
        "chance",
        "shipped",
        "windows",
        "post",
        "fleetcare",
    },
    "reports": {
        "reports",
        "words",
        "hire",
        "rules",
        "van",
        "things",
        "records",
        "windows",
        "timeline",
        "trade",
    },
    "hire": {"hire", "words", "rules", "van", "things", "records", "trade", "windows", "timeline"},
    "words": {"words", "rules", "van", "records", "windows", "timeline"},
    "render": {"render", "reports", "shipped"},
    "intake": {"intake", "records", "rules", "things", "van", "trade", "windows", "errors"},
    "rules": {"rules", "van", "things", "trade", "records", "windows", "timeline", "errors"},
    "van": {"van", "rules.book", "rules.rule", "things", "records", "trade", "windows"},
    "things": {"records", "trade"},
    "store": {"store", "records", "merkle", "errors", "files", "clock", "chance", "shipped"},
    "records": {"records"},
    "trade": {"trade"},
    "timeline": {"windows"},
    "clock": set(),
    "errors": set(),
    "post": {"errors"},
    "files": {"errors"},
    "windows": set(),
    "merkle": set(),
    "chance": set(),
    "shipped": set(),
    "__init__": set(),
    "__main__": {"cli"},
}
# A narrower rule inside a folder: a kind sees neither the book, the judge nor the reader.
INSIDE: dict[str, set[str]] = {
    "rules.kinds": {
        "rules.book",
        "rules.judge",
        "rules.read",
        "rules.read_rule",
        "rules.outcome",
    },
}
ONLY_IN = {
    "sqlalchemy": {"store"},
    "alembic": {"store"},
    "click": {"cli"},
    "openpyxl": {"render", "intake"},
    "tomllib": {"shipped", "desk"},
}


def _modules(root: Path) -> dict[str, str]:
    return {
        ".".join(path.relative_to(root).with_suffix("").parts): path.read_text("utf-8")
        for path in sorted(root.rglob("*.py"))
        if "migrations" not in path.parts
    }


def _imports(source: str) -> list[str]:
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module:
            if node.module == "fleetcare":
                found += [f"fleetcare.{alias.name}" for alias in node.names]
            else:
                found.append(node.module)
    return found


def faults(modules: dict[str, str]) -> list[str]:
    """Every import that goes against the arrows."""
    found = []
    for name, source in modules.items():
        top = name.split(".")[0]
        for imported in _imports(source):
            first, _, rest = imported.partition(".")
            if first in ONLY_IN and top not in ONLY_IN[first]:
                found.append(f"{name} imports {imported}")
            if first != "fleetcare":
                continue
            target = rest or "fleetcare"
            if target.startswith("__"):
                target = "fleetcare"
            allowed = ARROWS.get(top, set())
            if not any(target == a or target.startswith(f"{a}.") for a in allowed):
                found.append(f"{name} imports {target}")
            for folder, barred in INSIDE.items():
                if name.startswith(folder) and any(target == b for b in barred):
                    found.append(f"{name} imports {target}")
    return found


def test_imports_flow_one_way() -> None:
    """No module of the package imports against the arrows."""
    modules = _modules(ROOT)

    assert faults(modules) == []
    assert len(modules) > 60


@pytest.mark.parametrize(
    ("name", "source", "fault"),
    [
        (
            "rules.kinds.aged",
            "from fleetcare.rules.book import Book",
            "rules.kinds.aged imports rules.book",
        ),
        ("rules.judge", "import fleetcare.store.facts", "rules.judge imports store.facts"),
        ("reports.due", "import click", "reports.due imports click"),
        ("windows", "from fleetcare import clock", "windows imports clock"),
        ("cli.ask", "def f():\n    from fleetcare.store import facts", "cli.ask imports store"),
        ("desk.ask", "import sqlalchemy.orm", "desk.ask imports sqlalchemy.orm"),
    ],
)
def test_the_arrows_can_be_broken(name: str, source: str, fault: str) -> None:
    """Each bad specimen is found, an import inside a function too."""
    assert faults({name: source}) == [fault]


def test_the_rulebook_holds_no_code() -> None:
    """Rules are data: a lawyer may edit the folder."""
    assert [
        p.name for p in (ROOT / "rulebook").rglob("*") if p.is_file() and p.suffix != ".toml"
    ] == []
