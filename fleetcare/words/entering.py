"""The commands that write down what is missing. Their blanks stand in capitals: one that is pasted
as it is, is refused."""

from __future__ import annotations

import datetime as dt

from fleetcare.hire.missing import HOME, SERVICE, Need
from fleetcare.rules.kinds import kind_of
from fleetcare.rules.outcome import Judgement
from fleetcare.rules.remedies import Remedy
from fleetcare.rules.rule import By

# What is typed for each mark of a component.
_BLANKS = {
    "made": "--made MARK", "replace_by": "--replace-by MARK", "variety": "--type TYPE",
    "load_index": "--load-index INDEX", "speed_symbol": "--speed-symbol LETTER",
    "cold_pressure": "--cold-pressure PRESSURE", "rating": "--rating MASS",
    "bikes": "--bikes NUMBER", "electric_bikes": "--electric-bikes NUMBER",
}  # fmt: skip
_NAMED = ("named", "skilled", "competent", "registered")


def command_of(judged: Judgement, need: Need, on: dt.date) -> str:
    """What to type for a record that is missing."""
    remedy, van = need.remedy, judged.van
    if remedy.sort == "check":
        words = _check(judged, remedy, on)
    elif remedy.sort == "component":
        words = ["fit", van, remedy.what, str(remedy.place), "--on DAY"]
        words += [_BLANKS[mark] for mark in need.marks]
    elif remedy.sort == "sign-off":
        words = ["defect sign-off", remedy.what, "--by NAME"]
    elif remedy.sort == "recheck":
        words = ["defect recheck", remedy.what, "--by NAME", "--next DAY"]
    elif remedy.sort == "recall":
        words = ["recall done", remedy.what, "--by NAME", "--certificate NUMBER"]
    elif remedy.sort == "odometer":
        words = ["odometer", van, "READING", "--on DAY"]
    elif remedy.sort == "paper":
        words = ["attach", remedy.what, "FILE"]
    else:
        words = ["van change", van, option_of(judged, remedy.what)]
    return " ".join(["fleetcare", *words])


def _check(judged: Judgement, remedy: Remedy, on: dt.date) -> list[str]:
    kind, rule = judged.book.checks[remedy.what], remedy.rule
    words = ["record", judged.van, remedy.what]
    if kind.paper:
        return [*words, "--from DAY", "--last-day DAY"]
    words += ["--on DAY", "--pass"]
    if rule.by.who in _NAMED:
        words.append("--by NAME")
    if rule.by.who == "certificate" or (rule.by.who == "registered" and rule.by.certificate):
        words.append("--certificate NUMBER")
    if kind.of and remedy.place:
        words.append(f"--place {remedy.place}")
    figures = kind_of(rule).figures(rule, on)
    at = f":{remedy.place}" if remedy.place else ""
    return [*words, *(f"--reading {name}{at}=FIGURE" for name in figures if name in kind.readings)]


def card_command(by: By, name: str = "NAME") -> str:
    """What to type for the card of whoever does a check."""
    number = " --register-no NUMBER" if by.who == "registered" else ""
    return f"fleetcare inspector add {name} --scope {by.scope}{number} --from DAY"


def option_of(judged: Judgement, name: str) -> str:
    """The option that says a fact, with its blank."""
    option, holds = _option(judged, name)
    if holds == "places":
        return option + ("PLACES" if option.endswith("=") else " PLACES")
    if holds == "own":
        return f"--has[-NO] {option}"
    return f"--[NO-]{option}" if holds == "yes-no" else f"--{option} {_FACTS.get(holds, 'FIGURE')}"


def saying(judged: Judgement, names: tuple[str, ...]) -> str:
    """How to say facts: the command with its options, yes or no in both ways."""
    options = []
    for name in names:
        option, holds = _option(judged, name)
        if holds == "places":
            options.append(f"{option}…" if option.endswith("=") else f"{option} …")
        elif holds == "own":
            options.append(f"--has {option} (or --has-no {option})")
        elif holds == "yes-no":
            options.append(f"--{option} (or --no-{option})")
        else:
            options.append(f"--{option} …")
    return f"fleetcare van change {judged.van} {' '.join(options)}"


_FACTS = {
    "word": "WORD", "day": "DAY", "count": "NUMBER", "mass": "MASS", "length": "LENGTH",
    "position": "PLACE", "distance": "DISTANCE",
    HOME: "HOME",
}  # fmt: skip


def _option(judged: Judgement, name: str) -> tuple[str, str]:
    """What says a fact, and what it holds: an option, a fact of the firm's own, or places."""
    book, plain = judged.book, name.removesuffix("_on").replace("_", "-")
    if name.startswith("places of "):
        what = name.removeprefix("places of ")
        return book.components[what].said_with or f"--places {what}=", "places"
    if name in book.facts:
        fact = book.facts[name]
        return (name, "own") if fact.own else (plain, fact.holds)
    return plain, {SERVICE: "day", HOME: HOME}.get(name, "")
