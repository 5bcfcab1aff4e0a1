"""Sentences that say what to type on the terminal, saying what to press on the pages instead.

The one table of which command is done where. What no page does yet is left as it is typed, and the
page says so.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache
from typing import Any, NamedTuple
from urllib.parse import quote

from markupsafe import Markup, escape

from fleetcare.errors import MOST_TOLD, Problem, Refused
from fleetcare.records.fields import spoken
from fleetcare.web.address import part
from fleetcare.web.forms import LABELS


class Way(NamedTuple):
    """Where a page does what a command does: what is pressed, and the address, with blanks for the
    words that follow the command."""

    press: str
    at: str = ""
    address: str = ""


# Of each command that a page does. A verb of its own stands before the command alone.
WAYS: dict[str, Way] = {
    "hire out {ref}": Way("The key goes out", "for {ref}", "/hire/{ref}"),
    "hire back {ref}": Way("It is back", "for {ref}", "/hire/{ref}"),
    "hire change {ref}": Way("At the counter", "on the page of {ref}", "/hire/{ref}"),
    "hire list": Way("Bookings", "", "/hires"),
    "handover {van} {ref}": Way("Hand it over", "for {ref}", "/walk/handover/{van}/{ref}"),
    "return {van} {ref}": Way("Take it back", "for {ref}", "/walk/return/{van}/{ref}"),
    "prepare {van} {ref}": Way("Prepare it", "for {ref}", "/walk/prepared/{van}/{ref}"),
    "record {van} {what}": Way("Record a check", "of {van}", "/van/{van}/record?what={what}"),
    "defect report {van}": Way("Report a defect", "of {van}", "/van/{van}/defect"),
    "defect repair": Way("It was rectified", "on the van's page of open defects"),
    "defect sign-off": Way("Sign it off", "on the van's page of open defects"),
    "attach {number}": Way("Its papers", "of #{number}", "/record/{number}/papers"),
    "correct {number}": Way("Put it right", "on the page of #{number}", "/record/{number}"),
    "withdraw {number}": Way("Take it back", "on the page of #{number}", "/record/{number}"),
    "answers {van}": Way("Answers given", "of {van}", "/answers?van={van}"),
    "rules list": Way("The rules in use", "", "/rules"),
    "van show {van}": Way("Vans", "{van}", "/van/{van}"),
    "van list": Way("Vans", "", "/vans"),
    "missing {van}": Way("What is missing", "of {van}", "/van/{van}/missing"),
    "hireable {van}": Way("Which van?", "", "/counter"),
    "which": Way("Which van?", "", "/counter"),
    "diary": Way("Diary", "", "/diary"),
    "due": Way("Monday", "", "/monday"),
    "person": Way("People", "", "/people"),
}
# The other commands: what they do is done on the terminal.
TERMINAL = frozenset((
    "init", "handbook", "demo", "van", "fit", "take-off", "odometer", "inspector", "record",
    "expect", "weighed", "attach", "defect", "hold", "event", "recall", "hire", "work", "sheet",
    "withdraw", "correct", "erase", "weigh", "missing", "why", "history", "who-had", "answers",
    "rules", "calc", "export", "mail", "pack", "picture", "completion", "label", "serve", "status",
    "verify", "witness", "prove", "backup", "restore", "dump", "load", "handover", "return",
    "prepare", "hireable",
))  # fmt: skip
NO_PAGE = " (on the terminal: it has no page)"
_GAP = r"(?: |\s*\\?\n\s+)"  # a long command is folded
_NAMED = {
    "what": r"[a-z][a-z0-9-]*",
    "van": r'"[^"]*"|(?=[^\s,;]*[A-Z0-9])[^\s,;]*[^\s,;.:]',
}
_NAMED["number"] = r"\d+"
_NAMED["ref"] = _NAMED["van"]
_VALUED = "place|scope|role|from|through|reading|on|last-day|certificate"
# What follows a command as long as it is no sentence: options, blanks, words in quotation marks.
_TAIL = (
    rf"(?:{_GAP}--(?:{_VALUED}){_GAP}(?!--)(?P<value>[^\s,;]*[^\s,;.])"
    rf"|,?{_GAP}(?:(?:and|or){_GAP})?--[^\s,;.)]+"
    rf"|{_GAP}\((?:or|and){_GAP}--[^)]*\)"
    rf'|{_GAP}(?:"[^"]*"|\d+\b|[A-Z][A-Z0-9-]*(?![a-z])|…|[a-z-]+(?::[\w-]+)?=[^\s,;]*[^\s,;.]))*'
)
_OPTION = re.compile(r"--([a-z][a-z-]*)")
_FIELDS = {spoken(name): f'"{label}"' for name, label in LABELS.items()}  # by option
_PLACE = re.compile(rf"--place{_GAP}([^\s,;]*[^\s,;.])")
Piece = tuple[str, str]  # words, and the address they lead to


def _spelled(way: str) -> str:
    """The pattern of a command: its verbs, the words that follow it as far as they are there."""
    verbs = _GAP.join(re.escape(word) for word in way.split() if not word.startswith("{"))
    blanks = re.findall(r"\{(\w+)\}", way)
    return verbs + "".join(f"(?:{_GAP}(?P<{name}>{_NAMED[name]}))" for name in blanks)


def _pattern(way: str) -> re.Pattern[str]:
    tail = _TAIL.replace("(?P<value>", "(?:")
    return re.compile(rf"fleetcare{_GAP}{_spelled(way)}(?![a-z-]){tail}")


_WAYS = [(_pattern(name), way) for name, way in WAYS.items()]
_ELSE = re.compile(
    rf"fleetcare{_GAP}(?:{'|'.join(sorted(TERMINAL, key=len, reverse=True))})(?![a-z-])"
    rf"(?:{_GAP}[a-z-]+\b(?!=))?(?:{_GAP}(?:{_NAMED['van']}))*"
    rf"{_TAIL.replace('(?P<value>', '(?:')}"
)


def pieces(text: str) -> list[Piece]:
    """A sentence with what is to be pressed, and where that leads."""
    found: list[Piece] = []
    while text:
        at = text.find("fleetcare")
        if at < 0:
            break
        words, address, end = _command(text, at)
        found += [(_options(text[:at]), ""), (words, address)]
        text = text[end:]
    return [*found, (_options(text), "")]


def _command(text: str, at: int) -> tuple[str, str, int]:
    """The command that begins there, as a page says it, and where it ends."""
    for pattern, way in _WAYS:
        match = pattern.match(text, at)
        if match:
            return *_way(way, match), match.end()
    match = _ELSE.match(text, at)
    if match:
        return match[0] + NO_PAGE, "", match.end()
    return "fleetcare", "", at + len("fleetcare")


def _way(way: Way, match: re.Match[str]) -> Piece:
    named = match.groupdict()
    at = way.at.format(**named)
    address = way.address.format(**{name: part(text) for name, text in named.items()})
    place = _PLACE.search(match[0])
    if place and "?" in address:
        address += f"&place={quote(place[1])}"
    return f'"{way.press}" {at}'.rstrip(), address


def _options(text: str) -> str:
    """Options named in a sentence as the fields of a form."""
    return _OPTION.sub(lambda found: _FIELDS.get(found[1], found[0]), text)


def in_words_of_a_page(text: str) -> str:
    """A sentence of the terminal as a page says it."""
    return "".join(words for words, _ in pieces(text))


@lru_cache(4096)  # the same sentences stand on page after page
def linked(text: str) -> Markup:
    """The same, each thing to press leading to where it is pressed."""
    return Markup("").join(
        Markup('<a href="{}">{}</a>').format(address, words) if address else escape(words)
        for words, address in pieces(text)
    )


def told(problem: Problem) -> dict[str, Any]:
    """A fault as a page lists it: its sentence, and the field it leads to."""
    label = LABELS.get(problem.field, problem.field)
    where = " ".join(word for word in (label, problem.where) if word)
    words = f"{where}: {problem.message}" if where else problem.message
    return {
        "field": problem.field, "words": in_words_of_a_page(words), "where": problem.where,
        "message": in_words_of_a_page(problem.message),
    }  # fmt: skip


def told_first(problems: Sequence[Problem]) -> list[dict[str, Any]]:
    """Faults as a page lists them; of many only the first, as in every refusal."""
    first = [told(problem) for problem in problems[:MOST_TOLD]]
    if len(problems) > MOST_TOLD:
        first.append({"field": "", "words": Refused(problems).lines[-1]})
    return first
