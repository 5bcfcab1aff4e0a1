"""A proof held to RFC 9162 by somebody else's library; none of ours is used."""

from __future__ import annotations

from typing import Any

from pymerkle import InvalidProof
from pymerkle.proof import InclusionProof


def _sides(index: int, size: int) -> list[int]:
    """On which side the hash stands at each step of RFC 9162 2.1.3.2: 1 for the left. pymerkle wants
    it said, with a 0 behind the last, and holds it to its own working out."""
    found, last = [], size - 1
    while last:
        if index & 1 or index == last:
            found.append(1)
            while not index & 1 and index:
                index, last = index >> 1, last >> 1
        else:
            found.append(0)
        index, last = index >> 1, last >> 1
    return [*found, 0]


def holds(proof: dict[str, Any], root: str) -> bool:
    """Whether a proof as its file has it leads from the text of its leaf to a root."""
    index, size = proof["leaf_index"], proof["tree_size"]
    made = InclusionProof(
        "sha256", True, size, index + 1, _sides(index, size),
        [bytes.fromhex(one) for one in (proof["leaf_hash"], *proof["inclusion_path"])],
    )  # fmt: skip
    base = made.hasher.hash_buff(proof["leaf"].encode())
    try:
        made.verify(base, bytes.fromhex(root), index=proof["record"], size=size, algorithm="sha256")
    except InvalidProof:
        return False
    return True
