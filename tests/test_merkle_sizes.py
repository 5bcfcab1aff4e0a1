"""Every proof between two sizes of a small tree, with an end set to what a check of it may take."""

from __future__ import annotations

import hashlib
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType
from typing import Any

import pytest

from fleetcare import merkle

LEAVES = [hashlib.sha256(b"leaf %d" % n).digest() for n in range(17)]
ROOTS = [merkle.root_of(merkle.frontier_of(LEAVES[:size])) for size in range(18)]
PAIRS = [(size, later) for later in range(1, 18) for size in range(1, later + 1)]
MOST = 500  # lines run by one check; the longest proof of these sizes takes a tenth of it


@contextmanager
def _at_most(lines: int) -> Iterator[None]:
    """Stops code that runs on: a check that never ends is to fail, not to hang."""
    left = [lines]

    def count(frame: FrameType, event: str, arg: Any) -> Callable[..., Any]:
        left[0] -= event == "line"
        if left[0] < 0:
            raise RuntimeError(f"over {lines} lines run in {frame.f_code.co_name}")
        return count

    before = sys.gettrace()
    sys.settrace(count)
    try:
        yield
    finally:
        sys.settrace(before)


def test_code_that_never_ends_is_stopped() -> None:
    """The end that is set holds: a loop without one fails at it."""

    def ever() -> None:
        while True:
            pass

    with pytest.raises(RuntimeError, match=r"^over 500 lines run in ever$"), _at_most(MOST):
        ever()


def test_a_consistency_proof_holds_between_any_two_sizes() -> None:
    """All 153 pairs of sizes up to 17: the proof holds, and none with a hash changed, left out or
    put in, nor of another root."""
    held = turned_down = 0
    other = hashlib.sha256(b"other").digest()
    for size, later in PAIRS:
        path = merkle.consistency_path(LEAVES[:later], size)
        wrong = [[*path[:n], other, *path[n + 1 :]] for n in range(len(path))]
        wrong += [[*path[:n], *path[n + 1 :]] for n in range(len(path))]
        wrong += [[*path[:n], other, *path[n:]] for n in range(len(path) + 1)]
        with _at_most(MOST):
            assert merkle.consistent(size, ROOTS[size], later, ROOTS[later], path), (size, later)
        held += 1
        for one in wrong:
            with _at_most(MOST):
                assert not merkle.consistent(size, ROOTS[size], later, ROOTS[later], one)
            turned_down += 1
        for old, new in ((other, ROOTS[later]), (ROOTS[size], other)):
            with _at_most(MOST):
                assert not merkle.consistent(size, old, later, new, path)
            turned_down += 1

    assert held == len(PAIRS) == 153
    assert turned_down > 1000


def test_an_inclusion_proof_holds_for_every_leaf_of_every_size() -> None:
    """All 153 places of trees of up to 17 leaves: the proof holds, and for no other place."""
    held = 0
    for index, size in ((size - 1, later) for size, later in PAIRS):
        path = merkle.inclusion_path(LEAVES[:size], index)
        for place in range(size):
            with _at_most(MOST):
                found = merkle.includes(LEAVES[index], place, size, path, ROOTS[size])
            assert found is (place == index), (index, place, size)
            held += found

    assert held == 153
