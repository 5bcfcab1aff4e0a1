"""Who may import whom. The table is the design; the specimens prove that the test can fail."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

from fleetcare.rules.read import read_book
from fleetcare.shipped import rulebook_files

ROOT = Path(__file__).parent.parent / "fleetcare"

# Left may import right. What is not named may import nothing of ours.
ARROWS: dict[str, set[str]] = {
    "__main__": {"cli"},
    "cli": {
        "cli", "desk", "reports", "render", "trade", "clock", "errors", "files", "records",
        "rules.party", "intake.typed", "web",
    },
    # A rim for browsers, as the terminal is one: it makes records, calls the desk, and prints.
    "web": {
        "web", "desk", "reports", "render", "trade", "clock", "errors", "files", "records",
        "rules.party", "intake.typed", "windows", "shipped",
    },
    "desk": {
        "desk", "reports", "render", "words", "hire", "faults", "intake", "rules", "van", "things",
        "store", "records", "trade", "timeline", "windows", "clock", "errors", "chance", "shipped",
        "post", "stamp", "secret", "ceremony", "files", "fleetcare",
    },
    "render": {"render", "reports", "shipped"},
    "reports": {
        "reports", "words", "hire", "rules", "van", "things", "records", "trade", "windows",
        "timeline",
    },
    # What stands in the way of a hire is put in words here too: no sentence is made in `hire`.
    "words": {"words", "hire", "rules", "van", "records", "trade", "windows", "timeline"},
    "hire": {"hire", "rules", "van", "things", "records", "trade", "windows", "timeline"},
    "faults": {
        "faults", "van", "rules.book", "things", "records", "trade", "windows", "errors",
        "words.days",
    },
    "intake": {"intake", "records", "things", "rules.book", "trade", "windows", "errors"},
    "rules": {"rules", "van", "things", "records", "trade", "windows", "timeline", "errors"},
    "van": {"van", "things", "records", "trade", "windows"},
    "things": {"records", "trade", "errors"},
    "store": {
        "store", "records", "merkle", "windows", "errors", "files", "clock", "chance", "shipped",
    },
    "records": {"records"},
    "trade": {"trade"},
    "timeline": {"windows"},
    "post": {"errors"},
    "secret": {"errors"},
    "ceremony": {"errors"},
    "files": {"errors"},
}  # fmt: skip
# A narrower rule inside a folder: a kind sees neither the book, the judge nor the reader, and what
# decides a hire or a rule knows no words.
INSIDE: dict[str, set[str]] = {
    "rules.kinds": {
        "rules.book",
        "rules.judge",
        "rules.plan",
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
    "rfc3161_client": {"stamp"},
    "cryptography": {"stamp", "ceremony"},
    "argon2": {"secret"},
    "webauthn": {"ceremony"},
    "starlette": {"web"},
    "jinja2": {"web"},
    "uvicorn": {"web"},
    "python_multipart": {"web"},
    "PIL": {"render"},
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
        ("van.van", "from fleetcare.rules.book import Book", "van.van imports rules.book"),
        ("hire.todo", "from fleetcare.words import days", "hire.todo imports words"),
        ("faults.checks", "from fleetcare.desk import write", "faults.checks imports desk"),
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


def test_the_kind_of_a_rule_is_looked_at_in_its_kind_alone() -> None:
    """All that is known of a kind stands in its module: nobody else asks which kind a rule is."""
    asking = [
        name
        for name, source in _modules(ROOT).items()
        if not name.startswith("rules.kinds") and re.search(r"\brule\.kind\b", source)
    ]

    assert asking == []
    assert re.search(r"\brule\.kind\b", (ROOT / "rules/kinds/__init__.py").read_text("utf-8"))


# A rim has options and headings of its own for the places people say most.
_TYPED_AT_THE_RIM = {
    "cli.van": {"gas-hose", "appliance", "gas-alarm"},
    "intake.columns": {"gas-hose", "tyre"},
    "rules.read_things": {"walkaround"},  # the mark itself
}
# Names that are plain words of ours as well, met in other senses.
_OTHER_SENSES = {
    "hold", "recall", "licence", "result", "damp", "rack", "kit", "blanket", "gauge", "insurance",
    "tax", "inspection", "bought", "fire", "knock", "flood", "words", "odometer", "fuel",
    "chassis", "water", "habitation", "electrical", "stood", "tyres",
}  # fmt: skip


def test_no_name_of_the_rulebook_is_typed_in_code() -> None:
    """Which check a sheet makes, which component bears bikes, what a label shows: marks in data."""
    book = read_book(rulebook_files())
    names = {name for _, name in book.rules} | {*book.checks, *book.components, *book.events}
    names -= _OTHER_SENSES
    found = [
        f"{module}: {node.value}"
        for module, source in _modules(ROOT).items()
        # What 0.1 to 0.5 knew by themselves is supplied to their texts by name.
        if module != "rules.formats"
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Constant)
        and node.value in names - _TYPED_AT_THE_RIM.get(module, set())
    ]

    assert found == []
