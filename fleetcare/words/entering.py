"""The command that writes down what is missing, ready but for its blanks, which stand in capitals:
one pasted as it is is refused."""

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


def card_command(by: By) -> str:
    """What to type for the card of whoever does a check."""
    number = " --register-no NUMBER" if by.who == "registered" else ""
    return f"fleetcare inspector add NAME --scope {by.scope}{number} --from DAY"


def option_of(judged: Judgement, name: str) -> str:
    """The option that says a fact, with its blank."""
    book, plain = judged.book, name.removesuffix("_on").replace("_", "-")
    if name.startswith("places of "):
        what = name.removeprefix("places of ")
        own = book.components[what].said_with
        return f"{own} PLACES" if own else f"--places {what}=PLACES"
    if name == HOME:
        return f"--{plain} HOME"
    if name == SERVICE:
        return f"--{plain} DAY"
    fact = book.facts[name]
    if fact.own:
        return f"--has[-NO] {name}"
    if fact.holds == "yes-no":
        return f"--[NO-]{plain}"
    blank = {"word": "WORD", "day": "DAY", "count": "NUMBER", "mass": "MASS", "length": "LENGTH"}
    return f"--{plain} {blank.get(fact.holds, 'FIGURE')}"
