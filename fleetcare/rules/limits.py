"""Limits: what a figure that was read must be, and which limit of several it breaks."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from functools import lru_cache
from typing import NamedTuple

from fleetcare.trade.measures import read_measure

Figures = Callable[[str], str | None]  # by name: of a reading taken along, or of the component


class Limit(NamedTuple):
    """What a reading must be; `when` names another reading of the same check it depends on."""

    reading: str
    dimension: str | None
    at_least: str | None = None
    at_most: str | None = None
    under: str | None = None
    equals: str | None = None
    when: tuple[str, str] | None = None
    unless: tuple[str, str] | None = None
    caution: str = ""
    differs: str | None = None  # a word it must not be
    of: str | None = None  # a reading of which it is at most the share: 15 for a fifteenth
    share: str | None = None
    near: str | None = None  # a figure of the component, from which it is at most `percent` away
    percent: str | None = None
    if_said: bool = False  # of what a test needs: asked only where it was said


OF_PART = "part "  # before the name of a field of the component, where a figure is asked for


Broken = tuple[str, str, str]  # reading, figure as typed, the limit in words


def broken(limit: Limit, figure: Figures) -> Broken | None:
    """How what was read breaks a limit; None where it does not, or was not read."""
    read = figure(limit.reading)
    if read is None or not _applies(limit, figure):
        return None
    if limit.near:
        words = _away(limit, read, figure(f"{OF_PART}{limit.near}"))
    else:
        words = _shared(limit, read, figure(limit.of)) if limit.of else breaks(limit, read)
    if words and limit.caution:
        words = f"{words}; {limit.caution}"
    return (limit.reading, read, words) if words else None


def _applies(limit: Limit, figure: Figures) -> bool:
    if limit.when and figure(limit.when[0]) != limit.when[1]:
        return False
    return not (limit.unless and figure(limit.unless[0]) == limit.unless[1])


@lru_cache(maxsize=4096)
def breaks(limit: Limit, figure: str) -> str | None:
    """The limit in words, where a figure by itself breaks it."""
    if limit.equals is not None:
        return None if figure == limit.equals else f"must be {limit.equals}"
    if limit.differs is not None:
        return f"must not be {limit.differs}" if figure == limit.differs else None
    value = amount(figure, limit.dimension)
    if limit.at_least is not None and value < amount(limit.at_least, limit.dimension):
        return f"must be at least {limit.at_least}"
    if limit.at_most is not None and value > amount(limit.at_most, limit.dimension):
        return f"must be at most {limit.at_most}"
    if limit.under is not None and value >= amount(limit.under, limit.dimension):
        return f"must be under {limit.under}"
    return None


def _shared(limit: Limit, figure: str, whole: str | None) -> str | None:
    """A figure against its share of another: multiplied, for a fifteenth has no end."""
    if whole is None or limit.share is None:
        return None
    most = amount(whole, limit.dimension)
    if amount(figure, limit.dimension) * Decimal(limit.share) <= most:
        return None
    return f"must be at most one part in {limit.share} of {whole}"


def _away(limit: Limit, figure: str, marked: str | None) -> str | None:
    """A figure against what is marked for the component; none is marked, none is asked."""
    if marked is None or limit.percent is None:
        return None
    meant = amount(marked, limit.dimension)
    if abs(amount(figure, limit.dimension) - meant) * 100 <= meant * Decimal(limit.percent):
        return None
    return f"must be within {limit.percent} % of {marked}"


@lru_cache(maxsize=4096)
def amount(figure: str, dimension: str | None) -> Decimal:
    """A figure in the base unit of its dimension, or as it is where it has none."""
    return read_measure(figure, dimension, bare=True).value if dimension else Decimal(figure)
