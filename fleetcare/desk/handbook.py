"""The handbook: one page by what a person came to do, and what the words on the screen mean."""

from __future__ import annotations

import re
from functools import cache
from typing import NamedTuple

from fleetcare.errors import UsageFault, near
from fleetcare.shipped import folder

# In the order a firm comes to need them.
_ORDER = (
    "first-week", "monday", "phone", "clerk", "pencilled", "load", "yard", "roadside", "workshop",
    "visits", "browser", "serving", "security", "owner", "keeper", "trust", "rules", "programs",
    "words",
)  # fmt: skip
_TERM = re.compile(r"^- \*\*(.+?)\*\*: (.+)$", re.MULTILINE)


class Page(NamedTuple):
    """One page: its name, its heading, the question it answers, and its whole text."""

    name: str
    title: str
    question: str
    text: str


@cache
def pages() -> dict[str, Page]:
    """Every page by its name, in the order a firm comes to need them."""
    found = {}
    for name in _ORDER:
        text = (folder("handbook") / f"{name}.md").read_text(encoding="utf-8")
        title, _, rest = text.partition("\n")
        question = rest.strip().partition("\n")[0]
        found[name] = Page(name, title.removeprefix("# "), question.strip("*"), text)
    return found


def page(name: str) -> Page:
    """A page by its name; UsageFault with the nearest where there is none."""
    found = pages()
    if name not in found:
        words = f'there is no page "{name}".{near(name, found)} The pages are: {", ".join(found)}'
        raise UsageFault(words)
    return found[name]


@cache
def said_under() -> dict[str, str]:
    """What the words mean that an answer may need said under it: those of the page's first part."""
    first_part = pages()["words"].text.partition("## The others")[0]
    return {term: re.sub(r"[*`]", "", meaning) for term, meaning in _TERM.findall(first_part)}


def meanings(text: str) -> list[str]:
    """A line for each of those words that a text uses, in the order they come up."""
    found = [
        (match.start(), f"{term}: {meaning}")
        for term, meaning in said_under().items()
        if (match := re.search(rf"\b{re.escape(term)}\b", text))
    ]
    return [line for _, line in sorted(found)]
