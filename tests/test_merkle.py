"""The tree against the published roots, and its proofs against a direct reading of the RFC."""

from __future__ import annotations

import base64
import hashlib
import json
from pathlib import Path

import pymerkle
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetcare import merkle

# Leaves and roots of the reference tests of Certificate Transparency (RFC 6962, kept by RFC 9162).
LEAVES = [
    "", "00", "10", "2021", "3031", "40414243", "5051525354555657",
    "606162636465666768696a6b6c6d6e6f",
]  # fmt: skip
ROOTS = [
    "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
    "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
    "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
    "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
]
leaf_lists = st.lists(st.binary(max_size=3), min_size=1, max_size=40)


def _hashes(data: list[bytes]) -> list[bytes]:
    return [bytes.fromhex(merkle.leaf_hash(one)) for one in data]


def _told(leaves: list[bytes]) -> bytes:
    """The root as RFC 9162 2.1.1 defines it, word for word."""
    if not leaves:
        return hashlib.sha256(b"").digest()
    if len(leaves) == 1:
        return leaves[0]
    k = 1
    while k * 2 < len(leaves):
        k *= 2
    return hashlib.sha256(b"\x01" + _told(leaves[:k]) + _told(leaves[k:])).digest()


def test_the_published_roots() -> None:
    """Eight leaves one after another give the eight roots, and none gives that of nothing."""
    leaves = _hashes([bytes.fromhex(one) for one in LEAVES])

    assert [merkle.root_of(merkle.frontier_of(leaves[: n + 1])).hex() for n in range(8)] == ROOTS
    assert merkle.root_of(()).hex() == hashlib.sha256(b"").hexdigest()


@given(leaf_lists)
def test_one_leaf_after_another_is_the_tree_of_all(data: list[bytes]) -> None:
    """The frontier grows as the definition says, whatever the size."""
    leaves, frontier = _hashes(data), ()
    for size, leaf in enumerate(leaves):
        frontier = merkle.pushed(frontier, size, leaf)
        assert merkle.root_of(frontier) == _told(leaves[: size + 1])


@given(leaf_lists, st.data())
def test_an_inclusion_proof_holds_for_its_leaf_and_no_other(data: list[bytes], draw) -> None:
    """Another index, size, leaf, root or a changed path is refused."""
    leaves = _hashes(data)
    index = draw.draw(st.integers(0, len(leaves) - 1))
    root, size = _told(leaves), len(leaves)
    path = merkle.inclusion_path(leaves, index)

    assert merkle.includes(leaves[index], index, size, path, root)
    other = hashlib.sha256(b"other").digest()
    assert not merkle.includes(other, index, size, path, root)
    assert not merkle.includes(leaves[index], index, size, path, other)
    assert not merkle.includes(leaves[index], index, size, [*path, other], root)
    assert not merkle.includes(leaves[index], size, size, path, root)
    if path:
        assert not merkle.includes(leaves[index], index, size, path[:-1], root)


@given(leaf_lists, st.data())
def test_a_consistency_proof_holds_for_a_tree_that_only_grew(data: list[bytes], draw) -> None:
    """One leaf changed before the earlier size, and no proof of the new tree fits the old root."""
    leaves = _hashes(data)
    size = draw.draw(st.integers(1, len(leaves)))
    path = merkle.consistency_path(leaves, size)
    old, new = _told(leaves[:size]), _told(leaves)

    assert merkle.consistent(size, old, len(leaves), new, path)
    touched = [hashlib.sha256(b"touched").digest(), *leaves[1:]]
    assert not merkle.consistent(
        size, old, len(leaves), _told(touched), merkle.consistency_path(touched, size)
    )
    assert not merkle.consistent(0, old, len(leaves), new, path)
    assert not merkle.consistent(size, old, len(leaves), new, [*path, old])


def test_what_is_not_there_is_not_proved() -> None:
    """A leaf past the end, a size the tree never had."""
    leaves = _hashes([b"a", b"b"])
    with pytest.raises(IndexError, match=r"^no leaf 2 in a tree of 2$"):
        merkle.inclusion_path(leaves, 2)
    with pytest.raises(ValueError, match=r"^3 is no earlier size of a tree of 2$"):
        merkle.consistency_path(leaves, 3)


PUBLISHED = json.loads((Path(__file__).parent / "golden" / "merkle_proofs.json").read_text("utf-8"))


def _raw(text: str | None) -> bytes:
    return base64.b64decode(text or "")


def test_the_published_inclusion_proofs() -> None:
    """98 proofs of Certificate Transparency's reference code, most of them to be turned down."""
    for case in PUBLISHED["inclusion"]:
        path = [_raw(one) for one in case["proof"] or ()]
        held = merkle.includes(
            _raw(case["leafHash"]), case["leafIdx"], case["treeSize"], path, _raw(case["root"])
        )
        assert held is not case["wantErr"], case["desc"]
    assert len(PUBLISHED["inclusion"]) == 98
    assert sum(not case["wantErr"] for case in PUBLISHED["inclusion"]) >= 6


def test_the_published_consistency_proofs() -> None:
    """98 more, between two sizes of a tree."""
    for case in PUBLISHED["consistency"]:
        path = [_raw(one) for one in case["proof"] or ()]
        held = merkle.consistent(
            case["size1"], _raw(case["root1"]), case["size2"], _raw(case["root2"]), path
        )
        assert held is not case["wantErr"], case["desc"]
    assert len(PUBLISHED["consistency"]) == 98
    assert sum(not case["wantErr"] for case in PUBLISHED["consistency"]) >= 6


def test_an_independent_library_makes_the_same_tree_and_proofs() -> None:
    """pymerkle 7: the root at every size to 64 and the path of every leaf are the same."""
    tree, leaves = pymerkle.InmemoryTree(algorithm="sha256"), []
    for size in range(1, 65):
        entry = b"record %d" % size
        tree.append_entry(entry)
        leaves.append(bytes.fromhex(merkle.leaf_hash(entry)))
        assert tree.get_root() == merkle.root_of(merkle.frontier_of(leaves))
        for index in range(size):
            theirs = tree.prove_inclusion(index + 1).serialize()["path"]
            ours = [one.hex() for one in merkle.inclusion_path(leaves, index)]
            assert theirs == [leaves[index].hex(), *ours]
