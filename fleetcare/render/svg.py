"""A chart as SVG: words and patterns carry it, colour only helps, and it reads printed in grey."""

from __future__ import annotations

import datetime as dt
import math
import re
import textwrap
from collections.abc import Iterator
from xml.sax.saxutils import escape as _escape

from fleetcare.reports.picture import Picture, Span, months

# What XML 1.0 holds no way to write (its production 2).
_NO_XML = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
_LEFT, _MONTH, _ROW, _TOP = 230, 84, 24, 90
_LINE = 15
_CHARACTER = 6.1  # about as wide as one is at 11 px
# Each word its own grey and pattern: lightest is good, hatched and darkest is not.
_FILL = {
    "in date": "#e3efe3", "may go": "#e3efe3", "overdue, may go": "url(#dotted)",
    "overdue": "url(#hatched)", "failed": "url(#hatched)", "no record": "url(#hatched)",
    "stopped": "url(#hatched)", "cannot say": "url(#dotted)",
    "not applicable": "none",
}  # fmt: skip
_DEFS = (
    '<defs><pattern id="hatched" width="7" height="7" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)"><rect width="7" height="7" fill="#f3c4ae"/>'
    '<line x1="0" y1="0" x2="0" y2="7" stroke="#7a4a35" stroke-width="2.4"/></pattern>'
    '<pattern id="dotted" width="7" height="7" patternUnits="userSpaceOnUse">'
    '<rect width="7" height="7" fill="#fdf0c3"/><circle cx="3.5" cy="3.5" r="1.3" fill="#555"/>'
    "</pattern></defs>"
)


def chart(picture: Picture) -> str:
    """The whole file."""
    width = _LEFT + _MONTH * len(months(picture)) + 20
    folded = _folded(picture, width)
    height = _TOP + _ROW * len(picture.bars) + 44 + _LINE * len(folded)
    below = _TOP + _ROW * len(picture.bars) + 20
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" '
        f'viewBox="0 0 {width} {height}" font-family="Liberation Sans, Arial, sans-serif" '
        'font-size="11" role="img">',
        f"<title>{escape(picture.title)}</title>",
        f"<desc>{escape(described(picture))}</desc>",
        _DEFS,
        f'<rect width="{width}" height="{height}" fill="white"/>',
        f'<text x="12" y="24" font-size="16" font-weight="bold">{escape(picture.title)}</text>',
        f'<text x="12" y="42">{escape(_head(picture))}</text>',
        *_months(picture, below - 10),
    ]
    for place, bar in enumerate(picture.bars):
        y = _TOP + _ROW * place
        parts.append(f'<text x="12" y="{y + 16}">{escape(bar.name)}</text>')
        names = _named(picture, bar.hires)
        taken = [*_frames(picture, bar.hires, names), *_line_of_today(picture)]
        for span in bar.spans:
            parts += _span(picture, span, y, taken)
        for hire, at in zip(bar.hires, names, strict=True):
            parts += _hire(picture, hire, at, y)
        parts.append(_line(12, y + _ROW, width - 12, y + _ROW, "#ddd"))
    parts += _today(picture, below - 10)
    for number, line in enumerate(folded):
        parts.append(f'<text x="12" y="{below + _LINE * number}">{escape(line)}</text>')
    parts.append(f'<text x="12" y="{height - 12}" fill="#333">{escape(picture.note)}</text>')
    parts.append("</svg>\n")
    return "\n".join(parts)


def _folded(picture: Picture, width: int) -> list[str]:
    """What is in date throughout, in lines as wide as the chart."""
    return textwrap.wrap(_throughout(picture), int((width - 24) / _CHARACTER))


def _throughout(picture: Picture) -> str:
    named = ", ".join(picture.throughout)
    return f"In date throughout: {named}." if named else ""


def escape(text: str) -> str:
    """Text as XML holds it; what XML cannot hold shows as a mark."""
    return _escape(_NO_XML.sub("\ufffd", text))


def _head(picture: Picture) -> str:
    return (
        f"As of {_day(picture.on)}. Plain: in date, may go. Hatched: overdue, failed, no record, "
        "stopped. Dotted: cannot say, or overdue before its stop day. Framed: hires."
    )


def described(picture: Picture) -> str:
    """The chart in words, for whoever does not see it."""
    lines = [_head(picture)]
    for bar in picture.bars:
        stands = "; ".join(f"{s.word} from {s.start} until {s.until}" for s in bar.spans)
        hires = "; ".join(f"hire {s.word} from {s.start} until {s.until}" for s in bar.hires)
        lines.append(f"{bar.name}: {'; '.join(filter(None, (stands, hires))) or 'nothing'}.")
    return "\n".join(filter(None, [*lines, _throughout(picture)]))


def _day(day: dt.date) -> str:
    return f"{day:%a} {day.day} {day:%b %Y}"


