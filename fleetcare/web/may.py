"""Who may do what on the pages: the one table. The terminal asks for no role, for whoever has the
book's file has the book."""

from __future__ import annotations

# What is done, in the words of the handbook's table: the roles that may.
MAY: dict[str, tuple[str, ...]] = {
    "ask": ("clerk", "yard", "workshop", "owner"),
    "book": ("clerk", "owner"),
    "hand over": ("yard", "owner"),
    "record": ("workshop", "owner"),
    "sign off": ("workshop", "owner"),
    "report a defect": ("yard", "workshop", "owner"),
    "put records right": ("workshop", "owner"),
    "waive": ("owner",),
    "erase": ("owner",),
    "take papers out": ("workshop", "owner"),
    "give out the calendar": ("owner",),
    "hold to its tally": ("owner",),
    "read sheets in": ("owner",),
    "let people in": ("owner",),
}
ANYBODY = "anybody"  # signed in or not
SIGNED_IN = "signed in"


def may(roles: tuple[str, ...] | None, act: str) -> bool:
    """Whether somebody of these roles (None: nobody signed in) may do an act."""
    if act == ANYBODY:
        return True
    if roles is None:
        return False
    return act == SIGNED_IN or not set(MAY[act]).isdisjoint(roles)
