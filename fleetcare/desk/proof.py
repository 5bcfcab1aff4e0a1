"""The proof that one record is in the book: made, and checked with no book at hand."""

from __future__ import annotations

from typing import Any

from fleetcare.desk.tally import Held, Tally, as_typed, is_hash, read_json
from fleetcare.errors import Problem, Refused
from fleetcare.records.fields import unseen
from fleetcare.store.engine import reading
from fleetcare.store.proof import Proof, proof_of


def prove(place: str, number: int, size: int | None = None) -> dict[str, Any]:
    """The inclusion proof of a record, under the tally of now or of an earlier size."""
    with reading(place) as connection:
        return proof_of(connection, number, size)._asdict()


def check(name: str, typed: tuple[str, ...]) -> Held:
    """Hold a proof to RFC 9162 2.1.3.2 and to tallies of as many records, from the file alone."""
    tallies = [as_typed(one) for one in typed]
    proof = _read(name)
    found = Held([], [], list(proof.faults()))
    if not found.faults:
        found.held.append(
            f"#{proof.record} is one of the {proof.tree_size:,} records under the root that the "
            f"proof names, and was written down as: {proof.leaf}"
        )
        for tally in tallies:
            _hold(found, proof, tally)
    return found


def _hold(found: Held, proof: Proof, tally: Tally) -> None:
    if tally.size == proof.tree_size:
        found.hold(tally, proof.root_hash)
        return
    found.faults.append(
        f"the proof is of {proof.tree_size:,} records and the tally {tally.named!r} of "
        f"{tally.size:,}: ask whoever has the book for the proof of that size, made with "
        f"fleetcare prove {proof.record} --size {tally.size}"
    )


def _read(name: str) -> Proof:
    """A proof from its file. Refused where it is none."""
    kept = read_json(name)
    try:
        proof = Proof(*(kept[field] for field in Proof._fields))
    except (KeyError, TypeError):
        proof = None
    if proof is None or not _is_one(proof):
        words = 'is no proof: give what "fleetcare prove NUMBER -o FILE" wrote'
        raise Refused([Problem(name, words)])
    return proof


def _is_one(proof: Proof) -> bool:
    """Whether every field is of its sort."""
    counts, path = (proof.record, proof.leaf_index, proof.tree_size), proof.inclusion_path
    return (
        all(type(count) is int for count in counts)
        and isinstance(proof.leaf, str)
        and unseen(proof.leaf) is None
        and isinstance(path, list)
        and all(map(is_hash, (proof.leaf_hash, proof.root_hash, *path)))
    )
