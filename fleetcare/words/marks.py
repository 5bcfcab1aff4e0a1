"""Marks that stand for names and words until these are looked up: here are only commitments."""

from __future__ import annotations

MARK = "\x02"


def said(commitment: str | None) -> str:
    """A mark that stands for a name or for words until they are looked up."""
    return f"{MARK}{commitment}{MARK}" if commitment else ""