def _x(picture: Picture, day: dt.date) -> float:
    """Where a day lies: months are equally wide, days share their month."""
    whole = (day.year - picture.start.year) * 12 + day.month - picture.start.month
    first = day.replace(day=1)
    length = ((first + dt.timedelta(days=31)).replace(day=1) - first).days
    return round(_LEFT + _MONTH * (whole + (day.day - 1) / length), 1)


def _months(picture: Picture, bottom: int) -> Iterator[str]:
    for first in months(picture):
        x = _x(picture, first)
        yield _line(x, _TOP - 16, x, bottom, "#bbb")
        year = f" {first.year}" if first.month == 1 or first == picture.start else ""
        yield f'<text x="{x + 4}" y="{_TOP - 6}" font-weight="bold">{first:%b}{year}</text>'


def _line(x1: float, y1: float, x2: float, y2: float, colour: str, more: str = "") -> str:
    return f'<line x1="{x1}" y1="{y1}" x2="{x2}" y2="{y2}" stroke="{colour}"{more}/>'


Taken = tuple[float, float]  # from where to where something else is drawn


def _span(picture: Picture, span: Span, y: int, taken: list[Taken]) -> Iterator[str]:
    left, right = _x(picture, span.start), _x(picture, span.until)
    fill = _FILL.get(span.word, "#eee")
    if fill == "none":
        return
    yield (
        f'<rect x="{left}" y="{y + 3}" width="{round(right - left, 1)}" height="{_ROW - 6}" '
        f'fill="{fill}" stroke="#888" stroke-width="0.6"><title>{escape(span.word)}, '
        f"{span.start} until {span.until}</title></rect>"
    )
    shown = len(span.word) * _CHARACTER + 6
    at = _room(left, right, shown + 4, taken)
    if at is None:
        return
    if fill.startswith("url"):  # words stay readable on a pattern
        yield (
            f'<rect x="{at + 3:.1f}" y="{y + 5}" width="{shown:.1f}" height="{_ROW - 10}" '
            'fill="white"/>'
        )
    yield f'<text x="{at + 6:.1f}" y="{y + 16}">{escape(span.word)}</text>'


def _room(left: float, right: float, wide: float, taken: list[Taken]) -> float | None:
    """Where the first words fit between two places and beside whatever is drawn there."""
    at = left
    for start, end in sorted(taken):
        if start - at >= wide:
            break
        at = max(at, end)
    return at if right - at >= wide else None


def _named(picture: Picture, hires: tuple[Span, ...]) -> list[float | None]:
    """Where each hire's name stands: in its frame, or beside it where it doesn't fit; nowhere where
    it would run into the next one, for its title says it too."""
    found: list[float | None] = []
    for hire, following in zip(hires, (*hires[1:], None), strict=False):
        left, right = _x(picture, hire.start), _x(picture, hire.until)
        room = _x(picture, following.start) if following else math.inf
        wide = _wide(hire)
        inside = right - left > wide
        at = left + 1.5 if inside else right + 1.5
        found.append(at if inside or at + wide <= room else None)
    return found


def _wide(hire: Span) -> float:
    return len(hire.word) * _CHARACTER + 2


def _frames(
    picture: Picture, hires: tuple[Span, ...], names: list[float | None]
) -> Iterator[Taken]:
    """What hires and their names take up of a row."""
    for hire, at in zip(hires, names, strict=True):
        yield _x(picture, hire.start), _x(picture, hire.until)
        if at is not None:
            yield at, at + _wide(hire)


def _hire(picture: Picture, hire: Span, at: float | None, y: int) -> Iterator[str]:
    left, right = _x(picture, hire.start), _x(picture, hire.until)
    yield (
        f'<rect x="{left}" y="{y + 1}" width="{max(round(right - left, 1), 2)}" '
        f'height="{_ROW - 2}" fill="none" stroke="black" stroke-width="1.6"><title>'
        f"{escape(hire.word)}, {hire.start} until {hire.until}</title></rect>"
    )
    if at is not None:
        yield (
            f'<rect x="{at:.1f}" y="{y + 5}" width="{_wide(hire):.1f}" height="{_ROW - 10}" '
            f'fill="white"/><text x="{at + 1.5:.1f}" y="{y + 16}" font-weight="bold" '
            f'font-size="10">{escape(hire.word)}</text>'
        )


def _line_of_today(picture: Picture) -> list[Taken]:
    """What the line of today takes up."""
    if not picture.start <= picture.on < picture.until:
        return []
    x = _x(picture, picture.on)
    return [(x - 2, x + 2)]


def _today(picture: Picture, bottom: int) -> Iterator[str]:
    for before, _ in _line_of_today(picture):
        x = before + 2
        yield _line(x, _TOP - 18, x, bottom, "black", ' stroke-width="1.6" stroke-dasharray="5 3"')
        yield f'<text x="{x - 14}" y="{_TOP - 22}" font-weight="bold">today</text>'
