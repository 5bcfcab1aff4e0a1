"""A van seen from above as a drawing in a page: a numbered mark a place, front up.

Shape and a word carry what is wrong with a place, and colour only helps; the list beside the
drawing has the same numbers and says all of it. A place that the drawing does not know stands below
the van.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from fleetcare.render.svg import escape
from fleetcare.reports.placed import Part
from fleetcare.shipped import drawn_places

_WIDTH, _LEFT, _TOP, _ACROSS, _LONG = 300, 62, 40, 176, 510
_BELOW = _TOP + _LONG + 56  # of the places that the drawing does not know
_EACH, _A_ROW, _ROW = 42, 7, 48
_HALF, _CORNER = 13, 6  # of a mark
_VAN = (
    '<path class="van" d="M62 96Q62 40 104 34H196Q238 40 238 96V538Q238 550 226 550H74Q62 550 62 '
    '538Z"/><path class="inner" d="M76 88Q150 64 224 88M62 146H238"/>'
)


class _Spot(NamedTuple):
    """A place on the drawing."""

    number: int
    name: str
    empty: bool
    stops: bool


def plan(title: str, parts: list[Part]) -> str:
    """The drawing of a van with each place that is filled or must be."""
    where, spots = drawn_places(), _spots(parts)
    known = [spot for spot in spots if spot.name in where]
    others = [spot for spot in spots if spot.name not in where]
    rows = -(-len(others) // _A_ROW)
    height = _BELOW + _ROW * rows if others else _TOP + _LONG + 30
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" class="plan" width="{_WIDTH}" height="{height}" '
        f'viewBox="0 0 {_WIDTH} {height}" role="img"><title>{escape(title)}</title>{_VAN}',
        _text(150, 20, "front"),
    ]
    for spot in known:
        along, across = where[spot.name]
        lines += _mark(spot, _LEFT + _ACROSS * across / 100, _TOP + _LONG * along / 100)
    if others:
        lines.append(_text(150, _BELOW - 8, "elsewhere"))
    for place, spot in enumerate(others):
        row, column = divmod(place, _A_ROW)
        lines += _mark(spot, 24 + _EACH * column, _BELOW + 14 + _ROW * row)
    return "\n".join([*lines, "</svg>"])


def _spots(parts: list[Part]) -> list[_Spot]:
    """Each place once; what is wrong with anything there is wrong with it."""
    found: dict[int, _Spot] = {}
    for part in parts:
        if part.number is None or part.place is None:
            continue
        spot = found.get(part.number, _Spot(part.number, part.place, False, False))
        found[part.number] = spot._replace(
            empty=spot.empty or part.empty, stops=spot.stops or part.stops
        )
    return list(found.values())


def _mark(spot: _Spot, x: float, y: float) -> Iterator[str]:
    """A circle; a dashed square where the place is empty, eight corners where it stops the van."""
    yield f"<g><title>{escape(f'{spot.number} {spot.name}')}</title>"
    half, cut = _HALF, _CORNER
    if spot.empty:
        kind = "empty stops" if spot.stops else "empty"
        yield (
            f'<rect class="{kind}" x="{x - half:g}" y="{y - half:g}" width="{2 * half}" '
            f'height="{2 * half}"/>'
        )
    elif spot.stops:
        yield (
            f'<path class="stops" d="M{x - cut:g} {y - half:g}h{2 * cut}l{half - cut} {half - cut}'
            f"v{2 * cut}l{cut - half} {half - cut}h{-2 * cut}l{cut - half} {cut - half}v{-2 * cut}z"
            '"/>'
        )
    else:
        yield f'<circle cx="{x:g}" cy="{y:g}" r="{half}"/>'
    yield _text(x, y + 5, str(spot.number), "number")
    if spot.empty or spot.stops:
        yield _text(x, y + half + 11, "empty" if spot.empty else "stops", "says")
    yield "</g>"


def _text(x: float, y: float, words: str, kind: str = "name") -> str:
    return f'<text class="{kind}" x="{x:g}" y="{y:g}">{escape(words)}</text>'
