"""Plain aligned text for a screen or a pipe: nothing is boxed, coloured or cut."""

from __future__ import annotations

import datetime as dt
import unicodedata
from collections.abc import Iterable, Sequence
from typing import Any

from fleetcare.reports.hire import HireReport, Line
from fleetcare.reports.why import Why


def day(value: dt.date | None) -> str:
    """Tue 1 Sep 2026, or nothing."""
    return f"{value:%a} {value.day} {value:%b %Y}" if value else ""


def _width(text: str) -> int:
    return sum(
        2 if unicodedata.east_asian_width(c) in "WF" else 0 if unicodedata.combining(c) else 1
        for c in text
    )


def table(headings: Sequence[str], rows: Iterable[Sequence[str]], indent: str = "") -> list[str]:
    """Columns as wide as their longest cell; the last one is left ragged."""
    listed = [list(headings), *[list(row) for row in rows]]
    widths = [max(_width(row[place]) for row in listed) for place in range(len(headings))]
    return [
        (
            indent
            + "  ".join(
                cell + " " * (width - _width(cell)) for cell, width in zip(row, widths, strict=True)
            )
        ).rstrip()
        for row in listed
    ]


def hire(report: HireReport, *, long: bool = False) -> str:
    """The clerk's screen; short, what a rule says of several places stands once, and each source
    once at the end."""
    named = f"{report.van} ({report.plate})" if report.plate else report.van
    days = f"{day(report.start)} to {day(report.through)}"
    lines = [f"{named}, {days}, judged for {report.judged_for}"]
    lines += _book_it(report) if report.start > report.on else _hand_over(report)
    stopping = [line for line in report.blocking if not line.unsaid]
    if long:
        for line in stopping:
            lines += [f"  {_blocked(line)}", f"      {line.source}"]
        noted: list[str] = []
    else:
        stops, noted = _noted(stopping)
        lines += [*_to_tell(report), *stops]
    lines += _unsaid(report)
    if report.at_handover and report.hireable != "yes":
        handover = _every_place(report) if long else _handover(report)
        lines.append(f"At handover, to be recorded as well: {handover}.")
    if report.would_go:
        lines.append(f"What would go: {', or '.join(report.would_go)}.")
    lines += [f"Caution: {caution}" for caution in report.cautions]
    if report.could:
        runs = "; ".join(f"{day(a)} to {_end(b)}" for a, b in report.could[:6])
        lines.append(f"As the records stand it could go: {runs}.")
    elif report.bookable == "no":
        lines.append("As the records stand there are no days it could go.")
    return "\n".join([*lines, *noted])


def _to_tell(report: HireReport) -> list[str]:
    """The one thing to say to a caller who hears no."""
    if report.bookable != "no" or report.start <= report.on or not report.blocking:
        return []
    alone = len({line.rule for line in report.blocking}) == 1
    if report.would_go and alone:
        words = f"it could go with {report.would_go[0]}"
        words = words.replace("with the same without", "without")
    elif report.could:
        first, last = report.could[0]
        words = f"not then; it could go {day(first)} to {_end(last)}"
    else:
        words = f"not then; {report.blocking[0].title} stands in the way"
    return [f"To tell the caller: {words}."]


def _noted(stopping: Iterable[Line]) -> tuple[list[str], list[str]]:
    """What stops a hire, places alike on one line and sources by number; the sources."""
    alike: dict[tuple[Any, ...], list[Line]] = {}
    for line in stopping:
        key = (line.rule, line.standing, line.last_good_day, line.reason, line.source)
        alike.setdefault(key, []).append(line)
    sources = list(dict.fromkeys(lines[0].source for lines in alike.values()))
    stops = []
    for lines in alike.values():
        words = _blocked(lines[0]._replace(title=_titled(lines)))
        stops.append(f"  {words} [{sources.index(lines[0].source) + 1}]")
    return stops, [f"[{number}] {source}" for number, source in enumerate(sources, 1)]


def _titled(lines: list[Line]) -> str:
    """A rule with its places: "tread to go out front-left, front-right"; many are counted."""
    first, *rest = lines
    if not rest:
        return first.title
    if len(lines) > _MOST_PLACES and first.place:
        return f"{first.title.removesuffix(first.place).rstrip()} at {len(lines)} places"
    return ", ".join([first.title, *(line.place or "" for line in rest)])


_MOST_PLACES = 3


def _unsaid(report: HireReport) -> list[str]:
    """One line for each set of facts nobody said, whatever number of rules rest on it."""
    found: dict[tuple[str, ...], list[Line]] = {}
    for line in report.blocking:
        if line.unsaid:
            found.setdefault(line.unsaid, []).append(line)
    return [
        f"  {', '.join(facts)} not said: {', '.join(dict.fromkeys(one.title for one in lines))} "
        f"cannot be judged. Say it with: {lines[0].saying}"
        for facts, lines in found.items()
    ]


def _end(last: dt.date) -> str:
    return "no end known" if last == dt.date.max else day(last)


