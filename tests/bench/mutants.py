"""How many planted faults the tests catch: `python -m tests.bench.mutants [MODULES…]`.

Each fault is put into a copy of the tree, never into the tree itself, and the tests run until one
fails: first those that cover its line, where `coverage` is there to tell them, or those of its
folder; then the rest. A fault that no test sees is a survivor and is printed. What was tried is kept
in a file, so that a run that was stopped goes on where it was.
"""

from __future__ import annotations

import argparse
import contextlib
import hashlib
import importlib.util
import json
import os
import random
import re
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from fnmatch import fnmatch
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

from tests.bench.mutating import Fault, faults, planted

ROOT = Path(__file__).parent.parent.parent
DECIDING = (
    "fleetcare/rules/**", "fleetcare/windows.py", "fleetcare/timeline.py", "fleetcare/merkle.py",
)  # fmt: skip
# By module: the tests that are quick to see a fault in it, the quickest first. The first match counts.
NEAR = (
    ("fleetcare/windows.py", ("tests/test_windows.py",)),
    ("fleetcare/timeline.py", ("tests/test_timeline.py",)),
    ("fleetcare/merkle.py", ("tests/test_merkle*.py",)),
    ("fleetcare/store/*", ("tests/store",)),
    ("fleetcare/*", ("tests/rules/test_[ny]*_to_*.py", "tests/rules/test_r*.py", "tests/rules")),
)
WIDE = ("tests/rules", "tests/desk", "tests/oracle", "tests/store", "tests/records", "tests/trade",
        "tests/test_*.py")  # fmt: skip
# These look at the tree and not at what it does, or need what a copy has not.
LEFT_OUT = ("tests/test_house_style.py", "tests/test_architecture.py", "tests/test_samples.py")
QUICK = """

settings.register_profile("once", settings.get_profile("ci"), phases=(Phase.explicit, Phase.generate))
settings.load_profile("once")
"""  # a fault found is enough: nothing is made smaller


class Bench(NamedTuple):
    """A copy of the tree to plant faults in, and how tests are run in it."""

    tree: Path
    wide: tuple[str, ...] = WIDE
    near: tuple[tuple[str, tuple[str, ...]], ...] = NEAR
    limit: float = 900  # seconds before a run of tests is taken to hang
    failing: tuple[str, ...] = ()  # without any fault: left out
    covering: dict[str, dict[str, list[str]]] = {}  # by module and line


class Tried(NamedTuple):
    """What became of one fault: caught, hung or survived."""

    module: str
    digest: str  # of the module it was planted in
    fault: Fault
    ended: str


def modules_of(tree: Path, globs: Iterable[str]) -> list[str]:
    """The modules of a tree that any of the globs names, "**" through folders."""
    listed = {
        str(path.relative_to(tree))
        for glob in globs
        for path in tree.glob(f"{glob}/*.py" if glob.endswith("**") else glob)
    }
    return sorted(name for name in listed if name.endswith(".py"))


@contextlib.contextmanager
def copied(root: Path) -> Iterator[Path]:
    """A copy of a tree that is gone afterwards; whatever happens in it, the tree stays as it was."""
    left = shutil.ignore_patterns(
        ".git", ".venv", "__pycache__", ".*_cache", ".hypothesis", "build"
    )
    with tempfile.TemporaryDirectory(prefix="mutants-") as folder:
        tree = Path(folder) / "tree"
        shutil.copytree(root, tree, ignore=left)
        shared = tree / "tests" / "conftest.py"
        if shared.exists() and "hypothesis" in shared.read_text("utf-8"):
            text = shared.read_text("utf-8").replace(
                "from hypothesis import settings", "from hypothesis import Phase, settings", 1
            )
            shared.write_text(text + QUICK, "utf-8")
        yield tree


def ran(words: Sequence[str], folder: Path, limit: float) -> tuple[int | None, str]:
    """How a command ended and what it printed; None where it ran on and was ended."""
    # Stale bytecode of the same second and length would hide a fault.
    path = os.pathsep.join([str(folder), *filter(None, [os.environ.get("PYTHONPATH")])])
    env = {**os.environ, "PYTHONDONTWRITEBYTECODE": "1", "PYTHONPATH": path}
    with subprocess.Popen(
        words, cwd=folder, env=env, text=True, start_new_session=True,
        stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
    ) as process:  # fmt: skip
        try:
            out, _ = process.communicate(timeout=limit)
        except subprocess.TimeoutExpired:
            os.killpg(process.pid, signal.SIGKILL)  # its own session: it and what it started
            return None, ""
    return process.returncode, out


def _pytest(*more: str) -> list[str]:
    plain = ["-q", "-p", "no:cacheprovider", "-p", "no:randomly", "-k", "not postgresql"]
    return [sys.executable, "-m", "pytest", *plain, *more]


def _named(bench: Bench, globs: Iterable[str]) -> list[str]:
    """Files and folders of tests, globs spelled out."""
    found = [str(p.relative_to(bench.tree)) for g in globs for p in sorted(bench.tree.glob(g))]
    return [name for name in dict.fromkeys(found) if name not in LEFT_OUT]


def _run(bench: Bench, tests: Sequence[str], *more: str) -> tuple[int | None, str]:
    left = [f"--deselect={name}" for name in bench.failing]
    return ran(_pytest(*left, *more, *tests), bench.tree, bench.limit)


