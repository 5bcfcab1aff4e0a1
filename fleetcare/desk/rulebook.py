"""The rules a book is judged by: listed, shown, checked, and a firm's own taken in."""

from __future__ import annotations

import datetime as dt
import tomllib
from collections import Counter
from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

from fleetcare import clock
from fleetcare.desk.asking import asking, book_of, package_text, rules_in_use, taken_in
from fleetcare.desk.closed import written_out
from fleetcare.desk.echo import told
from fleetcare.desk.session import adopt, changed, recording
from fleetcare.errors import Problem, Refused, near
from fleetcare.files import read_text
from fleetcare.hire.stopped import stopped_hires
from fleetcare.rules.book import FIRM, Book, Key
from fleetcare.rules.formats import files_of, firm_of
from fleetcare.rules.judge import judge
from fleetcare.rules.kinds import kind_of
from fleetcare.rules.read import digest_of, read_book, try_book
from fleetcare.rules.rule import Rule
from fleetcare.words.terms import loosened_words, terms_words


class RuleRow(NamedTuple):
    """A rule as listed."""

    rule: str
    title: str
    grade: str
    blocks: str
    terms: str


class Word(NamedTuple):
    """A word that is typed: what it is, what it is called, and what it is good for."""

    word: str
    what: str
    title: str
    feeds: str


class RuleShown(NamedTuple):
    """A rule with everything it says."""

    rule: str
    title: str
    kind: str
    aliases: tuple[str, ...]
    checks: tuple[str, ...]
    over: str | None
    blocks: str
    starts: str
    needs_van: bool
    by: str
    due_soon_weeks: int
    versions: tuple[tuple[str, str, str], ...]  # terms, source, old checks
    if_out: str
    caution: str


def in_use(place: str | None) -> Book:
    """The rules of a database, or those the program ships where no database is named."""
    if place is None:
        text = package_text()
        return read_book(files_of(text), digest_of(text))
    with asking(place) as asked:
        return asked.book


def listed(place: str | None, on: dt.date | None) -> list[RuleRow]:
    """Every rule with its terms on a day."""
    day = on or clock.today()
    return [
        RuleRow(r.name, r.title, r.version_at(day).source.grade, r.blocks, terms_words(r, day))
        for r in in_use(place).rules.values()
    ]


def words(place: str | None) -> list[Word]:
    """Every kind of check, component and event that may be typed, with the rules it feeds, and
    what a person's card may be for."""
    book = in_use(place)

    def fed(names: Iterable[str]) -> str:
        return ", ".join(dict.fromkeys(names)) or "–"

    rules = list(book.rules.values())
    found = [
        Word(kind.name, "check", kind.title, fed(r.name for r in rules if kind.name in r.checks))
        for kind in book.checks.values()
    ]
    found += [
        Word(kind.name, "component", kind.title, fed(r.name for r in rules if r.over == kind.name))
        for kind in book.components.values()
    ]
    found += [
        Word(kind.name, "event", kind.title, fed(r.name for r in rules if kind.name in _events(r)))
        for kind in book.events.values()
    ]
    found += [
        Word(one.name, "topic", one.title, f"signed off by {one.closed_by.scope or 'anybody'}")
        for one in book.topics
    ]
    scopes = dict.fromkeys(scope for rule in rules for scope in rule.scopes)
    scopes |= dict.fromkeys(t.closed_by.scope for t in book.topics if t.closed_by.scope)
    found += [
        Word(scope, "card", "what a card is for", fed(r.name for r in rules if scope in r.scopes))
        for scope in scopes
    ]
    return found


def _events(rule: Rule) -> tuple[str, ...]:
    return kind_of(rule).reads(rule).events


def shown(place: str | None, word: str) -> list[RuleShown]:
    """The rules a word names, whole; Refused with the nearest."""
    book = in_use(place)
    found = book.find_rules(word)
    if not found:
        raise Refused(
            [Problem("", f'there is no rule or kind of check "{word}".{near(word, book.words())}')]
        )
    return [_whole(rule) for rule in found]


def _whole(rule: Rule) -> RuleShown:
    scope = f", scope {' or '.join(s for s in rule.by.scopes if s)}" if rule.by.scope else ""
    closing = ""
    if rule.closed_by:
        closing = f"; a fail is closed by {rule.closed_by.who}, scope {rule.closed_by.scope}"
    return RuleShown(
        rule.name,
        rule.title,
        kind_of(rule).name,
        rule.aliases,
        rule.checks,
        rule.over,
        rule.blocks,
        rule.starts,
        rule.needs_van,
        f"{rule.by.who}{scope}{closing}",
        rule.due_soon_weeks,
        tuple(
            (
                "repealed" if v.repealed else terms_words(rule._replace(versions=(v,)), v.from_on),
                str(v.source),
                "every record judged anew" if v.cut else "a record keeps the terms of its day",
            )
            for v in rule.versions
        ),
        rule.if_out,
        rule.caution,
    )


_MOST_OF_TABLES = 1_000_000  # octets; the program's own rules are a tenth of it


