"""Pages set by typst: PDF, and pictures as PNG. What is shown is handed over as data, never as
markup, so no name or word of anybody's can be run."""

from __future__ import annotations

import contextlib
import json
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import typst

from fleetcare import shipped


def pdf(template: str, data: Any, files: Mapping[str, bytes]) -> bytes:
    """A tagged PDF from a template of ours and data, with the files the template shows beside it.

    Held to PDF/UA-1, but where something that was typed or scanned cannot be: a scan that is
    itself a PDF has no tags of ours, and a letter that no font of ours has cannot be read out.
    """
    if not any(name.endswith(".pdf") for name in files):
        with contextlib.suppress(typst.TypstError):
            return _set(template, data, files, format="pdf", pdf_standards=["ua-1"])
    return _set(template, data, files, format="pdf", pdf_standards=[])


def png(svg: str) -> bytes:
    """A chart as a picture of dots, 110 to the inch."""
    return _set("picture.typ", {}, {"chart.svg": svg.encode()}, format="png", ppi=110)


def settable(name: str, content: bytes, pages: int) -> int:
    """How many of the first pages of a scan can be set: all, or those before one that cannot."""
    if _sets(name, content, 1, pages):
        return pages
    return next((n for n in range(pages) if not _sets(name, content, n + 1, n + 1)), pages)


def _sets(name: str, content: bytes, first: int, last: int) -> bool:
    data = {"file": name, "first": first, "last": last}
    try:
        _set("scan.typ", data, {name: content}, format="pdf")
    except typst.TypstError:
        return False
    return True


def _set(template: str, data: Any, files: Mapping[str, bytes], **how: Any) -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        work = Path(folder)
        for name, content in files.items():
            (work / name).write_bytes(content)
        (work / "data.json").write_text(json.dumps(data, ensure_ascii=False), encoding="utf-8")
        main = work / template
        main.write_bytes((shipped.folder("render/templates") / template).read_bytes())
        return bytes(typst.compile(main, root=work, **how))
