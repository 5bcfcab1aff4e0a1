"""The terms a version may state: how each is read, and which way of changing it is stricter."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from fleetcare.rules import strict
from fleetcare.rules.kinds.case import Kind, Term
from fleetcare.rules.limits import Limit
from fleetcare.rules.rule import Terms
from fleetcare.rules.strict import Key, Read
from fleetcare.things import Condition
from fleetcare.trade.measures import read_measure


def fault_free(raw: Any, keys: Mapping[str, Key]) -> dict[str, Any]:
    """A table inside a value: the first fault of it raised as the fault of the value."""
    faults = strict.Faults()
    found = faults.table("", raw, keys)
    if faults.problems:
        problem = faults.problems[0]
        raise ValueError(f"{problem.where.lstrip('.')} {problem.message}")
    return found


_BOUNDS = ("over", "at_least", "up_to")


def condition(raw: Any) -> Condition:
    """One condition on the van (`fact`) or the component (`part`)."""
    word = Key(strict.text)
    found = fault_free(
        raw,
        {
            "fact": word,
            "part": word,
            "is": Key(_values),
            "over": word,
            "at_least": word,
            "up_to": word,
            "unsaid": word,
        },
    )
    if (found["fact"] is None) == (found["part"] is None):
        raise ValueError('a condition names one "fact" or one "part"')
    if sum(found[name] is not None for name in ("is", *_BOUNDS)) != 1:
        raise ValueError('a condition says one of "is", "over", "at_least", "up_to"')
    name = found["fact"] or found["part"]
    bound = next((way for way in _BOUNDS if found[way]), "")
    dimension, amount = _amount(found[bound]) if bound else (None, None)
    return Condition(
        name,
        found["is"],
        **({bound: amount} if bound else {}),
        dimension=dimension,
        unsaid=found["unsaid"],
    )


def _values(raw: Any) -> tuple[Any, ...]:
    values = raw if isinstance(raw, list) else [raw]
    if not values or not all(isinstance(value, (str, bool)) for value in values):
        raise ValueError(f"must be a word, true or false, or a list of words, not {raw!r}")
    return tuple(values)


def _amount(text: str) -> tuple[str | None, Decimal]:
    if text.isdecimal():
        return None, Decimal(text)
    for dimension in ("mass", "length", "pressure"):
        try:
            return dimension, read_measure(text, dimension).value
        except ValueError:
            continue
    raise ValueError(f'"{text}" is not a figure with its unit')


def conditions(raw: Any) -> tuple[Condition, ...]:
    """A list of conditions that must all hold."""
    if not isinstance(raw, list):
        raise ValueError("must be a list of conditions")
    return tuple(condition(item) for item in raw)


def ways(raw: Any) -> tuple[tuple[Condition, ...], ...]:
    """A list of ways, each a list of conditions."""
    if not isinstance(raw, list):
        raise ValueError("must be a list of lists of conditions")
    return tuple(conditions(item) for item in raw)


def _pair(raw: Any) -> tuple[str, str]:
    found = fault_free(raw, {"reading": Key(strict.text, True), "is": Key(strict.text, True)})
    return found["reading"], found["is"]


_SAYS = ("at_least", "at_most", "under", "equals", "differs", "share", "near")


def _limits(raw: Any) -> tuple[Limit, ...]:
    if not isinstance(raw, list) or not raw:
        raise ValueError("must be a list of limits")
    word = Key(strict.text)
    keys = {
        "reading": Key(strict.text, True),
        "dimension": word,
        "at_least": word,
        "at_most": word,
        "under": word,
        "is": word,
        "is_not": word,
        "of": word,
        "share": Key(strict.figure),
        "near": word,
        "percent": Key(strict.figure),
        "if_said": Key(strict.flag, default=False),
        "when": Key(_pair),
        "unless": Key(_pair),
        "caution": Key(strict.text, default=""),
    }
    found = []
    for item in raw:
        one = fault_free(item, keys)
        one["equals"], one["differs"] = one.pop("is"), one.pop("is_not")
        if not any(one[name] for name in _SAYS):
            raise ValueError(
                'a limit says "at_least", "at_most", "under", "is", "is_not", "share" or "near"'
            )
        if (one["of"] is None) != (one["share"] is None):
            raise ValueError('a limit says "of" and "share" together or neither')
        if (one["near"] is None) != (one["percent"] is None):
            raise ValueError('a limit says "near" and "percent" together or neither')
        found.append(Limit(**one))
    return tuple(found)


def _axles(raw: Any) -> dict[str, dict[str, tuple[str, ...]]]:
    if not isinstance(raw, dict):
        raise ValueError("must be a table of axle layouts")
    return {
        layout: {axle: strict.texts(places) for axle, places in axles.items()}
        for layout, axles in raw.items()
    }


def _masses(raw: Any) -> dict[str, str]:
    if not isinstance(raw, dict) or not raw:
        raise ValueError("must be a table of words, each with a mass")
    return {word: strict.measure("mass")(value) for word, value in raw.items()}


def _month_day(raw: Any) -> str:
    text = strict.text(raw)
    try:
        dt.date.fromisoformat(f"2001-{text}")  # no leap year: 29 February is no day of a season
    except ValueError:
        raise ValueError(f'must be a month and a day like "11-01", not "{text}"') from None
    return text


_READ: dict[str, Read] = {
    "texts": strict.texts,
    "masses": _masses,
    "month-day": _month_day,
    "months": strict.months,
    "count": strict.count,
    "figure": strict.figure,
    "flag": strict.flag,
    "measure": strict.measure("length"),
    "distance": strict.measure("distance"),
    "component": strict.text,
    "conditions": conditions,
    "ways": ways,
    "limits": _limits,
    "axles": _axles,
}


def term_keys(kind: Kind) -> dict[str, Key]:
    """The keys a version of a rule of this kind may have beside those all versions have."""
    return {
        name: Key(strict.one_of(term.words) if term.words else _READ[term.holds], term.required)
        for name, term in kind.terms.items()
    }


def loosened(kind: Kind, old: Terms, new: Terms) -> list[tuple[str, Any, Any]]:
    """Each term that `new` makes looser than `old`: its name and both values."""
    found = []
    for name, term in kind.terms.items():
        before, after = old.get(name), new.get(name)
        if before != after and _looser(term, before, after):
            found.append((name, before, after))
    return found


def _looser(term: Term, before: Any, after: Any) -> bool:
    way = term.stricter
    if way == "free":
        return False
    if way == "same":
        return True
    if way == "limits":
        return _limits_looser(before or (), after or ())
    if way in ("on", "off"):
        return bool(before) is (way == "on")
    if before is None or after is None:
        return (before is None) is term.grace
    low, high = _number(after), _number(before)
    return low > high if way == "less" else low < high


def _number(value: Any) -> Decimal:
    if isinstance(value, int):
        return Decimal(value)
    try:
        return Decimal(value)
    except ArithmeticError:
        return read_measure(value, "length").value


def _limits_looser(before: tuple[Limit, ...], after: tuple[Limit, ...]) -> bool:
    kept = {_same(limit): limit for limit in after}
    for limit in before:
        other = kept.get(_same(limit))
        if other is None or other.equals != limit.equals:
            return True
        for name, sign in (
            ("at_least", 1),
            ("at_most", -1),
            ("under", -1),
            ("share", 1),
            ("percent", -1),
        ):
            old, new = getattr(limit, name), getattr(other, name)
            if old is None:
                continue
            if new is None or sign * (_value(new, limit, name) - _value(old, limit, name)) < 0:
                return True
    return False


def _same(limit: Limit) -> tuple[object, ...]:
    """What makes two limits the same one, be its figure another."""
    return (limit.reading, limit.when, limit.unless, limit.differs, limit.of, limit.near)


def _value(figure: str, limit: Limit, term: str) -> Decimal:
    if limit.dimension is None or term in ("share", "percent"):
        return Decimal(figure)
    return read_measure(figure, limit.dimension, bare=True).value