def _blocked(line: Line) -> str:
    if line.rule in ("hire", "service", "hold", "abroad"):
        return f"{line.title}: {line.reason}"
    last = f", last day {day(line.last_good_day)}" if line.last_good_day else ""
    return f"{line.title}: {line.standing}{last}. {line.reason[:1].upper()}{line.reason[1:]}"


def _handover(report: HireReport) -> str:
    by_rule: dict[str, list[Line]] = {}
    for line in report.at_handover:
        by_rule.setdefault(line.rule, []).append(line)
    return ", ".join(_titled(lines) for lines in by_rule.values())


def _every_place(report: HireReport) -> str:
    return ", ".join(line.title for line in report.at_handover)


def _hand_over(report: HireReport) -> list[str]:
    question = "It is out. May it stay out?" if report.out else "Hand it over now?"
    if report.hireable == "yes" and report.at_handover:
        return [f"Hand it over now? Only once these are recorded: {_handover(report)}."]
    words = {"yes": "Yes.", "no": "NO.", "cannot say": "CANNOT SAY, so no."}[report.hireable]
    return [f"{question} {words}"]


def _book_it(report: HireReport) -> list[str]:
    if report.bookable == "if done":
        lines = ["Book it? If done first:"]
        for number, work in enumerate(report.to_do, 1):
            after = " and ".join(map(str, work.after))
            order = f" (after {after}, or the same day)" if after else ""
            days = f"do from {day(work.do_from)}, by {day(work.do_by)}"
            lines.append(f"  {number}. {work.do}: {days}{order}")
        return [*lines, f"As the records stand: {_stands(report)}."]
    if report.bookable == "yes" and report.at_handover:
        return [f"Book it? Yes; hand it over only once these are recorded: {_handover(report)}."]
    return ["Book it? Yes." if report.bookable == "yes" else "Book it? NO."]


def _stands(report: HireReport) -> str:
    words = {"no": "no", "cannot say": "cannot say", "yes": "yes"}[report.hireable]
    if report.hireable_through:
        return f"{words}, hireable through {day(report.hireable_through)}"
    return words


def why(found: list[Why]) -> str:
    """A rule explained, place by place."""
    lines: list[str] = []
    for one in found:
        named = f"{one.van} ({one.plate})" if one.plate else one.van
        last = f", last day {day(one.last_good_day)}" if one.last_good_day else ""
        lines += [
            f"{named}, {one.title} on {day(one.on)}: {one.standing}{last}.",
            f"  why     {one.reason}",
            f"  blocks  {one.blocks}",
            f"  terms   {one.terms}",
            f"  source  {one.source}",
        ]
        lines += [
            f"  #{number} is kept and does not count: {words}" for number, words in one.uncounted
        ]
        lines += [f'  #{number} was recorded even so: "{words}"' for number, words in one.even_so]
        if len(one.stretches) > 1:
            lines += table(
                ("from", "through", "standing", "why"),
                [
                    (day(s.start) or "the beginning", day(s.through) or "on", s.standing, s.reason)
                    for s in one.stretches
                ],
                indent="  ",
            )
        if one.caution:
            lines.append(f"  caution {one.caution}")
        lines.append("")
    return "\n".join(lines).rstrip()


def _shown(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, dt.date):
        return day(value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return ", ".join(map(str, value)) if isinstance(value, (tuple, list)) else str(value)


def rows_table(rows: Sequence[dict[str, Any]], indent: str = "") -> list[str]:
    """Rows as a table headed by their keys."""
    if not rows:
        return [f"{indent}none"]
    return table(
        [name.replace("_", " ") for name in rows[0]],
        [[_shown(value) for value in row.values()] for row in rows],
        indent,
    )


def van(shown: Any) -> str:
    """One van whole."""
    named = f"{shown.van} ({shown.plate})" if shown.plate else shown.van
    lines = [f"{named} on {day(shown.on)}"]
    for head, rows in (
        ("Said of it", shown.facts),
        ("Fitted", shown.fitted),
        ("How it stands", shown.standings),
        ("Records", shown.records),
    ):
        lines += ["", head, *rows_table(rows, "  ")]
    return "\n".join(lines)


def rules(found: Sequence[Any]) -> str:
    """Rules with every version."""
    lines: list[str] = []
    for one in found:
        lines += [
            f"{one.rule}: {one.title} ({one.kind})",
            f"  also called  {', '.join(one.aliases) or '–'}",
            f"  fed by       {', '.join(one.checks) or '–'}",
            f"  looks at     {one.over or 'the van'}",
            f"  blocks       {one.blocks}",
            f"  counts from  {one.starts}",
            f"  needs van    {'yes' if one.needs_van else 'no'}",
            f"  by           {one.by}",
            f"  due soon     {one.due_soon_weeks} weeks ahead",
        ]
        for terms, source, old in one.versions:
            lines += [f"  {terms}", f"      {source}; {old}"]
        lines += [f"  if out       {one.if_out}"]
        lines += [f"  caution      {one.caution}"] if one.caution else []
        lines.append("")
    return "\n".join(lines).rstrip()
