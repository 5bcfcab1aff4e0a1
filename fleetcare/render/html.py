"""The due report as a page for a mail reader: one plain table a group, nothing to fetch."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from fleetcare.render.due import Group

_CELL = 'style="border:1px solid #999;padding:3px 6px;text-align:left;vertical-align:top"'


def page(head: str, groups: Sequence[Group], notes: Sequence[str]) -> str:
    """The whole page; whatever anybody typed is text in it."""
    parts = [
        '<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"><title>',
        escape(head), '</title></head><body style="font-family:sans-serif;font-size:14px">',
        f"<h1 style=\"font-size:18px\">{escape(head)}</h1>",
    ]  # fmt: skip
    for group in groups:
        parts.append(f'<h2 style="font-size:15px">{escape(group.title)}</h2>')
        parts.append('<table style="border-collapse:collapse;font-size:13px"><tr>')
        parts += [f"<th {_CELL}>{escape(one)}</th>" for one in group.headings]
        parts.append("</tr>")
        for row in group.rows:
            parts.append("<tr>")
            parts += [f"<td {_CELL}>{escape(cell)}</td>" for cell in row]
            parts.append("</tr>")
        parts.append("</table>")
        parts += [f"<p>{escape(line.strip())}</p>" for line in group.tell]
    if not groups:
        parts.append("<p>Nothing is due.</p>")
    parts += [f"<p>{escape(note)}</p>" for note in notes]
    return "".join([*parts, "</body></html>"])