def measured(bench: Bench) -> Bench:
    """The bench with the tests that fail without any fault left out, and, where `coverage` is
    there, the tests that cover each line."""
    words = _pytest(*_named(bench, bench.wide))
    if importlib.util.find_spec("coverage") is not None:
        kept = bench.tree / "coverage.cfg"
        kept.write_text("[run]\ndynamic_context = test_function\nsource = .\n", "utf-8")
        words[1:3] = ["-m", "coverage", "run", f"--rcfile={kept}", "-m", "pytest"]
    code, out = ran(words, bench.tree, bench.limit * 20)
    if code not in (0, 1):
        raise SystemExit(f"the tests cannot be run as they are:\n{out[-2000:]}")
    failing = tuple(re.findall(r"^(?:FAILED|ERROR) (\S+?)(?:\[| |$)", out, re.MULTILINE))
    return bench._replace(failing=tuple(dict.fromkeys(failing)), covering=_covering(bench.tree))


def _covering(tree: Path) -> dict[str, dict[str, list[str]]]:
    """By module and line the tests that ran it, as pytest names them."""
    if not (tree / ".coverage").exists():
        return {}
    from coverage import CoverageData

    data = CoverageData(str(tree / ".coverage"))
    data.read()
    found: dict[str, dict[str, list[str]]] = {}
    for file in data.measured_files():
        lines = {
            str(line): sorted({test for one in contexts if (test := _test_of(tree, one))})
            for line, contexts in data.contexts_by_lineno(file).items()
        }
        found[str(Path(file).resolve().relative_to(tree.resolve()))] = lines
    return found


@cache
def _test_of(tree: Path, context: str) -> str | None:
    """ "tests.rules.test_cases.test_case" as tests/rules/test_cases.py::test_case."""
    module, _, name = context.rpartition(".")
    file = next(tree.rglob(f"{module.replace('.', '/')}.py"), None) if module else None
    return f"{file.relative_to(tree)}::{name}" if file else None


def tried(bench: Bench, module: str, fault: Fault) -> str:
    """Plant a fault, run the tests until one fails, take it out: "caught", "hung" or "survived"."""
    file = bench.tree / module
    text = file.read_text("utf-8")
    near = next((tests for glob, tests in bench.near if fnmatch(module, glob)), ())
    covering = bench.covering.get(module, {}).get(str(fault.line), [])
    stages = [covering] if covering else [_named(bench, near)]
    if not covering:  # or a line that runs on import, which is no test's own
        stages.append([name for name in _named(bench, bench.wide) if name not in stages[0]])
    file.write_text(planted(text, fault), "utf-8")
    try:
        for tests in filter(None, stages):
            code, out = _run(bench, tests, "-x")
            if code != 0:
                return "hung" if code is None else _caught(code, out)
        return "survived"
    finally:
        file.write_text(text, "utf-8")


def _caught(code: int, out: str) -> str:
    """Only a test that failed, or a module that no longer loads, has seen a fault: a run that was
    killed or could not begin says nothing of it, and nothing of it is kept."""
    if code in (1, 2) or (code == 4 and "while loading conftest" in out):
        return "caught"
    raise SystemExit(
        f"the tests were stopped (exit code {code}): run again to go on\n{out[-2000:]}"
    )


def sampled(
    tree: Path, modules: Iterable[str], count: int | None, seed: int
) -> list[tuple[str, Fault]]:
    """All faults of the modules, or as many as asked for, the same for a seed."""
    every = [(m, fault) for m in modules for fault in faults((tree / m).read_text("utf-8"))]
    return every if count is None else random.Random(seed).sample(every, min(count, len(every)))


def results(
    bench: Bench, chosen: Iterable[tuple[str, Fault]], kept: Path | None
) -> Iterator[Tried]:
    """Try one fault after another; what a file tells of from before is not tried again."""
    known: dict[tuple[Any, ...], str] = {}
    if kept and kept.exists():
        for line in kept.read_text("utf-8").splitlines():
            module, digest, fault, ended = json.loads(line)
            known[module, digest, tuple(fault)] = ended
    for module, fault in chosen:
        digest = hashlib.sha256((bench.tree / module).read_bytes()).hexdigest()
        ended = known.get((module, digest, tuple(fault)))
        one = Tried(module, digest, fault, ended or tried(bench, module, fault))
        if kept and ended is None:
            with kept.open("a", encoding="utf-8") as file:
                file.write(json.dumps(one) + "\n")
        yield one


def told(found: Sequence[Tried]) -> list[str]:
    """The rate, and each survivor with where it stands, what it was and what it became."""
    left = [one for one in found if one.ended == "survived"]
    rate = 100 * (len(found) - len(left)) / len(found) if found else 100
    lines = [f"{len(found) - len(left)} of {len(found)} caught: {rate:.1f} %"]
    for module, _, fault, _ in left:
        lines.append(f"{module}:{fault.line} {fault.sort}\n  - {fault.before}\n  + {fault.after}")
    return lines


def main(words: Sequence[str] | None = None) -> None:
    """Plant, run, print."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.mutants", description=__doc__)
    parser.add_argument("modules", nargs="*", default=DECIDING, help='like "fleetcare/rules/**"')
    parser.add_argument("--sample", type=int, help="how many, drawn by the seed; all otherwise")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--limit", type=float, default=900, help="seconds before a run hangs")
    parser.add_argument("--results", type=Path, help="a file to go on from and to add to")
    said = parser.parse_args(words)
    with copied(ROOT) as tree:
        chosen = sampled(tree, modules_of(tree, said.modules), said.sample, said.seed)
        bench = measured(Bench(tree, limit=said.limit))
        print("Left out, for they fail as it is:", *bench.failing or ["none"], flush=True)
        found = []
        for one in results(bench, chosen, said.results):
            found.append(one)
            print(
                f"{len(found)}/{len(chosen)} {one.module}:{one.fault.line} {one.ended}", flush=True
            )
    print("\n".join(told(found)))


if __name__ == "__main__":
    main()
