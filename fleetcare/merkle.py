"""The Merkle tree of RFC 9162 section 2.1: hashes, roots, and the two proofs. Pure.

Hashes are bytes here and hex outside. A tree of n leaves is split at the largest power of two below
n; the *frontier* is the roots of the full subtrees it falls into, the largest first, so that one
more leaf costs a few hashes and no reading of those before it.
"""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterable, Sequence

EMPTY = hashlib.sha256(b"").digest()
_OCTETS = 32  # of a hash


def leaf_hash(data: bytes) -> str:
    """SHA-256 of a zero byte and the data, in hex: a leaf can never pass for an inner node."""
    return hashlib.sha256(b"\x00" + data).hexdigest()


def _node(left: bytes, right: bytes) -> bytes:
    return hashlib.sha256(b"\x01" + left + right).digest()


def pushed(frontier: Sequence[bytes], size: int, leaf: bytes) -> tuple[bytes, ...]:
    """The frontier of a tree of `size` leaves after one more leaf hash."""
    found = [*frontier, leaf]
    while size & 1:  # each full subtree of the same size is joined with the one before it
        right = found.pop()
        found.append(_node(found.pop(), right))
        size >>= 1
    return tuple(found)


def frontier_of(leaves: Iterable[bytes]) -> tuple[bytes, ...]:
    """The frontier of a whole tree from its leaf hashes."""
    found: tuple[bytes, ...] = ()
    for size, leaf in enumerate(leaves):
        found = pushed(found, size, leaf)
    return found


def root_of(frontier: Sequence[bytes]) -> bytes:
    """The root of the tree a frontier stands for (RFC 9162 2.1.1); of none, that of nothing."""
    if not frontier:
        return EMPTY
    found = frontier[-1]
    for left in reversed(frontier[:-1]):
        found = _node(left, found)
    return found


def roots_at(leaves: Iterable[bytes], sizes: Collection[int]) -> dict[int, bytes]:
    """The roots a tree had at some of its sizes, by size, in one reading of its leaf hashes."""
    wanted, found = set(sizes), {}
    frontier: tuple[bytes, ...] = ()
    for size, leaf in enumerate(leaves):
        frontier = pushed(frontier, size, leaf)
        if size + 1 in wanted:
            found[size + 1] = root_of(frontier)
    return found


def _split(size: int) -> int:
    """The largest power of two below a size of two or more."""
    return 1 << (size - 1).bit_length() - 1


def inclusion_path(leaves: Sequence[bytes], index: int) -> list[bytes]:
    """The hashes that prove a leaf is in the tree (RFC 9162 2.1.3.1), the lowest first.

    Raises IndexError for a leaf that is not there.
    """
    if not 0 <= index < len(leaves):
        raise IndexError(f"no leaf {index} in a tree of {len(leaves)}")
    if len(leaves) == 1:
        return []
    at = _split(len(leaves))
    left, right = leaves[:at], leaves[at:]
    if index < at:
        return [*inclusion_path(left, index), root_of(frontier_of(right))]
    return [*inclusion_path(right, index - at), root_of(frontier_of(left))]


def includes(leaf: bytes, index: int, size: int, path: Sequence[bytes], root: bytes) -> bool:
    """Whether a path proves that a leaf stands at an index of the tree of a root (2.1.3.2)."""
    if not 0 <= index < size or len(leaf) != _OCTETS:
        return False
    found, first, last = leaf, index, size - 1
    for one in path:
        if last == 0:
            return False
        if first & 1 or first == last:
            found = _node(one, found)
            while not first & 1 and first:
                first, last = first >> 1, last >> 1
        else:
            found = _node(found, one)
        first, last = first >> 1, last >> 1
    return last == 0 and found == root


def consistency_path(leaves: Sequence[bytes], size: int) -> list[bytes]:
    """The hashes that prove the first `size` leaves are a tree of their own (2.1.4.1).

    Raises ValueError for a size that is none of its earlier sizes.
    """
    if not 0 < size <= len(leaves):
        raise ValueError(f"{size} is no earlier size of a tree of {len(leaves)}")
    return _consistency(leaves, size, whole=True)


def _consistency(leaves: Sequence[bytes], size: int, *, whole: bool) -> list[bytes]:
    if size == len(leaves):
        return [] if whole else [root_of(frontier_of(leaves))]
    at = _split(len(leaves))
    left, right = leaves[:at], leaves[at:]
    if size <= at:
        return [*_consistency(left, size, whole=whole), root_of(frontier_of(right))]
    return [*_consistency(right, size - at, whole=False), root_of(frontier_of(left))]


def consistent(
    size: int, root: bytes, later: int, later_root: bytes, path: Sequence[bytes]
) -> bool:
    """Whether a path proves that a tree grew from an earlier one by leaves alone (2.1.4.2)."""
    if not 0 < size <= later:
        return False
    if size == later:
        return not path and root == later_root
    steps = [root, *path] if size & (size - 1) == 0 else list(path)
    if not steps:
        return False
    first, last = size - 1, later - 1
    while first & 1:
        first, last = first >> 1, last >> 1
    old = new = steps[0]
    for one in steps[1:]:
        if last == 0:
            return False
        if first & 1 or first == last:
            old, new = _node(one, old), _node(one, new)
            while not first & 1 and first:
                first, last = first >> 1, last >> 1
        else:
            new = _node(new, one)
        first, last = first >> 1, last >> 1
    return last == 0 and old == root and new == later_root
