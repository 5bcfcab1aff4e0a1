"""The fleet along the weeks as a chart in a page: a band a van, a frame a hire that leads to it.

Letters and patterns carry what colour only helps; a page's stylesheet gives both by class.
"""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Callable, Iterator

from fleetcare.render.svg import escape
from fleetcare.render.text import day
from fleetcare.render.which import named
from fleetcare.reports.diary import MARKS, Booking, Row, days_from

_DAY, _BAND, _NAME, _TOP = 26, 44, 28, 44
_CHARACTER = 8.2  # about as wide as one is at 13 px
_FORTNIGHT = 14  # a van is named so often, for whoever sees a part of the chart
# Each mark that is drawn as a band, with its pattern. Hires have frames over theirs, for one that
# is out past its last day takes days that nobody booked.
_TAKEN = "#"
_BANDS = {_TAKEN: "url(#taken)", "w": "url(#workshop)", "x": "url(#stopped)"}
_ANSWERS = {None: "over", "yes": "may", "if done": "if-done"}  # any other: it may not
_PATTERNS = (
    '<defs><pattern id="stopped" width="8" height="8" '
    'patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path d="M0 0V8"/></pattern>'
    '<pattern id="workshop" width="6" height="6" patternUnits="userSpaceOnUse">'
    '<circle cx="3" cy="3" r="1.2"/></pattern><pattern id="taken" width="8" height="6" '
    'patternUnits="userSpaceOnUse"><path d="M0 3H8"/></pattern></defs>'
)
Leads = Callable[[Booking], str]


def chart(title: str, first: dt.date, today: dt.date, rows: list[Row], leads: Leads) -> str:
    """The chart from a Monday on; `leads`: the address of a hire."""
    days = days_from(first, len(rows[0].marks) if rows else 0)
    width, height = _DAY * len(days), _TOP + (_NAME + _BAND) * len(rows)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" class="weeks" width="{width}" height="{height}" '
        f'viewBox="0 0 {width} {height}" role="group" aria-label="{_quoted(escape(title))}">',
        _PATTERNS,
        *_head(days, height),
    ]
    for place, row in enumerate(rows):
        parts += _row(row, days, _TOP + (_NAME + _BAND) * place, leads)
    if today in days:
        x = _DAY * days.index(today)
        parts.append(f'<path class="today" d="M{x + 1} 20V{height}"/>')
    return "\n".join([*parts, "</svg>"])


def _head(days: list[dt.date], height: int) -> Iterator[str]:
    for number, one in enumerate(days):
        x = _DAY * number
        if one.weekday() == 0:
            yield f'<path class="week" d="M{x} 0V{height}"/>'
            yield _text(x + 4, 15, f"{one.day} {one:%b}")
        if one.weekday() > 4:
            yield f'<rect class="end" x="{x}" y="20" width="{_DAY}" height="{height - 20}"/>'
        yield _text(x + _DAY / 2, 36, str(one.day), "day")


def _row(row: Row, days: list[dt.date], y: int, leads: Leads) -> Iterator[str]:
    """A van: its name, what stands in its way, its hires, and over them what lapses."""
    for x in range(0, _DAY * len(days), _DAY * _FORTNIGHT):
        yield _text(x + 4, y + 14, named(row.van, row.plate), "van")
    top = y + _NAME
    for mark, group in itertools.groupby(enumerate(row.marks), key=lambda one: one[1]):
        numbers = [number for number, _ in group]
        if mark in _BANDS:
            yield (
                f'<rect class="band" fill="{_BANDS[mark]}" x="{_DAY * numbers[0]}" y="{top}" '
                f'width="{_DAY * len(numbers)}" height="{_BAND}">'
                f"<title>{MARKS[mark]}</title></rect>"
            )
        if mark in _BANDS and mark != _TAKEN:
            yield from (_text(_DAY * (n + 0.5), top + 27, mark, "day") for n in numbers)
    for one, following in zip(row.hires, (*row.hires[1:], None), strict=False):
        yield _hire(row, one, following, days, top, leads)
    for on, words in row.lapses:
        middle = _DAY * (days.index(on) + 0.5)
        yield (
            f"<g><title>{escape(f'last day {day(on)} of {words}')}</title>"
            f'<circle class="lapse" cx="{middle}" cy="{top}" r="8"/>'
            f"{_text(middle, top + 4, '!', 'day')}</g>"
        )


def _hire(
    row: Row, one: Booking, following: Booking | None, days: list[dt.date], top: int, leads: Leads
) -> str:
    """A hire as a frame that leads to it: half of a day that it shares with another."""
    before = any(hire.through == one.start for hire in row.hires if hire is not one)
    shared = following is not None and following.start == one.through
    left = _DAY * max((one.start - days[0]).days, 0) + before * _DAY / 2
    right = _DAY * min((one.through - days[0]).days + 1, len(days)) - shared * _DAY / 2
    stands = f"{one.stands}; may it: {one.answer}" if one.answer else one.stands
    spell = f"{day(one.start)} to {day(one.through)}"
    words = escape(f"{one.ref}, {named(one.van, one.plate)}: {spell}, {stands}")
    room = int((right - left - 6) / _CHARACTER)
    short = one.ref if one.answer in (None, "yes") else f"{one.ref} ({one.answer})"
    shown = next((text for text in (short, one.ref) if len(text) <= room), "")
    return (
        f'<a href="{_quoted(leads(one))}" aria-label="{_quoted(words)}"><title>{words}</title>'
        f'<rect class="hire {_ANSWERS.get(one.answer, "no")}" x="{left + 1.5:g}" y="{top + 1}" '
        f'width="{right - left - 3:g}" height="{_BAND - 2}" rx="3"/>'
        f"{_text(left + 6, top + 27, shown)}</a>"
    )


def _quoted(text: str) -> str:
    return text.replace('"', "&quot;")


def _text(x: float, y: float, words: str, kind: str = "name") -> str:
    """Words that the table beside the chart says too."""
    return f'<text class="{kind}" x="{x:g}" y="{y}" aria-hidden="true">{escape(words)}</text>'