def tables_in(file: str) -> Any:
    """A firm's own TOML file as tables; Refused with the place of the first fault in it."""
    try:
        tables = tomllib.loads(read_text(file, _MOST_OF_TABLES))
        repr(tables)  # a number too long to be written out could not even be told as a fault
    except tomllib.TOMLDecodeError as fault:
        raise Refused([Problem(file, str(fault))]) from None
    except (ValueError, RecursionError):
        words = "nests deeper or counts further than anything here is read: look what it is"
        raise Refused([Problem(file, words)]) from None
    return tables


def _firms_own(file: str) -> Any:
    """A firm's own file, its bank holidays written out as dates."""
    return written_out(firm_of(tables_in(file)), file)


def check(file: str | None) -> list[str]:
    """Read the program's rules, with a firm's file if one is named, and report every fault."""
    text = package_text(_firms_own(file) if file else None)
    book, problems = try_book(files_of(text), digest_of(text))
    if problems:
        raise Refused(
            [
                p._replace(where=p.where.replace(f"{FIRM}:", f"{file}:", 1))
                if p.where.startswith(f"{FIRM}:")
                else p
                for p in problems
            ]
        )
    named = f' with "{file}"' if file else ""
    return [f"{len(book.rules)} rules read{named}, no faults. Digest {book.digest[:8]}."]


class Preview(NamedTuple):
    """What rules not adopted yet would change: of themselves, and for each van and its hires."""

    rules: str
    were: str
    differences: list[str]
    vans: dict[str, list[str]]


def preview(place: str, file: str | None) -> Preview:
    """What adopting the program's rules would change, with the firm's file in use or another one.
    Nothing is written."""
    check(file)
    today = clock.today()
    with asking(place) as asked:
        kept = files_of(rules_in_use(asked.connection)[1]).get(FIRM)
        firm = _firms_own(file) if file else kept
        text = package_text(firm)
        newer = book_of(digest_of(text), text, taken_in(asked.connection, text, today))
        found: dict[str, list[str]] = {}
        for before in asked.fleet() if newer.digest != asked.book.digest else ():
            after = judge(before.known.facts, newer, asked.as_of)
            lines = [
                changed(after, before, today),
                *told(stopped_hires(before, today), after, today),
            ]
            if len(lines) > 1 or ", unchanged" not in lines[0]:
                found[before.van] = lines
        return Preview(
            newer.digest, asked.book.digest, differences(asked.book, newer), asked.filled(found)
        )


def take_in(place: str, by: str, file: str, *, dry_run: bool = False) -> list[str]:
    """Take a firm's own rules and settings in, and say what changed."""
    check(file)
    text = package_text(_firms_own(file))
    with recording(place, by, dry_run=dry_run) as book:
        newer = book.newer(text)
        if newer.digest == book.book.digest:
            raise Refused([Problem(file, "is in use already: nothing to adopt")])
        book.watch_fleet()
        adopt(book.writer, text, "firm")
        book.tell(f"Adopted {file}: rules {newer.digest[:8]} (were {book.book.digest[:8]}).")
        for line in differences(book.book, newer):
            book.tell(line)
        book.book = newer
    return book.said


def _named(rules: Mapping[Key, Rule]) -> dict[str, Rule]:
    """Rules by name; with their home where one of another bears it too."""
    names = Counter(name for _, name in rules)
    return {
        name if names[name] == 1 else f"{name} ({home})": rule
        for (home, name), rule in rules.items()
    }


def _loosened(old: Mapping[str, Rule], new: Mapping[str, Rule]) -> list[str]:
    """What a firm made looser than practice or a standard: taken, and said out loud."""
    found = []
    for name, rule in new.items():
        words = [one for v in rule.versions for one in loosened_words(v)]
        if old.get(name) != rule:
            found += [f"{name} is {one}." for one in dict.fromkeys(words)]
    return found


def differences(old: Book, new: Book) -> list[str]:
    """What a new book changes, a line each."""
    found = []
    sections: tuple[tuple[str, Any, Any], ...] = (
        ("rule", _named(old.rules), _named(new.rules)),
        ("kind of check", old.checks, new.checks),
        ("kind of component", old.components, new.components),
        ("reading", old.readings, new.readings),
        ("fact", old.facts, new.facts),
        ("event", old.events, new.events),
        ("line of a sheet", old.lines, new.lines),
        ("topic", {t.name: t for t in old.topics}, {t.name: t for t in new.topics}),
    )
    for section, before, after in sections:
        found += [f"New {section}: {name}." for name in after if name not in before]
        found += [
            f"Dropped {section}: {name}; its records are kept."
            for name in before
            if name not in after
        ]
        found += [
            f"Changed {section}: {name}."
            for name in after
            if name in before and before[name] != after[name]
        ]
    found += _loosened(_named(old.rules), _named(new.rules))
    if (old.closed_weekdays, old.closed_days) != (new.closed_weekdays, new.closed_days):
        found.append("Changed: closed days.")
    if old.may_waive != new.may_waive:
        found.append(f"Changed: who may waive, {', '.join(new.may_waive) or 'nobody'}.")
    for name in ("turnaround_days", "turnaround_hours"):
        was, now = getattr(old, name), getattr(new, name)
        if was != now:
            found.append(f"Changed: {name.replace('_', ' ')}, {now} (were {was}).")
    return found
