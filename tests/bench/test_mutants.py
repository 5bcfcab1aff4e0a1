"""Faults are planted and taken out again, caught and told of: on a module made for it."""

from __future__ import annotations

import ast
import sys
from pathlib import Path

import pytest

from tests.bench import mutants
from tests.bench.mutating import faults, planted

TOY = '''"""A toy, not "a or b"."""

WORDS = f"{1 < 2}"


def old(age: int, *, most: int = 3) -> bool:
    """Whether it is é old."""
    if not (age or most) and age != 7:
        raise ValueError("é", age)
    return age > most
'''
TESTS = '''"""Its tests, which know nothing of 7."""

import toy


def test_old():
    """Over three is old."""
    assert toy.old(4)
    assert not toy.old(3)
    assert not toy.old(0)
    try:
        toy.old(0, most=0)
    except ValueError:
        return
    raise AssertionError


def test_wrong():
    """Fails as it is."""
    raise AssertionError
'''


@pytest.fixture
def toy(tmp_path: Path) -> Path:
    """A tree of one module and its tests."""
    (tmp_path / "tests").mkdir()
    (tmp_path / "toy.py").write_text(TOY, "utf-8")
    (tmp_path / "tests" / "test_toy.py").write_text(TESTS, "utf-8")
    return tmp_path


def test_each_fault_changes_its_own_place_and_nothing_else() -> None:
    """Every sort is found where it stands, the module can be read with it, and no line moves."""
    found = faults(TOY)

    assert [(f.line, f.sort, f.before, f.after) for f in found] == [
        (6, "constant", "3", "4"),
        (8, "not", "not (age or most)", "(age or most)"),
        (8, "and/or", "not (age or most) and age != 7", "(not (age or most) or age != 7)"),
        (8, "and/or", "age or most", "(age and most)"),
        (8, "opposite", "!=", "=="),
        (8, "constant", "7", "8"),
        (9, "dropped", 'raise ValueError("é", age)', "pass"),
        (10, "opposite", ">", "<="),
        (10, "boundary", ">", ">="),
    ]
    for fault in found:
        changed = planted(TOY, fault)
        assert ast.dump(ast.parse(changed)) != ast.dump(ast.parse(TOY))
        lines = zip(TOY.splitlines(), changed.splitlines(), strict=True)
        assert [n for n, (a, b) in enumerate(lines, 1) if a != b] == [fault.line]


def test_a_fault_goes_only_where_it_belongs() -> None:
    """In a module that says something else there, it is refused."""
    with pytest.raises(ValueError, match=r"^line 6 does not say '3' there$"):
        planted(TOY.replace("toy", "doll"), faults(TOY)[0])


def test_what_the_tests_miss_is_told_and_every_fault_is_taken_out(toy: Path) -> None:
    """A number no test knows survives, the rest is caught, and neither tree nor copy is changed; a
    second run goes on from what is kept."""
    kept = toy / "kept.jsonl"
    with mutants.copied(toy) as tree:
        bench = mutants.measured(mutants.Bench(tree, ("tests",), (("*", ("tests",)),), 300))
        chosen = mutants.sampled(tree, mutants.modules_of(tree, ["*.py"]), None, 0)
        found = list(mutants.results(bench, chosen, kept))
        copy = (tree / "toy.py").read_text("utf-8")
        elsewhere = mutants.Bench(tree, ("nowhere",), ())
        again = list(mutants.results(elsewhere, chosen, kept))

    assert bench.failing == ("tests/test_toy.py::test_wrong",)
    assert copy == (toy / "toy.py").read_text("utf-8") == TOY
    assert mutants.told(found) == [
        "8 of 9 caught: 88.9 %",
        "toy.py:8 constant\n  - 7\n  + 8",
    ]
    assert again == found
    assert len(kept.read_text("utf-8").splitlines()) == 9


def test_a_run_that_never_ends_is_ended(tmp_path: Path) -> None:
    """And one that ends tells how, and what it printed."""
    assert mutants.ran([sys.executable, "-c", "while True: pass"], tmp_path, 0.1) == (None, "")
    assert mutants.ran([sys.executable, "-c", "print(1); exit(3)"], tmp_path, 300) == (3, "1\n")


def test_a_run_that_was_killed_is_no_catch(toy: Path) -> None:
    """It stops the bench, keeps nothing, and leaves the module as it was."""
    stop = "import os, signal\n\n\ndef test_stop():\n    os.kill(os.getpid(), signal.SIGKILL)\n"
    (toy / "tests" / "test_toy.py").write_text(stop, "utf-8")
    bench = mutants.Bench(toy, ("tests",), (("*", ("tests",)),), 300)
    kept = toy / "kept.jsonl"

    with pytest.raises(SystemExit, match=r"^the tests were stopped \(exit code -9\)"):
        list(mutants.results(bench, [("toy.py", faults(TOY)[0])], kept))
    assert not kept.exists()
    assert (toy / "toy.py").read_text("utf-8") == TOY


def test_a_sample_is_the_same_for_a_seed(toy: Path) -> None:
    """And another for another; no more than there are."""
    one, same, other, all_ = (
        mutants.sampled(toy, ["toy.py"], count, seed) for count, seed in ((4, 1), (4, 1), (4, 2), (99, 1))
    )  # fmt: skip

    assert one == same != other
    assert len(one) == 4
    assert len(all_) == 9


def test_the_modules_that_decide_are_there() -> None:
    """The globs find them wherever they move inside their folder."""
    found = mutants.modules_of(mutants.ROOT, mutants.DECIDING)

    assert {"fleetcare/windows.py", "fleetcare/timeline.py", "fleetcare/merkle.py"} <= set(found)
    assert sum(name.startswith("fleetcare/rules/") for name in found) > 20
