"""Reading one rule with its versions, and a firm's change to one."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from fleetcare.rules import strict
from fleetcare.rules.kinds import KINDS, kind_of
from fleetcare.rules.kinds.case import Kind
from fleetcare.rules.rule import (
    BLOCKS,
    GRADES,
    REMEDIES,
    SEEN,
    WHO,
    By,
    Loosened,
    Remedy,
    Rule,
    Source,
    Terms,
    Version,
)
from fleetcare.rules.strict import Faults, Key, shown
from fleetcare.rules.terms import conditions, fault_free, loosened, term_keys, ways

_WEEKS = 8  # how early to warn where the rule does not say (common practice, no source)


def read_by(raw: Any) -> By:
    """Whose record counts, as a table."""
    return By(
        **fault_free(
            raw,
            {
                "who": Key(strict.one_of(WHO), True, "nobody"),
                "scope": Key(strict.text),
                "or_scope": Key(strict.text),
                "certificate": Key(strict.flag, default=True),
            },
        )
    )


def _remedy(raw: Any) -> Remedy:
    return Remedy(
        **fault_free(
            raw, {"sort": Key(strict.one_of(REMEDIES), True, "none"), "what": Key(strict.text)}
        )
    )


def _source(raw: Any) -> Source:
    return Source(
        **fault_free(
            raw,
            {
                "title": Key(strict.text, True, ""),
                "clause": Key(strict.maybe_text, True, ""),
                "grade": Key(strict.one_of(GRADES), True, ""),
                "seen": Key(strict.one_of(SEEN), True, ""),
            },
        )
    )


def _rule_keys(kind: Kind) -> dict[str, Key]:
    return {
        "title": Key(strict.text, True, ""),
        "kind": Key(strict.one_of(tuple(KINDS)), True),
        "aliases": Key(strict.texts, default=()),
        "was": Key(strict.texts, default=()),
        "checks": Key(strict.texts, default=()),
        "over": Key(strict.text),
        "when": Key(conditions, default=()),
        "unless": Key(ways, default=()),
        "only_at": Key(strict.texts, default=()),
        "not_at": Key(strict.texts, default=()),
        "blocks": Key(strict.one_of(BLOCKS), True, "yes"),
        "starts": Key(strict.one_of(kind.starts), True, kind.starts[0]),
        "start_fact": Key(strict.text),
        "stamps": Key(strict.flag, default=False),
        "recorded": Key(strict.flag, default=False),
        "items_close": Key(strict.flag, default=True),
        "needs_van": Key(strict.flag, True, True),
        "by": Key(read_by, True, By()),
        "closed_by": Key(read_by),
        "due_soon_weeks": Key(strict.count, default=_WEEKS),
        "remedy": Key(_remedy, True, Remedy("none")),
        "waivable": Key(_codes(kind), default=()),
        "label": Key(strict.count),
        "if_out": Key(strict.text, True, ""),
        "caution": Key(strict.text, default=""),
        "version": Key(_list, True, ()),
    }


def _codes(kind: Kind) -> strict.Read:
    """How a rule of a kind may stand and be waived all the same; some kinds never are."""

    def read(raw: Any) -> tuple[str, ...]:
        words = strict.texts(raw)
        for word in words:
            if kind.never_waived and word not in kind.waived_even_so:
                raise ValueError(f'must not name "{word}": {kind.never_waived}')
            strict.one_of(tuple(kind.standings))(word)
        return words

    return read


def _list(raw: Any) -> list[Any]:
    if not isinstance(raw, list) or not raw:
        raise ValueError("must be one version or more")
    return raw


def read_rule(
    faults: Faults,
    where: str,
    name: str,
    raw: Any,
    home: str,
    things: Mapping[str, Mapping[str, Any]],
) -> Rule | None:
    """One rule, or None when not even its kind can be told; faults are kept."""
    kind = KINDS.get(str(raw.get("kind"))) if isinstance(raw, dict) else None
    if kind is None:
        given = raw.get("kind") if isinstance(raw, dict) else raw
        faults.add(f"{where}.kind", f"must be one of {', '.join(KINDS)}, not {shown(given)}")
        return None
    found = faults.table(where, raw, _rule_keys(kind))
    _known(faults, where, found, things)
    versions = _read_versions(faults, where, found.pop("version"), kind)
    if not versions:
        return None
    _known_terms(faults, where, versions, things)
    rule = Rule(name=name, home=home, versions=versions, **found)
    return rule._replace(rests_on=_rests_on(faults, where, rule, things))


def _known(
    faults: Faults, where: str, found: Mapping[str, Any], things: Mapping[str, Mapping[str, Any]]
) -> None:
    """What a rule names must be there."""
    for kind in found["checks"]:
        if kind not in things["check"]:
            faults.add(f"{where}.checks", f'names "{kind}", which is no kind of check here')
    if found["over"] and found["over"] not in things["component"]:
        faults.add(f"{where}.over", f'names "{found["over"]}", which is no kind of component here')
    remedy = found["remedy"]
    section = {"check": "check", "component": "component", "say": "fact"}.get(remedy.sort)
    if section and remedy.what not in things[section]:
        faults.add(f"{where}.remedy", f'names "{remedy.what}", which is no kind of {section} here')


def _known_terms(
    faults: Faults,
    where: str,
    versions: tuple[Version, ...],
    things: Mapping[str, Mapping[str, Any]],
) -> None:
    """What the terms of a version name must be there."""
    for version in versions:
        named = [("event", name) for name in version.terms.get("events", ())]
        parts = (*version.terms.get("fitted", ()), *version.terms.get("changed", ()))
        named += [("component", name) for name in parts]
        named += [
            ("component", version.terms[n]) for n in ("by_fit", "gone_with") if n in version.terms
        ]
        named += [("check", version.terms[n]) for n in ("follows",) if n in version.terms]
        for section, name in named:
            if name not in things[section]:
                faults.add(where, f'names "{name}", which is no kind of {section} here')


def _read_versions(faults: Faults, where: str, raw: Any, kind: Kind) -> tuple[Version, ...]:
    versions: list[Version] = []
    for place, table in enumerate(raw):
        version = _read_version(faults, f"{where}.version[{place + 1}]", table, kind)
        if version is None:
            continue
        if versions and version.from_on <= versions[-1].from_on:
            faults.add(
                f"{where}.version[{place + 1}].from",
                f"{version.from_on} is not after the version before it ({versions[-1].from_on})",
            )
            continue
        versions.append(version)
    return tuple(versions)


def _read_version(faults: Faults, where: str, raw: Any, kind: Kind) -> Version | None:
    base = {
        "from": Key(strict.day, True),
        "old_checks": Key(strict.one_of(("keep", "cut")), True),
        "source": Key(_source, True, Source("", "", "practice", "no source")),
        "repealed": Key(strict.flag, default=False),
    }
    repealed = isinstance(raw, dict) and raw.get("repealed") is True
    found = faults.table(where, raw, base | ({} if repealed else term_keys(kind)))
    if found["from"] is None:
        return None
    terms = Terms({name: found[name] for name in kind.terms if found.get(name) is not None})
    return Version(
        found["from"], terms, found["source"], found["old_checks"] == "cut", found["repealed"]
    )


def _rests_on(
    faults: Faults, where: str, rule: Rule, things: Mapping[str, Mapping[str, Any]]
) -> tuple[str, ...]:
    """The facts of the van without which the rule cannot be judged, each named once."""
    named = [c.name for c in rule.when]
    if rule.over and rule.over in things["component"]:
        component = things["component"][rule.over]
        named += [c.name for c in component.when]
        named += list(component.by_fact)
    named += kind_of(rule).rests_on(rule)
    for name in dict.fromkeys([*named, *(c.name for way in rule.unless for c in way)]):
        if name not in things["fact"]:
            faults.add(where, f'rests on "{name}", which is no fact here')
    return tuple(dict.fromkeys(name for name in named if name in things["fact"]))


def read_change(faults: Faults, where: str, raw: Any, rules: dict[tuple[str, str], Rule]) -> None:
    """A firm's change to a rule, of every home that has one of that name unless it names one: laid
    over each version from its day on, never looser than a law."""
    name = raw.get("rule") if isinstance(raw, dict) else None
    home = raw.get("home") if isinstance(raw, dict) else None
    named = [r for r in rules.values() if name in (r.name, *r.was) and home in (None, r.home)]
    if not named:
        at = f' of "{home}"' if home is not None else ""
        faults.add(f"{where}.rule", f"names {shown(name)}, which is no rule{at} here")
    for place, rule in enumerate(named):
        found = _change(faults if place == 0 else Faults(), where, raw, kind_of(rule))
        if any(v.source.grade == "firm" and v.from_on >= found["from"] for v in rule.versions):
            last = rule.versions[-1].from_on
            message = f"{found['from']} is not after the version before it ({last})"
            faults.add(f"{where}.from", message)
            continue
        rules[rule.key] = _laid_over(faults, where, rule, found)


def _change(faults: Faults, where: str, raw: Any, kind: Kind) -> dict[str, Any]:
    keys = {n: key._replace(required=False) for n, key in term_keys(kind).items()}
    return faults.table(
        where,
        raw,
        keys
        | {
            "rule": Key(strict.text, True),
            "home": Key(strict.text),
            "from": Key(strict.day, True, dt.date.max),
            "old_checks": Key(strict.one_of(("keep", "cut")), True, "keep"),
            "why": Key(strict.text, True, ""),
        },
    )


def _laid_over(faults: Faults, where: str, rule: Rule, found: dict[str, Any]) -> Rule:
    """The rule with a firm's terms from a day on, over every version that is in force since."""
    kind, start = kind_of(rule), found["from"]
    said = {n: found[n] for n in kind.terms if found.get(n) is not None}
    source = Source(f"the firm's own rule: {found['why']}", "", "firm", "read")
    law = any(v.source.grade == "law" for v in rule.versions)
    before = [v for v in rule.versions if v.from_on < start]
    since = [v for v in rule.versions if v.from_on >= start]
    if before and not (since and since[0].from_on == start):
        since.insert(0, before[-1]._replace(from_on=start, cut=found["old_checks"] == "cut"))
    laid = []
    for version in since:
        terms = Terms({**version.terms, **said})
        looser = loosened(kind, version.terms, terms)
        for term, old, new in looser if law else ():
            faults.add(
                f"{where}.{term}",
                f"{shown(new)} is looser than the law's {shown(old)} "
                f'for "{rule.name}" ({version.source.title}); a firm may only tighten it',
            )
        told = tuple(Loosened(*one, version.source) for one in looser)
        one = version._replace(terms=terms, source=source, loosens=(*version.loosens, *told))
        laid.append(version if version.repealed else one)
    return rule._replace(versions=(*before, *laid))
